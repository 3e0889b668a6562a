//! Averages, allowances, shifts, and whose air is judged.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{Case, Engine, Outcome, RuleOutcome};
use breathroom_sim::limits::{Bound, Quantity, Rule, Statistic, Subject};
use breathroom_sim::units::Time;
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, at_most, breathed, case, hours, load, minutes, pa_per_mol, person, room, steady, task,
};

const MMHG_PA: f64 = 133.322;

fn run(case: &Case) -> Outcome {
    Engine::new().run(case, None).expect("the case runs")
}

fn near(is: f64, should: f64, relative: f64) {
    assert!(
        (is - should).abs() <= relative * should.abs(),
        "{is} is not {should} ({:e})",
        is / should - 1.0
    );
}

fn with_co2(co2_pa: f64) -> [f64; 4] {
    [co2_pa, 1200.0, 18_802.0, 36_498.0 - co2_pa]
}

/// A person without load, and sealed rooms whose CO2 does not change.
fn still(duration: Time, co2_pa: &[f64]) -> Case {
    let mut out = case(
        duration,
        co2_pa.iter().map(|&p| room(10.0, 295.0, with_co2(p))).collect(),
    );
    out.people = vec![person(0, vec![steady(load(0.0, 0.0, 0.0))])];
    out.plan.effort_space_m3 = vec![1.0];
    out
}

/// Five minutes at 20 mmHg, the rest at 1 mmHg: the hour's mean is 31/12 mmHg = 2.583333, under the 3 mmHg that
/// NASA-STD-3001 Vol. 2, V2 6004 (quoted) sets for one hour; only a ceiling sees the peak.
#[test]
fn an_hour_mean_hides_what_a_ceiling_catches() {
    let mut case = still(hours(4.0), &[MMHG_PA, 20.0 * MMHG_PA]);
    case.plan.tasks = vec![task(0, 0, Place::Compartment(1), hours(2.0), minutes(5.0))];
    case.rules = vec![
        breathed(
            0,
            Quantity::Co2,
            Statistic::Moving { window: hours(1.0) },
            3.0 * MMHG_PA,
        ),
        breathed(0, Quantity::Co2, Statistic::Instant, 8.0 * MMHG_PA),
    ];
    let outcome = run(&case);
    near(outcome.rules[0].worst, 31.0 / 12.0 * MMHG_PA, 1e-9);
    near(outcome.rules[0].margin, 5.0 / 12.0 * MMHG_PA, 1e-8);
    assert_eq!(outcome.rules[0].first_crossing, None);
    // It is reached when the five minutes are over and stays until they leave the window.
    let at_h = outcome.rules[0].at.hours();
    assert!(at_h > 2.0 + 4.99 / 60.0 && at_h < 3.0 + 0.01 / 60.0, "{at_h}");
    near(outcome.rules[1].worst, 20.0 * MMHG_PA, 1e-9);
    assert_eq!(outcome.rules[1].first_crossing, Some(hours(2.0)));
    near(outcome.rules[1].beyond_s, 300.0, 1e-9);
}

/// A person makes CO2 in a sealed room: everything is arithmetic on a straight line.
fn ramp(duration: Time) -> (Case, f64) {
    let case = alone(duration, room(100.0, 295.0, CABIN_AIR_PA), load(3e-5, 1e-4, 0.0));
    let slope = 1e-4 * pa_per_mol(&case.compartments[0]);
    (case, slope)
}

#[test]
fn a_moving_average_starts_from_the_initial_air() {
    let (mut case, slope) = ramp(hours(3.0));
    for window_h in [1.0, 5.0] {
        let window = hours(window_h);
        case.rules = vec![at_most(
            0,
            Quantity::Co2,
            Statistic::Moving { window },
            60.0 + slope * 900.0,
        )];
        let (w, end) = (3600.0 * window_h, 10_800.0);
        let rule: RuleOutcome = run(&case).rules[0];
        let worst = if end < w {
            60.0 + slope * end * end / (2.0 * w)
        } else {
            60.0 + slope * (end - w / 2.0)
        };
        near(rule.worst, worst, 1e-9);
        // t^2 / 2 W = 900 s within the first window.
        near(rule.first_crossing.unwrap().seconds(), (2.0 * w * 900.0).sqrt(), 1e-6);
        near(rule.beyond_s, end - (2.0 * w * 900.0).sqrt(), 1e-6);
    }
}

