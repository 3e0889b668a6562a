//! The engine against closed forms and printed figures.

use breathroom_sim::air::{GAS_CONSTANT_J_MOL_K, Place, Species, Surface, SurfaceKind};
use breathroom_sim::engine::{Case, Engine, Outcome, Trace};
use breathroom_sim::limits::{Quantity, Statistic};
use breathroom_sim::removal::Removal;
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, at_most, case, condenser, flow_through, hold, hours, load, opening, pa_per_mol, person, room,
    saturation_pa, seconds, steady,
};

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

#[test]
fn a_sealed_room_with_a_constant_source_is_linear() {
    let mut case = alone(hours(12.0), room(6.65, 294.26, CABIN_AIR_PA), load(3e-4, 2.6e-4, 1e-4));
    case.oxygen_floor_pa = 100.0;
    let mut trace = Trace::default();
    Engine::new().run(&case, Some(&mut trace)).unwrap();
    let slope = pa_per_mol(&case.compartments[0]);
    assert!(trace.samples.len() > 100);
    for sample in &trace.samples {
        let (t, is) = (sample.at.seconds(), sample.compartments[0].partial_pa);
        near(is[0], CABIN_AIR_PA[0] + 2.6e-4 * slope * t, 1e-10);
        near(is[1], CABIN_AIR_PA[1] + 1e-4 * slope * t, 1e-10);
        near(is[2], CABIN_AIR_PA[2] - 3e-4 * slope * t, 1e-10);
        near(is[3], CABIN_AIR_PA[3], 1e-10);
    }
}

#[test]
fn a_flow_through_device_leads_to_its_steady_value_exponentially() {
    let mut case = alone(hours(10.0), room(11.5, 295.15, CABIN_AIR_PA), load(1e-5, 2.6e-4, 0.0));
    case.devices = vec![flow_through(0, 0.012, 0.86, 0.0)];
    let mut trace = Trace::default();
    Engine::new().run(&case, Some(&mut trace)).unwrap();
    let steady = 2.6e-4 * GAS_CONSTANT_J_MOL_K * 295.15 / (0.86 * 0.012);
    for sample in &trace.samples {
        let fall = (-0.86 * 0.012 / 11.5 * sample.at.seconds()).exp();
        near(
            sample.compartments[0].partial_pa[0],
            steady + (CABIN_AIR_PA[0] - steady) * fall,
            1e-8,
        );
    }
    near(
        trace.samples.last().unwrap().compartments[0].partial_pa[0],
        steady,
        1e-8,
    );
}

#[test]
fn half_the_efficiency_doubles_steady_value_and_time_constant() {
    let start = [0.0, 1200.0, 18_802.0, 36_498.0];
    // After one time constant of each, both are at the same part of their steady values.
    let at = |efficiency: f64, constants: f64| {
        let tau = 11.5 / (efficiency * 0.012);
        let mut case = alone(
            seconds(tau * constants),
            room(11.5, 295.15, start),
            load(1e-6, 2.6e-4, 0.0),
        );
        case.devices = vec![flow_through(0, 0.012, efficiency, 0.0)];
        run(&case).state_end[0].partial_pa[0]
    };
    for constants in [1.0, 2.5, 30.0] {
        near(at(0.4, constants), 2.0 * at(0.8, constants), 1e-8);
    }
}

#[test]
fn a_condenser_settles_above_its_coils_saturation() {
    let mut case = alone(hours(30.0), room(11.5, 295.15, CABIN_AIR_PA), load(1e-6, 0.0, 1.2e-3));
    case.devices = vec![condenser(0, 0.018, 0.15, 280.15)];
    let steady = saturation_pa(280.15) + 1.2e-3 * GAS_CONSTANT_J_MOL_K * 295.15 / (0.018 * 0.85);
    near(run(&case).state_end[0].partial_pa[1], steady, 1e-8);
}

/// 25 C, 50 % relative humidity, 100 m3/h, bypass 0.2 (derived from m' = Q (1 - b) M (p - p_sat) / (R T); saturation
/// pressures from IAPWS-IF97 equation 30). The room is so large that its air does not change.
#[test]
fn a_condenser_takes_what_its_formula_says() {
    let vapour = 3169.747 / 2.0;
    for (coil_pa, grams) in [(872.575, 414.1), (1402.822, 105.9), (1584.9, 0.0), (2000.0, 0.0)] {
        let air = [60.0, vapour, 21_000.0, 101_325.0 - 21_060.0 - vapour];
        let mut case = case(hours(1.0), vec![room(1e8, 298.15, air)]);
        case.devices = vec![condenser(0, 100.0 / 3600.0, 0.2, 280.0)];
        if let Removal::Condenser { coil_saturation_pa, .. } = &mut case.devices[0].removal {
            *coil_saturation_pa = coil_pa;
        }
        let removed = 1000.0 * run(&case).totals.water_removed_kg;
        assert!(
            (removed - grams).abs() < 0.06,
            "{removed} g at {coil_pa} Pa, not {grams}"
        );
    }
}

