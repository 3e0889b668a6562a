//! The continuous families behind one set of questions: both tails and both inverses, so that neither tail loses digits.

use super::gamma::Gamma;
use super::lognormal::Lognormal;
use super::normal::Normal;
use super::pert::Pert;
use super::trials::Width;
use super::triangular::Triangular;
use super::uniform::Uniform;
use super::weibull::Weibull;

/// A continuous distribution.
#[derive(Clone, Debug)]
pub(super) enum Family {
    Normal(Normal),
    Uniform(Uniform),
    Triangular(Triangular),
    Pert(Pert),
    Lognormal(Lognormal),
    Weibull(Weibull),
    Gamma(Gamma),
    Width(Width),
}

/// Asks the family in `$self` the question.
macro_rules! ask {
    ($self:ident, $question:ident $(, $x:ident)?) => {
        match $self {
            Self::Normal(family) => family.$question($($x)?),
            Self::Uniform(family) => family.$question($($x)?),
            Self::Triangular(family) => family.$question($($x)?),
            Self::Pert(family) => family.$question($($x)?),
            Self::Lognormal(family) => family.$question($($x)?),
            Self::Weibull(family) => family.$question($($x)?),
            Self::Gamma(family) => family.$question($($x)?),
            Self::Width(family) => family.$question($($x)?),
        }
    };
}

impl Family {
    /// The only value, if the width is zero.
    pub(super) fn point(&self) -> Option<f64> {
        ask!(self, point)
    }

    /// The smallest interval that holds every value; ends may be infinite.
    pub(super) fn support(&self) -> (f64, f64) {
        ask!(self, support)
    }

    /// The probability below `x`.
    pub(super) fn lower(&self, x: f64) -> f64 {
        ask!(self, lower, x)
    }

    /// The probability above `x`.
    pub(super) fn upper(&self, x: f64) -> f64 {
        ask!(self, upper, x)
    }

    /// Where the probability below is `p`.
    pub(super) fn at_lower(&self, p: f64) -> f64 {
        ask!(self, at_lower, p)
    }

    /// Where the probability above is `q`.
    pub(super) fn at_upper(&self, q: f64) -> f64 {
        ask!(self, at_upper, q)
    }
}
