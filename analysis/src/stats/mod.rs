//! Statistics of many runs: quantiles, proportions, tolerance bounds, times to a crossing, rank correlation; how they
//! settle and when to stop.
//!
//! Numbers in, numbers out; no files, no threads. Transcendental functions come from `libm`, so the same input gives
//! the same bits on every platform. The intervals hold for independent runs (the plain design of draws), but for those
//! of [`replicates`]. Each is tested by its coverage over 2,000 repetitions of a known problem.
//!
//! Infinities are values like any other: a run that failed enters as the margin of minus infinity.

mod binomial;
pub mod chi_square;
pub mod convergence;
#[cfg(test)]
mod coverage_tests;
pub mod digamma;
pub mod front;
pub mod histogram;
pub mod independent;
pub mod looks;
mod normal;
pub mod pairs;
pub mod proportion;
mod quantile_bisection;
pub mod quantile_interval;
pub mod quantiles;
pub mod rank;
pub mod replicates;
pub mod sample;
pub mod sensitivity;
pub mod sketch;
pub mod student;
pub mod subset;
pub mod survival;
pub mod tolerance;
pub mod until;
