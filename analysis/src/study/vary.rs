//! Many variations of one scenario: margins with confidence, and what drives them.

use std::sync::atomic::AtomicBool;

use breathroom_sim::engine::{Counters, Engine, Outcome, RunError, Trace};
use breathroom_sim::scenario::{Drawn, Medians, Scenario};

use super::judge;
use super::piece::{Piece, Shape};
use super::stream::{Running, pool, stream};
use super::tally::{DRIVER_RUNS, Failed, Tally, is_exact};
use super::{Gate, Joint, LimitStatistics, Simulate, StudyError, Survival, UpsetStatistics};
use crate::chance::{Design, Draws, FEWEST_RUNS, InputKey};
use crate::stats::sketch::RELATIVE_ERROR;

/// Most variations of a study.
pub const MOST_RUNS: u64 = 1 << 32;

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VaryJob {
    /// Variations: at least 1.
    pub runs: u64,
    /// The seed of all draws.
    pub seed: u64,
    /// How the draws lie.
    pub design: Design,
    /// Threads; 0 for as many as there are cores. Changes no bit of the result.
    pub threads: usize,
    /// When a limit counts as met.
    pub gate: Gate,
}

impl Default for VaryJob {
    fn default() -> Self {
        Self {
            runs: 1_000,
            seed: 1,
            design: Design::Plain,
            threads: 0,
            gate: Gate::USUAL,
        }
    }
}

/// What the variations gave.
#[derive(Clone, Debug)]
pub struct Vary {
    /// The job, for whoever shows it.
    pub job: VaryJob,
    /// One for each limit.
    pub limits: Vec<LimitStatistics>,
    /// All limits together.
    pub joint: Joint,
    /// Runs that ended early or failed.
    pub survival: Survival,
    /// Faults, alarms and responses.
    pub upsets: UpsetStatistics,
    /// The first failed variations, by index.
    pub failed: Vec<Failed>,
    /// Work of all variations that ended.
    pub counters: Counters,
    /// The run on the medians of all spreads.
    pub medians: Outcome,
    /// The variations, from the first on, from which drivers are told.
    pub driver_runs: u64,
    /// Rank correlations within this of 0 are hard to tell from chance: 3 / sqrt(n - 1) with n those variations, three
    /// standard deviations of that of independent quantities; at most 1.
    pub driver_noise: f64,
    /// Quantiles and bounds of margins may be off by this, relative to them; `None` where they are exact.
    pub quantile_error: Option<f64>,
}

impl Vary {
    /// Whether the gate asked for is passed by every limit, each judged for itself, and by survival.
    #[must_use]
    pub fn gate_met(&self) -> bool {
        self.survival.gate_met && self.limits.iter().all(|limit| limit.gate_met)
    }

    /// What all variations of a job say, once they are in the tally. Works on the threads of the pool that this is called in.
    #[must_use]
    pub fn of(tally: Tally, shape: Shape, job: &VaryJob, medians: Outcome) -> Self {
        let mut tally = tally;
        tally.fold.close();
        let driver_runs = job.runs.min(DRIVER_RUNS);
        let survival = Survival::of(&tally.fold, job.runs, (job.design, job.gate));
        let (failed, counters) = (std::mem::take(&mut tally.failed), tally.fold.counters);
        let upsets = std::mem::take(&mut tally.upsets).into_statistics();
        let (limits, joint) = judge::limits(tally, job.gate);
        Self {
            job: *job,
            survival,
            upsets,
            failed,
            counters,
            limits,
            joint,
            medians,
            driver_runs,
            driver_noise: (3.0 / (driver_runs as f64 - 1.0).sqrt()).min(1.0),
            quantile_error: (!is_exact(shape, job.runs)).then_some(RELATIVE_ERROR),
        }
    }
}

/// The draws of a study.
///
/// # Errors
/// If the design cannot have so many runs, or inputs cannot go together as asked for.
pub fn draws<S: Simulate>(simulate: &S, seed: u64, design: Design, runs: u64) -> Result<Draws, StudyError> {
    let paths = simulate.paths();
    let input = |(index, &path)| InputKey {
        path,
        once: simulate.once(index),
    };
    let inputs: Vec<InputKey<'_>> = paths.iter().enumerate().map(input).collect();
    Ok(Draws::new(seed, design, runs, &inputs, &simulate.groups()?)?)
}

