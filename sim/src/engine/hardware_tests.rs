//! Hardware on cases whose answers are known on paper.

use crate::air::{
    CP_J_MOL_K, Compartment, GAS_CONSTANT_J_MOL_K, Heat, Hold, Insulation, Opening, Place, Regulation, Relief, Species,
    Tank, WallHeat, heat_ratio, mean_molar_mass,
};
use crate::crew::{Load, Person, Profile, Stage, Suit};
use crate::removal::{Device, Isotherm, Removal, SwingBed, Valves};
use crate::timeline::{Effect, Pace, Plan, SuitUse, Task};
use crate::units::Time;

mod sortie;

use super::{Case, Engine, Outcome, TransferKind};

const AIR_PA: [f64; 4] = [60.0, 1000.0, 19_000.0, 36_440.0];
const ROOM_K: f64 = 295.0;

fn minutes(minutes: f64) -> Time {
    Time::from_seconds(60.0 * minutes)
}

fn room(volume_m3: f64, partial_pa: [f64; 4]) -> Compartment {
    Compartment {
        volume_m3,
        usable_m3: volume_m3,
        temperature_k: ROOM_K,
        partial_pa,
        saturation_pa: 2600.0,
        ..Compartment::default()
    }
}

fn person(place: usize) -> Person {
    let load = |watts: f64| Load {
        oxygen_mol_s: 2.2e-6 * watts,
        co2_mol_s: 1.9e-6 * watts,
        vapour_mol_s: 5e-6 * watts,
        sensible_w: 0.6 * watts,
        ..Load::default()
    };
    let profile = |watts| Profile {
        stages: vec![Stage {
            lasts: None,
            load: load(watts),
        }],
        sweat_lag: false,
        towel: false,
    };
    Person {
        gas_lag_s: 60.0,
        start: Place::Compartment(place),
        home: None,
        tissue_pa: None,
        idle: 0,
        profiles: vec![profile(110.0), profile(300.0)],
    }
}

fn case(hours: f64, compartments: Vec<Compartment>) -> Case {
    Case {
        duration: minutes(60.0 * hours),
        history_every: minutes(5.0),
        compartments,
        plan: Plan {
            effort_space_m3: vec![1.0, 1.0],
            ..Plan::default()
        },
        towel_drying_s: 3600.0,
        ..Case::default()
    }
}

fn task(people: &[usize], place: Place, at: f64, lasts: f64) -> Task {
    Task {
        entry: 0,
        turn: 1,
        people: people.to_vec(),
        effort: 0,
        place,
        earliest: minutes(at),
        after: Vec::new(),
        duration: minutes(lasts),
        needs: Vec::new(),
        suit: SuitUse::Off,
        needs_space: false,
        starts: Vec::new(),
        ends: Vec::new(),
        interrupted: crate::timeline::Interrupted::Resumes,
        on_call: false,
    }
}

fn run(case: &Case) -> Outcome {
    let outcome = Engine::new().run(case, None).unwrap();
    let balance = outcome.balance;
    for (what, residual) in [
        ("carbon", balance.carbon),
        ("oxygen", balance.oxygen),
        ("water", balance.water),
        ("diluent", balance.diluent),
    ] {
        assert!(residual.abs() < 1e-9, "{what}: {residual}");
    }
    outcome
}

fn device(serves: usize, removal: Removal) -> Device {
    Device {
        serves,
        on: true,
        power_w: 0.0,
        capacity: 1.0,
        removal,
        cycle: None,
    }
}

