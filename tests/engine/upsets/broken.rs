//! Failures that are no number: what stands still, stays as it is, or is lost at once.

use breathroom_sim::engine::Case;
use breathroom_sim::limits::{Quantity, Statistic};
use breathroom_sim::removal::{Removal, SwingBed, Valves};
use breathroom_sim::timeline::Effect;
use breathroom_sim::upset::{Broken, By, Change, Ends, Fault, Onset, Shape, Target};
use breathroom_tests::cases::{CABIN_AIR_PA, alone, at_most, hold, hours, load, minutes, pa_per_mol, room, task};

use super::faults::{cabin, follows, much};
use super::{near, on, run, run_with_log};

#[test]
fn a_device_that_is_off_for_a_fault_cannot_be_switched_on() {
    let mut case = cabin(0.9, 0.012);
    case.faults = vec![Fault {
        changes: vec![Change::Broken(Broken::DeviceOff(0))],
        onset: Onset::At(hours(1.0)),
        shape: Shape::Step,
        ends: Ends::After(hours(2.0)),
    }];
    let mut switch = task(
        0,
        0,
        breathroom_sim::air::Place::Compartment(0),
        hours(2.0),
        minutes(1.0),
    );
    switch.starts = vec![Effect::SwitchOn(0)];
    case.plan.tasks = vec![switch];
    let part = |t: f64| if t > 3600.0 && t <= 10_800.0 { 0.0 } else { 1.0 };
    follows(&case, part, &[3600.0, 10_800.0]);
}

#[test]
fn an_opening_that_is_stuck_stays_as_it_is() {
    let mut case = much(false);
    let mut open_and_shut = task(0, 0, breathroom_sim::air::Place::Compartment(1), hours(2.0), hours(1.0));
    open_and_shut.starts = vec![Effect::Close(0)];
    case.plan.tasks = vec![open_and_shut];
    let mut stuck = case.clone();
    stuck.faults = vec![Fault {
        changes: vec![Change::Broken(Broken::OpeningStuck(0))],
        onset: Onset::At(hours(1.0)),
        shape: Shape::Step,
        ends: Ends::Never,
    }];
    let mut open = case.clone();
    open.plan.tasks[0].starts.clear();
    // Its onset ends a segment, so equal to what a split allows.
    let worst = |case: &Case| run(case).rules.iter().map(|rule| rule.worst).collect::<Vec<f64>>();
    let (is, should, shut) = (worst(&stuck), worst(&open), worst(&case));
    for k in 0..is.len() {
        near(is[k], should[k], 1e-9);
    }
    assert!((is[0] / shut[0] - 1.0).abs() > 1e-3);
}

#[test]
fn a_hold_that_is_shut_lets_nothing_in() {
    let mut case = alone(hours(5.0), room(10.0, 295.15, CABIN_AIR_PA), load(3e-4, 1e-5, 0.0));
    case.holds = vec![hold(0, Some(CABIN_AIR_PA[2]), None)];
    case.faults = vec![Fault {
        changes: vec![Change::Broken(Broken::HoldShut { hold: 0, oxygen: true })],
        onset: Onset::At(hours(2.0)),
        shape: Shape::Step,
        ends: Ends::Never,
    }];
    let outcome = run(&case);
    let fall = 3e-4 * pa_per_mol(&case.compartments[0]) * 3.0 * 3600.0;
    near(outcome.state_end[0].partial_pa[2], CABIN_AIR_PA[2] - fall, 1e-9);
}

#[test]
fn a_tank_loses_part_of_what_it_holds_at_once() {
    let mut case = alone(hours(4.0), room(10.0, 295.15, CABIN_AIR_PA), load(3e-4, 1e-5, 0.0));
    case.tanks = vec![breathroom_sim::air::Tank {
        gas: breathroom_sim::air::Species::Oxygen,
        amount_mol: 100.0,
        residue_mol: 0.0,
        reserve_mol: 0.0,
    }];
    case.holds = vec![hold(0, Some(CABIN_AIR_PA[2]), None)];
    case.holds[0].oxygen_from = Some(0);
    case.faults = vec![on(Target::TankAmount(0), By::Factor(0.4), hours(1.0), Shape::Step)];
    let outcome = run(&case);
    let (used, kg_mol) = (3e-4 * 3600.0, 0.031_998_8);
    let left = (100.0 - used) * 0.4 - 3.0 * used;
    near(outcome.tanks[0].left_kg / kg_mol, left, 1e-4);
    near(outcome.tanks[0].used_kg / kg_mol, 4.0 * used, 1e-4);
}

/// Beds that no longer turn fill up: the same as a case whose beds are stuck, from the onset.
#[test]
fn beds_that_do_not_switch_stay_as_they_are() {
    let bed = SwingBed {
        flow_m3_s: 0.01,
        bed_kg: 3.0,
        bed_k: 298.15,
        co2: breathroom_sim::removal::Isotherm::Langmuir {
            most_mol_kg: 2.0,
            half_pa: 400.0,
        },
        water: breathroom_sim::removal::Isotherm::Linear { slope_mol_kg_pa: 0.0 },
        competition_kg_mol: 0.0,
        rate_1_s: [3e-3, 3e-3],
        desorb_pa: [5.0, 0.0],
        half_cycle: minutes(10.0),
        lost_m3: 0.0,
        loaded_mol_kg: [0.1, 0.1, 0.0, 0.0],
        valves: Valves::Turning,
    };
    let mut case = cabin(0.9, 0.012);
    case.devices[0].removal = Removal::SwingBed(bed);
    case.faults = vec![Fault {
        changes: vec![Change::Broken(Broken::BedsStuck { device: 0, bed: None })],
        onset: Onset::At(minutes(65.0)),
        shape: Shape::Step,
        ends: Ends::Never,
    }];
    case.rules = vec![at_most(0, Quantity::Co2, Statistic::Instant, 600.0)];
    let (stuck, log) = run_with_log(&case);
    assert_eq!(stuck.devices[0].turns, 6, "turns at 10 to 60 min");
    assert!(
        stuck.rules[0].worst
            > 1.5
                * run(&Case {
                    faults: Vec::new(),
                    ..case.clone()
                })
                .rules[0]
                    .worst
    );
    assert!(
        log.log
            .iter()
            .any(|entry| entry.event == breathroom_sim::engine::Event::FaultBegan(0))
    );
    assert!(stuck.balance.carbon.abs() < 1e-9);
}
