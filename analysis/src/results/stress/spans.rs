//! Lengths of time for people.

use crate::results::numbers::{clock, short};

use super::summary::TimeSummary;

/// A time for people: "more than 3 h 00 min", "not in time".
pub(super) fn time(of: TimeSummary) -> String {
    match of.h {
        None => "not in time".to_owned(),
        Some(hours) if of.at_least => format!("more than {}", span_h(Some(hours))),
        Some(hours) => span_h(Some(hours)),
    }
}

/// A length of time: "0.5 min", "63 min", "2 h 05 min"; "-" for none.
pub(super) fn span_h(hours: Option<f64>) -> String {
    let Some(hours) = hours else { return "-".to_owned() };
    let minutes = 60.0 * hours;
    if minutes.abs() < 9.95 {
        format!("{} min", breathroom_sim::units::figures(minutes, 2))
    } else if minutes.abs() < 119.5 {
        format!("{} min", short(minutes.round()))
    } else {
        clock(hours)
    }
}
