//! What people do after an alarm: who, when, what becomes of their tasks, what it costs.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{Case, Event, Outcome};
use breathroom_sim::limits::{Bound, Quantity, Statistic};
use breathroom_sim::timeline::{Effect, Interrupted};
use breathroom_sim::units::Time;
use breathroom_sim::upset::{
    Alarm, Broken, By, Change, DeviceNumber, Ends, Fault, Grade, Onset, Responder, Response, Sensor, Shape,
};
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, breathed, flow_through, hours, load, minutes, pa_per_mol, person, room, seconds, steady, task,
};

use super::{near, on_call, on_device, run, run_with_log};

const CABIN: Place = Place::Compartment(0);
const REST: f64 = 2e-4;
const WORK: f64 = 6e-4;
/// Index of the effort.
const WORKS: usize = 1;

/// Two people at rest in a sealed room, an alarm on CO2 that a rise passes at a known time, and a response at work.
fn cabin(response: Response, does: Vec<Effect>) -> Case {
    let profiles = || vec![steady(load(1e-5, REST, 0.0)), steady(load(1e-5, WORK, 0.0))];
    let mut case = alone(hours(10.0), room(20.0, 294.15, CABIN_AIR_PA), load(1e-5, REST, 0.0));
    case.people = vec![person(0, profiles()), person(0, profiles())];
    case.plan.effort_space_m3 = vec![1.0, 1.0];
    case.sensors = vec![Sensor {
        quantity: Quantity::Co2,
        compartment: 0,
        gain: 1.0,
        bias: 0.0,
        drift_per_s: 0.0,
        noise: 0.0,
        noise_key: None,
        lag_s: 0.0,
        every: seconds(30.0),
        range: [0.0, f64::INFINITY],
    }];
    let task = response.task;
    case.alarms = vec![Alarm {
        sensors: vec![0],
        votes: 1,
        bound: Bound::AtMost,
        set: 300.0,
        lasts: Time::ZERO,
        clears: 300.0,
        grade: Grade::Warning,
        response: Some(response),
    }];
    assert_eq!(task, 0, "the first of the plan, before others are put in front");
    case.plan.tasks = vec![on_call(WORKS, does)];
    case
}

fn response(by: Responder) -> Response {
    Response {
        by,
        reactions: vec![minutes(6.0)],
        takes: vec![minutes(20.0)],
        task: 0,
        in_place: true,
        interrupts: true,
        succeeds: Vec::new(),
        tries: 1,
    }
}

/// Puts tasks in front of the response.
fn with_tasks(mut case: Case, tasks: Vec<breathroom_sim::timeline::Task>) -> Case {
    let count = tasks.len();
    case.plan.tasks.splice(0..0, tasks);
    if let Some(response) = &mut case.alarms[0].response {
        response.task = count;
    }
    case
}

/// When the alarm comes on if both are at rest: arithmetic.
fn trips(case: &Case) -> Time {
    let rate = 2.0 * REST * pa_per_mol(&case.compartments[0]);
    let crossing = (300.0 - CABIN_AIR_PA[0]) / rate;
    seconds((crossing / 30.0).floor() * 30.0 + 30.0)
}

#[test]
fn after_the_reaction_time_someone_goes_and_swaps_devices() {
    let mut case = cabin(
        response(Responder::Any),
        vec![Effect::SwitchOff(0), Effect::SwitchOn(1)],
    );
    case.devices = vec![flow_through(0, 0.0, 0.9, 0.0), flow_through(0, 0.02, 0.9, 0.0)];
    case.devices[1].on = false;
    let (outcome, log) = run_with_log(&case);
    let tripped = trips(&case);
    assert_eq!(outcome.alarms[0].first_on, Some(tripped));
    let one = outcome.responses[0];
    assert_eq!(one.tripped, tripped);
    assert_eq!(one.began, Some(tripped + minutes(6.0)));
    assert_eq!(one.done, Some(tripped + minutes(26.0)));
    assert_eq!((one.people, one.attempts, one.failed), (0b01, 1, false));
    // The plan's own order at the instant of its end: the task ends, then devices are switched.
    let at_end: Vec<Event> = log
        .log
        .iter()
        .filter(|e| Some(e.at) == one.done)
        .map(|e| e.event)
        .collect();
    assert_eq!(at_end[0], Event::TaskEnded(0));
    assert_eq!(
        at_end[1],
        Event::Effect {
            task: 0,
            effect: Effect::SwitchOff(0)
        }
    );
    // CO2 made: rest of two, and what work adds, which lags by 60 s at both ends: the same amount.
    let made = 2.0 * REST * 36_000.0 + (WORK - REST) * 1200.0;
    near(outcome.totals.co2_made_kg, made * 0.044_009_5, 1e-9);
    assert!(outcome.devices[1].co2_kg > 0.0);
    // On again later? The backup brings it down for good.
    assert_eq!(outcome.responses.len(), 1);
}

