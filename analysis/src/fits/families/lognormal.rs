//! Lognormal: the mean and the deviation of the logarithms, the latter with n below the root.
//!
//! Source: Johnson, Kotz and Balakrishnan (1994), Continuous Univariate Distributions 1, chapter 14 (from memory).

use breathroom_sim::spread::Shape;

use super::mean;

/// Parameters and ln L.
pub(super) fn fit(values: &[f64]) -> (Shape, f64) {
    let mu = mean(values, libm::log);
    let variance = mean(values, |x| (libm::log(x) - mu) * (libm::log(x) - mu));
    let each = -0.5 * libm::log(2.0 * std::f64::consts::PI * variance) - 0.5 - mu;
    let shape = Shape::Lognormal {
        median: libm::exp(mu),
        cv: libm::sqrt(libm::expm1(variance)),
    };
    (shape, values.len() as f64 * each)
}
