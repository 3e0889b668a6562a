//! Differences of two designs on the same luck: variation by variation, so that what both share cancels out.
//!
//! Equations, for pairs (x_i, y_i), i = 1..n, and d_i = x_i - y_i:
//! mean: d = mean of d_i, interval d +- t(1 - a/2; n - 1) s / sqrt n with s^2 = sum (d_i - d)^2 / (n - 1);
//! share: with b pairs in which only x has the outcome and c in which only y has it, (b - c) / n; interval from the lower and
//! upper Clopper-Pearson ends of b / n and c / n at a/4 each (Bonferroni), so that it holds whatever n is;
//! quantile: the difference of the two type 7 quantiles, +- z(1 - a/2) times its standard deviation over resampled pairs.
//! Symbols: a = 1 - confidence; values in one unit, differences in it too.
//! Source: of the mean, Law, Simulation Modeling and Analysis, 5th ed. 2015, 10.2 (paired-t) and 11.2 (common random numbers); of the
//! share's ends, Clopper and Pearson, Biometrika 26 (1934) 404-413; of resampling, Efron and Tibshirani, An Introduction to the
//! Bootstrap, 1993, chapters 6 and 13 (normal interval). From memory.
//! Valid for independent pairs; the mean's from some 30 pairs on or for differences near normal; the quantile's where at least
//! [`LEAST_BEYOND`] values lie on either side of it.
//! Left out: designs of draws other than plain; quantiles further out (there is no interval: the extremes are not resampled well).

use super::{normal, proportion, quantiles, student};

/// A quantile's difference is told where so many values lie on either side of it.
pub const LEAST_BEYOND: f64 = 10.0;
/// How often pairs are resampled: the standard deviation is then known within 4 % or so.
pub const RESAMPLES: u32 = 400;

/// A difference with an interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// First minus second.
    pub value: f64,
    /// Interval at the confidence asked for.
    pub interval: [f64; 2],
}

impl Difference {
    /// The interval leaves out 0: more than chance at its confidence.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        self.interval[0] > 0.0 || self.interval[1] < 0.0
    }

    fn about(value: f64, half_width: f64) -> Self {
        Self {
            value,
            interval: [value - half_width, value + half_width],
        }
    }
}

/// Difference of the means of pairs; `None` with fewer than 2, or where a value is not finite.
#[must_use]
pub fn mean(x: &[f64], y: &[f64], confidence: f64) -> Option<Difference> {
    let n = x.len().min(y.len());
    let all = || x.iter().zip(y).map(|(x, y)| x - y);
    if n < 2 || all().any(|d| !d.is_finite()) {
        return None;
    }
    let mean = all().sum::<f64>() / n as f64;
    let squares: f64 = all().map(|d| (d - mean) * (d - mean)).sum();
    let deviation = (squares / (n as f64 - 1.0) / n as f64).sqrt();
    let t = student::quantile(0.5 + 0.5 * confidence, n as u64 - 1);
    Some(Difference::about(mean, t * deviation))
}

/// Difference of the shares in which an outcome comes: `first` and `second` of each pair have it. `None` without pairs.
#[must_use]
pub fn share(pairs: impl Iterator<Item = (bool, bool)>, confidence: f64) -> Option<Difference> {
    let (mut n, mut only_first, mut only_second) = (0_u64, 0_u64, 0_u64);
    for (first, second) in pairs {
        n += 1;
        only_first += u64::from(first && !second);
        only_second += u64::from(second && !first);
    }
    if n == 0 {
        return None;
    }
    // Half of what may be missed for each of the two shares.
    let each = 0.5 + 0.5 * confidence;
    let ([b_low, b_high], [c_low, c_high]) = (
        proportion::interval(only_first, n, each),
        proportion::interval(only_second, n, each),
    );
    Some(Difference {
        value: (only_first as f64 - only_second as f64) / n as f64,
        interval: [b_low - c_high, b_high - c_low],
    })
}

