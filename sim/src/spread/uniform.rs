//! The uniform distribution.
//!
//! `x = lo + p (hi - lo)`. lo, hi in the unit of the quantity; p without unit. Source: the definition. Valid for
//! any finite ends; equal ends are a point.

use super::error::SpreadError;

/// Two ends, the low one first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Uniform {
    lo: f64,
    hi: f64,
}

impl Uniform {
    pub(super) fn new(lo: f64, hi: f64) -> Result<Self, SpreadError> {
        if lo > hi {
            return Err(SpreadError::EndsOutOfOrder);
        }
        if !(hi - lo).is_finite() {
            return Err(SpreadError::NotFinite);
        }
        Ok(Self { lo, hi })
    }

    pub(super) fn point(&self) -> Option<f64> {
        (self.lo == self.hi).then_some(self.lo)
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (self.lo, self.hi)
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        ((x - self.lo) / (self.hi - self.lo)).clamp(0.0, 1.0)
    }

    pub(super) fn upper(&self, x: f64) -> f64 {
        ((self.hi - x) / (self.hi - self.lo)).clamp(0.0, 1.0)
    }

    pub(super) fn at_lower(&self, p: f64) -> f64 {
        self.lo + p * (self.hi - self.lo)
    }

    pub(super) fn at_upper(&self, q: f64) -> f64 {
        self.hi - q * (self.hi - self.lo)
    }
}
