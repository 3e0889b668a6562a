//! The reference against closed forms: beds, canisters, heat, suits.

use breathroom_sim::air::{Heat, Insulation, Place, WallHeat};
use breathroom_sim::crew::Suit;
use breathroom_sim::removal::{Isotherm, Removal, SwingBed, Valves};
use breathroom_sim::timeline::{Effect, Pace, SuitUse};

use crate::cases::{CABIN_AIR_PA, case, hours, load, minutes, pa_per_mol, person, room, seconds, steady, task};

use super::checks::{carried_out, device, near, oxygen_tank};
use super::laws::{CP, R};
use super::{Stop, integrate, watch};

/// A suit that makes more gas than it uses, in a room that is vented: it stays as much above it as it should.
#[test]
fn a_suit_follows_a_vented_room() {
    let mut case = carried_out(1.0, vec![room(4.0, 293.0, [0.0, 0.0, 30_000.0, 0.0])], Vec::new());
    let source = 2e-3;
    case.people.push(person(0, vec![steady(load(0.0, source, 0.0))]));
    case.compartments.push(room(0.05, 293.0, [0.0, 0.0, 30_000.0, 0.0]));
    case.suits = vec![suit(1, 1, 20_000.0)];
    let mut worn = task(1, 0, Place::Compartment(0), seconds(0.0), hours(2.0));
    worn.suit = SuitUse::Pressurised;
    case.plan.tasks.push(worn);
    case.plan.tasks[0].starts = vec![Effect::Vent {
        compartment: 0,
        to_pa: 3000.0,
        pace: Pace::Over(minutes(10.0)),
    }];
    let solution = watch(&case, &[30.0, 360.0, 660.0]).unwrap();
    let per_pa = [0, 1].map(|a| 1.0 / pa_per_mol(&case.compartments[a]));
    let totals = |i: usize| [0, 1].map(|a| solution.seen[i].1[a].partial_pa.iter().sum::<f64>());
    for i in 0..3 {
        near(totals(i)[1] - totals(i)[0], 20_000.0, 1e-11);
    }
    // What it took to pressurise it is all that was let in.
    near(solution.suits[0], 20_000.0 * per_pa[1], 1e-11);
    let held = |i: usize| totals(i)[0] * per_pa[0] + totals(i)[1] * per_pa[1];
    let start = 30_000.0 * (per_pa[0] + per_pa[1]) + 20_000.0 * per_pa[1];
    near(held(0), start + 30.0 * source, 1e-12);
    // A straight line from the pressure of its beginning.
    let began = solution.transfers[0].from_pa;
    near(began, 30_000.0 + 60.0 * source / (per_pa[0] + per_pa[1]), 1e-12);
    near(totals(1)[0], (began + 3000.0) / 2.0, 1e-12);
    near(totals(2)[0], 3000.0, 1e-10);
    near(
        solution.transfers[0].mol.iter().sum::<f64>() + held(2),
        start + 660.0 * source,
        1e-11,
    );
}

fn suit(wearer: usize, compartment: usize, above_pa: f64) -> Suit {
    Suit {
        wearer,
        compartment,
        above_pa,
        tank: None,
        supply: None,
        ventilation_m3_s: 2.5e-3,
        purge_mol_s: 0.02,
        leak_m3_s: 0.0,
    }
}

/// A cabin so large that its air does not change feeds a bed of linear sorbent.
#[test]
fn a_swing_bed_comes_to_its_cyclic_steady_state() {
    let mut cabin = room(1e13, 295.0, [400.0, 1000.0, 20_000.0, 36_000.0]);
    cabin.leak_m3_s = 0.0;
    let mut case = carried_out(20.0, vec![cabin], Vec::new());
    let (slope, k, half): (f64, f64, f64) = (2e-3, 2e-3, 500.0);
    let bed = SwingBed {
        flow_m3_s: 1e4,
        bed_kg: 5.0,
        bed_k: 300.0,
        co2: Isotherm::Linear { slope_mol_kg_pa: slope },
        water: Isotherm::Linear { slope_mol_kg_pa: 0.0 },
        competition_kg_mol: 0.0,
        rate_1_s: [k, k],
        desorb_pa: [50.0, 0.0],
        half_cycle: seconds(half),
        lost_m3: 0.0,
        loaded_mol_kg: [0.0; 4],
        valves: Valves::Turning,
    };
    case.devices = vec![device(Removal::SwingBed(bed))];
    case.duration = seconds(half * 100.0);
    let long = integrate(&case).unwrap().devices[0];
    case.duration = seconds(half * 80.0);
    let short = integrate(&case).unwrap().devices[0];
    // The flow is so large that the bed sees the inlet: exact to m k slope R T / Q = 5e-6.
    let factor = 0.462_117_157_260;
    let per_half = 5.0 * slope * (400.0 - 50.0) * factor;
    near((long.taken[0] - short.taken[0]) / 20.0, per_half, 2e-5);
    assert_eq!((long.turns, short.turns), (99, 79));
    // With that in the rate of adsorption as well, to rounding.
    let flow = 1e4 / (R * 295.0);
    let ka = k / (1.0 + 5.0 * k * slope / flow);
    let (a, d) = (ka * half, k * half);
    let exact = (1.0 - (-a).exp()) * (1.0 - (-d).exp()) / (1.0 - (-(a + d)).exp());
    near(
        (long.taken[0] - short.taken[0]) / 20.0,
        5.0 * slope * 350.0 * exact,
        1e-9,
    );
    // A stuck valve: one bed fills up, the other comes to what it desorbs to.
    case.devices[0].removal = Removal::SwingBed(SwingBed {
        valves: Valves::Stuck(1),
        ..bed
    });
    let stuck = integrate(&case).unwrap().devices[0];
    near(stuck.taken[0], 5.0 * slope * 400.0, 1e-8);
    near(stuck.held[0], 5.0 * slope * 450.0, 1e-8);
    assert_eq!(stuck.turns, 0);
}