#[test]
fn gas_leaves_through_a_choked_orifice_exponentially() {
    let mut case = case(0.2, vec![room(4.0, AIR_PA)]);
    let area = 2e-4;
    let mut venting = task(&[], Place::Compartment(0), 0.0, 5.0);
    venting.starts = vec![Effect::Vent {
        compartment: 0,
        to_pa: 20_000.0,
        pace: Pace::Through(area),
    }];
    case.plan.tasks.push(venting);
    let outcome = run(&case);
    let (gamma, mass) = (heat_ratio(&AIR_PA), mean_molar_mass(&AIR_PA));
    let psi = libm::sqrt(gamma) * libm::pow(2.0 / (gamma + 1.0), (gamma + 1.0) / (2.0 * (gamma - 1.0)));
    // n' = A P psi / sqrt(R T M), n = P V / (R T).
    let tau = 4.0 / (area * psi) * libm::sqrt(mass / (GAS_CONSTANT_J_MOL_K * ROOM_K));
    let expected = tau * libm::log(56_500.0 / 20_000.0);
    let transfer = outcome.transfers[0];
    let took = (transfer.ended.unwrap() - transfer.began).seconds();
    assert!((took - expected).abs() < 1e-6, "{took} {expected}");
    assert!((outcome.state_end[0].pressure_pa - 20_000.0).abs() < 1e-6);
    assert!((outcome.state_end[0].partial_pa[2] - 19_000.0 * 20.0 / 56.5).abs() < 1e-6);
}

#[test]
fn a_timed_vent_and_fill_end_on_the_exact_amounts() {
    let mut case = case(1.0, vec![room(4.0, AIR_PA)]);
    case.tanks = vec![
        Tank {
            gas: Species::Oxygen,
            amount_mol: 100.0,
            residue_mol: 1.0,
            reserve_mol: 0.0,
        },
        Tank {
            gas: Species::Diluent,
            amount_mol: 100.0,
            residue_mol: 1.0,
            reserve_mol: 0.0,
        },
    ];
    let mut venting = task(&[], Place::Compartment(0), 5.0, 20.0);
    venting.starts = vec![Effect::Vent {
        compartment: 0,
        to_pa: 0.0,
        pace: Pace::Over(minutes(10.0)),
    }];
    venting.ends = vec![Effect::Fill {
        compartment: 0,
        to_pa: 50_000.0,
        pace: Pace::Over(minutes(4.0)),
        oxygen: 0.34,
        oxygen_from: Some(0),
        diluent_from: Some(1),
    }];
    case.plan.tasks.push(venting);
    let outcome = run(&case);
    let capacity = 4.0 / (GAS_CONSTANT_J_MOL_K * ROOM_K);
    let [vent, fill] = outcome.transfers[..] else {
        panic!("{:?}", outcome.transfers)
    };
    assert_eq!((vent.kind, fill.kind), (TransferKind::Vent, TransferKind::Fill));
    assert_eq!(vent.ended.unwrap(), minutes(15.0));
    assert_eq!(fill.ended.unwrap(), minutes(29.0));
    assert_eq!(outcome.schedule.ended[0], Some(minutes(29.0)));
    assert_eq!(vent.to_pa, 0.0);
    for (i, species) in Species::ALL.into_iter().enumerate() {
        let lost = AIR_PA[i] * capacity * species.molar_mass_kg_mol();
        assert!(
            (vent.gas_kg[i] - lost).abs() < 1e-12,
            "{species:?}: {} {lost}",
            vent.gas_kg[i]
        );
    }
    let end = outcome.state_end[0];
    assert!((end.pressure_pa - 50_000.0).abs() < 1e-8);
    assert!((end.partial_pa[2] - 17_000.0).abs() < 1e-8 && end.partial_pa[0] == 0.0);
    let oxygen = 17_000.0 * capacity * Species::Oxygen.molar_mass_kg_mol();
    assert!((outcome.tanks[0].used_kg - oxygen).abs() < 1e-12);
}

