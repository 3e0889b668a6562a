//! `fit tasks`: timed tasks to spreads, into a scenario.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use breathroom_sim::engine::Outcome;
use breathroom_sim::scenario::{Drawn, Scenario};
use breathroom_sim::text::Texts;
use clap::{Args, ValueEnum};

use crate::cli::book;
use crate::cli::console::{Console, Ended};
use crate::cli::job::{self, Output};
use crate::cli::progress::Bar;
use crate::cli::scenario_file::{self, Read};
use crate::cli::typed::{OutputArguments, ReportArguments};
use crate::cli::{Code, deliver, input, into};
use crate::desk::Edits;
use crate::fits::families::Family;
use crate::fits::tasks::{self as timed, Asked, Looked, Task, Trial};
use crate::measured::{self, Sheet};
use crate::report;
use crate::results::book::Book;
use crate::results::caution::CAUTION;
use crate::results::timed::{self as told, Simulated, Timed};
use crate::results::{FileDigest, sha256_hex};
use crate::study::stress::MOST_STRESS_RUNS;
use crate::study::{StudyError, observe, pool};

/// Families as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Named {
    /// Lognormal.
    Lognormal,
    /// Gamma.
    Gamma,
    /// Weibull.
    Weibull,
    /// PERT.
    Pert,
}

/// Arguments of `fit tasks`.
#[derive(Debug, Args)]
pub struct TasksArguments {
    /// The list of timed tasks
    #[arg(value_name = "TIMES.csv")]
    pub times: PathBuf,
    /// The scenario whose tasks get the spreads; without it they are only told
    #[arg(long, value_name = "FILE")]
    pub into: Option<PathBuf>,
    /// Leave FILE as it is and write a copy with the spreads
    #[arg(long = "as", value_name = "NEW", requires = "into")]
    pub new: Option<PathBuf>,
    /// Fit this family whatever the criteria say
    #[arg(long, value_enum, value_name = "FAMILY")]
    pub family: Option<Named>,
    /// Use only trials with this word in the column suit
    #[arg(long, value_name = "WORD")]
    pub suit: Option<String>,
    /// Leave out earlier trials of each person
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    pub from_trial: u32,
    /// Leave out the trial in this line of the list (repeatable)
    #[arg(long, value_name = "LINE")]
    pub leave_out: Vec<usize>,
    /// Variations of the scenario before and after
    #[arg(long, value_name = "N", default_value_t = 400, value_parser = clap::value_parser!(u64).range(1..=MOST_STRESS_RUNS))]
    pub runs: u64,
    /// Seed of the variations and of the test of fit
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    #[command(flatten)]
    pub(in crate::cli) report: ReportArguments,
    #[command(flatten)]
    pub(in crate::cli) output: OutputArguments,
}

/// `fit tasks` as meant.
#[derive(Debug, PartialEq)]
pub struct TasksJob {
    /// The list.
    pub times: PathBuf,
    /// The scenario, and the copy of it that is written.
    pub into: Option<(PathBuf, Option<PathBuf>)>,
    /// A family that is wanted.
    pub family: Option<Family>,
    /// What of the list is used.
    pub asked: Asked,
    /// Variations before and after.
    pub runs: u64,
    /// Their seed.
    pub seed: u64,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
    /// Where results go.
    pub output: Output,
}

impl From<TasksArguments> for TasksJob {
    fn from(arguments: TasksArguments) -> Self {
        let family = arguments.family.map(|named| match named {
            Named::Lognormal => Family::Lognormal,
            Named::Gamma => Family::Gamma,
            Named::Weibull => Family::Weibull,
            Named::Pert => Family::Pert,
        });
        Self {
            times: arguments.times,
            into: arguments.into.map(|file| (file, arguments.new)),
            family,
            asked: Asked {
                suit: arguments.suit,
                from_trial: arguments.from_trial,
                leave_out: arguments.leave_out,
            },
            runs: arguments.runs,
            seed: arguments.seed,
            threads: usize::from(arguments.output.threads.unwrap_or(0)),
            output: job::printed(arguments.output, arguments.report),
        }
    }
}

/// The list as it was read.
struct List {
    trials: Vec<Trial>,
    far: Vec<Option<f64>>,
    digest: FileDigest,
}