#[test]
fn a_canister_at_constant_inlet_meets_bohart_and_adams() {
    // K tau = N = 8: the area of 1 - X to t is (1 / K) ln((e^(K t) + e^N - 1) / e^N) short of t.
    let mut case = carried_out(
        9.0,
        vec![room(1e9, 295.0, [300.0, 1000.0, 20_000.0, 36_000.0])],
        Vec::new(),
    );
    let (flow, capacity, n): (f64, f64, f64) = (0.01, 18.0, 8.0);
    case.devices = vec![device(Removal::Sorbent {
        flow_m3_s: flow,
        capacity_mol: capacity,
        sharpness: n,
        bypass: 0.0,
        water_per_co2: 1.0,
        heat_j_mol: 90_000.0,
        loaded_mol: 0.0,
        canisters: 0,
    })];
    let worked = integrate(&case).unwrap().devices[0];
    let inlet = flow * 300.0 / (R * 295.0);
    let t = 9.0 * 3600.0;
    let k = n * inlet / capacity;
    let passed = ((k * t - n).exp() + 1.0 - (-n).exp()).ln() / k;
    near(worked.taken[0], inlet * (t - passed), 1e-7);
    near(worked.held[0], worked.taken[0], 1e-13);
    near(worked.taken[1], -worked.taken[0], 1e-13);
    near(worked.heat_j, 90_000.0 * worked.taken[0], 1e-13);
}

#[test]
fn a_lumped_heat_balance_is_exponential() {
    // Air and wall: two linear equations; without insulation's loss the sum of both is conserved but for the equipment.
    let mut case = carried_out(5.0, vec![room(10.0, 295.0, [0.0, 0.0, 20_000.0, 36_500.0])], Vec::new());
    let wall = WallHeat {
        temperature_k: 288.0,
        to_air_w_k: 12.0,
        capacity_j_k: 40_000.0,
        insulation: Insulation::Conductance(3.0),
        surroundings_k: 250.0,
    };
    case.compartments[0].heat = Some(Heat {
        equipment_w: 150.0,
        wall: Some(wall),
    });
    let start_mol = [0.0, 0.0, 20_000.0, 36_500.0].map(|p| p * 10.0 / (R * 295.0));
    let c: f64 = start_mol.iter().zip(CP).map(|(n, cp)| n * cp).sum();
    let looks = [60.5, 600.0, 6000.0];
    let solution = watch(&case, &looks).unwrap();
    // d/dt (T - T*) = A (T - T*), by its two eigenvalues.
    let m = [[-12.0 / c, 12.0 / c], [12.0 / 40_000.0, -15.0 / 40_000.0]];
    let steady = [250.0 + 150.0 / 3.0 + 150.0 / 12.0, 250.0 + 150.0 / 3.0];
    let (half, det) = ((m[0][0] + m[1][1]) / 2.0, m[0][0] * m[1][1] - m[0][1] * m[1][0]);
    let root = (half * half - det).sqrt();
    let off = [295.0 - steady[0], 288.0 - steady[1]];
    for (at, gas) in &solution.seen {
        // e^(At) = e^(half t) (cosh(root t) + (A - half) sinh(root t) / root).
        let (ch, sh) = ((root * at).cosh(), (root * at).sinh() / root);
        let e = (half * at).exp();
        let air = e * ((ch + (m[0][0] - half) * sh) * off[0] + m[0][1] * sh * off[1]);
        let walls = e * (m[1][0] * sh * off[0] + (ch + (m[1][1] - half) * sh) * off[1]);
        near(gas[0].temperature_k[0], steady[0] + air, 1e-12);
        near(gas[0].temperature_k[1], steady[1] + walls, 1e-12);
        // A closed room's amounts stay, its pressure follows.
        near(gas[0].partial_pa[2], 20_000.0 * gas[0].temperature_k[0] / 295.0, 1e-12);
    }
    // Radiation: the wall comes to sigma e A (T^4 - Ts^4) = what the equipment gives.
    case.duration = hours(200.0);
    let insulation = Insulation::Emittance(2.0);
    case.compartments[0].heat = Some(Heat {
        equipment_w: 150.0,
        wall: Some(WallHeat { insulation, ..wall }),
    });
    let end = integrate(&case).unwrap().end[0];
    let sigma = 5.670_374_419e-8;
    near(
        end.temperature_k[1],
        (250.0_f64.powi(4) + 150.0 / (2.0 * sigma)).powf(0.25),
        1e-9,
    );
    near(end.temperature_k[0], end.temperature_k[1] + 12.5, 1e-9);
}

