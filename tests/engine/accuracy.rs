//! Hand-made and random cases against the independent reference integration (at 1e-12, checked on closed forms).

use breathroom_sim::air::{Outside, Place, Surface, SurfaceKind};
use breathroom_sim::crew::{Load, Profile, Stage};
use breathroom_sim::engine::{Case, Engine};
use breathroom_sim::limits::{Bound, Quantity, Rule, Statistic, Subject};
use breathroom_sim::removal::{Cycle, Device, Removal};
use breathroom_sim::timeline::Effect;
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, at_most, breathed, case, condenser, flow_through, hold, hours, load, minutes, opening, person,
    room, saturation_pa, steady, task,
};
use breathroom_tests::compare::disagreements;
use breathroom_tests::random::{self, Allow};
use breathroom_tests::reference::integrate;

fn agree(case: &Case) {
    let text = disagreements(case);
    assert!(text.is_empty(), "{text}");
}

/// Fails with the first disagreements of every seed that has some.
fn all_agree(seeds: std::ops::Range<u64>, allow: Allow) {
    let mut text = String::new();
    for seed in seeds {
        let found = disagreements(&random::with(seed, allow));
        if !found.is_empty() {
            let count = found.lines().count();
            let first: Vec<&str> = found.lines().take(4).collect();
            text += &format!("seed {seed}: {count} disagreements\n  {}\n", first.join("\n  "));
        }
    }
    assert!(text.is_empty(), "{allow:?}\n{text}");
}

const PLAIN: Allow = Allow {
    curves: false,
    films: false,
    holds: false,
    outside: false,
};

#[test]
fn random_cases_of_mixing_and_removal() {
    all_agree(0..20, PLAIN);
}

#[test]
fn random_cases_with_films() {
    all_agree(100..115, Allow { films: true, ..PLAIN });
}

#[test]
fn random_cases_with_holds() {
    all_agree(200..220, Allow { holds: true, ..PLAIN });
}

#[test]
fn random_cases_with_outside_air() {
    all_agree(300..312, Allow { outside: true, ..PLAIN });
}

#[test]
fn random_cases_with_curves() {
    all_agree(400..415, Allow { curves: true, ..PLAIN });
}

#[test]
fn random_cases_with_everything() {
    all_agree(
        500..530,
        Allow {
            curves: true,
            films: true,
            holds: true,
            outside: true,
        },
    );
}

/// One person rests, works for half an hour, and rests again.
fn one_bout(volume_m3: f64, begins_min: f64, lasts_min: f64, duration_h: f64) -> Case {
    let mut case = alone(
        hours(duration_h),
        room(volume_m3, 295.0, CABIN_AIR_PA),
        load(3e-4, 2.5e-4, 1e-3),
    );
    case.people[0].profiles.push(steady(load(2e-3, 1.8e-3, 3e-3)));
    case.plan.effort_space_m3.push(1.0);
    case.plan.tasks = vec![task(
        0,
        1,
        Place::Compartment(0),
        minutes(begins_min),
        minutes(lasts_min),
    )];
    case
}

#[test]
fn equal_rates_of_device_and_lag() {
    let mut case = one_bout(4.2, 10.0, 30.0, 2.0);
    case.devices = vec![flow_through(0, 4.2 / 60.0, 1.0, 0.0)];
    agree(&case);
    // And as near as makes no difference.
    for off in [1e-15, 1e-12, 1e-9, 1e-6] {
        case.devices = vec![flow_through(0, 4.2 / 60.0 * (1.0 + off), 1.0, 1.0)];
        agree(&case);
    }
}

#[test]
fn equal_rates_of_exchange_and_lag() {
    // Two rooms of 4 m3 relax at 2 Q / V: with Q = 2 m3/min that is 1/60 s.
    let mut case = one_bout(4.0, 10.0, 30.0, 2.0);
    case.compartments.push(case.compartments[0].clone());
    case.openings = vec![opening(0, 1, 2.0 / 60.0)];
    agree(&case);
}

