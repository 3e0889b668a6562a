//! Studies: many runs of one scenario, and what they say together.
//!
//! A study draws, runs and judges; it writes nothing and prints nothing. Results do not depend on the number of threads:
//! every run lands in its own slot, and slots are folded in order.

mod drives;
mod error;
mod fold;
mod gate;
mod judge;
mod rare;
mod runs;
mod simulate;
mod vary;

#[cfg(test)]
mod tests;

pub use drives::{Drives, drives, own_seed};
pub use error::StudyError;
pub use gate::Gate;
pub use judge::{Driver, LimitStatistics, MOST_DRIVERS, QUANTILES, Survival};
pub use rare::{Found, LEAST_RUNS, Level, Rare, RareError, RareJob, Why, rare};
pub use runs::Runs;
pub use simulate::Simulate;
pub use vary::{Failed, Only, Vary, VaryJob, only, vary, vary_with};
