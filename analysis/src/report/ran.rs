//! One run with its course, and which of its limits stand in which picture.

use breathroom_sim::engine::{Case, Outcome, Trace};
use breathroom_sim::limits::{Bound, Quantity, Rule, Statistic};
use breathroom_sim::scenario::{LimitInfo, Scenario};

use super::mark::{Beyond, Mark};
use crate::results::frame::Frame;
use crate::results::numbers::{short, with_unit};
use crate::results::{events, history};

/// A run with its course.
pub struct Ran<'a> {
    /// The scenario.
    pub scenario: &'a Scenario,
    /// Its case.
    pub case: &'a Case,
    /// How it went.
    pub outcome: &'a Outcome,
    /// Its course.
    pub trace: &'a Trace,
    /// `history.csv` of it.
    pub history: Frame,
    /// `events.csv` of it.
    pub events: Frame,
}

impl<'a> Ran<'a> {
    /// A run of a scenario.
    #[must_use]
    pub fn new(scenario: &'a Scenario, case: &'a Case, outcome: &'a Outcome, trace: &'a Trace) -> Self {
        Self {
            scenario,
            case,
            outcome,
            trace,
            history: Frame::of(&history::table(trace, &scenario.names, case)),
            events: Frame::of(&events::table(trace, scenario, case, outcome)),
        }
    }

    /// The points in time of the history, h.
    #[must_use]
    pub fn times(&self) -> Vec<f64> {
        self.history.numbers("time [h]").unwrap_or_default()
    }

    /// The end of the axis of time, h: that of the plan, also where the run ended early.
    #[must_use]
    pub fn end_h(&self) -> f64 {
        self.case.duration.hours()
    }

    /// Rules with what people see of them.
    pub fn rules(&self) -> impl Iterator<Item = (&'a Rule, &'a LimitInfo)> {
        self.case.rules.iter().zip(&self.scenario.limits)
    }
}

/// The limits on a quantity, each once, in the unit in which it is drawn; an allowance by the value beyond which time counts.
#[must_use]
pub fn limits(ran: &Ran<'_>, quantity: Quantity, from_si: &dyn Fn(f64) -> f64, unit: &str) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    for (rule, info) in ran.rules().filter(|(rule, _)| rule.quantity == quantity) {
        let (at, over) = match rule.statistic {
            Statistic::Instant => (rule.limit, String::new()),
            Statistic::Moving { window } => (rule.limit, format!(", mean over {}", hours(window.hours()))),
            Statistic::Shift { length } => (rule.limit, format!(", day's sum over {}", hours(length.hours()))),
            Statistic::Mission => (rule.limit, ", mean over the run".to_owned()),
            Statistic::Allowance { threshold, .. } => {
                (threshold, format!(", {} allowed", hours(info.unit.from_si(rule.limit))))
            }
        };
        let (side, beyond) = match rule.bound {
            Bound::AtMost => ("at most", Beyond::Above),
            Bound::AtLeast => ("at least", Beyond::Below),
        };
        let at = from_si(at);
        let name = format!("{}: {side} {}{over}", info.id, with_unit(at, unit));
        let is_there = |mark: &Mark| matches!(mark, Mark::Limit { name: other, .. } if *other == name);
        if at.is_finite() && !marks.iter().any(is_there) {
            marks.push(Mark::Limit { name, at, beyond });
        }
    }
    marks
}

/// Windows of moving means that rules on a quantity have, h, each once.
#[must_use]
pub fn windows(ran: &Ran<'_>, quantity: Quantity) -> Vec<f64> {
    let mut windows = Vec::new();
    for (rule, _) in ran.rules().filter(|(rule, _)| rule.quantity == quantity) {
        if let Statistic::Moving { window } = rule.statistic
            && !windows.contains(&window.hours())
        {
            windows.push(window.hours());
        }
    }
    windows
}

/// Hours in words: "1 h", "30 min".
#[must_use]
pub fn hours(hours: f64) -> String {
    if hours < 1.0 {
        format!("{} min", short(60.0 * hours))
    } else {
        format!("{} h", short(hours))
    }
}

/// The mean over the last `window_h` of a course of samples, taken as straight lines between them; before the first it is taken as
/// the first. Where a value is missing, so is the mean until a window without it.
#[must_use]
pub fn moving_mean(times: &[f64], values: &[f64], window_h: f64) -> Vec<f64> {
    let mut integral = vec![0.0; times.len()];
    // The last place before which a value is missing.
    let mut broken = vec![f64::NEG_INFINITY; times.len()];
    for i in 1..times.len() {
        let part = 0.5 * (values[i] + values[i - 1]) * (times[i] - times[i - 1]);
        let whole = part.is_finite();
        integral[i] = integral[i - 1] + if whole { part } else { 0.0 };
        broken[i] = if whole { broken[i - 1] } else { times[i] };
    }
    let mut low = 0;
    let mut out = Vec::with_capacity(times.len());
    for i in 0..times.len() {
        let from = times[i] - window_h;
        if broken[i] > from || !values[i].is_finite() {
            out.push(f64::NAN);
            continue;
        }
        while low + 1 < times.len() && times[low + 1] <= from {
            low += 1;
        }
        let before = if from <= times[0] {
            values[0] * (times[0] - from)
        } else {
            let width = times[low + 1] - times[low];
            let at = (from - times[low]) / width;
            let value = values[low] + (values[low + 1] - values[low]) * at;
            -(integral[low] + 0.5 * (values[low] + value) * (from - times[low]))
        };
        out.push((integral[i] + before) / window_h);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The mean of a ramp over a window is its value half a window ago; at the start what was before counts as the first.
    #[test]
    fn a_ramps_mean_lags_by_half_its_window() {
        let times: Vec<f64> = (0..=40).map(|i| 0.25 * f64::from(i)).collect();
        let values: Vec<f64> = times.iter().map(|t| 1.0 + 3.0 * t).collect();
        let mean = moving_mean(&times, &values, 1.1);
        assert!((mean[20] - (values[20] - 3.0 * 0.55)).abs() < 1e-12, "{}", mean[20]);
        // 0.5 h in: 0.6 h of 1, then a ramp from 1 to 2.5.
        assert!((mean[2] - (0.6 * 1.0 + 0.5 * 1.75) / 1.1).abs() < 1e-12, "{}", mean[2]);
        assert!((mean[0] - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_gap_leaves_no_mean_until_a_window_without_it() {
        let times: Vec<f64> = (0..10).map(f64::from).collect();
        let mut values = vec![2.0; 10];
        values[3] = f64::NAN;
        let mean = moving_mean(&times, &values, 2.0);
        let known: Vec<bool> = mean.iter().map(|value| value.is_finite()).collect();
        assert_eq!(known, [true, true, true, false, false, false, true, true, true, true]);
        assert!(
            mean.iter()
                .filter(|value| value.is_finite())
                .all(|value| (value - 2.0).abs() < 1e-12)
        );
    }
}