#[test]
fn a_sealed_room() {
    agree(&one_bout(9.0, 10.0, 30.0, 5.0));
}

/// After a bout of two minutes the lag keeps CO2 rising, and the scrubber then takes it down: one segment goes above the
/// limit and comes back, with both ends below.
fn hump() -> Case {
    let mut case = one_bout(11.5, 20.0, 2.0, 1.5);
    case.devices = vec![flow_through(0, 0.02, 1.0, 0.0)];
    case.compartments[0].partial_pa[0] = 31.0;
    case
}

#[test]
fn a_double_crossing_inside_one_segment() {
    let mut case = hump();
    let end_of_bout = minutes(22.0).seconds();
    let reference = integrate(&case).unwrap();
    let [_, top] = reference.extremes(0, Quantity::Co2);
    let before = reference.partial_pa(end_of_bout, 0)[0];
    assert!(
        top.at_s > end_of_bout + 30.0 && top.value > before + 5.0,
        "{top:?} after {before}"
    );
    assert!(reference.end_partial_pa(0)[0] < before);
    for part in [0.05, 0.5, 0.95, 0.999_99] {
        let limit = before + part * (top.value - before);
        case.rules = vec![
            at_most(0, Quantity::Co2, Statistic::Instant, limit),
            breathed(0, Quantity::Co2, Statistic::Instant, limit),
            at_most(
                0,
                Quantity::Co2,
                Statistic::Allowance {
                    threshold: limit,
                    each: true,
                },
                1e6,
            ),
        ];
        agree(&case);
        let outcome = Engine::new().run(&case, None).unwrap();
        let crossed = outcome.rules[0].first_crossing.map(|t| t.seconds());
        assert!(
            crossed.is_some_and(|t| t > end_of_bout && t < top.at_s),
            "{crossed:?} at {part}"
        );
        assert!(outcome.rules[0].beyond_s > 0.0);
    }
}

#[test]
fn an_average_that_peaks_between_events() {
    let mut case = hump();
    for window_min in [1.0, 7.0, 15.0, 60.0] {
        let window = minutes(window_min);
        case.rules = vec![at_most(0, Quantity::Co2, Statistic::Moving { window }, 1e9)];
        let judged = integrate(&case).unwrap().judge(0);
        assert!(judged.at_s > 22.0 * 60.0 + 20.0, "its peak is no event: {judged:?}");
        case.rules[0].limit = judged.worst * 0.9999;
        agree(&case);
        let outcome = Engine::new().run(&case, None).unwrap();
        assert!((outcome.rules[0].worst / judged.worst - 1.0).abs() < 1e-9);
        assert!((outcome.rules[0].at.seconds() - judged.at_s).abs() < 1.0);
    }
}

#[test]
fn a_film_that_grows_and_dries() {
    let mut case = one_bout(11.5, 30.0, 60.0, 8.0);
    case.compartments[0].surfaces = vec![
        Surface {
            kind: SurfaceKind::Wall,
            temperature_k: 290.0,
            saturation_pa: saturation_pa(290.0),
            conductance_mol_s_pa: 2e-5,
        },
        Surface {
            kind: SurfaceKind::ColdSpot,
            temperature_k: 286.0,
            saturation_pa: saturation_pa(286.0),
            conductance_mol_s_pa: 1e-6,
        },
    ];
    case.devices = vec![condenser(0, 0.02, 0.1, 279.0)];
    case.rules = vec![
        at_most(0, Quantity::LiquidWater, Statistic::Instant, 0.01),
        at_most(0, Quantity::Humidity, Statistic::Moving { window: hours(1.0) }, 0.7),
        at_most(
            0,
            Quantity::Humidity,
            Statistic::Allowance {
                threshold: 0.6,
                each: false,
            },
            3000.0,
        ),
    ];
    agree(&case);
}

