//! Cabin gas: mixture, moist air, compartments, surfaces, openings. Physics only: no time, no events.

mod compartment;
mod gas;
mod opening;

pub use compartment::{Compartment, MOST, Outside, Surface, SurfaceKind};
pub use gas::{GAS_CONSTANT_J_MOL_K, Species};
pub use opening::{Hold, Opening, Place};
