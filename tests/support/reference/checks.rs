//! The reference itself against closed forms.

use breathroom_sim::air::{GAS_CONSTANT_J_MOL_K, Place, Surface, SurfaceKind};
use breathroom_sim::engine::Case;
use breathroom_sim::limits::{Quantity, Statistic};
use breathroom_sim::timeline::Effect;
use breathroom_sim::units::Time;

use crate::cases::{
    CABIN_AIR_PA, alone, at_most, breathed, case, condenser, flow_through, hold, hours, load, minutes, opening,
    pa_per_mol, person, room, seconds, steady, task,
};
use crate::random;

use super::{Stop, integrate};

fn near(is: f64, should: f64, relative: f64) {
    assert!(
        (is - should).abs() <= relative * should.abs(),
        "{is} is not {should} ({:e})",
        is / should - 1.0
    );
}

#[test]
fn a_sealed_room_fills_in_a_straight_line() {
    let case = alone(hours(10.0), room(6.65, 294.26, CABIN_AIR_PA), load(3e-4, 2.6e-4, 1e-3));
    let reference = integrate(&case).unwrap();
    let rise = pa_per_mol(&case.compartments[0]) * 36_000.0;
    let end = reference.end_partial_pa(0);
    near(end[0], CABIN_AIR_PA[0] + 2.6e-4 * rise, 1e-13);
    near(end[1], CABIN_AIR_PA[1] + 1e-3 * rise, 1e-13);
    near(end[2], CABIN_AIR_PA[2] - 3e-4 * rise, 1e-13);
    near(end[3], CABIN_AIR_PA[3], 1e-14);
}

/// One person rests, then works hard, in 4.2 m3 scrubbed at 4.2 m3/min: the device and the lag have the same rate.
fn equal_rates() -> Case {
    let mut case = alone(hours(1.0), room(4.2, 295.0, CABIN_AIR_PA), load(3e-4, 2.5e-4, 1e-3));
    case.people[0].profiles.push(steady(load(2e-3, 1.8e-3, 3e-3)));
    case.plan.effort_space_m3.push(1.0);
    case.plan.tasks = vec![task(0, 1, Place::Compartment(0), minutes(10.0), minutes(30.0))];
    case.devices = vec![flow_through(0, 4.2 / 60.0, 1.0, 0.0)];
    case
}

#[test]
fn equal_rates_follow_the_critical_form() {
    let case = equal_rates();
    let reference = integrate(&case).unwrap();
    let (k, to_pa) = (1.0 / 60.0, pa_per_mol(&case.compartments[0]));
    let (rest, work) = (2.5e-4, 1.8e-3);
    let before = rest / k + (CABIN_AIR_PA[0] / to_pa - rest / k) * (-10.0_f64).exp();
    for t in [0.5, 7.0, 60.0, 200.0, 1000.0] {
        let fall = (-k * t).exp();
        let amount = work / k + (before - work / k) * fall + (rest - work) * t * fall;
        near(reference.partial_pa(600.0 + t, 0)[0], amount * to_pa, 1e-13);
        near(
            reference.output_mol_s(600.0 + t, 0)[1],
            work + (rest - work) * fall,
            1e-13,
        );
    }
}

#[test]
fn two_rooms_of_different_temperature_meet_at_one_partial_pressure() {
    let mut case = case(
        hours(1.0),
        vec![room(10.0, 290.0, CABIN_AIR_PA), room(4.0, 300.0, CABIN_AIR_PA)],
    );
    case.compartments[1].partial_pa[0] += 500.0;
    case.compartments[1].partial_pa[3] -= 500.0;
    case.openings = vec![opening(0, 1, 0.02)];
    let reference = integrate(&case).unwrap();
    let capacity = [0, 1].map(|a| 1.0 / pa_per_mol(&case.compartments[a]));
    let conductance = 0.02 / (GAS_CONSTANT_J_MOL_K * 295.0);
    let rate = conductance * (1.0 / capacity[0] + 1.0 / capacity[1]);
    for t in [10.0, 100.0, 1000.0] {
        let apart = 500.0 * (-rate * t).exp();
        let common = 60.0 + 500.0 * capacity[1] / (capacity[0] + capacity[1]);
        near(
            reference.partial_pa(t, 0)[0],
            common - apart * capacity[1] / (capacity[0] + capacity[1]),
            1e-13,
        );
        near(
            reference.partial_pa(t, 1)[0],
            common + apart * capacity[0] / (capacity[0] + capacity[1]),
            1e-13,
        );
    }
}

