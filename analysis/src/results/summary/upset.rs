//! The part of a summary about what went wrong: faults, alarms, responses. Left out where a scenario has none.

use serde::Serialize;

use super::super::ordered::Ordered;

/// What became of a fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fault {
    /// Which.
    pub fault: String,
    /// When it began; null if it did not.
    pub began_h: Option<f64>,
    /// When it ended, of itself or by repair.
    pub ended_h: Option<f64>,
    /// It was ended by a repair.
    pub repaired: bool,
    /// Variations in which it began; left out by `run`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub began_in: Option<In>,
}

/// What became of an alarm. An *occasion* is a time over which the truth was beyond the set point for at least as long as the
/// alarm waits; it is *missed* if the alarm was off all the while. A trip is *false* if the truth was not beyond the set point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Alarm {
    /// Which.
    pub alarm: String,
    /// "caution" or "warning".
    pub level: &'static str,
    /// When it first came on.
    pub first_on_h: Option<f64>,
    /// How often it came on.
    pub trips: u32,
    /// How often falsely.
    pub false_trips: u32,
    /// Occasions.
    pub occasions: u32,
    /// Occasions that it missed.
    pub missed: u32,
    /// When the first occasion had lasted as long as the alarm waits.
    pub first_occasion_h: Option<f64>,
    /// For how long it was on.
    pub on_h: f64,
    /// Over the variations; left out by `run`.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub statistics: Option<AlarmStatistics>,
}

/// One response.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Response {
    /// The alarm that it is to.
    pub alarm: String,
    /// Which of the responses to this alarm, from 1.
    pub occurrence: u32,
    /// When the alarm came on.
    pub tripped_h: f64,
    /// When the first attempt began; null if it never did.
    pub began_h: Option<f64>,
    /// When all of it was done; null if it was not.
    pub done_h: Option<f64>,
    /// Who did it.
    pub people: Vec<String>,
    /// Attempts.
    pub attempts: u32,
    /// It was given up: no attempt succeeded.
    pub failed: bool,
}

/// In how many variations something was so, of those that ended: of a failed one nothing is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct In {
    /// How many.
    pub variations: u64,
    /// Their share; null if no variation ended.
    pub probability: f64,
    /// Interval of that share at 95 %, by `interval_method`.
    pub probability_95: [f64; 2],
}

/// One alarm over all variations.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AlarmStatistics {
    /// It came on.
    pub came_on_in: In,
    /// It came on falsely at least once.
    pub false_in: In,
    /// There was an occasion at least once.
    pub occasion_in: In,
    /// It missed an occasion at least once.
    pub missed_in: In,
    /// Quantiles of its first coming on, of the variations in which it came on; null if there are none.
    pub first_on_h_quantiles: Ordered<f64>,
    /// Variations in which it came on and had an occasion.
    pub delays: u64,
    /// Of these, quantiles of the time from the first occasion (when it had lasted as long as the alarm waits) to its first
    /// coming on; below 0: it came on before.
    pub delay_h_quantiles: Ordered<f64>,
}

/// The responses to one alarm over all variations.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ResponseStatistics {
    /// The alarm.
    pub alarm: String,
    /// People were called.
    pub called_in: In,
    /// They were called, and every response was done.
    pub done_in: In,
    /// A response was given up.
    pub given_up_in: In,
    /// Variations in which a response was done.
    pub times: u64,
    /// Of these, quantiles of the time from the alarm until the first that was done was done.
    pub alarm_to_done_h_quantiles: Ordered<f64>,
}
