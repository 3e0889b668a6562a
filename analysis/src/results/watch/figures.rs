//! What the trials of a detector come to: by fault and severity, and by method.

use super::Of;
use crate::stats::chi_square::count_interval;
use crate::stats::proportion;
use crate::watch::characterise::{Trial, Watched};
use crate::watch::detector::Method;
use crate::watch::operating::area;

/// Confidence of all intervals here.
const CONFIDENCE: f64 = 0.95;

/// One fault at one severity, under one method.
#[derive(Clone, Debug, PartialEq)]
pub struct Caught {
    /// Index of the mode.
    pub mode: usize,
    /// Index of the severity.
    pub severity: usize,
    /// Index of the method.
    pub method: usize,
    /// Runs.
    pub runs: usize,
    /// Runs with an alarm after the onset.
    pub detected: usize,
    /// Interval of the chance of one.
    pub interval: [f64; 2],
    /// Median time to the alarm of those, h.
    pub to_alarm_h: Option<f64>,
    /// Runs in which the fault crosses a limit.
    pub crossed: usize,
    /// Median time to the limit of those, h.
    pub to_limit_h: Option<f64>,
    /// Runs in which the alarm comes before the limit.
    pub before: usize,
    /// Median of time to the limit less time to the alarm, of runs that cross one, min; minus infinity where there was no alarm.
    pub margin_min: Option<f64>,
    /// The least of them.
    pub least_min: Option<f64>,
    /// Of the bank: runs with an alarm in which it names this mode at the alarm, and at the end.
    pub right: [usize; 2],
}

/// The middle of some numbers.
fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    let (low, high) = (values.get(n.checked_sub(1)? / 2)?, values.get(n / 2)?);
    // Two infinities of one sign have no mean to speak of.
    Some(if low == high { *low } else { 0.5 * (low + high) })
}

/// By mode, severity and method, in that order.
#[must_use]
pub fn caught(of: &Of<'_>, watched: &Watched) -> Vec<Caught> {
    let mut all = Vec::new();
    for &mode in &of.job.tried {
        for severity in 0..of.job.severities.len() {
            let trials: Vec<&Trial> = watched
                .trials
                .iter()
                .filter(|trial| trial.mode == mode && trial.severity == severity)
                .collect();
            if trials.is_empty() {
                continue;
            }
            for method in 0..6 {
                all.push(one((mode, severity, method), &trials));
            }
        }
    }
    all
}

fn one((mode, severity, method): (usize, usize, usize), trials: &[&Trial]) -> Caught {
    let to_alarm = |trial: &Trial| trial.to_alarm_s[method];
    let detected: Vec<f64> = trials.iter().filter_map(|trial| to_alarm(trial)).collect();
    let crossing: Vec<&&Trial> = trials.iter().filter(|trial| trial.to_limit_s.is_some()).collect();
    let margins: Vec<f64> = crossing
        .iter()
        .filter_map(|trial| {
            let limit = trial.to_limit_s?;
            Some(to_alarm(trial).map_or(f64::NEG_INFINITY, |alarm| (limit - alarm) / 60.0))
        })
        .collect();
    let named = |named: Option<(usize, f64)>| named.is_some_and(|(named, _)| named == mode);
    Caught {
        mode,
        severity,
        method,
        runs: trials.len(),
        detected: detected.len(),
        interval: proportion::interval(detected.len() as u64, trials.len() as u64, CONFIDENCE),
        to_alarm_h: median(detected.iter().map(|s| s / 3600.0).collect()),
        crossed: crossing.len(),
        to_limit_h: median(
            crossing
                .iter()
                .filter_map(|trial| trial.to_limit_s.map(|s| s / 3600.0))
                .collect(),
        ),
        before: margins.iter().filter(|margin| **margin >= 0.0).count(),
        least_min: margins.iter().copied().reduce(f64::min),
        margin_min: median(margins),
        right: [
            trials.iter().filter(|trial| named(trial.named)).count(),
            trials.iter().filter(|trial| named(trial.named_last)).count(),
        ],
    }
}

