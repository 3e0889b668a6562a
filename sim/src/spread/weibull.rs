//! The Weibull distribution: times to failure that grow likelier (shape above 1) or rarer (below 1) with age. With shape 1 it is
//! the exponential distribution: a constant rate of failure.
//!
//! `F(x) = 1 - exp(-(x / scale)^shape)`, `x = scale (-ln(1 - u))^(1 / shape)`; median scale (ln 2)^(1 / shape), of the
//! exponential mean ln 2.
//! scale (of the exponential its mean) in the unit of the quantity; shape without unit. Source: NIST/SEMATECH e-Handbook of
//! Statistical Methods, 8.1.6.1 and 8.1.6.2 (from memory). Valid for quantities from 0. Left out: a location other than 0.

use super::error::SpreadError;

/// -ln of the smallest probability that is drawn from.
const FARTHEST: f64 = 750.0;

/// Scale and shape, both above 0.
#[derive(Clone, Copy, Debug)]
pub(super) struct Weibull {
    scale: f64,
    shape: f64,
}

impl Weibull {
    pub(super) fn new(scale: f64, shape: f64) -> Result<Self, SpreadError> {
        if shape <= 0.0 {
            return Err(SpreadError::ShapeNotPositive);
        }
        if scale <= 0.0 {
            return Err(SpreadError::ScaleNotPositive);
        }
        let made = Self { scale, shape };
        if !made.at(FARTHEST).is_finite() {
            return Err(SpreadError::NotFinite);
        }
        Ok(made)
    }

    pub(super) fn exponential(mean: f64) -> Result<Self, SpreadError> {
        if mean <= 0.0 {
            return Err(SpreadError::MeanNotPositive);
        }
        Self::new(mean, 1.0)
    }

    pub(super) fn point(&self) -> Option<f64> {
        None
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (0.0, f64::INFINITY)
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        if x > 0.0 { -libm::expm1(-self.hazard(x)) } else { 0.0 }
    }

    pub(super) fn upper(&self, x: f64) -> f64 {
        if x > 0.0 { libm::exp(-self.hazard(x)) } else { 1.0 }
    }

    pub(super) fn at_lower(&self, p: f64) -> f64 {
        self.at(-libm::log1p(-p))
    }

    pub(super) fn at_upper(&self, q: f64) -> f64 {
        self.at(-libm::log(q))
    }

    /// The cumulative hazard, -ln of the probability above.
    fn hazard(&self, x: f64) -> f64 {
        libm::pow(x / self.scale, self.shape)
    }

    /// Where the cumulative hazard is `h`.
    fn at(&self, h: f64) -> f64 {
        self.scale * libm::pow(h, 1.0 / self.shape)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean and standard deviation by the midpoint rule over the uniform.
    fn moments(of: &Weibull) -> (f64, f64) {
        let n = 2_000_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for i in 0..n {
            let x = of.at_lower((f64::from(i) + 0.5) / f64::from(n));
            sum += x;
            squares += x * x;
        }
        let mean = sum / f64::from(n);
        (mean, libm::sqrt(squares / f64::from(n) - mean * mean))
    }

    #[test]
    fn the_exponentials_mean_and_deviation_are_one_number() {
        let of = Weibull::exponential(40.0).unwrap();
        let (mean, deviation) = moments(&of);
        assert!((mean / 40.0 - 1.0).abs() < 1e-5, "{mean}");
        assert!((deviation / 40.0 - 1.0).abs() < 1e-4, "{deviation}");
        assert!((of.at_lower(0.5) / (40.0 * std::f64::consts::LN_2) - 1.0).abs() < 1e-14);
        // It knows no age: the chance of another hour is the same at any time.
        let another = |x: f64| of.upper(x + 1.0) / of.upper(x);
        assert!((another(3.0) / another(300.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn medians_and_means_are_those_of_the_closed_forms() {
        for (scale, shape) in [(1000.0, 0.7), (8.0, 1.5), (2.0, 3.0)] {
            let of = Weibull::new(scale, shape).unwrap();
            let median = scale * libm::pow(std::f64::consts::LN_2, 1.0 / shape);
            assert!((of.at_lower(0.5) / median - 1.0).abs() < 1e-14);
            let (mean, _) = moments(&of);
            let expected = scale * libm::tgamma(1.0 + 1.0 / shape);
            assert!((mean / expected - 1.0).abs() < 1e-4, "{shape}: {mean} {expected}");
            // At the scale the same part has failed whatever the shape: 1 - 1/e.
            assert!((of.lower(scale) - (1.0 - libm::exp(-1.0))).abs() < 1e-15);
        }
    }
}
