//! By what a study's figures get their intervals: runs that are independent, or replicates of a design that are.
//!
//! One face to both kinds for all that judges: counts and margins come by replicate, of which plain draws have one.
//!
//! Source: [`proportion`], [`tolerance`] and [`quantile_interval`] for plain draws, [`replicates`] for the others. The
//! binomial interval does not hold for the others, since the runs of one replicate are not independent.

use super::Gate;
use crate::chance::Design;
use crate::stats::convergence::Row;
use crate::stats::sample::Sample;
use crate::stats::{proportion, quantile_interval, replicates, tolerance};

/// How intervals of shares are made, in words.
#[must_use]
pub fn name(design: Design) -> &'static str {
    match design {
        Design::Plain => "Clopper-Pearson",
        Design::LatinHypercube => "batch means over 16 independent hypercubes",
        Design::Sobol => "batch means over 16 independent scramblings",
    }
}

/// The two-sided interval of a share, from what each replicate has counted among its runs.
#[must_use]
pub fn interval(design: Design, counts: &[(u64, u64)], confidence: f64) -> [f64; 2] {
    if design == Design::Plain {
        let (k, n) = sum(counts);
        proportion::interval(k, n, confidence)
    } else {
        replicates::interval(counts, confidence)
    }
}

/// Whether so few runs were bad that a gate is passed.
pub(super) fn allows(design: Design, gate: Gate, counts: &[(u64, u64)]) -> bool {
    if design == Design::Plain {
        let (bad, runs) = sum(counts);
        tolerance::order(runs, gate.coverage(), gate.confidence()).is_some_and(|order| bad < order)
    } else {
        replicates::upper(counts, gate.confidence()) <= 1.0 - gate.coverage()
    }
}

/// The bound that a gate sets to margins; `None` if there are too few.
pub(super) fn bound(design: Design, gate: Gate, margins: &[Sample]) -> Option<f64> {
    match (design, margins) {
        (Design::Plain, [all]) => {
            let order = tolerance::order(all.len(), gate.coverage(), gate.confidence())?;
            Some(all.order_statistic(order))
        }
        _ => replicates::lower_bound(margins, gate.coverage(), gate.confidence()),
    }
}

/// The quantile of all margins together.
pub(super) fn quantile(margins: &[Sample], p: f64) -> f64 {
    match margins {
        [all] => all.quantile(p),
        several => replicates::quantile(several, p),
    }
}

/// Intervals of quantiles: what depends on the number of runs alone, found once for all limits.
pub(super) struct QuantileIntervals<const N: usize> {
    design: Design,
    ps: [f64; N],
    confidence: f64,
    /// Of plain draws, the ranks of both ends.
    ranks: [Option<(u64, u64)>; N],
}

impl<const N: usize> QuantileIntervals<N> {
    pub fn new(design: Design, ps: [f64; N], runs: u64, confidence: f64) -> Self {
        let ranks = ps.map(|p| match design {
            Design::Plain => quantile_interval::ranks(runs, p, confidence),
            _ => None,
        });
        Self {
            design,
            ps,
            confidence,
            ranks,
        }
    }

    /// Those of some margins; `None` where there are too few.
    pub fn of(&self, margins: &[Sample]) -> [Option<[f64; 2]>; N] {
        std::array::from_fn(|i| match (self.design, margins) {
            (Design::Plain, [all]) => {
                let (low, high) = self.ranks[i]?;
                Some([low, high].map(|rank| all.order_statistic(rank)))
            }
            _ => replicates::quantile_interval(margins, self.ps[i], self.confidence),
        })
    }
}

/// The figures of a limit after so many runs.
pub(super) fn row(design: Design, margins: &[Sample], confidence: f64) -> Row {
    match (design, margins) {
        (Design::Plain, [all]) => Row::plain(all, confidence),
        _ => Row::replicates(margins, confidence),
    }
}

/// All replicates together.
fn sum(counts: &[(u64, u64)]) -> (u64, u64) {
    counts.iter().fold((0, 0), |(k, n), count| (k + count.0, n + count.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_counts_have_the_exact_interval_and_replicates_their_own() {
        let counts: Vec<(u64, u64)> = (0..16).map(|r| (r % 5, 64)).collect();
        let (k, n) = sum(&counts);
        assert_eq!(
            interval(Design::Plain, &[(k, n)], 0.95),
            proportion::interval(k, n, 0.95)
        );
        for design in [Design::Sobol, Design::LatinHypercube] {
            assert_eq!(interval(design, &counts, 0.95), replicates::interval(&counts, 0.95));
            assert!(name(design).contains("16 independent"));
        }
    }

    #[test]
    fn the_first_order_allows_no_bad_run() {
        let allows = |bad, runs| allows(Design::Plain, Gate::USUAL, &[(bad, runs)]);
        assert!(!allows(0, 58));
        assert!(allows(0, 59) && !allows(1, 59));
        assert!(allows(1, 93));
    }

    #[test]
    fn a_bound_of_replicates_is_below_the_quantile() {
        let margins: Vec<Sample> = (0..16)
            .map(|r| Sample::exact((0..64).map(|i| f64::from(16 * i + r)).collect()))
            .collect();
        let bound = bound(Design::Sobol, Gate::USUAL, &margins).expect("enough runs");
        let quantile = quantile(&margins, 0.05);
        assert!(bound < quantile && bound > 0.5 * quantile, "{bound} {quantile}");
        let intervals = QuantileIntervals::new(Design::Sobol, [0.05, 0.5], 1_024, 0.95).of(&margins);
        let [low, high] = intervals[0].expect("enough runs");
        assert!(low < quantile && quantile < high, "{low} {high}");
    }
}
