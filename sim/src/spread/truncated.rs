//! A continuous family between two bounds.
//!
//! `x = F^-1(F(lo) + u (F(hi) - F(lo)))`: the distribution given that it lies inside, not clipped to it.
//! u a uniform in (0, 1), F the distribution function of the family, [lo, hi] the truncation. Where that lies in the upper
//! half the same is done with 1 - F, which keeps digits that F has lost there.
//! Source: inverse transform sampling (Devroye 1986, Non-Uniform Random Variate Generation, chapter II; from memory).
//! Valid while the mass inside is a normal double. Left out: truncation of listed values.

use super::family::Family;

/// A continuous family between two bounds, which may be infinite.
pub(super) struct Truncated {
    family: Family,
    lo: f64,
    hi: f64,
    /// Probability of the whole family below `lo`, above `hi`, and between.
    below: f64,
    above: f64,
    inside: f64,
}

impl Truncated {
    /// The family between its own ends and those of `within`; `None` if nothing of it is there.
    pub(super) fn new(family: Family, within: Option<(f64, f64)>) -> Option<Self> {
        let (mut lo, mut hi) = family.support();
        if let Some((least, most)) = within {
            lo = lo.max(least);
            hi = hi.min(most);
        }
        if lo > hi {
            return None;
        }
        let (below, above) = (family.lower(lo), family.upper(hi));
        let inside = if below > 0.5 {
            family.upper(lo) - above
        } else if above > 0.5 {
            family.lower(hi) - below
        } else {
            1.0 - below - above
        };
        // A subnormal mass has too few digits left to share out.
        (inside >= f64::MIN_POSITIVE).then_some(Self {
            family,
            lo,
            hi,
            below,
            above,
            inside,
        })
    }

    /// The two bounds.
    pub(super) fn support(&self) -> (f64, f64) {
        (self.lo, self.hi)
    }

    /// The value at the uniform `u`.
    pub(super) fn at(&self, u: f64) -> f64 {
        let p = self.below + u * self.inside;
        let q = self.above + (1.0 - u) * self.inside;
        // The side with the smaller probability has the digits; rounding alone can leave the bounds.
        let x = if p <= q {
            self.family.at_lower(p)
        } else {
            self.family.at_upper(q)
        };
        x.clamp(self.lo, self.hi)
    }

    /// The probability below `x`.
    pub(super) fn lower(&self, x: f64) -> f64 {
        if x <= self.lo {
            0.0
        } else if x >= self.hi {
            1.0
        } else if self.below > 0.5 {
            (1.0 - (self.family.upper(x) - self.above) / self.inside).clamp(0.0, 1.0)
        } else {
            ((self.family.lower(x) - self.below) / self.inside).clamp(0.0, 1.0)
        }
    }

    /// The probability above `x`.
    pub(super) fn upper(&self, x: f64) -> f64 {
        if x <= self.lo {
            1.0
        } else if x >= self.hi {
            0.0
        } else if self.above > 0.5 {
            (1.0 - (self.family.lower(x) - self.below) / self.inside).clamp(0.0, 1.0)
        } else {
            ((self.family.upper(x) - self.above) / self.inside).clamp(0.0, 1.0)
        }
    }
}