/// Tasks of person 0 and of both, from before the alarm to after it.
fn interrupted(how: Interrupted, by: Responder) -> (Case, Outcome) {
    let mut long = task(0, 0, CABIN, minutes(1.0), hours(4.0));
    long.interrupted = how;
    let mut after = task(0, 0, CABIN, Time::ZERO, hours(1.0));
    after.after = vec![0];
    let case = with_tasks(cabin(response(by), Vec::new()), vec![long, after]);
    let outcome = run(&case);
    (case, outcome)
}

#[test]
fn a_task_that_is_interrupted_goes_on_restarts_or_is_dropped() {
    let named = || Responder::People(vec![0]);
    let (case, outcome) = interrupted(Interrupted::Resumes, named());
    let began = trips(&case) + minutes(6.0);
    let (start, ends) = (minutes(1.0), &outcome.schedule.ended);
    assert_eq!(outcome.responses[0].began, Some(began));
    assert_eq!(
        ends[0],
        Some(start + hours(4.0) + minutes(20.0)),
        "later by what the response took"
    );
    assert_eq!(outcome.schedule.started[1], ends[0], "and so what comes after it");
    assert_eq!(outcome.schedule.started[0], Some(start));
    assert_eq!(outcome.schedule.interruptions, [1, 0, 0]);

    let (_, outcome) = interrupted(Interrupted::Restarts, named());
    assert_eq!(outcome.schedule.ended[0], Some(began + minutes(20.0) + hours(4.0)));

    let (_, outcome) = interrupted(Interrupted::Dropped, named());
    assert_eq!(outcome.schedule.ended[0], Some(began));
    assert_eq!(outcome.schedule.dropped, [true, false, false]);
    assert_eq!(
        outcome.schedule.started[1],
        Some(began + minutes(20.0)),
        "its person responds first"
    );

    // Whoever is free goes, and the task is left alone.
    let (_, outcome) = interrupted(Interrupted::Resumes, Responder::Any);
    assert_eq!(outcome.responses[0].people, 0b10);
    assert_eq!(outcome.schedule.ended[0], Some(start + hours(4.0)));
}

#[test]
fn all_people_of_an_interrupted_task_are_off_task_and_it_waits_for_all() {
    let mut both = task(0, WORKS, CABIN, Time::ZERO, hours(3.0));
    both.people = vec![0, 1];
    let mut case = with_tasks(cabin(response(Responder::Any), Vec::new()), vec![both]);
    // Both at work from the start: the rise is that of work, the lag in equilibrium at the start.
    let rate = 2.0 * WORK * pa_per_mol(&case.compartments[0]);
    let tripped = seconds((((300.0 - CABIN_AIR_PA[0]) / rate) / 30.0).floor() * 30.0 + 30.0);
    let outcome = run(&case);
    assert_eq!(outcome.alarms[0].first_on, Some(tripped));
    assert_eq!(outcome.responses[0].people, 0b01, "nobody is free: the first is taken");
    assert_eq!(outcome.schedule.ended[0], Some(hours(3.0) + minutes(20.0)));
    // Without leave to interrupt, it waits for the end of the task.
    if let Some(response) = &mut case.alarms[0].response {
        response.interrupts = false;
    }
    let outcome = run(&case);
    assert_eq!(outcome.responses[0].began, Some(hours(3.0)));
    if let Some(response) = &mut case.alarms[0].response {
        (response.by, response.interrupts) = (Responder::Free, true);
    }
    assert_eq!(run(&case).responses[0].began, Some(hours(3.0)));
    if let Some(response) = &mut case.alarms[0].response {
        response.by = Responder::Inside;
    }
    assert_eq!(run(&case).responses[0].people, 0b11);
}

/// One is outside until 5 h unless called in.
fn sortie(does: Vec<Effect>, by: Responder) -> Case {
    let mut out = task(1, 0, Place::Outside, minutes(2.0), hours(5.0));
    out.ends = vec![Effect::SwitchOn(0)];
    let mut case = with_tasks(cabin(response(by), does), vec![out]);
    case.devices = vec![flow_through(0, 0.02, 0.9, 0.0)];
    case.devices[0].on = false;
    case
}

