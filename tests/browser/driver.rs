//! chromedriver, for the length of a test.

use std::io::{BufRead as _, BufReader};
use std::process::{Child, ChildStdout, Command, Stdio};

/// What is said once the port is known.
const STARTED: &str = "was started successfully on port ";

/// A chromedriver on a port of its own, killed with all that it started when it is dropped.
pub struct Driver {
    child: Child,
    /// Kept open, so that it can go on to say things.
    _said: BufReader<ChildStdout>,
    port: u16,
}

impl Driver {
    /// Starts one.
    ///
    /// # Panics
    /// If there is none or it does not say its port.
    pub fn start() -> Self {
        let program = std::env::var("BREATHROOM_CHROMEDRIVER").unwrap_or_else(|_| "chromedriver".to_owned());
        let mut command = Command::new(&program);
        command
            .arg("--port=0")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null());
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        let mut child = command.spawn().unwrap_or_else(|error| {
            panic!(
                "`{program}` cannot be started ({error}): install Debian's chromium-driver, or name a chromedriver in \
                 BREATHROOM_CHROMEDRIVER"
            )
        });
        let mut said = BufReader::new(child.stdout.take().expect("piped"));
        let mut text = String::new();
        let port = loop {
            let from = text.len();
            if said.read_line(&mut text).expect("read") == 0 {
                end_group(child.id());
                panic!("`{program}` ended without a port: {text}");
            }
            let rest = text[from..].split_once(STARTED).map(|(_, rest)| rest);
            let number = rest.and_then(|rest| rest.trim().trim_end_matches('.').parse().ok());
            if let Some(port) = number {
                break port;
            }
        };
        Self {
            child,
            _said: said,
            port,
        }
    }

    /// Where it is asked.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        end_group(self.child.id());
        let _has_ended = self.child.kill();
        let _is_known = self.child.wait();
    }
}

/// Ends every process of a group; one that has ended is no fault.
pub fn end_group(of: u32) {
    if cfg!(unix) {
        let script = format!("kill -s KILL -- -{of}");
        let _none_left = Command::new("sh").args(["-c", &script]).stderr(Stdio::null()).status();
    }
}
