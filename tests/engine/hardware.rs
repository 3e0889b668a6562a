//! Whole cases with real hardware, hand-made and random, against the independent integration of `hardware` (checked on closed
//! forms there).

use breathroom_sim::air::{
    Heat, Hold, Insulation, Outside, Place, Regulation, Relief, Species, Surface, SurfaceKind, Tank, WallHeat,
};
use breathroom_sim::crew::Load;
use breathroom_sim::engine::{Case, Engine, RunError, TransferKind};
use breathroom_sim::removal::{Device, Isotherm, Removal, SwingBed, Valves};
use breathroom_sim::timeline::{Effect, Pace};
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, case, flow_through, hold, hours, load, minutes, opening, person, room, seconds, steady, task,
};
use breathroom_tests::hardware::compare::disagreements;
use breathroom_tests::hardware::random::{self, ZEOLITE_CO2, ZEOLITE_WATER};

pub fn agree(case: &Case) {
    let text = disagreements(case);
    assert!(text.is_empty(), "{text}");
}

/// Fails with the first disagreements of every seed that has some.
fn all_agree(seeds: std::ops::Range<u64>) {
    let mut text = String::new();
    for seed in seeds {
        let found = disagreements(&random::case(seed));
        if !found.is_empty() {
            let first: Vec<&str> = found.lines().take(4).collect();
            text += &format!(
                "seed {seed}: {} disagreements\n  {}\n",
                found.lines().count(),
                first.join("\n  ")
            );
        }
    }
    assert!(text.is_empty(), "{text}");
}

fn device(removal: Removal, power_w: f64) -> Device {
    Device {
        capacity: 1.0,
        serves: 0,
        on: true,
        removal,
        power_w,
        cycle: None,
    }
}

pub fn tank(gas: Species, amount_mol: f64) -> Tank {
    Tank {
        gas,
        amount_mol,
        residue_mol: 0.02 * amount_mol,
        reserve_mol: 0.2 * amount_mol,
    }
}

/// Two people in a cabin of 25 m3, who work in turn.
fn crew(duration_h: f64) -> Case {
    let mut out = case(hours(duration_h), vec![room(25.0, 295.0, CABIN_AIR_PA)]);
    let rest = Load {
        sensible_w: 90.0,
        ..load(3.1e-4, 2.7e-4, 8e-4)
    };
    let work = Load {
        sensible_w: 160.0,
        ..load(1.1e-3, 1e-3, 2e-3)
    };
    out.people = vec![person(0, vec![steady(rest), steady(work)]); 2];
    out.plan.effort_space_m3 = vec![1.0, 2.0];
    for p in 0..2 {
        let at = minutes(37.0 + 140.0 * p as f64);
        out.plan
            .tasks
            .push(task(p, 1, Place::Compartment(0), at, minutes(95.0)));
    }
    out.holds = vec![hold(0, Some(18_700.0), None)];
    out
}

fn zeolite(valves: Valves) -> SwingBed {
    SwingBed {
        flow_m3_s: 0.012,
        bed_kg: 4.0,
        bed_k: 298.15,
        co2: ZEOLITE_CO2,
        water: ZEOLITE_WATER,
        competition_kg_mol: 0.2,
        rate_1_s: [2e-3, 1e-3],
        desorb_pa: [20.0, 10.0],
        half_cycle: seconds(611.0),
        lost_m3: 0.004,
        loaded_mol_kg: [0.2, 0.4, 0.5, 0.6],
        valves,
    }
}

#[test]
fn a_zeolite_swing_bed_for_two() {
    let mut case = crew(12.0);
    case.devices = vec![device(Removal::SwingBed(zeolite(Valves::Turning)), 40.0)];
    agree(&case);
}

