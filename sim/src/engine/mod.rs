//! The event engine: a [`Case`] in, an [`Outcome`] out.

mod basis;
mod bulk;
mod case;
mod correct;
mod course;
mod expo;
mod hatch;
mod linear;
mod mode;
mod outcome;
mod people;
mod run;
mod search;
mod segment;
mod state;
mod system;
mod trace;
mod valve;
mod watch;

pub use case::Case;
pub use outcome::{
    Balance, CompartmentEnd, Counters, End, Extremes, Outcome, RuleOutcome, RunError, ScheduleOutcome, Totals,
};
pub use run::Engine;
pub use trace::{CompartmentSample, Entry, Event, PersonSample, Sample, Trace};
