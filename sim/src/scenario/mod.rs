//! Text to a checked [`Scenario`], and a scenario to a [`Case`](crate::engine::Case).

mod diagnostic;
mod luck;
mod meant;

pub use diagnostic::Diagnostic;
pub use luck::{Luck, Medians};
pub use meant::{Drawn, Input, LimitInfo, Names, Origin, Resolved, Scenario, TaskName};