/// A suit in a vacuum: oxygen comes in as it is used and leaks, its pressure stays.
#[test]
fn a_suit_in_a_vacuum_holds_its_pressure() {
    let mut case = case(
        hours(3.0),
        vec![
            room(4.0, 293.0, CABIN_AIR_PA),
            room(0.05, 293.0, [0.0, 0.0, 29_600.0, 0.0]),
        ],
    );
    case.people = vec![person(0, vec![steady(load(9e-4, 0.0, 0.0))])];
    case.people[0].home = None;
    case.people[0].start = Place::Outside;
    case.plan.effort_space_m3 = vec![1.0];
    case.tanks = vec![oxygen_tank(100.0)];
    case.suits = vec![Suit {
        tank: Some(0),
        leak_m3_s: 3e-6,
        ..suit(0, 1, 29_600.0)
    }];
    let mut outside = task(0, 0, Place::Outside, seconds(0.0), hours(4.0));
    outside.suit = SuitUse::Pressurised;
    case.plan.tasks = vec![outside];
    let solution = integrate(&case).unwrap();
    near(solution.end[1].partial_pa[2], 29_600.0, 1e-12);
    let leak = 3e-6 * 29_600.0 / (R * 293.0);
    near(solution.suits[0], (9e-4 + leak) * 10_800.0, 1e-11);
    near(solution.tanks[0].used, solution.suits[0], 1e-13);
    near(solution.books.lost[1][2], leak * 10_800.0, 1e-11);
    // Its tank runs dry; what is used then lowers the pressure down to the floor.
    case.tanks[0].amount_mol = 5.0;
    let short = integrate(&case).unwrap();
    near(short.tanks[0].dry_at.unwrap().seconds(), 5.0 / (9e-4 + leak), 1e-9);
    assert_eq!(short.stop, Stop::OxygenFloor(1, 0));
    let (v, use_pa) = (0.05, 9e-4 * R * 293.0 / 0.05);
    let (rate, steady) = (3e-6 / v, use_pa / (3e-6 / v));
    let falls = ((29_600.0 + steady) / (100.0 + steady)).ln() / rate;
    near(short.end_s, 5.0 / (9e-4 + leak) + falls, 1e-9);
}

/// A purged suit at cabin pressure: oxygen in, the suit's mixture out, its nitrogen falls exponentially.
#[test]
fn a_purge_washes_out_exponentially() {
    let mut case = case(
        hours(1.0),
        vec![room(1e7, 293.0, CABIN_AIR_PA), room(0.05, 293.0, CABIN_AIR_PA)],
    );
    case.people = vec![person(0, vec![steady(load(0.0, 0.0, 0.0))])];
    case.plan.effort_space_m3 = vec![1.0];
    case.suits = vec![suit(0, 1, 29_600.0)];
    let mut purge = task(0, 0, Place::Compartment(0), seconds(0.0), hours(4.0));
    purge.suit = SuitUse::Purged;
    case.plan.tasks = vec![purge];
    let solution = watch(&case, &[10.0, 100.0]).unwrap();
    let all: f64 = CABIN_AIR_PA.iter().sum();
    let rate = 0.02 * R * 293.0 / all / 0.05;
    for (t, gas) in &solution.seen {
        near(gas[1].partial_pa[3], CABIN_AIR_PA[3] * (-rate * t).exp(), 1e-7);
    }
    near(solution.suits[0], 0.02 * 3600.0, 1e-12);
}
