//! Tasks: turns, predecessors, overlaps.

use super::*;
use crate::timeline::Effect;
use crate::units::Time;

fn task(id: &str, more: &str) -> String {
    format!("[[tasks]]\nid = \"{id}\"\ncrew = [\"lead\"]\neffort = \"nominal\"\nduration = \"1 h\"\n{more}\n")
}

fn hours(h: f64) -> Time {
    Time::from_seconds(3600.0 * h)
}

#[test]
fn turns_stand_in_file_order_then_turn_then_person() {
    let text = with(&format!(
        "{}[[tasks]]\nid = \"b\"\ncrew = [\"second\", \"lead\"]\neach = true\neffort = \"rest\"\nduration = \"1 h\"\nat = \"1 h\"\n\
         repeat = {{ every = \"4 h\", times = 2 }}\n",
        task("a", "at = \"0 h\"\nrepeat = { every = \"10 h\", times = 2 }")
    ));
    let scenario = good(&text, &[]);
    let names: Vec<String> = scenario
        .names
        .tasks
        .iter()
        .map(|t| {
            format!(
                "{}#{}/{}{}",
                t.id,
                t.turn,
                t.turns,
                t.person.as_deref().map_or(String::new(), |p| format!(" {p}"))
            )
        })
        .collect();
    assert_eq!(
        names,
        [
            "a#1/2",
            "a#2/2",
            "b#1/2 second",
            "b#1/2 lead",
            "b#2/2 second",
            "b#2/2 lead"
        ]
    );
    let plan = scenario.draw(&Medians).case.plan;
    assert_eq!(
        plan.tasks.iter().map(|t| t.earliest).collect::<Vec<_>>(),
        [0.0, 10.0, 1.0, 1.0, 5.0, 5.0].map(hours)
    );
    assert_eq!(plan.tasks[3].people, [0]);
    assert_eq!(
        plan.tasks.iter().map(|t| t.entry).collect::<Vec<_>>(),
        [0, 0, 1, 1, 1, 1]
    );
}

#[test]
fn predecessors_are_of_the_same_turn_and_person() {
    let each = "[[tasks]]\nid = \"p\"\ncrew = [\"lead\", \"second\"]\neach = true\neffort = \"rest\"\nduration = \"1 h\"\nrepeat = { every = \"5 h\", times = 2 }\n";
    let text = with(&format!(
        "{each}{}{}{}{}{}",
        each.replace("\"p\"", "\"q\"")
            .replace("each = true", "each = true\nafter = [\"p\"]"),
        task("once", "after = [\"p\"]"),
        task("second-turn", "after = [\"p#2\"]"),
        task(
            "together",
            "after = [\"p\", \"once\"]\nrepeat = { every = \"5 h\", times = 2 }"
        ),
        task("first", "after = [\"together\"]"),
    ));
    let plan = good(&text, &[]).draw(&Medians).case.plan;
    let after: Vec<Vec<usize>> = plan.tasks.iter().map(|t| t.after.clone()).collect();
    let expected: [&[usize]; 12] = [
        &[],
        &[],
        &[],
        &[],
        &[0],
        &[1],
        &[2],
        &[3],
        &[0, 1],
        &[2, 3],
        &[0, 1, 8],
        &[2, 3, 8],
    ];
    assert_eq!(after[..12], expected);
    assert_eq!(after[12], [10]);
}

