//! Numbers under faults against closed forms, and against an integration of the same equation written here.

use breathroom_sim::air::GAS_CONSTANT_J_MOL_K;
use breathroom_sim::engine::{Case, Engine, Outcome, Trace};
use breathroom_sim::limits::{Quantity, Statistic};
use breathroom_sim::removal::Removal;
use breathroom_sim::units::Time;
use breathroom_sim::upset::{By, DeviceNumber, Ends, Shape, Target};
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, at_most, condenser, flow_through, hold, hours, load, minutes, opening, pa_per_mol, person,
    room, seconds, steady, task,
};

use super::{near, on, on_device, run};

const MMHG_PA: f64 = 133.322;
/// Of one person at 1.00 kg CO2 a day, mol/s.
const CO2_MOL_S: f64 = 1.0 / 0.044_009_5 / 86_400.0;
const ROOM_M3: f64 = 6.65;
const ROOM_K: f64 = 294.26;

/// Two people in a small cabin with a scrubber that holds its CO2 steady.
pub(super) fn cabin(efficiency: f64, flow_m3_s: f64) -> Case {
    let mut case = alone(
        hours(12.0),
        room(ROOM_M3, ROOM_K, CABIN_AIR_PA),
        load(1e-5, CO2_MOL_S, 0.0),
    );
    case.people.push(person(0, vec![steady(load(1e-5, CO2_MOL_S, 0.0))]));
    case.devices = vec![flow_through(0, flow_m3_s, efficiency, 0.0)];
    case.compartments[0].partial_pa[0] = steady_pa(efficiency * flow_m3_s);
    case
}

fn steady_pa(flow_m3_s: f64) -> f64 {
    2.0 * CO2_MOL_S * GAS_CONSTANT_J_MOL_K * ROOM_K / flow_m3_s
}

/// Seconds from an onset to a limit on CO2.
fn to_limit(case: &mut Case, limit_pa: f64) -> f64 {
    case.rules = vec![at_most(0, Quantity::Co2, Statistic::Instant, limit_pa)];
    let outcome = run(case);
    let began = outcome.faults[0].began.expect("it begins");
    (outcome.rules[0].first_crossing.expect("it is crossed") - began).seconds()
}

/// In a sealed volume CO2 rises by G R T / V: 5.222 mmHg/h for two people at 1.00 kg a day in 6.65 m3 at 70 F (ideal gas law,
/// arithmetic; the cabin is the 235 ft3 of the Apollo lunar module's quick reference).
#[test]
fn after_total_loss_the_limit_comes_when_the_sealed_volume_says() {
    for factor in [By::Factor(0.0), By::To(0.0)] {
        for number in [DeviceNumber::Capacity, DeviceNumber::Flow, DeviceNumber::Co2Efficiency] {
            let mut case = cabin(0.9, 0.012);
            let start = case.compartments[0].partial_pa[0];
            case.faults = vec![on_device(number, factor, hours(2.25), Shape::Step)];
            let took = to_limit(&mut case, 7.6 * MMHG_PA);
            near(took, (7.6 * MMHG_PA - start) * 3600.0 / (5.222 * MMHG_PA), 1e-3);
            let rate = 2.0 * CO2_MOL_S * GAS_CONSTANT_J_MOL_K * ROOM_K / ROOM_M3;
            near(took, (7.6 * MMHG_PA - start) / rate, 1e-10);
        }
    }
}

#[test]
fn after_partial_loss_it_comes_on_the_way_to_a_new_steady_value() {
    let (flow, limit) = (0.9 * 0.012, 4.0 * MMHG_PA);
    for left in [0.05, 0.1, 0.2] {
        let mut case = cabin(0.9, 0.012);
        let start = case.compartments[0].partial_pa[0];
        case.faults = vec![on_device(
            DeviceNumber::Capacity,
            By::Factor(left),
            hours(1.0),
            Shape::Step,
        )];
        let new = steady_pa(left * flow);
        assert!(new > limit, "{new}");
        let should = -ROOM_M3 / (left * flow) * (1.0 - (limit - start) / (new - start)).ln();
        near(to_limit(&mut case, limit), should, 1e-9);
    }
}

