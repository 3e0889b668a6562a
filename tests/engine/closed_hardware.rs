//! Real hardware in whole runs against closed forms and hand arithmetic.

use breathroom_sim::air::{GAS_CONSTANT_J_MOL_K, Place};
use breathroom_sim::engine::{Case, Engine, Outcome};
use breathroom_sim::limits::{Quantity, Statistic};
use breathroom_sim::removal::{Device, Isotherm, Removal, SwingBed, Valves};
use breathroom_sim::timeline::{Effect, Pace};
use breathroom_tests::cases::{at_most, case, load, opening, pa_per_mol, person, room, seconds, steady, task};

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

/// A room that someone outside vents from 10 s on.
fn vented(partial_pa: [f64; 4], temperature_k: f64, to_pa: f64, pace: Pace) -> Case {
    let mut out = case(seconds(4000.0), vec![room(6.0, temperature_k, partial_pa)]);
    out.oxygen_floor_pa = 0.0;
    let mut who = person(0, vec![steady(load(0.0, 0.0, 0.0))]);
    (who.start, who.home) = (Place::Outside, None);
    out.people = vec![who];
    out.plan.effort_space_m3 = vec![1.0];
    let mut open = task(0, 0, Place::Outside, seconds(10.0), seconds(1.0));
    open.starts = vec![Effect::Vent {
        compartment: 0,
        to_pa,
        pace,
    }];
    out.plan.tasks = vec![open];
    out
}

/// tau = V / (A sqrt(g R T / M) (2 / (g + 1))^((g + 1) / (2 (g - 1)))): isothermal choked flow of an ideal gas (textbook).
#[test]
fn a_choked_vent_takes_its_time_constants() {
    // Molar heat capacities (J/mol/K) and masses (kg/mol) of oxygen, of diluent (nitrogen) and of half and half.
    let gases = [
        ([0.0, 1.0], 29.4, 0.031_998_8),
        ([1.0, 0.0], 29.1, 0.028_013_4),
        ([0.5, 0.5], 29.25, 0.030_006_1),
    ];
    for ([diluent, oxygen], cp, mass) in gases {
        for temperature_k in [250.0, 294.0, 320.0] {
            let area_m2 = 1.5e-4;
            let gas = [0.0, 0.0, 50_000.0 * oxygen, 50_000.0 * diluent];
            let mut case = vented(gas, temperature_k, 5000.0, Pace::Through(area_m2));
            case.rules = vec![at_most(0, Quantity::PressureRate, Statistic::Instant, 1e9)];
            let r = GAS_CONSTANT_J_MOL_K;
            let g: f64 = cp / (cp - r);
            let sound: f64 = (g * r * temperature_k / mass).sqrt();
            let tau = 6.0 / (area_m2 * sound * (2.0 / (g + 1.0)).powf((g + 1.0) / (2.0 * (g - 1.0))));
            let outcome = run(&case);
            let took = outcome.transfers[0].ended.expect("it ends").seconds() - 10.0;
            near(took, tau * 10.0_f64.ln(), 1e-8);
            // The rate is greatest at the start.
            near(outcome.rules[0].worst, 50_000.0 / tau, 1e-6);
        }
    }
}

/// To 0 the ramp goes to a millionth of its start, which is then lost at once.
#[test]
fn a_timed_vent_has_the_rate_of_its_ramp() {
    for (to_pa, ramp_to_pa) in [(10_000.0, 10_000.0), (0.0, 0.05)] {
        let pace = Pace::Over(seconds(400.0));
        let mut case = vented([0.0, 0.0, 20_000.0, 30_000.0], 294.0, to_pa, pace);
        case.rules = vec![at_most(0, Quantity::PressureRate, Statistic::Instant, 1e9)];
        near(run(&case).rules[0].worst, (50_000.0 - ramp_to_pa) / 400.0, 1e-9);
    }
}

/// A cabin so large that its air does not change, with 400 Pa of CO2, and a bed of linear sorbent.
fn bed(rate_1_s: f64, half_s: f64, turns: f64, loaded: f64, valves: Valves) -> Case {
    let mut out = case(
        seconds(half_s * turns),
        vec![room(1e12, 295.0, [400.0, 1000.0, 20_000.0, 36_000.0])],
    );
    let none = Isotherm::Linear { slope_mol_kg_pa: 0.0 };
    let removal = Removal::SwingBed(SwingBed {
        flow_m3_s: 1e4,
        bed_kg: 5.0,
        bed_k: 300.0,
        co2: Isotherm::Linear { slope_mol_kg_pa: 2e-3 },
        water: none,
        competition_kg_mol: 0.0,
        rate_1_s: [rate_1_s; 2],
        desorb_pa: [50.0, 0.0],
        half_cycle: seconds(half_s),
        lost_m3: 0.0,
        loaded_mol_kg: [loaded, loaded, 0.0, 0.0],
        valves,
    });
    out.devices = vec![Device {
        serves: 0,
        on: true,
        removal,
        power_w: 0.0,
        capacity: 1.0,
        cycle: None,
    }];
    out
}

