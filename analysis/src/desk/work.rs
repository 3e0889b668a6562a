//! The runs behind the page: one on the medians at every change, many variations once the hand rests.
//!
//! A supervisor looks at the state whenever it changes. The latest change wins: what was wanted in between is never begun, and
//! what ends too late is dropped. So many runs are under way at once and no more: a run cannot be broken off, so one that takes
//! long is left to end beside the next.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use breathroom_sim::engine::{Case, Engine, Outcome, Trace};
use breathroom_sim::scenario::{Medians, Scenario};

use super::state::{Desk, State};
use super::variant::Variant;
use crate::results::summary::Summary;
use crate::results::{Provenance, ScenarioFile, describe, summarise};
use crate::study::{StudyError, Vary, VaryJob, vary};

/// Runs on the medians that may be under way at once.
const MOST_RUNS: usize = 3;
/// A run that takes longer no longer holds up the next.
const PATIENCE: Duration = Duration::from_millis(300);
/// How often the supervisor looks without being told to.
const LOOK_EVERY: Duration = Duration::from_millis(50);
/// How often the progress of variations is told.
const TELL_EVERY: Duration = Duration::from_millis(250);
/// The seed of all variations: both variants meet the same luck.
const SEED: u64 = 1;

/// A run on the medians.
pub(super) struct Nominal {
    /// Of which scenario.
    pub scenario: Arc<Scenario>,
    /// What was run.
    pub case: Case,
    /// What came of it.
    pub outcome: Outcome,
    /// Its history.
    pub trace: Trace,
    /// The same for people.
    pub summary: Summary,
    /// How long it took.
    pub took: Duration,
}

/// Many variations.
pub(super) struct Studied {
    /// Of which scenario.
    pub scenario: Arc<Scenario>,
    /// How many.
    pub runs: u64,
    /// What they gave; else why not.
    pub result: Result<Vary, String>,
}

/// How runs are made. Tests bring their own.
pub(super) struct Runner {
    /// A run on the medians.
    pub nominal: fn(Arc<Scenario>) -> Result<Nominal, String>,
    /// How long nothing may change before variations are begun.
    pub idle: Duration,
    /// How long the answer to a change waits for its run, so that one request brings the new curves.
    pub moment: Duration,
}

impl Default for Runner {
    fn default() -> Self {
        Self {
            nominal,
            idle: Duration::from_millis(700),
            moment: Duration::from_millis(500),
        }
    }
}

/// Runs a scenario on its medians.
///
/// # Errors
/// If the run cannot be finished: why.
pub(super) fn nominal(scenario: Arc<Scenario>) -> Result<Nominal, String> {
    let began = Instant::now();
    let case = scenario.draw(&Medians).case;
    let mut trace = Trace::default();
    let outcome = Engine::new()
        .run(&case, Some(&mut trace))
        .map_err(|error| describe(&error, &scenario.names, &case.plan))?;
    let took = began.elapsed();
    let file = ScenarioFile {
        title: scenario.title.clone(),
        ..ScenarioFile::default()
    };
    let provenance = Provenance::new("run", &scenario, &file, &[]);
    let summary = summarise("run", &scenario, &case, &outcome, file, provenance);
    Ok(Nominal {
        scenario,
        case,
        outcome,
        trace,
        summary,
        took,
    })
}

/// A run under way.
pub(super) struct Run {
    variant: u64,
    revision: u64,
    began: Instant,
}

/// Variations under way.
pub(super) struct Study {
    /// Of which variant and text.
    pub variant: u64,
    /// Its revision.
    revision: u64,
    /// How many.
    pub runs: u64,
    /// Set to end them.
    pub stop: Arc<AtomicBool>,
    /// How many are done.
    pub done: Arc<AtomicU64>,
    told: (u64, Instant),
}

/// Starts the supervisor; it ends with the desk.
pub(super) fn start(desk: &Arc<Desk>) -> Result<thread::JoinHandle<()>, String> {
    let desk = desk.clone();
    let body = move || supervise(&desk);
    thread::Builder::new()
        .name("desk".to_owned())
        .spawn(body)
        .map_err(|error| format!("cannot start a thread: {error}"))
}

fn supervise(desk: &Arc<Desk>) {
    let mut state = desk.lock();
    while !state.ended {
        begin_runs(desk, &mut state);
        if let Some((scenario, study)) = next_study(desk, &state) {
            begin_study(desk, &mut state, scenario, study);
        }
        let progress = state.study.as_mut().is_some_and(|study| {
            let done = study.done.load(Ordering::Relaxed);
            let tell = done != study.told.0 && study.told.1.elapsed() >= TELL_EVERY;
            if tell {
                study.told = (done, Instant::now());
            }
            tell
        });
        if progress {
            desk.tell(&mut state);
        }
        state = desk.wait(state, LOOK_EVERY);
    }
    state.stop_study();
}

/// Whether the run of a variant's text has not ended yet.
fn is_awaited(variant: &Variant) -> bool {
    let revision = variant.revision;
    let known = variant.nominal.as_ref().is_some_and(|(of, _)| *of == revision)
        || variant.failed.as_ref().is_some_and(|(of, _)| *of == revision);
    !known && variant.runnable().is_some()
}

/// Whether any run of what stands there has not ended yet.
pub(super) fn awaited(state: &State) -> bool {
    state.variants.iter().any(is_awaited)
}

