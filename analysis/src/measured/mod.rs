//! What was measured: CSV files with units in their headers, as columns in SI.
//!
//! ```text
//! bytes --Sheet::read--> Sheet (header, cells, where each stands) --quantities--> columns in SI, gaps kept
//! ```
//!
//! A header is a name and a unit, `co2 in [mmHg]`; columns are found by name, whatever their order. Empty cells and those of
//! [`GAPS`] are gaps, never numbers. Lines that begin with `#` are remarks. Commas, semicolons or tabs part the cells,
//! whichever the header has; a decimal point is a point, and a decimal comma is told as one. All that is wrong with a file is told at
//! once, with line and column. Knows nothing of files.

mod sheet;
mod time;

pub use sheet::{GAPS, MAX_BYTES, Sheet};
pub use time::{Clock, clock};
