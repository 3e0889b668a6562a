//! Integrals of decaying exponentials that stay exact when rates are equal, or zero.
//!
//! Every course of a gas amount between events is a sum of these four functions of time:
//!
//! ```text
//! phi1(a, t)    = int_0^t e^(-a s) ds
//! phi2(a, t)    = int_0^t phi1(a, s) ds
//! psi1(a, b, t) = int_0^t e^(-a (t-s)) e^(-b s) ds        answer of a decay at rate a to a source that dies at rate b
//! psi2(a, b, t) = int_0^t psi1(a, b, s) ds
//! ```
//!
//! `a`, `b` in 1/s, at least 0; `t` in s, at least 0. They are divided differences of the exponential function
//! (McCurdy, Ng and Parlett 1984, Math. Comp. 43:501), so `1/(a - b)` never appears: a lock whose air changes once in
//! 60 s meets a 60 s lag without loss, and a sealed room (a = 0) is no special case.
//!
//! Valid for all finite arguments of that sign; relative error a few units in the last place.

use libm::{exp, expm1};

/// Below this value of rate times time the Taylor series loses nothing, while the closed form would cancel.
const SMALL: f64 = 0.25;

/// Rates further apart than this over the time may be told apart by a difference of exponentials without loss.
pub(crate) const APART: f64 = 0.25;

/// `int_0^t e^(-a s) ds`, s.
#[must_use]
pub fn phi1(a: f64, t: f64) -> f64 {
    let x = a * t;
    if x == 0.0 { t } else { -expm1(-x) / a }
}

/// `int_0^t phi1(a, s) ds`, s2, with `phi1(a, t)` already known.
#[must_use]
pub fn phi2_with(a: f64, t: f64, phi1: f64) -> f64 {
    let x = a * t;
    if x > SMALL {
        return (t - phi1) / a;
    }
    // t^2 sum_k (-x)^k / (k + 2)!
    let mut term = 0.5_f64;
    let mut sum = 0.5;
    let mut k = 3.0;
    while term.abs() > 1e-18 {
        term *= -x / k;
        sum += term;
        k += 1.0;
    }
    t * t * sum
}

/// `int_0^t e^(-a (t-s)) e^(-b s) ds`, s.
#[must_use]
pub fn psi1(a: f64, b: f64, t: f64) -> f64 {
    let (low, gap) = if a < b { (a, b - a) } else { (b, a - b) };
    exp(-low * t) * phi1(gap, t)
}

/// `int_0^t psi1(a, b, s) ds`, s2.
#[must_use]
pub fn psi2(a: f64, b: f64, t: f64) -> f64 {
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    if high * t > SMALL {
        // From psi1' = e^(-low t) - high psi1, integrated.
        return (phi1(low, t) - psi1(a, b, t)) / high;
    }
    // t^2 sum_k h_k(-x, -y) / (k + 2)!, with h_k the complete homogeneous symmetric polynomials.
    let (x, y) = (-low * t, -high * t);
    let mut power = 1.0;
    let mut h = 1.0;
    let mut factorial = 2.0;
    let mut sum = 0.5;
    for k in 1..20 {
        power *= y;
        h = x * h + power;
        factorial *= f64::from(k + 2);
        let term = h / factorial;
        sum += term;
        if term.abs() < 1e-18 {
            break;
        }
    }
    t * t * sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Composite Gauss-Legendre of `f` over `[0, t]`: shares nothing with the closed forms.
    fn integral(f: impl Fn(f64) -> f64, t: f64) -> f64 {
        const X: [f64; 3] = [-0.774_596_669_241_483_4, 0.0, 0.774_596_669_241_483_4];
        const W: [f64; 3] = [5.0 / 9.0, 8.0 / 9.0, 5.0 / 9.0];
        let pieces = 4000;
        let h = t / f64::from(pieces);
        (0..pieces)
            .map(|i| {
                let mid = (f64::from(i) + 0.5) * h;
                (0..3).map(|j| W[j] * f(mid + 0.5 * h * X[j])).sum::<f64>() * 0.5 * h
            })
            .sum()
    }

    fn close(found: f64, expected: f64) {
        assert!((found / expected - 1.0).abs() < 2e-13, "{found} is not {expected}");
    }

    #[test]
    fn they_are_the_integrals_they_say_for_equal_near_and_far_rates() {
        let rates = [0.0, 1e-12, 1e-6, 1.0 / 61.0, 1.0 / 60.0, 1.0 / 60.0 + 1e-13, 0.3];
        for t in [1e-3, 1.0, 60.0, 390.0] {
            for a in rates {
                close(phi1(a, t), integral(|s| exp(-a * s), t));
                close(phi2_with(a, t, phi1(a, t)), integral(|s| phi1(a, s), t));
                for b in rates {
                    close(psi1(a, b, t), integral(|s| exp(-a * (t - s)) * exp(-b * s), t));
                    close(psi2(a, b, t), integral(|s| psi1(a, b, s), t));
                }
            }
        }
    }

    #[test]
    fn equal_rates_are_no_special_case() {
        // int_0^t e^(-a (t-s)) e^(-a s) ds = t e^(-a t)
        let (a, t) = (1.0 / 60.0, 90.0);
        close(psi1(a, a, t), t * exp(-a * t));
    }
}
