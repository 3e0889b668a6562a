//! A checked shape with its truncation: what stands in place of a number.
//!
//! Values are in the SI unit of the quantity; a uniform and a probability have none.

use std::fmt;
use std::sync::Arc;

use super::Shape;
use super::choice::Choice;
use super::data::Data;
use super::error::SpreadError;
use super::family::Family;
use super::gamma::Gamma;
use super::lognormal::Lognormal;
use super::normal::Normal;
use super::pert::Pert;
use super::trials::Width;
use super::triangular::Triangular;
use super::truncated::Truncated;
use super::uniform::Uniform;
use super::weibull::Weibull;

/// The ends of the open interval (0, 1) in doubles.
const LEAST_U: f64 = f64::MIN_POSITIVE;
const MOST_U: f64 = 1.0 - 0.5 * f64::EPSILON;

/// A distribution that stands in place of a number, in SI. Clones share everything.
#[derive(Clone)]
pub struct Spread(Arc<Inner>);

struct Inner {
    shape: Shape,
    within: Option<(f64, f64)>,
    law: Law,
}

enum Law {
    Point(f64),
    Choice(Choice),
    Data(Data),
    Continuous(Truncated),
}

impl Spread {
    /// Checks a shape and gets it ready to draw; `within` truncates it (not for `Choice` and `Data`).
    ///
    /// # Errors
    /// A [`SpreadError`] in words: a negative deviation, ends or a mode out of order, weights that do not fit, nothing of
    /// the distribution inside `within`, a number that is not finite, no values.
    pub fn new(mut shape: Shape, within: Option<(f64, f64)>) -> Result<Self, SpreadError> {
        if !numbers(&shape).iter().all(|x| x.is_finite()) {
            return Err(SpreadError::NotFinite);
        }
        if let Some((lo, hi)) = within {
            if !lo.is_finite() || !hi.is_finite() {
                return Err(SpreadError::NotFinite);
            }
            if lo > hi {
                return Err(SpreadError::WithinOutOfOrder);
            }
        }
        let law = match &mut shape {
            Shape::Normal { mean, sd } => truncated(Family::Normal(Normal::new(*mean, *sd)?), within)?,
            Shape::Uniform { lo, hi } => truncated(Family::Uniform(Uniform::new(*lo, *hi)?), within)?,
            Shape::Triangular { lo, mode, hi } => {
                truncated(Family::Triangular(Triangular::new(*lo, *mode, *hi)?), within)?
            }
            Shape::Pert { lo, mode, hi } => truncated(Family::Pert(Pert::new(*lo, *mode, *hi)?), within)?,
            Shape::Lognormal { median, cv } => truncated(Family::Lognormal(Lognormal::new(*median, *cv)?), within)?,
            Shape::Gamma { mean, cv } => truncated(Family::Gamma(Gamma::new(*mean, *cv)?), within)?,
            Shape::Width { freedom } => truncated(Family::Width(Width::new(*freedom)?), within)?,
            Shape::Exponential { mean } => truncated(Family::Weibull(Weibull::exponential(*mean)?), within)?,
            Shape::Weibull { scale, shape } => truncated(Family::Weibull(Weibull::new(*scale, *shape)?), within)?,
            Shape::Choice { .. } | Shape::Data { .. } if within.is_some() => {
                return Err(SpreadError::WithinNotAllowed);
            }
            Shape::Choice { values, weights } => {
                let choice = Choice::new(values, weights)?;
                choice.point().map_or(Law::Choice(choice), Law::Point)
            }
            Shape::Data { values } => {
                let data = Data::new(values)?;
                *values = data.values().to_vec();
                data.point().map_or(Law::Data(data), Law::Point)
            }
        };
        Ok(Self(Arc::new(Inner { shape, within, law })))
    }

    /// The value at a uniform `u` in (0, 1): the inverse of the distribution function. A `u` outside is taken at the
    /// nearest end, and NaN at the low one, so every answer is finite.
    #[must_use]
    pub fn quantile(&self, u: f64) -> f64 {
        let u = if u > LEAST_U { u.min(MOST_U) } else { LEAST_U };
        match &self.0.law {
            Law::Point(value) => *value,
            Law::Choice(choice) => choice.at(u),
            Law::Data(data) => data.at(u),
            Law::Continuous(truncated) => truncated.at(u),
        }
    }

