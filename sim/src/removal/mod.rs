//! Removal devices: one file per family; what each takes out of the air it is given.

mod condenser;
mod curve;
mod device;
mod flow_through;
mod isotherm;
mod line;

pub use device::{Cycle, Device, Removal, SwingBed, Valves};
pub use isotherm::Isotherm;
pub use line::Line;