#[test]
fn holds_that_open_and_close() {
    // At rest the oxygen used exceeds the CO2 made and the vapour is taken out: both valves work; hard work with much
    // vapour lifts the pressure off its hold.
    let mut case = one_bout(6.0, 30.0, 40.0, 6.0);
    case.people[0].profiles[1] = steady(load(2e-3, 1.8e-3, 5e-3));
    case.compartments[0].leak_m3_s = 2e-6;
    case.devices = vec![flow_through(0, 0.01, 0.9, 0.5)];
    case.holds = vec![hold(0, Some(18_600.0), Some(56_480.0))];
    agree(&case);
}

#[test]
fn holds_in_joined_rooms() {
    let mut case = one_bout(6.0, 30.0, 40.0, 6.0);
    case.compartments.push(room(14.0, 297.0, CABIN_AIR_PA));
    case.compartments.push(room(3.0, 293.0, CABIN_AIR_PA));
    case.compartments[2].leak_m3_s = 2e-5;
    case.openings = vec![opening(0, 1, 0.02), opening(1, 2, 0.01)];
    case.holds = vec![
        hold(1, Some(18_700.0), Some(56_400.0)),
        hold(0, Some(18_600.0), Some(56_450.0)),
    ];
    agree(&case);
    // On a loop.
    case.openings.push(opening(2, 0, 0.005));
    agree(&case);
}

#[test]
fn a_cycle_of_a_device_and_stages_of_an_effort() {
    let mut case = one_bout(8.0, 15.0, 60.0, 4.0);
    let stage = |minutes_long: f64, vapour: f64| Stage {
        lasts: Some(minutes(minutes_long)),
        load: Load {
            runoff_mol_s: vapour / 4.0,
            sensible_w: 150.0,
            latent_w: 2e5 * vapour,
            ..load(2e-3, 1.8e-3, vapour)
        },
    };
    let mut stages = vec![stage(15.0, 2e-3), stage(20.0, 6e-3)];
    stages.push(Stage {
        lasts: None,
        ..stage(1.0, 4e-3)
    });
    case.people[0].profiles[1] = Profile {
        stages,
        sweat_lag: false,
        towel: true,
    };
    case.devices = vec![flow_through(0, 0.012, 0.86, 0.25)];
    case.devices[0].cycle = Some(Cycle {
        every: minutes(6.5),
        factors: vec![1.0, 0.92, 0.5],
    });
    agree(&case);
    case.people[0].profiles[1].sweat_lag = true;
    agree(&case);
}

#[test]
fn a_curve_with_knees() {
    let mut case = one_bout(8.0, 15.0, 60.0, 4.0);
    let removal = Removal::Curve {
        co2: vec![(100.0, 1e-4), (300.0, 8e-4), (600.0, 9e-4)],
        water: vec![(1000.0, 3e-4), (1500.0, 6e-4)],
    };
    case.devices = vec![Device {
        serves: 0,
        on: true,
        power_w: 0.0,
        capacity: 1.0,
        removal,
        cycle: None,
    }];
    agree(&case);
}

#[test]
fn a_mock_up_with_room_air() {
    let mut case = one_bout(20.0, 15.0, 60.0, 4.0);
    case.outside = Outside {
        partial_pa: [45.0, 1100.0, 20_900.0, 79_280.0],
        temperature_k: 296.0,
    };
    case.compartments[0].partial_pa = [45.0, 1100.0, 20_900.0, 79_280.0];
    case.openings = vec![opening(0, 0, 0.02)];
    case.openings[0].between = [Place::Outside, Place::Compartment(0)];
    agree(&case);
}

#[test]
fn hatches_that_open_on_a_small_difference() {
    let mut case = one_bout(4.0, 30.0, 40.0, 3.0);
    case.compartments.push(room(12.0, 296.0, CABIN_AIR_PA));
    case.openings = vec![opening(0, 1, 0.03)];
    case.plan.tasks[0].starts = vec![Effect::Close(0)];
    case.plan.tasks[0].ends = vec![Effect::Open(0)];
    agree(&case);
    // Hard work in the closed room has lifted its pressure by far more than this.
    case.openings[0].opens_within_pa = 10.0;
    agree(&case);
}

