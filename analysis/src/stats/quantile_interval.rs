//! The interval of a quantile, whatever the distribution, from two order statistics.
//!
//! Equation: with X binomial (n, p), the quantile is below the value of rank l with the chance P(X < l) at most, and
//! above the value of rank u with the chance P(X >= u) at most. l is the largest rank for which the first, u the
//! smallest for which the second, is at most half of 1 - confidence (equal tails). Coverage: P(l <= X < u).
//! Symbols: n runs; p probability; l, u ranks from 1 upwards; no units.
//! Source: David and Nagaraja, Order Statistics, 3rd ed. 2003, section 7.1 (from memory).
//! Valid for independent runs. For a continuous distribution the coverage is as computed, with atoms (failed runs) at
//! least that. Values of a sketch carry its relative error.
//! Left out: interpolation between ranks; runs of a design (see `replicates`).

use super::binomial::sides;
use super::sample::Sample;

/// The ranks (from 1) of the two values; `None` if there are too few runs for either, or if `p` or the confidence is
/// not inside (0, 1).
#[must_use]
pub fn ranks(runs: u64, p: f64, confidence: f64) -> Option<(u64, u64)> {
    let is_open_share = |share: f64| share > 0.0 && share < 1.0;
    if runs == 0 || !is_open_share(p) || !is_open_share(confidence) {
        return None;
    }
    let tail = 0.5 * (1.0 - confidence);
    // Ranks up to `low` have little enough below, from `high` on little enough above.
    let low = last(0, runs + 1, |rank| sides(runs, rank, p).0 <= tail);
    let high = last(0, runs + 1, |rank| sides(runs, rank, p).1 > tail) + 1;
    (low >= 1 && high <= runs).then_some((low, high))
}

/// The chance that the quantile lies between the values of the ranks `low` and `high`.
#[must_use]
pub fn coverage(runs: u64, p: f64, low: u64, high: u64) -> f64 {
    (1.0 - sides(runs, low, p).0 - sides(runs, high, p).1).max(0.0)
}

/// The interval of a quantile; `None` as for [`ranks`].
#[must_use]
pub fn interval(sample: &Sample, p: f64, confidence: f64) -> Option<[f64; 2]> {
    let (low, high) = ranks(sample.len(), p, confidence)?;
    Some([low, high].map(|rank| sample.order_statistic(rank)))
}

/// The last rank from `yes` on for which `holds`, that of `no` not being one; `holds` must end once.
pub(super) fn last(mut yes: u64, mut no: u64, holds: impl Fn(u64) -> bool) -> u64 {
    while no - yes > 1 {
        let middle = yes + (no - yes) / 2;
        if holds(middle) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    yes
}

#[cfg(test)]
mod tests {
    use super::super::coverage_tests::{Draws, REPETITIONS, assert_covers, assert_covers_at_least, share};
    use super::*;

    /// Equal tails give these two cases; the shortest interval of the first would be X937..X964 (coverage 0.9504).
    #[test]
    fn ranks_are_the_known_ones() {
        for (runs, p, expected, covered) in [
            (1_000, 0.95, (936, 964), 0.958_095_3),
            (10_000, 0.99, (9_880, 9_920), 0.955_754_7),
        ] {
            assert_eq!(ranks(runs, p, 0.95), Some(expected));
            assert!((coverage(runs, p, expected.0, expected.1) - covered).abs() < 1e-7);
            // Either end moved inwards leaves too much outside it.
            assert!(sides(runs, expected.0 + 1, p).0 > 0.025 && sides(runs, expected.1 - 1, p).1 > 0.025);
        }
    }

    #[test]
    fn both_ends_mirror_each_other() {
        for (runs, p) in [(100, 0.05), (57, 0.5), (1_000, 0.01), (1_000_000, 0.05)] {
            let (low, high) = ranks(runs, p, 0.95).expect("enough runs");
            assert_eq!(
                ranks(runs, 1.0 - p, 0.95),
                Some((runs + 1 - high, runs + 1 - low)),
                "{runs} {p}"
            );
            assert!(coverage(runs, p, low, high) >= 0.95);
        }
    }

    #[test]
    fn too_few_runs_bound_nothing() {
        // 0.95^n <= 0.025 from n = 72 on.
        assert_eq!(ranks(71, 0.05, 0.95), None);
        assert_eq!(ranks(72, 0.05, 0.95).map(|(low, _)| low), Some(1));
        assert_eq!(ranks(0, 0.5, 0.95), None);
        for share in [0.0, 1.0, -1.0, f64::NAN] {
            assert_eq!(ranks(1_000, share, 0.95), None);
            assert_eq!(ranks(1_000, 0.5, share), None);
        }
    }

    /// Exact for a continuous distribution, at least that with an atom.
    #[test]
    fn it_covers_as_computed() {
        let draws = Draws::new("quantile interval");
        for (n, p) in [(40, 0.5), (150, 0.95)] {
            let (low, high) = ranks(n, p, 0.95).expect("enough runs");
            let sample = |repetition| Sample::exact((0..n).map(|i| draws.uniform(repetition, n, i)).collect());
            let covered = share(|repetition| {
                let [low, high] = interval(&sample(repetition), p, 0.95).expect("enough runs");
                low <= p && p <= high
            });
            assert_covers(covered, coverage(n, p, low, high), "uniform");
        }
        // A third failed: the quantile at 0.3 is minus infinity, that at 0.4 a number.
        let mut at_the_atom = 0;
        let covered = share(|repetition| {
            let value = |i| draws.uniform(repetition, 1, i);
            let fail = |u: f64| if u < 1.0 / 3.0 { f64::NEG_INFINITY } else { u };
            let sample = Sample::exact((0..60).map(|i| fail(value(i))).collect());
            let holds = |p: f64| {
                let [low, high] = interval(&sample, p, 0.95).expect("enough runs");
                low <= fail(p) && fail(p) <= high
            };
            if holds(0.3) {
                at_the_atom += 1;
            }
            holds(0.4)
        });
        assert_covers_at_least(covered, 0.95, "above an atom");
        assert_covers_at_least(f64::from(at_the_atom) / REPETITIONS as f64, 0.95, "at an atom");
    }
}
