//! The reference itself against closed forms: gas that leaks, is let out and in, is regulated and made equal.

use breathroom_sim::air::{Outside, Place, Regulation, Relief, Species, Tank};
use breathroom_sim::engine::Case;
use breathroom_sim::removal::{Device, Removal};
use breathroom_sim::timeline::{Effect, Pace, Plan};

use crate::cases::{
    CABIN_AIR_PA, alone, case, hold, hours, load, minutes, opening, pa_per_mol, person, room, steady, task,
};

use super::laws::{Law, MASS, R, critical, flow_function, heat_ratio, mean};
use super::{integrate, kg, watch};

pub fn near(is: f64, should: f64, relative: f64) {
    assert!(
        (is - should).abs() <= relative * should.abs(),
        "{is} is not {should} ({:e})",
        is / should - 1.0
    );
}

/// A case of rooms and nobody, in which effects are carried out at one minute.
pub fn carried_out(duration_h: f64, rooms: Vec<breathroom_sim::air::Compartment>, effects: Vec<Effect>) -> Case {
    let mut out = case(hours(duration_h), rooms);
    out.people = vec![person(0, vec![steady(load(0.0, 0.0, 0.0))])];
    out.people[0].start = Place::Outside;
    out.people[0].home = None;
    out.plan = Plan {
        effort_space_m3: vec![1.0],
        ..Plan::default()
    };
    let mut one = task(0, 0, Place::Outside, minutes(1.0), minutes(1.0));
    one.starts = effects;
    out.plan.tasks = vec![one];
    out
}

pub fn device(removal: Removal) -> Device {
    Device {
        serves: 0,
        on: true,
        removal,
        power_w: 0.0,
        capacity: 1.0,
        cycle: None,
    }
}

pub fn oxygen_tank(amount_mol: f64) -> Tank {
    Tank {
        gas: Species::Oxygen,
        amount_mol,
        residue_mol: 0.0,
        reserve_mol: 0.0,
    }
}

#[test]
fn a_sealed_room_fills_in_a_straight_line() {
    let case = alone(hours(10.0), room(6.65, 294.26, CABIN_AIR_PA), load(3e-4, 2.6e-4, 1e-3));
    let end = integrate(&case).unwrap().end[0].partial_pa;
    let rise = pa_per_mol(&case.compartments[0]) * 36_000.0;
    near(end[0], CABIN_AIR_PA[0] + 2.6e-4 * rise, 1e-13);
    near(end[2], CABIN_AIR_PA[2] - 3e-4 * rise, 1e-13);
}

/// p = p0 e^(-t / tau), tau = V / (A sqrt(g R T / M) (2 / (g + 1))^((g + 1) / (2 (g - 1)))).
#[test]
fn a_choked_vent_falls_exponentially() {
    let pure = [0.0, 0.0, 34_500.0, 0.0];
    let mut case = carried_out(1.0, vec![room(6.65, 294.0, pure)], Vec::new());
    case.compartments[0].leak_area_m2 = 2e-5;
    let g: f64 = 29.4 / (29.4 - R);
    let sound = (g * R * 294.0 / MASS[2]).sqrt();
    let tau = 6.65 / (2e-5 * sound * (2.0 / (g + 1.0)).powf((g + 1.0) / (2.0 * (g - 1.0))));
    let end = integrate(&case).unwrap().end[0].partial_pa;
    near(end[2], 34_500.0 * (-3600.0 / tau).exp(), 1e-12);
    // The same valve as a vent that ends at a pressure, in time, and one that empties the room.
    case.compartments[0].leak_area_m2 = 0.0;
    for (to_pa, ends_pa) in [(10_000.0, 10_000.0_f64), (0.0, 100.0)] {
        case.plan.tasks[0].starts = vec![Effect::Vent {
            compartment: 0,
            to_pa,
            pace: Pace::Through(2e-4),
        }];
        let solution = integrate(&case).unwrap();
        let moved = solution.transfers[0];
        let took = moved.ended.unwrap().seconds() - 60.0;
        near(took, 0.1 * tau * (34_500.0 / ends_pa).ln(), 1e-9);
        near(
            moved.mol[2],
            (34_500.0 - to_pa) / pa_per_mol(&case.compartments[0]),
            1e-12,
        );
        near(solution.end[0].partial_pa[2] + 1.0, to_pa + 1.0, 1e-12);
    }
}

