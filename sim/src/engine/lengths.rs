//! How long the next step is.

use super::stages::HOPELESS;

/// A step is made so much shorter than the one that would just do.
const SAFETY: f64 = 0.9;
/// So few steps share what is left evenly.
const FEW: f64 = 4.0;

/// The longest that a step can be, s, going by one of `h_s` whose error over what is allowed was `error` (none: it did not
/// converge).
pub(crate) fn next_length(h_s: f64, error: Option<f64>) -> f64 {
    let error = error.filter(|e| e.is_finite()).unwrap_or(HOPELESS);
    let scale = SAFETY * libm::cbrt(libm::sqrt(1.0 / error.max(1e-6)));
    let scale = if error <= 1.0 {
        scale.clamp(0.3, 4.0)
    } else {
        scale.clamp(0.2, 0.8)
    };
    h_s * scale
}

/// The length of a step that may be `most_s` long, where something is due `left_s` later, s.
///
/// A few steps share what is left evenly. Of many each is a power of the root of 2, so that lengths come back, and with them
/// their factors.
pub(crate) fn shared_length(most_s: f64, left_s: f64) -> f64 {
    let steps = libm::ceil(left_s / most_s - 1e-9).max(1.0);
    if steps <= FEW {
        return left_s / steps;
    }
    // Somewhat up, so that a length on the ladder is not taken for one below.
    let rung = libm::floor(2.0 * libm::log2(most_s) + 1e-9) as i32;
    let odd = rung.rem_euclid(2);
    let root = if odd == 1 { std::f64::consts::SQRT_2 } else { 1.0 };
    libm::ldexp(root, (rung - odd) / 2)
}
