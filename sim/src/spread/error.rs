//! Why a shape is no distribution.

use std::fmt;

/// What is wrong with a spread, in words; values are left to the caller, who knows how they were written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpreadError {
    /// A parameter is not finite, or so large that draws would not be.
    NotFinite,
    /// A standard deviation below 0.
    NegativeDeviation,
    /// A coefficient of variation below 0.
    NegativeVariation,
    /// A lognormal median of 0 or less.
    MedianNotPositive,
    /// A coefficient of variation that is no gamma's here.
    VariationOutOfRange,
    /// The mean of an exponential or a gamma of 0 or less.
    MeanNotPositive,
    /// The scale of a Weibull of 0 or less.
    ScaleNotPositive,
    /// The shape of a Weibull of 0 or less.
    ShapeNotPositive,
    /// Too few trials, or more than are told apart.
    TrialCount,
    /// `trials` on a truncated spread.
    TrialsWithin,
    /// `trials` on a spread of one value.
    NothingUnsure,
    /// `trials` on a family that is not fitted to trials.
    TrialsNotFitted,
    /// A low end above the high end.
    EndsOutOfOrder,
    /// A mode outside the two ends.
    ModeOutsideEnds,
    /// No values to choose from.
    NoValues,
    /// As many weights as values are needed.
    WeightCount {
        /// How many values there are.
        values: usize,
        /// How many weights there are.
        weights: usize,
    },
    /// A weight of 0 or less.
    WeightNotPositive {
        /// Its index.
        index: usize,
    },
    /// The low end of `within` is above its high end.
    WithinOutOfOrder,
    /// `within` on listed values.
    WithinNotAllowed,
    /// Nothing of the distribution lies inside `within`.
    NothingInside,
}

impl fmt::Display for SpreadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words = match self {
            Self::NotFinite => "a value is not finite, or too large to draw from",
            Self::NegativeDeviation => "the standard deviation is negative",
            Self::NegativeVariation => "the coefficient of variation is negative",
            Self::MedianNotPositive => "the median of a lognormal must be above 0",
            Self::MeanNotPositive => "the mean must be above 0",
            Self::VariationOutOfRange => "the coefficient of variation of a gamma is from 0.1 % to 1000 %",
            Self::TrialCount => "`trials` is a whole number from 3 to 1,000,000",
            Self::TrialsWithin => "`trials` does not go with `within`: ends that are known are no estimate",
            Self::NothingUnsure => "a spread of one value leaves nothing unsure",
            Self::TrialsNotFitted => "`trials` goes with normal, lognormal, gamma, weibull and pert",
            Self::ScaleNotPositive => "the scale of a Weibull must be above 0",
            Self::ShapeNotPositive => "the shape of a Weibull must be above 0",
            Self::EndsOutOfOrder => "the low end is above the high end",
            Self::ModeOutsideEnds => "the mode is not between the low and the high end",
            Self::NoValues => "there is no value to draw",
            Self::WeightCount { values, weights } => {
                return write!(f, "{values} values need {values} weights, not {weights}");
            }
            Self::WeightNotPositive { index } => {
                return write!(f, "weight {} is not above 0", index + 1);
            }
            Self::WithinOutOfOrder => "the low end of `within` is above its high end",
            Self::WithinNotAllowed => "listed values take no `within`: leave out what is not wanted",
            Self::NothingInside => "nothing of the distribution lies inside `within`",
        };
        f.write_str(words)
    }
}

impl std::error::Error for SpreadError {}
