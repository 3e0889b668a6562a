//! The two sides of a binomial distribution, on which proportions and tolerance bounds rest.
//!
//! Equation: with w(m) = 1 at the mode m = floor((n + 1) p) and w(i + 1) / w(i) = (n - i) / (i + 1) * p / (1 - p), the chance
//! of fewer than k is the sum of w(i) over i < k divided by the sum of w(i) over all i. By the identity
//! P(X >= k) = I_p(k, n - k + 1) this is also the beta distribution.
//! Symbols: n trials, k successes, p the chance of one; no units.
//! Source: the definition of the distribution; the identity: Abramowitz and Stegun 1964, 26.5.24 (from memory).
//! Valid for n up to 2^53 and 0 <= p <= 1. About 20 standard deviations of terms are added, each with an error of a few
//! units in the last place: 1e-12 at n = 1e6.
//! Left out: relative accuracy of sides below 1e-18.

/// Weights below this, relative to the mode's, are dropped: past it they fall faster than a geometric series.
const NEGLIGIBLE: f64 = 1e-22;

/// Chances of fewer than `k`, and of `k` or more, successes in `n` trials. They add to 1 (each is a sum of its own).
pub(super) fn sides(n: u64, k: u64, p: f64) -> (f64, f64) {
    if k == 0 || p >= 1.0 {
        return if k <= n { (0.0, 1.0) } else { (1.0, 0.0) };
    }
    if k > n || p <= 0.0 {
        return (1.0, 0.0);
    }
    let odds = p / (1.0 - p);
    let mode = (((n as f64 + 1.0) * p) as u64).min(n);
    let (mut below, mut above) = (0.0, 0.0);
    let mut add = |i: u64, weight: f64| if i < k { below += weight } else { above += weight };
    add(mode, 1.0);
    let (mut i, mut weight) = (mode, 1.0);
    while i < n && weight > NEGLIGIBLE {
        weight *= (n - i) as f64 / (i + 1) as f64 * odds;
        i += 1;
        add(i, weight);
    }
    (i, weight) = (mode, 1.0);
    while i > 0 && weight > NEGLIGIBLE {
        weight *= i as f64 / (n - i + 1) as f64 / odds;
        i -= 1;
        add(i, weight);
    }
    let total = below + above;
    (below / total, above / total)
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::function::beta::beta_reg;

    #[test]
    fn small_cases_are_exact() {
        assert_eq!(sides(2, 1, 0.5), (0.25, 0.75));
        assert_eq!(sides(2, 2, 0.5), (0.75, 0.25));
        assert_eq!(sides(5, 0, 0.3), (0.0, 1.0));
        assert_eq!(sides(5, 6, 0.3), (1.0, 0.0));
        assert_eq!(sides(5, 1, 0.0), (1.0, 0.0));
        assert_eq!(sides(5, 5, 1.0), (0.0, 1.0));
    }

    /// Another library's incomplete beta function is the independent judge.
    #[test]
    fn it_is_the_beta_distribution() {
        for n in [1_u64, 10, 59, 1000, 100_000] {
            for p in [1e-4, 0.01, 0.05, 0.5, 0.93, 0.9999] {
                let mean = n as f64 * p;
                for k in [mean * 0.9, mean, mean + 3.0, mean * 1.1].map(|k| k as u64) {
                    if k == 0 || k > n {
                        continue;
                    }
                    let beta = beta_reg(k as f64, (n - k + 1) as f64, p);
                    assert!(
                        (sides(n, k, p).1 - beta).abs() < 1e-9,
                        "{n} {k} {p}: {} {beta}",
                        sides(n, k, p).1
                    );
                }
            }
        }
    }
}
