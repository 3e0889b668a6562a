//! Counts and sums over variations, in an order that no thread and no split changes.
//!
//! Equation: with blocks of B = 1,024 variations that start at multiples of B, S = sum over blocks, in order, of the sum over
//! the block's variations, in order. Partial results cut at multiples of B therefore add up to the same bits.
//! Symbols: S a sum of times in s, or a count. Source: none needed. Valid for any number of runs.
//! Left out: means of margins, which a failed run (minus infinity) would swallow: quantiles serve instead.

use breathroom_sim::engine::{Counters, End};

use super::piece::{BLOCK, Piece, add_counters};

/// Counts and sums of the variations that were added, in order.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Fold {
    /// Ended by a run error.
    pub failed: u64,
    /// Ended as not survivable.
    pub not_survivable: u64,
    /// Work of all runs that ended.
    pub counters: Counters,
    /// By limit.
    pub limits: Vec<LimitFold>,
}

/// The part of one limit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct LimitFold {
    /// Margin below zero, or failed.
    pub violations: u64,
    /// Ended, and the limit never applied.
    pub never_applied: u64,
    /// Time beyond the limit, s, of the runs that ended, in whole blocks.
    pub beyond_s: f64,
    /// The same of the block that is not whole yet.
    block_s: f64,
}

impl Fold {
    /// Of no variations.
    pub fn new(limits: usize) -> Self {
        Self {
            limits: vec![LimitFold::default(); limits],
            ..Self::default()
        }
    }

    /// Adds those that come next.
    pub fn add(&mut self, piece: &Piece) {
        if piece.first.is_multiple_of(BLOCK) {
            self.close();
        }
        add_counters(&mut self.counters, piece.counters);
        for i in 0..piece.len() {
            let end = piece.end(i);
            self.failed += u64::from(end.is_err());
            self.not_survivable += u64::from(matches!(end, Ok(end) if end != End::Completed));
            for (limit, sum) in self.limits.iter_mut().enumerate() {
                let margin = piece.judged_margin(i, limit);
                sum.violations += u64::from(margin < 0.0);
                sum.never_applied += u64::from(end.is_ok() && margin == f64::INFINITY);
                if end.is_ok() {
                    sum.block_s += piece.rules(i)[limit].beyond_s;
                }
            }
        }
    }

    /// Ends the block.
    pub fn close(&mut self) {
        for sum in &mut self.limits {
            sum.beyond_s += sum.block_s;
            sum.block_s = 0.0;
        }
    }
}