#[test]
fn a_swing_bed_whose_valve_is_stuck_or_shut_or_that_rests() {
    let amine = |valves| SwingBed {
        co2: Isotherm::Langmuir {
            most_mol_kg: 1.6,
            half_pa: 400.0,
        },
        water: Isotherm::Linear { slope_mol_kg_pa: 1e-3 },
        competition_kg_mol: 0.0,
        ..zeolite(valves)
    };
    for valves in [Valves::Turning, Valves::Stuck(0), Valves::Stuck(1), Valves::Isolated(1)] {
        let mut case = crew(3.0);
        case.devices = vec![device(Removal::SwingBed(amine(valves)), 0.0)];
        case.plan.tasks[0].starts = vec![Effect::SwitchOff(0)];
        case.plan.tasks[0].ends = vec![Effect::SwitchOn(0)];
        agree(&case);
    }
}

fn hydroxide(capacity_mol: f64, canisters: u32) -> Removal {
    Removal::Sorbent {
        flow_m3_s: 0.012,
        capacity_mol,
        sharpness: 12.0,
        bypass: 0.03,
        water_per_co2: 1.0,
        heat_j_mol: 89_300.0,
        loaded_mol: 1.5,
        canisters,
    }
}

/// Heat and moisture of two people, equipment and lithium hydroxide, taken by a condenser and by the wall.
#[test]
fn a_canister_changed_half_way_in_a_cabin_with_heat() {
    let mut case = crew(12.0);
    let cabin = &mut case.compartments[0];
    let wall_k = 289.0;
    cabin.heat = Some(Heat {
        equipment_w: 250.0,
        wall: Some(WallHeat {
            temperature_k: wall_k,
            to_air_w_k: 90.0,
            capacity_j_k: 3e5,
            insulation: Insulation::Conductance(4.0),
            surroundings_k: 245.0,
        }),
    });
    cabin.surfaces = vec![Surface {
        kind: SurfaceKind::Wall,
        temperature_k: wall_k,
        saturation_pa: breathroom_sim::air::saturation_pa(wall_k),
        conductance_mol_s_pa: 1.5e-5,
    }];
    let condenser = Removal::Condenser {
        flow_m3_s: 0.03,
        bypass: 0.2,
        coil_saturation_pa: breathroom_sim::air::saturation_pa(280.0),
        coil_temperature_k: 280.0,
        carry_over: 0.05,
    };
    case.devices = vec![device(hydroxide(16.0, 1), 30.0), device(condenser, 60.0)];
    let mut change = task(0, 0, Place::Compartment(0), hours(6.0), minutes(10.0));
    change.starts = vec![Effect::ChangeCanister(0)];
    let mut again = task(0, 0, Place::Compartment(0), hours(9.0), minutes(10.0));
    again.starts = vec![Effect::ChangeCanister(0)];
    case.plan.tasks.extend([change, again]);
    agree(&case);
    let outcome = Engine::new().run(&case, None).unwrap();
    assert_eq!(outcome.devices[0].canisters_spent, 1, "there was one in stock");
    // Radiation instead, no condenser: the wall gets wet and warm.
    case.devices.pop();
    let heat = case.compartments[0].heat.as_mut().unwrap();
    heat.wall.as_mut().unwrap().insulation = Insulation::Emittance(1.5);
    agree(&case);
}

/// The cabin of `crew`, a lock of 4 m3 behind hatch 0, a side room that is open, and tanks of oxygen and diluent.
pub fn with_lock(duration_h: f64) -> Case {
    let mut out = crew(duration_h);
    out.compartments.push(room(4.0, 293.0, CABIN_AIR_PA));
    out.compartments.push(room(9.0, 296.5, CABIN_AIR_PA));
    out.openings = vec![opening(0, 1, 0.02), opening(0, 2, 0.03)];
    out.openings[0].opens_within_pa = 2000.0;
    out.devices = vec![flow_through(0, 0.015, 0.9, 0.3)];
    out.tanks = vec![tank(Species::Oxygen, 250.0), tank(Species::Diluent, 250.0)];
    out
}

