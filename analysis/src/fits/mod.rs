//! Parameters from measurements: least squares, how sure they are, and what data cannot say.
//!
//! ```text
//! residuals of a model --least_squares--> estimate, J --autocorrelation--> covariance
//! ```
//!
//! Numbers in, numbers out; knows no files. Every model is one of `sim`'s own laws.

pub mod autocorrelation;
pub mod device;
pub mod least_squares;
#[cfg(test)]
pub(crate) mod noise;
#[cfg(test)]
mod tests;
