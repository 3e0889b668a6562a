//! What the variations say of each limit.
//!
//! A run that failed counts as a violation of every limit and as the worst margin. A run that ended as not survivable
//! enters each limit with its margin as reported up to that end, and is counted in [`Survival`], which has a gate of its
//! own: no design passes because its crew ended early.

use rayon::prelude::*;

use super::fold::Fold;
use super::method::{self, QuantileIntervals};
use super::tally::{CONFIDENCE, LimitTally, Tally};
use super::{Gate, Joint};
use crate::chance::Design;
use crate::stats::convergence::Row;
use crate::stats::histogram::{Bin, histogram};
use crate::stats::rank;
use crate::stats::sample::{Gathering, Sample};
use crate::stats::survival::{CrossingTime, Curve};

/// Probabilities at which quantiles of the margin are given (Hyndman and Fan's type 7).
pub const QUANTILES: [f64; 7] = [0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99];

/// Shares of the runs for which the time is given by which they have crossed a limit.
pub const CROSSED: [f64; 2] = [0.05, 0.5];

/// At most so many drivers are kept for a limit.
pub const MOST_DRIVERS: usize = 10;

/// One limit over all variations. Margins are in the limit's SI unit, as in the outcome.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitStatistics {
    /// Runs with a margin below zero, and failed ones.
    pub violations: u64,
    /// Runs that ended and in which it never applied: their margin counts as plus infinity.
    pub never_applied: u64,
    /// Violations over runs.
    pub probability: f64,
    /// Its two-sided 95 % interval, by [`method::interval`].
    pub probability_95: [f64; 2],
    /// The bound of the usual gate exists and is not below zero.
    pub met_95_95: bool,
    /// 95 % of all variations have at least this margin, with 95 % confidence; `None` with fewer than 59 runs; minus
    /// infinity where too many failed.
    pub tolerance_95_95: Option<f64>,
    /// The same for the gate asked for.
    pub gate_met: bool,
    /// Its bound.
    pub gate_bound: Option<f64>,
    /// Quantiles of the margin at [`QUANTILES`]; infinite where failed runs, or runs without the limit, reach them.
    pub margin_quantiles: [f64; QUANTILES.len()],
    /// Their two-sided 95 % intervals, whatever the distribution; `None` where there are too few runs.
    pub margin_quantiles_95: [Option<[f64; 2]>; QUANTILES.len()],
    /// How the margins are spread; those that are not finite are left out.
    pub histogram: Vec<Bin>,
    /// The share of runs that has not crossed it yet, over the time.
    pub uncrossed: Curve,
    /// When the shares [`CROSSED`] had crossed it, with 95 % intervals.
    pub crossed: [CrossingTime; CROSSED.len()],
    /// The figures against the number of runs.
    pub convergence: Vec<Row>,
    /// The variation with the smallest margin (the first of equals): the one to run again with its history.
    pub worst_variation: u64,
    /// Mean time beyond the limit over the runs that ended, s (for an allowance: beyond its threshold); 0 if none ended.
    pub beyond_mean_s: f64,
    /// What drives its margin: rank correlations that are not 0, the largest by absolute value first, then by input.
    pub drivers: Vec<Driver>,
}

/// An input that a margin goes with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driver {
    /// Index of the input.
    pub input: usize,
    /// Rank correlation of margin and input: above 0 where more of it is good.
    pub index: f64,
}

/// Whether the runs could be lived through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Survival {
    /// Runs that ended as not survivable.
    pub not_survivable: u64,
    /// Runs that failed: nothing good is known of them.
    pub failed: u64,
    /// Both over all runs.
    pub probability: f64,
    /// Its two-sided 95 % interval, by [`method::interval`].
    pub probability_95: [f64; 2],
    /// The usual gate is passed.
    pub met_95_95: bool,
    /// The gate asked for is passed.
    pub gate_met: bool,
}

impl Survival {
    pub(super) fn of(fold: &Fold, runs: u64, (design, gate): (Design, Gate)) -> Self {
        let bad = fold.failed + fold.not_survivable;
        let counts = fold.bad();
        Self {
            not_survivable: fold.not_survivable,
            failed: fold.failed,
            probability: bad as f64 / runs as f64,
            probability_95: method::interval(design, &counts, CONFIDENCE),
            met_95_95: method::allows(design, Gate::USUAL, &counts),
            gate_met: method::allows(design, gate, &counts),
        }
    }
}

