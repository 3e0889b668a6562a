//! Stress of a small scenario: that it is the same on any threads, that variations are those of `vary`, and when the gate is passed.

use breathroom_sim::air::Place;
use breathroom_sim::limits::{Bound, Quantity};
use breathroom_sim::scenario;
use breathroom_sim::timeline::{Effect, Interrupted, SuitUse, Task};
use breathroom_sim::upset::{Alarm, Grade, Responder, Response, Sensor};

use super::bench::Rested;
use super::times::After;
use super::*;

const ROOM: &str = r#"
format = 1
duration = "6 h"
[air]
pressure = "101.3 kPa"
oxygen = "21 %"
co2 = "0.5 mmHg"
[compartments.cabin]
free_volume = { normal = ["9 m3", "0.3 m3"], within = ["8 m3", "10 m3"] }
[removal.scrubber]
kind = "flow-through"
serves = "cabin"
flow = "0.4 m3/min"
co2_efficiency = "85 %"
[removal.backup]
kind = "flow-through"
serves = "cabin"
flow = "0.4 m3/min"
co2_efficiency = "85 %"
on = false
[control.cabin]
oxygen = { hold = "21 kPa" }
[crew.one]
mass = "71 kg"
[[limits.rule]]
id = "co2-now"
quantity = "co2"
at_most = "7 mmHg"
source = "a test"
"#;

fn room() -> Scenario {
    let source = scenario::Source {
        name: "room.toml",
        text: ROOM,
        overrides: &[],
        files: &|_| Err("no files".to_owned()),
    };
    scenario::read(&source).expect("a scenario")
}

fn job(runs: u64) -> StressJob {
    StressJob {
        devices: vec![0],
        left: vec![1.0, 0.5, 0.0],
        onsets: 6,
        runs,
        seed: 3,
        pairs: true,
        gate: Gate::USUAL,
    }
}

fn stressed(threads: usize, job: &StressJob) -> Stress {
    let (pool, go) = (crate::study::pool(threads).expect("threads"), AtomicBool::new(false));
    pool.install(|| stress(&room(), job, &|| (), &go).expect("stress"))
}

#[test]
fn those_on_that_take_something_are_the_usual_devices() {
    assert_eq!(usual_devices(&room().draw(&Medians).case), [0]);
}

#[test]
fn the_number_of_threads_shows_nowhere() {
    let job = job(20);
    assert_eq!(stressed(1, &job), stressed(3, &job));
}

#[test]
fn all_of_a_device_left_is_the_run_without_a_fault() {
    let found = stressed(2, &job(60));
    assert!(!found.responses && found.failed == 0);
    let [whole, ..] = &found.parts[..] else { panic!("parts") };
    assert_eq!(whole.looked.looks.len(), 1);
    assert!(whole.is_harmless());
    let runs = whole.runs.as_ref().expect("runs");
    assert_eq!(
        (runs.looks.len(), runs.crossed_with.count, runs.gate_met),
        (60, 0, true)
    );
    assert!(runs.margin.is_none(), "nothing is done, so nothing is in time or not");
    assert_eq!(found.singles.len(), 1);
    assert!(found.singles[0].faults.is_empty() && !found.singles[0].medians.is_bad());
}

#[test]
fn too_few_runs_pass_no_gate() {
    assert!(!stressed(2, &job(58)).parts[0].runs.as_ref().expect("runs").gate_met);
    assert!(!stressed(2, &job(0)).gate_met());
}

/// Half an hour after an alarm at 400 Pa (3 mmHg) the crew has put the backup on.
fn with_response(case: &mut Case) {
    let on_call = Task {
        entry: usize::MAX,
        turn: 1,
        people: Vec::new(),
        effort: case.people[0].idle,
        place: Place::Compartment(0),
        suit: SuitUse::Off,
        earliest: Time::ZERO,
        after: Vec::new(),
        duration: min(10),
        needs: Vec::new(),
        needs_space: false,
        starts: Vec::new(),
        ends: vec![Effect::SwitchOn(1)],
        interrupted: Interrupted::Resumes,
        on_call: true,
    };
    case.plan.tasks.push(on_call);
    case.sensors.push(Sensor {
        quantity: Quantity::Co2,
        compartment: 0,
        gain: 1.0,
        bias: 0.0,
        drift_per_s: 0.0,
        noise: 0.0,
        noise_key: None,
        lag_s: 0.0,
        every: min(1),
        range: [0.0, 1e5],
    });
    case.alarms.push(Alarm {
        sensors: vec![0],
        votes: 1,
        bound: Bound::AtMost,
        set: 400.0,
        lasts: Time::ZERO,
        clears: 380.0,
        grade: Grade::Warning,
        response: Some(Response {
            by: Responder::Any,
            reactions: vec![min(20)],
            takes: vec![min(10)],
            task: case.plan.tasks.len() - 1,
            in_place: true,
            interrupts: true,
            succeeds: Vec::new(),
            tries: 1,
        }),
    });
}

fn min(minutes: i64) -> Time {
    Time(minutes * 60_000_000_000)
}

/// One person at rest in 9 m3 whose scrubber stops: the alarm, thirty minutes later the backup, and the limit only without it.
#[test]
fn a_response_in_time_keeps_the_limit() {
    let scenario = room();
    let mut case = scenario.draw(&Medians).case;
    with_response(&mut case);
    let go = AtomicBool::new(false);
    let bench = Bench::new(&scenario, case.people.len(), &|| (), &go);
    let mut rested = Rested::of(case);
    let unharmed = bench.unharmed(&mut rested).expect("not stopped").expect("a run");
    let degraded = Degraded {
        device: 0,
        left: 0.0,
        onset: min(60),
    };
    let look = bench.look(&mut rested, &unharmed.usual, &degraded).expect("a look");
    assert_eq!(look.failed, None);
    let alarm = look.alarm.expect("an alarm");
    assert_eq!((alarm.alarm, alarm.is_false, look.already_on), (0, false, false));
    // Its sensor reads every minute; 20 min to react and 10 to act.
    assert_eq!(alarm.after.0 % min(1).0, 0);
    assert_eq!(look.done, After::Came(alarm.after + min(30)));
    let without = look.first.after.time().expect("a limit without response");
    assert!(without > alarm.after && !look.first_with.after.came(), "{look:?}");
    let margin = look.margin();
    let expected = (without - alarm.after - min(30)).seconds();
    assert!((margin.seconds - expected).abs() < 1e-6 && !margin.more, "{margin:?}");
    // Someone's air passes 3000 ppm (303.975 Pa) before the alarm's 400 Pa.
    assert!(look.effects[0][0] < After::Came(alarm.after));
}
