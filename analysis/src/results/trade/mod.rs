//! Results of `trade`: the rows as a table that a design team can use, and what is said of them.
//!
//! ```text
//! Trade --Plan--> what each row reads      RowRuns --Answered--> rows, differences, front --> book, summary.json, sentences
//! ```

mod answered;
mod plan;
mod summary;
mod tables;

mod words;

pub use answered::{Answered, State};
pub use plan::Plan;
pub use summary::{TradeSummary, build};
pub use tables::{differences, factors, header, rows, runs};
pub use words::sentences;
