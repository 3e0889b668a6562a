//! Results of `stress`: what a study says, as `summary.json`, `summary.md`, tables and sentences.
//!
//! ```text
//! Stress + Scenario --build--> StressSummary --> summary.json, summary.md, sentences      Stress --> stress.csv, stress-runs.csv, faults.csv
//! ```
//!
//! Times are h from the onset. What the run is too short to show is "more than" (`at_least`); a response that never ends while a limit is
//! crossed is *not in time*: its margin is null in JSON and `-inf` nowhere.

mod build;
mod markdown;
mod parts;
mod spans;
mod summary;
mod tables;
#[cfg(test)]
mod tests;
mod words;

pub use build::{Of, build};
pub use markdown::markdown;
pub use summary::StressSummary;
pub use tables::{faults, looks, runs};
pub use words::sentences;
