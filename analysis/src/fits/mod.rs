//! From what was measured to what stands in a scenario: numbers with their doubt.
//!
//! ```text
//! measured::Sheet --tasks::read--> observations --tasks::fit--> a family, its parameters, so many trials --> a spread as text
//! measured::Sheet --device::series--> inlet and outlet --device--> laws of sim over the inlet, by least squares --> estimates, how sure
//! ```
//!
//! [`families`] are the distributions of durations by maximum likelihood; [`tasks`] what a list of timed tasks says; [`least_squares`] and
//! [`autocorrelation`] fit any model and say how sure that is; [`device`] what a bench test says of a removal device. Knows no files
//! and runs nothing: what fits are worth to a margin is asked of `study`.

pub mod autocorrelation;
pub mod device;
pub mod families;
pub mod least_squares;
#[cfg(test)]
pub(crate) mod noise;
pub mod tasks;
#[cfg(test)]
mod tests;
