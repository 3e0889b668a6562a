//! A browser that is a shell script, and none.

use std::fs;

use tempfile::TempDir;

use super::*;

/// Finds `--print-to-pdf` among its arguments, as `$out`.
const HEAD: &str = "#!/bin/sh\nfor a in \"$@\"; do case $a in --print-to-pdf=*) out=${a#*=};; esac; done\n";

/// A folder with a script and a results folder beside it.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new(script: &str) -> Self {
        let bench = Self {
            folder: tempfile::tempdir().expect("a folder"),
        };
        fs::create_dir(bench.at("out ü")).expect("made");
        fs::write(bench.results().join(REPORT), "<!doctype html>").expect("written");
        fs::create_dir(bench.at("bin")).expect("made");
        let program = bench.program();
        // A file that this process has written might still be open in what another test has just started, and could not be run.
        let text = bench.at("text");
        fs::write(&text, format!("{HEAD}{script}\n")).expect("written");
        let install = Command::new("install")
            .args(["-m", "755"])
            .arg(&text)
            .arg(&program)
            .status();
        assert!(install.expect("install").success());
        bench
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn results(&self) -> PathBuf {
        self.at("out ü")
    }

    fn program(&self) -> PathBuf {
        self.at("bin/chromium-browser")
    }

    fn print(&self, limit: Duration, stopped: &dyn Fn() -> bool) -> Result<PathBuf, Unprinted> {
        let path = self.at("bin").into_os_string();
        let browser = Browser::among(None, &path).expect("the script");
        assert_eq!(browser.program, self.program());
        browser.print_within(&self.results(), limit, stopped)
    }

    /// Why it was not printed; nothing is left of the attempt.
    fn why(&self, limit: Duration) -> String {
        let Err(Unprinted::Because(why)) = self.print(limit, &|| false) else {
            panic!("it was printed")
        };
        assert_eq!(names(&self.results()), [REPORT]);
        assert!(self.is_tidy(), "{:?}", names(self.folder.path()));
        why
    }

    fn is_tidy(&self) -> bool {
        !names(self.folder.path()).iter().any(|name| name.starts_with('.'))
    }
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> = entries
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

const LONG: Duration = Duration::from_secs(30);

#[test]
fn what_the_browser_prints_is_moved_in() {
    let bench = Bench::new("printf '%%PDF-1.4\\n' >\"$out\"; printf '%s\\n' \"$@\" >\"$0.said\"");
    let place = bench.print(LONG, &|| false).expect("printed");
    assert_eq!(fs::read(&place).expect("a file"), b"%PDF-1.4\n");
    assert_eq!(names(&bench.results()), [REPORT, PDF]);
    assert!(bench.is_tidy(), "{:?}", names(bench.folder.path()));
    let said = fs::read_to_string(bench.at("bin/chromium-browser.said")).expect("its arguments");
    for flag in FLAGS {
        assert!(said.lines().any(|line| line == flag), "{flag}: {said}");
    }
    let address = said.lines().last().expect("an address");
    assert!(address.starts_with("file:///"), "{address}");
    assert!(address.ends_with("/out%20%C3%BC/report.html"), "{address}");
    let as_root = fs::metadata(bench.folder.path()).map(|made| std::os::unix::fs::MetadataExt::uid(&made) == 0);
    assert_eq!(said.contains("--no-sandbox"), as_root.expect("an owner"), "{said}");
}

#[test]
fn a_browser_that_fails_is_told_of_with_its_last_words() {
    let bench = Bench::new("echo 'one thing' >&2; echo 'no space left' >&2; exit 7");
    let why = bench.why(LONG);
    assert!(why.contains("ended with exit status: 7 (no space left)"), "{why}");
    assert!(why.contains(&bench.program().display().to_string()), "{why}");
}

#[test]
fn a_browser_that_prints_nothing_or_no_pdf_is_told_of() {
    assert!(Bench::new("exit 0").why(LONG).ends_with("it printed nothing"));
    let why = Bench::new("echo '<html>' >\"$out\"; echo 'half of it' >&2").why(LONG);
    assert!(why.ends_with("what it printed is no PDF (half of it)"), "{why}");
}

/// The pid of a child that a script has started, once it has.
fn child_of(bench: &Bench) -> String {
    let file = bench.at("bin/child");
    let begun = Instant::now();
    loop {
        match fs::read_to_string(&file) {
            Ok(pid) if pid.ends_with('\n') => return pid.trim().to_owned(),
            _ if begun.elapsed() > LONG => panic!("it has no child"),
            _ => thread::sleep(LOOK_EVERY),
        }
    }
}

/// Whether a process is there and not only waiting to be buried.
fn lives(pid: &str) -> bool {
    let said = Command::new("ps")
        .args(["-o", "stat=", "-p", pid])
        .output()
        .expect("ps");
    let state = String::from_utf8_lossy(&said.stdout).trim().to_owned();
    !state.is_empty() && !state.starts_with('Z')
}

/// Hangs with a child that hangs too.
const HANGS: &str = "sleep 300 & echo $! >\"${0%/*}/child\"; wait";

#[test]
fn a_browser_that_hangs_is_ended_with_what_it_started() {
    let bench = Bench::new(HANGS);
    let begun = Instant::now();
    let why = bench.why(Duration::from_secs(1));
    assert!(why.ends_with("had not ended after 1 s"), "{why}");
    assert!(begun.elapsed() < LONG);
    let child = child_of(&bench);
    let begun = Instant::now();
    while lives(&child) {
        assert!(begun.elapsed() < LONG, "its child goes on");
        thread::sleep(LOOK_EVERY);
    }
}

#[test]
fn an_interruption_ends_it_at_once() {
    let bench = Bench::new(HANGS);
    let there = bench.at("bin/child");
    let begun = Instant::now();
    let result = bench.print(Duration::from_secs(300), &|| there.exists());
    assert!(matches!(result, Err(Unprinted::Stopped)));
    assert!(begun.elapsed() < LONG && bench.is_tidy());
}

#[test]
fn a_browser_that_is_not_there_is_told_of_with_what_to_do() {
    let empty = tempfile::tempdir().expect("a folder");
    let path = empty.path().as_os_str();
    let said = Browser::among(None, path).expect_err("none");
    for word in [
        "chromium, chromium-browser, google-chrome",
        "apt install chromium",
        VARIABLE,
        "by hand",
    ] {
        assert!(said.contains(word), "{word}: {said}");
    }
    // A file that cannot be run is none, and what is named is not replaced by another.
    let bench = Bench::new("exit 0");
    fs::write(bench.at("bin/chromium"), "text").expect("written");
    let bin = bench.at("bin").into_os_string();
    assert_eq!(Browser::among(None, &bin).expect("the other").program, bench.program());
    let said = Browser::among(Some("chromium".into()), &bin).expect_err("cannot be run");
    assert!(said.contains("BREATHROOM_BROWSER names `chromium`"), "{said}");
}

#[test]
fn a_browser_may_be_named_by_its_name_or_its_path() {
    let bench = Bench::new("exit 0");
    let bin = bench.at("bin").into_os_string();
    for named in [OsString::from("chromium-browser"), bench.program().into_os_string()] {
        assert_eq!(
            Browser::among(Some(named), &bin).expect("found").program,
            bench.program()
        );
    }
    // An empty variable is none.
    assert!(Browser::among(Some(OsString::new()), &bin).is_ok());
    assert!(Browser::among(Some("./nothing".into()), &bin).is_err());
}