/// Difference of the p-quantiles; `pick(n)` draws an index below n. `None` where too few values lie beyond it, or where a quantile is not
/// finite.
#[must_use]
pub fn quantile(
    x: &[f64],
    y: &[f64],
    p: f64,
    confidence: f64,
    pick: &mut dyn FnMut(usize) -> usize,
) -> Option<Difference> {
    let n = x.len().min(y.len());
    if !(p.min(1.0 - p) * n as f64 >= LEAST_BEYOND) {
        return None;
    }
    let (x, y) = (Sorted::of(&x[..n]), Sorted::of(&y[..n]));
    let mut times = vec![1_u32; n];
    let value = x.quantile(&times, p) - y.quantile(&times, p);
    if !value.is_finite() {
        return None;
    }
    let (mut sum, mut squares) = (0.0, 0.0);
    for _ in 0..RESAMPLES {
        times.fill(0);
        for _ in 0..n {
            times[pick(n)] += 1;
        }
        // About the value itself, so that two equal designs give exactly nothing.
        let off = x.quantile(&times, p) - y.quantile(&times, p) - value;
        if !off.is_finite() {
            return None;
        }
        sum += off;
        squares += off * off;
    }
    let count = f64::from(RESAMPLES);
    let variance = ((squares - sum * sum / count) / (count - 1.0)).max(0.0);
    let z = normal::quantile(0.5 + 0.5 * confidence);
    Some(Difference::about(value, z * variance.sqrt()))
}

/// Values in upward order, with where each stood.
struct Sorted {
    values: Vec<f64>,
    stood: Vec<usize>,
}

impl Sorted {
    fn of(values: &[f64]) -> Self {
        let mut stood: Vec<usize> = (0..values.len()).collect();
        stood.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
        Self {
            values: stood.iter().map(|&at| values[at]).collect(),
            stood,
        }
    }

    /// The type 7 quantile of the sample in which each value comes so many times, n in all.
    fn quantile(&self, times: &[u32], p: f64) -> f64 {
        let n = self.values.len() as u64;
        let h = (n - 1) as f64 * p;
        let wanted = h as u64 + 1;
        let mut before = 0_u64;
        for (at, &stood) in self.stood.iter().enumerate() {
            let after = before + u64::from(times[stood]);
            if after >= wanted {
                // The value of the next rank is this one again, or the next that comes at all.
                let next = if after > wanted {
                    at
                } else {
                    (at + 1..self.stood.len())
                        .find(|&next| times[self.stood[next]] > 0)
                        .unwrap_or(at)
                };
                let two = [self.values[at], self.values[next]];
                return quantiles::quantile(&two, h - (wanted - 1) as f64);
            }
            before = after;
        }
        f64::NAN
    }
}

#[cfg(test)]
mod tests {
    use super::super::coverage_tests::{Draws, REPETITIONS, assert_covers, assert_covers_at_least, share as share_of};
    use super::super::normal::quantile as z;
    use super::*;

    /// A pair of designs on common luck: x = 2 + u + e, y = u + 3 e, u and e standard normal: d = 2 - 2 e has mean 2 and variance 4, whatever
    /// u, which would give a variance of 1 + 1 + 1 + 9 = 12 to the difference of independent runs.
    fn pairs(draws: &Draws, repetition: u64, n: u64) -> (Vec<f64>, Vec<f64>) {
        let normal = |group, i| z(draws.uniform(repetition, group, i));
        (0..n)
            .map(|i| {
                let (u, e) = (normal(0, i), normal(1, i));
                (2.0 + u + e, u + 3.0 * e)
            })
            .unzip()
    }

    #[test]
    fn the_mean_has_the_variance_of_the_differences_not_of_the_designs() {
        let draws = Draws::new("paired mean");
        let n = 40;
        let mut squares = 0.0;
        let mut widths = 0.0;
        let covered = share_of(|repetition| {
            let (x, y) = pairs(&draws, repetition, n);
            let of = mean(&x, &y, 0.95).expect("pairs");
            squares += (of.value - 2.0).powi(2);
            widths += (0.5 * (of.interval[1] - of.interval[0])).powi(2);
            of.interval[0] <= 2.0 && 2.0 <= of.interval[1]
        });
        // Exact for normal differences.
        assert_covers(covered, 0.95, "paired mean");
        // Variance of the mean: 4 / 40; of 2,000 such squares four standard deviations are 4 sqrt(2 / 2000) = 0.126 of it.
        let repetitions = REPETITIONS as f64;
        assert!(
            (squares / repetitions / 0.1 - 1.0).abs() < 0.127,
            "{}",
            squares / repetitions
        );
        // And so have the intervals' own standard errors: t(39)^2 s^2 / n, of mean t^2 * 0.1, spread sqrt(2 / 39 / 2000) of it.
        let t = student::quantile(0.975, 39);
        let of_widths = widths / repetitions / (t * t * 0.1);
        assert!(
            (of_widths - 1.0).abs() < 4.0 * (2.0 / 39.0 / repetitions).sqrt(),
            "{of_widths}"
        );
    }

