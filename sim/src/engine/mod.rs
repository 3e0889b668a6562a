//! The event engine: a [`Case`] in, an [`Outcome`] out.

mod accuracy;
mod basis;
mod bulk;
mod case;
mod correct;
mod course;
mod decouple;
mod expo;
mod exposure;
mod factors;
mod films;
mod gauge;
mod hardware;
mod hatch;
mod history;
mod indices;
mod instant;
mod inverse;
mod judge;
mod lags;
mod ledger;
mod lengths;
mod linear;
mod mode;
mod modes;
mod newton;
mod outcome;
mod past;
mod peaks;
mod people;
mod poly;
mod radau;
mod range;
mod ranges;
mod record;
mod regulate;
mod run;
mod scene;
mod search;
mod segment;
mod sequence;
mod settle;
mod sized;
mod stages;
mod state;
mod steps;
mod system;
mod top_up;
mod trace;
mod transfer;
mod upset;
mod valve;
mod view;
mod watch;
mod whole;

#[cfg(test)]
mod hardware_tests;
#[cfg(test)]
mod newton_tests;
#[cfg(test)]
mod tests;

pub use case::Case;
pub use outcome::{
    AlarmOutcome, Balance, CompartmentEnd, Counters, DeviceOutcome, End, Extremes, FaultOutcome, Outcome,
    ResponseOutcome, RuleOutcome, RunError, ScheduleOutcome, SuitOutcome, TankOutcome, Totals, Transfer, TransferKind,
};
pub use run::Engine;
pub use trace::{CompartmentSample, Entry, Event, PersonSample, Sample, Trace};
