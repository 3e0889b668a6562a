//! `trade`: a table over combinations of design values, on the same luck.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use breathroom_sim::engine::RunError;
use breathroom_sim::scenario::{Medians, Scenario};
use breathroom_sim::text::Diagnostic;
use rayon::prelude::*;

use super::console::{Console, Ended};
use super::job::TradeJob;
use super::progress::{Bar, Counter};
use super::scenario_file::{self, Opened};
use super::{Code, book, deliver, input};
use crate::report::traded::{self, Objective};
use crate::results::book::Book;
use crate::results::parts::{Begun, KeptRows};
use crate::results::trade::{self as told, Answered, Plan};
use crate::results::{FileDigest, Provenance, ScenarioFile, caution, describe, sha256_hex, sheets};
use crate::study::trade::{RowRuns, row};
use crate::study::{StudyError, pool};
use crate::trades::{self, Trade, TradeSource};

/// Largest trade file that is read, bytes.
const MAX_BYTES: u64 = 4 << 20;

/// Runs a trade. Exit code 1 if variations failed or a row is no design.
///
/// # Errors
/// If the trade file or its scenario is wrong, or the results cannot be written.
pub fn trade(job: &TradeJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let (path, runs, seed) = (job.file.clone(), job.runs, job.seed);
    let read = console.interruptible(move || read(&path, runs, seed))??;
    let read = Arc::new(read);
    let trade = &read.trade;
    let plan = Arc::new(Plan::of(trade));
    let target = deliver::target(&job.output, &read.stem)?;
    let record = record(&read);
    let Begun { rows, resumed, left } = KeptRows::begin(target.path(), &record, job.resume, job.output.force)?;
    if !job.output.quiet {
        if job.resume && !resumed {
            console.tell("there is nothing to resume: beginning anew\n");
        }
        for path in &left {
            let said = "was left by a trade that did not end: --resume goes on with it if its files are the same, --force drops it";
            console.tell(&format!("`{}` {said}\n", path.display()));
        }
    }
    let total = trade.runs * trade.rows.iter().filter(|row| row.scenario.is_ok()).count() as u64;
    let bar = Bar::new(total, 0, console.progress && !job.output.quiet);
    let making = Making {
        read: Arc::clone(&read),
        plan: Arc::clone(&plan),
        rows: Arc::new(rows),
        done: bar.counter(),
        stop: console.stop,
        kept: Arc::new(AtomicU64::new(0)),
    };
    let (kept_rows, kept) = (Arc::clone(&making.rows), Arc::clone(&making.kept));
    let threads = job.threads;
    let result = console.interruptible(move || {
        let pool = pool(threads).map_err(|error| Ended::Wrong(error.to_string()))?;
        pool.install(|| {
            let rows = making.all()?;
            let answered = Answered::of(&making.read.trade, &making.plan, &rows);
            Ok::<_, Ended>((rows, answered))
        })
    });
    bar.clear();
    let (ran, answered) = match result.and_then(|result| result) {
        Ok(done) => done,
        Err(ended) => return Err(unfinished(ended, &kept_rows, &kept, trade.rows.len(), resumed)),
    };
    let delivered = deliver(job, (&read, &plan), (&ran, &answered), target, console);
    let in_place = matches!(delivered, Ok(()) | Err(Ended::Unprinted(_) | Ended::Kept(_)));
    // The results are there: a folder that cannot be taken away is clutter.
    if let (true, Ok(rows)) = (in_place, Arc::try_unwrap(kept_rows)) {
        let _clutter_at_worst = rows.remove();
    }
    delivered?;
    let ran_all = answered.states.iter().all(|state| *state == told::State::Ran);
    Ok(if ran_all { Code::Done } else { Code::Failed })
}

/// A trade that was read, and what it was read from.
struct ReadTrade {
    trade: Trade,
    file: ScenarioFile,
    scenario: ScenarioFile,
    stem: String,
}