#[test]
fn two_open_rooms_of_different_temperature_come_to_one_partial_pressure() {
    let mut case = case(
        hours(10.0),
        vec![room(10.0, 288.0, CABIN_AIR_PA), room(4.0, 303.0, CABIN_AIR_PA)],
    );
    case.compartments[1].partial_pa = [900.0, 700.0, 20_000.0, 34_900.0];
    case.openings = vec![opening(0, 1, 0.02)];
    let outcome = run(&case);
    let capacity = [0, 1].map(|a| 1.0 / pa_per_mol(&case.compartments[a]));
    for s in 0..4 {
        let amount: f64 = (0..2).map(|a| capacity[a] * case.compartments[a].partial_pa[s]).sum();
        for a in 0..2 {
            near(
                outcome.state_end[a].partial_pa[s],
                amount / (capacity[0] + capacity[1]),
                1e-9,
            );
        }
    }
}

/// A cabin of 6.65 m3, two people at 1.846 kg of vapour a day each, 21.1 C, walls as warm, from 40 %: 28.7 min to
/// 100 % (derived).
#[test]
fn a_sealed_room_with_warm_walls_reaches_saturation() {
    let (kelvin, saturation) = (294.25, 2503.436);
    let vapour = 2.0 * 1.846 / 86_400.0 / Species::Water.molar_mass_kg_mol();
    let air = [60.0, 0.4 * saturation, 18_000.0, 15_000.0];
    let mut case = alone(hours(6.0), room(6.65, kelvin, air), load(1e-4, 1e-4, vapour));
    case.compartments[0].saturation_pa = saturation;
    for (kind, conductance_mol_s_pa) in [(SurfaceKind::Wall, 5e-5), (SurfaceKind::Mist, 1e-3)] {
        let surface = Surface {
            kind,
            temperature_k: kelvin,
            saturation_pa: saturation,
            conductance_mol_s_pa,
        };
        case.compartments[0].surfaces.push(surface);
    }
    case.rules = vec![at_most(0, Quantity::Humidity, Statistic::Instant, 1.0)];
    let outcome = run(&case);
    near(outcome.rules[0].first_crossing.unwrap().seconds() / 60.0, 28.7, 1e-2);
    let above = vapour / 1.05e-3 / saturation;
    near(outcome.state_end[0].humidity, 1.0 + above, 1e-6);
    assert!(outcome.totals.water_condensed_kg > 0.5);
}

#[test]
fn two_rooms_with_huge_exchange_are_one_of_twice_the_volume() {
    let one = |rooms: usize| {
        let volume = if rooms == 2 { 6.0 } else { 12.0 };
        let mut case = alone(hours(5.0), room(volume, 295.0, CABIN_AIR_PA), load(3e-4, 2.6e-4, 1e-3));
        if rooms == 2 {
            case.compartments.push(case.compartments[0].clone());
            case.openings = vec![opening(0, 1, 1e6 / 60.0)];
        }
        case.devices = vec![flow_through(0, 0.01, 0.9, 0.3)];
        run(&case).state_end
    };
    let (whole, halves) = (one(1), one(2));
    for s in 0..4 {
        let mean = (halves[0].partial_pa[s] + halves[1].partial_pa[s]) / 2.0;
        near(mean, whole[0].partial_pa[s], 1e-6);
        for half in &halves {
            near(half.partial_pa[s], whole[0].partial_pa[s], 2e-5);
        }
    }
}

/// What a person uses and gives shifts the total pressure; a hold on oxygen and pressure keeps it.
#[test]
fn pressure_drifts_without_a_hold_and_stays_with_one() {
    let mut case = alone(hours(20.0), room(12.0, 295.0, CABIN_AIR_PA), load(3.2e-4, 2.6e-4, 2e-5));
    let total: f64 = CABIN_AIR_PA.iter().sum();
    let drift = (2.6e-4 + 2e-5 - 3.2e-4) * pa_per_mol(&case.compartments[0]);
    let free = run(&case);
    near(free.state_end[0].pressure_pa - total, drift * 72_000.0, 1e-9);
    case.holds = vec![hold(0, None, Some(total))];
    let held = run(&case);
    near(held.state_end[0].pressure_pa, total, 1e-12);
    near(held.extremes[0].pressure_pa_min, total, 1e-12);
    let added = -drift * 72_000.0 / pa_per_mol(&case.compartments[0]);
    near(
        held.totals.diluent_supplied_kg,
        added * Species::Diluent.molar_mass_kg_mol(),
        1e-9,
    );
    // Make-up oxygen alone overcomes the loss: all that is used comes back, and CO2 and vapour come on top.
    case.holds = vec![hold(0, Some(CABIN_AIR_PA[2]), None)];
    let oxygen = run(&case);
    near(oxygen.state_end[0].partial_pa[2], CABIN_AIR_PA[2], 1e-12);
    let used = 3.2e-4 * 72_000.0 * Species::Oxygen.molar_mass_kg_mol();
    near(oxygen.totals.oxygen_supplied_kg, used, 1e-9);
    let rise = (2.6e-4 + 2e-5) * 72_000.0 * pa_per_mol(&case.compartments[0]);
    near(oxygen.state_end[0].pressure_pa - total, rise, 1e-9);
}

