//! An independent integration of a case at about 1e-12, against which the engine is held.
//!
//! It shares no code with the engine: it reads the case's numbers, works out the schedule of tasks that never wait for
//! people, equipment or space, integrates by Chebyshev collocation, cuts its steps where the equations change, and then
//! reads extremes, averages and crossings off the polynomials by dense sampling with refinement.

#[cfg(test)]
mod checks;
mod choose;
mod guards;
mod judge;
mod mode;
mod model;
mod network;
mod run;
mod schedule;

pub use judge::{Course, Judged, Peak};
pub use model::Ledger;
pub use run::{Failure, Piece, Reference, Stop, integrate};
