//! Text to a checked [`Scenario`], and a scenario to a [`Case`](crate::engine::Case).
//!
//! [`read`] walks the TOML tree along the one table of [`keys`], reports everything that is wrong at once, and leaves a
//! [`Scenario`]: checked, in SI, spreads kept. [`Scenario::draw_into`] makes a case of it with a source of [`Luck`].

mod blueprint;
mod build;
mod data;
mod fields;
pub mod keys;
mod known;
mod luck;
mod meant;
mod num;
mod overrides;
mod rates;
mod read;
mod reader;
mod reference;
mod schema;
mod source;
mod spread;
mod starter;
mod summary;
#[cfg(test)]
mod tests;
mod upset;
mod value;
mod warnings;

pub use crate::text::Diagnostic;
pub use blueprint::Blueprint;
pub use luck::{Luck, Medians, person_key};
pub use meant::{Amount, Drawn, Input, LimitInfo, Names, Origin, Resolved, Scenario, TaskName, Together, Unsure};
pub use rates::{DeviceRates, StateRates};
pub use reference::{key_takes, reference_page};
pub use schema::json_schema;
pub use source::{MAX_BYTES, Source, decode, read};
pub use starter::starter;
pub use summary::{CanisterSummary, DeviceSummary};
