//! Studies: many runs of one scenario, and what they say together.
//!
//! A study draws, runs and judges; it writes nothing and prints nothing. Results do not depend on the number of threads:
//! every variation lands in its own place of a piece, and pieces are handed on and folded in order.
//!
//! ```text
//! variations --stream--> pieces of 64, in order --Tally--> Vary
//!                              (kept in files by whoever asks)
//! ```

pub mod compare;
pub mod courses;
mod drives;
mod error;
mod fold;
mod gate;
mod joint;
mod judge;
pub mod measure;
pub mod method;
mod observe;
mod own_draws;
mod piece;
mod rare;
mod simulate;
pub mod size;
mod stream;
pub mod stress;
mod tally;
pub mod trade;
mod upsets;
mod vary;
mod watch;

#[cfg(test)]
mod tests;

pub use drives::{Drives, drives, own_seed};
pub use error::StudyError;
pub use gate::Gate;
pub use joint::{Joint, JointBounds};
pub use judge::{CROSSED, Driver, LimitStatistics, MOST_DRIVERS, QUANTILES, Survival};
pub use observe::observe;
pub use own_draws::{joined, own_draws};
pub use piece::{BLOCK, Ended, PIECE, Piece, Shape, piece_at, traced};
pub use rare::{Found, LEAST_RUNS, Level, Rare, RareError, RareJob, Why, rare};
pub use simulate::Simulate;
pub use stream::{Running, pool, stream};
pub use tally::{DRIVER_RUNS, Failed, Tally};
pub use upsets::{AlarmStatistics, Responded, ResponseStatistics, Share, Times, UpsetStatistics};
pub use vary::{MOST_RUNS, Only, Vary, VaryJob, again, draws, medians, only, vary, vary_with};
pub use watch::{Stopped, Watch};
