//! One-sided tolerance bounds from order statistics, whatever the distribution.
//!
//! Equation: of n independent values sorted upwards, the r-th is not above the (1 - c)-quantile with the chance
//! P(X >= r; n, 1 - c), X binomial. The bound is the value of the largest r for which that chance is at least the
//! confidence: with it, at least the share c of all values lies on or above the bound.
//! Symbols: n runs; c coverage; r order, from 1; no units.
//! Source: Wilks, "Determination of sample sizes for setting tolerance limits", Ann. Math. Statist. 12 (1941) 91-96.
//! Valid for independent runs of any distribution with or without atoms, for one quantity: a joint claim on m quantities
//! needs the runs that the order m needs.
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

/// How many runs the order `order` (from 1) needs; `None` if more than 2^53, or if the arguments ask for nothing sensible.
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
