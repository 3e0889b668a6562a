//! Removal devices: one file per family; what each takes out of the air it is given.

mod condenser;
mod curve;
mod cycle_mean;
mod device;
mod flow_through;
mod isotherm;
mod line;
pub mod sorbent;
mod swing_bed;
mod toth_gas;

pub use device::{Cycle, Device, Removal};
pub use isotherm::{AtTemperature, Isotherm};
pub use line::Line;
pub use sorbent::Chemistry;
pub use swing_bed::{Beds, LastGas, PreparedBed, SwingBed, Valves};
