//! Rows of a trade on the same luck: what each gives, and how it differs from a baseline.
//!
//! Variation k of every row draws the same uniforms, by the paths of its inputs (common random numbers), so that rows differ by
//! their design alone and differences are made pair by pair. Draws are plain: intervals hold for independent variations.

mod answers;
mod statistic;

use std::sync::atomic::{AtomicBool, Ordering};

use breathroom_sim::engine::{Outcome, RunError};
use rayon::prelude::*;

use super::measure::Gauge;
use super::{Simulate, StudyError, draws};
use crate::chance::Design;

pub use answers::{Asked, RESOLUTION, RowAnswer, Standing, Told, Verdict, answers, standings};
pub use statistic::{CONFIDENCE, Known, Statistic};

/// Variations that one thread takes at a time.
const CHUNK: u64 = 16;

/// What the variations of one row gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RowRuns {
    /// By measure, then by variation, in the measure's unit.
    pub values: Vec<Vec<f64>>,
    /// Variations that could not be finished.
    pub failed: u64,
    /// The first of them, and why.
    pub first_failed: Option<(u64, String)>,
}

/// Runs the variations of one row, and reads its gauges off each, on the threads of the pool that this is called in. `words` says
/// why a run failed, `progress` is told of every run; once `stop` is set none begins.
///
/// # Errors
/// If it was stopped, or inputs cannot go together as asked for. Variations that fail are part of the result.
pub fn row<S: Simulate>(
    simulate: &S,
    gauges: &[Gauge],
    (runs, seed): (u64, u64),
    words: &(dyn Fn(&RunError) -> String + Sync),
    (progress, stop): (&(dyn Fn() + Sync), &AtomicBool),
) -> Result<RowRuns, StudyError> {
    let draws = draws(simulate, seed, Design::Plain, runs)?;
    let inputs = simulate.paths().len();
    let chunk = |chunk: u64| {
        let first = chunk * CHUNK;
        let last = runs.min(first + CHUNK);
        let mut worker = simulate.worker();
        let mut values = vec![f64::NAN; inputs];
        let mut outcome = Outcome::default();
        let mut read = Vec::with_capacity(gauges.len() * CHUNK as usize);
        let mut failed = Vec::new();
        for k in first..last {
            if stop.load(Ordering::Relaxed) {
                return Err(StudyError::Stopped);
            }
            match simulate.run_into(&draws.variation(k), &mut worker, &mut values, &mut outcome) {
                Ok(()) => read.extend(gauges.iter().map(|gauge| gauge.read(&outcome))),
                Err(error) => {
                    read.extend(gauges.iter().map(Gauge::failed));
                    failed.push((k, words(&error)));
                }
            }
            progress();
        }
        Ok((read, failed))
    };
    let chunks: Result<Vec<_>, StudyError> = (0..runs.div_ceil(CHUNK)).into_par_iter().map(chunk).collect();
    let mut row = RowRuns {
        values: vec![Vec::with_capacity(runs as usize); gauges.len()],
        ..RowRuns::default()
    };
    for (read, failed) in chunks? {
        for variation in read.chunks(gauges.len().max(1)) {
            row.values
                .iter_mut()
                .zip(variation)
                .for_each(|(all, value)| all.push(*value));
        }
        row.failed += failed.len() as u64;
        row.first_failed = row.first_failed.or_else(|| failed.into_iter().next());
    }
    Ok(row)
}

#[cfg(test)]
mod tests;