/// What all limits are judged by.
struct Judging {
    design: Design,
    gate: Gate,
    runs: u64,
    /// Runs that did not fail.
    ended: u64,
    quantiles: QuantileIntervals<{ QUANTILES.len() }>,
}

/// Judges every limit, and all together, on the threads of the pool that this is called in.
pub(super) fn limits(tally: Tally, gate: Gate) -> (Vec<LimitStatistics>, Joint) {
    let Tally {
        runs,
        design,
        fold,
        limits,
        inputs,
        ..
    } = tally;
    let ranks: Vec<Vec<f64>> = limits.par_iter().map(|limit| rank::ranks(&limit.first)).collect();
    // By input, then by limit: each input is ranked once, and its ranks are not kept.
    let correlations: Vec<Vec<f64>> = inputs
        .into_par_iter()
        .map(|values| {
            let input = rank::ranks(&values);
            ranks.iter().map(|margin| rank::correlation(margin, &input)).collect()
        })
        .collect();
    let judging = Judging {
        design,
        gate,
        runs,
        ended: runs - fold.failed,
        quantiles: QuantileIntervals::new(design, QUANTILES, runs, CONFIDENCE),
    };
    let (statistics, margins): (Vec<LimitStatistics>, Vec<Vec<Sample>>) = limits
        .into_par_iter()
        .enumerate()
        .map(|(limit, of)| {
            let by_input = correlations.iter().map(|by_limit| by_limit[limit]);
            judge(of, (&fold, limit), &judging, drivers(by_input))
        })
        .unzip();
    let joint = Joint::of(&fold, design, &margins);
    (statistics, joint)
}

fn judge(
    of: LimitTally,
    (fold, limit): (&Fold, usize),
    judging: &Judging,
    drivers: Vec<Driver>,
) -> (LimitStatistics, Vec<Sample>) {
    let Judging {
        design,
        gate,
        runs,
        ended,
        ref quantiles,
    } = *judging;
    let margins: Vec<Sample> = of.margins.into_iter().map(Gathering::into_sample).collect();
    let (sums, counts) = (&fold.limits[limit], fold.violations(limit));
    let violations = counts.iter().map(|count| count.0).sum();
    let [tolerance_95_95, gate_bound] = [Gate::USUAL, gate].map(|gate| method::bound(design, gate, &margins));
    let met = |bound: Option<f64>| bound.is_some_and(|bound| bound >= 0.0);
    let uncrossed = of.crossings.curve(CONFIDENCE);
    let mut convergence = of.convergence;
    convergence.push(method::row(design, &margins, CONFIDENCE));
    let statistics = LimitStatistics {
        violations,
        never_applied: sums.never_applied,
        probability: violations as f64 / runs as f64,
        probability_95: method::interval(design, &counts, CONFIDENCE),
        met_95_95: met(tolerance_95_95),
        tolerance_95_95,
        gate_met: met(gate_bound),
        gate_bound,
        margin_quantiles: QUANTILES.map(|p| method::quantile(&margins, p)),
        margin_quantiles_95: quantiles.of(&margins),
        histogram: histogram(&margins),
        crossed: CROSSED.map(|share| uncrossed.crossing_time(share)),
        uncrossed,
        convergence,
        worst_variation: of.worst.1,
        beyond_mean_s: if ended > 0 { sums.beyond_s / ended as f64 } else { 0.0 },
        drivers,
    };
    (statistics, margins)
}

/// The strongest, by absolute value, then by index.
fn drivers(by_input: impl Iterator<Item = f64>) -> Vec<Driver> {
    let mut drivers: Vec<Driver> = by_input
        .enumerate()
        .map(|(input, index)| Driver { input, index })
        .filter(|driver| driver.index != 0.0)
        .collect();
    drivers.sort_by(|a, b| b.index.abs().total_cmp(&a.index.abs()));
    drivers.truncate(MOST_DRIVERS);
    drivers
}
