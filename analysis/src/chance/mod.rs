//! Where draws come from: one stream for each value, found by its key alone.
//!
//! A value's key is (seed, variation, path of the input, turn, person, occurrence). Its uniform is a function of that key
//! and of nothing else: not of how many other values were drawn, in which order, or on which thread. So adding, removing
//! or fixing an input leaves every other draw as it was, and two designs are compared on the same luck.
//!
//! [`path_hash`] turns a path into 128 bits once, [`mix`](fn@mix) makes the key a state of 128 bits, and [`Keyed`] takes one
//! uniform from the generator that starts there. [`Draws`] is what a study draws from: plain keyed draws, a Latin hypercube
//! or a scrambled Sobol sequence, each in independent replicates ([`Design`]), with [`Group`]s of inputs that go together.

mod copula;
mod design;
mod dimensions;
mod draws;
mod hash;
mod keyed;
mod latin;
mod mix;
mod sobol;
#[cfg(test)]
mod tests;

pub use copula::Group;
pub use design::{Design, DesignError, FEWEST_RUNS, InputKey, MOST_SOBOL_RUNS, REPLICATES};
pub use dimensions::Dimensions;
pub use draws::{Draws, Variation};
pub use hash::path_hash;
pub use keyed::{Keyed, Streams};
pub(crate) use keyed::{STREAM, to_unit};
pub use mix::mix;
