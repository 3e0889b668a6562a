//! PERT: a beta distribution on [lo, hi] with mean (lo + 4 mode + hi) / 6.
//!
//! `a = 1 + 4 (mode - lo) / w`, `b = 1 + 4 (hi - mode) / w`, `w = hi - lo`; `F(x) = I_z(a, b)`, `z = (x - lo) / w`.
//! lo, mode, hi in the unit of the quantity; a, b, z without unit, a + b = 6. Source: Malcolm, Roseboom, Clark and Fazar
//! (1959), Operations Research 7, 646-669, for the mean; the beta with shape 4 is the usual reading of it (Vose 2008,
//! Risk Analysis; from memory). Variance (mean - lo)(hi - mean) / 7. A mode at an end is allowed.

use super::beta::Beta;
use super::beta_table::LowTable;
use super::error::SpreadError;
use super::triangular::ends_and_mode;

/// The two ends, and the inverse from either of them.
#[derive(Clone, Debug)]
pub(super) struct Pert {
    lo: f64,
    hi: f64,
    /// The beta distribution of the distance from the low end, as a part of the width.
    from_lo: LowTable,
    /// The same of the distance from the high end, so that each tail keeps its digits.
    from_hi: LowTable,
}

impl Pert {
    pub(super) fn new(lo: f64, mode: f64, hi: f64) -> Result<Self, SpreadError> {
        ends_and_mode(lo, mode, hi)?;
        let width = hi - lo;
        // Equal ends make a point that never asks these; the middle keeps them defined.
        let rise = if width > 0.0 { (mode - lo) / width } else { 0.5 };
        let (a, b) = (1.0 + 4.0 * rise, 1.0 + 4.0 * (1.0 - rise));
        Ok(Self {
            lo,
            hi,
            from_lo: LowTable::new(Beta::new(a, b)),
            from_hi: LowTable::new(Beta::new(b, a)),
        })
    }

    pub(super) fn point(&self) -> Option<f64> {
        (self.lo == self.hi).then_some(self.lo)
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (self.lo, self.hi)
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        self.from_lo.beta().lower((x - self.lo) / (self.hi - self.lo))
    }

    pub(super) fn upper(&self, x: f64) -> f64 {
        self.from_hi.beta().lower((self.hi - x) / (self.hi - self.lo))
    }

    pub(super) fn at_lower(&self, p: f64) -> f64 {
        if p <= 0.5 {
            self.above_lo(p)
        } else {
            self.below_hi(1.0 - p)
        }
    }

    pub(super) fn at_upper(&self, q: f64) -> f64 {
        if q < 0.5 {
            self.below_hi(q)
        } else {
            self.above_lo(1.0 - q)
        }
    }

    fn above_lo(&self, p: f64) -> f64 {
        self.lo + (self.hi - self.lo) * self.from_lo.at(p)
    }

    fn below_hi(&self, q: f64) -> f64 {
        self.hi - (self.hi - self.lo) * self.from_hi.at(q)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_fifteen_thirty_has_its_textbook_moments() {
        // PERT(10, 15, 30): mean (10 + 60 + 30) / 6 = 16.667, variance (16.667 - 10)(30 - 16.667) / 7 = 12.698.
        let pert = Pert::new(10.0, 15.0, 30.0).unwrap();
        // The midpoint rule errs by about w n^-1.25 here, for x goes as the fourth root at the high end: 3e-7 of 20.
        let n = 2_000_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for i in 0..n {
            let x = pert.at_lower((f64::from(i) + 0.5) / f64::from(n));
            sum += x;
            squares += x * x;
        }
        let mean = sum / f64::from(n);
        let variance = squares / f64::from(n) - mean * mean;
        assert!((mean - 100.0 / 6.0).abs() < 1e-7, "{mean}");
        assert!((variance - 800.0 / 63.0).abs() < 1e-5, "{variance}");
    }

    #[test]
    fn a_mode_at_an_end_has_a_closed_form() {
        // Mode at the low end: a = 1, b = 5, so 1 - F = (1 - z)^5.
        let early = Pert::new(0.0, 0.0, 1.0).unwrap();
        let late = Pert::new(0.0, 1.0, 1.0).unwrap();
        for p in [1e-12, 1e-6, 0.01, 0.3, 0.5, 0.8, 0.999] {
            let z = -libm::expm1(libm::log1p(-p) / 5.0);
            assert!((early.at_lower(p) / z - 1.0).abs() < 1e-11, "{p}");
            assert!((late.at_upper(p) - (1.0 - z)).abs() < 1e-11, "{p}");
            assert!((late.at_lower(p) / libm::pow(p, 0.2) - 1.0).abs() < 1e-11, "{p}");
        }
    }
}
