//! Where words go, how a job can end other than well, and how it is interrupted.

use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::Duration;

use crate::results::parts::PartError;
use crate::results::{FolderError, reason};
use crate::study::StudyError;

/// How often an interruption is looked for while a thread works.
const LOOK_EVERY: Duration = Duration::from_millis(20);

/// Why a job ended without its result.
#[derive(Debug)]
pub enum Ended {
    /// The input is wrong, a run failed, or results could not be written: what to say of it (exit code 1).
    Wrong(String),
    /// The arguments make no sense together (exit code 2).
    Usage(String),
    /// The results are in place, and what was asked for beside them could not be made: what to say of it (exit code 1).
    Unprinted(String),
    /// Interrupted (exit code 130).
    Interrupted,
    /// Interrupted, and what is left of the work (exit code 130).
    Kept(String),
    /// Whoever read the output has gone (exit code 0: they have what they wanted).
    Unread,
}

impl From<FolderError> for Ended {
    fn from(error: FolderError) -> Self {
        match error {
            FolderError::Stopped => Self::Interrupted,
            other => Self::Wrong(other.to_string()),
        }
    }
}

impl From<StudyError> for Ended {
    fn from(error: StudyError) -> Self {
        match error {
            StudyError::Stopped => Self::Interrupted,
            // What the arguments ask for cannot be had, whatever the scenario.
            StudyError::Design(_) | StudyError::RunsUnknown | StudyError::NoSuchRun { .. } => {
                Self::Usage(error.to_string())
            }
            other => Self::Wrong(other.to_string()),
        }
    }
}

impl From<PartError> for Ended {
    fn from(error: PartError) -> Self {
        match error {
            PartError::Stopped => Self::Interrupted,
            other => Self::Wrong(other.to_string()),
        }
    }
}

/// Standard output and error of one call, and what may be drawn on them.
pub struct Console<'a> {
    out: &'a mut dyn Write,
    err: &'a mut dyn Write,
    /// A progress bar may be drawn on the process's standard error.
    pub progress: bool,
    /// Characters beyond ASCII can be shown.
    pub utf8: bool,
    /// Set from outside to interrupt the job.
    pub stop: &'static AtomicBool,
}

impl<'a> Console<'a> {
    /// A console that shows ASCII alone.
    pub fn new(out: &'a mut dyn Write, err: &'a mut dyn Write, progress: bool, stop: &'static AtomicBool) -> Self {
        Self {
            out,
            err,
            progress,
            utf8: false,
            stop,
        }
    }

    /// Says whether characters beyond ASCII can be shown.
    #[must_use]
    pub fn with_utf8(self, utf8: bool) -> Self {
        Self { utf8, ..self }
    }

    /// Whether the job is to end.
    #[must_use]
    pub fn stopped(&self) -> bool {
        self.stop.load(Ordering::SeqCst)
    }

    /// Writes to standard output.
    ///
    /// # Errors
    /// If that cannot be written to.
    pub fn say(&mut self, text: &str) -> Result<(), Ended> {
        self.out
            .write_all(text.as_bytes())
            .and_then(|()| self.out.flush())
            .map_err(|error| match error.kind() {
                io::ErrorKind::BrokenPipe => Ended::Unread,
                _ => Ended::Wrong(format!("cannot write to standard output: {}", reason(&error))),
            })
    }

    /// Writes to standard error; if even that fails there is no one left to tell.
    pub fn tell(&mut self, text: &str) {
        let _no_one_left = self.err.write_all(text.as_bytes()).and_then(|()| self.err.flush());
    }

    /// Does work on a thread of its own and waits for it, so that an interruption ends the job at once and not only
    /// when a long run is over. What an interrupted thread gives is dropped.
    ///
    /// # Errors
    /// If the job was interrupted, or the work came to grief.
    pub fn interruptible<T: Send + 'static>(&self, work: impl FnOnce() -> T + Send + 'static) -> Result<T, Ended> {
        let (give, take) = mpsc::channel();
        let start = thread::Builder::new().name("work".to_owned()).spawn(move || {
            let _no_one_waits = give.send(work());
        });
        start.map_err(|error| Ended::Wrong(format!("cannot start a thread: {error}")))?;
        loop {
            match take.recv_timeout(LOOK_EVERY) {
                Ok(result) => {
                    return if self.stopped() {
                        Err(Ended::Interrupted)
                    } else {
                        Ok(result)
                    };
                }
                Err(RecvTimeoutError::Timeout) if self.stopped() => return Err(Ended::Interrupted),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => {
                    return Err(Ended::Wrong(
                        "the run broke off: a fault of this program; please report it".to_owned(),
                    ));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    static GO: AtomicBool = AtomicBool::new(false);
    static HALT: AtomicBool = AtomicBool::new(true);

    #[test]
    fn work_gives_its_result_or_an_interruption() {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let console = Console::new(&mut out, &mut err, false, &GO);
        assert_eq!(console.interruptible(|| 6 * 7).expect("done"), 42);
        let console = Console::new(&mut out, &mut err, false, &HALT);
        let slow = || thread::sleep(Duration::from_secs(30));
        assert!(matches!(console.interruptible(slow), Err(Ended::Interrupted)));
    }

    #[test]
    fn a_reader_that_has_gone_is_no_fault_but_a_full_disk_is() {
        struct Broken(io::ErrorKind);
        impl Write for Broken {
            fn write(&mut self, _: &[u8]) -> io::Result<usize> {
                Err(self.0.into())
            }
            fn flush(&mut self) -> io::Result<()> {
                Ok(())
            }
        }
        let mut err = Vec::new();
        let said = |kind, err: &mut Vec<u8>| Console::new(&mut Broken(kind), err, false, &GO).say("x");
        assert!(matches!(said(io::ErrorKind::BrokenPipe, &mut err), Err(Ended::Unread)));
        assert!(matches!(
            said(io::ErrorKind::StorageFull, &mut err),
            Err(Ended::Wrong(_))
        ));
    }
}
