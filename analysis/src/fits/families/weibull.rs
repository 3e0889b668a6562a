//! Weibull: the shape k solves `sum(x^k ln x) / sum(x^k) - 1/k = mean(ln x)`; then `scale = mean(x^k)^(1/k)`.
//!
//! The left side grows with k, so Newton steps that are held between bounds always find it. Values are divided by their geometric mean, which keeps
//! powers in range.
//! Source: Cohen 1965, Technometrics 7, 579 (from memory); the equation is the derivative of ln L.

use breathroom_sim::spread::Shape;

use super::mean;

/// Parameters and ln L; none if the values are too much alike.
pub(super) fn fit(values: &[f64]) -> Option<(Shape, f64)> {
    let centre = mean(values, libm::log);
    let logs: Vec<f64> = values.iter().map(|&x| libm::log(x) - centre).collect();
    let deviation = libm::sqrt(mean(&logs, |y| y * y));
    if deviation < 1e-6 {
        return None;
    }
    let mut k = 1.2 / deviation;
    let (mut low, mut high) = (0.0, f64::INFINITY);
    for _ in 0..200 {
        let powers = |order: i32| mean(&logs, |y| libm::exp(k * y) * y.powi(order));
        let (s0, s1, s2) = (powers(0), powers(1), powers(2));
        let value = s1 / s0 - 1.0 / k;
        let slope = (s2 * s0 - s1 * s1) / (s0 * s0) + 1.0 / (k * k);
        if value > 0.0 {
            high = k;
        } else {
            low = k;
        }
        let mut next = k - value / slope;
        if next.is_nan() || next <= low || next >= high {
            next = if high.is_finite() { 0.5 * (low + high) } else { 2.0 * k };
        }
        let done = (next / k - 1.0).abs() < 1e-15;
        k = next;
        if done {
            break;
        }
    }
    let scale = libm::log(mean(&logs, |y| libm::exp(k * y))) / k;
    // ln f = ln k - k ln(scale) + (k - 1) ln x - (x / scale)^k, whose last term is 1 on average; ln x is y + centre.
    let each = libm::log(k) - k * scale - 1.0 - centre;
    let shape = Shape::Weibull {
        scale: libm::exp(scale + centre),
        shape: k,
    };
    Some((shape, values.len() as f64 * each))
}