/// `p' = g - k(t) p` from `from` to `to` s: Gauss's rule of two points, implicit (order 4), in steps of `step` s.
fn integrate(k: impl Fn(f64) -> f64, g: f64, p: f64, from: f64, to: f64, step: f64) -> f64 {
    let mut p = p;
    let steps = ((to - from) / step).round() as usize;
    let h = (to - from) / steps as f64;
    let root = 3.0_f64.sqrt() / 6.0;
    for n in 0..steps {
        let t = from + n as f64 * h;
        let (k1, k2) = (k(t + (0.5 - root) * h), k(t + (0.5 + root) * h));
        // r_i = g - k_i (p + h sum_j a_ij r_j)
        let a = [[0.25, 0.25 - root], [0.25 + root, 0.25]];
        let m = [
            [1.0 + h * k1 * a[0][0], h * k1 * a[0][1]],
            [h * k2 * a[1][0], 1.0 + h * k2 * a[1][1]],
        ];
        let b = [g - k1 * p, g - k2 * p];
        let det = m[0][0] * m[1][1] - m[0][1] * m[1][0];
        let r1 = (b[0] * m[1][1] - m[0][1] * b[1]) / det;
        let r2 = (m[0][0] * b[1] - m[1][0] * b[0]) / det;
        p += 0.5 * h * (r1 + r2);
    }
    p
}

/// CO2 at the samples of a run.
fn course(case: &Case) -> Vec<(f64, f64)> {
    let mut trace = Trace::default();
    Engine::new().run(case, Some(&mut trace)).unwrap();
    let samples = trace.samples.iter();
    samples
        .map(|sample| (sample.at.seconds(), sample.compartments[0].partial_pa[0]))
        .collect()
}

/// Holds a run to the integration, whatever the removal rate is made of: `part(t)` of what it is without fault.
pub(super) fn follows(case: &Case, part: impl Fn(f64) -> f64, kinks: &[f64]) {
    let flow = 0.9 * 0.012;
    let g = 2.0 * CO2_MOL_S * GAS_CONSTANT_J_MOL_K * ROOM_K / ROOM_M3;
    let (mut at, mut p) = (0.0, case.compartments[0].partial_pa[0]);
    for (t, is) in course(case) {
        let mut stops: Vec<f64> = kinks.iter().copied().filter(|&k| k > at && k < t).collect();
        stops.push(t);
        for stop in stops {
            if stop > at {
                p = integrate(|t| flow / ROOM_M3 * part(t), g, p, at, stop, 5.0);
                at = stop;
            }
        }
        assert!(
            (is - p).abs() <= 1e-6 * p,
            "at {t}: {is} is not {p} ({:e})",
            is / p - 1.0
        );
    }
}

#[test]
fn a_ramp_is_followed() {
    let (from, over) = (hours(1.0), hours(2.0));
    let mut case = cabin(0.9, 0.012);
    case.faults = vec![on_device(DeviceNumber::Flow, By::Factor(0.2), from, Shape::Ramp(over))];
    let part = |t: f64| 1.0 - 0.8 * ((t - 3600.0) / 7200.0).clamp(0.0, 1.0);
    follows(&case, part, &[3600.0, 10_800.0]);
}

#[test]
fn a_decay_is_followed() {
    let mut case = cabin(0.9, 0.012);
    case.faults = vec![on_device(
        DeviceNumber::Co2Efficiency,
        By::To(0.09),
        hours(0.5),
        Shape::Decay(2400.0),
    )];
    let part = |t: f64| {
        let g = if t > 1800.0 {
            1.0 - (-(t - 1800.0) / 2400.0).exp()
        } else {
            0.0
        };
        1.0 - 0.9 * g
    };
    follows(&case, part, &[1800.0]);
}

#[test]
fn what_comes_and_goes_does_so_in_turn() {
    let mut case = cabin(0.9, 0.012);
    let spells = vec![[minutes(20.0), minutes(40.0)], [minutes(5.0), minutes(10.0)]];
    case.faults = vec![on_device(
        DeviceNumber::Capacity,
        By::Factor(0.3),
        hours(1.0),
        Shape::Intermittent(spells),
    )];
    let there = |t: f64| {
        let into = (t - 3600.0).rem_euclid(4500.0);
        t >= 3600.0 && (into < 1200.0 || (3600.0..3900.0).contains(&into))
    };
    let kinks: Vec<f64> = (0..9)
        .flat_map(|k| [0.0, 1200.0, 3600.0, 3900.0].map(|part| 3600.0 + 4500.0 * f64::from(k) + part))
        .collect();
    follows(&case, |t| if there(t + 1e-9) { 0.3 } else { 1.0 }, &kinks);
}