/// Quadrature of dt = dp V / (R T n'(p)) over a subsonic fall, against the integration.
#[test]
fn a_subsonic_leak_takes_the_time_of_its_quadrature() {
    let air = [0.0, 0.0, 22_000.0, 83_000.0];
    let mut case = carried_out(
        1.0,
        vec![room(20.0, 293.0, [0.0, 0.0, 22_000.0 * 1.4, 83_000.0 * 1.4])],
        Vec::new(),
    );
    case.outside = Outside {
        partial_pa: air,
        temperature_k: 293.0,
    };
    case.compartments[0].leak_area_m2 = 1e-5;
    let g = heat_ratio(&air);
    let outside: f64 = air.iter().sum();
    let end: f64 = integrate(&case).unwrap().end[0].partial_pa.iter().sum();
    assert!(end > 1.01 * outside && outside / (1.4 * outside) > critical(g));
    let rate = |p: f64| {
        1e-5 * p * flow_function(Law::Subsonic, g, outside / p) / (R * 293.0 * mean(&air, &MASS)).sqrt()
            * pa_per_mol(&case.compartments[0])
    };
    // Simpson's rule.
    let steps = 2000;
    let h = (1.4 * outside - end) / f64::from(steps);
    let weight = |i: i32| {
        if i == 0 || i == steps {
            1.0
        } else if i % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    let time: f64 = (0..=steps)
        .map(|i| weight(i) * h / 3.0 / rate(end + h * f64::from(i)))
        .sum();
    near(time, 3600.0, 1e-9);
    // It ends at the pressure outside, from below as from above.
    case.compartments[0].leak_area_m2 = 3e-4;
    for start in [1.4, 0.3] {
        case.compartments[0].partial_pa = air.map(|p| start * p);
        let end: f64 = integrate(&case).unwrap().end[0].partial_pa.iter().sum();
        near(end, outside, 1e-6);
    }
}

#[test]
fn a_timed_vent_and_fill_move_their_amounts() {
    let mut case = carried_out(1.0, vec![room(3.65, 293.0, CABIN_AIR_PA)], Vec::new());
    let all: f64 = CABIN_AIR_PA.iter().sum();
    let per_pa = 1.0 / pa_per_mol(&case.compartments[0]);
    case.tanks = vec![oxygen_tank(1000.0)];
    case.plan.tasks[0].starts = vec![
        Effect::Vent {
            compartment: 0,
            to_pa: 13_000.0,
            pace: Pace::Over(minutes(10.0)),
        },
        Effect::Vent {
            compartment: 0,
            to_pa: 0.0,
            pace: Pace::Over(minutes(2.0)),
        },
        Effect::Fill {
            compartment: 0,
            to_pa: 50_000.0,
            pace: Pace::Over(minutes(5.0)),
            oxygen: 0.34,
            oxygen_from: Some(0),
            diluent_from: None,
        },
    ];
    let solution = watch(&case, &[360.0, 720.0, 800.0]).unwrap();
    for s in 0..4 {
        near(
            solution.seen[0].1[0].partial_pa[s],
            CABIN_AIR_PA[s] * (all + 13_000.0) / 2.0 / all,
            1e-12,
        );
        near(
            solution.seen[1].1[0].partial_pa[s],
            CABIN_AIR_PA[s] * 6500.0 / all,
            1e-11,
        );
    }
    near(solution.transfers[0].mol.iter().sum(), (all - 13_000.0) * per_pa, 1e-12);
    near(solution.transfers[1].mol.iter().sum(), 13_000.0 * per_pa, 1e-12);
    near(solution.transfers[2].mol[2], 0.34 * 50_000.0 * per_pa, 1e-12);
    near(solution.tanks[0].used, 0.34 * 50_000.0 * per_pa, 1e-12);
    near(solution.end[0].partial_pa[2], 17_000.0, 1e-12);
    near(solution.end[0].partial_pa[3], 33_000.0, 1e-12);
    assert_eq!(solution.end[0].partial_pa[0], 0.0);
    let ends: Vec<f64> = solution.transfers.iter().map(|t| t.ended.unwrap().seconds()).collect();
    assert_eq!(ends, [660.0, 780.0, 1080.0]);
}

#[test]
fn repress_takes_the_printed_mass() {
    // 235 ft3 of oxygen at 5.0 psia and 70 F from a vacuum: 6.615 lb (the reference prints 6.6 lb).
    let mut cabin = room(235.0 * 0.028_316_8, (70.0 - 32.0) / 1.8 + 273.15, [0.0, 0.0, 1.0, 0.0]);
    cabin.partial_pa[2] = 20_000.0;
    let mut case = carried_out(1.0, vec![cabin], Vec::new());
    case.tanks = vec![oxygen_tank(200.0)];
    case.plan.tasks[0].starts = vec![
        Effect::Vent {
            compartment: 0,
            to_pa: 0.0,
            pace: Pace::Over(minutes(4.0)),
        },
        Effect::Fill {
            compartment: 0,
            to_pa: 5.0 * 6894.757,
            pace: Pace::At(0.2),
            oxygen: 1.0,
            oxygen_from: Some(0),
            diluent_from: None,
        },
    ];
    let solution = integrate(&case).unwrap();
    let lb = kg(solution.transfers[1].mol)[2] / 0.453_592_37;
    near(lb, 6.615, 1e-3);
    let began = solution.transfers[1].began.seconds();
    near(
        solution.transfers[1].ended.unwrap().seconds() - began,
        solution.transfers[1].mol[2] / 0.2,
        1e-9,
    );
    // A tank that is too small ends it short.
    case.tanks[0].amount_mol = 50.0;
    case.tanks[0].residue_mol = 4.0;
    let solution = integrate(&case).unwrap();
    assert!(solution.transfers[1].short);
    near(solution.tanks[0].used, 46.0, 1e-12);
    near(solution.tanks[0].dry_at.unwrap().seconds(), began + 230.0, 1e-9);
}

#[test]
fn a_limited_hold_lets_the_pressure_fall_to_where_its_flow_suffices() {
    let mut case = carried_out(20.0, vec![room(12.0, 295.0, [0.0, 0.0, 0.0, 56_500.0])], Vec::new());
    let leak = 5e-4;
    case.compartments[0].leak_m3_s = leak;
    let full = leak * 56_500.0 / (R * 295.0);
    let by = |pressure_by: Regulation| breathroom_sim::air::Hold {
        pressure_by,
        ..hold(0, None, Some(56_500.0))
    };
    case.holds = vec![by(Regulation::Limited { most_mol_s: 0.6 * full })];
    let end = integrate(&case).unwrap();
    let t = 72_000.0;
    near(
        end.end[0].partial_pa[3],
        56_500.0 * (0.6 + 0.4 * (-leak / 12.0 * t).exp()),
        1e-12,
    );
    near(end.books.supplied[0][3], 0.6 * full * t, 1e-12);
    case.holds = vec![by(Regulation::Limited { most_mol_s: 2.0 * full })];
    near(integrate(&case).unwrap().end[0].partial_pa[3], 56_500.0, 1e-12);
    // In proportion: a straight line between leak and valve.
    let (gain, to_pa) = (full / 400.0, pa_per_mol(&case.compartments[0]));
    case.holds = vec![by(Regulation::Proportional {
        gain_mol_s_pa: gain,
        most_mol_s: f64::INFINITY,
    })];
    let rate = gain * to_pa + leak / 12.0;
    let steady = gain * to_pa * 56_500.0 / rate;
    near(
        integrate(&case).unwrap().end[0].partial_pa[3],
        steady + (56_500.0 - steady) * (-rate * t).exp(),
        1e-12,
    );
    // On and off: the first switch is where the leak alone has taken the width.
    case.holds = vec![by(Regulation::Band {
        width_pa: 500.0,
        flow_mol_s: 3.0 * full,
    })];
    let off = (56_500.0_f64 / 56_000.0).ln() * 12.0 / leak;
    let top: f64 = 3.0 * 56_500.0;
    let on = ((top - 56_000.0) / (top - 56_500.0)).ln() * 12.0 / leak;
    let solution = integrate(&case).unwrap();
    let cycles = (t / (on + off)).floor();
    let left = t - cycles * (on + off);
    let flowed = cycles * on + (left - off).max(0.0);
    near(solution.books.supplied[0][3], 3.0 * full * flowed, 1e-9);
}

#[test]
fn a_relief_valve_opens_and_closes() {
    let mut case = alone(
        hours(6.0),
        room(8.0, 295.0, [0.0, 0.0, 0.0, 50_000.0]),
        load(0.0, 2e-3, 0.0),
    );
    case.oxygen_floor_pa = -1.0;
    case.compartments[0].relief = Some(Relief {
        opens_pa: 52_000.0,
        closes_pa: 51_000.0,
        area_m2: 1e-4,
    });
    let solution = integrate(&case).unwrap();
    let rise = 2e-3 * pa_per_mol(&case.compartments[0]);
    let first = 2000.0 / rise;
    let just = watch(&case, &[first - 1.0, first + 200.0]).unwrap();
    let total = |i: usize| just.seen[i].1[0].partial_pa.iter().sum::<f64>();
    near(total(0), 52_000.0 - rise, 1e-12);
    assert!(total(1) < 52_000.0 && total(1) > 51_000.0);
    let lost: f64 = solution.books.lost[2].iter().sum();
    let end: f64 = solution.end[0].partial_pa.iter().sum();
    near(
        lost,
        2e-3 * 21_600.0 - (end - 50_000.0) / pa_per_mol(&case.compartments[0]),
        1e-10,
    );
    assert!(solution.switches > 4);
}

#[test]
fn rooms_are_equalised_in_a_straight_line_or_through_an_area() {
    let rooms = || {
        vec![
            room(3.0, 293.0, [0.0, 0.0, 20_000.0, 0.0]),
            room(9.0, 293.0, [0.0, 0.0, 0.0, 56_000.0]),
        ]
    };
    let effect = |pace| vec![Effect::Equalise { opening: 0, pace }, Effect::Open(0)];
    let mut case = carried_out(1.0, rooms(), effect(Pace::Over(minutes(5.0))));
    case.openings = vec![opening(0, 1, 1e-3)];
    case.openings[0].open = false;
    case.openings[0].opens_within_pa = 2000.0;
    let solution = watch(&case, &[210.0]).unwrap();
    let common = (3.0 * 20_000.0 + 9.0 * 56_000.0) / 12.0;
    let total = |i: usize, a: usize| -> f64 { solution.seen[i].1[a].partial_pa.iter().sum() };
    near(total(0, 0), (20_000.0 + common) / 2.0, 1e-12);
    near(total(0, 1), (56_000.0 + common) / 2.0, 1e-12);
    near(
        solution.transfers[0].mol[3],
        (common - 20_000.0) * 3.0 / (R * 293.0),
        1e-11,
    );
    near(solution.end[0].partial_pa.iter().sum(), common, 1e-12);
    let case = Case {
        plan: carried_out(1.0, rooms(), effect(Pace::Through(1e-4))).plan,
        ..case
    };
    let solution = integrate(&case).unwrap();
    near(solution.transfers[0].to_pa.abs(), 200.0, 1e-9);
    near(solution.end[0].partial_pa.iter().sum(), common, 1e-12);
    // By quadrature: dD/dt = -n' R T (1 / V0 + 1 / V1), choked, then subsonic.
    let g = 29.1 / (29.1 - R);
    let rate = |d: f64| {
        // Both from the difference and the amount that is kept.
        let high = common + d * 3.0 / 12.0;
        let r = (high - d) / high;
        let law = super::laws::law_at(g, r);
        let flow = 1e-4 * high * flow_function(law, g, r) / (R * 293.0 * MASS[3]).sqrt();
        flow * R * 293.0 * (1.0 / 3.0 + 1.0 / 9.0)
    };
    let steps = 40_000;
    // In the root of the difference, which the rate goes with near the end.
    let (from, to) = (36_000.0_f64.sqrt(), 200.0_f64.sqrt());
    let h = (from - to) / f64::from(steps);
    let weight = |i: i32| {
        if i == 0 || i == steps {
            1.0
        } else if i % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    let time: f64 = (0..=steps)
        .map(|i| {
            let y = to + h * f64::from(i);
            weight(i) * h / 3.0 * 2.0 * y / rate(y * y)
        })
        .sum();
    near(solution.transfers[0].ended.unwrap().seconds() - 60.0, time, 1e-6);
}