    /// The probability of a value of at most `x`.
    #[must_use]
    pub fn cdf(&self, x: f64) -> f64 {
        match &self.0.law {
            Law::Point(value) => f64::from(*value <= x),
            Law::Choice(choice) => choice.lower(x),
            Law::Data(data) => data.lower(x),
            Law::Continuous(truncated) => truncated.lower(x),
        }
    }

    /// The value of a run without variation; for `Choice` the first whose cumulative weight reaches a half.
    #[must_use]
    pub fn median(&self) -> f64 {
        self.quantile(0.5)
    }

    /// Whether every draw is the same value, to the bit.
    #[must_use]
    pub fn is_point(&self) -> bool {
        matches!(self.0.law, Law::Point(_))
    }

    /// The smallest interval that holds every draw; ends may be infinite.
    #[must_use]
    pub fn support(&self) -> (f64, f64) {
        match &self.0.law {
            Law::Point(value) => (*value, *value),
            Law::Choice(choice) => choice.support(),
            Law::Data(data) => data.support(),
            Law::Continuous(truncated) => truncated.support(),
        }
    }

    /// The probability of a value below `lo` or above `hi`; the ends themselves are inside. Either may be infinite.
    #[must_use]
    pub fn mass_outside(&self, lo: f64, hi: f64) -> f64 {
        match &self.0.law {
            Law::Point(value) => f64::from(*value < lo || *value > hi),
            Law::Choice(choice) => choice.outside(lo, hi),
            Law::Data(data) => data.outside(lo, hi),
            Law::Continuous(truncated) => (truncated.lower(lo) + truncated.upper(hi)).min(1.0),
        }
    }

    /// What was asked for; the values of `Data` are sorted.
    #[must_use]
    pub fn shape(&self) -> &Shape {
        &self.0.shape
    }

    /// The truncation that was asked for.
    #[must_use]
    pub fn within(&self) -> Option<(f64, f64)> {
        self.0.within
    }
}

impl fmt::Debug for Spread {
    /// The shape and truncation; what is made from them would fill pages.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Spread")
            .field("shape", &self.0.shape)
            .field("within", &self.0.within)
            .finish()
    }
}

impl PartialEq for Spread {
    /// The same shape and truncation.
    fn eq(&self, other: &Self) -> bool {
        self.0.shape == other.0.shape && self.0.within == other.0.within
    }
}

/// Every number of a shape.
fn numbers(shape: &Shape) -> Vec<f64> {
    match shape {
        Shape::Normal { mean, sd } => vec![*mean, *sd],
        Shape::Uniform { lo, hi } => vec![*lo, *hi],
        Shape::Triangular { lo, mode, hi } | Shape::Pert { lo, mode, hi } => vec![*lo, *mode, *hi],
        Shape::Lognormal { median, cv } => vec![*median, *cv],
        Shape::Gamma { mean, cv } => vec![*mean, *cv],
        Shape::Width { freedom } => vec![*freedom],
        Shape::Exponential { mean } => vec![*mean],
        Shape::Weibull { scale, shape } => vec![*scale, *shape],
        Shape::Choice { values, weights } => [values.as_slice(), weights.as_slice()].concat(),
        Shape::Data { values } => values.clone(),
    }
}

/// A family between the bounds asked for, or the point that is left of it.
fn truncated(family: Family, within: Option<(f64, f64)>) -> Result<Law, SpreadError> {
    if let Some(value) = family.point() {
        let inside = within.is_none_or(|(least, most)| (least..=most).contains(&value));
        return if inside {
            Ok(Law::Point(value))
        } else {
            Err(SpreadError::NothingInside)
        };
    }
    if let Some((least, most)) = within
        && least == most
    {
        let (lo, hi) = family.support();
        return if (lo..=hi).contains(&least) {
            Ok(Law::Point(least))
        } else {
            Err(SpreadError::NothingInside)
        };
    }
    Truncated::new(family, within)
        .map(Law::Continuous)
        .ok_or(SpreadError::NothingInside)
}

#[cfg(test)]
#[path = "checked_tests.rs"]
mod tests;
