//! Gamma: the mean is that of the values; the shape k solves `ln k - psi(k) = ln(mean) - mean(ln x)`.
//!
//! Newton steps in `1/k` from Minka's start, `k = (3 - s + sqrt((s - 3)^2 + 24 s)) / (12 s)`.
//! Source: Minka 2002, Estimating a Gamma distribution (from memory); the equation is the derivative of ln L.

use breathroom_sim::spread::Shape;

use super::mean;
use crate::stats::digamma::{digamma, trigamma};

/// Parameters and ln L; none if the values are too much alike.
pub(super) fn fit(values: &[f64]) -> Option<(Shape, f64)> {
    let average = mean(values, |x| x);
    let logs = mean(values, libm::log);
    let s = libm::log(average) - logs;
    if s.is_nan() || s <= 1e-12 {
        return None;
    }
    let mut k = (3.0 - s + libm::sqrt((s - 3.0) * (s - 3.0) + 24.0 * s)) / (12.0 * s);
    for _ in 0..100 {
        let value = libm::log(k) - digamma(k) - s;
        let slope = k * k * (1.0 / k - trigamma(k));
        let next = 1.0 / (1.0 / k + value / slope);
        let next = if next.is_finite() && next > 0.0 { next } else { 0.5 * k };
        let done = (next / k - 1.0).abs() < 1e-14;
        k = next;
        if done {
            break;
        }
    }
    let each = (k - 1.0) * logs - k + k * libm::log(k / average) - libm::lgamma(k);
    let shape = Shape::Gamma {
        mean: average,
        cv: 1.0 / libm::sqrt(k),
    };
    Some((shape, values.len() as f64 * each))
}
