//! How good a detector is: false alarms per day, thresholds, chances of detection.
//!
//! ```text
//! an alarm     the statistic rises above the threshold, and was not above it within the hour before
//! area         P(statistic of a faulty run > that of a nominal one), ties count half
//! ```
//!
//! An alarm that has been raised stays until it has been below for [`QUIET_S`]: what a crew hears as one is counted as one.
//!
//! Source: the area under the operating curve is the Mann-Whitney statistic (J. A. Hanley and B. J. McNeil, Radiology 143 (1982) 29); for
//! two normals d' apart it is `Phi(d' / sqrt 2)`. Valid for any statistic of which more is worse. Left out: delays of whoever reads it.

/// How long it must have been quiet before an alarm counts anew, s.
pub const QUIET_S: f64 = 3_600.0;

/// First rows of alarms.
#[must_use]
pub fn alarms(statistic: &[f32], threshold: f64, step_s: f64) -> Vec<usize> {
    let mut found = Vec::new();
    let mut last: Option<usize> = None;
    for (row, &value) in statistic.iter().enumerate() {
        if f64::from(value) > threshold {
            if last.is_none_or(|last| (row - last) as f64 * step_s > QUIET_S) {
                found.push(row);
            }
            last = Some(row);
        }
    }
    found
}

/// The first row from an onset on at which an alarm comes; one that is on at the onset has to go off before.
#[must_use]
pub fn detected(statistic: &[f32], threshold: f64, onset: usize) -> Option<usize> {
    let above = |row: usize| f64::from(statistic[row]) > threshold;
    let mut row = onset;
    if row > 0 && row <= statistic.len() && above(row - 1) {
        while row < statistic.len() && above(row) {
            row += 1;
        }
    }
    (row..statistic.len()).find(|&row| above(row))
}

/// The lowest threshold down to which there are never more than so many alarms in all. Far enough down alarms run into each other and their number
/// falls again: what lies beyond its maximum is not looked at.
#[must_use]
pub fn threshold(statistics: &[&[f32]], most: usize, step_s: f64) -> f64 {
    let count = |threshold: f64| -> usize {
        statistics
            .iter()
            .map(|statistic| alarms(statistic, threshold, step_s).len())
            .sum()
    };
    let mut values: Vec<f32> = statistics
        .iter()
        .flat_map(|statistic| statistic.iter().copied())
        .collect();
    values.sort_by(|a, b| b.total_cmp(a));
    let Some(&top) = values.first() else {
        return 0.0;
    };
    // Levels from the top down, each a fifth deeper in the ranks than the one before.
    let mut good = f64::from(top);
    let mut highest = (0, good);
    let mut rank = 1;
    while rank < values.len() {
        let level = f64::from(values[rank]);
        let here = count(level);
        if here > most {
            return between(good, level, |middle| count(middle) <= most);
        }
        if here > highest.0 {
            highest = (here, level);
        }
        good = level;
        rank += (rank / 5).max(1);
    }
    highest.1
}

/// The lowest value found for which `few` holds, between one for which it does and one for which it does not.
fn between(mut good: f64, mut bad: f64, few: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..40 {
        let middle = 0.5 * (good + bad);
        if few(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    good
}

/// The area under the operating curve, from what the statistic reaches in faulty and in nominal runs.
#[must_use]
pub fn area(faulty: &[f64], nominal: &[f64]) -> f64 {
    let mut sorted = nominal.to_vec();
    sorted.sort_by(f64::total_cmp);
    let wins: f64 = faulty
        .iter()
        .map(|value| {
            let under = sorted.partition_point(|other| other < value);
            let up_to = sorted.partition_point(|other| other <= value);
            0.5 * (under + up_to) as f64
        })
        .sum();
    wins / (faulty.len() as f64 * nominal.len() as f64)
}

/// The most that a statistic reaches from a row on.
#[must_use]
pub fn reached(statistic: &[f32], from: usize) -> f64 {
    statistic
        .get(from..)
        .unwrap_or_default()
        .iter()
        .fold(f64::NEG_INFINITY, |most, value| most.max(f64::from(*value)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::charts::run_length::below;
    use crate::watch::noise::Normals;

    #[test]
    fn alarms_that_follow_within_the_hour_are_one() {
        let mut statistic = vec![0.0_f32; 300];
        for row in [10, 11, 40, 150, 299] {
            statistic[row] = 5.0;
        }
        assert_eq!(alarms(&statistic, 1.0, 60.0), [10, 150, 299]);
        assert!(alarms(&statistic, 5.0, 60.0).is_empty());
        for (row, value) in statistic.iter_mut().enumerate() {
            *value += 1e-3 * row as f32;
        }
        // Peaks of 5.299, 5.15, then 5.04: one alarm down to the second.
        let found = threshold(&[&statistic], 1, 60.0);
        assert_eq!(alarms(&statistic, found, 60.0), [299]);
        assert!((found - 5.15).abs() < 1e-5, "{found}");
        // There are never more than three, and none of what runs together further down is taken for few.
        let found = threshold(&[&statistic], 50, 60.0);
        assert_eq!(alarms(&statistic, found, 60.0).len(), 3);
    }

    #[test]
    fn an_alarm_that_is_on_at_the_onset_detects_nothing() {
        let statistic = [0.0, 5.0, 5.0, 5.0, 0.0, 0.0, 5.0];
        assert_eq!(detected(&statistic, 1.0, 2), Some(6));
        assert_eq!(detected(&statistic, 1.0, 1), Some(1));
        assert_eq!(detected(&statistic, 9.0, 0), None);
    }

    /// Two normals d' apart: Phi(d' / sqrt 2), 0.760250 and 0.921350 for 1 and 2, within four standard errors (Hanley and McNeil's bound,
    /// 0.5 / sqrt n at most).
    #[test]
    fn the_area_of_two_normals_is_known() {
        let normals = |name: &str, shift: f64| -> Vec<f64> {
            let mut draw = Normals::new(8, name, 0);
            (0..20_000).map(|_| draw.draw() + shift).collect()
        };
        let nominal = normals("nominal", 0.0);
        for (apart, wanted) in [(1.0, 0.760_250), (2.0, 0.921_350)] {
            assert!((below(apart / std::f64::consts::SQRT_2) - wanted).abs() < 5e-7);
            let found = area(&normals("faulty", apart), &nominal);
            assert!(
                (found - wanted).abs() < 4.0 * 0.5 / 20_000.0_f64.sqrt(),
                "{apart}: {found}"
            );
        }
        assert_eq!(area(&[1.0, 1.0], &[1.0]), 0.5);
    }
}