/// Effects of a task of the first person in the cabin, at 20 min; the hatch is closed first.
fn lock_work(case: &mut Case, mut effects: Vec<Effect>) {
    effects.insert(0, Effect::Close(0));
    let mut work = task(0, 0, Place::Compartment(0), minutes(20.3), minutes(5.0));
    work.starts = effects;
    case.plan.tasks.push(work);
}

pub fn vent(to_pa: f64, pace: Pace) -> Effect {
    Effect::Vent {
        compartment: 1,
        to_pa,
        pace,
    }
}

pub fn fill(to_pa: f64, pace: Pace) -> Effect {
    Effect::Fill {
        compartment: 1,
        to_pa,
        pace,
        oxygen: 0.34,
        oxygen_from: Some(0),
        diluent_from: Some(1),
    }
}

#[test]
fn a_lock_is_vented_and_filled_from_tanks() {
    let paces = [
        (Pace::Over(minutes(7.0)), Pace::Over(minutes(4.0))),
        (Pace::Through(8e-5), Pace::At(0.3)),
    ];
    for (out, back) in paces {
        for low in [13_000.0, 0.0] {
            let mut case = with_lock(3.0);
            lock_work(&mut case, vec![vent(low, out), fill(56_000.0, back), Effect::Open(0)]);
            agree(&case);
            let outcome = Engine::new().run(&case, None).unwrap();
            let kinds: Vec<TransferKind> = outcome.transfers.iter().map(|t| t.kind).collect();
            assert_eq!(kinds, [TransferKind::Vent, TransferKind::Fill]);
        }
    }
    // It stays open to the vacuum.
    let mut case = with_lock(2.0);
    lock_work(&mut case, vec![vent(0.0, Pace::Over(minutes(7.0)))]);
    agree(&case);
    // A tank that runs dry ends the fill short: the hatch cannot be opened.
    let mut case = with_lock(3.0);
    case.tanks[1] = tank(Species::Diluent, 20.0);
    lock_work(
        &mut case,
        vec![vent(5000.0, Pace::Through(1e-4)), fill(56_000.0, Pace::At(0.2))],
    );
    agree(&case);
    case.plan.tasks[2].starts.push(Effect::Open(0));
    assert!(matches!(
        Engine::new().run(&case, None),
        Err(RunError::HatchAgainstPressure { opening: 0, .. })
    ));
    agree(&case);
}

#[test]
fn nobody_is_vented_without_a_suit() {
    let mut case = with_lock(2.0);
    case.plan.tasks[0].place = Place::Compartment(1);
    let mut work = task(1, 0, Place::Compartment(0), minutes(60.0), minutes(5.0));
    work.starts = vec![Effect::Close(0), vent(0.0, Pace::Over(minutes(5.0)))];
    case.plan.tasks.push(work);
    assert!(matches!(
        Engine::new().run(&case, None),
        Err(RunError::Unsuited {
            compartment: 1,
            person: 0,
            ..
        })
    ));
    agree(&case);
}

#[test]
fn a_joined_cabin_is_vented_through_one_room() {
    // The side room is joined to the lock, and nobody is in either.
    let mut case = with_lock(2.0);
    case.openings[1].between = [Place::Compartment(1), Place::Compartment(2)];
    for effects in [
        vec![vent(20_000.0, Pace::Over(minutes(8.0))), fill(50_000.0, Pace::At(0.4))],
        vec![
            vent(20_000.0, Pace::Through(1e-4)),
            fill(50_000.0, Pace::Over(minutes(6.0))),
        ],
    ] {
        let mut case = case.clone();
        lock_work(&mut case, effects);
        agree(&case);
    }
}

#[test]
fn rooms_are_equalised_by_time_and_by_area() {
    for pace in [Pace::Over(minutes(4.0)), Pace::Through(5e-5)] {
        for effects in [
            vec![vent(25_000.0, Pace::Over(minutes(6.0)))],
            vec![fill(70_000.0, Pace::At(0.2))],
        ] {
            let mut case = with_lock(3.0);
            let mut effects = effects;
            effects.extend([Effect::Equalise { opening: 0, pace }, Effect::Open(0)]);
            lock_work(&mut case, effects);
            agree(&case);
            // A cabin whose pressure is held gives what the lock takes.
            case.holds[0].pressure_pa = Some(56_000.0);
            case.holds[0].pressure_from = Some(1);
            agree(&case);
        }
    }
}

