//! The event engine: a [`Case`] in, an [`Outcome`] out.

mod case;
mod outcome;
mod run;
mod trace;

pub use case::Case;
pub use outcome::{
    Balance, CompartmentEnd, Counters, End, Extremes, Outcome, RuleOutcome, RunError, ScheduleOutcome, Totals,
};
pub use run::Engine;
pub use trace::{CompartmentSample, Entry, Event, PersonSample, Sample, Trace};