#[test]
fn a_tank_runs_dry_when_its_gas_is_used() {
    let mut case = case(10.0, vec![room(10.0, AIR_PA)]);
    case.people = vec![person(0)];
    case.oxygen_floor_pa = 5000.0;
    case.holds = vec![Hold {
        compartment: 0,
        oxygen_pa: Some(19_000.0),
        oxygen_by: Regulation::Ideal,
        oxygen_from: Some(0),
        pressure_pa: None,
        pressure_by: Regulation::Ideal,
        pressure_from: None,
    }];
    let use_mol_s = 2.2e-6 * 110.0;
    case.tanks = vec![Tank {
        gas: Species::Oxygen,
        amount_mol: use_mol_s * 5.0 * 3600.0 + 2.0,
        residue_mol: 2.0,
        reserve_mol: use_mol_s * 3600.0 + 2.0,
    }];
    let outcome = run(&case);
    let tank = outcome.tanks[0];
    assert!((tank.dry_at.unwrap().seconds() - 5.0 * 3600.0).abs() < 1e-3, "{tank:?}");
    assert!(
        (tank.reserve_at.unwrap().seconds() - 4.0 * 3600.0).abs() < 1e-3,
        "{tank:?}"
    );
    let fallen = use_mol_s * 5.0 * 3600.0 * GAS_CONSTANT_J_MOL_K * ROOM_K / 10.0;
    assert!((outcome.state_end[0].partial_pa[2] - (19_000.0 - fallen)).abs() < 1e-4);
}

#[test]
fn regulators_hold_band_and_follow() {
    let use_mol_s = 2.2e-6 * 110.0;
    let with = |by| {
        let mut case = case(6.0, vec![room(10.0, AIR_PA)]);
        case.people = vec![person(0)];
        case.holds = vec![Hold {
            compartment: 0,
            oxygen_pa: Some(19_000.0),
            oxygen_by: by,
            oxygen_from: None,
            pressure_pa: None,
            pressure_by: Regulation::Ideal,
            pressure_from: None,
        }];
        run(&case)
    };
    let per_mol = GAS_CONSTANT_J_MOL_K * ROOM_K / 10.0;
    let limited = with(Regulation::Limited {
        most_mol_s: 0.5 * use_mol_s,
    });
    let lacks = 0.5 * use_mol_s * 6.0 * 3600.0 * per_mol;
    assert!((limited.state_end[0].partial_pa[2] - (19_000.0 - lacks)).abs() < 1e-5);
    let enough = with(Regulation::Limited {
        most_mol_s: 2.0 * use_mol_s,
    });
    assert!((enough.state_end[0].partial_pa[2] - 19_000.0).abs() < 1e-8);
    let band = with(Regulation::Band {
        width_pa: 300.0,
        flow_mol_s: 5.0 * use_mol_s,
    });
    assert!(
        (band.extremes[0].oxygen_pa_min - 18_700.0).abs() < 1e-4,
        "{:?}",
        band.extremes[0]
    );
    assert!((band.extremes[0].oxygen_pa_max - 19_000.0).abs() < 1e-4);
    let proportional = with(Regulation::Proportional {
        gain_mol_s_pa: use_mol_s / 100.0,
        most_mol_s: f64::INFINITY,
    });
    let steady = 100.0 * (1.0 - libm::exp(-use_mol_s / 100.0 * per_mol * 6.0 * 3600.0));
    let lack = 19_000.0 - proportional.state_end[0].partial_pa[2];
    assert!((lack - steady).abs() < 1e-5, "{lack} {steady}");
}

#[test]
fn a_relief_valve_keeps_the_pressure_between_its_set_points() {
    let mut room = room(10.0, AIR_PA);
    room.relief = Some(Relief {
        opens_pa: 57_000.0,
        closes_pa: 56_600.0,
        area_m2: 1e-6,
    });
    let mut case = case(24.0, vec![room]);
    let mut given = person(0);
    given.profiles[0].stages[0].load = Load {
        co2_mol_s: 2e-4,
        ..Load::default()
    };
    case.people = vec![given];
    let outcome = run(&case);
    assert!((outcome.extremes[0].pressure_pa_max - 57_000.0).abs() < 1e-3);
    assert!(outcome.totals.relieved_kg[3] > 0.0);
    assert!(outcome.state_end[0].pressure_pa > 56_599.0);
}

