//! The command line: arguments as typed, a job as meant, its run.
//!
//! ```text
//! words --typed--> Typed --job--> Job --> check, run, vary, stress, trade, size, compare, fit, profile, traces, watch, merge, desk, limits, write --> exit code
//! ```
//!
//! Only this room reads arguments, prints and decides exit codes. [`main_with`] is all of it as a function, so that tests
//! call it without starting a process; [`main`] adds what belongs to a process: Ctrl-C and the terminal.

mod book;
mod check;
mod compare;
mod console;
mod course;
mod deliver;
mod desk;
mod devices;
mod drivers;
mod fit;
mod input;
mod into;
mod job;
mod limits;
mod loads;
mod merge;
mod on_paper;
mod pdf;
mod profile;
mod progress;
mod rare;
mod run;
mod scenario_file;
mod size;
mod slurm;
mod stress;
mod study;
mod trade;
mod typed;
mod values;
mod vary;
mod watch;
mod write;

use std::ffi::OsString;
use std::io::{IsTerminal as _, Write};
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering};

use clap::Parser as _;

use console::{Console, Ended};
use job::Job;
use typed::Typed;

/// Set by Ctrl-C; never cleared, since the process ends.
static STOP: AtomicBool = AtomicBool::new(false);
/// Of calls inside a process that Ctrl-C does not concern.
static GO_ON: AtomicBool = AtomicBool::new(false);

/// How a job ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Code {
    /// Done.
    Done = 0,
    /// The input is wrong or a run failed.
    Failed = 1,
    /// Wrong usage.
    Usage = 2,
    /// Done, and a limit is not met.
    NotMet = 3,
    /// Interrupted.
    Interrupted = 130,
}

/// The program: its arguments, its terminal, Ctrl-C.
#[must_use]
pub fn main() -> ExitCode {
    // A second Ctrl-C ends the process even if a file system does not answer.
    let handler = || {
        if STOP.swap(true, Ordering::SeqCst) {
            std::process::exit(Code::Interrupted as i32);
        }
    };
    // Without a handler Ctrl-C still ends the process, by its signal.
    let _usual = ctrlc::set_handler(handler);
    let (mut out, mut err) = (std::io::stdout(), std::io::stderr());
    let progress = err.is_terminal();
    let utf8 = course::utf8(&|name| std::env::var_os(name));
    let console = Console::new(&mut out, &mut err, progress, &STOP).with_utf8(utf8);
    ExitCode::from(called(std::env::args_os(), console))
}

/// The command line as a function: the words (the program's name first), standard output, standard error; gives the exit
/// code. Draws no progress bar, and writes ASCII where it draws.
pub fn main_with<I>(words: I, out: &mut dyn Write, err: &mut dyn Write) -> u8
where
    I: IntoIterator,
    I::Item: Into<OsString> + Clone,
{
    called(words, Console::new(out, err, false, &GO_ON))
}

fn called<I>(words: I, mut console: Console<'_>) -> u8
where
    I: IntoIterator,
    I::Item: Into<OsString> + Clone,
{
    let result = match Typed::try_parse_from(words) {
        Ok(typed) => done(&Job::from(typed), &mut console),
        // Help and the version come as errors too, for standard output.
        Err(said) if said.use_stderr() => {
            console.tell(&said.render().to_string());
            Ok(Code::Usage)
        }
        Err(said) => console.say(&said.render().to_string()).map(|()| Code::Done),
    };
    let code = result.unwrap_or_else(|ended| match ended {
        Ended::Wrong(what) | Ended::Unprinted(what) => {
            console.tell(&line(&what));
            Code::Failed
        }
        Ended::Usage(what) => {
            console.tell(&line(&what));
            Code::Usage
        }
        Ended::Interrupted => {
            console.tell("interrupted: nothing was written\n");
            Code::Interrupted
        }
        Ended::Kept(what) => {
            console.tell(&format!("interrupted: {what}\n"));
            Code::Interrupted
        }
        Ended::Unread => Code::Done,
    });
    code as u8
}

/// A message as an error of its own line; one that was rendered already stays as it is.
fn line(what: &str) -> String {
    if what.ends_with('\n') {
        what.to_owned()
    } else {
        format!("error: {what}\n")
    }
}

fn done(job: &Job, console: &mut Console<'_>) -> Result<Code, Ended> {
    match job {
        Job::Check(job) => check::check(job, console),
        Job::Run(job) => run::medians(job, console),
        Job::Vary(job, vary, how) => vary::vary(job, vary, *how, console),
        Job::Merge(job) => merge::merge(job, console),
        Job::Stress(job, asked) => stress::stress(job, asked, console),
        Job::Trade(job) => trade::trade(job, console),
        Job::Size(job, asked) => size::size(job, asked, console),
        Job::Compare(job) => compare::compare(job, console),
        Job::Fit(job) => fit::fit(job, console),
        Job::Profile(job) => profile::profile(job, console),
        Job::Traces(job, asked) => watch::traces(job, asked, console),
        Job::Watch(job, asked) => watch::watch(job, asked, console),
        Job::Desk { file, port } => desk::desk(file.as_deref(), *port, console),
        Job::Rare(job, asked) => rare::rare(job, asked, console),
        Job::Only(job, only) => run::only(job, *only, console),
        Job::Slurm(job, vary, slurm) => slurm::slurm(job, vary, slurm, console),
        Job::Limits(set, output) => limits::limits(set.as_deref(), output, console),
        Job::New { file, force, quiet } => write::starter(file, *force, *quiet, console),
        Job::Schema => write::schema(console),
        Job::Completions(shell) => write::completions(*shell, console),
        Job::Man(command) => write::man(command.as_deref(), console),
    }
}
