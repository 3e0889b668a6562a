//! Numbers under faults: at an instant, and how they go on from there.
//!
//! See [`crate::upset::Fault`] for the forms. A number goes on as `x(t)`, `t` s from an instant, with each fault's part `g(t)` fixed,
//! linear or fading; so a segment that begins there can be integrated with it.

use libm::exp;

use crate::upset::{By, Target};

/// A part of severity, `g(t)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Growth {
    /// Always this.
    Fixed(f64),
    /// `now + per_s t`.
    Linear {
        /// At t = 0.
        now: f64,
        /// 1/s.
        per_s: f64,
    },
    /// `1 - left e^(-rate t)`.
    Fading {
        /// At t = 0.
        left: f64,
        /// 1/s.
        rate: f64,
    },
}

impl Growth {
    /// The part at `t` s.
    pub fn at(self, t: f64) -> f64 {
        match self {
            Self::Fixed(g) => g,
            Self::Linear { now, per_s } => (now + per_s * t).min(1.0),
            Self::Fading { left, rate } => 1.0 - left * exp(-rate * t),
        }
    }
}

/// A number that faults act on, from an instant on.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Drift {
    /// Which.
    pub target: Target,
    /// As it would be.
    pub plain: f64,
    /// What acts on it, in the order of the file.
    pub parts: Vec<(By, Growth)>,
    /// Least and largest value.
    pub domain: [f64; 2],
}

impl Drift {
    /// The number at `t` s.
    pub fn at(&self, t: f64) -> f64 {
        let mut x = self.plain;
        for &(by, growth) in &self.parts {
            if let By::Factor(factor) = by {
                // Exactly 1 where the factor is.
                x *= 1.0 + growth.at(t) * (factor - 1.0);
            }
        }
        for &(by, growth) in &self.parts {
            if let By::Add(more) = by {
                x += growth.at(t) * more;
            }
        }
        for &(by, growth) in &self.parts {
            if let By::To(value) = by {
                let g = growth.at(t);
                // Exactly the value where it is reached, and the number where they are the same.
                x = if g >= 1.0 { value } else { x + g * (value - x) };
            }
        }
        x.clamp(self.domain[0], self.domain[1])
    }

    /// Whether it goes on changing.
    pub fn moves(&self) -> bool {
        self.parts.iter().any(|&(by, growth)| {
            let idle = match by {
                By::Factor(factor) => factor == 1.0 || self.plain == 0.0,
                By::Add(more) => more == 0.0,
                By::To(value) => value == self.plain && self.parts.len() == 1,
            };
            !idle && !matches!(growth, Growth::Fixed(_))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drift(parts: Vec<(By, Growth)>) -> Drift {
        Drift {
            target: Target::Exchange(0),
            plain: 10.0,
            parts,
            domain: [0.0, 100.0],
        }
    }

    #[test]
    fn several_faults_multiply_then_add_then_decide() {
        let whole = Growth::Fixed(1.0);
        let both = drift(vec![
            (By::Add(3.0), whole),
            (By::Factor(0.5), whole),
            (By::Factor(0.4), whole),
        ]);
        assert!((both.at(0.0) - 5.0).abs() < 1e-12);
        let decided = drift(vec![(By::To(7.0), whole), (By::Factor(0.5), whole)]);
        assert_eq!(decided.at(0.0), 7.0);
        let kept = drift(vec![(By::Add(-30.0), whole)]);
        assert_eq!(kept.at(0.0), 0.0);
    }

    #[test]
    fn ramps_and_decays_follow_their_forms() {
        let ramp = drift(vec![(By::Factor(0.2), Growth::Linear { now: 0.25, per_s: 0.01 })]);
        assert!((ramp.at(25.0) - 10.0 * (1.0 - 0.5 * 0.8)).abs() < 1e-12);
        assert!(ramp.moves());
        let decay = drift(vec![(By::To(0.0), Growth::Fading { left: 1.0, rate: 0.1 })]);
        assert!((decay.at(10.0) - 10.0 * exp(-1.0)).abs() < 1e-12);
    }

    #[test]
    fn no_severity_is_no_change_to_the_bit() {
        for growth in [Growth::Fixed(1.0), Growth::Linear { now: 0.3, per_s: 1e-3 }] {
            for by in [By::Factor(1.0), By::Add(0.0), By::To(10.0)] {
                let none = drift(vec![(by, growth)]);
                assert_eq!(none.at(17.0), 10.0);
                assert!(!none.moves());
            }
        }
    }
}