/// Fits, simulates before and after, writes results, and last of all the scenario.
///
/// # Errors
/// If the list or the scenario is wrong, no task has a spread, a run fails or something cannot be written; the scenario is as it was then.
pub fn fit(job: &TasksJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let list = list(job)?;
    let read = match &job.into {
        Some((file, _)) => {
            let read = scenario_file::read_file(file, &[], console)?;
            known(&list.trials, &read.scenario, &job.times)?;
            Some(read)
        }
        None => None,
    };
    let stem = format!("{}-fit-tasks", name_of(&job.times));
    let target = deliver::target(&job.output, &stem)?;
    let (trials, family, seed) = (list.trials.clone(), job.family, job.seed);
    let (tasks, without) = console.interruptible(move || timed::fit(&trials, family, seed))?;
    if tasks.is_empty() {
        let why: String = without
            .iter()
            .map(|of| format!("error: `{}`: {}\n", of.id, of.why))
            .collect();
        return Err(Ended::Wrong(format!(
            "{why}no task of {} has a spread: nothing was written\n",
            job.times.display()
        )));
    }
    let edits = Edits {
        values: tasks
            .iter()
            .map(|task| (format!("tasks.{}.duration", task.id), task.written.toml.clone()))
            .collect(),
        together: Vec::new(),
    };
    let mut files = vec![list.digest];
    let mut of = Timed {
        trials: list.trials,
        far: list.far,
        tasks,
        without,
        changes: Vec::new(),
        simulated: None,
    };
    if let (Some(read), Some((file, new))) = (read, &job.into) {
        let made = into::could(file, new.as_deref(), &edits)?;
        let changes = made.changes.iter().map(|change| {
            (
                change.path.clone(),
                change.line,
                change.before.clone(),
                change.after.clone(),
            )
        });
        of.changes = changes.collect();
        files.push(FileDigest {
            name: read.file.file.clone(),
            sha256: read.file.sha256.clone(),
        });
        let after = scenario_file::read_text(file, made.text.into_bytes())?;
        of.simulated = Some(simulated(job, console, (read, after), (&of.tasks, &of.trials))?);
    }
    results(job, console, &of, files, (target, &stem))?;
    if let Some((file, new)) = &job.into {
        let made = into::write(console, file, new.as_deref(), &edits)?;
        if !job.output.quiet {
            let place = new.as_ref().unwrap_or(file).display();
            let lines: String = made
                .changes
                .iter()
                .map(|c| format!("  line {}: {} = {}\n", c.line, c.path, c.after))
                .collect();
            console.tell(&format!("Written to {place}:\n{lines}"));
        }
    }
    let failed = of.simulated.as_ref().is_some_and(|simulated| simulated.failed > 0);
    Ok(if failed { Code::Failed } else { Code::Done })
}

fn name_of(path: &Path) -> String {
    path.file_stem()
        .map(|stem| stem.to_string_lossy().into_owned())
        .unwrap_or_default()
}

fn list(job: &TasksJob) -> Result<List, Ended> {
    let name = job.times.display().to_string();
    let content =
        input::bytes(&job.times, measured::MAX_BYTES).map_err(|error| Ended::Wrong(format!("error: {error}\n")))?;
    let wrong = |faults: Vec<breathroom_sim::text::Diagnostic>| Ended::Wrong(scenario_file::told(&faults, &name));
    let mut sheet = Sheet::read(&name, &content).map_err(wrong)?;
    let Some(trials) = timed::read(&mut sheet, &job.asked) else {
        return Err(wrong(sheet.faults()));
    };
    let mut far = vec![None; trials.len()];
    let mut ids: Vec<&str> = trials.iter().map(|trial| trial.task.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    for id in ids {
        let own: Vec<usize> = (0..trials.len())
            .filter(|&i| trials[i].task == id && trials[i].left_out.is_none())
            .collect();
        let seconds: Vec<f64> = own.iter().map(|&i| trials[i].seconds).collect();
        for (&index, z) in own.iter().zip(timed::robust_distances(&seconds)) {
            far[index] = z;
        }
    }
    let file = job.times.file_name().map(|name| name.to_string_lossy().into_owned());
    let digest = FileDigest {
        name: file.unwrap_or_default(),
        sha256: sha256_hex(&content),
    };
    Ok(List { trials, far, digest })
}

/// Every task of the list is one of the scenario, with a duration.
fn known(trials: &[Trial], scenario: &Scenario, times: &Path) -> Result<(), Ended> {
    let has = |id: &str| {
        scenario
            .resolved
            .iter()
            .any(|value| value.path == format!("tasks.{id}.duration"))
    };
    let mut ids: Vec<&str> = scenario
        .names
        .tasks
        .iter()
        .map(|task| task.id.as_str())
        .filter(|id| has(id))
        .collect();
    ids.dedup();
    let mut faults = String::new();
    let mut told: Vec<&str> = Vec::new();
    for trial in trials {
        if has(&trial.task) || told.contains(&trial.task.as_str()) {
            continue;
        }
        told.push(&trial.task);
        let meant = Texts::new("", "", &[]).meant(&trial.task, ids.iter().copied());
        let help = if meant.is_empty() {
            "give it the id of a task that has a duration"
        } else {
            &meant
        };
        faults.push_str(&format!(
            "error: the scenario has no task `{}` with a duration\n --> {}:{}\n  = {help}\n\n",
            trial.task,
            times.display(),
            trial.line
        ));
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Ended::Wrong(faults))
    }
}

