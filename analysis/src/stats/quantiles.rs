//! Quantiles of a sample.
//!
//! Equation: with the values sorted upwards as x(0) .. x(n - 1) and h = (n - 1) p, the quantile is
//! x(floor h) + (h - floor h) (x(floor h + 1) - x(floor h)).
//! Symbols: n values, p the probability; the quantile has the values' unit.
//! Source: Hyndman and Fan, "Sample quantiles in statistical packages", Am. Statist. 50 (1996) 361-365: their type 7.
//! Valid for any sample without NaN. Minus infinity (a failed run) spreads over its whole interval: a quantile between
//! it and a number is minus infinity. Between a number and plus infinity it is plus infinity.
//! Left out: the other eight types; weights.

/// Sorts values upwards for [`quantile`] and the other users of order; the values must not hold NaN.
pub fn sort(values: &mut [f64]) {
    values.sort_unstable_by(f64::total_cmp);
}

/// The quantile of values sorted upwards; NaN without values or if `p` is not in [0, 1].
#[must_use]
pub fn quantile(sorted: &[f64], p: f64) -> f64 {
    of_ranks(sorted.len() as u64, p, |rank| sorted[(rank - 1) as usize])
}

/// The same of `count` values, each known by its rank from 1.
pub(super) fn of_ranks(count: u64, p: f64, value: impl Fn(u64) -> f64) -> f64 {
    if count == 0 || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let h = (count - 1) as f64 * p;
    let below = h as u64;
    let part = h - below as f64;
    let low = value(below + 1);
    if part > 0.0 && below + 1 < count && low.is_finite() {
        let high = value(below + 2);
        if high > low {
            return low + part * (high - low);
        }
    }
    low
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The default of R's `quantile` and of NumPy: `quantile(c(1, 2, 4, 8, 16), c(0.1, 0.5, 0.9))` is 1.4, 4, 12.8.
    #[test]
    fn it_is_type_7() {
        let x = [1.0, 2.0, 4.0, 8.0, 16.0];
        for (p, expected) in [(0.0, 1.0), (0.1, 1.4), (0.5, 4.0), (0.9, 12.8), (1.0, 16.0)] {
            assert!((quantile(&x, p) - expected).abs() < 1e-12, "{p}");
        }
        assert_eq!(quantile(&[3.0], 0.77), 3.0);
    }

    #[test]
    fn failed_runs_pull_their_interval_down() {
        let mut x = [1.0, f64::NEG_INFINITY, 2.0];
        sort(&mut x);
        assert_eq!(quantile(&x, 0.0), f64::NEG_INFINITY);
        assert_eq!(quantile(&x, 0.49), f64::NEG_INFINITY);
        assert_eq!(quantile(&x, 0.5), 1.0);
        assert_eq!(quantile(&[f64::NEG_INFINITY; 4], 0.4), f64::NEG_INFINITY);
        assert_eq!(quantile(&[0.0, f64::INFINITY], 0.1), f64::INFINITY);
    }

    #[test]
    fn no_sample_or_no_probability_is_no_number() {
        assert!(quantile(&[], 0.5).is_nan());
        for p in [-0.1, 1.1, f64::NAN] {
            assert!(quantile(&[1.0, 2.0], p).is_nan());
        }
    }
}
