//! `--pdf`: the report of a results folder, printed by an installed Chromium without a window.
//!
//! It is looked for before anything is run, so that nobody waits in vain. It gets a profile of its own, no network, and a
//! minute; it is ended with all that it started when that is over or the job is interrupted.

use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use super::console::{Console, Ended};
use crate::results::{PDF, Printed, REPORT};

/// The variable that names another browser.
const VARIABLE: &str = "BREATHROOM_BROWSER";

/// What is looked for on the PATH.
const NAMES: [&str; 5] = [
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
];

/// Longest that printing may take.
const TIME_LIMIT: Duration = Duration::from_secs(60);

/// How often is looked whether it has ended.
const LOOK_EVERY: Duration = Duration::from_millis(20);

/// No window, nothing of the user's, nothing from or to the network.
const FLAGS: [&str; 15] = [
    "--headless",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-breakpad",
    "--disable-component-update",
    "--disable-crash-reporter",
    "--disable-default-apps",
    "--disable-extensions",
    "--disable-quic",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--no-default-browser-check",
    "--no-first-run",
    "--no-pdf-header-footer",
    "--no-pings",
];

/// A program to print with.
#[derive(Debug, PartialEq, Eq)]
pub struct Browser {
    program: PathBuf,
}

impl Browser {
    /// The one that the variable names, else the first on the PATH.
    ///
    /// # Errors
    /// If there is none: what was looked for, and what to do.
    pub fn find() -> Result<Self, Ended> {
        let path = std::env::var_os("PATH").unwrap_or_default();
        Self::among(std::env::var_os(VARIABLE), &path).map_err(Ended::Wrong)
    }

    fn among(named: Option<OsString>, path: &OsStr) -> Result<Self, String> {
        let on_path = |name: &OsStr| {
            let mut name = name.to_owned();
            name.push(std::env::consts::EXE_SUFFIX);
            let file = |folder: PathBuf| folder.join(&name);
            std::env::split_paths(path).map(file).find(|file| can_be_run(file))
        };
        let help = format!(
            "install Chromium (Debian: `apt install chromium`) or name a browser of its kind in the variable {VARIABLE}; without \
             --pdf, {REPORT} can be printed from any browser by hand"
        );
        if let Some(named) = named.filter(|named| !named.is_empty()) {
            let as_path = Path::new(&named);
            let found = if as_path.components().count() > 1 {
                Some(as_path.to_owned()).filter(|file| can_be_run(file))
            } else {
                on_path(&named)
            };
            return found.map(|program| Self { program }).ok_or_else(|| {
                let named = as_path.display();
                format!("--pdf cannot print: {VARIABLE} names `{named}`, which is no program that can be run; {help}")
            });
        }
        let found = NAMES.iter().find_map(|name| on_path(OsStr::new(name)));
        found.map(|program| Self { program }).ok_or_else(|| {
            let names = NAMES.join(", ");
            format!("--pdf needs a browser to print with, and none of {names} is on the PATH; {help}")
        })
    }

    /// Prints the report of a results folder that is in place into it. Returns where the PDF is.
    ///
    /// # Errors
    /// If it cannot be printed, or the job was interrupted; the results stay as they are.
    pub fn print(&self, folder: &Path, console: &Console<'_>) -> Result<PathBuf, Ended> {
        let stopped = || console.stopped();
        match self.print_within(folder, TIME_LIMIT, &stopped) {
            Ok(place) => Ok(place),
            Err(Unprinted::Stopped) => Err(Ended::Kept(format!(
                "the results are in {}, without {PDF}",
                folder.display()
            ))),
            Err(Unprinted::Because(why)) => Err(Ended::Unprinted(format!(
                "the results are in {folder}, but {PDF} could not be printed: {why}; {report} can be printed from any browser by \
                 hand",
                folder = folder.display(),
                report = folder.join(REPORT).display(),
            ))),
        }
    }

