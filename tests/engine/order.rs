//! The documented order of what happens at one instant.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{Case, Engine, Event, RunError, Trace};
use breathroom_sim::timeline::Effect;
use breathroom_sim::units::Time;
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, flow_through, hours, load, minutes, opening, person, room, steady, task,
};

/// Two rooms, three people, two efforts, one hatch, one device.
fn cabin() -> Case {
    let mut case = alone(hours(3.0), room(12.0, 295.0, CABIN_AIR_PA), load(3e-4, 2.5e-4, 1e-3));
    case.compartments.push(room(5.0, 295.0, CABIN_AIR_PA));
    case.openings = vec![opening(0, 1, 0.02)];
    case.devices = vec![flow_through(0, 0.01, 0.9, 0.1)];
    let profiles = vec![steady(load(3e-4, 2.5e-4, 1e-3)), steady(load(1e-3, 9e-4, 2e-3))];
    case.people = vec![person(0, profiles); 3];
    case.plan.effort_space_m3 = vec![1.0, 1.0];
    case
}

fn log(case: &Case) -> Vec<(Time, Event)> {
    let mut trace = Trace::default();
    Engine::new().run(case, Some(&mut trace)).expect("the case runs");
    assert!(
        trace.log.windows(2).all(|w| w[0].at <= w[1].at),
        "the log is in order of time"
    );
    trace.log.iter().map(|entry| (entry.at, entry.event)).collect()
}

/// Where in the log each event is, which must be there once.
fn positions(log: &[(Time, Event)], at: Time, events: &[Event]) -> Vec<usize> {
    events
        .iter()
        .map(|event| {
            let found: Vec<usize> = (0..log.len()).filter(|&i| log[i] == (at, *event)).collect();
            assert_eq!(found.len(), 1, "{event:?} at {at} in {log:?}");
            found[0]
        })
        .collect()
}

fn rises(positions: &[usize]) {
    assert!(positions.windows(2).all(|w| w[0] < w[1]), "{positions:?}");
}

#[test]
fn ends_come_before_hatches_and_hatches_before_new_tasks() {
    let mut case = cabin();
    let here = Place::Compartment(0);
    let noon = minutes(60.0);
    // In the file the new task stands first.
    case.plan.tasks = vec![
        task(0, 1, here, noon, minutes(10.0)),
        task(1, 1, here, minutes(20.0), minutes(40.0)),
        task(2, 1, here, minutes(30.0), minutes(30.0)),
    ];
    case.plan.tasks[1].ends = vec![Effect::Close(0), Effect::SwitchOff(0)];
    case.plan.tasks[2].ends = vec![Effect::SwitchOn(0)];
    case.plan.tasks[0].starts = vec![Effect::Open(0)];
    let log = log(&case);
    rises(&positions(
        &log,
        noon,
        &[
            Event::TaskEnded(1),
            Event::TaskEnded(2),
            Event::Effect {
                task: 1,
                effect: Effect::Close(0),
            },
            Event::Effect {
                task: 1,
                effect: Effect::SwitchOff(0),
            },
            Event::Effect {
                task: 2,
                effect: Effect::SwitchOn(0),
            },
            Event::TaskStarted(0),
            Event::Effect {
                task: 0,
                effect: Effect::Open(0),
            },
        ],
    ));
}

#[test]
fn ties_follow_the_order_of_the_file() {
    let mut case = cabin();
    let here = Place::Compartment(0);
    case.plan.tasks = (0..3)
        .map(|p| task(2 - p, 1, here, minutes(30.0), minutes(30.0)))
        .collect();
    let log = log(&case);
    rises(&positions(&log, minutes(30.0), &[0, 1, 2].map(Event::TaskStarted)));
    rises(&positions(&log, minutes(60.0), &[0, 1, 2].map(Event::TaskEnded)));
}