#[test]
fn a_pair_of_beds_works_and_its_books_close() {
    let mut case = case(48.0, vec![room(12.0, AIR_PA)]);
    case.people = vec![person(0), person(0)];
    case.holds = vec![Hold {
        compartment: 0,
        oxygen_pa: Some(19_000.0),
        oxygen_by: Regulation::Ideal,
        oxygen_from: None,
        pressure_pa: Some(56_500.0),
        pressure_by: Regulation::Ideal,
        pressure_from: None,
    }];
    case.devices.push(device(
        0,
        Removal::SwingBed(SwingBed {
            flow_m3_s: 0.012,
            bed_kg: 3.0,
            bed_k: ROOM_K,
            co2: Isotherm::ZEOLITE_5A_CO2,
            water: Isotherm::ZEOLITE_5A_WATER,
            competition_kg_mol: 0.3,
            rate_1_s: [4e-3, 4e-3],
            desorb_pa: [0.0, 0.0],
            half_cycle: minutes(6.5),
            lost_m3: 0.001,
            loaded_mol_kg: [0.0; 4],
            valves: Valves::Turning,
        }),
    ));
    let outcome = run(&case);
    assert_eq!(outcome.devices[0].turns, 443);
    assert!(outcome.devices[0].co2_kg > 0.5);
    assert!(outcome.balance.carbon.abs() < 1e-10);
}

#[test]
fn air_relaxes_to_its_wall() {
    let mut heated = room(10.0, [0.0, 0.0, 19_000.0, 37_500.0]);
    heated.heat = Some(Heat {
        equipment_w: 100.0,
        wall: Some(WallHeat {
            temperature_k: 290.0,
            to_air_w_k: 50.0,
            capacity_j_k: 1e9,
            insulation: Insulation::Conductance(0.0),
            surroundings_k: 250.0,
        }),
    });
    let outcome = run(&case(2.0, vec![heated]));
    // The wall hardly moves: T tends to 290 K + 100 W / 50 W/K, with C / h A.
    let per_k = 10.0 / (GAS_CONSTANT_J_MOL_K * ROOM_K);
    let capacity = per_k * (19_000.0 * CP_J_MOL_K[2] + 37_500.0 * CP_J_MOL_K[3]);
    let expected = 292.0 + 3.0 * libm::exp(-7200.0 / (capacity / 50.0));
    let end = outcome.state_end[0];
    assert!(
        (end.temperature_k - expected).abs() < 1e-3,
        "{} {expected}",
        end.temperature_k
    );
    assert!((end.pressure_pa - 56_500.0 * end.temperature_k / ROOM_K).abs() < 1e-3);
}

#[test]
fn a_fill_ends_short_when_its_tank_is_dry() {
    let mut case = case(1.0, vec![room(4.0, AIR_PA)]);
    let tank = |gas, amount_mol| Tank {
        gas,
        amount_mol,
        residue_mol: 0.0,
        reserve_mol: 0.0,
    };
    case.tanks = vec![tank(Species::Oxygen, 100.0), tank(Species::Diluent, 10.0)];
    for pace in [Pace::At(0.2), Pace::Over(minutes(4.0))] {
        let mut case = case.clone();
        let mut filling = task(&[], Place::Compartment(0), 5.0, 20.0);
        filling.starts = vec![Effect::Fill {
            compartment: 0,
            to_pa: 90_000.0,
            pace,
            oxygen: 0.3,
            oxygen_from: Some(0),
            diluent_from: Some(1),
        }];
        case.plan.tasks.push(filling);
        let outcome = run(&case);
        let fill = outcome.transfers[0];
        assert!(fill.short, "{fill:?}");
        let let_in = 10.0 / 0.7;
        assert!((outcome.tanks[1].left_kg).abs() < 1e-9, "{:?}", outcome.tanks);
        let per_mol = GAS_CONSTANT_J_MOL_K * ROOM_K / 4.0;
        assert!((fill.to_pa - 56_500.0 - let_in * per_mol).abs() < 1e-4, "{fill:?}");
    }
}
