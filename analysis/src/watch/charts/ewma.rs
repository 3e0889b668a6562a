//! Exponentially weighted moving average.
//!
//! Equation: `E = lambda z + (1 - lambda) E`, shown as `|E| / sqrt(lambda / (2 - lambda))`; an alarm where that is above `L`.
//! Symbols: `z` standardised residual (no unit), `lambda` weight of the newest, `L` limit in standard deviations of `E` once it has settled.
//! Source: S. W. Roberts, Technometrics 1 (1959) 239-250; designs: J. M. Lucas and M. S. Saccucci, Technometrics 32 (1990) 1-12.
//! Valid for `0 < lambda <= 1`. Left out: the narrower limits of the first residuals, which only matter at the start.

/// Usual weight.
pub const WEIGHT: f64 = 0.1;
/// The limit that goes with it for one false alarm in 500 independent residuals.
pub const TABLE_LIMIT: f64 = 2.814;

/// An exponentially weighted moving average.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ewma {
    /// Weight of the newest.
    pub weight: f64,
    mean: f64,
}

impl Ewma {
    /// One that starts at nothing.
    #[must_use]
    pub fn new(weight: f64) -> Self {
        Self { weight, mean: 0.0 }
    }

    /// Takes a residual; the average in its own standard deviations. A residual that is missing leaves it as it is.
    pub fn step(&mut self, z: f64) -> f64 {
        if z.is_finite() {
            self.mean += self.weight * (z - self.mean);
        }
        self.mean.abs() / (self.weight / (2.0 - self.weight)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lasting_shift_shows_whole_in_the_end_and_a_gap_changes_nothing() {
        let mut chart = Ewma::new(0.2);
        let first = chart.step(3.0);
        assert!((first - 0.6 * 3.0).abs() < 1e-12, "{first}");
        assert_eq!(chart.step(f64::NAN), first);
        let settled = (0..500).map(|_| chart.step(1.0)).last().expect("steps");
        assert!((settled - 3.0).abs() < 1e-9, "{settled}");
    }
}
