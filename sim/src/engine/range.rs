//! True bounds of numbers, and arithmetic that keeps them true (to rounding).

/// What a bound says: the value is within.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Range {
    /// Not below.
    pub lo: f64,
    /// Not above.
    pub hi: f64,
}

impl Range {
    /// Says nothing.
    pub const ALL: Self = Self {
        lo: f64::NEG_INFINITY,
        hi: f64::INFINITY,
    };

    /// The range of one value.
    pub const fn point(value: f64) -> Self {
        Self { lo: value, hi: value }
    }

    /// Spans two values in either order.
    pub fn span(a: f64, b: f64) -> Self {
        if a < b {
            Self { lo: a, hi: b }
        } else {
            Self { lo: b, hi: a }
        }
    }

    /// The range of `factor` times a value in this one.
    pub fn times(self, factor: f64) -> Self {
        Self::span(self.lo * factor, self.hi * factor)
    }

    /// The range of a sum.
    pub fn plus(self, other: Self) -> Self {
        Self {
            lo: self.lo + other.lo,
            hi: self.hi + other.hi,
        }
    }

    /// The range of a product.
    pub fn by(self, other: Self) -> Self {
        let corners = [
            self.lo * other.lo,
            self.lo * other.hi,
            self.hi * other.lo,
            self.hi * other.hi,
        ];
        Self {
            lo: corners.iter().copied().fold(f64::INFINITY, f64::min),
            hi: corners.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        }
    }

    /// Holds both.
    pub fn join(self, other: Self) -> Self {
        Self {
            lo: self.lo.min(other.lo),
            hi: self.hi.max(other.hi),
        }
    }

    /// What two true bounds allow together.
    pub fn meet(self, other: Self) -> Self {
        Self {
            lo: self.lo.max(other.lo),
            hi: self.hi.min(other.hi),
        }
    }
}

/// Bounds over an interval.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bounds {
    /// Of the value.
    pub value: Range,
    /// Of the derivative, per s.
    pub slope: Range,
    /// Of the second derivative, per s2.
    pub bend: Range,
}

impl Bounds {
    /// A constant's.
    pub const fn steady(value: f64) -> Self {
        Self {
            value: Range::point(value),
            slope: Range::point(0.0),
            bend: Range::point(0.0),
        }
    }

    /// Those of `factor` times the number.
    pub fn times(self, factor: f64) -> Self {
        Self {
            value: self.value.times(factor),
            slope: self.slope.times(factor),
            bend: self.bend.times(factor),
        }
    }

    /// Those of a sum.
    pub fn plus(self, other: Self) -> Self {
        Self {
            value: self.value.plus(other.value),
            slope: self.slope.plus(other.slope),
            bend: self.bend.plus(other.bend),
        }
    }

    /// Those of a product.
    pub fn by(self, other: Self) -> Self {
        let twice = self.slope.by(other.slope).times(2.0);
        let slope = self.slope.by(other.value).plus(self.value.by(other.slope));
        let bend = self.bend.by(other.value).plus(twice).plus(self.value.by(other.bend));
        Self {
            value: self.value.by(other.value),
            slope,
            bend,
        }
    }

    /// Those of its size. Where it may change sign nothing is known of the bends.
    pub fn size(self) -> Self {
        if self.value.lo >= 0.0 {
            return self;
        }
        if self.value.hi <= 0.0 {
            return self.times(-1.0);
        }
        let steepest = self.slope.hi.max(-self.slope.lo);
        Self {
            value: Range {
                lo: 0.0,
                hi: self.value.hi.max(-self.value.lo),
            },
            slope: Range {
                lo: -steepest,
                hi: steepest,
            },
            bend: Range::ALL,
        }
    }

    /// Those of the integral, over `factor`: its value is not bounded by itself, but by its ends and slopes.
    pub fn of_integral(self, factor: f64) -> Self {
        Self {
            value: Range::ALL,
            slope: self.value.times(factor),
            bend: self.slope.times(factor),
        }
    }

    /// Holds both.
    pub fn join(self, other: Self) -> Self {
        Self {
            value: self.value.join(other.value),
            slope: self.slope.join(other.slope),
            bend: self.bend.join(other.bend),
        }
    }
}