#[test]
fn effects_are_read_in_their_order() {
    let text = with(&format!(
        "[compartments.lock]\nfree_volume = \"4 m3\"\n[openings.hatch]\nbetween = [\"cabin\", \"lock\"]\nexchange = \"2 m3/min\"\n\
         [removal.fan]\nkind = \"flow-through\"\nserves = \"cabin\"\nflow = \"1 m3/min\"\nco2_efficiency = 0.5\n{}",
        task(
            "t",
            "in = \"lock\"\nstarts = [{ close = \"hatch\" }, { switch_off = \"fan\" }]\nends = [{ switch_on = \"fan\" }, { open = \"hatch\" }]"
        )
    ));
    let plan = good(&text, &[]).draw(&Medians).case.plan;
    assert_eq!(plan.tasks[0].starts, [Effect::Close(0), Effect::SwitchOff(0)]);
    assert_eq!(plan.tasks[0].ends, [Effect::SwitchOn(0), Effect::Open(0)]);
    assert!(
        bad(
            &text.replace("{ close = \"hatch\" }", "{ close = \"hatch\", open = \"hatch\" }"),
            &[]
        )[0]
        .contains("does one thing")
    );
}

#[test]
fn an_opening_onto_vacuum_may_be_there_but_not_be_opened() {
    let text = with(&format!(
        "[openings.door]\nbetween = [\"cabin\", \"outside\"]\nexchange = \"2 m3/min\"\nopen = false\n{}",
        task("t", "starts = [{ open = \"door\" }]")
    ));
    assert_eq!(bad(&text, &[]), ["this opens onto the vacuum outside"]);
    good(&text.replace("{ open = \"door\" }", "{ close = \"door\" }"), &[]);
}

#[test]
fn one_after_the_other_is_no_overlap() {
    let text = with(&format!(
        "{}{}",
        task("a", "at = \"0 h\"\nrepeat = { every = \"8 h\", times = 3 }"),
        task("b", "at = \"1 h\"\nrepeat = { every = \"8 h\", times = 3 }")
    ));
    let scenario = good(&text, &[]);
    assert!(!scenario.warnings.iter().any(|w| w.message.contains("late")));
    let message = ["`a` and `b` of `lead` overlap"];
    assert_eq!(bad(&text, &["tasks.b.at=0.9 h"]), message);
    assert_eq!(bad(&text, &["tasks.a.duration=8 h"]), message);
}

#[test]
fn an_overlap_that_is_only_likely_is_a_warning() {
    let text = with(&format!("{}{}", task("a", "at = \"0 h\""), task("b", "at = \"1 h\"")));
    let scenario = good(&text, &["tasks.a.duration={ uniform = [\"50 min\", \"90 min\"] }"]);
    let late: Vec<&str> = scenario
        .warnings
        .iter()
        .map(|w| w.message.as_str())
        .filter(|m| m.contains("late"))
        .collect();
    assert_eq!(late, ["`b` of `lead` will often start late"]);
    assert_eq!(
        bad(&text, &["tasks.a.duration={ uniform = [\"70 min\", \"90 min\"] }"]).len(),
        1
    );
    // What waits for something is not fixed.
    good(&text, &["tasks.b.after=[\"a\"]", "tasks.a.duration=3 h"]);
    // Nor is what has no start of its own.
    good(&with(&format!("{}{}", task("a", ""), task("b", ""))), &[]);
}

#[test]
fn people_are_held_apart() {
    let text = with(&format!(
        "{}{}",
        task("a", "at = \"0 h\""),
        task("b", "at = \"0 h\"").replace("lead", "second")
    ));
    good(&text, &[]);
}

#[test]
fn a_ring_of_a_thousand_tasks_is_told_once() {
    let mut text = with("");
    for n in 0..1000 {
        text.push_str(&task(&format!("t{n}"), &format!("after = [\"t{}\"]", (n + 1) % 1000)));
    }
    let faults = bad(&text, &[]);
    assert_eq!(faults.len(), 1);
    assert!(faults[0].len() < 300, "{}", faults[0]);
}

#[test]
fn turns_may_wait_for_earlier_turns_of_a_task_that_waits_for_them() {
    let text = with(&format!(
        "{}{}",
        task("work", "repeat = { every = \"6 h\", times = 2 }"),
        task("check", "after = [\"work#2\"]")
    ));
    assert_eq!(good(&text, &[]).draw(&Medians).case.plan.tasks[2].after, [1]);
}