/// The run that a variant's text still waits for.
fn waits(state: &State) -> Option<(Arc<Scenario>, Run)> {
    state.variants.iter().find_map(|variant| {
        let revision = variant.revision;
        let under_way = |run: &Run| run.variant == variant.id && run.revision == revision;
        if !is_awaited(variant) || state.running.iter().any(under_way) {
            return None;
        }
        let run = Run {
            variant: variant.id,
            revision,
            began: Instant::now(),
        };
        Some((variant.runnable()?.clone(), run))
    })
}

/// Begins the runs on the medians that are wanted, as far as there is room for them.
pub(super) fn begin_runs(desk: &Arc<Desk>, state: &mut State) {
    while let Some((scenario, run)) = next_run(state) {
        begin(desk, state, scenario, run);
    }
}

fn next_run(state: &State) -> Option<(Arc<Scenario>, Run)> {
    let free = state.running.len() < MOST_RUNS && state.running.iter().all(|run| run.began.elapsed() >= PATIENCE);
    waits(state).filter(|_| free)
}

fn begin(desk: &Arc<Desk>, state: &mut State, scenario: Arc<Scenario>, run: Run) {
    let (variant, revision) = (run.variant, run.revision);
    let end = {
        let desk = desk.clone();
        move |result: Result<Nominal, String>| {
            let mut state = desk.lock();
            state
                .running
                .retain(|run| (run.variant, run.revision) != (variant, revision));
            let of_now = |known: &&mut Variant| known.id == variant && known.revision == revision;
            if let Some(known) = state.variants.iter_mut().find(of_now) {
                match result {
                    Ok(nominal) => {
                        known.failed = None;
                        known.nominal = Some((revision, Arc::new(nominal)));
                    }
                    Err(why) => known.failed = Some((revision, why)),
                }
                state.results += 1;
            }
            desk.tell(&mut state);
        }
    };
    let nominal = desk.runner.nominal;
    let body = move || {
        let result = catch_unwind(AssertUnwindSafe(|| nominal(scenario)));
        end(result.unwrap_or_else(|_| Err(BROKE_OFF.to_owned())));
    };
    state.running.push(run);
    if let Err(error) = thread::Builder::new().name("nominal".to_owned()).spawn(body) {
        let why = format!("cannot start a thread: {error}");
        state
            .running
            .retain(|run| (run.variant, run.revision) != (variant, revision));
        if let Some(known) = state.variants.iter_mut().find(|known| known.id == variant) {
            known.failed = Some((revision, why));
        }
    }
}

/// What is told of a run that panicked.
pub(super) const BROKE_OFF: &str = "the run broke off: a fault of this program; please report it";

fn next_study(desk: &Desk, state: &State) -> Option<(Arc<Scenario>, Study)> {
    let rests = state.changed.elapsed() >= desk.runner.idle;
    if state.study.is_some() || !rests || !state.running.is_empty() || waits(state).is_some() {
        return None;
    }
    state.variants.iter().find_map(|variant| {
        let ran = variant.nominal.as_ref().is_some_and(|(of, _)| *of == variant.revision);
        let known = |(of, studied): &(u64, Arc<Studied>)| *of == variant.revision && studied.runs == state.runs;
        if !ran || variant.studied.as_ref().is_some_and(known) {
            return None;
        }
        let study = Study {
            variant: variant.id,
            revision: variant.revision,
            runs: state.runs,
            stop: Arc::new(AtomicBool::new(false)),
            done: Arc::new(AtomicU64::new(0)),
            told: (0, Instant::now()),
        };
        Some((variant.runnable()?.clone(), study))
    })
}

fn begin_study(desk: &Arc<Desk>, state: &mut State, scenario: Arc<Scenario>, study: Study) {
    let (variant, revision, runs) = (study.variant, study.revision, study.runs);
    let (stop, done) = (study.stop.clone(), study.done.clone());
    let body = {
        let desk = desk.clone();
        move || {
            let job = VaryJob {
                runs,
                seed: SEED,
                // One core stays free for the next change.
                threads: thread::available_parallelism().map_or(1, |cores| cores.get().saturating_sub(1).max(1)),
                ..VaryJob::default()
            };
            let progress = |many: u64| done.store(many, Ordering::Relaxed);
            let work = || vary(scenario.as_ref(), &job, &progress, &stop);
            let result = match catch_unwind(AssertUnwindSafe(work)) {
                Ok(Ok(vary)) => Some(Ok(vary)),
                Ok(Err(StudyError::Stopped)) => None,
                Ok(Err(error)) => Some(Err(error.to_string())),
                Err(_) => Some(Err(BROKE_OFF.to_owned())),
            };
            let mut state = desk.lock();
            state.study = None;
            let of_now = |known: &&mut Variant| known.id == variant && known.revision == revision;
            if let Some(result) = result
                && let Some(known) = state.variants.iter_mut().find(of_now)
            {
                let studied = Studied { scenario, runs, result };
                known.studied = Some((revision, Arc::new(studied)));
                state.results += 1;
            }
            desk.tell(&mut state);
        }
    };
    state.study = Some(study);
    desk.tell(state);
    if thread::Builder::new()
        .name("variations".to_owned())
        .spawn(body)
        .is_err()
    {
        // Tried again once something changes.
        state.study = None;
        state.changed = Instant::now();
    }
}