    fn print_within(&self, folder: &Path, limit: Duration, stopped: &dyn Fn() -> bool) -> Result<PathBuf, Unprinted> {
        let printed = Printed::beside(folder).map_err(|error| Unprinted::Because(error.to_string()))?;
        let program = self.program.display();
        let not_started = |error| Unprinted::Because(format!("`{program}` cannot be started: {error}"));
        let said = printed.log().map_err(not_started)?;
        let mut child = self.command(&printed).stderr(said).spawn().map_err(not_started)?;
        let ended = waited(&mut child, limit, stopped);
        // Whatever it started and left behind would write into its profile while that is taken away.
        end_all(&mut child);
        let status = match ended {
            Waited::Ended(status) => status,
            Waited::Stopped => return Err(Unprinted::Stopped),
            Waited::TooLong => {
                let seconds = limit.as_secs_f64();
                return Err(Unprinted::Because(format!(
                    "`{program}` had not ended after {seconds} s"
                )));
            }
        };
        let words = match printed.last_words() {
            words if words.is_empty() => words,
            words => format!(" ({words})"),
        };
        if !status.success() {
            return Err(Unprinted::Because(format!("`{program}` ended with {status}{words}")));
        }
        printed
            .put()
            .map_err(|why| Unprinted::Because(format!("`{program}`: {why}{words}")))
    }

    fn command(&self, printed: &Printed) -> Command {
        let argument = |name: &str, path: &Path| {
            let mut argument = OsString::from(name);
            argument.push(path);
            argument
        };
        let mut command = Command::new(&self.program);
        command
            .args(FLAGS)
            .arg(argument("--user-data-dir=", &printed.profile()))
            .arg(argument("--print-to-pdf=", &printed.pdf()));
        // Chromium refuses to start as root with its sandbox, and for no one else is it to be without.
        if is_of_root(printed.scratch()) {
            command.arg("--no-sandbox");
        }
        command
            .arg(file_url(&printed.report()))
            .stdin(Stdio::null())
            .stdout(Stdio::null());
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        command
    }
}

/// Why nothing was printed.
#[derive(Debug)]
enum Unprinted {
    Stopped,
    Because(String),
}

/// How waiting ended.
enum Waited {
    Ended(ExitStatus),
    Stopped,
    TooLong,
}

fn waited(child: &mut Child, limit: Duration, stopped: &dyn Fn() -> bool) -> Waited {
    let begun = Instant::now();
    loop {
        match child.try_wait() {
            Ok(Some(status)) => return Waited::Ended(status),
            _ if stopped() => return Waited::Stopped,
            _ if begun.elapsed() > limit => return Waited::TooLong,
            _ => thread::sleep(LOOK_EVERY),
        }
    }
}

/// Ends a program and all of its group.
fn end_all(child: &mut Child) {
    #[cfg(unix)]
    {
        let script = format!("kill -s KILL -- -{}", child.id());
        // There is none left, mostly.
        let _none_left = Command::new("sh")
            .args(["-c", &script])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
    }
    let _has_ended = child.kill();
    let _is_known = child.wait();
}

/// Whether a file can be run.
fn can_be_run(file: &Path) -> bool {
    let Ok(found) = std::fs::metadata(file) else {
        return false;
    };
    #[cfg(unix)]
    let runs = std::os::unix::fs::PermissionsExt::mode(&found.permissions()) & 0o111 != 0;
    #[cfg(not(unix))]
    let runs = true;
    found.is_file() && runs
}

/// Whether what this process has made belongs to root.
fn is_of_root(made: &Path) -> bool {
    #[cfg(unix)]
    return std::fs::metadata(made).is_ok_and(|made| std::os::unix::fs::MetadataExt::uid(&made) == 0);
    #[cfg(not(unix))]
    return {
        let _no_such_user = made;
        false
    };
}

/// The address of a file, given by its whole path.
fn file_url(path: &Path) -> String {
    #[cfg(unix)]
    let bytes = std::os::unix::ffi::OsStrExt::as_bytes(path.as_os_str()).to_vec();
    #[cfg(not(unix))]
    let bytes = {
        let text = path.to_string_lossy().replace('\\', "/");
        let text = text.strip_prefix("//?/").unwrap_or(&text);
        format!("/{text}").into_bytes()
    };
    let mut url = String::from("file://");
    for byte in bytes {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'/' | b'-' | b'.' | b'_' | b'~' | b':' => url.push(byte as char),
            _ => url.push_str(&format!("%{byte:02X}")),
        }
    }
    url
}

#[cfg(all(test, unix))]
#[path = "pdf_tests.rs"]
mod tests;
