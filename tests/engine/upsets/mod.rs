//! What goes wrong, against closed forms and the documented order: faults, sensors and alarms, responses.

mod alarms;
mod broken;
mod faults;
mod onsets;
mod responses;

use breathroom_sim::engine::{Case, Engine, Outcome, Trace};
use breathroom_sim::timeline::{Effect, Task};
use breathroom_sim::units::Time;
use breathroom_sim::upset::{By, Change, DeviceNumber, Ends, Fault, Onset, Shape, Target};

/// Runs a case.
fn run(case: &Case) -> Outcome {
    Engine::new().run(case, None).expect("the case runs")
}

/// Runs a case with its log.
fn run_with_log(case: &Case) -> (Outcome, Trace) {
    let mut trace = Trace::default();
    let outcome = Engine::new().run(case, Some(&mut trace)).expect("the case runs");
    (outcome, trace)
}

fn near(is: f64, should: f64, relative: f64) {
    assert!(
        (is - should).abs() <= relative * should.abs(),
        "{is} is not {should} ({:e})",
        is / should - 1.0
    );
}

/// A fault on one number of device 0.
fn on_device(number: DeviceNumber, by: By, onset: Time, shape: Shape) -> Fault {
    on(Target::Device { device: 0, number }, by, onset, shape)
}

/// A fault on one number.
fn on(target: Target, by: By, onset: Time, shape: Shape) -> Fault {
    Fault {
        changes: vec![Change::Number {
            target,
            by,
            domain: [0.0, f64::INFINITY],
        }],
        onset: Onset::At(onset),
        shape,
        ends: Ends::Never,
    }
}

/// A task on call: `does` at its end.
fn on_call(effort: usize, does: Vec<Effect>) -> Task {
    Task {
        on_call: true,
        people: Vec::new(),
        earliest: Time::NEVER,
        ends: does,
        ..breathroom_tests::cases::task(
            0,
            effort,
            breathroom_sim::air::Place::Compartment(0),
            Time::NEVER,
            Time(1),
        )
    }
}
