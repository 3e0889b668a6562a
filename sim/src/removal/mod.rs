//! Removal devices: one file per family; what each takes out of the air it is given.

mod device;
mod line;

pub use device::{Cycle, Device, Removal};
pub use line::Line;