#[test]
fn a_condenser_starts_at_saturation_and_settles_above_it() {
    let mut case = alone(
        hours(4.0),
        room(12.0, 295.15, [60.0, 600.0, 18_000.0, 38_000.0]),
        load(3e-4, 2.5e-4, 1e-3),
    );
    case.devices = vec![condenser(0, 0.02, 0.15, 280.15)];
    let coil = crate::cases::saturation_pa(280.15);
    let reference = integrate(&case).unwrap();
    let to_pa = pa_per_mol(&case.compartments[0]);
    let starts = (coil - 600.0) / (1e-3 * to_pa);
    let steady = 1e-3 * GAS_CONSTANT_J_MOL_K * 295.15 / (0.02 * 0.85);
    let rate = 0.02 * 0.85 / 12.0;
    assert_eq!(reference.switches, 1);
    for t in [1.0, 300.0, 3000.0] {
        near(
            reference.partial_pa(starts + t, 0)[1],
            coil + steady * (1.0 - (-rate * t).exp()),
            1e-13,
        );
    }
}

#[test]
fn holds_feed_a_leak() {
    let mut case = case(hours(20.0), vec![room(12.0, 295.15, CABIN_AIR_PA)]);
    case.compartments[0].leak_m3_s = 1e-5;
    let all: f64 = CABIN_AIR_PA.iter().sum();
    case.holds = vec![hold(0, Some(CABIN_AIR_PA[2]), Some(all))];
    let reference = integrate(&case).unwrap();
    let per_s = 1e-5 / (GAS_CONSTANT_J_MOL_K * 295.15);
    let end = reference.end_partial_pa(0);
    near(end.iter().sum(), all, 1e-13);
    near(end[0], 60.0 * (-1e-5 / 12.0 * 72_000.0_f64).exp(), 1e-13);
    near(
        reference.ledger.oxygen_supplied,
        per_s * CABIN_AIR_PA[2] * 72_000.0,
        1e-12,
    );
    near(
        reference.ledger.diluent_supplied,
        per_s * (all - CABIN_AIR_PA[2]) * 72_000.0,
        1e-12,
    );
}

#[test]
fn what_is_missing_at_the_start_is_added_at_once() {
    let mut case = case(hours(1.0), vec![room(12.0, 295.15, CABIN_AIR_PA)]);
    let all: f64 = CABIN_AIR_PA.iter().sum();
    case.holds = vec![hold(0, Some(CABIN_AIR_PA[2] + 200.0), Some(all + 500.0))];
    let reference = integrate(&case).unwrap();
    let start = reference.partial_pa(0.0, 0);
    near(start[2], CABIN_AIR_PA[2] + 200.0, 1e-14);
    near(start[3], CABIN_AIR_PA[3] + 300.0, 1e-14);
    near(
        reference.ledger.diluent_supplied,
        300.0 / pa_per_mol(&case.compartments[0]),
        1e-13,
    );
}