#[test]
fn several_at_once_multiply() {
    let mut case = cabin(0.9, 0.012);
    let ramp = on_device(DeviceNumber::Flow, By::Factor(0.5), hours(1.0), Shape::Ramp(hours(4.0)));
    let step = on_device(DeviceNumber::Flow, By::Factor(0.6), hours(2.0), Shape::Step);
    let mut passing = on_device(
        DeviceNumber::Co2Efficiency,
        By::Factor(0.5),
        hours(3.0),
        Shape::Decay(1800.0),
    );
    passing.ends = Ends::After(hours(3.0));
    case.faults = vec![ramp, step, passing];
    let part = |t: f64| {
        let ramp = 1.0 - 0.5 * ((t - 3600.0) / 14_400.0).clamp(0.0, 1.0);
        let step = if t > 7200.0 { 0.6 } else { 1.0 };
        let passing = if t > 10_800.0 && t <= 21_600.0 {
            1.0 - 0.5 * (1.0 - (-(t - 10_800.0) / 1800.0).exp())
        } else {
            1.0
        };
        ramp * step * passing
    };
    follows(&case, part, &[3600.0, 7200.0, 10_800.0, 18_000.0, 21_600.0]);
    assert_eq!(run(&case).faults[2].ended, Some(hours(6.0)));
}

/// A room with about everything that can be faulty: a canister, beds, a condenser, a joined room, a hold.
pub(super) fn much(hardware: bool) -> Case {
    let mut case = cabin(0.9, 0.012);
    case.duration = hours(8.0);
    case.compartments.push(room(3.0, ROOM_K, CABIN_AIR_PA));
    case.people[1] = person(1, vec![steady(load(2e-4, CO2_MOL_S, 2e-4))]);
    case.openings = vec![opening(0, 1, 0.02)];
    case.devices.push(condenser(0, 0.02, 0.1, 281.0));
    case.holds = vec![hold(
        0,
        Some(CABIN_AIR_PA[2]),
        Some(CABIN_AIR_PA.iter().sum::<f64>() + 100.0),
    )];
    if hardware {
        let removal = Removal::Sorbent {
            flow_m3_s: 0.004,
            capacity_mol: 30.0,
            sharpness: 8.0,
            bypass: 0.02,
            water_per_co2: 1.0,
            heat_j_mol: 0.0,
            loaded_mol: 4.0,
            canisters: 1,
        };
        case.devices.push(breathroom_sim::removal::Device {
            removal,
            ..case.devices[0].clone()
        });
    }
    case.rules = vec![
        at_most(0, Quantity::Co2, Statistic::Instant, 400.0),
        at_most(1, Quantity::Co2, Statistic::Moving { window: hours(1.0) }, 400.0),
        at_most(1, Quantity::Humidity, Statistic::Instant, 0.5),
    ];
    case.plan.tasks = vec![task(
        0,
        0,
        breathroom_sim::air::Place::Compartment(1),
        hours(1.0),
        hours(2.0),
    )];
    case
}

/// What a run says of the air, to the bit.
fn bits(outcome: &Outcome) -> Vec<u64> {
    let mut out = Vec::new();
    for rule in &outcome.rules {
        out.extend([rule.worst.to_bits(), rule.at.0 as u64, rule.beyond_s.to_bits()]);
    }
    for end in &outcome.state_end {
        out.extend(end.partial_pa.map(f64::to_bits));
        out.push(end.liquid_water_kg.to_bits());
    }
    for extreme in &outcome.extremes {
        out.extend([
            extreme.co2_pa_max.to_bits(),
            extreme.humidity_max.to_bits(),
            extreme.co2_pa_max_at.0 as u64,
        ]);
    }
    let totals = &outcome.totals;
    out.extend(
        [
            totals.co2_removed_kg,
            totals.water_removed_kg,
            totals.oxygen_supplied_kg,
        ]
        .map(f64::to_bits),
    );
    out
}