/// A method on nominal runs, and over all faults.
#[derive(Clone, Debug, PartialEq)]
pub struct MethodFigures {
    /// Which.
    pub method: Method,
    /// False alarms a day on held-out runs.
    pub per_day: f64,
    /// Their interval.
    pub interval: [f64; 2],
    /// Whether the interval holds what was asked for.
    pub holds: bool,
    /// Whether it is all above it.
    pub above: bool,
    /// False alarms a day at the limit of tables, and what a table would say if readings were independent.
    pub table_per_day: Option<f64>,
    /// Area under the operating curve: modes of the bank by severity; then faults that it does not know.
    pub areas: Vec<Option<f64>>,
    /// Runs with a fault that crosses a limit, and those caught before it.
    pub before: [usize; 2],
    /// Median margin of those runs, min.
    pub margin_min: Option<f64>,
}

/// By method.
#[must_use]
pub fn methods(of: &Of<'_>, watched: &Watched) -> Vec<MethodFigures> {
    let nominal = &watched.nominal;
    Method::ALL
        .into_iter()
        .enumerate()
        .map(|(index, method)| {
            let interval = count_interval(nominal.alarms[index] as u64, CONFIDENCE).map(|mean| mean / nominal.days);
            let margins: Vec<f64> = watched
                .trials
                .iter()
                .filter_map(|trial| {
                    let limit = trial.to_limit_s?;
                    let margin = |alarm: f64| (limit - alarm) / 60.0;
                    Some(trial.to_alarm_s[index].map_or(f64::NEG_INFINITY, margin))
                })
                .collect();
            MethodFigures {
                method,
                per_day: nominal.alarms[index] as f64 / nominal.days,
                interval,
                holds: interval[0] <= of.job.per_day && of.job.per_day <= interval[1],
                above: interval[0] > of.job.per_day,
                table_per_day: watched
                    .detector
                    .table_limit(method)
                    .map(|_| nominal.table_alarms[index] as f64 / nominal.days),
                areas: areas(of, watched, index),
                before: [margins.len(), margins.iter().filter(|margin| **margin >= 0.0).count()],
                margin_min: median(margins),
            }
        })
        .collect()
}

fn areas(of: &Of<'_>, watched: &Watched, method: usize) -> Vec<Option<f64>> {
    let group = |keep: &dyn Fn(&Trial) -> bool| {
        let reached: Vec<[f64; 2]> = watched
            .trials
            .iter()
            .filter(|trial| keep(trial))
            .map(|trial| trial.reached[method])
            .collect();
        let side = |which: usize| reached.iter().map(|pair| pair[which]).collect::<Vec<f64>>();
        (!reached.is_empty()).then(|| area(&side(0), &side(1)))
    };
    let mut all: Vec<Option<f64>> = (0..of.job.severities.len())
        .map(|severity| group(&|trial| of.knows(trial.mode) && trial.severity == severity))
        .collect();
    all.push(group(&|trial| !of.knows(trial.mode)));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trial(limit_min: Option<f64>, alarm_min: Option<f64>) -> Trial {
        Trial {
            mode: 3,
            severity: 0,
            variation: 0,
            onset_s: 0.0,
            to_limit_s: limit_min.map(|min| 60.0 * min),
            rest_s: 3600.0,
            to_alarm_s: [alarm_min.map(|min| 60.0 * min); 6],
            named: alarm_min.map(|_| (3, 0.9)),
            named_last: alarm_min.map(|_| (2, 0.9)),
            reached: [[1.0, 0.0]; 6],
            at_points: Vec::new(),
        }
    }

    #[test]
    fn margins_are_from_the_alarm_to_the_limit_and_a_miss_is_the_worst() {
        let trials = [
            trial(Some(60.0), Some(20.0)),
            trial(Some(60.0), Some(70.0)),
            trial(Some(60.0), None),
            trial(None, Some(5.0)),
        ];
        let of = one((3, 0, 5), &trials.iter().collect::<Vec<_>>());
        assert_eq!((of.runs, of.detected, of.crossed, of.before), (4, 3, 3, 1));
        assert_eq!(of.margin_min, Some(-10.0));
        assert_eq!(of.least_min, Some(f64::NEG_INFINITY));
        assert_eq!(of.right, [3, 0]);
        assert_eq!(of.to_alarm_h, Some(20.0 / 60.0));
    }
}
