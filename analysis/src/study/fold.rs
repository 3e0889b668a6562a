//! Counts and sums over variations, in an order that no thread and no split changes.
//!
//! Equation: with blocks of B = 1,024 variations that start at multiples of B, S = sum over blocks, in order, of the sum over
//! the block's variations, in order. Partial results cut at multiples of B therefore add up to the same bits.
//! Symbols: S a sum of times in s, or a count. Source: none needed. Valid for any number of runs.
//! Left out: means of margins, which a failed run (minus infinity) would swallow: quantiles serve instead.

use std::ops::Range;

use breathroom_sim::engine::{Counters, End};

use super::Runs;

/// Variations in a block.
pub(super) const BLOCK: usize = 1_024;

/// Counts and sums of some variations.
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
    /// Time beyond the limit, s, of the runs that ended.
    pub beyond_s: f64,
}

impl Fold {
    /// All of the runs.
    pub fn of(runs: &Runs) -> Self {
        let mut total = Self {
            limits: vec![LimitFold::default(); runs.limits()],
            ..Self::default()
        };
        for start in (0..runs.len()).step_by(BLOCK) {
            total.add(&Self::block(runs, start..(start + BLOCK).min(runs.len())));
        }
        total
    }

    fn block(runs: &Runs, range: Range<usize>) -> Self {
        let mut block = Self {
            limits: vec![LimitFold::default(); runs.limits()],
            ..Self::default()
        };
        for k in range {
            let end = runs.end(k);
            block.failed += u64::from(end.is_err());
            block.not_survivable += u64::from(matches!(end, Ok(end) if end != End::Completed));
            add_counters(&mut block.counters, runs.counters(k));
            for (limit, sum) in block.limits.iter_mut().enumerate() {
                let margin = runs.judged_margin(k, limit);
                sum.violations += u64::from(margin < 0.0);
                sum.never_applied += u64::from(end.is_ok() && margin == f64::INFINITY);
                sum.beyond_s += if end.is_ok() {
                    runs.rules(k)[limit].beyond_s
                } else {
                    0.0
                };
            }
        }
        block
    }

    fn add(&mut self, other: &Self) {
        self.failed += other.failed;
        self.not_survivable += other.not_survivable;
        add_counters(&mut self.counters, other.counters);
        for (mine, theirs) in self.limits.iter_mut().zip(&other.limits) {
            mine.violations += theirs.violations;
            mine.never_applied += theirs.never_applied;
            mine.beyond_s += theirs.beyond_s;
        }
    }
}

fn add_counters(sum: &mut Counters, more: Counters) {
    // Taken apart by name, so that a new counter cannot be forgotten here.
    let Counters {
        events,
        segments,
        crossings,
        passes,
        modes,
        steps,
        rejected_steps,
        ruled_out,
        looked_into,
    } = more;
    sum.events += events;
    sum.segments += segments;
    sum.crossings += crossings;
    sum.passes += passes;
    sum.modes += modes;
    sum.steps += steps;
    sum.rejected_steps += rejected_steps;
    sum.ruled_out += ruled_out;
    sum.looked_into += looked_into;
}