#[test]
fn a_shift_is_a_sum_over_each_day_divided_by_its_length() {
    let (mut case, slope) = ramp(hours(60.0));
    case.rules = vec![at_most(0, Quantity::Co2, Statistic::Shift { length: hours(8.0) }, 1e9)];
    // Of the three days the second is the last whole one; the third has twelve hours.
    let mean = |from: f64, to: f64| (60.0 + slope * (from + to) * 1800.0) * (to - from) / 8.0;
    let worst = [mean(0.0, 24.0), mean(24.0, 48.0), mean(48.0, 60.0)]
        .into_iter()
        .fold(0.0, f64::max);
    near(run(&case).rules[0].worst, worst, 1e-9);
}

#[test]
fn a_mission_mean_is_judged_at_the_end() {
    let (mut case, slope) = ramp(hours(10.0));
    case.rules = vec![at_most(0, Quantity::Co2, Statistic::Mission, 60.0 + slope * 17_000.0)];
    let outcome = run(&case);
    near(outcome.rules[0].worst, 60.0 + slope * 18_000.0, 1e-10);
    near(outcome.rules[0].margin, -slope * 1000.0, 1e-6);
    assert_eq!(outcome.rules[0].at, hours(10.0));
}

#[test]
fn an_allowance_counts_exact_time() {
    let (mut case, slope) = ramp(hours(10.0));
    let allowance = Statistic::Allowance {
        threshold: 60.0 + slope * 12_345.0,
        each: false,
    };
    case.rules = vec![
        at_most(0, Quantity::Co2, allowance, 20_000.0),
        at_most(0, Quantity::Co2, allowance, 30_000.0),
    ];
    let outcome = run(&case);
    near(outcome.rules[0].worst, 36_000.0 - 12_345.0, 1e-9);
    near(outcome.rules[0].margin, 20_000.0 - 23_655.0, 1e-8);
    near(outcome.rules[0].first_crossing.unwrap().seconds(), 32_345.0, 1e-9);
    near(outcome.rules[0].beyond_s, 23_655.0, 1e-9);
    near(outcome.rules[1].margin, 30_000.0 - 23_655.0, 1e-8);
    assert_eq!(outcome.rules[1].first_crossing, None);
}

#[test]
fn stretches_of_an_allowance_add_up_or_stand_alone() {
    let mut case = still(hours(10.0), &[100.0, 900.0]);
    for (at, long) in [(1.0, 40.0), (3.0, 55.0), (6.0, 20.0)] {
        case.plan
            .tasks
            .push(task(0, 0, Place::Compartment(1), hours(at), minutes(long)));
    }
    let allowance = |each| Statistic::Allowance { threshold: 500.0, each };
    case.rules = vec![
        breathed(0, Quantity::Co2, allowance(false), 60.0 * 100.0),
        breathed(0, Quantity::Co2, allowance(true), 60.0 * 50.0),
    ];
    let outcome = run(&case);
    near(outcome.rules[0].worst, 60.0 * 115.0, 1e-9);
    near(outcome.rules[0].first_crossing.unwrap().hours(), 6.0 + 5.0 / 60.0, 1e-9);
    near(outcome.rules[1].worst, 60.0 * 55.0, 1e-9);
    near(
        outcome.rules[1].first_crossing.unwrap().hours(),
        3.0 + 50.0 / 60.0,
        1e-9,
    );
    near(outcome.rules[1].beyond_s, 60.0 * 115.0, 1e-9);
}

