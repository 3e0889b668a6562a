//! The curve against published data, and its intervals by their coverage.

use super::super::coverage_tests::{Draws, assert_covers_at_least, band, share};
use super::*;

/// Weeks in remission of 21 patients on 6-MP: Freireich et al., Blood 21 (1963) 699, in many textbooks (from memory).
fn freireich() -> SurvivalCounts {
    let mut counts = SurvivalCounts::new();
    for minute in [6, 6, 6, 7, 10, 13, 16, 22, 23] {
        counts.add_crossing(minute);
    }
    for minute in [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35] {
        counts.add_censored(minute);
    }
    counts
}

/// S and its standard error (7: 0.0869, 23: 0.1346) as printed in textbooks, from memory.
#[test]
fn it_is_the_published_curve() {
    let curve = freireich().curve(0.95);
    let table = [
        (6, 21, 0.857),
        (7, 17, 0.807),
        (10, 15, 0.753),
        (13, 12, 0.690),
        (16, 11, 0.627),
        (22, 7, 0.538),
        (23, 6, 0.448),
    ];
    assert_eq!(curve.steps.len(), table.len());
    for (step, (minute, at_risk, survival)) in curve.steps.iter().zip(table) {
        assert_eq!((step.minute, step.at_risk), (minute, at_risk));
        assert!((step.survival - survival).abs() < 5e-4, "{minute}: {}", step.survival);
        assert!(step.lower < step.survival && step.survival < step.upper);
    }
    // log(-log) ends by hand for the first: S = 18/21, G = 3 / (21 * 18).
    let s = 18.0_f64 / 21.0;
    let wide = (1.959_963_984_540_054 * (3.0_f64 / (21.0 * 18.0)).sqrt() / -s.ln()).exp();
    assert!((curve.steps[0].lower - s.powf(wide)).abs() < 1e-12);
    assert!((curve.steps[0].upper - s.powf(1.0 / wide)).abs() < 1e-12);
    // From the printed standard error at 23, to its digits.
    let s = curve.steps[6].survival;
    let wide = (1.96 * 0.1346 / s / -s.ln()).exp();
    assert!(
        (curve.steps[6].lower - s.powf(wide)).abs() < 5e-4,
        "{:?}",
        curve.steps[6]
    );
    // The median is 23 weeks, its interval from 13 on and open: as SAS and R print it with log(-log) ends.
    let median = curve.crossing_time(0.5);
    assert_eq!(
        (median.minute, median.earliest, median.latest),
        (Some(23), Some(13), None)
    );
    assert_eq!(curve.at(5), Some([1.0, curve.lower_before, 1.0]));
    assert_eq!(curve.at(9).map(|at| at[0]), Some(curve.steps[1].survival));
    assert_eq!(curve.at(36), None);
}

#[test]
fn parts_add_up() {
    let whole = freireich();
    let (mut a, mut b) = (SurvivalCounts::new(), SurvivalCounts::new());
    for (&minute, &(crossed, censored)) in &whole.minutes {
        (0..crossed).for_each(|i| [&mut a, &mut b][(i % 2) as usize].add_crossing(minute));
        (0..censored).for_each(|i| [&mut a, &mut b][(i % 2) as usize].add_censored(minute));
    }
    let (mut ab, mut ba) = (a.clone(), b.clone());
    ab.merge(&b);
    ba.merge(&a);
    assert_eq!((&ab, &ba, ab.runs()), (&whole, &whole, 21));
    let text = serde_json::to_string(&whole).expect("a text");
    assert_eq!(serde_json::from_str::<SurvivalCounts>(&text).expect("counts"), whole);
}

#[test]
fn the_ends_are_not_taken_for_certain() {
    let nothing = SurvivalCounts::new().curve(0.95);
    assert_eq!((nothing.at(0), nothing.crossing_time(0.5).earliest), (None, None));
    // Never crossed in 59 runs: 0.025^(1/59) = 0.939 is less than 0.95, more than 0.5.
    let mut counts = SurvivalCounts::new();
    (0..59).for_each(|_| counts.add_censored(600));
    let curve = counts.curve(0.95);
    assert!((curve.lower_before - 0.025_f64.powf(1.0 / 59.0)).abs() < 1e-12);
    assert_eq!(
        curve.crossing_time(0.05),
        CrossingTime {
            minute: None,
            earliest: Some(0),
            latest: None
        }
    );
    assert_eq!(
        curve.crossing_time(0.5),
        CrossingTime {
            minute: None,
            earliest: None,
            latest: None
        }
    );
    // All crossed: the curve ends at 0, its upper end does not.
    let mut counts = SurvivalCounts::new();
    (1..=4).for_each(|minute| counts.add_crossing(minute));
    let steps = counts.curve(0.95).steps;
    assert_eq!(
        (steps[3].survival, steps[3].lower, steps[3].upper),
        (0.0, 0.0, steps[2].upper)
    );
    assert_eq!(counts.curve(0.95).crossing_time(0.5).minute, Some(2));
}

/// Crossings by an exponential of mean 1,000 min, ends uniform from 200 to 2,000 min; rounded up, both, to their
/// minute. The interval is one for large samples: the band is 4 standard deviations about 0.95, both ways. The times'
/// intervals rest on it, but turn only at crossings: at least 0.95 less the band.
#[test]
fn curve_and_times_are_covered() {
    let draws = Draws::new("survival");
    for runs in [100, 400] {
        let mut covered = [0.0; 5];
        share(|repetition| {
            let mut counts = SurvivalCounts::new();
            for i in 0..runs {
                let crossing = -1_000.0 * draws.uniform(repetition, runs, 2 * i).ln();
                let end = 200.0 + 1_800.0 * draws.uniform(repetition, runs, 2 * i + 1);
                if crossing <= end {
                    counts.add_crossing(crossing.ceil() as u32);
                } else {
                    counts.add_censored(end.ceil() as u32);
                }
            }
            let curve = counts.curve(0.95);
            let at = |minute: u32| {
                let truth = (-f64::from(minute) / 1_000.0).exp();
                curve
                    .at(minute)
                    .is_some_and(|[_, low, high]| low <= truth && truth <= high)
            };
            let time = |share: f64| {
                let truth = -1_000.0 * (1.0 - share).ln();
                let CrossingTime { earliest, latest, .. } = curve.crossing_time(share);
                earliest.is_some_and(|minute| f64::from(minute) <= truth.ceil())
                    && latest.is_none_or(|minute| f64::from(minute) >= truth)
            };
            let holds = [at(100), at(500), at(1_200), time(0.05), time(0.5)];
            for (covered, holds) in covered.iter_mut().zip(holds) {
                *covered += f64::from(u8::from(holds)) / 2_000.0;
            }
            true
        });
        let what = format!("{runs} runs: {covered:?}");
        assert!(
            covered[..3].iter().all(|share| (share - 0.95).abs() <= band(0.95)),
            "{what}"
        );
        assert_covers_at_least(covered[3], 0.95, &what);
        assert_covers_at_least(covered[4], 0.95, &what);
    }
}
