//! Alarms, and what people then do.

use super::*;
use crate::limits::Bound;
use crate::scenario::tests::draws::Constant;
use crate::timeline::{Effect, Interrupted, SuitUse};
use crate::upset::{Grade, Responder};

const ALARM: &str = r#"
[[faults]]
id = "loss"
on = "removal.beds"
factor = "50 %"
onset = "2 h"
[[alarms]]
id = "voted"
sensors = ["co2_a", "co2_b"]
above = "4 mmHg"
level = "caution"
[[alarms]]
id = "low"
watches = "lock.pressure"
sensor = { lag = "10 s" }
below = "50 kPa"
for = "5 min"
clears_above = "52 kPa"
response = { by = ["second"], reaction = { lognormal = ["6 min", "60 %"] }, takes = "10 min", effort = "maintenance", interrupts = false, starts = [{ isolate = "lock" }, { recall = "all", within = "20 min" }], does = [{ swap = "scrubber", to = "canister" }, { ease = "sleep", who = ["lead"] }, { masks = "on" }, { repair = "loss" }], chance = "70 %", tries = 3 }
"#;

#[test]
fn alarms_and_their_responses_are_read() {
    let scenario = good(&with(&format!("{CABIN}{SENSORS}{ALARM}")), &[]);
    let case = scenario.draw(&Medians).case;
    let [voted, low] = &case.alarms[..] else {
        panic!("{:?}", case.alarms)
    };
    assert_eq!((&voted.sensors, voted.votes), (&vec![0, 1], 2));
    assert_eq!((voted.bound, voted.grade), (Bound::AtMost, Grade::Caution));
    assert!(voted.clears == voted.set && voted.response.is_none());
    assert_eq!((&low.sensors, low.votes, low.bound), (&vec![2], 1, Bound::AtLeast));
    assert_eq!(
        (low.set, low.clears, low.lasts),
        (50_000.0, 52_000.0, Time(300_000_000_000))
    );
    assert_eq!(case.sensors[2].lag_s, 10.0);
    let response = low.response.as_ref().expect("a response");
    assert_eq!(response.by, Responder::People(vec![1]));
    assert_eq!(
        (response.in_place, response.interrupts, response.tries),
        (false, false, 3)
    );
    // All occurrences are alike on the medians.
    assert_eq!(response.reactions, [Time(360_000_000_000)]);
    assert_eq!(response.takes, [Time(600_000_000_000)]);
    // On the medians what is likelier happens.
    assert_eq!(response.succeeds, [true]);
    let task = &case.plan.tasks[response.task];
    assert_eq!(response.task, case.plan.tasks.len() - 1);
    assert!(task.on_call && task.earliest == Time::NEVER && task.suit == SuitUse::Off);
    assert_eq!((&task.people, task.duration), (&vec![1], Time(600_000_000_000)));
    assert_eq!(scenario.names.efforts[task.effort], "maintenance");
    assert_eq!(scenario.names.tasks[response.task].id, "response to low");
    assert_eq!(case.plan.tasks[0].interrupted, Interrupted::Restarts);
    let recall = Effect::Recall {
        people: u64::MAX,
        within: Time(1_200_000_000_000),
    };
    assert_eq!(task.starts, [Effect::Close(0), Effect::Close(1), recall]);
    let Effect::Ease { people: 1, effort } = task.ends[2] else {
        panic!("{:?}", task.ends)
    };
    assert_eq!(scenario.names.efforts[effort], "sleep");
    assert_eq!(task.ends[..2], [Effect::SwitchOff(0), Effect::SwitchOn(2)]);
    let everyone = Effect::Mask {
        people: u64::MAX,
        on: true,
    };
    assert_eq!(task.ends[3..], [everyone, Effect::Repair(0)]);
}

#[test]
fn reactions_and_attempts_are_drawn_each_time() {
    let scenario = good(&with(&format!("{CABIN}{SENSORS}{ALARM}")), &[]);
    let response = |luck: &dyn Luck| scenario.draw(luck).case.alarms[1].response.clone().expect("a response");
    let drawn = response(&Keyed::default());
    let mut reactions = drawn.reactions.clone();
    reactions.sort();
    reactions.dedup();
    assert_eq!(reactions.len(), OCCURRENCES);
    assert_eq!(drawn.succeeds.len(), OCCURRENCES);
    assert_eq!(response(&Constant(0.69)).succeeds, [true]);
    assert_eq!(response(&Constant(0.71)).succeeds, [false]);
    let never = good(
        &with(&format!("{CABIN}{SENSORS}{ALARM}")),
        &["alarms.low.response.chance=40 %"],
    );
    let on_medians = never.draw(&Medians).case.alarms[1]
        .response
        .clone()
        .expect("a response");
    assert_eq!(on_medians.succeeds, [false]);
    let sure = good(
        &with(&format!("{CABIN}{SENSORS}{ALARM}")),
        &["alarms.low.response.chance=100 %", "faults.loss.onset=3 h"],
    );
    let drawn = sure.draw(&Medians).case;
    assert!(drawn.alarms[1].response.as_ref().is_some_and(|r| r.succeeds.is_empty()));
    assert_eq!(drawn.faults[0].onset, Onset::At(Time(10_800_000_000_000)));
}

#[test]
fn one_reaction_for_all_occurrences_can_be_had() {
    let scenario = good(
        &with(&format!("{CABIN}{SENSORS}{ALARM}")),
        &["alarms.low.response.reaction={ uniform = [\"2 min\", \"4 min\"], draw = \"once\" }"],
    );
    let drawn = scenario.draw(&Keyed::default()).case;
    assert_eq!(drawn.alarms[1].response.as_ref().map(|r| r.reactions.len()), Some(1));
}

#[test]
fn buffers_of_another_case_change_nothing() {
    let all = good(&with(&format!("{CABIN}{SENSORS}{ALARM}")), &[]);
    let some = good(&with(&format!("{CABIN}{SENSORS}")), &[]);
    let mut drawn = Drawn::default();
    for (scenario, u) in [(&all, 0.3), (&some, 0.6), (&all, 0.7), (&all, 0.2)] {
        scenario.draw_into(&Constant(u), &mut drawn);
        assert_eq!(shown(&drawn), shown(&scenario.draw(&Constant(u))));
    }
}
