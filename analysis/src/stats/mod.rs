//! Statistics of many runs: quantiles, proportions, tolerance bounds and rank correlation.
//!
//! Numbers in, numbers out; no files, no threads. Only sums, products, quotients and square roots are used, so the same
//! input gives the same bits on every platform. The intervals hold for independent runs (the plain design of draws).
//!
//! Infinities are values like any other: a run that failed enters as the margin of minus infinity.

mod binomial;
pub mod proportion;
pub mod quantiles;
pub mod rank;
pub mod sensitivity;
pub mod subset;
pub mod tolerance;
