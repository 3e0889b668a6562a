//! Texts that a person wrote: TOML as a tree that keeps where everything stands, and faults told with the line at hand.
//!
//! ```text
//! bytes --decode--> text --parse--> Table (in file order, with spots)      faults --> Diagnostic
//! ```
//!
//! Knows nothing of what a text means.

mod diagnostic;
mod parse;
mod texts;
mod tree;

pub use diagnostic::Diagnostic;
pub use parse::{Parsed, decode, parse};
pub use texts::{OVERRIDE, Texts};
pub use tree::{Entry, Node, Spot, Table, Value, from_table, from_value};
