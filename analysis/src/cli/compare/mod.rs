//! `compare`: what changed between two scenarios or two results folders.

mod folders;
mod scenarios;
mod typed;

use std::path::{Path, PathBuf};

use super::console::{Console, Ended};
use super::job::Output;
use super::{Code, book, deliver};
use crate::results::ScenarioFile;
use crate::results::book::Book;
use crate::results::compare::{self as told, Comparison, Of, Side};
use crate::study::compare::Luck;
use crate::study::{Gate, pool};

pub use typed::CompareArguments;

/// Variations of each scenario unless --runs says otherwise.
const USUAL_RUNS: u64 = 400;
/// The seed unless --seed says otherwise.
const USUAL_SEED: u64 = 1;

/// Two scenario files or two results folders.
#[derive(Debug, PartialEq)]
pub struct CompareJob {
    /// The first.
    pub a: PathBuf,
    /// The second.
    pub b: PathBuf,
    /// Variations of each scenario, if they were given.
    pub runs: Option<u64>,
    /// The seed, if it was given.
    pub seed: Option<u64>,
    /// What is kept.
    pub gate: Gate,
    /// A date to stand on the tables.
    pub date: Option<String>,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
    /// Where results go.
    pub output: Output,
}

/// What a comparison is made of.
struct Sides {
    of: Of,
    a: Side,
    b: Side,
    /// Stems of the default results folder.
    stems: [String; 2],
    warnings: Vec<String>,
    caution: String,
    /// The place of the results, if it was tried before runs that take long.
    target: Option<crate::results::Target>,
}

/// Compares. Exit code 1 if runs failed; a limit that is not met is an answer like any other.
///
/// # Errors
/// If a side cannot be read, the two are not of one kind, or the results cannot be written.
pub fn compare(job: &CompareJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let sides = match (job.a.is_dir(), job.b.is_dir()) {
        (false, false) => scenarios::sides(job, console)?,
        (true, true) => folders::sides(job, console)?,
        (a_is_folder, _) => {
            let (file, folder) = if a_is_folder {
                (&job.b, &job.a)
            } else {
                (&job.a, &job.b)
            };
            return Err(Ended::Usage(format!(
                "`{}` is a results folder and `{}` is none: compare two scenario files, or two results folders",
                folder.display(),
                file.display()
            )));
        }
    };
    let stem = stem(&sides.stems);
    let target = match sides.target {
        Some(target) => target,
        None => deliver::target(&job.output, &stem)?,
    };
    let (gate, threads) = (job.gate, job.threads);
    let (of, a, b) = (sides.of, sides.a, sides.b);
    let of = console.interruptible(move || {
        let pool = pool(threads)?;
        Ok::<_, Ended>(pool.install(|| told::compare(of, a, b, gate)))
    })??;
    let date = job.date.as_deref();
    let summary = told::build(&of, sides.warnings, date, sides.caution.clone());
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let book = Book {
        name: "compare",
        title: format!("{} (A) and {} (B) compared", heading(&of.a), heading(&of.b)),
        answer: summary.answer.clone(),
        stamp: stamp(&of, date),
        caution: sides.caution,
        sheets: vec![
            told::margins(&of),
            told::changed(&of),
            told::limits(&of),
            told::totals(&of),
        ],
    };
    book::deliver(
        console,
        &job.output,
        (target, &stem),
        (&book, &[], None),
        (&json, &summary.warnings),
    )?;
    Ok(if of.has_failed() { Code::Failed } else { Code::Done })
}

/// `A-B-compare`.
fn stem([a, b]: &[String; 2]) -> String {
    format!("{a}-{b}-compare")
}

/// What a side is called over its results.
fn heading(side: &Side) -> String {
    match side.file.title.as_str() {
        "" => side.name.clone(),
        title => format!("{title} [{}]", side.name),
    }
}

/// Where numbers come from.
fn stamp(of: &Comparison, date: Option<&str>) -> Vec<(String, String)> {
    let files: Vec<&ScenarioFile> = vec![&of.a.file, &of.b.file];
    if of.of == Of::Scenarios {
        return book::stamp(&files, (of.a.seed.unwrap_or_default(), of.runs[0]), date);
    }
    let mut stamp = Vec::new();
    let mut put = |what: &str, value: String| stamp.push((what.to_owned(), value));
    for (name, side) in [("A", &of.a), ("B", &of.b)] {
        put(name, side.name.clone());
        put(&format!("scenario of {name}"), side.file.file.clone());
        put(&format!("SHA-256 of the scenario of {name}"), side.file.sha256.clone());
        if let (Some(seed), Some(runs), Some(design)) = (side.seed, side.runs, &side.design) {
            put(&format!("seed of {name}"), seed.to_string());
            put(&format!("variations of {name}"), runs.to_string());
            put(&format!("draws of {name}"), design.clone());
        }
        put(&format!("version that ran {name}"), side.version.clone());
    }
    if let Some(luck) = of.luck {
        let words = match luck {
            Luck::Same => "the same",
            Luck::Independent => "independent",
            Luck::Unknown => "not plain",
        };
        put("luck", words.to_owned());
    }
    put("version", format!("breathroom {}", env!("CARGO_PKG_VERSION")));
    if let Some(date) = date {
        put("date", date.to_owned());
    }
    stamp
}

/// The last part of a path, as text; nothing if it has none.
fn name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// Both, or all that is wrong with either.
fn both<T>(a: Result<T, Ended>, b: Result<T, Ended>) -> Result<(T, T), Ended> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (Err(Ended::Wrong(a)), Err(Ended::Wrong(b))) if a == b => Err(Ended::Wrong(a)),
        (Err(Ended::Wrong(a)), Err(Ended::Wrong(b))) => Err(Ended::Wrong(super::line(&a) + &super::line(&b))),
        (Err(ended), _) | (_, Err(ended)) => Err(ended),
    }
}
