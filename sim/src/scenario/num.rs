//! A number of a scenario: fixed, or the value of an uncertain input.

/// A value in SI that a variation may draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Num {
    /// The same in every variation.
    Fixed(f64),
    /// The value of the input of this index, kept inside the domain of its key (a spread may have up to 1e-6 of its
    /// mass outside).
    Input { input: usize, lo: f64, hi: f64 },
}

impl Num {
    /// The value in this variation.
    pub fn of(self, values: &[f64]) -> f64 {
        match self {
            Self::Fixed(value) => value,
            Self::Input { input, lo, hi } => values[input].clamp(lo, hi),
        }
    }

    /// A value drawn elsewhere, kept inside the domain.
    pub fn kept(self, drawn: f64) -> f64 {
        match self {
            Self::Fixed(value) => value,
            Self::Input { lo, hi, .. } => drawn.clamp(lo, hi),
        }
    }

    /// The input it is drawn from.
    pub fn input(self) -> Option<usize> {
        match self {
            Self::Fixed(_) => None,
            Self::Input { input, .. } => Some(input),
        }
    }

    /// Whether it can differ between variations.
    pub fn varies(self) -> bool {
        self.input().is_some()
    }
}
