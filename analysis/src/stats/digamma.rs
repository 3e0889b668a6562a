//! The logarithmic derivatives of the gamma function, which maximum likelihood of a gamma distribution needs.
//!
//! Equations: psi(x) = ln x - 1/(2x) - 1/(12x^2) + 1/(120x^4) - 1/(252x^6) + 1/(240x^8) - 1/(132x^10) + 691/(32760x^12), and its
//! derivative term by term, for x of 10 and more; below that psi(x) = psi(x + 1) - 1/x.
//! Symbols: x above 0; no units.
//! Source: DLMF 5.5.2 and 5.11.2 (2010-), from memory; checked against another library.
//! Valid for x above 0; about 1e-14 of the larger of 1 and the value.

/// From here on the asymptotic series is good to 1e-15.
const FAR: f64 = 10.0;

/// psi(x); NaN for x of 0 or less.
#[must_use]
pub fn digamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    let (mut x, mut sum) = (x, 0.0);
    while x < FAR {
        sum -= 1.0 / x;
        x += 1.0;
    }
    let r = 1.0 / (x * x);
    let series = r
        * (1.0 / 12.0
            - r * (1.0 / 120.0 - r * (1.0 / 252.0 - r * (1.0 / 240.0 - r * (1.0 / 132.0 - r * (691.0 / 32_760.0))))));
    sum + libm::log(x) - 0.5 / x - series
}

/// The derivative of psi at x; NaN for x of 0 or less.
#[must_use]
pub fn trigamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    let (mut x, mut sum) = (x, 0.0);
    while x < FAR {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let r = 1.0 / (x * x);
    let series = r
        * (1.0 / 6.0
            - r * (1.0 / 30.0 - r * (1.0 / 42.0 - r * (1.0 / 30.0 - r * (5.0 / 66.0 - r * (691.0 / 2730.0))))));
    sum + (1.0 + 0.5 / x + series) / x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_are_those_of_another_library_and_of_textbooks() {
        for x in [1e-3, 0.1, 0.5, 1.0, 1.7, 3.0, 9.99, 10.01, 250.0, 1e6] {
            let other = statrs::function::gamma::digamma(x);
            assert!(
                (digamma(x) - other).abs() < 1e-12 * other.abs().max(1.0),
                "{x}: {} {other}",
                digamma(x)
            );
            // The derivative by differences of psi itself.
            let h = 1e-4 * x;
            let slope = (digamma(x + h) - digamma(x - h)) / (2.0 * h);
            assert!(
                (trigamma(x) / slope - 1.0).abs() < 3e-8 * x.max(1.0),
                "{x}: {} {slope}",
                trigamma(x)
            );
        }
        // psi(1) is minus Euler's constant, its derivative there pi^2 / 6.
        assert!((digamma(1.0) + 0.577_215_664_901_532_9).abs() < 1e-14);
        assert!((trigamma(1.0) - std::f64::consts::PI.powi(2) / 6.0).abs() < 1e-14);
        assert!(digamma(0.0).is_nan() && trigamma(-1.0).is_nan());
    }
}
