//! The values of one quantity over many runs, exact or as a sketch: one face to all that asks for order.
//!
//! Equation: the values as they are while they fit; else as [`Sketch`] counts them. Which of the two is settled by the
//! job before its first run, never by what was seen: so parts of a job always fit together.
//! Symbols: values in any one unit; ranks from 1.
//! Source: none; for the sketch see its module.
//! Valid for all values; -0 is 0 and NaN is minus infinity, in both kinds.
//! Left out: weights.

use super::quantiles;
use super::sketch::{Ranked, Sketch, clean};

/// Values as they come in.
#[derive(Clone, Debug, PartialEq)]
pub enum Gathering {
    /// Every value, in the order they came.
    Exact(Vec<f64>),
    /// Counts in bins.
    Sketched(Sketch),
}

impl Gathering {
    /// Without values; `exact` says which kind.
    #[must_use]
    pub fn new(exact: bool) -> Self {
        if exact {
            Self::Exact(Vec::new())
        } else {
            Self::Sketched(Sketch::new())
        }
    }

    /// Takes one value.
    pub fn add(&mut self, value: f64) {
        match self {
            Self::Exact(values) => values.push(clean(value)),
            Self::Sketched(sketch) => sketch.add(value),
        }
    }

    /// Takes all values of another; of two kinds the sum is a sketch.
    pub fn merge(&mut self, other: &Self) {
        match (&mut *self, other) {
            (Self::Exact(values), Self::Exact(others)) => values.extend_from_slice(others),
            (Self::Sketched(sketch), Self::Sketched(other)) => sketch.merge(other),
            (Self::Sketched(sketch), Self::Exact(others)) => others.iter().for_each(|&value| sketch.add(value)),
            (Self::Exact(values), Self::Sketched(other)) => {
                let mut sketch = other.clone();
                values.iter().for_each(|&value| sketch.add(value));
                *self = Self::Sketched(sketch);
            }
        }
    }

    /// Ready to be asked.
    #[must_use]
    pub fn into_sample(self) -> Sample {
        match self {
            Self::Exact(values) => Sample::exact(values),
            Self::Sketched(sketch) => Sample::Sketched(sketch.ranked()),
        }
    }
}

/// Values in order. Every answer takes a binary search at most.
#[derive(Clone, Debug, PartialEq)]
pub enum Sample {
    /// Sorted upwards.
    Exact(Vec<f64>),
    /// Counts in bins, summed up.
    Sketched(Ranked),
}

impl Sample {
    /// Sorts values.
    #[must_use]
    pub fn exact(mut values: Vec<f64>) -> Self {
        values.iter_mut().for_each(|value| *value = clean(*value));
        quantiles::sort(&mut values);
        Self::Exact(values)
    }

    /// How many values there are.
    #[must_use]
    pub fn len(&self) -> u64 {
        match self {
            Self::Exact(values) => values.len() as u64,
            Self::Sketched(ranked) => ranked.count(),
        }
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The value of the rank `rank`, from 1, upwards; NaN if there is none.
    #[must_use]
    pub fn order_statistic(&self, rank: u64) -> f64 {
        match self {
            Self::Exact(values) => {
                let place = rank.checked_sub(1).and_then(|place| usize::try_from(place).ok());
                place.and_then(|place| values.get(place)).copied().unwrap_or(f64::NAN)
            }
            Self::Sketched(ranked) => ranked.order_statistic(rank),
        }
    }

    /// The smallest value; NaN if there is none.
    #[must_use]
    pub fn min(&self) -> f64 {
        self.order_statistic(1)
    }

    /// The quantile (type 7); NaN without values or if `p` is not in [0, 1].
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        quantiles::of_ranks(self.len(), p, |rank| self.order_statistic(rank))
    }

    /// Values below `x`: of a sketch those below the bin of `x`, exact for 0.
    #[must_use]
    pub fn below(&self, x: f64) -> u64 {
        match self {
            Self::Exact(values) => values.partition_point(|&value| value < x) as u64,
            Self::Sketched(ranked) => ranked.below(x),
        }
    }

    /// Values not above `x`: of a sketch those up to and with the bin of `x`.
    #[must_use]
    pub fn up_to(&self, x: f64) -> u64 {
        match self {
            Self::Exact(values) => values.partition_point(|&value| value <= x) as u64,
            Self::Sketched(ranked) => ranked.up_to(x),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gathered(exact: bool, values: &[f64]) -> Gathering {
        let mut gathering = Gathering::new(exact);
        values.iter().for_each(|&value| gathering.add(value));
        gathering
    }

    #[test]
    fn both_kinds_answer_alike() {
        // Few bits each, so that the middle of a bin is not far, and the ends are exact.
        let values = [3.0, f64::NEG_INFINITY, -0.0, 2.0, f64::NAN, -7.0, f64::INFINITY, 0.0];
        for exact in [true, false] {
            let sample = gathered(exact, &values).into_sample();
            assert_eq!((sample.len(), sample.min()), (8, f64::NEG_INFINITY));
            assert_eq!((sample.below(0.0), sample.up_to(0.0)), (3, 5), "{exact}");
            assert_eq!((sample.below(f64::NEG_INFINITY), sample.below(f64::INFINITY)), (0, 7));
            assert!((sample.order_statistic(3) + 7.0).abs() <= 7.0 / 2048.0);
            assert_eq!(sample.order_statistic(8), f64::INFINITY);
            assert!(sample.order_statistic(9).is_nan() && sample.order_statistic(0).is_nan());
            assert!((sample.quantile(0.75) - 2.25).abs() <= 3.0 / 2048.0);
            assert!(sample.quantile(1.5).is_nan());
        }
    }

    #[test]
    fn two_kinds_make_a_sketch() {
        let (a, b) = ([1.0, -2.0], [5.0, f64::NAN]);
        let whole = gathered(false, &[1.0, -2.0, 5.0, f64::NAN]);
        for (first, second) in [(true, false), (false, true), (false, false)] {
            let mut sum = gathered(first, &a);
            sum.merge(&gathered(second, &b));
            assert_eq!(sum, whole);
        }
        let mut sum = gathered(true, &a);
        sum.merge(&gathered(true, &b));
        assert_eq!(sum, gathered(true, &[1.0, -2.0, 5.0, f64::NAN]));
    }

    #[test]
    fn nothing_is_nothing() {
        for exact in [true, false] {
            let sample = Gathering::new(exact).into_sample();
            assert!(sample.is_empty() && sample.min().is_nan() && sample.quantile(0.5).is_nan());
        }
    }
}
