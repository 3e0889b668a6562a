//! The standard normal quantile, for intervals that rest on large numbers.
//!
//! Equation: the z at which erfc(-z / sqrt 2) / 2 = p, by bisection.
//! Symbols: p probability, z standard deviations; no units.
//! Source: the definition.
//! Valid for p inside (0, 1); tails are taken as they stand, so the lower tail is good to 1e-300.
//! Left out: nothing.

use std::f64::consts::SQRT_2;

/// Beyond so many standard deviations the tail is no double.
const FARTHEST: f64 = 40.0;

/// The value that a standard normal stays below with the chance `p`; NaN if `p` is not inside (0, 1).
pub(super) fn quantile(p: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    let (mut low, mut high) = (-FARTHEST, FARTHEST);
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if 0.5 * libm::erfc(-middle / SQRT_2) >= p {
            high = middle;
        } else {
            low = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::quantile;

    /// Printed in every table (from memory).
    #[test]
    fn it_gives_the_printed_table() {
        for (p, z) in [
            (0.975, 1.959_963_984_540_054),
            (0.95, 1.644_853_626_951_472_7),
            (0.005, -2.575_829_303_548_900_4),
        ] {
            assert!((quantile(p) - z).abs() < 1e-13, "{p}: {}", quantile(p));
        }
        assert!(quantile(0.5).abs() < 1e-15);
        assert!(quantile(0.0).is_nan() && quantile(f64::NAN).is_nan());
    }
}
