//! From what was measured to what stands in a scenario: numbers with their doubt.
//!
//! ```text
//! measured::Sheet --tasks::read--> observations --tasks::fit--> a family, its parameters, so many trials --> a spread as text
//! ```
//!
//! [`families`] are the distributions of durations by maximum likelihood; [`tasks`] what a list of timed tasks says. Knows no files
//! and runs nothing: what fits are worth to a margin is asked of `study`.

pub mod families;
pub mod tasks;
