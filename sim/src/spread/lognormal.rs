//! The lognormal distribution, by its median and coefficient of variation.
//!
//! `x = median exp(sigma z)`, `sigma = sqrt(ln(1 + cv^2))`, z standard normal.
//! median in the unit of the quantity; cv, sigma without unit. Source: Johnson, Kotz and Balakrishnan (1994), Continuous
//! Univariate Distributions 1, chapter 14 (from memory). Valid for positive quantities.

use super::error::SpreadError;
use super::normal::{standard_lower, standard_quantile};

/// Standard normal units that must stay finite; see the normal distribution.
const FARTHEST_Z: f64 = 40.0;

/// Median and standard deviation of the logarithm, both above 0.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lognormal {
    median: f64,
    sigma: f64,
}

impl Lognormal {
    pub(super) fn new(median: f64, cv: f64) -> Result<Self, SpreadError> {
        if cv < 0.0 {
            return Err(SpreadError::NegativeVariation);
        }
        if median <= 0.0 {
            return Err(SpreadError::MedianNotPositive);
        }
        let sigma = libm::sqrt(libm::log1p(cv * cv));
        if !(median * libm::exp(FARTHEST_Z * sigma)).is_finite() {
            return Err(SpreadError::NotFinite);
        }
        Ok(Self { median, sigma })
    }

    pub(super) fn point(&self) -> Option<f64> {
        (self.sigma == 0.0).then_some(self.median)
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (0.0, f64::INFINITY)
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        if x > 0.0 { standard_lower(self.z(x)) } else { 0.0 }
    }

    pub(super) fn upper(&self, x: f64) -> f64 {
        if x > 0.0 { standard_lower(-self.z(x)) } else { 1.0 }
    }

    pub(super) fn at_lower(&self, p: f64) -> f64 {
        self.median * libm::exp(self.sigma * standard_quantile(p))
    }

    pub(super) fn at_upper(&self, q: f64) -> f64 {
        self.median * libm::exp(-self.sigma * standard_quantile(q))
    }

    fn z(&self, x: f64) -> f64 {
        libm::log(x / self.median) / self.sigma
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_and_variation_are_as_asked() {
        let six_minutes = Lognormal::new(360.0, 0.6).unwrap();
        assert_eq!(six_minutes.at_lower(0.5), 360.0);
        // Moments by the midpoint rule over the uniform; mean = median sqrt(1 + cv^2) (Johnson et al. 1994).
        let n = 2_000_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for i in 0..n {
            let x = six_minutes.at_lower((f64::from(i) + 0.5) / f64::from(n));
            sum += x;
            squares += x * x;
        }
        let mean = sum / f64::from(n);
        let variance = squares / f64::from(n) - mean * mean;
        assert!((mean / (360.0 * libm::sqrt(1.36)) - 1.0).abs() < 1e-5, "{mean}");
        assert!(
            (libm::sqrt(variance) / mean - 0.6).abs() < 1e-4,
            "{}",
            libm::sqrt(variance) / mean
        );
    }
}