/// 200 Pa of oxygen and 500 Pa in all are missing at the start: 200 Pa of oxygen and 300 Pa of diluent are added.
#[test]
fn oxygen_that_is_added_at_once_counts_towards_the_pressure() {
    let mut case = case(hours(1.0), vec![room(12.0, 295.0, CABIN_AIR_PA)]);
    let total: f64 = CABIN_AIR_PA.iter().sum();
    for (hold_pa, diluent_pa) in [(total + 500.0, 300.0), (total + 100.0, 0.0), (total - 100.0, 0.0)] {
        case.holds = vec![hold(0, Some(CABIN_AIR_PA[2] + 200.0), Some(hold_pa))];
        let outcome = run(&case);
        near(outcome.state_end[0].partial_pa[2], CABIN_AIR_PA[2] + 200.0, 1e-12);
        near(outcome.state_end[0].partial_pa[3], CABIN_AIR_PA[3] + diluent_pa, 1e-12);
        let added = diluent_pa / pa_per_mol(&case.compartments[0]) * Species::Diluent.molar_mass_kg_mol();
        assert!(
            (outcome.totals.diluent_supplied_kg - added).abs() < 1e-12,
            "{:?}",
            outcome.totals
        );
    }
}

/// With oxygen and CO2 and water taken out, respiratory quotient below 1: oxygen on, the total pressure holds.
#[test]
fn make_up_and_pressure_hold_together() {
    let mut case = alone(hours(40.0), room(12.0, 295.0, CABIN_AIR_PA), load(3.2e-4, 2.6e-4, 6e-4));
    let total: f64 = CABIN_AIR_PA.iter().sum();
    case.devices = vec![flow_through(0, 0.03, 1.0, 1.0)];
    case.holds = vec![hold(0, Some(CABIN_AIR_PA[2]), Some(total))];
    let outcome = run(&case);
    near(outcome.state_end[0].pressure_pa, total, 1e-12);
    near(outcome.state_end[0].partial_pa[2], CABIN_AIR_PA[2], 1e-12);
}

/// The lag belongs to the person: output after a change of effort follows `e^(-t / 60 s)`, through a hatch and outside.
#[test]
fn output_follows_the_lag_through_places() {
    let mut case = alone(hours(1.0), room(12.0, 295.0, CABIN_AIR_PA), load(3e-4, 2.5e-4, 0.0));
    case.compartments.push(room(5.0, 295.0, CABIN_AIR_PA));
    case.people[0] = person(
        0,
        vec![steady(load(3e-4, 2.5e-4, 0.0)), steady(load(2e-3, 1.8e-3, 0.0))],
    );
    case.plan.effort_space_m3 = vec![1.0; 2];
    case.history_every = seconds(15.0);
    let place = [Place::Compartment(0), Place::Outside, Place::Compartment(1)];
    for (k, place) in place.into_iter().enumerate() {
        let at = seconds(600.0 + 60.0 * k as f64);
        case.plan
            .tasks
            .push(breathroom_tests::cases::task(0, 1, place, at, seconds(60.0)));
    }
    let mut trace = Trace::default();
    let outcome = Engine::new().run(&case, Some(&mut trace)).unwrap();
    for sample in &trace.samples {
        let t = sample.at.seconds();
        let up = |t: f64| 1.8e-3 + (2.5e-4 - 1.8e-3) * (-(t - 600.0) / 60.0).exp();
        let should = match t {
            t if t < 600.0 => 2.5e-4,
            t if t < 780.0 => up(t),
            t => 2.5e-4 + (up(780.0) - 2.5e-4) * (-(t - 780.0) / 60.0).exp(),
        };
        near(sample.people[0].co2_mol_s, should, 1e-12);
    }
    // The minute outside is not given to the cabin.
    let made = |a: f64, b: f64| {
        1.8e-3 * (b - a) + (2.5e-4 - 1.8e-3) * 60.0 * ((-(a - 600.0) / 60.0).exp() - (-(b - 600.0) / 60.0).exp())
    };
    let second = made(720.0, 780.0);
    let rise = outcome.state_end[1].partial_pa[0] - CABIN_AIR_PA[0];
    near(rise, second * pa_per_mol(&case.compartments[1]), 1e-9);
}
