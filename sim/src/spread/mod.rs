//! Spreads: a distribution in place of a number, drawn by its inverse distribution function from one uniform.
//!
//! A [`Shape`] is what was written; a [`Spread`] is a shape that passed its checks, with its truncation, ready to draw. One
//! uniform makes one value whatever the family, so medians, truncation and every design of draws share this code.
//! One file for each family, each in the order: parameters, what they must be, support, both tails, both inverses, tests.

mod beta;
mod beta_table;
mod checked;
mod choice;
mod data;
mod error;
mod family;
mod gamma;
mod lognormal;
mod normal;
mod pert;
mod together;
mod trials;
mod triangular;
mod truncated;
mod uniform;
mod weibull;

pub use checked::Spread;
pub use error::SpreadError;
pub use normal::{standard_lower, standard_quantile};
pub use together::{Factor, NotDefinite, normal_correlation, rank_correlation};
pub use trials::{LEAST_TRIALS, MOST_TRIALS, Trials};

/// The shape of a spread; all values in SI.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Mean and standard deviation.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation, at least 0.
        sd: f64,
    },
    /// Equal density between two ends.
    Uniform {
        /// Low end.
        lo: f64,
        /// High end.
        hi: f64,
    },
    /// Density rising to the mode and falling from it.
    Triangular {
        /// Low end.
        lo: f64,
        /// Mode.
        mode: f64,
        /// High end.
        hi: f64,
    },
    /// Beta on [lo, hi] with mean (lo + 4 mode + hi) / 6 (shape parameter 4).
    Pert {
        /// Low end.
        lo: f64,
        /// Mode.
        mode: f64,
        /// High end.
        hi: f64,
    },
    /// Lognormal by its median and coefficient of variation.
    Lognormal {
        /// Median, above 0.
        median: f64,
        /// Standard deviation over mean, at least 0.
        cv: f64,
    },
    /// Gamma by its mean and coefficient of variation.
    Gamma {
        /// Mean, above 0.
        mean: f64,
        /// Standard deviation over mean, 0.001 to 10.
        cv: f64,
    },
    /// How wide an estimated spread may truly be, in widths as written: see [`Trials`].
    Width {
        /// Degrees of freedom, above 0.
        freedom: f64,
    },
    /// A constant rate of failure.
    Exponential {
        /// Mean, above 0.
        mean: f64,
    },
    /// A rate of failure that grows (shape above 1) or falls with age.
    Weibull {
        /// Scale, above 0: by then 63 % have failed.
        scale: f64,
        /// Shape, above 0.
        shape: f64,
    },
    /// One of several values.
    Choice {
        /// The values.
        values: Vec<f64>,
        /// Their weights, positive; they need not add to 1.
        weights: Vec<f64>,
    },
    /// Resampled from measured values.
    Data {
        /// The values, sorted.
        values: Vec<f64>,
    },
}
