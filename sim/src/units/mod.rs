//! Quantities and time: what a number with a unit means.
//!
//! Text becomes SI here, at the border; everything further in is plain `f64` whose name carries its unit. [`parse`] reads
//! "56.5 kPa", [`show`] writes it back, and [`Dimension`] says which units a place may take.

mod dimension;
mod error;
mod gas_rate;
mod parse;
mod quantity;
mod scan;
mod show;
mod table;
mod time;

pub use error::QuantityError;
pub use parse::parse;
pub use quantity::{Dimension, Quantity, Unit};
pub use show::{figures, show, show_difference};
pub use table::unit;
pub use time::Time;
