//! Counts and sums over variations, in an order that no thread and no split changes.
//!
//! Equation: with blocks of B = 1,024 variations that start at multiples of B, S = sum over blocks, in order, of the sum over
//! the block's variations, in order. Partial results cut at multiples of B therefore add up to the same bits.
//! Symbols: S a sum of times in s, or a count. Source: none needed. Valid for any number of runs.
//! Left out: means of margins, which a failed run (minus infinity) would swallow: quantiles serve instead.

use breathroom_sim::engine::{Counters, End};

use super::piece::{BLOCK, Piece, add_counters};
use crate::chance::Design;

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
    /// By replicate of the design, its runs ...
    runs: Vec<u64>,
    /// ... those that failed or were not survivable ...
    bad: Vec<u64>,
    /// ... and those that violated any limit.
    any: Vec<u64>,
    design: Design,
}

/// The part of one limit.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct LimitFold {
    /// By replicate, runs with a margin below zero and failed ones.
    violations: Vec<u64>,
    /// Ended, and the limit never applied.
    pub never_applied: u64,
    /// Time beyond the limit, s, of the runs that ended, in whole blocks.
    pub beyond_s: f64,
    /// The same of the block that is not whole yet.
    block_s: f64,
}

impl Fold {
    /// Of no variations.
    pub fn new(limits: usize, design: Design) -> Self {
        let none = vec![0; design.replicates() as usize];
        let limit = LimitFold {
            violations: none.clone(),
            ..LimitFold::default()
        };
        Self {
            limits: vec![limit; limits],
            runs: none.clone(),
            bad: none.clone(),
            any: none,
            design,
            ..Self::default()
        }
    }

    /// Of each replicate, the violations of a limit and all runs.
    pub fn violations(&self, limit: usize) -> Vec<(u64, u64)> {
        self.with_runs(&self.limits[limit].violations)
    }

    /// Of each replicate, the runs that failed or were not survivable, and all.
    pub fn bad(&self) -> Vec<(u64, u64)> {
        self.with_runs(&self.bad)
    }

    /// Of each replicate, the runs that violated any limit, and all.
    pub fn any(&self) -> Vec<(u64, u64)> {
        self.with_runs(&self.any)
    }

    fn with_runs(&self, counts: &[u64]) -> Vec<(u64, u64)> {
        counts.iter().copied().zip(self.runs.iter().copied()).collect()
    }

    /// Adds those that come next.
    pub fn add(&mut self, piece: &Piece) {
        if piece.first.is_multiple_of(BLOCK) {
            self.close();
        }
        add_counters(&mut self.counters, piece.counters);
        for i in 0..piece.len() {
            let end = piece.end(i);
            let replicate = self.design.replicate_of(piece.first + i as u64) as usize;
            let not_survivable = matches!(end, Ok(end) if end != End::Completed);
            self.failed += u64::from(end.is_err());
            self.not_survivable += u64::from(not_survivable);
            self.runs[replicate] += 1;
            self.bad[replicate] += u64::from(end.is_err() || not_survivable);
            let mut any = false;
            for (limit, sum) in self.limits.iter_mut().enumerate() {
                let margin = piece.judged_margin(i, limit);
                any |= margin < 0.0;
                sum.violations[replicate] += u64::from(margin < 0.0);
                sum.never_applied += u64::from(end.is_ok() && margin == f64::INFINITY);
                if end.is_ok() {
                    sum.block_s += piece.rules(i)[limit].beyond_s;
                }
            }
            self.any[replicate] += u64::from(any);
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
