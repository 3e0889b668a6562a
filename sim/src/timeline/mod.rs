//! Tasks, equipment, space, repeats, dependencies: who does what, where and when.
//!
//! A [`Plan`] is what is to be done; a [`Schedule`] is one run of it. The schedule knows nothing of gas: the engine asks
//! it when something is due, lets it act in the phases *ends* and *new tasks*, and carries out the [`Change`]s it gives.

mod occupancy;
mod plan;
mod planned;
mod schedule;

#[cfg(test)]
mod tests;

pub use occupancy::{TIGHTEST, Tight};
pub use plan::{Effect, Interrupted, Pace, Plan, SuitUse, Task};
pub use planned::Planned;
pub(crate) use schedule::each;
pub use schedule::{Change, Schedule};
