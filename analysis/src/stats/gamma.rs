//! The gamma distribution function, and what is read off it: chi-square quantiles, the interval of a counted rate.
//!
//! ```text
//! P(a, x) = gamma(a, x) / Gamma(a)           chi-square of n degrees of freedom: P(n / 2, x / 2)
//! k events: the mean is between chi2(alpha / 2; 2 k) / 2 and chi2(1 - alpha / 2; 2 k + 2) / 2
//! ```
//!
//! `a` shape, `x` value, `k` events, `alpha` one minus the confidence; no units.
//! Source: series and continued fraction as in W. H. Press and others, Numerical Recipes (from memory); interval: F. Garwood, Biometrika 28
//! (1936) 437. Valid for `a > 0`, `x >= 0`, `a` to about 1e5; good to about 1e-12. Left out: nothing.

/// The regularised lower incomplete gamma function.
#[must_use]
pub fn lower(a: f64, x: f64) -> f64 {
    if x.is_nan() || a.is_nan() || x <= 0.0 {
        return 0.0;
    }
    let scale = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
        while term > sum * 1e-17 {
            n += 1.0;
            term *= x / n;
            sum += term;
        }
        (sum * scale).min(1.0)
    } else {
        // Lentz's method.
        let tiny = 1e-300;
        let mut b = x + 1.0 - a;
        let mut c = 1.0 / tiny;
        let mut d = 1.0 / b;
        let mut h = d;
        for i in 1..100_000 {
            let i = f64::from(i);
            let an = -i * (i - a);
            b += 2.0;
            d = 1.0 / nonzero(an * d + b, tiny);
            c = nonzero(b + an / c, tiny);
            let step = d * c;
            h *= step;
            if (step - 1.0).abs() < 1e-16 {
                break;
            }
        }
        (1.0 - scale * h).max(0.0)
    }
}

fn nonzero(value: f64, tiny: f64) -> f64 {
    if value.abs() < tiny { tiny } else { value }
}

/// The value that a chi-square of `n` degrees of freedom stays below with the chance `p`.
#[must_use]
pub fn chi_square_quantile(p: f64, n: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && n > 0.0) {
        return f64::NAN;
    }
    let (mut low, mut high) = (0.0, n + 10.0);
    while lower(n / 2.0, high / 2.0) < p {
        high *= 2.0;
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if lower(n / 2.0, middle / 2.0) >= p {
            high = middle;
        } else {
            low = middle;
        }
    }
}

/// Interval of the mean of a Poisson count of which `events` were seen.
#[must_use]
pub fn count_interval(events: u64, confidence: f64) -> [f64; 2] {
    let tail = 0.5 * (1.0 - confidence);
    let twice = 2.0 * events as f64;
    let low = if events == 0 {
        0.0
    } else {
        0.5 * chi_square_quantile(tail, twice)
    };
    [low, 0.5 * chi_square_quantile(1.0 - tail, twice + 2.0)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Printed tables (from memory); the sum of the Poisson distribution is the other way to the same number.
    #[test]
    fn it_gives_the_printed_tables() {
        for (p, n, wanted) in [
            (0.95, 1.0, 3.841_459),
            (0.95, 10.0, 18.307_038),
            (0.975, 100.0, 129.561_197),
        ] {
            let value = chi_square_quantile(p, n);
            assert!((value - wanted).abs() < 1e-5, "{p} {n}: {value}");
        }
        for (a, x) in [(1.0, 0.3), (4.0, 9.0), (60.0, 55.0)] {
            let (mut term, mut sum) = (libm::exp(-x), 0.0);
            for k in 0..a as u32 {
                sum += term;
                term *= x / f64::from(k + 1);
            }
            assert!((lower(a, x) - (1.0 - sum)).abs() < 1e-12, "{a} {x}");
        }
    }

    /// The interval of an innovation test: the mean normalised square of 100.
    #[test]
    fn the_mean_square_of_a_hundred_normals_lies_in_its_interval() {
        let ends = [0.025, 0.975].map(|p| chi_square_quantile(p, 100.0) / 100.0);
        assert!(
            (ends[0] - 0.742).abs() < 5e-4 && (ends[1] - 1.296).abs() < 5e-4,
            "{ends:?}"
        );
    }

    /// No event: 95 % upper bound of one side 2.9957, of two 3.6889 (Garwood's table, from memory).
    #[test]
    fn a_count_has_its_interval() {
        assert!((count_interval(0, 0.90)[1] - 2.9957).abs() < 1e-4);
        let [low, high] = count_interval(0, 0.95);
        assert!(low == 0.0 && (high - 3.6889).abs() < 1e-4, "{high}");
        let [low, high] = count_interval(10, 0.95);
        assert!(
            (low - 4.7954).abs() < 1e-4 && (high - 18.3904).abs() < 1e-4,
            "{low} {high}"
        );
    }
}