/// The run on the medians of all spreads, which is made first: if it fails, no one waits for the variations in vain.
///
/// # Errors
/// If it could not be finished, or if the job asks for too few runs or too many.
pub fn medians<S: Simulate>(simulate: &S, job: &VaryJob) -> Result<Outcome, StudyError> {
    match job.runs {
        0 => return Err(StudyError::NoRuns),
        runs if runs > MOST_RUNS => return Err(StudyError::TooManyRuns { runs }),
        _ => {}
    }
    let mut values = vec![f64::NAN; simulate.paths().len()];
    simulate
        .run(&Medians, &mut simulate.worker(), &mut values)
        .map_err(StudyError::Medians)
}

/// Runs variations 0 .. runs of anything that can be drawn and run, and its medians.
///
/// `progress` is told how many are done (from several threads, so not always in order). Once `stop` is set no further
/// variation begins.
///
/// # Errors
/// If it was stopped, if no runs were asked for or too many, if the run on the medians fails, or if the threads cannot be
/// started. Variations that fail are part of the result.
pub fn vary<S: Simulate>(
    simulate: &S,
    job: &VaryJob,
    progress: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Vary, StudyError> {
    vary_with(simulate, job, progress, stop, |_| {})
}

/// [`vary`], in which every piece is shown to `take` too, in order.
///
/// # Errors
/// As [`vary`].
pub fn vary_with<S: Simulate>(
    simulate: &S,
    job: &VaryJob,
    progress: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
    mut take: impl FnMut(&Piece),
) -> Result<Vary, StudyError> {
    let medians = medians(simulate, job)?;
    let pool = pool(job.threads)?;
    let (shape, draws) = (Shape::of(simulate), draws(simulate, job.seed, job.design, job.runs)?);
    let mut tally = Tally::new(shape, job.runs, job.design);
    let running = Running {
        pool: &pool,
        progress,
        stop,
        traced: false,
        words: &|error| format!("{error:?}"),
    };
    stream(
        simulate,
        &draws,
        std::slice::from_ref(&(0..job.runs)),
        &running,
        |piece| {
            tally.add(piece);
            take(piece);
            Ok::<(), StudyError>(())
        },
    )?;
    Ok(pool.install(|| Vary::of(tally, shape, job, medians)))
}

/// One variation, run again alone.
#[derive(Clone, Debug)]
pub struct Only {
    /// What it gave; the error if it fails.
    pub outcome: Result<Outcome, RunError>,
    /// Its history and log: up to the failure, if it fails.
    pub trace: Trace,
    /// Its draws.
    pub drawn: Drawn,
    /// What they were drawn from.
    pub draws: Draws,
}

/// Runs variations of a study again, one after the other, with courses on the grid of [`super::courses`]. Those that fail are left
/// out.
///
/// # Errors
/// If there is no such study.
pub fn again(scenario: &Scenario, job: &VaryJob, which: &[u64]) -> Result<Vec<(u64, Trace)>, StudyError> {
    let draws = draws(scenario, job.seed, job.design, job.runs)?;
    let mut engine = Engine::new();
    let mut out = Vec::new();
    for &k in which {
        let mut case = scenario.draw(&draws.variation(k)).case;
        case.history_every = super::courses::spacing(scenario);
        let mut trace = Trace::default();
        if engine.run(&case, Some(&mut trace)).is_ok() {
            out.push((k, trace));
        }
    }
    Ok(out)
}

/// Runs variation `k` (from 0) of a seed and a design again, with its full history: the same bits as in [`vary`]. The number
/// of runs of the whole study changes the draws of a Latin hypercube alone, and is needed there.
///
/// # Errors
/// If there is no such variation in that design.
pub fn only(scenario: &Scenario, seed: u64, (design, runs): (Design, Option<u64>), k: u64) -> Result<Only, StudyError> {
    let runs = match (design, runs) {
        (Design::LatinHypercube, None) => return Err(StudyError::RunsUnknown),
        (_, Some(runs)) if k >= runs => return Err(StudyError::NoSuchRun { k, runs }),
        (_, Some(runs)) => runs,
        (_, None) => k.saturating_add(1).max(FEWEST_RUNS),
    };
    let draws = draws(scenario, seed, design, runs)?;
    let drawn = scenario.draw(&draws.variation(k));
    let mut trace = Trace::default();
    let outcome = Engine::new().run(&drawn.case, Some(&mut trace));
    Ok(Only {
        outcome,
        trace,
        drawn,
        draws,
    })
}