#[test]
fn faults_of_no_severity_change_no_bit() {
    let device = |device, number| Target::Device { device, number };
    for hardware in [false, true] {
        let plain = much(hardware);
        let shapes = [
            Shape::Step,
            Shape::Ramp(hours(1.7)),
            Shape::Decay(500.0),
            Shape::Intermittent(vec![[minutes(7.0), minutes(13.0)]]),
        ];
        let mut faulty = plain.clone();
        for (k, shape) in shapes.into_iter().enumerate() {
            let onset = seconds(1234.5 + 3000.0 * k as f64);
            let targets = [
                device(0, DeviceNumber::Flow),
                device(0, DeviceNumber::Capacity),
                device(1, DeviceNumber::Coil),
                Target::Exchange(0),
                Target::Leak(1),
            ];
            for target in targets {
                faulty.faults.push(on(target, By::Factor(1.0), onset, shape.clone()));
                let mut add = on(target, By::Add(0.0), onset, shape.clone());
                add.ends = Ends::After(hours(1.3));
                faulty.faults.push(add);
            }
        }
        assert_eq!(bits(&run(&plain)), bits(&run(&faulty)));
        // And the same comparison sees a fault that is one.
        faulty.faults.push(on(
            device(0, DeviceNumber::Flow),
            By::Factor(0.999),
            hours(3.0),
            Shape::Step,
        ));
        assert_ne!(bits(&run(&plain)), bits(&run(&faulty)));
    }
}

/// What is booked and what is there agree while numbers move, in both makers of segments.
#[test]
fn every_ledger_closes_under_drifting_numbers() {
    for hardware in [false, true] {
        let mut case = much(hardware);
        let device = |device, number| Target::Device { device, number };
        case.faults = vec![
            on(
                device(0, DeviceNumber::Flow),
                By::Factor(0.3),
                hours(1.1),
                Shape::Ramp(hours(2.0)),
            ),
            on(
                device(1, DeviceNumber::Coil),
                By::Add(9.0),
                hours(0.6),
                Shape::Ramp(hours(4.0)),
            ),
            on(Target::Exchange(0), By::Factor(0.1), hours(2.0), Shape::Decay(3000.0)),
            on(Target::Leak(1), By::To(2e-6), hours(3.0), Shape::Ramp(hours(1.0))),
            on(Target::LeakArea(0), By::To(1e-8), hours(4.0), Shape::Ramp(hours(1.0))),
        ];
        if hardware {
            case.faults.push(on(
                device(2, DeviceNumber::Bypass),
                By::To(0.4),
                hours(1.5),
                Shape::Ramp(hours(3.0)),
            ));
        }
        let outcome = run(&case);
        let balance = outcome.balance;
        for residual in [balance.carbon, balance.oxygen, balance.water, balance.diluent] {
            assert!(residual.abs() < 1e-9, "{balance:?}");
        }
        assert!(outcome.totals.leaked_kg[3] > 1e-4, "{:?}", outcome.totals.leaked_kg);
    }
}

/// A coil that warms past the dew point: what it takes falls to nothing there, without an event.
#[test]
fn a_coil_that_warms_takes_nothing_from_the_dew_point_on() {
    let mut case = alone(hours(6.0), room(10.0, 295.15, CABIN_AIR_PA), load(1e-5, 1e-5, 3e-4));
    case.devices = vec![condenser(0, 0.02, 0.0, 278.15)];
    case.faults = vec![on_device(
        DeviceNumber::Coil,
        By::Add(20.0),
        hours(1.0),
        Shape::Ramp(hours(3.0)),
    )];
    let outcome = run(&case);
    // In the end nothing is taken: vapour rises by G R T / V, from where it was an hour before.
    let mut trace = Trace::default();
    Engine::new().run(&case, Some(&mut trace)).unwrap();
    let water = |at: Time| trace.samples.iter().find(|s| s.at == at).unwrap().compartments[0].partial_pa[1];
    let per_hour = 3e-4 * pa_per_mol(&case.compartments[0]) * 3600.0;
    let rise = water(hours(4.5)) - water(hours(4.0));
    near(rise, 0.5 * per_hour, 1e-9);
    // Before, the coil held it down: well below what had come in.
    assert!(water(hours(1.0)) < CABIN_AIR_PA[1] + 0.5 * per_hour);
    assert!(outcome.balance.water.abs() < 1e-9);
}

#[test]
fn more_capacity_left_never_gives_less_time() {
    for onset in [0.3, 1.0, 2.7] {
        let mut last = 0.0;
        for left in [0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3] {
            let mut case = cabin(0.9, 0.012);
            case.duration = hours(60.0);
            case.faults = vec![on_device(
                DeviceNumber::Capacity,
                By::Factor(left),
                hours(onset),
                Shape::Step,
            )];
            case.rules = vec![at_most(0, Quantity::Co2, Statistic::Instant, 4.0 * MMHG_PA)];
            let crossing = run(&case).rules[0].first_crossing;
            let took = crossing.map_or(f64::INFINITY, |at| (at - hours(onset)).seconds());
            assert!(took >= last, "{left}: {took} after {last}");
            last = took;
        }
    }
}
