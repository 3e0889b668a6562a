//! `watch`: a detector tuned on nominal runs, what it is worth on every fault, and what it says of measured readings.

mod traces;
mod typed;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::{Medians, Scenario};
use breathroom_sim::text::Texts;
use breathroom_sim::units::Time;

use crate::cli::console::{Console, Ended};
use crate::cli::drivers::ended;
use crate::cli::job::ScenarioJob;
use crate::cli::progress::{Bar, Counter};
use crate::cli::scenario_file;
use crate::cli::{Code, book, deliver, input, run};
use crate::report::watched;
use crate::results::book::Book;
use crate::results::frame::Frame;
use crate::results::table::Table;
use crate::results::watch as told;
use crate::results::watch::{MeasuredSummary, Of};
use crate::results::{caution, sha256_hex, sheets};
use crate::study::{StudyError, pool};
use crate::watch::characterise::{self, Watched};
use crate::watch::detector::{Detector, window};
use crate::watch::instruments::Instrument;
use crate::watch::lab::Lab;
use crate::watch::measured::{self, Found, Measured};
use crate::watch::modes::{Mode, modes};
use crate::watch::tuning::{self, WatchJob};
use crate::watch::{file, usual};

pub use traces::{TracesAsked, traces};
pub use typed::{TracesArguments, WatchArguments};

/// Rows of a run unless another spacing is asked for, at the most.
const MOST_USUAL_ROWS: f64 = 1_000.0;
/// Rows of a run at the most.
const MOST_ROWS: f64 = 200_000.0;

/// What is asked of a watch.
#[derive(Clone, Debug, PartialEq)]
pub struct WatchAsked {
    /// A file of measurements.
    pub measured: Option<PathBuf>,
    /// Added to its times, s.
    pub clock_s: f64,
    /// A file of instruments.
    pub instruments: Option<PathBuf>,
    /// Nominal runs to tune on.
    pub tune: u64,
    /// Nominal runs to try on.
    pub held_out: u64,
    /// Runs of each fault at each severity.
    pub runs: u64,
    /// Severities.
    pub severities: Vec<f64>,
    /// Spacing of rows, s; none: a minute, or more in a long run.
    pub every_s: Option<f64>,
    /// False alarms a day.
    pub per_day: f64,
    /// Tasks begin and end as those know who watch.
    pub known_timeline: bool,
    /// Faults that are tried; none: all.
    pub faults: Vec<String>,
    /// Faults that the bank is not to know.
    pub leave_out: Vec<String>,
    /// The seed.
    pub seed: u64,
    /// Exit code 3 on an alarm.
    pub gate: bool,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
}