fn read(path: &Path, runs: Option<u64>, seed: Option<u64>) -> Result<ReadTrade, Ended> {
    let content = input::bytes(path, MAX_BYTES).map_err(Ended::Wrong)?;
    let name = path.display().to_string();
    let text = trades::decode(&content, &name).map_err(|fault| Ended::Wrong(fault.render()))?;
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let open = |scenario: &str| -> Result<trades::ReadWith<'_>, String> {
        let opened = Opened::file(&folder.join(scenario))?;
        Ok(Box::new(move |overrides: &[String]| opened.with(overrides)))
    };
    let source = TradeSource {
        name: &name,
        text,
        open: &open,
    };
    let mut trade = trades::read(&source).map_err(|faults| Ended::Wrong(scenario_file::told(&faults, &name)))?;
    trade.runs = runs.unwrap_or(trade.runs);
    trade.seed = seed.unwrap_or(trade.seed);
    let scenario_path: PathBuf = folder.join(&trade.scenario_path);
    let scenario = input::bytes(&scenario_path, breathroom_sim::scenario::MAX_BYTES).map_err(Ended::Wrong)?;
    let part =
        |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned()).unwrap_or_default();
    Ok(ReadTrade {
        file: ScenarioFile {
            title: trade.title.clone(),
            file: part(path.file_name()),
            sha256: sha256_hex(&content),
        },
        scenario: ScenarioFile {
            title: trade.base.title.clone(),
            file: part(scenario_path.file_name()),
            sha256: sha256_hex(&scenario),
        },
        stem: format!("{}-trade", part(path.file_stem())),
        trade,
    })
}