#[test]
fn a_persons_exposure_follows_the_person() {
    let mut case = still(hours(4.0), &[100.0, 900.0, 2000.0]);
    case.plan.tasks = vec![task(0, 0, Place::Compartment(1), hours(1.0), hours(1.0))];
    case.rules = vec![
        breathed(0, Quantity::Co2, Statistic::Instant, 1000.0),
        breathed(0, Quantity::Co2, Statistic::Mission, 1000.0),
        at_most(2, Quantity::Co2, Statistic::Instant, 1000.0),
    ];
    let outcome = run(&case);
    // The third room is far beyond, but no one breathes there.
    near(outcome.rules[0].worst, 900.0, 1e-10);
    assert_eq!(outcome.rules[0].at, hours(1.0));
    assert_eq!(outcome.rules[0].first_crossing, None);
    near(outcome.rules[1].worst, 300.0, 1e-10);
    near(outcome.rules[2].worst, 2000.0, 1e-10);
    assert_eq!(outcome.rules[2].first_crossing, Some(Time::ZERO));
    near(outcome.rules[2].beyond_s, 4.0 * 3600.0, 1e-10);
}

#[test]
fn a_persons_clock_rests_outside() {
    let mut case = still(hours(6.0), &[100.0, 900.0]);
    case.plan.tasks = vec![
        task(0, 0, Place::Compartment(1), hours(1.0), minutes(30.0)),
        task(0, 0, Place::Outside, minutes(90.0), hours(2.0)),
        task(0, 0, Place::Compartment(1), minutes(210.0), minutes(15.0)),
    ];
    let window = Statistic::Moving { window: hours(1.0) };
    case.rules = vec![
        breathed(0, Quantity::Co2, window, 1000.0),
        breathed(0, Quantity::Co2, Statistic::Mission, 1000.0),
        breathed(
            0,
            Quantity::Co2,
            Statistic::Allowance {
                threshold: 500.0,
                each: false,
            },
            1000.0,
        ),
    ];
    let outcome = run(&case);
    // Forty-five of the last sixty minutes inside were at 900 Pa.
    near(outcome.rules[0].worst, 0.75 * 900.0 + 0.25 * 100.0, 1e-9);
    near(outcome.rules[1].worst, (0.75 * 900.0 + 3.25 * 100.0) / 4.0, 1e-9);
    near(outcome.rules[2].worst, 45.0 * 60.0, 1e-9);
}

#[test]
fn a_rule_on_one_who_stays_outside_never_applies() {
    let mut case = still(hours(2.0), &[100.0]);
    (case.people[0].start, case.people[0].home) = (Place::Outside, None);
    case.rules = vec![
        breathed(0, Quantity::Co2, Statistic::Instant, 50.0),
        breathed(0, Quantity::Co2, Statistic::Moving { window: hours(1.0) }, 50.0),
        breathed(0, Quantity::Co2, Statistic::Mission, 50.0),
    ];
    for rule in run(&case).rules {
        assert!(rule.worst.is_nan() && rule.margin.is_nan(), "{rule:?}");
        assert_eq!(rule.first_crossing, None);
        assert_eq!(rule.beyond_s, 0.0);
    }
}

#[test]
fn at_least_is_at_most_upside_down() {
    let mut case = alone(hours(5.0), room(20.0, 295.0, CABIN_AIR_PA), load(4e-4, 3e-4, 0.0));
    let slope = 4e-4 * pa_per_mol(&case.compartments[0]);
    let limit = CABIN_AIR_PA[2] - slope * 7200.0;
    case.rules = vec![Rule {
        quantity: Quantity::Oxygen,
        subject: Subject::Compartment(0),
        statistic: Statistic::Instant,
        bound: Bound::AtLeast,
        limit,
    }];
    let rule = run(&case).rules[0];
    near(rule.worst, CABIN_AIR_PA[2] - slope * 18_000.0, 1e-10);
    near(rule.margin, -slope * 10_800.0, 1e-8);
    near(rule.first_crossing.unwrap().seconds(), 7200.0, 1e-8);
    near(rule.beyond_s, 10_800.0, 1e-8);
}
