//! Rare violations: the probability that a limit is broken, down to about 1e-6, by subset simulation.
//!
//! Equation: P(margin < 0) = product over the levels of P(margin <= c_l given margin <= c_(l-1)), c falling to 0, each share
//! about a tenth. The first level is made of N plain variations; each further one of N samples in chains that start at the
//! samples below c and walk on below it: every normal moves to z' = r z + s w, r^2 + s^2 = 1, and the move is kept if the
//! run's margin is still at most c.
//! Symbols: z the standard normals behind the draws, one for each key (input, turn, person), made when a run first asks for
//! it, kept in the chain while its runs ask; w fresh ones; s the stride, adapted; c thresholds of the margin, SI.
//! Source: Au and Beck, Probab. Eng. Mech. 16 (2001) 263-277; the move: conditional sampling, Papaioannou, Betz, Zwirglmaier
//! and Straub, "MCMC algorithms for subset simulation", Probab. Eng. Mech. 41 (2015) 89-103, section 4.2, with its adaptation
//! of the stride towards 44 % of moves kept (4.3), the seeds' deviations taken as 1.
//! Valid for the plain design of draws: others are not independent, the caller refuses them. Inputs that are drawn together
//! must be asked for in every run. The estimate is approximate by its coefficient of variation (see
//! [`crate::stats::subset`]); a way to fail that none of the first N variations leans to may be missed altogether.
//! Left out: several limits at once: each has chains of its own.
//!
//! A failed run has the margin of minus infinity and counts as a violation; a limit that never applied has plus infinity. A
//! level at whose threshold half of the samples or more stand (a plateau) cannot be cut there: what lies below it is cut
//! off if it is enough to start chains from; else the climb ends, and says only what it saw. Random numbers are keyed by the
//! run, so threads change no bit.

mod climb;
mod state;
#[cfg(test)]
mod tests;

use std::fmt;
use std::sync::atomic::AtomicBool;

use breathroom_sim::scenario::Luck;

use super::drives::judged_margin;
use super::{Simulate, StudyError};
use climb::Performance;

/// The share of samples that a level aims at: 1 in so many.
pub(super) const ONE_IN: usize = 10;

/// The fewest runs in a level: ten of them start the chains of the next.
pub const LEAST_RUNS: u64 = 100;

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RareJob {
    /// Index of the limit.
    pub limit: usize,
    /// Samples in each level: at least [`LEAST_RUNS`].
    pub runs: u64,
    /// At most so many levels, the plain one included: at 8, no probability far below 1e-8 is looked for.
    pub most_levels: u32,
}

impl Default for RareJob {
    fn default() -> Self {
        Self {
            limit: 0,
            runs: 1_000,
            most_levels: 8,
        }
    }
}

/// What is known of the probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Found {
    /// An estimate.
    Probability {
        /// The estimate.
        estimate: f64,
        /// Its coefficient of variation, levels taken as independent.
        variation: f64,
        /// The upper bound of that: levels that err all together.
        variation_most: f64,
        /// Two-sided 95 % interval: exact (Clopper-Pearson) if the plain runs were enough, else lognormal and approximate.
        interval_95: [f64; 2],
    },
    /// No violation was seen: with about 95 % confidence the probability is below this.
    Below(f64),
}

/// Why the climb ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The threshold reached 0: a tenth or more of the last level are violations.
    Reached,
    /// Too many samples stand at one margin, too few below it. Violations seen there, if any, are counted as they are.
    Plateau,
    /// The levels asked for were used up. Violations seen in the last, if any, are counted as they are.
    Levels,
}

/// One level: samples, and the part of them from which the next starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Its samples lie at or below this margin (below it, after a plateau), SI; plus infinity in the first.
    pub threshold: f64,
    /// Its samples in the next level; in the last, the violations.
    pub inside: u64,
    /// That over all its samples.
    pub share: f64,
    /// Chains; as many as samples in the first.
    pub chains: u64,
    /// Share of moves that were kept; `None` in the first, where nothing moves.
    pub kept: Option<f64>,
    /// The stride s that its moves came to; 1 in the first.
    pub stride: f64,
    /// The correlation factor of its samples.
    pub correlation: f64,
}

/// What the climb gave.
#[derive(Clone, Debug, PartialEq)]
pub struct Rare {
    /// The job, for whoever shows it.
    pub job: RareJob,
    /// The probability of a violation.
    pub found: Found,
    /// Why it ended.
    pub why: Why,
    /// Level by level.
    pub levels: Vec<Level>,
    /// Runs made.
    pub runs: u64,
    /// Of the violations in the last level, those that are failed runs.
    pub failed: u64,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum RareError {
    /// As in every study.
    Study(StudyError),
    /// Fewer runs to a level than [`LEAST_RUNS`].
    TooFewRuns(u64),
    /// No levels were asked for.
    NoLevels,
    /// There is no such limit.
    NoLimit {
        /// The index asked for.
        limit: usize,
        /// How many there are.
        limits: usize,
    },
}

impl fmt::Display for RareError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Study(error) => error.fmt(f),
            Self::TooFewRuns(runs) => write!(
                f,
                "{runs} runs to a level are too few for a rare event: at least {LEAST_RUNS}"
            ),
            Self::NoLevels => write!(f, "a rare event needs at least one level"),
            Self::NoLimit { limit, limits } => {
                write!(f, "there is no limit of index {limit}: the scenario has {limits}")
            }
        }
    }
}

impl std::error::Error for RareError {}

impl From<StudyError> for RareError {
    fn from(error: StudyError) -> Self {
        Self::Study(error)
    }
}

/// Estimates how likely one limit is broken, on the threads of the pool that this is called in.
///
/// `luck` gives the plain draws of variation k, any k below 2^63; they should not be those of other studies (see
/// [`super::own_seed`]). `progress` is told how many runs are done (from several threads, so not always in order); how many
/// there will be is not known before. Once `stop` is set no further run begins.
///
/// # Errors
/// If the job cannot be done, if it was stopped, or if the samples do not fit into memory.
pub fn rare<S, L, F>(
    simulate: &S,
    luck: &F,
    job: &RareJob,
    progress: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Rare, RareError>
where
    S: Simulate,
    L: Luck,
    F: Fn(u64) -> L + Sync,
{
    let limits = simulate.limits();
    if job.limit >= limits {
        return Err(RareError::NoLimit {
            limit: job.limit,
            limits,
        });
    }
    let margin = Margin {
        simulate,
        limit: job.limit,
        inputs: simulate.paths().len(),
    };
    climb::climb(&margin, luck, job, progress, stop)
}

/// The margin of one limit, as statistics take it.
struct Margin<'a, S> {
    simulate: &'a S,
    limit: usize,
    inputs: usize,
}

impl<S: Simulate> Performance for Margin<'_, S> {
    type Worker = (S::Worker, Vec<f64>);

    fn worker(&self) -> Self::Worker {
        (self.simulate.worker(), vec![f64::NAN; self.inputs])
    }

    fn value(&self, luck: &dyn Luck, worker: &mut Self::Worker) -> f64 {
        let (worker, values) = worker;
        judged_margin(&self.simulate.run(luck, worker, values), self.limit)
    }
}
