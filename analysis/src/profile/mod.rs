//! What a gas-mixing bench must deliver so that a device on it meets the air that it would meet in the simulation.
//!
//! ```text
//! run on a case --demand--> wanted flows of each gas, temperature, pressure, over time
//! bench file --Bench--> ranges and slew rates --deliver--> what the bench can follow, where it cannot, what that changes at the inlet
//! ```
//!
//! A piece of the device is tested by similarity (`demand.rs`). Knows no files.

mod bench;
mod deliver;
mod demand;
#[cfg(test)]
mod tests;

pub use bench::{Bench, Channel, Limits};
pub use deliver::{Delivered, Effect, Miss, deliver, effect};
pub use demand::{Demand, Point, demand};