/// The second room leaks; the first is held: a steady bulk flow carries the first room's mixture into the second.
#[test]
fn bulk_flow_carries_the_mixture_of_the_upstream_room() {
    let mut case = case(
        hours(3.0),
        vec![room(10.0, 295.0, CABIN_AIR_PA), room(5.0, 295.0, CABIN_AIR_PA)],
    );
    let (leak, q) = (2e-4, 3e-4);
    case.compartments[1].leak_m3_s = leak;
    case.openings = vec![opening(0, 1, q)];
    case.holds = vec![hold(0, None, Some(CABIN_AIR_PA.iter().sum()))];
    let reference = integrate(&case).unwrap();
    // At one temperature: bulk volume flow = leak, so with y the CO2 pressures
    // 10 y0' = -leak y0 - q (y0 - y1), 5 y1' = leak y0 + q (y0 - y1) - leak y1.
    let m = [[-(leak + q) / 10.0, q / 10.0], [(leak + q) / 5.0, -(leak + q) / 5.0]];
    let (trace, determinant) = (m[0][0] + m[1][1], m[0][0] * m[1][1] - m[0][1] * m[1][0]);
    let root = (trace * trace / 4.0 - determinant).sqrt();
    let rates = [trace / 2.0 + root, trace / 2.0 - root];
    let shape = rates.map(|r| (r - m[0][0]) / m[0][1]);
    // Both start at 60 Pa: c0 + c1 = 60, c0 s0 + c1 s1 = 60.
    let c0 = 60.0 * (1.0 - shape[1]) / (shape[0] - shape[1]);
    let c1 = 60.0 - c0;
    for t in [100.0, 3000.0, 10_000.0] {
        let e = rates.map(|r| (r * t).exp());
        near(reference.partial_pa(t, 0)[0], c0 * e[0] + c1 * e[1], 1e-12);
        near(
            reference.partial_pa(t, 1)[0],
            c0 * shape[0] * e[0] + c1 * shape[1] * e[1],
            1e-12,
        );
        near(
            reference.partial_pa(t, 1).iter().sum(),
            CABIN_AIR_PA.iter().sum(),
            1e-13,
        );
    }
}