/// Watches. Exit code 1 if runs failed, 3 if asked to tell of an alarm on measured readings and there is one.
///
/// # Errors
/// If the scenario, the instruments or the measurements are wrong, or the results cannot be written.
pub fn watch(job: &ScenarioJob, asked: &WatchAsked, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = Arc::new(scenario_file::read(job, console)?);
    let case = read.scenario.draw(&Medians).case;
    let instruments = instruments(asked.instruments.as_ref(), &read.scenario, &case)?;
    let all = modes(&case, &read.scenario.names, &instruments);
    let meant = job_of(asked, &all)?;
    let step = step(asked.every_s, &case)?;
    let content = match &asked.measured {
        Some(path) => Some(input::bytes(path, crate::measured::MAX_BYTES).map_err(Ended::Wrong)?),
        None => None,
    };
    let stem = deliver::stem(&read, "watch");
    let target = deliver::target(&job.output, &stem)?;
    let bar = Bar::further("runs", console.progress && !job.output.quiet);
    let of = Work {
        read: Arc::clone(&read),
        instruments: instruments.clone(),
        modes: all.clone(),
        job: meant.clone(),
        step,
        seed: asked.seed,
        measured: content
            .clone()
            .map(|content| (name_of(asked.measured.as_ref()), content, asked.clock_s)),
        count: bar.counter(),
        stop: console.stop,
    };
    let threads = asked.threads;
    let result = console.interruptible(move || {
        let pool = pool(threads)?;
        pool.install(|| of.all())
    });
    bar.clear();
    let done = result?.map_err(|error| match error {
        StudyError::Medians(error) => run::failed("the run on the medians", &error, &read),
        other => ended(other),
    })?;
    let done = done.map_err(|faults| Ended::Wrong(scenario_file::told(&faults, &name_of(asked.measured.as_ref()))))?;
    let of = Of {
        scenario: &read.scenario,
        case: &case,
        instruments: &instruments,
        modes: &all,
        job: &meant,
        step_s: step.seconds(),
        seed: asked.seed,
    };
    let figures = told::methods(&of, &done.watched);
    let caught = told::caught(&of, &done.watched);
    let measured = done.measured.as_ref().map(|(measured, found, detector)| {
        let sha256 = sha256_hex(content.as_deref().unwrap_or_default());
        let file = (name_of(asked.measured.as_ref()), sha256, asked.clock_s);
        MeasuredSummary::of(&of, file, (measured, found), detector)
    });
    let summary = told::build(
        &of,
        &done.watched,
        (&figures, &caught),
        measured,
        (read.file.clone(), read.provenance("watch", &job.overrides)),
    );
    // Long tables are for computing with: no workbook, no page of text.
    let mut sheet: Vec<Table<'_>> = Vec::new();
    let mut more = vec![told::examples(&of, &done.watched)];
    if let (Some(measured), Some((readings, found, detector))) = (&summary.measured, &done.measured) {
        sheet.push(told::alarms(measured));
        more.push(told::residuals(&of, readings, &done.reference, (found, detector)));
    }
    if !caught.is_empty() {
        sheet.extend([
            told::detection(&of, &caught),
            told::naming(&of, &done.watched),
            told::operating(&of, &done.watched),
        ]);
    }
    sheet.push(told::methods_table(&of, &done.watched, &figures));
    sheet.extend([
        told::instruments(&of, &done.watched),
        told::modes(&of),
        told::run_lengths(),
        sheets::inputs(&read.scenario),
        sheets::assumptions(&read.scenario),
        sheets::limits(&read.scenario),
    ]);
    let runs = meant.tune + meant.held_out.max(meant.runs);
    let mut stamp = book::stamp(&[&read.file], (asked.seed, runs), None);
    if let Some(measured) = &summary.measured {
        stamp.push((format!("SHA-256 of {}", measured.file), measured.sha256.clone()));
    }
    let book = Book {
        name: "watch",
        title: format!("{}: nominal or off-nominal", read.file.heading()),
        answer: summary.answer.clone(),
        stamp,
        caution: caution::of(&case),
        sheets: sheet,
    };
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let mut frames = book::frames(&book);
    frames.extend(more.iter().map(|table| (table.name, Frame::of(table))));
    let page = watched::page(&summary, &frames, &book.stamp);
    book::deliver(
        console,
        &job.output,
        (target, &stem),
        (&book, &more, Some(&page)),
        (&json, &summary.warnings),
    )?;
    let alarmed = summary
        .measured
        .as_ref()
        .is_some_and(|measured| !measured.alarms.is_empty());
    Ok(if !done.watched.failures.is_empty() {
        Code::Failed
    } else if asked.gate && alarmed {
        Code::NotMet
    } else {
        Code::Done
    })
}

