//! The chance of an outcome from counted runs, with its exact interval.
//!
//! Equation: the lower end p solves P(X >= k; n, p) = a, the upper end P(X <= k; n, p) = a, X binomial; a is half of
//! 1 - confidence for the two-sided interval, all of it for a one-sided bound. In terms of the beta distribution they
//! are its a-quantile at (k, n - k + 1) and its (1 - a)-quantile at (k + 1, n - k). The lower end is 0 for k = 0, the
//! upper 1 for k = n.
//! Symbols: k runs with the outcome among n; no units.
//! Source: Clopper and Pearson, "The use of confidence or fiducial limits illustrated in the case of the binomial",
//! Biometrika 26 (1934) 404-413.
//! Valid for independent runs. The interval covers the truth with at least the stated confidence, mostly with more.
//! Left out: draws that are not independent (stratified or quasi-random designs).

use super::binomial::sides;

/// Two-sided interval of the chance, after `k` of `n` runs. `[0, 1]` without runs or for a confidence outside (0, 1).
#[must_use]
pub fn interval(k: u64, n: u64, confidence: f64) -> [f64; 2] {
    let one_sided = 0.5 + 0.5 * confidence;
    [lower(k, n, one_sided), upper(k, n, one_sided)]
}

/// One-sided upper bound of the chance, after `k` of `n` runs. 1 without runs or for a confidence outside (0, 1).
#[must_use]
pub fn upper(k: u64, n: u64, confidence: f64) -> f64 {
    if k >= n || !is_confidence(confidence) {
        return 1.0;
    }
    solve(|p| sides(n, k + 1, p).0 <= 1.0 - confidence)
}

/// One-sided lower bound of the chance, after `k` of `n` runs. 0 without runs or for a confidence outside (0, 1).
#[must_use]
pub fn lower(k: u64, n: u64, confidence: f64) -> f64 {
    if k == 0 || k > n || !is_confidence(confidence) {
        return 0.0;
    }
    solve(|p| sides(n, k, p).1 >= 1.0 - confidence)
}

fn is_confidence(confidence: f64) -> bool {
    confidence > 0.0 && confidence < 1.0
}

/// The chance from which on `beyond` holds, by bisection to the last bit.
fn solve(beyond: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if beyond(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::coverage_tests::{Draws, assert_covers, assert_covers_at_least, share};
    use super::*;

    /// Known tables (SciPy's `binomtest` gives the first; the others are in handbooks; from memory).
    #[test]
    fn it_gives_the_known_intervals() {
        for (k, n, low, high) in [
            (2, 10, 0.0252, 0.5561),
            (0, 100, 0.0, 0.036_217),
            (5, 100, 0.016_432, 0.112_835),
            (50, 1_000, 0.037_335, 0.065_391),
        ] {
            let [a, b] = interval(k, n, 0.95);
            assert!((a - low).abs() < 5e-5 && (b - high).abs() < 5e-5, "{k} {n}: {a} {b}");
        }
    }

    /// Coverage is a sum of binomial chances, and at least as stated; the band is 4 standard deviations about the sum.
    #[test]
    fn it_covers_as_computed() {
        let draws = Draws::new("proportion");
        for (n, p) in [(50, 0.02), (50, 0.3), (400, 0.01)] {
            let covers: Vec<bool> = (0..=n)
                .map(|k| interval(k, n, 0.95))
                .map(|[low, high]| low <= p && p <= high)
                .collect();
            let exactly = |k: u64| sides(n, k + 1, p).0 - sides(n, k, p).0;
            let exact: f64 = (0..=n).filter(|&k| covers[k as usize]).map(exactly).sum();
            let covered = share(|repetition| {
                let violations = (0..n).filter(|&i| draws.uniform(repetition, n, i) < p).count();
                covers[violations]
            });
            assert!(exact >= 0.95);
            assert_covers(covered, exact, &format!("{n} {p}"));
            assert_covers_at_least(covered, 0.95, &format!("{n} {p}"));
        }
    }

    #[test]
    fn the_ends_are_closed_forms_without_and_with_nothing_else() {
        // 1 - a^(1/n), by hand.
        assert!((upper(0, 59, 0.95) - (1.0 - 0.05_f64.powf(1.0 / 59.0))).abs() < 1e-13);
        assert!((lower(7, 7, 0.975) - 0.025_f64.powf(1.0 / 7.0)).abs() < 1e-13);
        assert_eq!(interval(0, 12, 0.95)[0], 0.0);
        assert_eq!(interval(12, 12, 0.95)[1], 1.0);
    }

    #[test]
    fn successes_and_failures_mirror_each_other() {
        for (k, n) in [(1, 3), (17, 90), (500, 1000)] {
            let ([a, b], [c, d]) = (interval(k, n, 0.9), interval(n - k, n, 0.9));
            assert!((a + d - 1.0).abs() < 1e-12 && (b + c - 1.0).abs() < 1e-12);
            assert!(a < k as f64 / n as f64 && b > k as f64 / n as f64);
        }
    }

    #[test]
    fn nothing_known_claims_nothing() {
        assert_eq!(interval(0, 0, 0.95), [0.0, 1.0]);
        for confidence in [f64::NAN, 1.0, 2.0, -1.0] {
            assert_eq!(interval(3, 10, confidence), [0.0, 1.0], "{confidence}");
        }
    }
}
