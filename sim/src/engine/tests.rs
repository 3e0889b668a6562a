//! The engine on cases small enough to check by hand.

use crate::air::{Compartment, GAS_CONSTANT_J_MOL_K, Outside, Place, Species};
use crate::crew::{Load, Person, Profile, Stage};
use crate::removal::{Device, Removal};
use crate::timeline::Plan;
use crate::units::Time;

use super::{Case, End, Engine};

fn room(volume_m3: f64) -> Compartment {
    Compartment {
        volume_m3,
        usable_m3: volume_m3,
        temperature_k: 295.0,
        partial_pa: [0.0, 1000.0, 20_000.0, 40_000.0],
        saturation_pa: 2600.0,
        ..Compartment::default()
    }
}

fn person(load: Load) -> Person {
    Person {
        gas_lag_s: 60.0,
        start: Place::Compartment(0),
        home: None,
        tissue_pa: None,
        idle: 0,
        profiles: vec![Profile {
            stages: vec![Stage { lasts: None, load }],
            sweat_lag: false,
            towel: false,
        }],
    }
}

fn case(hours: f64) -> Case {
    Case {
        duration: Time::from_seconds(hours * 3600.0),
        history_every: Time::from_seconds(300.0),
        compartments: vec![room(10.0)],
        outside: Outside::default(),
        people: vec![person(Load {
            co2_mol_s: 2e-4,
            oxygen_mol_s: 2.2e-4,
            ..Load::default()
        })],
        plan: Plan {
            effort_space_m3: vec![1.0],
            ..Plan::default()
        },
        towel_drying_s: 3600.0,
        ..Case::default()
    }
}

#[test]
fn a_sealed_room_fills_in_a_straight_line() {
    let outcome = Engine::new().run(&case(5.0), None).unwrap();
    let expected = 2e-4 * 5.0 * 3600.0 * GAS_CONSTANT_J_MOL_K * 295.0 / 10.0;
    assert!((outcome.state_end[0].partial_pa[0] / expected - 1.0).abs() < 1e-12);
    assert!(outcome.balance.carbon.abs() < 1e-14 && outcome.balance.oxygen.abs() < 1e-14);
    assert_eq!(outcome.end, End::Completed);
}

#[test]
fn a_scrubber_brings_it_to_the_steady_value() {
    let mut case = case(100.0);
    let removal = Removal::FlowThrough {
        flow_m3_s: 0.01,
        co2_efficiency: 0.8,
        water_efficiency: 0.0,
    };
    case.devices.push(Device {
        serves: 0,
        on: true,
        power_w: 0.0,
        capacity: 1.0,
        removal,
        cycle: None,
    });
    let outcome = Engine::new().run(&case, None).unwrap();
    let expected = 2e-4 * GAS_CONSTANT_J_MOL_K * 295.0 / (0.8 * 0.01);
    assert!((outcome.extremes[0].co2_pa_max / expected - 1.0).abs() < 1e-12);
    let made = outcome.totals.co2_made_kg;
    assert!((made - 2e-4 * 360_000.0 * Species::Co2.molar_mass_kg_mol()).abs() < 1e-12);
    assert!(outcome.balance.carbon.abs() < 1e-12);
}
