//! The tally: all that statistics need of the variations, taken in piece by piece and in order, in bounded memory.
//!
//! Margins are kept as they are while they fit, else as a sketch of whole counts; which of the two follows from the job
//! alone, so that no split shows. Inputs are kept of the first variations only, for rank correlations. The rest are counts and sums.

use super::fold::Fold;
use super::piece::{Piece, Shape};
use crate::stats::sample::Gathering;

/// Margins of all limits that are kept as they are: 64 MB.
const MOST_EXACT: u64 = 1 << 23;
/// Variations, from the first on, whose inputs are ranked against their margins.
pub const DRIVER_RUNS: u64 = 16_384;
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
    /// Counts and sums.
    pub(super) fold: Fold,
    /// By limit.
    pub(super) limits: Vec<LimitTally>,
    /// By input, its values in the first variations.
    pub(super) inputs: Vec<Vec<f64>>,
    /// The first failures.
    pub(super) failed: Vec<Failed>,
}

/// The part of one limit.
#[derive(Clone, Debug)]
pub(super) struct LimitTally {
    /// All margins, as statistics take them.
    pub margins: Gathering,
    /// Those of the first variations, in order.
    pub first: Vec<f64>,
    /// The smallest margin, and the first variation that has it.
    pub worst: (f64, u64),
}

impl Tally {
    /// Of no variations yet, of a study of `runs`.
    #[must_use]
    pub fn new(shape: Shape, runs: u64) -> Self {
        let limit = LimitTally {
            margins: Gathering::new(is_exact(shape, runs)),
            first: Vec::new(),
            worst: (f64::INFINITY, 0),
        };
        Self {
            runs: 0,
            fold: Fold::new(shape.limits),
            limits: vec![limit; shape.limits],
            inputs: vec![Vec::new(); shape.inputs],
            failed: Vec::new(),
        }
    }

    /// Takes in the piece that comes next.
    pub fn add(&mut self, piece: &Piece) {
        debug_assert_eq!(piece.first, self.runs, "pieces in order");
        self.fold.add(piece);
        for i in 0..piece.len() {
            let k = piece.first + i as u64;
            for (index, limit) in self.limits.iter_mut().enumerate() {
                let margin = piece.judged_margin(i, index);
                limit.margins.add(margin);
                if margin < limit.worst.0 {
                    limit.worst = (margin, k);
                }
                if k < DRIVER_RUNS {
                    limit.first.push(margin);
                }
            }
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
}

/// Whether all margins of a study are kept as they are.
pub(super) fn is_exact(shape: Shape, runs: u64) -> bool {
    runs.saturating_mul(shape.limits as u64) <= MOST_EXACT
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
    }
}
