//! Many variations of one scenario: margins with confidence, and what drives them.

use std::sync::atomic::{AtomicBool, Ordering};

use breathroom_sim::engine::{Counters, Engine, Outcome, RunError, Trace};
use breathroom_sim::scenario::{Drawn, Medians, Scenario};

use super::fold::Fold;
use super::judge;
use super::{Gate, LimitStatistics, Runs, Simulate, StudyError, Survival};
use crate::chance::Streams;

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VaryJob {
    /// Variations: at least 1.
    pub runs: u64,
    /// The seed of all draws.
    pub seed: u64,
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
            threads: 0,
            gate: Gate::USUAL,
        }
    }
}

/// A variation that could not be finished.
#[derive(Clone, Debug, PartialEq)]
pub struct Failed {
    /// Its index, from 0.
    pub k: u64,
    /// Why.
    pub error: RunError,
}

/// What the variations gave.
#[derive(Clone, Debug)]
pub struct Vary {
    /// The job, for whoever shows it.
    pub job: VaryJob,
    /// Every variation.
    pub runs: Runs,
    /// One for each limit.
    pub limits: Vec<LimitStatistics>,
    /// Runs that ended early or failed.
    pub survival: Survival,
    /// Failed variations, by index.
    pub failed: Vec<Failed>,
    /// Work of all variations that ended.
    pub counters: Counters,
    /// The run on the medians of all spreads.
    pub medians: Outcome,
    /// Rank correlations within this of 0 are hard to tell from chance: 3 / sqrt(runs - 1), three standard deviations of
    /// that of independent quantities; at most 1.
    pub driver_noise: f64,
}

impl Vary {
    /// Whether the gate asked for is passed by every limit, each judged for itself, and by survival.
    #[must_use]
    pub fn gate_met(&self) -> bool {
        self.survival.gate_met && self.limits.iter().all(|limit| limit.gate_met)
    }
}

/// Runs variations 0 .. runs of a scenario, and its medians.
///
/// `progress` is told how many are done (from several threads, so not always in order). Once `stop` is set no further
/// variation begins.
///
/// # Errors
/// If it was stopped, if no runs were asked for, if the run on the medians fails, or if the machine cannot hold the runs or
/// start the threads. Variations that fail are part of the result.
pub fn vary(
    scenario: &Scenario,
    job: &VaryJob,
    progress: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Vary, StudyError> {
    vary_with(scenario, job, progress, stop)
}

/// [`vary`] of anything that can be drawn and run.
///
/// # Errors
/// As [`vary`].
pub fn vary_with<S: Simulate>(
    simulate: &S,
    job: &VaryJob,
    progress: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Vary, StudyError> {
    if job.runs == 0 {
        return Err(StudyError::NoRuns);
    }
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(job.threads)
        .build()
        .map_err(|error| StudyError::NoThreads(error.to_string()))?;
    pool.install(|| {
        let paths = simulate.paths();
        let streams = Streams::new(job.seed, &paths);
        // First: if this fails, no one waits for the variations in vain.
        let medians = simulate
            .run(&Medians, &mut simulate.worker(), &mut vec![f64::NAN; paths.len()])
            .map_err(StudyError::Medians)?;
        let runs = Runs::simulate(simulate, &streams, job.runs, progress, stop)?;
        if stop.load(Ordering::Relaxed) {
            return Err(StudyError::Stopped);
        }
        let fold = Fold::of(&runs);
        let failed = |k: usize| {
            runs.end(k).err().map(|error| Failed {
                k: k as u64,
                error: error.clone(),
            })
        };
        Ok(Vary {
            job: *job,
            limits: judge::limits(&runs, &fold, job.gate),
            survival: Survival::of(&fold, job.runs, job.gate),
            failed: (0..runs.len()).filter_map(failed).collect(),
            counters: fold.counters,
            medians,
            driver_noise: (3.0 / (job.runs as f64 - 1.0).sqrt()).min(1.0),
            runs,
        })
    })
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
}

/// Runs variation `k` (from 0) of a seed again, with its full history: the same bits as in [`vary`].
#[must_use]
pub fn only(scenario: &Scenario, seed: u64, k: u64) -> Only {
    let streams = Streams::new(seed, &scenario.paths());
    let drawn = scenario.draw(&streams.variation(k));
    let mut trace = Trace::default();
    let outcome = Engine::new().run(&drawn.case, Some(&mut trace));
    Only { outcome, trace, drawn }
}
