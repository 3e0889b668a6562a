//! The real binary, as a user starts it: processes, signals, working folders.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

const ROOM: &str = include_str!("../support/closed-room.toml");

fn breathroom(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_breathroom"));
    command.current_dir(folder).stdin(Stdio::null()).env_remove("NO_COLOR");
    command
}

fn call(folder: &Path, words: &[&str]) -> Output {
    breathroom(folder).args(words).output().expect("started")
}

fn with_room() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("room.toml"), ROOM).expect("written");
    folder
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> = entries
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[test]
fn it_says_which_version_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let said = call(folder.path(), &["--version"]);
    assert_eq!(said.status.code(), Some(0));
    assert_eq!(
        String::from_utf8_lossy(&said.stdout),
        format!("breathroom {}\n", env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn wrong_usage_is_2() {
    let folder = tempfile::tempdir().expect("a folder");
    let said = call(folder.path(), &["fly"]);
    assert_eq!(said.status.code(), Some(2));
    assert!(said.stdout.is_empty() && !said.stderr.is_empty());
}

#[test]
fn results_go_to_numbered_folders_below_results() {
    let folder = with_room();
    for _ in 0..2 {
        let said = call(folder.path(), &["run", "room.toml"]);
        assert_eq!(said.status.code(), Some(0), "{}", String::from_utf8_lossy(&said.stderr));
        assert!(!said.stdout.contains(&0x1b), "no colour");
        assert!(said.stderr.is_empty(), "no progress bar where there is no terminal");
    }
    assert_eq!(names(&folder.path().join("results")), ["room-run", "room-run-2"]);
    assert_eq!(names(folder.path()), ["results", "room.toml"]);
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let folder = with_room();
    let mut child = breathroom(folder.path())
        .args(["check", "room.toml"])
        .stdout(Stdio::piped())
        .spawn()
        .expect("started");
    drop(child.stdout.take());
    assert_eq!(child.wait().expect("ended").code(), Some(0));
}

#[test]
fn a_reader_that_goes_away_does_not_hide_a_limit_that_is_not_met() {
    let folder = with_room();
    let mut child = breathroom(folder.path())
        .args(["run", "room.toml", "--set", "limits.rule.co2-ceiling.at_most=1 Pa"])
        .stdout(Stdio::piped())
        .spawn()
        .expect("started");
    drop(child.stdout.take());
    assert_eq!(child.wait().expect("ended").code(), Some(3));
    assert!(folder.path().join("results").is_dir());
}

/// Starts a job that would take very long, interrupts it, and gives its exit code and the time it took to end.
#[cfg(unix)]
fn interrupted(folder: &Path, words: &[&str]) -> (Option<i32>, Duration) {
    let mut child = breathroom(folder)
        .args(words)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("started");
    std::thread::sleep(Duration::from_millis(700));
    let at = Instant::now();
    let sent = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .expect("sent");
    assert!(sent.success(), "the job had ended before it was interrupted");
    (child.wait().expect("ended").code(), at.elapsed())
}

#[cfg(unix)]
#[test]
fn an_interrupted_run_is_130_at_once_and_leaves_nothing() {
    let folder = with_room();
    let words = [
        "run",
        "room.toml",
        "--set",
        "duration=3650 d",
        "--set",
        "history.every=\"1 s\"",
    ];
    let (code, time) = interrupted(folder.path(), &words);
    assert_eq!(code, Some(130));
    assert!(time < Duration::from_secs(10), "it took {time:?}");
    assert_eq!(names(folder.path()), ["room.toml"]);
}

/// Variations that are done are kept, apart from any result, and what is there is as it was.
#[cfg(unix)]
#[test]
fn an_interrupted_study_is_130_at_once_keeps_its_variations_and_harms_no_earlier_result() {
    let folder = with_room();
    assert_eq!(
        call(folder.path(), &["run", "room.toml", "--out", "kept"])
            .status
            .code(),
        Some(0)
    );
    let before = fs::read(folder.path().join("kept/summary.json")).expect("a summary");
    let words = ["vary", "room.toml", "--runs", "2000000", "--out", "kept", "--force"];
    let (code, time) = interrupted(folder.path(), &words);
    assert_eq!(code, Some(130));
    assert!(time < Duration::from_secs(10), "it took {time:?}");
    assert_eq!(
        fs::read(folder.path().join("kept/summary.json")).expect("a summary"),
        before
    );
    let blocks = folder.path().join("kept.unfinished/blocks");
    assert!(fs::metadata(blocks.join("00000000.block")).expect("a block").len() > 1_000);
    assert_eq!(names(folder.path()), ["kept", "kept.unfinished", "room.toml"]);
}

/// Killed so that nothing can be tidied up, several times, and gone on with each time.
#[cfg(unix)]
#[test]
fn a_killed_study_goes_on_and_ends_with_the_same_bytes() {
    let folder = with_room();
    let words = ["vary", "room.toml", "--runs", "6000", "--out"];
    assert_eq!(
        call(folder.path(), &[&words[..], &["one"]].concat()).status.code(),
        Some(0)
    );
    let resumed = [&words[..], &["other", "--resume"]].concat();
    let first = folder.path().join("other.unfinished/blocks/00000000.block");
    let mut size = 0;
    for _ in 0..3 {
        let mut child = breathroom(folder.path())
            .args(&resumed)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("started");
        // Until it has got further, or to its end on a machine that is too quick for this.
        let grown = || fs::metadata(&first).map_or(0, |found| found.len()) > size;
        while !grown() && child.try_wait().expect("asked").is_none() {
            std::thread::sleep(Duration::from_millis(1));
        }
        let _may_have_ended = child.kill();
        child.wait().expect("ended");
        size = fs::metadata(&first).map_or(u64::MAX, |found| found.len());
    }
    if !folder.path().join("other").is_dir() {
        assert_eq!(names(folder.path()), ["one", "other.unfinished", "room.toml"]);
        let said = call(folder.path(), &resumed);
        assert_eq!(said.status.code(), Some(0), "{}", String::from_utf8_lossy(&said.stderr));
    }
    assert_eq!(names(folder.path()), ["one", "other", "room.toml"]);
    for name in names(&folder.path().join("one")) {
        let bytes = |out: &str| fs::read(folder.path().join(out).join(&name)).expect("a file");
        assert!(bytes("one") == bytes("other"), "{name} differs");
    }
}

/// A trade killed so that nothing can be tidied up goes on with the rows that were done.
#[cfg(unix)]
#[test]
fn a_killed_trade_goes_on_and_ends_with_the_same_bytes() {
    let folder = with_room();
    let trade = "format = 1\ntitle = \"Rooms\"\nscenario = \"room.toml\"\nruns = 1500\n[factors.volume]\n\
                 path = \"compartments.room.free_volume\"\nlevels = [\"26 m3\", \"28 m3\", \"30 m3\", \"32 m3\", \"34 m3\"]\n";
    fs::write(folder.path().join("rooms.toml"), trade).expect("written");
    let words = ["trade", "rooms.toml", "--threads", "1", "--out"];
    let said = call(folder.path(), &[&words[..], &["one"]].concat());
    assert_eq!(said.status.code(), Some(0), "{}", String::from_utf8_lossy(&said.stderr));
    let resumed = [&words[..], &["other", "--resume"]].concat();
    let left = folder.path().join("other.unfinished");
    let rows = || {
        names(&left)
            .iter()
            .filter(|name| name.starts_with("row-") && !name.ends_with("new"))
            .count()
    };
    let mut child = breathroom(folder.path())
        .args(&resumed)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("started");
    while (!left.is_dir() || rows() == 0) && child.try_wait().expect("asked").is_none() {
        std::thread::sleep(Duration::from_millis(1));
    }
    let _may_have_ended = child.kill();
    child.wait().expect("ended");
    if !folder.path().join("other").is_dir() {
        // A row that was being written, and one that was changed, are made again.
        let kept = rows();
        assert!((1..5).contains(&kept), "{kept}");
        fs::write(left.join("row-5.new"), b"half").expect("written");
        fs::write(left.join("row-5"), b"spoilt").expect("written");
        let said = call(folder.path(), &resumed);
        let err = String::from_utf8_lossy(&said.stderr);
        assert_eq!(said.status.code(), Some(0), "{err}");
        assert!(!err.contains("nothing to resume"), "{err}");
    }
    assert_eq!(names(folder.path()), ["one", "other", "room.toml", "rooms.toml"]);
    for name in names(&folder.path().join("one")) {
        let bytes = |out: &str| fs::read(folder.path().join(out).join(&name)).expect("a file");
        assert!(bytes("one") == bytes("other"), "{name} differs");
    }
}

/// Results are told in what the locale can show.
#[test]
fn a_course_is_drawn_in_blocks_where_the_locale_is_utf8_and_in_ascii_elsewhere() {
    let folder = with_room();
    let said = |locale: &str| {
        let said = breathroom(folder.path())
            .args(["run", "room.toml"])
            .env("LC_ALL", locale)
            .output()
            .expect("started");
        String::from_utf8(said.stdout).expect("text")
    };
    let blocks = said("C.UTF-8");
    assert!(blocks.contains("     20│┄┄┄┄") && blocks.contains("▁▁"), "{blocks}");
    let ascii = said("C");
    assert!(ascii.is_ascii() && ascii.contains("     20|- - "), "{ascii}");
}

/// Before any simulation, so that nobody waits in vain.
#[cfg(unix)]
#[test]
fn a_pdf_without_a_browser_is_1_before_anything_is_run() {
    let folder = with_room();
    let trade = "format = 1\ntitle = \"Rooms\"\nscenario = \"room.toml\"\nruns = 60000\n[factors.volume]\n\
                 path = \"compartments.room.free_volume\"\nlevels = [\"26 m3\", \"28 m3\"]\n";
    fs::write(folder.path().join("rooms.toml"), trade).expect("written");
    let size = "size room.toml --what compartments.room.free_volume --keep co2-ceiling --runs 60000 --pdf";
    for words in [
        "run room.toml --pdf",
        "vary room.toml --runs 4000000000 --pdf",
        "trade rooms.toml --pdf",
        size,
    ] {
        let said = breathroom(folder.path())
            .args(words.split(' '))
            .env("PATH", folder.path())
            .env_remove("BREATHROOM_BROWSER")
            .output()
            .expect("started");
        let err = String::from_utf8_lossy(&said.stderr);
        assert_eq!(said.status.code(), Some(1), "{words}: {err}");
        assert!(err.contains("--pdf needs a browser to print with"), "{words}: {err}");
        assert_eq!(names(folder.path()), ["room.toml", "rooms.toml"]);
    }
}

/// What was simulated is not lost with it.
#[cfg(unix)]
#[test]
fn a_browser_that_fails_is_1_and_the_results_are_there() {
    let folder = with_room();
    let said = breathroom(folder.path())
        .args(["run", "room.toml", "--out", "out", "--pdf"])
        // Ends at once and says nothing.
        .env("BREATHROOM_BROWSER", "false")
        .output()
        .expect("started");
    let err = String::from_utf8_lossy(&said.stderr);
    assert_eq!(said.status.code(), Some(1), "{err}");
    assert!(
        err.contains("the results are in out, but report.pdf could not be printed: "),
        "{err}"
    );
    assert!(String::from_utf8_lossy(&said.stdout).contains("Results in out: "));
    assert_eq!(names(folder.path()), ["out", "room.toml"]);
    let there = names(&folder.path().join("out"));
    assert!(
        there.contains(&"summary.json".to_owned()) && !there.contains(&"report.pdf".to_owned()),
        "{there:?}"
    );
}

/// The shell limits how large a file may become, and has the signal for it ignored, so that writing fails as it does on a
/// full disk.
#[cfg(unix)]
#[test]
fn a_file_that_cannot_be_written_is_1_and_leaves_nothing() {
    let folder = with_room();
    let script = "trap '' XFSZ; ulimit -f 1; exec \"$0\" run room.toml --set 'history.every=\"1 s\"'";
    let said = Command::new("sh")
        .args(["-c", script, env!("CARGO_BIN_EXE_breathroom")])
        .current_dir(folder.path())
        .output()
        .expect("started");
    let err = String::from_utf8_lossy(&said.stderr);
    assert_eq!(said.status.code(), Some(1), "{err}");
    assert!(err.contains("cannot write `history.csv`"), "{err}");
    assert_eq!(names(folder.path()), ["room.toml"]);
}

/// The desk prints its address, answers there, and ends well when it is interrupted.
#[cfg(unix)]
#[test]
fn an_interrupted_desk_is_0_and_leaves_nothing() {
    use std::io::{BufRead as _, BufReader, Read as _, Write as _};
    let folder = with_room();
    let mut child = breathroom(folder.path())
        .args(["desk", "room.toml"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("started");
    let mut address = String::new();
    let mut out = BufReader::new(child.stdout.take().expect("its output"));
    out.read_line(&mut address).expect("an address");
    let address = address.trim().trim_start_matches("http://");
    let (host, path) = address.split_once('/').expect("a path");
    let mut stream = std::net::TcpStream::connect(host).expect("connected");
    let request = format!("GET /{path} HTTP/1.1\r\nhost: {host}\r\nconnection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).expect("sent");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("answered");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    assert!(answer.contains("not a certification"), "{answer}");
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status();
    assert!(sent.expect("sent").success());
    assert_eq!(child.wait().expect("ended").code(), Some(0));
    assert_eq!(names(folder.path()), ["room.toml"]);
}
