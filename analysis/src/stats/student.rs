//! Student's t distribution, for the interval of a mean of few values.
//!
//! Equation: with theta = atan(t / sqrt(v)), the chance that |T| < t is
//! v = 1: 2 theta / pi;
//! v odd: 2 / pi (theta + sin theta (cos theta + 2/3 cos^3 theta + ... + 2*4*..(v - 3) / (3*5*..(v - 2)) cos^(v - 2)
//! theta));
//! v even: sin theta (1 + 1/2 cos^2 theta + ... + 1*3*..(v - 3) / (2*4*..(v - 2)) cos^(v - 2) theta).
//! The quantile is found by bisection of theta.
//! Symbols: v degrees of freedom; p probability; no units.
//! Source: "Student", "The probable error of a mean", Biometrika 6 (1908) 1-25; the sums: Abramowitz and Stegun 1964,
//! 26.7.3 and 26.7.4 (from memory; checked against another library).
//! Valid for whole v from 1 on; a sum has at most v / 2 terms, all positive. Relative error of the quantile below 1e-10
//! for tails down to 1e-5, growing as the tail shrinks (it is a difference from 1).
//! Left out: degrees of freedom that are not whole.

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

/// Terms below this share of the sum are dropped.
const NEGLIGIBLE: f64 = 1e-19;

/// The value that T stays below with the chance `p`; NaN without degrees of freedom or if `p` is not inside (0, 1).
#[must_use]
pub fn quantile(p: f64, degrees_of_freedom: u64) -> f64 {
    if degrees_of_freedom == 0 || !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    if p < 0.5 {
        return -quantile(1.0 - p, degrees_of_freedom);
    }
    let inside = 2.0 * p - 1.0;
    let (mut low, mut high) = (0.0, FRAC_PI_2);
    let theta = loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break middle;
        }
        if within(middle, degrees_of_freedom) >= inside {
            high = middle;
        } else {
            low = middle;
        }
    };
    if inside == 0.0 {
        return 0.0;
    }
    (degrees_of_freedom as f64).sqrt() * libm::tan(theta)
}

/// The chance that |T| < sqrt(v) tan(theta).
fn within(theta: f64, v: u64) -> f64 {
    let (sine, cosine) = (libm::sin(theta), libm::cos(theta));
    let odd = v % 2 == 1;
    let (mut term, mut sum) = if odd { (cosine, cosine) } else { (1.0, 1.0) };
    // The first factor is 2/3 for odd, 1/2 for even degrees of freedom.
    let mut i = if odd { 2 } else { 1 };
    while i + 3 <= v {
        term *= i as f64 / (i + 1) as f64 * cosine * cosine;
        sum += term;
        if term < NEGLIGIBLE * sum {
            break;
        }
        i += 2;
    }
    match v {
        1 => FRAC_2_PI * theta,
        _ if odd => FRAC_2_PI * (theta + sine * sum),
        _ => sine * sum,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, StudentsT};

    /// Published table values, from memory.
    #[test]
    fn it_gives_the_printed_table() {
        for (v, p, t) in [
            (1, 0.975, 12.706_205),
            (2, 0.95, 2.919_986),
            (5, 0.99, 3.364_930),
            (7, 0.975, 2.364_624),
            (15, 0.975, 2.131_450),
            (15, 0.95, 1.753_050),
            (30, 0.995, 2.749_996),
        ] {
            assert!((quantile(p, v) - t).abs() < 6e-7, "{v} {p}: {}", quantile(p, v));
        }
    }

    /// For 1 and 2 degrees of freedom the quantile is a closed form.
    #[test]
    fn it_is_the_closed_form_where_there_is_one() {
        for p in [1e-5_f64, 0.01, 0.3, 0.5, 0.6, 0.999, 1.0 - 1e-5] {
            let one = (std::f64::consts::PI * (p - 0.5)).tan();
            let two = (2.0 * p - 1.0) / (2.0 * p * (1.0 - p)).sqrt();
            for (v, exact) in [(1, one), (2, two)] {
                assert!((quantile(p, v) - exact).abs() <= 1e-10 * exact.abs(), "{v} {p}");
            }
        }
    }

    /// Another library's distribution function is the independent judge: errors of its value over the density there.
    #[test]
    fn another_library_agrees() {
        for v in [1, 2, 3, 4, 7, 15, 16, 31, 100, 1001] {
            let other = StudentsT::new(0.0, 1.0, v as f64).expect("a distribution");
            for p in [0.001, 0.025, 0.4, 0.9, 0.975, 0.999, 0.99999] {
                let t = quantile(p, v);
                let slope = (other.cdf(t + 1e-4) - other.cdf(t - 1e-4)) / 2e-4;
                let error = (other.cdf(t) - p) / slope;
                assert!(error.abs() < 1e-10 * t.abs().max(1.0), "{v} {p}: {error:e}");
            }
        }
    }

    #[test]
    fn it_nears_the_normal() {
        assert!((quantile(0.975, 1_000_000) - 1.959_966_4).abs() < 1e-6);
    }

    #[test]
    fn nonsense_is_no_number() {
        assert!(quantile(0.9, 0).is_nan());
        for p in [0.0, 1.0, -1.0, 2.0, f64::NAN] {
            assert!(quantile(p, 5).is_nan());
        }
        assert_eq!(quantile(0.5, 5), 0.0);
    }
}