/// Vapour rises to the wall's saturation, condenses; then a dryer is switched on and the film dries up.
#[test]
fn a_film_begins_and_dries_up_in_time() {
    let mut case = alone(hours(6.0), room(11.5, 295.15, CABIN_AIR_PA), load(3e-4, 2.5e-4, 1e-3));
    let (wall, conductance) = (1800.0, 2e-5);
    case.compartments[0].surfaces = vec![Surface {
        kind: SurfaceKind::Wall,
        temperature_k: 289.0,
        saturation_pa: wall,
        conductance_mol_s_pa: conductance,
    }];
    case.devices = vec![flow_through(0, 0.02, 0.0, 0.9)];
    case.devices[0].on = false;
    let mut dry = task(0, 0, Place::Compartment(0), hours(1.0), hours(1.0));
    dry.starts = vec![Effect::SwitchOn(0)];
    case.plan.tasks = vec![dry];
    let reference = integrate(&case).unwrap();
    let to_pa = pa_per_mol(&case.compartments[0]);
    let begins = (wall - CABIN_AIR_PA[1]) / (1e-3 * to_pa);
    let film = conductance * to_pa;
    let above = |t: f64| 1e-3 / conductance * (1.0 - (-film * t).exp());
    near(reference.partial_pa(begins + 500.0, 0)[1], wall + above(500.0), 1e-13);
    let grown = 3600.0 - begins;
    let liquid = 1e-3 * grown - above(grown) / to_pa;
    near(reference.liquid_kg(3600.0, 0), liquid * 0.018_015_28, 1e-12);
    // Then p' = g k - d p - film (p - wall), an exponential; the film's amount is its integral.
    let dryer = 0.9 * 0.02 / 11.5;
    let rest = (1e-3 * to_pa + film * wall) / (dryer + film);
    let start = wall + above(grown) - rest;
    let rate = dryer + film;
    let left = |t: f64| liquid + conductance * ((rest - wall) * t + start * (1.0 - (-rate * t).exp()) / rate);
    let (mut low, mut high) = (60.0, 18_000.0);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if left(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    let at_drying = rest + start * (-rate * low).exp();
    assert!(rest < wall && 3600.0 + low < 21_000.0);
    let steady = 1e-3 * to_pa / dryer;
    near(
        reference.partial_pa(3600.0 + low + 400.0, 0)[1],
        steady + (at_drying - steady) * (-dryer * 400.0).exp(),
        1e-11,
    );
    near(
        reference.liquid_kg(3600.0 + low - 10.0, 0),
        left(low - 10.0) * 0.018_015_28,
        1e-8,
    );
    assert_eq!(reference.liquid_kg(3600.0 + low + 1.0, 0), 0.0);
    assert_eq!(reference.switches, 2);
}

#[test]
fn rules_on_a_ramp_meet_their_arithmetic() {
    let mut case = alone(hours(30.0), room(100.0, 295.15, CABIN_AIR_PA), load(3e-5, 1e-4, 0.0));
    let slope = 1e-4 * pa_per_mol(&case.compartments[0]);
    let day = Statistic::Shift { length: hours(8.0) };
    let allowance = Statistic::Allowance {
        threshold: 60.0 + slope * 50_000.0,
        each: false,
    };
    case.rules = vec![
        at_most(0, Quantity::Co2, Statistic::Instant, 60.0 + slope * 40_000.0),
        at_most(
            0,
            Quantity::Co2,
            Statistic::Moving { window: hours(1.0) },
            60.0 + slope * 40_000.0,
        ),
        breathed(0, Quantity::Co2, Statistic::Moving { window: hours(40.0) }, 1e9),
        at_most(0, Quantity::Co2, Statistic::Mission, 1e9),
        at_most(0, Quantity::Co2, day, 1e9),
        at_most(0, Quantity::Co2, allowance, 10_000.0),
    ];
    let reference = integrate(&case).unwrap();
    let judged: Vec<_> = (0..case.rules.len()).map(|r| reference.judge(r)).collect();
    let end = 108_000.0;
    near(judged[0].worst, 60.0 + slope * end, 1e-13);
    near(judged[0].first_crossing_s.unwrap(), 40_000.0, 1e-12);
    near(judged[0].beyond_s, end - 40_000.0, 1e-12);
    near(judged[1].worst, 60.0 + slope * (end - 1800.0), 1e-13);
    near(judged[1].first_crossing_s.unwrap(), 41_800.0, 1e-11);
    near(judged[2].worst, 60.0 + slope * end * end / 2.0 / 144_000.0, 1e-12);
    near(judged[3].worst, 60.0 + slope * end / 2.0, 1e-13);
    near(judged[4].worst, 3.0 * (60.0 + slope * 43_200.0), 1e-13);
    near(judged[5].worst, end - 50_000.0, 1e-12);
    near(judged[5].first_crossing_s.unwrap(), 60_000.0, 1e-12);
}

#[test]
fn the_floor_ends_the_run_in_time() {
    let mut case = alone(hours(90.0), room(6.65, 294.26, CABIN_AIR_PA), load(1e-3, 8e-4, 0.0));
    case.oxygen_floor_pa = 8000.0;
    let reference = integrate(&case).unwrap();
    assert_eq!(reference.stop, Stop::OxygenFloor(0));
    near(
        reference.end_s,
        (CABIN_AIR_PA[2] - 8000.0) / (1e-3 * pa_per_mol(&case.compartments[0])),
        1e-13,
    );
}

#[test]
fn a_hatch_lets_the_fuller_room_into_the_other() {
    let mut rooms = vec![room(10.0, 295.0, CABIN_AIR_PA), room(5.0, 295.0, CABIN_AIR_PA)];
    rooms[1].partial_pa[3] += 900.0;
    let mut case = case(hours(1.0), rooms);
    case.openings = vec![opening(0, 1, 0.01)];
    case.openings[0].open = false;
    case.people = vec![person(0, vec![steady(load(0.0, 0.0, 0.0))])];
    case.plan.effort_space_m3 = vec![1.0];
    let mut open = task(0, 0, Place::Compartment(0), minutes(1.0), minutes(1.0));
    open.starts = vec![Effect::Open(0)];
    case.plan.tasks = vec![open];
    let reference = integrate(&case).unwrap();
    let total: f64 = CABIN_AIR_PA.iter().sum();
    let share = 60.0 / (total + 900.0);
    let after = [0, 1].map(|a| reference.partial_pa(minutes(1.0).seconds(), a));
    near(after[0].iter().sum(), total + 300.0, 1e-13);
    near(after[1].iter().sum(), total + 300.0, 1e-13);
    near(after[0][0], 60.0 + 300.0 * share, 1e-13);
    near(after[1][0], 60.0 - 600.0 * share, 1e-13);
    case.openings[0].opens_within_pa = 800.0;
    assert!(integrate(&case).is_err());
}

/// A task that changes nothing makes the reference take other steps: what then differs is its own error.
#[test]
fn other_steps_give_the_same_solution() {
    let mut worst: f64 = 0.0;
    let (mut completed, mut switches) = (0, 0);
    for seed in 0..16 {
        let case = random::case(seed);
        let mut split = case.clone();
        let idle = split.people.len();
        split.people.push(person(
            0,
            (0..split.plan.effort_space_m3.len())
                .map(|_| steady(load(0.0, 0.0, 0.0)))
                .collect(),
        ));
        split.people[idle].start = Place::Outside;
        for k in 0..40 {
            let at = Time::from_seconds(split.duration.seconds() * (f64::from(k) + 0.37) / 40.0);
            split.plan.tasks.push(task(idle, 0, Place::Outside, at, seconds(1.0)));
        }
        split.people[idle].home = None;
        let (Ok(one), Ok(other)) = (integrate(&case), integrate(&split)) else {
            continue;
        };
        assert_eq!(one.stop, other.stop, "seed {seed}");
        assert_eq!(one.switches, other.switches, "seed {seed}");
        completed += u32::from(one.stop == Stop::Completed);
        switches += one.switches;
        for a in 0..case.compartments.len() {
            let (p, q) = (one.end_partial_pa(a), other.end_partial_pa(a));
            let total: f64 = p.iter().sum();
            for s in 0..4 {
                worst = worst.max((p[s] - q[s]).abs() / total);
            }
        }
    }
    assert!(
        completed > 8 && switches > 50,
        "{completed} completed, {switches} switches"
    );
    assert!(worst < 1e-12, "{worst:e} of the total pressure");
}

#[test]
fn its_ledger_closes() {
    for seed in 0..12 {
        let case = random::case(seed);
        let Ok(reference) = integrate(&case) else { continue };
        let (l, mut change, mut size) = (&reference.ledger, [0.0; 4], 0.0);
        for (a, c) in case.compartments.iter().enumerate() {
            let end = reference.end_partial_pa(a);
            for s in 0..4 {
                change[s] += (end[s] - c.partial_pa[s]) / pa_per_mol(c);
                size += end[s] / pa_per_mol(c);
            }
            change[1] += reference.end_liquid_kg(a) / 0.018_015_28;
        }
        let made = [
            l.co2_made - l.co2_removed,
            l.vapour_made + l.runoff_towel - l.water_removed,
            l.oxygen_supplied - l.oxygen_used,
            l.diluent_supplied,
        ];
        for s in 0..4 {
            let left = change[s] - made[s] + l.leaked[s];
            assert!(
                left.abs() < 1e-12 * size,
                "seed {seed}, species {s}: {left:e} of {size}"
            );
        }
    }
}

/// Three alike rooms on a ring, one of them leaking: the others give the same, and nothing flows between them.
#[test]
fn bulk_flow_on_a_ring_divides_evenly() {
    let mut case = case(hours(2.0), vec![room(8.0, 295.0, CABIN_AIR_PA); 3]);
    case.compartments[2].leak_m3_s = 1e-4;
    case.compartments[2].partial_pa[0] += 40.0;
    case.compartments[2].partial_pa[3] -= 40.0;
    case.openings = vec![opening(0, 1, 0.01), opening(1, 2, 0.004), opening(2, 0, 0.004)];
    let reference = integrate(&case).unwrap();
    let total: f64 = CABIN_AIR_PA.iter().sum();
    let fall = (-1e-4 / 24.0 * 7200.0_f64).exp();
    for a in 0..3 {
        near(reference.end_partial_pa(a).iter().sum(), total * fall, 1e-12);
    }
    let (one, other) = (reference.end_partial_pa(0), reference.end_partial_pa(1));
    for s in 0..4 {
        near(one[s], other[s], 1e-13);
    }
}
