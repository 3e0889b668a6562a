//! A whole sortie, from suits off to suits off, against sums on paper.

use super::*;

fn sortie() -> Case {
    let lock = 1;
    let mut case = case(
        8.0,
        vec![
            room(12.0, AIR_PA),
            room(4.0, AIR_PA),
            room(0.06, AIR_PA),
            room(0.06, AIR_PA),
        ],
    );
    case.openings = vec![Opening {
        between: [Place::Compartment(0), Place::Compartment(lock)],
        exchange_m3_s: 0.04,
        open: true,
        opens_within_pa: 700.0,
    }];
    case.people = vec![person(0), person(0)];
    case.holds = vec![Hold {
        compartment: 0,
        oxygen_pa: Some(19_000.0),
        oxygen_by: Regulation::Ideal,
        oxygen_from: Some(0),
        pressure_pa: Some(56_500.0),
        pressure_by: Regulation::Ideal,
        pressure_from: Some(1),
    }];
    let tank = |gas, amount_mol| Tank {
        gas,
        amount_mol,
        residue_mol: 0.0,
        reserve_mol: 0.0,
    };
    case.tanks = vec![
        tank(Species::Oxygen, 400.0),
        tank(Species::Diluent, 400.0),
        tank(Species::Oxygen, 30.0),
        tank(Species::Oxygen, 30.0),
    ];
    for k in 0..2 {
        case.suits.push(Suit {
            wearer: k,
            compartment: 2 + k,
            above_pa: 29_600.0,
            tank: Some(2 + k),
            supply: Some(0),
            ventilation_m3_s: 0.003,
            purge_mol_s: 0.01,
            leak_m3_s: 1e-7,
        });
        case.devices.push(device(
            2 + k,
            Removal::Sorbent {
                flow_m3_s: 0.003,
                capacity_mol: 20.0,
                sharpness: 8.0,
                bypass: 0.0,
                water_per_co2: 1.0,
                heat_j_mol: 9e4,
                loaded_mol: 0.0,
                canisters: 1,
            },
        ));
        case.devices.push(device(
            2 + k,
            Removal::Condenser {
                flow_m3_s: 0.003,
                bypass: 0.0,
                coil_saturation_pa: 900.0,
                coil_temperature_k: 278.0,
                carry_over: 0.0,
            },
        ));
    }
    case.devices.push(device(
        0,
        Removal::FlowThrough {
            flow_m3_s: 0.012,
            co2_efficiency: 0.85,
            water_efficiency: 0.3,
        },
    ));
    let both = [0, 1];
    let place = Place::Compartment(lock);
    let step = |index: usize, lasts: f64, suit: SuitUse, place: Place| {
        let mut task = task(&both, place, 30.0, lasts);
        task.suit = suit;
        task.after = if index == 0 { vec![] } else { vec![index - 1] };
        task
    };
    let mut don = step(0, 40.0, SuitUse::Ventilated, place);
    don.starts = vec![];
    let check = step(1, 8.0, SuitUse::Pressurised, place);
    let purge = step(2, 8.0, SuitUse::Purged, place);
    let breathe = step(3, 20.0, SuitUse::Closed, place);
    let mut depress = step(4, 15.0, SuitUse::Pressurised, place);
    depress.starts = vec![
        Effect::Close(0),
        Effect::Vent {
            compartment: lock,
            to_pa: 0.0,
            pace: Pace::Over(minutes(10.0)),
        },
    ];
    let mut out = step(5, 120.0, SuitUse::Pressurised, Place::Outside);
    out.effort = 1;
    let mut repress = step(6, 5.0, SuitUse::Pressurised, place);
    repress.ends = vec![
        Effect::Fill {
            compartment: lock,
            to_pa: 56_500.0,
            pace: Pace::Over(minutes(4.0)),
            oxygen: 0.34,
            oxygen_from: Some(0),
            diluent_from: Some(1),
        },
        // What the suits let out has raised the cabin.
        Effect::Equalise {
            opening: 0,
            pace: Pace::Over(minutes(1.0)),
        },
        Effect::Open(0),
    ];
    let doff = step(7, 20.0, SuitUse::Off, place);
    case.plan.tasks = vec![don, check, purge, breathe, depress, out, repress, doff];
    case
}

#[test]
fn a_sortie_is_flown() {
    let outcome = run(&sortie());
    assert_eq!(outcome.transfers.len(), 3);
    assert!(outcome.suits.iter().all(|suit| suit.worn_s > 3.0 * 3600.0));
    // Pure oxygen at the suit's pressure outside: nothing but what people and water make of it.
    assert!((outcome.extremes[2].pressure_pa_min - 29_600.0).abs() < 1e-3);
}
