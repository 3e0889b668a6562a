//! Quantities and time: what a number with a unit means.

mod quantity;
mod time;

pub use quantity::{Dimension, Unit};
pub use time::Time;