#[test]
fn a_successor_starts_at_the_very_end_of_what_it_waits_for() {
    let mut case = cabin();
    let here = Place::Compartment(0);
    case.plan.tasks = vec![
        task(0, 1, here, Time::ZERO, minutes(10.0)),
        task(1, 1, here, minutes(3.0), Time(600_000_000_001)),
        task(2, 1, here, Time::ZERO, minutes(1.0)),
    ];
    case.plan.tasks[0].after = vec![1];
    let mut trace = Trace::default();
    let outcome = Engine::new().run(&case, Some(&mut trace)).unwrap();
    let end = minutes(3.0) + Time(600_000_000_001);
    assert_eq!(outcome.schedule.ended[1], Some(end));
    assert_eq!(outcome.schedule.started[0], Some(end));
    assert_eq!(outcome.schedule.started[2], Some(Time::ZERO));
    assert!(
        (outcome.schedule.waited_s[0]).abs() < 1e-9,
        "a predecessor is no wait: {:?}",
        outcome.schedule.waited_s
    );
}

#[test]
fn a_sample_shows_the_state_after_everything_else() {
    let mut case = cabin();
    let lock = Place::Compartment(1);
    case.plan.tasks = vec![task(0, 1, lock, minutes(30.0), minutes(30.0))];
    case.history_every = minutes(30.0);
    let mut trace = Trace::default();
    Engine::new().run(&case, Some(&mut trace)).unwrap();
    let place = |i: usize| {
        (
            trace.samples[i].at,
            trace.samples[i].people[0].place,
            trace.samples[i].people[0].effort,
        )
    };
    assert_eq!(place(0), (Time::ZERO, Place::Compartment(0), 0));
    assert_eq!(place(1), (minutes(30.0), lock, 1));
    assert_eq!(place(2), (minutes(60.0), Place::Compartment(0), 0));
    assert_eq!(trace.samples.len(), 7);
    assert_eq!(trace.samples[6].at, hours(3.0));
}

#[test]
fn a_run_that_ends_off_the_grid_has_a_last_sample() {
    let mut case = cabin();
    case.duration = minutes(47.0);
    case.history_every = minutes(10.0);
    let mut trace = Trace::default();
    Engine::new().run(&case, Some(&mut trace)).unwrap();
    let times: Vec<Time> = trace.samples.iter().map(|s| s.at).collect();
    assert_eq!(times, [0.0, 10.0, 20.0, 30.0, 40.0, 47.0].map(minutes));
}

#[test]
fn tasks_of_no_length_follow_each_other_in_one_instant() {
    let chain = |count: usize| {
        let mut case = cabin();
        for i in 0..count {
            let mut link = task(0, 1, Place::Compartment(0), minutes(30.0), Time::ZERO);
            if i > 0 {
                link.after = vec![i - 1];
            }
            case.plan.tasks.push(link);
        }
        Engine::new().run(&case, None)
    };
    let short = chain(50).unwrap();
    assert!(short.schedule.ended.iter().all(|t| *t == Some(minutes(30.0))));
    match chain(3000) {
        Err(RunError::TooManyPasses { at, tasks }) => {
            assert_eq!(at, minutes(30.0));
            assert!(!tasks.is_empty());
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_hatch_cannot_be_opened_against_a_pressure() {
    let mut case = cabin();
    case.openings[0].open = false;
    case.openings[0].opens_within_pa = 100.0;
    case.compartments[1].partial_pa[3] += 150.0;
    case.devices.clear();
    case.people.clear();
    case.people.push(person(0, vec![steady(load(0.0, 0.0, 0.0)); 2]));
    case.plan.tasks = vec![task(0, 0, Place::Compartment(0), minutes(30.0), minutes(30.0))];
    case.plan.tasks[0].starts = vec![Effect::Open(0)];
    match Engine::new().run(&case, None) {
        Err(RunError::HatchAgainstPressure {
            at,
            opening: 0,
            difference_pa,
        }) => {
            assert_eq!(at, minutes(30.0));
            assert!((difference_pa.abs() - 150.0).abs() < 1e-6, "{difference_pa}");
        }
        other => panic!("{other:?}"),
    }
    case.compartments[1].partial_pa[3] -= 60.0;
    let outcome = Engine::new().run(&case, None).unwrap();
    assert!((outcome.state_end[0].pressure_pa - outcome.state_end[1].pressure_pa).abs() < 1e-6);
}
