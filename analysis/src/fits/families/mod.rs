//! Distributions of durations, fitted by maximum likelihood to complete samples.
//!
//! `ln L = sum ln f(x_i)`; `AIC = 2 k - 2 ln L`, `AICc = AIC + 2 k (k + 1) / (n - k - 1)`, with k parameters and n observations.
//! Source: Akaike 1974, IEEE Trans. Autom. Control 19, 716; the correction: Hurvich and Tsai 1989, Biometrika 76, 297 (both from
//! memory). Valid for values above 0 that are not all the same. One file to a family; each finds its own maximum.

mod gamma;
mod lognormal;
mod pert;
mod weibull;

use breathroom_sim::spread::{Shape, Spread};

/// A family that is fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// Two parameters: median and coefficient of variation.
    Lognormal,
    /// Two parameters: mean and coefficient of variation.
    Gamma,
    /// Two parameters: scale and shape.
    Weibull,
    /// Three parameters: low end, mode, high end.
    Pert,
}

/// A family at the maximum of its likelihood.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Which.
    pub family: Family,
    /// Its parameters as a spread has them, in the unit of the observations.
    pub shape: Shape,
    /// ln L there.
    pub log_likelihood: f64,
    /// So many observations.
    pub count: usize,
}

impl Family {
    /// All of them, in the order in which one is taken if the data do not tell them apart.
    pub const ALL: [Self; 4] = [Self::Lognormal, Self::Gamma, Self::Weibull, Self::Pert];

    /// Its name in a scenario.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Lognormal => "lognormal",
            Self::Gamma => "gamma",
            Self::Weibull => "weibull",
            Self::Pert => "pert",
        }
    }

    /// How many parameters it has.
    #[must_use]
    pub fn parameters(self) -> usize {
        if self == Self::Pert { 3 } else { 2 }
    }

    /// The fit to values above 0; `None` if they are fewer than the parameters and one more, not all above 0, all the same, or so much
    /// alike that no maximum is found.
    #[must_use]
    pub fn fit(self, values: &[f64]) -> Option<Fitted> {
        let good = values.iter().all(|x| x.is_finite() && *x > 0.0);
        let varied = values.iter().any(|x| *x != values[0]);
        if !good || !varied || values.len() <= self.parameters() {
            return None;
        }
        let (shape, log_likelihood) = match self {
            Self::Lognormal => lognormal::fit(values),
            Self::Gamma => gamma::fit(values)?,
            Self::Weibull => weibull::fit(values)?,
            Self::Pert => pert::fit(values)?,
        };
        let fitted = Fitted {
            family: self,
            shape,
            log_likelihood,
            count: values.len(),
        };
        (log_likelihood.is_finite() && fitted.spread().is_some()).then_some(fitted)
    }
}

impl Fitted {
    /// As a spread; none if it is too narrow or too wide to be one.
    #[must_use]
    pub fn spread(&self) -> Option<Spread> {
        Spread::new(self.shape.clone(), None).ok()
    }

    /// Whether its maximum is a proper one: no end of a PERT lies at an observation, and its mode lies inside. Elsewhere the likelihood has a corner,
    /// and neither criteria nor intervals mean what they should.
    #[must_use]
    pub fn is_regular(&self, values: &[f64]) -> bool {
        let Shape::Pert { lo, mode, hi } = self.shape else {
            return true;
        };
        let near = 1e-3 * (hi - lo);
        let free = |end: f64| values.iter().all(|x| (x - end).abs() > near);
        free(lo) && free(hi) && mode > lo + near && mode < hi - near
    }

    /// Akaike's criterion; less is better.
    #[must_use]
    pub fn aic(&self) -> f64 {
        2.0 * self.family.parameters() as f64 - 2.0 * self.log_likelihood
    }

    /// The same, corrected for few observations; infinite where there are too few for it.
    #[must_use]
    pub fn aicc(&self) -> f64 {
        let (k, n) = (self.family.parameters() as f64, self.count as f64);
        if n <= k + 1.0 {
            return f64::INFINITY;
        }
        self.aic() + 2.0 * k * (k + 1.0) / (n - k - 1.0)
    }
}

/// Mean of a function over values.
fn mean(values: &[f64], of: impl Fn(f64) -> f64) -> f64 {
    values.iter().map(|&x| of(x)).sum::<f64>() / values.len() as f64
}

#[cfg(test)]
mod tests;
