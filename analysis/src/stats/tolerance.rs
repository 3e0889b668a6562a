//! One-sided tolerance bounds from order statistics, whatever the distribution.
//!
//! Equation: of n independent values sorted upwards, the r-th is not above the (1 - c)-quantile with the chance
//! P(X >= r; n, 1 - c), X binomial. The bound is the value of the largest r for which that chance is at least the
//! confidence: with it, at least the share c of all values lies on or above the bound.
//! Symbols: n runs; c coverage; r order, from 1; no units.
//! Source: Wilks, "Determination of sample sizes for setting tolerance limits", Ann. Math. Statist. 12 (1941) 91-96.
//! Jointly on m quantities: cutting off at the r-th lowest value of each leaves out m r of the n + 1 parts that the
//! values cut the whole into, at most; the share left has the distribution of one quantity cut at order m r. So a joint
//! claim takes the order floor(r / m) of each, r that of one quantity alone, and needs the runs that the order m needs.
//! Source of that: Tukey, "Non-parametric estimation II: statistically equivalent blocks", Ann. Math. Statist. 18
//! (1947) 529-539, after Wald 1943.
//! Valid for independent runs of any distribution with or without atoms.
//! Left out: two-sided bounds, bounds that assume a distribution.

use super::binomial::sides;

/// The most runs that are counted exactly: 2^53.
const MOST_RUNS: u64 = 1 << 53;