fn name_of(path: Option<&PathBuf>) -> String {
    path.and_then(|path| path.file_name())
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// The instruments of a file, else the usual ones.
///
/// # Errors
/// If the file is wrong, or there is nothing to read.
pub fn instruments(path: Option<&PathBuf>, scenario: &Scenario, case: &Case) -> Result<Vec<Instrument>, Ended> {
    let found = match path {
        None => usual::usual(case, &scenario.names),
        Some(path) => {
            let content = input::bytes(path, breathroom_sim::scenario::MAX_BYTES)
                .map_err(|error| Ended::Wrong(format!("error: {error}\n")))?;
            let name = path.display().to_string();
            let text = file::decode(&content, &name).map_err(|fault| Ended::Wrong(fault.render()))?;
            file::read(&name, text, &scenario.names)
                .map_err(|faults| Ended::Wrong(scenario_file::told(&faults, &name)))?
        }
    };
    if found.len() > file::MOST_INSTRUMENTS {
        return Err(Ended::Usage(format!(
            "{} instruments are more than {}: name fewer with --instruments",
            found.len(),
            file::MOST_INSTRUMENTS
        )));
    }
    Ok(found)
}

/// The spacing of rows.
///
/// # Errors
/// If a run would have too few rows or too many.
pub fn step(asked_s: Option<f64>, case: &Case) -> Result<Time, Ended> {
    let length_s = case.duration.seconds();
    let usual_s = 60.0 * libm::ceil(length_s / MOST_USUAL_ROWS / 60.0).max(1.0);
    let step_s = asked_s.unwrap_or_else(|| usual_s.min(length_s / 100.0));
    let rows = length_s / step_s;
    if !(20.0..=MOST_ROWS).contains(&rows) {
        return Err(Ended::Usage(format!(
            "--every {step_s} s makes {} rows of a run; there may be from 20 to {MOST_ROWS}",
            libm::floor(rows)
        )));
    }
    Ok(Time::from_seconds(step_s))
}

/// Modes by their names.
///
/// # Errors
/// If one is not there.
pub fn named(all: &[Mode], names: &[String]) -> Result<Vec<usize>, Ended> {
    let one = |name: &String| {
        all.iter().position(|mode| mode.id == *name).ok_or_else(|| {
            let meant = Texts::new("", "", &[]).meant(name, all.iter().map(|mode| mode.id.as_str()));
            let help = if meant.is_empty() {
                "the sheet `modes` of a watch lists them".to_owned()
            } else {
                meant
            };
            Ended::Usage(format!("there is no fault `{name}`: {help}"))
        })
    };
    let mut found: Vec<usize> = names.iter().map(one).collect::<Result<_, _>>()?;
    found.sort_unstable();
    found.dedup();
    Ok(found)
}

fn job_of(asked: &WatchAsked, all: &[Mode]) -> Result<WatchJob, Ended> {
    let tried = if asked.faults.is_empty() {
        (0..all.len()).collect()
    } else {
        named(all, &asked.faults)?
    };
    let left_out = if asked.leave_out.is_empty() {
        // Slow ones come as another shape than the bank has.
        (0..all.len()).filter(|&mode| all[mode].id.ends_with("-slow")).collect()
    } else {
        named(all, &asked.leave_out)?
    };
    let bank: Vec<usize> = (0..all.len())
        .filter(|mode| all[*mode].graded && !left_out.contains(mode))
        .collect();
    if bank.is_empty() || bank.len() > 255 {
        return Err(Ended::Usage(format!(
            "a bank has from 1 to 255 fault models, and this would have {}",
            bank.len()
        )));
    }
    Ok(WatchJob {
        tune: asked.tune,
        held_out: asked.held_out,
        runs: if asked.measured.is_some() { 0 } else { asked.runs },
        severities: asked.severities.clone(),
        per_day: asked.per_day,
        known_timeline: asked.known_timeline,
        bank,
        tried: if asked.measured.is_some() { Vec::new() } else { tried },
    })
}

/// What is needed to watch.
struct Work {
    read: Arc<scenario_file::Read>,
    instruments: Vec<Instrument>,
    modes: Vec<Mode>,
    job: WatchJob,
    step: Time,
    seed: u64,
    measured: Option<(String, Vec<u8>, f64)>,
    count: Counter,
    stop: &'static AtomicBool,
}

/// What came of it.
struct Done {
    watched: Watched,
    reference: Vec<Vec<f64>>,
    measured: Option<(Measured, Found, Detector)>,
}

type Faults = Vec<breathroom_sim::scenario::Diagnostic>;

impl Work {
    fn all(&self) -> Result<Result<Done, Faults>, StudyError> {
        let count = || self.count.count();
        let lab = Lab::new(
            &self.read.scenario,
            &self.instruments,
            (self.step, self.seed),
            &count,
            self.stop,
        )?;
        let (medians, reference) = tuning::expected(&lab)?;
        let step_s = self.step.seconds();
        // What is wrong with a file is told before anything long is run.
        let mut readings = None;
        if let Some((name, content, clock_s)) = &self.measured {
            let how = (step_s, *clock_s, window(self.instruments.len()));
            match measured::read((name, content), &self.instruments, (&medians.case, &reference), how) {
                Ok(read) => readings = Some(read),
                Err(faults) => return Ok(Err(faults)),
            }
        }
        let tuned = tuning::tune(&lab, &self.job, &self.modes)?;
        let measured = readings.map(|readings| {
            let detector = tuned.detector.clone();
            let found = measured::watch(&detector, &readings, &reference, (&self.job.bank, step_s));
            (readings, found, detector)
        });
        let watched = characterise::characterise(&tuned, &self.job, &self.modes)?;
        Ok(Ok(Done {
            watched,
            reference,
            measured,
        }))
    }
}