/// All that the rows depend on: what a folder of kept rows is known by.
fn record(read: &ReadTrade) -> String {
    let trade = &read.trade;
    let mut lines = vec![
        format!("version {}", env!("CARGO_PKG_VERSION")),
        format!("trade {}", read.file.sha256),
        format!("scenario {}", read.scenario.sha256),
        format!("runs {}", trade.runs),
        format!("seed {}", trade.seed),
    ];
    let scenarios = trade.rows.iter().filter_map(|row| row.scenario.as_ref().ok());
    for scenario in std::iter::once(&trade.base).chain(scenarios) {
        for (name, content) in &scenario.data_files {
            let line = format!("data {} {name}", sha256_hex(content));
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
    }
    serde_json::to_string_pretty(&lines).unwrap_or_default() + "\n"
}

/// Rows in the making.
struct Making {
    read: Arc<ReadTrade>,
    plan: Arc<Plan>,
    rows: Arc<KeptRows>,
    done: Counter,
    stop: &'static AtomicBool,
    kept: Arc<AtomicU64>,
}

impl Making {
    /// All rows, each either run or found done.
    fn all(&self) -> Result<Vec<Result<RowRuns, String>>, Ended> {
        (0..self.read.trade.rows.len())
            .into_par_iter()
            .map(|at| self.one(at))
            .collect()
    }

    fn one(&self, at: usize) -> Result<Result<RowRuns, String>, Ended> {
        let trade = &self.read.trade;
        let scenario = match &trade.rows[at].scenario {
            Ok(scenario) => scenario,
            Err(faults) => return Ok(Err(refusal(faults))),
        };
        let gauges = match self.plan.gauges(scenario) {
            Ok(gauges) => gauges,
            Err(error) => return Ok(Err(format!("it has no {}", error.what))),
        };
        if let Some(row) = self.rows.load(at).filter(|row| fits(row, gauges.len(), trade.runs)) {
            self.kept.fetch_add(1, Ordering::Relaxed);
            (0..trade.runs).for_each(|_| self.done.count());
            return Ok(Ok(row));
        }
        let plan = scenario.draw(&Medians).case.plan;
        let words = |error: &RunError| describe(error, &scenario.names, &plan);
        let runs = row(
            scenario,
            &gauges,
            (trade.runs, trade.seed),
            &words,
            (&|| self.done.count(), self.stop),
        )
        .map_err(|error| match error {
            StudyError::Stopped => Ended::Interrupted,
            other => Ended::Wrong(other.to_string()),
        })?;
        self.rows.keep(at, &runs)?;
        self.kept.fetch_add(1, Ordering::Relaxed);
        Ok(Ok(runs))
    }
}

fn fits(row: &RowRuns, measures: usize, runs: u64) -> bool {
    row.values.len() == measures && row.values.iter().all(|values| values.len() as u64 == runs)
}

/// The faults of a combination, in one line.
fn refusal(faults: &[Diagnostic]) -> String {
    let lines = faults
        .iter()
        .map(|fault| fault.message.lines().next().unwrap_or_default().to_owned());
    lines.collect::<Vec<String>>().join("; ")
}

/// What is left of a trade that did not end.
fn unfinished(ended: Ended, rows: &KeptRows, kept: &AtomicU64, all: usize, resumed: bool) -> Ended {
    let kept = kept.load(Ordering::Relaxed);
    if kept == 0 && !resumed {
        KeptRows::abandon(rows.path());
        return ended;
    }
    let said = format!(
        "{kept} of {all} rows are kept in `{}`; the same command with --resume goes on",
        rows.path().display()
    );
    match ended {
        Ended::Interrupted => Ended::Kept(said),
        Ended::Wrong(what) => Ended::Wrong(format!("{}\n{said}", what.trim_end())),
        other => other,
    }
}

/// What the front is asked for, by the headers of its columns.
fn objectives(trade: &Trade) -> Vec<Objective> {
    let of = |columns: &[usize], most: bool| {
        let header = |&at: &usize| Objective {
            header: told::header(trade, at),
            most,
        };
        columns.iter().map(header).collect::<Vec<_>>()
    };
    trade.front.as_ref().map_or_else(Vec::new, |front| {
        let mut all = of(&front.most, true);
        all.extend(of(&front.least, false));
        all
    })
}

fn deliver(
    job: &TradeJob,
    (read, plan): (&ReadTrade, &Plan),
    (ran, answered): (&[Result<RowRuns, String>], &Answered),
    target: crate::results::Target,
    console: &mut Console<'_>,
) -> Result<(), Ended> {
    let trade = &read.trade;
    let base: &Scenario = &trade.base;
    let date = job.date.as_deref();
    let mut provenance = Provenance::new("trade", base, &read.scenario, &[]);
    provenance.files.insert(
        0,
        FileDigest {
            name: read.file.file.clone(),
            sha256: read.file.sha256.clone(),
        },
    );
    // An option may read data that the base does not.
    for scenario in trade.rows.iter().filter_map(|row| row.scenario.as_ref().ok()) {
        for (name, content) in &scenario.data_files {
            let digest = FileDigest {
                name: name.clone(),
                sha256: sha256_hex(content),
            };
            if !provenance.files.contains(&digest) {
                provenance.files.push(digest);
            }
        }
    }
    let caution = caution::of(&base.draw(&Medians).case);
    let summary = told::build(
        (trade, plan, answered),
        (read.file.clone(), read.scenario.clone()),
        provenance,
        (date, caution.clone()),
    );
    let book = Book {
        name: "trade",
        title: read.file.heading().to_owned(),
        answer: summary.answer.clone(),
        stamp: book::stamp(&[&read.file, &read.scenario], (trade.seed, trade.runs), date),
        caution,
        sheets: vec![
            told::rows(trade, plan, answered),
            told::differences(trade, plan, answered),
            told::factors(trade),
            sheets::inputs(base),
            sheets::assumptions(base),
            sheets::limits(base),
        ],
    };
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let more = [told::runs(trade, plan, ran)];
    let page = traded::page(&summary, &book::frames(&book), &objectives(trade), &book.stamp);
    book::deliver(
        console,
        &job.output,
        (target, &read.stem),
        (&book, &more, Some(&page)),
        (&json, &summary.warnings),
    )
}
