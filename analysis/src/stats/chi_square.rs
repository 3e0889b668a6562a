//! Quantiles of the chi-square distribution, and the interval of a counted rate.
//!
//! ```text
//! chi-square of n degrees of freedom is the gamma distribution of mean n and coefficient of variation sqrt(2 / n)
//! k events: the mean is between chi2(alpha / 2; 2 k) / 2 and chi2(1 - alpha / 2; 2 k + 2) / 2
//! ```
//!
//! `n` degrees of freedom, `k` events, `alpha` one minus the confidence; no units.
//! Source: the gamma distribution of the simulator's spreads; interval: F. Garwood, Biometrika 28 (1936) 437. Valid for `n` from 0.02 to
//! 2 million, what those spreads hold. Left out: nothing.

use breathroom_sim::spread::{Shape, Spread};

/// The value that a chi-square of `n` degrees of freedom stays below with the chance `p`; NaN out of range.
#[must_use]
pub fn chi_square_quantile(p: f64, n: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && n > 0.0) {
        return f64::NAN;
    }
    let cv = libm::sqrt(2.0 / n);
    Spread::new(Shape::Gamma { mean: n, cv }, None).map_or(f64::NAN, |chi_square| chi_square.quantile(p))
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

    /// Printed tables (from memory).
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