/// Swing of a linear driving force in cyclic steady state, (1 - e^-a)(1 - e^-d)/(1 - e^-(a + d)): half cycles of 10 s, of one time
/// constant (factor 0.462117) and of an hour, in which the bed goes from equilibrium to equilibrium.
#[test]
fn a_swing_bed_comes_to_its_cyclic_steady_state() {
    for (rate, half_s) in [(2e-3, 500.0), (1e-2, 3600.0), (1e-2, 10.0)] {
        // From half way between, and then a long time.
        let taken = |turns: f64| run(&bed(rate, half_s, turns, 0.45, Valves::Turning)).devices[0].co2_kg / 0.044_009_5;
        let settled = (40.0 / (rate * half_s)).ceil().max(4.0) * 2.0;
        let a: f64 = rate * half_s;
        let factor = (-a).exp_m1().powi(2) / -(-2.0 * a).exp_m1();
        near(
            (taken(settled + 20.0) - taken(settled)) / 20.0,
            5.0 * 2e-3 * 350.0 * factor,
            2e-4,
        );
    }
}

#[test]
fn a_bed_in_equilibrium_takes_nothing() {
    // 2e-3 mol/kg/Pa times 400 Pa.
    let outcome = run(&bed(2e-3, 500.0, 20.0, 0.8, Valves::Stuck(0)));
    assert!(outcome.devices[0].co2_kg.abs() < 1e-9, "{}", outcome.devices[0].co2_kg);
}

/// Bohart and Adams in time: K tau = N, and of what comes in (1 / K) ln((e^(K t) + e^N - 1) / e^N) seconds' worth passes.
#[test]
fn a_canister_at_constant_inlet_follows_bohart_and_adams() {
    let (flow, capacity, n): (f64, f64, f64) = (0.01, 18.0, 8.0);
    let inlet = flow * 300.0 / (GAS_CONSTANT_J_MOL_K * 295.0);
    let k = n * inlet / capacity;
    for constants in [0.3, 0.9, 1.0, 1.2, 2.0] {
        let t = constants * n / k;
        let air = [300.0, 1000.0, 20_000.0, 36_000.0];
        let mut case = case(seconds(t), vec![room(1e10, 295.0, air)]);
        let removal = Removal::Sorbent {
            flow_m3_s: flow,
            capacity_mol: capacity,
            sharpness: n,
            bypass: 0.0,
            water_per_co2: 1.0,
            heat_j_mol: 90_000.0,
            loaded_mol: 0.0,
            canisters: 0,
        };
        case.devices = vec![Device {
            serves: 0,
            on: true,
            removal,
            power_w: 0.0,
            capacity: 1.0,
            cycle: None,
        }];
        let outcome = run(&case);
        let passed = ((k * t - n).exp() + 1.0 - (-n).exp()).ln() / k;
        near(outcome.devices[0].co2_kg / 0.044_009_5, inlet * (t - passed), 1e-6);
        near(outcome.devices[0].co2_held_kg, outcome.devices[0].co2_kg, 1e-9);
    }
}

/// A timed vent and fill of any number of joined rooms end on the exact amounts, in every one of them.
#[test]
fn joined_rooms_are_vented_and_filled_to_the_exact_pressure() {
    for rooms in 1..=5 {
        let pace = Pace::Over(seconds(300.0));
        let mut case = vented([0.0, 0.0, 20_000.0, 30_000.0], 294.0, 10_000.0, pace);
        for k in 1..rooms {
            case.compartments.push(room(
                2.0 + k as f64,
                288.0 + 3.0 * k as f64,
                [0.0, 0.0, 20_000.0, 30_000.0],
            ));
            case.openings.push(opening(k - 1, k, 0.02));
        }
        let let_out = run(&case);
        case.plan.tasks[0].starts.push(Effect::Fill {
            compartment: 0,
            to_pa: 40_000.0,
            pace,
            oxygen: 0.3,
            oxygen_from: None,
            diluent_from: None,
        });
        let filled = run(&case);
        let per_pa: f64 = case.compartments.iter().map(|room| 1.0 / pa_per_mol(room)).sum();
        for a in 0..rooms {
            near(let_out.state_end[a].pressure_pa, 10_000.0, 1e-12);
            near(filled.state_end[a].pressure_pa, 40_000.0, 1e-12);
        }
        let [_, _, oxygen, diluent] = let_out.totals.vented_kg;
        near(oxygen / 0.031_998_8 + diluent / 0.028_013_4, 40_000.0 * per_pa, 1e-9);
        near(
            filled.totals.oxygen_filled_kg / 0.031_998_8,
            0.3 * 30_000.0 * per_pa,
            1e-9,
        );
    }
}