/// Variations of the scenario before and after.
fn simulated(
    job: &TasksJob,
    console: &Console<'_>,
    (before, after): (Read, Read),
    (tasks, trials): (&[Task], &[Trial]),
) -> Result<Simulated, Ended> {
    let (runs, seed, threads, stop) = (job.runs, job.seed, job.threads, console.stop);
    let bar = Bar::new(2 * runs, 0, console.progress && !job.output.quiet);
    let count = bar.counter();
    let scenarios = Arc::new((before.scenario, after.scenario));
    let both = Arc::clone(&scenarios);
    let looked = console.interruptible(move || {
        let pool = pool(threads)?;
        let look = |drawn: &Drawn, outcome: &Outcome| Looked::of(drawn, outcome);
        let progress = || count.count();
        let of = |scenario: &Scenario| pool.install(|| observe(scenario, (runs, seed), &look, (&progress, stop)));
        Ok::<_, StudyError>([of(&both.0)?, of(&both.1)?])
    })?;
    bar.clear();
    let looked = looked?;
    let failed = looked.iter().flatten().filter(|look| look.is_err()).count() as u64;
    let [looks_before, looks_after] =
        looked.map(|looks| looks.into_iter().filter_map(Result::ok).collect::<Vec<Looked>>());
    let scenario = scenarios.1.clone();
    let ids: Vec<String> = tasks.iter().map(|task| task.id.clone()).collect();
    let rules = scenario.limits.len();
    let kept = timed::kept(&looks_before, rules)
        .into_iter()
        .zip(timed::kept(&looks_after, rules));
    Ok(Simulated {
        timeline: timed::timeline(
            tasks,
            trials,
            (&looks_before, &scenarios.0.names),
            (&looks_after, &scenario.names),
        ),
        kept: kept.map(|(before, after)| [before, after]).collect(),
        held: timed::held(&scenario, &looks_after, &ids),
        scenario,
        seed,
        runs,
        failed,
    })
}

fn results(
    job: &TasksJob,
    console: &mut Console<'_>,
    of: &Timed,
    files: Vec<FileDigest>,
    (target, stem): (crate::results::Target, &str),
) -> Result<(), Ended> {
    let mut stamp: Vec<(String, String)> = files
        .iter()
        .map(|file| (format!("SHA-256 of {}", file.name), file.sha256.clone()))
        .collect();
    stamp.push(("seed".to_owned(), job.seed.to_string()));
    if let Some(simulated) = &of.simulated {
        stamp.push(("variations before and after".to_owned(), simulated.runs.to_string()));
    }
    stamp.push((
        "version".to_owned(),
        format!("breathroom {}", env!("CARGO_PKG_VERSION")),
    ));
    let summary = told::build(of, files, job.seed);
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let mut sheets = vec![told::spreads(of)];
    if let Some(simulated) = &of.simulated {
        sheets.extend([
            told::timeline(simulated),
            told::margins(simulated),
            told::held(simulated),
        ]);
    }
    sheets.extend([told::families(of), told::trials(of)]);
    let book = Book {
        name: "timed-tasks",
        title: format!("Timed tasks of {}", name_of(&job.times)),
        answer: summary.answer.clone(),
        stamp,
        caution: CAUTION.to_owned(),
        sheets,
    };
    let page = report::timed::page(of, &book.title, &summary.answer, &book::frames(&book), &book.stamp);
    book::deliver(
        console,
        &job.output,
        (target, stem),
        (&book, &[], Some(&page)),
        (&json, &[]),
    )
}