#[test]
fn a_tank_runs_dry_under_a_hold() {
    for by in [
        Regulation::Ideal,
        Regulation::Limited { most_mol_s: 2e-3 },
        Regulation::Proportional {
            gain_mol_s_pa: 1e-5,
            most_mol_s: f64::INFINITY,
        },
    ] {
        let mut case = crew(9.0);
        case.compartments[0].leak_m3_s = 2e-5;
        case.devices = vec![flow_through(0, 0.012, 0.9, 0.6)];
        case.tanks = vec![tank(Species::Oxygen, 9.0), tank(Species::Diluent, 6.0)];
        case.holds = vec![Hold {
            oxygen_by: by,
            oxygen_from: Some(0),
            pressure_by: by,
            pressure_from: Some(1),
            ..hold(0, Some(18_750.0), Some(56_450.0))
        }];
        agree(&case);
        let outcome = Engine::new().run(&case, None).unwrap();
        assert!(outcome.tanks.iter().all(|t| t.dry_at.is_some()), "{by:?}");
    }
}

#[test]
fn regulators_of_every_kind() {
    let kinds = [
        Regulation::Limited { most_mol_s: 8e-4 },
        Regulation::Band {
            width_pa: 150.0,
            flow_mol_s: 4e-3,
        },
        Regulation::Proportional {
            gain_mol_s_pa: 8e-6,
            most_mol_s: 1e-3,
        },
    ];
    for by in kinds {
        let mut case = crew(6.0);
        case.compartments[0].leak_m3_s = 3e-5;
        case.devices = vec![flow_through(0, 0.01, 0.9, 0.5)];
        case.tanks = vec![tank(Species::Oxygen, 900.0), tank(Species::Diluent, 900.0)];
        case.holds = vec![Hold {
            oxygen_by: by,
            oxygen_from: Some(0),
            pressure_by: by,
            pressure_from: Some(1),
            ..hold(0, Some(18_700.0), Some(56_400.0))
        }];
        agree(&case);
        // A pressure hold that lets oxygen in.
        case.holds[0].oxygen_pa = None;
        case.holds[0].pressure_from = Some(0);
        agree(&case);
    }
}

#[test]
fn leaks_and_relief_through_orifices() {
    let air = [45.0, 1000.0, 21_000.0, 79_280.0];
    for outside in [[0.0; 4], air] {
        for (start, leak_m2) in [(1.15, 1e-7), (0.9, 1e-7), (1.15, 4e-6)] {
            let mut case = alone(
                hours(4.0),
                room(12.0, 295.0, air.map(|p| start * p)),
                load(4e-4, 1.5e-3, 1e-3),
            );
            case.outside = Outside {
                partial_pa: outside,
                temperature_k: 288.0,
            };
            case.compartments[0].leak_area_m2 = leak_m2;
            case.compartments[0].relief = Some(Relief {
                opens_pa: 1.12 * 101_325.0,
                closes_pa: 1.08 * 101_325.0,
                area_m2: 2e-5,
            });
            agree(&case);
        }
    }
}

#[test]
fn random_cases_with_hardware() {
    all_agree(0..12);
}

#[test]
fn more_random_cases_with_hardware() {
    all_agree(100..112);
}

#[test]
fn the_ledgers_of_random_cases_close() {
    let mut done = 0;
    for seed in 200..230 {
        let Ok(outcome) = Engine::new().run(&random::case(seed), None) else {
            continue;
        };
        done += 1;
        let balance = &outcome.balance;
        for residual in [balance.carbon, balance.oxygen, balance.water, balance.diluent] {
            assert!(residual.abs() < 1e-9, "seed {seed}: {balance:?}");
        }
    }
    assert!(done > 20, "{done} done");
}
