//! Removal devices: one file per family; what each takes out of the air it is given.

mod condenser;
mod curve;
mod device;
mod flow_through;
mod line;

pub use device::{Cycle, Device, Removal};
pub use line::Line;
