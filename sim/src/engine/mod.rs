//! The event engine: a [`Case`] in, an [`Outcome`] out.

mod basis;
mod case;
mod course;
mod expo;
mod outcome;
mod run;
mod search;
mod trace;

pub use case::Case;
pub use outcome::{
    Balance, CompartmentEnd, Counters, End, Extremes, Outcome, RuleOutcome, RunError, ScheduleOutcome, Totals,
};
pub use run::Engine;
pub use trace::{CompartmentSample, Entry, Event, PersonSample, Sample, Trace};
