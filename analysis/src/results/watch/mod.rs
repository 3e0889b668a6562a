//! Results of `watch`: what a detector is worth on a scenario, and what it says of measured readings.

mod figures;
mod measured;
mod summary;
mod tables;
mod words;

use breathroom_sim::engine::{Case, RunError};
use breathroom_sim::scenario::{Medians, Scenario};

use crate::watch::instruments::Instrument;
use crate::watch::modes::Mode;
use crate::watch::tuning::WatchJob;

pub use figures::{Caught, MethodFigures, caught, methods};
pub use measured::{MeasuredSummary, alarms, residuals};
pub use summary::{FaultSummary, MethodSummary, WatchSummary, build};
pub use tables::{detection, examples, instruments, methods as methods_table, modes, naming, operating, run_lengths};
pub use words::sentences;

/// What was watched.
#[derive(Clone, Copy)]
pub struct Of<'a> {
    /// The scenario.
    pub scenario: &'a Scenario,
    /// Its case on the medians.
    pub case: &'a Case,
    /// What is read.
    pub instruments: &'a [Instrument],
    /// Ways to fail.
    pub modes: &'a [Mode],
    /// What was asked.
    pub job: &'a WatchJob,
    /// Spacing of rows, s.
    pub step_s: f64,
    /// The seed.
    pub seed: u64,
}

/// What went wrong with the first of some runs, as the end of a sentence.
#[must_use]
pub fn the_first(failure: Option<&RunError>, scenario: &Scenario) -> String {
    failure.map_or_else(
        || ".".to_owned(),
        |error| {
            let plan = scenario.draw(&Medians).case.plan;
            format!("; the first: {}.", super::describe(error, &scenario.names, &plan))
        },
    )
}

impl Of<'_> {
    /// Whether the bank knows a mode.
    #[must_use]
    pub fn knows(&self, mode: usize) -> bool {
        self.job.bank.contains(&mode)
    }

    /// A severity in words: "50 %", or nothing for a mode without one.
    #[must_use]
    pub fn severity(&self, mode: usize, severity: usize) -> String {
        match (self.modes.get(mode), self.job.severities.get(severity)) {
            (Some(mode), Some(value)) if mode.graded => super::numbers::percent(*value),
            _ => "as in the file".to_owned(),
        }
    }
}
