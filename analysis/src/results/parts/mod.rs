//! What is kept of a study's variations in files, so that it can go on after a kill and be made in parts.
//!
//! ```text
//! job.json        the job as normalised: two folders with the same one hold parts of the same study
//! part.json       of a shard alone: which variations are its share
//! files/0 ..      every file that was read, the scenario first
//! blocks/N.block  the pieces of block N, one record after the other, as far as they are made
//! trade.json, row-N  of a trade: its job, its rows that are done (`rows.rs`)
//! lock            held while someone works on it
//! ```
//!
//! A *work folder* is one that a run fills; it is made whole by one rename, and so becomes a *part folder*. A record is
//! appended by one write and ends with its own digest: what a kill left half-written is told from what is good, cut off, and made
//! again. Nothing in these files depends on threads, paths or the clock, so equal blocks are equal bytes.

mod block;
mod blocks;
mod error;
mod job;
mod look;
mod merge;
mod record;
mod rows;
mod work;

pub use block::Family;
pub use blocks::{Blocks, CoursePlace};
pub use error::PartError;
pub use job::{JobRecord, Share};
pub use merge::Parts;
pub use rows::{Begun, KeptRows};
pub use work::{Found, Work};