/// The largest order (from 1) whose value bounds the share `coverage` from below with `confidence`; `None` if there are
/// too few runs, or if the two are not both inside (0, 1).
#[must_use]
pub fn order(runs: u64, coverage: f64, confidence: f64) -> Option<u64> {
    if !holds(runs, 1, coverage, confidence) {
        return None;
    }
    let (mut yes, mut no) = (1, runs + 1);
    while no - yes > 1 {
        let middle = yes + (no - yes) / 2;
        if holds(runs, middle, coverage, confidence) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    Some(yes)
}

/// How many runs the order `order` (from 1) needs; `None` if more than 2^53, or if the arguments ask for nothing
/// sensible.
#[must_use]
pub fn runs_needed(order: u64, coverage: f64, confidence: f64) -> Option<u64> {
    if order == 0 || order > MOST_RUNS {
        return None;
    }
    let (mut no, mut yes) = (order - 1, order);
    while !holds(yes, order, coverage, confidence) {
        if yes >= MOST_RUNS || !is_open_share(coverage) || !is_open_share(confidence) {
            return None;
        }
        (no, yes) = (yes, (2 * yes).min(MOST_RUNS));
    }
    while yes - no > 1 {
        let middle = no + (yes - no) / 2;
        if holds(middle, order, coverage, confidence) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    Some(yes)
}

/// How many runs a joint claim on so many quantities needs: all at once lie on or above their bounds in the share
/// `coverage` of all runs, with `confidence`. `None` as for [`runs_needed`].
#[must_use]
pub fn joint_runs_needed(quantities: u64, coverage: f64, confidence: f64) -> Option<u64> {
    runs_needed(quantities, coverage, confidence)
}

/// The order (from 1) whose value of each of so many quantities makes their bounds hold jointly; `None` if there are
/// too few runs, or as for [`order`].
#[must_use]
pub fn joint_order(quantities: u64, runs: u64, coverage: f64, confidence: f64) -> Option<u64> {
    let each = order(runs, coverage, confidence)?.checked_div(quantities)?;
    (each >= 1).then_some(each)
}

/// The lower bound itself, of values sorted upwards (minus infinity for a failed run); `None` if there are too few.
#[must_use]
pub fn lower_bound(sorted: &[f64], coverage: f64, confidence: f64) -> Option<f64> {
    let order = order(sorted.len() as u64, coverage, confidence)?;
    sorted.get((order - 1) as usize).copied()
}

fn holds(runs: u64, order: u64, coverage: f64, confidence: f64) -> bool {
    is_open_share(coverage)
        && is_open_share(confidence)
        && runs <= MOST_RUNS
        && sides(runs, order, 1.0 - coverage).0 <= 1.0 - confidence
}

fn is_open_share(share: f64) -> bool {
    share > 0.0 && share < 1.0
}

#[cfg(test)]
mod tests {
    use super::super::coverage_tests::{Draws, assert_covers, assert_covers_at_least, share};
    use super::*;

    #[test]
    fn orders_and_runs_agree() {
        for (coverage, confidence) in [(0.95, 0.95), (0.9, 0.95), (0.99, 0.9), (0.5, 0.5)] {
            for r in [1, 2, 7, 40] {
                let runs = runs_needed(r, coverage, confidence).expect("enough runs exist");
                assert_eq!(
                    order(runs, coverage, confidence),
                    Some(r),
                    "{coverage} {confidence} {r}"
                );
                assert_eq!(order(runs - 1, coverage, confidence), (r > 1).then(|| r - 1));
            }
        }
    }

    #[test]
    fn the_bound_is_an_order_statistic() {
        let sorted: Vec<f64> = (0..93).map(f64::from).collect();
        assert_eq!(lower_bound(&sorted[..58], 0.95, 0.95), None);
        assert_eq!(lower_bound(&sorted[..59], 0.95, 0.95), Some(0.0));
        assert_eq!(lower_bound(&sorted, 0.95, 0.95), Some(1.0));
    }

    /// 95/95 for the orders 1 to 6: Wilks' table, in every guide to such analyses (from memory).
    #[test]
    fn joint_claims_need_the_known_runs() {
        for (i, runs) in [59, 93, 124, 153, 181, 208].into_iter().enumerate() {
            let quantities = i as u64 + 1;
            assert_eq!(joint_runs_needed(quantities, 0.95, 0.95), Some(runs));
            assert_eq!(joint_order(quantities, runs, 0.95, 0.95), Some(1));
            assert_eq!(joint_order(quantities, runs - 1, 0.95, 0.95), None);
        }
        assert_eq!(joint_order(3, 208, 0.95, 0.95), Some(2));
        assert_eq!(joint_order(0, 208, 0.95, 0.95), None);
    }

    /// Three quantities, 124 runs, the smallest of each: the share above all three bounds is at least 0.95 in 95 % of
    /// the repetitions (exactly, if the three are never lowest in one run), less 4 standard deviations. Order 1 each
    /// with the 59 runs of one quantity would hold in 58 % or so.
    #[test]
    fn joint_claims_hold_jointly() {
        let draws = Draws::new("joint claims");
        let held = |runs: u64| {
            share(|repetition| {
                let smallest = |quantity| {
                    (0..runs)
                        .map(|i| draws.uniform(repetition, quantity, i))
                        .fold(1.0, f64::min)
                };
                // Independent quantities: the shares above multiply.
                (0..3).map(|quantity| 1.0 - smallest(quantity)).product::<f64>() >= 0.95
            })
        };
        assert_covers_at_least(held(124), 0.95, "124 runs");
        assert!(held(59) < 0.7);
    }

    /// Each bound is below the true quantile with the computed chance.
    #[test]
    fn bounds_cover_as_computed() {
        let draws = Draws::new("tolerance");
        for runs in [59, 93, 150] {
            let covered = share(|repetition| {
                let mut values: Vec<f64> = (0..runs).map(|i| draws.uniform(repetition, runs, i)).collect();
                crate::stats::quantiles::sort(&mut values);
                lower_bound(&values, 0.95, 0.95).is_some_and(|bound| bound <= 0.05)
            });
            let order = order(runs, 0.95, 0.95).expect("enough runs");
            assert_covers(covered, sides(runs, order, 0.05).1, "tolerance bound");
        }
    }

    #[test]
    fn nonsense_bounds_nothing() {
        for share in [0.0, 1.0, -1.0, 2.0, f64::NAN] {
            assert_eq!(order(1000, share, 0.95), None);
            assert_eq!(order(1000, 0.95, share), None);
            assert_eq!(runs_needed(1, share, 0.95), None);
            assert_eq!(runs_needed(1, 0.95, share), None);
        }
        assert_eq!(order(0, 0.95, 0.95), None);
        assert_eq!(runs_needed(0, 0.95, 0.95), None);
        assert_eq!(runs_needed(u64::MAX, 0.95, 0.95), None);
    }
}
