//! Differences of two designs whose runs share no luck: what each scatters by adds up.
//!
//! Equations, for x_i, i = 1..n, and y_j, j = 1..m:
//! mean: d = mean of x - mean of y, interval d +- t(1 - a/2; v) sqrt(p + q) with p = s_x^2 / n, q = s_y^2 / m and Welch and
//! Satterthwaite's v = (p + q)^2 / (p^2 / (n - 1) + q^2 / (m - 1)), rounded down, which makes the interval wider, never narrower;
//! share: the difference of the two shares, interval from the lower and upper Clopper-Pearson ends of each at a/4 each (Bonferroni), so
//! that it holds whatever n and m are.
//! Symbols: a = 1 - confidence; s^2 the sample variance; values in one unit, differences in it too.
//! Source: of the mean, Welch, Biometrika 34 (1947) 28-35, and Satterthwaite, Biometrics Bulletin 2 (1946) 110-114; of the share's ends,
//! Clopper and Pearson, Biometrika 26 (1934) 404-413. From memory.
//! Valid for independent runs; the mean's from some 30 runs of each on or for values near normal.
//! Left out: quantiles; designs of draws other than plain.

use super::pairs::Difference;
use super::{proportion, student};

/// Difference of the means; `None` with fewer than 2 of either, or where a value is not finite.
#[must_use]
pub fn mean(x: &[f64], y: &[f64], confidence: f64) -> Option<Difference> {
    let ((of_x, p), (of_y, q)) = (moments(x)?, moments(y)?);
    let (n, m) = (x.len() as f64, y.len() as f64);
    let sum = p + q;
    let value = of_x - of_y;
    if sum == 0.0 {
        return Some(Difference::about(value, 0.0));
    }
    // By shares of the sum, so that no square of a small variance vanishes.
    let (of_p, of_q) = (p / sum, q / sum);
    let freedom = 1.0 / (of_p * of_p / (n - 1.0) + of_q * of_q / (m - 1.0));
    let t = student::quantile(0.5 + 0.5 * confidence, freedom.floor().max(1.0) as u64);
    Some(Difference::about(value, t * sum.sqrt()))
}

/// The mean, and the variance of the mean.
fn moments(values: &[f64]) -> Option<(f64, f64)> {
    if values.len() < 2 || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    Some((mean, squares / (n - 1.0) / n))
}

/// Difference of the shares in which an outcome comes, each as how many of how many; `None` without runs.
#[must_use]
pub fn share((k, n): (u64, u64), (l, m): (u64, u64), confidence: f64) -> Option<Difference> {
    if n == 0 || m == 0 {
        return None;
    }
    // Half of what may be missed for each of the two shares.
    let each = 0.5 + 0.5 * confidence;
    let ([x_low, x_high], [y_low, y_high]) = (proportion::interval(k, n, each), proportion::interval(l, m, each));
    Some(Difference {
        value: k as f64 / n as f64 - l as f64 / m as f64,
        interval: [x_low - y_high, x_high - y_low],
    })
}

#[cfg(test)]
mod tests {
    use super::super::coverage_tests::{Draws, assert_covers_at_least, band, share as share_of};
    use super::super::normal::quantile as z;
    use super::*;

    /// Scatters of 1 and 5 of 40 and 12 values: v is near 11, and a t of 50 degrees of freedom would not do.
    #[test]
    fn a_mean_is_covered_nearly_whatever_the_scatters() {
        let draws = Draws::new("independent mean");
        let covered = share_of(|repetition| {
            let values = |group, n: u64, mean: f64, deviation: f64| -> Vec<f64> {
                (0..n)
                    .map(|i| mean + deviation * z(draws.uniform(repetition, group, i)))
                    .collect()
            };
            let (x, y) = (values(0, 40, 3.0, 1.0), values(1, 12, 1.0, 5.0));
            let of = mean(&x, &y, 0.95).expect("enough");
            of.interval[0] <= 2.0 && 2.0 <= of.interval[1]
        });
        // Welch's is an approximation, off by less than 1 % here, and rounding v down adds a little.
        assert!((covered - 0.95).abs() < 0.01 + band(0.95), "{covered}");
    }

    #[test]
    fn a_share_is_covered_at_least() {
        let draws = Draws::new("independent share");
        let covered = share_of(|repetition| {
            let count =
                |group, n: u64, p: f64| (0..n).filter(|&i| draws.uniform(repetition, group, i) < p).count() as u64;
            let of = share((count(0, 200, 0.12), 200), (count(1, 90, 0.05), 90), 0.95).expect("runs");
            of.interval[0] <= 0.07 && 0.07 <= of.interval[1]
        });
        assert_covers_at_least(covered, 0.95, "independent share");
        // By hand: 30 of 30 and 0 of 20: lower(30; 30, 0.9875) - upper(0; 20, 0.9875).
        let all = share((30, 30), (0, 20), 0.95).expect("runs");
        let (low, high) = (0.0125_f64.powf(1.0 / 30.0), 1.0 - 0.0125_f64.powf(1.0 / 20.0));
        assert!((all.interval[0] - (low - high)).abs() < 1e-12 && all.is_seen());
    }

    /// x: mean 3, variance 2.5 of 5; y: mean 6, variance 10 of 5. p = 0.5, q = 2; v = 6.25 / (0.25 / 4 + 4 / 4) = 5.88, so 5, whose t is
    /// 2.570 582.
    #[test]
    fn it_is_the_sum_on_paper() {
        let (x, y) = ([1.0, 2.0, 3.0, 4.0, 5.0], [2.0, 4.0, 6.0, 8.0, 10.0]);
        let of = mean(&x, &y, 0.95).expect("enough");
        assert_eq!(of.value, -3.0);
        let half = 0.5 * (of.interval[1] - of.interval[0]);
        assert!((half - 2.570_582 * 2.5_f64.sqrt()).abs() < 1e-5, "{half}");
        // The other way round it is the same with its sign turned.
        let back = mean(&y, &x, 0.95).expect("enough");
        assert_eq!(back.interval, [-of.interval[1], -of.interval[0]]);
    }

    #[test]
    fn what_cannot_be_known_is_not_told_and_what_does_not_scatter_is_exact() {
        let flat = [2.0; 40];
        let of = mean(&flat, &[1.5; 50], 0.95).expect("enough");
        assert_eq!((of.value, of.interval), (0.5, [0.5, 0.5]));
        assert_eq!(mean(&flat[..1], &flat, 0.95), None);
        assert_eq!(mean(&flat, &[f64::NEG_INFINITY, 1.0, 2.0], 0.95), None);
        assert_eq!(share((0, 0), (1, 2), 0.95), None);
    }
}
