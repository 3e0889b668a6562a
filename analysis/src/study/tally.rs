//! The tally: all that statistics need of the variations, taken in piece by piece and in order, in bounded memory.
//!
//! Margins are kept as they are while they fit, else as a sketch of whole counts; which of the two follows from the job
//! alone, so that no split shows. Inputs are kept of the first variations only, for rank correlations. The rest are counts and sums.

use breathroom_sim::units::Time;

use super::fold::Fold;
use super::method;
use super::piece::{Piece, Shape};
use super::upsets::{TIMES, Upsets};
use crate::chance::Design;
use crate::stats::convergence::{Row, checkpoints};
use crate::stats::sample::{Gathering, Sample};
use crate::stats::survival::SurvivalCounts;

/// Margins of all limits, and times of all alarms, that are kept as they are: 64 MB.
const MOST_EXACT: u64 = 1 << 23;
/// Variations, from the first on, whose inputs are ranked against their margins.
pub const DRIVER_RUNS: u64 = 16_384;
/// Confidence of the intervals.
pub(super) const CONFIDENCE: f64 = 0.95;
/// Failures that are kept in words.
const MOST_FAILED: usize = 10;

/// A variation that could not be finished.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failed {
    /// Its index, from 0.
    pub k: u64,
    /// Why, in words.
    pub why: String,
}

/// What was taken in.
#[derive(Clone, Debug)]
pub struct Tally {
    pub(super) runs: u64,
    /// How the draws lie.
    pub(super) design: Design,
    /// Numbers of runs at which the figures are kept, those to come first to last; the last is the number of all.
    checkpoints: std::collections::VecDeque<u64>,
    /// Counts and sums.
    pub(super) fold: Fold,
    /// By limit.
    pub(super) limits: Vec<LimitTally>,
    /// Faults, alarms and responses.
    pub(super) upsets: Upsets,
    /// By input, its values in the first variations.
    pub(super) inputs: Vec<Vec<f64>>,
    /// The first failures.
    pub(super) failed: Vec<Failed>,
}

/// The part of one limit.
#[derive(Clone, Debug)]
pub(super) struct LimitTally {
    /// All margins, as statistics take them, by replicate of the design.
    pub margins: Vec<Gathering>,
    /// When it was first crossed, or when a run ended without.
    pub crossings: SurvivalCounts,
    /// The figures at the checkpoints, but for the last.
    pub convergence: Vec<Row>,
    /// Those of the first variations, in order.
    pub first: Vec<f64>,
    /// The smallest margin, and the first variation that has it.
    pub worst: (f64, u64),
}

impl Tally {
    /// Of no variations yet, of a study of `runs`.
    #[must_use]
    pub fn new(shape: Shape, runs: u64, design: Design) -> Self {
        let limit = LimitTally {
            margins: vec![Gathering::new(is_exact(shape, runs)); design.replicates() as usize],
            crossings: SurvivalCounts::new(),
            convergence: Vec::new(),
            first: Vec::new(),
            worst: (f64::INFINITY, 0),
        };
        Self {
            runs: 0,
            design,
            checkpoints: checkpoints(runs).into(),
            fold: Fold::new(shape.limits, design),
            limits: vec![limit; shape.limits],
            upsets: Upsets::new(shape, is_exact(shape, runs), design),
            inputs: vec![Vec::new(); shape.inputs],
            failed: Vec::new(),
        }
    }

    /// Takes in the piece that comes next.
    pub fn add(&mut self, piece: &Piece) {
        debug_assert_eq!(piece.first, self.runs, "pieces in order");
        self.fold.add(piece);
        self.upsets.add(piece);
        for i in 0..piece.len() {
            let k = piece.first + i as u64;
            let replicate = self.design.replicate_of(k) as usize;
            for (index, limit) in self.limits.iter_mut().enumerate() {
                let margin = piece.judged_margin(i, index);
                limit.margins[replicate].add(margin);
                add_crossing(&mut limit.crossings, piece, i, index);
                if margin < limit.worst.0 {
                    limit.worst = (margin, k);
                }
                if k < DRIVER_RUNS {
                    limit.first.push(margin);
                }
            }
            self.checked(k + 1);
            if k < DRIVER_RUNS {
                for (kept, value) in self.inputs.iter_mut().zip(piece.values(i)) {
                    kept.push(*value);
                }
            }
            if let Err(why) = piece.end(i)
                && self.failed.len() < MOST_FAILED
            {
                self.failed.push(Failed { k, why: why.to_owned() });
            }
        }
        self.runs += piece.len() as u64;
    }

    /// Keeps the figures if this is a number of runs at which they are kept. Those of all runs are left to whoever judges.
    fn checked(&mut self, runs: u64) {
        if self.checkpoints.front() != Some(&runs) {
            return;
        }
        self.checkpoints.pop_front();
        if self.checkpoints.is_empty() {
            return;
        }
        for limit in &mut self.limits {
            let samples: Vec<Sample> = limit.margins.iter().map(|of| of.clone().into_sample()).collect();
            limit.convergence.push(method::row(self.design, &samples, CONFIDENCE));
        }
    }
}

/// Counts when a limit was first crossed in a variation, or when that ended without. Of a failed one nothing good is known:
/// it counts as crossed at once. What is judged at the end alone is crossed there.
fn add_crossing(crossings: &mut SurvivalCounts, piece: &Piece, i: usize, limit: usize) {
    let minute = |at: Time| u32::try_from(at.0.max(0).unsigned_abs().div_ceil(MINUTE_NS)).unwrap_or(u32::MAX);
    let ended = piece.ended_at[i];
    match piece.rules(i)[limit].first_crossing {
        _ if piece.end(i).is_err() => crossings.add_crossing(0),
        Some(at) => crossings.add_crossing(minute(at)),
        None if piece.judged_margin(i, limit) < 0.0 => crossings.add_crossing(minute(ended)),
        None => crossings.add_censored(minute(ended)),
    }
}

/// A minute in the clock's nanoseconds.
const MINUTE_NS: u64 = 60_000_000_000;

/// Whether all margins of a study, and all times of its alarms, are kept as they are.
pub(super) fn is_exact(shape: Shape, runs: u64) -> bool {
    let many = shape.limits + TIMES * shape.alarms;
    runs.saturating_mul(many as u64) <= MOST_EXACT
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_job_alone_says_whether_margins_are_kept() {
        let shape = Shape {
            limits: 8,
            ..Shape::default()
        };
        assert!(is_exact(shape, 1 << 20) && !is_exact(shape, (1 << 20) + 1));
        assert!(!is_exact(shape, u64::MAX));
        let with_alarms = Shape {
            limits: 2,
            alarms: 2,
            ..shape
        };
        assert!(is_exact(with_alarms, 1 << 20) && !is_exact(with_alarms, (1 << 20) + 1));
    }
}
