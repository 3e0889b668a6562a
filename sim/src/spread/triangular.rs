//! The triangular distribution.
//!
//! `F(x) = (x - lo)^2 / (w (mode - lo))` up to the mode, `1 - F(x) = (hi - x)^2 / (w (hi - mode))` beyond; `w = hi - lo`.
//! lo, mode, hi in the unit of the quantity. Source: the areas of two right triangles. A mode at an end is allowed.

use super::error::SpreadError;

/// Low end, mode, high end, in this order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Triangular {
    lo: f64,
    mode: f64,
    hi: f64,
}

impl Triangular {
    pub(super) fn new(lo: f64, mode: f64, hi: f64) -> Result<Self, SpreadError> {
        ends_and_mode(lo, mode, hi)?;
        Ok(Self { lo, mode, hi })
    }

    pub(super) fn point(&self) -> Option<f64> {
        (self.lo == self.hi).then_some(self.lo)
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (self.lo, self.hi)
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        if x <= self.lo {
            0.0
        } else if x <= self.mode {
            let above = x - self.lo;
            (above / (self.hi - self.lo)) * (above / (self.mode - self.lo))
        } else {
            1.0 - self.upper(x)
        }
    }

    pub(super) fn upper(&self, x: f64) -> f64 {
        if x >= self.hi {
            0.0
        } else if x > self.mode {
            let below = self.hi - x;
            (below / (self.hi - self.lo)) * (below / (self.hi - self.mode))
        } else {
            1.0 - self.lower(x)
        }
    }

    pub(super) fn at_lower(&self, p: f64) -> f64 {
        if p <= (self.mode - self.lo) / (self.hi - self.lo) {
            self.rising(p)
        } else {
            self.falling(1.0 - p)
        }
    }

    pub(super) fn at_upper(&self, q: f64) -> f64 {
        if q <= (self.hi - self.mode) / (self.hi - self.lo) {
            self.falling(q)
        } else {
            self.rising(1.0 - q)
        }
    }

    /// Where the probability below is `p`, left of the mode.
    fn rising(&self, p: f64) -> f64 {
        self.lo + (self.hi - self.lo) * libm::sqrt(p * ((self.mode - self.lo) / (self.hi - self.lo)))
    }

    /// Where the probability above is `q`, right of the mode.
    fn falling(&self, q: f64) -> f64 {
        self.hi - (self.hi - self.lo) * libm::sqrt(q * ((self.hi - self.mode) / (self.hi - self.lo)))
    }
}

/// What two ends and a mode between them must be.
pub(super) fn ends_and_mode(lo: f64, mode: f64, hi: f64) -> Result<(), SpreadError> {
    if lo > hi {
        Err(SpreadError::EndsOutOfOrder)
    } else if !(lo..=hi).contains(&mode) {
        Err(SpreadError::ModeOutsideEnds)
    } else if !(hi - lo).is_finite() {
        Err(SpreadError::NotFinite)
    } else {
        Ok(())
    }
}
