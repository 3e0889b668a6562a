//! What a gauge reads over a segment: value, slope and bounds of its signal.

use crate::air::BODY_VAPOUR_PA;

use super::super::course::Course;
use super::super::range::Bounds;
use super::super::search::{Signal, Stock};

/// A gauge's signal over a segment.
pub(crate) enum Reading<'a> {
    /// `scale` times a course.
    Linear { course: &'a Course, scale: f64 },
    /// `u oxygen - ratio (total - vapour)`, `u` being 1 or `total - 47 mmHg`: above zero where the quotient is above `ratio`.
    Excess {
        oxygen: &'a Course,
        total: &'a Course,
        vapour: &'a Course,
        inspired: bool,
        ratio: f64,
    },
    /// A constant.
    Steady(f64),
    /// A stock in mol, read in kg.
    Stock { stock: Stock<'a>, kg_mol: f64 },
    /// Either way.
    Size(&'a Course),
}

impl Reading<'_> {
    /// The quotient at `t` with its divisor there, of an excess; of anything else the value, with 1.
    pub fn quotient(&self, t: f64) -> (f64, f64) {
        let Self::Excess {
            oxygen,
            total,
            vapour,
            inspired,
            ..
        } = self
        else {
            return (self.at(t), 1.0);
        };
        let total = total.at(t);
        let dry = total - vapour.at(t);
        let share = oxygen.at(t) / dry;
        (
            if *inspired {
                (total - BODY_VAPOUR_PA) * share
            } else {
                share
            },
            dry,
        )
    }

    /// The same excess over another ratio.
    pub fn over(&self, ratio: f64) -> Reading<'_> {
        match self {
            Self::Excess {
                oxygen,
                total,
                vapour,
                inspired,
                ..
            } => Reading::Excess {
                oxygen,
                total,
                vapour,
                inspired: *inspired,
                ratio,
            },
            Self::Linear { course, scale } => Reading::Linear { course, scale: *scale },
            Self::Steady(value) => Reading::Steady(*value),
            Self::Stock { stock, kg_mol } => Reading::Stock {
                stock: Stock {
                    start: stock.start,
                    rate: stock.rate,
                },
                kg_mol: *kg_mol,
            },
            Self::Size(course) => Reading::Size(course),
        }
    }
}

impl Signal for Reading<'_> {
    fn at(&self, t: f64) -> f64 {
        match self {
            Self::Linear { course, scale } => scale * course.at(t),
            Self::Excess {
                oxygen,
                total,
                vapour,
                inspired,
                ratio,
            } => {
                let total = total.at(t);
                let factor = if *inspired { total - BODY_VAPOUR_PA } else { 1.0 };
                factor * oxygen.at(t) - ratio * (total - vapour.at(t))
            }
            Self::Steady(value) => *value,
            Self::Stock { stock, kg_mol } => kg_mol * stock.at(t),
            Self::Size(course) => course.at(t).abs(),
        }
    }

    fn slope(&self, t: f64) -> f64 {
        match self {
            Self::Linear { course, scale } => scale * course.slope(t),
            Self::Excess {
                oxygen,
                total,
                vapour,
                inspired,
                ratio,
            } => {
                let (rise, total_rise) = (oxygen.slope(t), total.slope(t));
                let product = if *inspired {
                    (total.at(t) - BODY_VAPOUR_PA) * rise + oxygen.at(t) * total_rise
                } else {
                    rise
                };
                product - ratio * (total_rise - vapour.slope(t))
            }
            Self::Steady(_) => 0.0,
            Self::Stock { stock, kg_mol } => kg_mol * stock.slope(t),
            Self::Size(course) => course.at(t).signum() * course.slope(t),
        }
    }

    fn bounds(&self, a: f64, b: f64) -> Bounds {
        match self {
            Self::Linear { course, scale } => course.bounds(a, b).times(*scale),
            Self::Excess {
                oxygen,
                total,
                vapour,
                inspired,
                ratio,
            } => {
                let (oxygen, total) = (oxygen.bounds(a, b), total.bounds(a, b));
                let vapour = vapour.bounds(a, b).times(*ratio);
                if !*inspired {
                    return oxygen.plus(total.times(-ratio)).plus(vapour);
                }
                // u o - r P + r p_v = u (o - r) - r 47 mmHg + r p_v: P only once, so that its ranges do not add up.
                let u = total.plus(Bounds::steady(-BODY_VAPOUR_PA));
                let over = oxygen.plus(Bounds::steady(-ratio));
                u.by(over).plus(Bounds::steady(-ratio * BODY_VAPOUR_PA)).plus(vapour)
            }
            Self::Steady(value) => Bounds::steady(*value),
            Self::Stock { stock, kg_mol } => stock.bounds(a, b).times(*kg_mol),
            Self::Size(course) => course.bounds(a, b).size(),
        }
    }
}
