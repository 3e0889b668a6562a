//! Cumulative sums, two-sided.
//!
//! Equation: `C+ = max(0, C+ + z - k)`, `C- = max(0, C- - z - k)`; an alarm where the larger is above `h`.
//! Symbols: `z` standardised residual (no unit), `k` allowance, half of the shift that is looked for, `h` decision interval; both in
//! standard deviations.
//! Source: E. S. Page, "Continuous inspection schemes", Biometrika 41 (1954) 100-115; `k = 0.5`, `h = 5` are the customary design.
//! Valid for any finite `z`; run lengths of tables ([`super::run_length`]) hold for independent standard normal `z` alone.
//! Left out: a head start.

/// Customary allowance.
pub const ALLOWANCE: f64 = 0.5;
/// Customary decision interval.
pub const TABLE_INTERVAL: f64 = 5.0;

/// A two-sided cumulative sum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cusum {
    /// Allowance.
    pub allowance: f64,
    up: f64,
    down: f64,
}

impl Cusum {
    /// One that starts at nothing.
    #[must_use]
    pub fn new(allowance: f64) -> Self {
        Self {
            allowance,
            up: 0.0,
            down: 0.0,
        }
    }

    /// Takes a residual; the larger of both sums. A residual that is missing leaves both as they are.
    pub fn step(&mut self, z: f64) -> f64 {
        if z.is_finite() {
            self.up = (self.up + z - self.allowance).max(0.0);
            self.down = (self.down - z - self.allowance).max(0.0);
        }
        self.up.max(self.down)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_sums_on_both_sides_and_a_gap_changes_nothing() {
        let mut chart = Cusum::new(0.5);
        let course: Vec<f64> = [1.5, 1.5, f64::NAN, -4.5, 0.0].map(|z| chart.step(z)).to_vec();
        assert_eq!(course, [1.0, 2.0, 2.0, 4.0, 3.5]);
    }
}