    #[test]
    fn a_share_is_covered_at_least() {
        let draws = Draws::new("paired share");
        // Only the first with 0.08, only the second with 0.03, both with 0.2: the difference is 0.05.
        let covered = share_of(|repetition| {
            let outcome = |i| {
                let u = draws.uniform(repetition, 0, i);
                (u < 0.28, (0.08..0.31).contains(&u))
            };
            let of = share((0..200).map(outcome), 0.95).expect("pairs");
            of.interval[0] <= 0.05 && 0.05 <= of.interval[1]
        });
        assert_covers_at_least(covered, 0.95, "paired share");
        let same = share((0..50).map(|i| (i < 7, i < 7)), 0.95).expect("pairs");
        assert!(same.value == 0.0 && !same.is_seen());
        // By hand: 30 of 30 only in the first is lower(30; 30, 0.9875) - upper(0; 30, 0.9875).
        let all = share((0..30).map(|_| (true, false)), 0.95).expect("pairs");
        let low = 0.0125_f64.powf(1.0 / 30.0);
        assert!((all.interval[0] - (2.0 * low - 1.0)).abs() < 1e-12 && all.is_seen());
    }

    /// Quantiles of x and y are 2 - sqrt 2 z and - sqrt 10 z at 5 %, so their difference is known.
    #[test]
    fn a_quantile_is_covered_nearly() {
        let draws = Draws::new("paired quantile");
        let picks = Draws::new("picks");
        let truth = 2.0 + (2.0_f64.sqrt() - 10.0_f64.sqrt()) * z(0.05);
        let covered = (0..400)
            .filter(|&repetition| {
                let (x, y) = pairs(&draws, repetition, 300);
                let mut count = 0;
                let mut pick = |n: usize| {
                    count += 1;
                    (picks.uniform(repetition, 0, count) * n as f64) as usize
                };
                let of = quantile(&x, &y, 0.05, 0.95, &mut pick).expect("enough pairs");
                of.interval[0] <= truth && truth <= of.interval[1]
            })
            .count() as f64
            / 400.0;
        // An approximation: within 4 standard deviations of 400 repetitions and 2 % of its own.
        assert!(
            (covered - 0.95).abs() < 0.02 + 4.0 * (0.95_f64 * 0.05 / 400.0).sqrt(),
            "{covered}"
        );
    }

    #[test]
    fn equal_designs_differ_by_nothing_and_what_cannot_be_known_is_not_told() {
        let x: Vec<f64> = (0..300).map(|i| f64::from(i % 17)).collect();
        let mut at = 0;
        let mut pick = |n: usize| {
            at = (at * 31 + 7) % n;
            at
        };
        let none = Difference::about(0.0, 0.0);
        assert_eq!(mean(&x, &x, 0.95), Some(none));
        assert_eq!(quantile(&x, &x, 0.05, 0.95, &mut pick), Some(none));
        assert!(!none.is_seen());
        assert_eq!(quantile(&x, &x, 0.01, 0.95, &mut pick), None);
        assert_eq!(mean(&x[..1], &x[..1], 0.95), None);
        let mut failed = x.clone();
        failed[3] = f64::NEG_INFINITY;
        assert_eq!(mean(&failed, &x, 0.95), None);
        assert_eq!(share(std::iter::empty(), 0.95), None);
    }

    /// With every value once it is the plain quantile.
    #[test]
    fn resampled_quantiles_are_type_7() {
        let x = [5.0, 1.0, 4.0, 2.0, 8.0, 16.0, 3.0];
        let mut sorted = x;
        quantiles::sort(&mut sorted);
        for p in [0.0, 0.05, 0.3, 0.5, 0.77, 1.0] {
            let of = Sorted::of(&x).quantile(&[1; 7], p);
            assert!((of - quantiles::quantile(&sorted, p)).abs() < 1e-12, "{p}");
        }
        // 1 twice, 2 not at all, 16 twice.
        let of = Sorted::of(&x).quantile(&[1, 2, 1, 0, 1, 2, 0], 0.5);
        assert_eq!(of, 5.0);
    }
}
