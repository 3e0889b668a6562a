//! When faults begin and end.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{Case, Event};
use breathroom_sim::removal::Cycle;
use breathroom_sim::timeline::Effect;
use breathroom_sim::units::Time;
use breathroom_sim::upset::{By, DeviceNumber, Ends, Fault, Onset, Shape};
use breathroom_tests::cases::{CABIN_AIR_PA, alone, flow_through, hours, load, minutes, room, task};

use super::{on_device, run, run_with_log};

const CABIN: Place = Place::Compartment(0);

fn cabin() -> Case {
    let mut case = alone(hours(10.0), room(10.0, 295.15, CABIN_AIR_PA), load(1e-4, 2e-4, 0.0));
    case.devices = vec![flow_through(0, 0.01, 0.9, 0.0)];
    case
}

fn fault(onset: Onset) -> Fault {
    Fault {
        onset,
        ..on_device(DeviceNumber::Flow, By::Factor(0.5), Time::ZERO, Shape::Step)
    }
}

fn began(case: &Case) -> Option<Time> {
    run(case).faults[0].began
}

#[test]
fn at_a_task_it_begins_so_long_after_its_start_or_its_end() {
    let mut case = cabin();
    let mut second = task(0, 0, CABIN, hours(0.0), hours(1.5));
    second.after = vec![0];
    case.plan.tasks = vec![task(0, 0, CABIN, hours(1.0), hours(2.0)), second];
    let at = |task, start, plus| Onset::Task { task, start, plus };
    let cases = [
        (at(0, true, Time::ZERO), hours(1.0)),
        (at(0, false, Time::ZERO), hours(3.0)),
        (at(1, true, minutes(20.0)), hours(3.0) + minutes(20.0)),
        (at(1, false, minutes(5.0)), hours(4.5) + minutes(5.0)),
    ];
    for (onset, should) in cases {
        case.faults = vec![fault(onset)];
        assert_eq!(began(&case), Some(should), "{onset:?}");
    }
    case.faults = vec![fault(Onset::Never)];
    assert_eq!(began(&case), None);
    case.faults = vec![fault(Onset::At(hours(11.0)))];
    assert_eq!(began(&case), None, "after the end of the run");
}

/// The device runs from 0 to 2 h and from 5 h on.
#[test]
fn operating_time_counts_while_the_device_is_on() {
    let mut case = cabin();
    let mut off = task(0, 0, CABIN, hours(2.0), hours(3.0));
    off.starts = vec![Effect::SwitchOff(0)];
    off.ends = vec![Effect::SwitchOn(0)];
    case.plan.tasks = vec![off];
    for (ran, should) in [(1.25, 1.25), (2.0, 2.0), (2.5, 5.5), (6.0, 9.0)] {
        case.faults = vec![fault(Onset::Ran {
            device: 0,
            time: hours(ran),
        })];
        assert_eq!(began(&case), Some(hours(should)), "{ran} h");
    }
    case.faults = vec![fault(Onset::Ran {
        device: 0,
        time: hours(7.5),
    })];
    assert_eq!(began(&case), None);
}

#[test]
fn turns_are_counted_while_the_device_is_on() {
    let mut case = cabin();
    case.devices[0].cycle = Some(Cycle {
        every: minutes(10.0),
        factors: vec![1.0, 0.9],
    });
    let mut off = task(0, 0, CABIN, minutes(35.0), minutes(60.0));
    off.starts = vec![Effect::SwitchOff(0)];
    off.ends = vec![Effect::SwitchOn(0)];
    case.plan.tasks = vec![off];
    for (turn, should) in [(1, 10.0), (3, 30.0), (4, 100.0), (5, 110.0)] {
        case.faults = vec![fault(Onset::Turn { device: 0, turn })];
        assert_eq!(began(&case), Some(minutes(should)), "turn {turn}");
    }
}

#[test]
fn it_ends_after_its_time_or_with_a_fresh_canister_and_what_it_did_is_undone() {
    let mut case = cabin();
    let mut change = task(0, 0, CABIN, hours(4.0), minutes(10.0));
    change.ends = vec![Effect::ChangeCanister(0)];
    case.plan.tasks = vec![change];
    if let breathroom_sim::removal::Removal::FlowThrough { flow_m3_s, .. } = case.devices[0].removal {
        case.devices[0].removal = breathroom_sim::removal::Removal::Sorbent {
            flow_m3_s,
            capacity_mol: 1e6,
            sharpness: 10.0,
            bypass: 0.0,
            water_per_co2: 0.0,
            heat_j_mol: 0.0,
            loaded_mol: 0.0,
            canisters: 1,
        };
    }
    let channelled = Fault {
        ends: Ends::Fresh(0),
        ..on_device(DeviceNumber::Bypass, By::To(0.5), hours(1.0), Shape::Step)
    };
    case.faults = vec![channelled];
    let (outcome, log) = run_with_log(&case);
    let changed = hours(4.0) + minutes(10.0);
    assert_eq!(outcome.faults[0].ended, Some(changed));
    assert!(!outcome.faults[0].repaired);
    assert!(
        log.log
            .iter()
            .any(|entry| entry.at == changed && entry.event == Event::FaultEnded(0))
    );
    // Steady again: the room loses CO2 at the rate of the whole flow.
    let without = run(&Case {
        faults: Vec::new(),
        ..case.clone()
    });
    let (is, should) = (outcome.state_end[0].partial_pa[0], without.state_end[0].partial_pa[0]);
    assert!((is / should - 1.0).abs() < 1e-6, "{is} {should}");
}

/// What happens at one instant: ends of tasks, then faults, then alarms and responses, then hatches and devices, then new tasks.
#[test]
fn a_fault_comes_after_ends_and_before_devices_of_its_instant() {
    let mut case = cabin();
    let mut first = task(0, 0, CABIN, hours(1.0), hours(1.0));
    first.ends = vec![Effect::SwitchOff(0)];
    let second = task(0, 0, CABIN, hours(2.0), hours(1.0));
    case.plan.tasks = vec![first, second];
    case.faults = vec![fault(Onset::At(hours(2.0)))];
    let (_, log) = run_with_log(&case);
    let at_two: Vec<Event> = log
        .log
        .iter()
        .filter(|entry| entry.at == hours(2.0))
        .map(|entry| entry.event)
        .collect();
    let place = |wanted: &dyn Fn(&Event) -> bool| at_two.iter().position(wanted).expect("it is there");
    let ended = place(&|event| *event == Event::TaskEnded(0));
    let began = place(&|event| *event == Event::FaultBegan(0));
    let switched = place(&|event| matches!(event, Event::Effect { .. }));
    let started = place(&|event| *event == Event::TaskStarted(1));
    assert!(ended < began && began < switched && switched < started, "{at_two:?}");
}