/// A closed room with more vapour is joined to its neighbour: what flows out takes oxygen along, which its hold gives
/// back at once. Gas is never taken out of the neighbour, whose own hold has nothing to do.
#[test]
fn two_oxygen_holds_where_a_hatch_opens() {
    let mut rooms = vec![room(10.0, 295.0, CABIN_AIR_PA), room(4.0, 295.0, CABIN_AIR_PA)];
    rooms[1].partial_pa[1] += 3000.0;
    let mut case = case(hours(1.0), rooms);
    case.openings = vec![opening(0, 1, 0.01)];
    case.openings[0].open = false;
    case.people = vec![person(0, vec![steady(load(0.0, 0.0, 0.0))])];
    case.plan.effort_space_m3 = vec![1.0];
    case.plan.tasks = vec![task(0, 0, Place::Compartment(0), minutes(10.0), minutes(1.0))];
    case.plan.tasks[0].starts = vec![Effect::Open(0)];
    case.holds = vec![hold(1, Some(CABIN_AIR_PA[2]), None)];
    agree(&case);
    case.holds = vec![
        hold(0, Some(CABIN_AIR_PA[2]), None),
        hold(1, Some(CABIN_AIR_PA[2]), None),
    ];
    agree(&case);
}

#[test]
fn exposure_goes_with_the_person() {
    let mut case = one_bout(4.0, 30.0, 40.0, 5.0);
    case.compartments
        .push(room(12.0, 296.0, [400.0, 900.0, 18_802.0, 36_398.0]));
    case.people.push(person(1, vec![steady(load(3e-4, 2.5e-4, 1e-3)); 2]));
    case.people[1].home = None;
    case.plan
        .tasks
        .push(task(1, 0, Place::Compartment(0), minutes(40.0), minutes(20.0)));
    case.plan
        .tasks
        .push(task(1, 1, Place::Outside, minutes(80.0), minutes(45.0)));
    case.plan
        .tasks
        .push(task(1, 1, Place::Compartment(1), minutes(160.0), minutes(20.0)));
    for statistic in [
        Statistic::Instant,
        Statistic::Mission,
        Statistic::Moving { window: minutes(50.0) },
        Statistic::Shift { length: hours(8.0) },
        Statistic::Allowance {
            threshold: 450.0,
            each: false,
        },
    ] {
        case.rules.push(breathed(1, Quantity::Co2, statistic, 500.0));
    }
    let low = Rule {
        quantity: Quantity::Oxygen,
        subject: Subject::Person(1),
        statistic: Statistic::Instant,
        bound: Bound::AtLeast,
        limit: 18_500.0,
    };
    case.rules.push(low);
    agree(&case);
}

#[test]
fn a_long_quiet_run_and_a_busy_one() {
    agree(&one_bout(9.0, 30.0, 60.0, 9.0));
    let mut busy = case(
        hours(6.0),
        vec![room(5.0, 294.0, CABIN_AIR_PA), room(9.0, 294.0, CABIN_AIR_PA)],
    );
    busy.openings = vec![opening(0, 1, 0.04)];
    busy.people = vec![person(
        0,
        vec![steady(load(3e-4, 2.5e-4, 1e-3)), steady(load(2e-3, 1.8e-3, 3e-3))],
    )];
    busy.plan.effort_space_m3 = vec![1.0, 2.0];
    for k in 0..60 {
        busy.plan.tasks.push(task(
            0,
            1,
            Place::Compartment(k % 2),
            minutes(6.0 * k as f64),
            minutes(3.5),
        ));
    }
    busy.devices = vec![flow_through(1, 0.02, 0.9, 0.2), condenser(0, 0.02, 0.1, 281.0)];
    agree(&busy);
}
