//! The second maker of segments: everything that is not affine, integrated whole.
//!
//! The state is every partial pressure, every temperature with a heat balance, and what beds and canisters hold. `lay` lays out
//! what is connected now (`plumbing`, of `parts`), `equations` gives the derivatives and, beside them, the flows that are booked and watched (the *taps*),
//! `network` the flows that pressures alone decide (through open hatches, valves and suits), and `maker` takes steps with the
//! collocation of `newton`. A step is handed to the segment as polynomials of the partial pressures, so that crossings, averages,
//! extremes and ledgers read it as they read the closed form.

mod equations;
mod heat;
mod lay;
mod maker;
mod network;
mod parts;
mod plumbing;
mod redone;
mod sources;
mod turn;

pub(crate) use heat::HeatStep;
pub(crate) use maker::Maker;
pub(crate) use parts::{Follows, SuitValve, tap};
pub(crate) use plumbing::{Plumbing, is_needed};