#[test]
fn people_outside_are_called_in_and_the_response_is_done_when_they_are() {
    let recall = Effect::Recall {
        people: u64::MAX,
        within: minutes(45.0),
    };
    let case = sortie(vec![recall], Responder::Any);
    let (outcome, log) = run_with_log(&case);
    let one = outcome.responses[0];
    let told = one.began.expect("it began") + minutes(20.0);
    assert_eq!(one.people, 0b01);
    assert_eq!(outcome.schedule.ended[0], Some(told + minutes(45.0)));
    assert_eq!(one.done, Some(told + minutes(45.0)), "done when they are in");
    assert!(
        log.log
            .iter()
            .any(|e| e.at == told && e.event == Event::TaskRecalled(0))
    );
    // What the task does at its end is done.
    assert!(outcome.devices[0].co2_kg > 0.0);
    // Whoever comes in sooner by the plan does not stay out longer.
    let slow = sortie(
        vec![Effect::Recall {
            people: u64::MAX,
            within: hours(9.0),
        }],
        Responder::Any,
    );
    assert_eq!(run(&slow).schedule.ended[0], Some(minutes(2.0) + hours(5.0)));
}

#[test]
fn nobody_outside_responds() {
    let case = sortie(Vec::new(), Responder::People(vec![1]));
    let outcome = run(&case);
    assert_eq!(
        outcome.responses[0].began,
        Some(minutes(2.0) + hours(5.0)),
        "when they are in"
    );
}

#[test]
fn a_repair_that_fails_is_tried_again_until_it_succeeds_or_is_given_up() {
    let repairs = |succeeds: Vec<bool>, tries: u32| {
        let mut response = response(Responder::Any);
        (response.succeeds, response.tries) = (succeeds, tries);
        response.takes = vec![minutes(20.0), minutes(7.0)];
        let mut case = cabin(response, vec![Effect::Repair(0)]);
        case.devices = vec![flow_through(0, 0.02, 0.9, 0.0)];
        case.faults = vec![Fault {
            changes: vec![Change::Broken(Broken::DeviceOff(0))],
            onset: Onset::At(Time::ZERO),
            shape: Shape::Step,
            ends: Ends::Never,
        }];
        case
    };
    let case = repairs(vec![false, false, true], 3);
    let (outcome, log) = run_with_log(&case);
    let one = outcome.responses[0];
    let done = one.began.expect("it began") + minutes(20.0 + 7.0 + 20.0);
    assert_eq!((one.done, one.attempts, one.failed), (Some(done), 3, false));
    assert_eq!(
        (outcome.faults[0].ended, outcome.faults[0].repaired),
        (Some(done), true)
    );
    assert_eq!(log.log.iter().filter(|e| e.event == Event::RepairFailed(0)).count(), 2);
    assert!(outcome.devices[0].co2_kg > 0.0);
    let given_up = run(&repairs(vec![false, false, true], 2));
    let one = given_up.responses[0];
    assert_eq!((one.done, one.attempts, one.failed), (None, 2, true));
    assert_eq!(given_up.faults[0].ended, None);
}

#[test]
fn masks_keep_a_persons_rules_and_floor_out_of_the_air() {
    let mask = Effect::Mask {
        people: u64::MAX,
        on: true,
    };
    let mut case = cabin(response(Responder::Any), vec![mask]);
    case.rules = vec![
        breathed(0, Quantity::Co2, Statistic::Instant, 900.0),
        breathroom_tests::cases::at_most(0, Quantity::Co2, Statistic::Instant, 900.0),
    ];
    let outcome = run(&case);
    let done = outcome.responses[0].done.expect("they have them on");
    assert!(outcome.rules[1].worst > 900.0);
    assert!(outcome.rules[0].worst < 900.0 && outcome.rules[0].at <= done);
    // What they give off goes into the room all the same.
    let made = 2.0 * REST * 36_000.0 + (WORK - REST) * 1200.0;
    near(outcome.totals.co2_made_kg, made * 0.044_009_5, 1e-9);
}

#[test]
fn each_occurrence_has_its_own_reaction_and_the_response_may_come_again() {
    // A canister of flow that fails again and again: the alarm clears in between.
    let mut response = response(Responder::Any);
    response.reactions = vec![minutes(6.0), minutes(11.0)];
    let mut case = cabin(response, Vec::new());
    case.devices = vec![flow_through(0, 0.05, 0.9, 0.0)];
    let spells = vec![[hours(2.5), hours(1.0)]];
    case.faults = vec![on_device(
        DeviceNumber::Capacity,
        By::Factor(0.0),
        Time::ZERO,
        Shape::Intermittent(spells),
    )];
    let outcome = run(&case);
    assert!(outcome.alarms[0].trips >= 2, "{:?}", outcome.alarms[0]);
    let waits: Vec<Time> = outcome.responses.iter().map(|r| r.began.unwrap() - r.tripped).collect();
    assert_eq!(waits[0], minutes(6.0));
    assert_eq!(waits[1], minutes(11.0));
}
