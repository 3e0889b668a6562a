//! Waits, the plan against the run, crowding, and the tightest moments.

use std::fmt::Write as _;

use super::super::numbers::{clock, short};
use super::super::summary::{Schedule, Summary, TaskTimes};
use super::table;

/// A task this much later than planned is told, h: clocks show minutes.
const SHOWN_H: f64 = 0.5 / 60.0;
/// Late tasks that are told one by one.
const MOST_LATE: usize = 25;

pub(super) fn schedule(out: &mut String, of: &Summary) {
    let s = &of.schedule;
    out.push_str("## Schedule\n\n");
    let _ = writeln!(
        out,
        "Tasks waited {} in all, {} of it for space alone; space was exceeded for {} in all.\n",
        clock(s.waits_h),
        clock(s.waits_for_space_h),
        clock(s.space_exceeded_h)
    );
    if !s.late_h.is_empty() {
        let late = s
            .late_h
            .iter()
            .map(|(task, late)| vec![task.to_owned(), late.map_or_else(|| "never started".to_owned(), clock)]);
        table(out, &["task", "later than its earliest start"], late);
    }
    if !s.space.is_empty() {
        let rows = s.space.iter().map(|(name, crowd)| {
            vec![
                name.to_owned(),
                clock(crowd.exceeded_h),
                format!("{} m3", short(crowd.excess_m3)),
            ]
        });
        table(out, &["compartment", "too small for", "by at most"], rows);
    }
    if !s.unfinished.is_empty() {
        let _ = writeln!(out, "Not ended when the run did: {}.\n", s.unfinished.join(", "));
    }
    late(out, s);
    tightest(out, s);
}

/// Only what is late: the plan is known.
fn late(out: &mut String, of: &Schedule) {
    if of.tasks.is_empty() {
        return;
    }
    let is_late = |late_h: Option<f64>| late_h.is_some_and(|late_h| late_h >= SHOWN_H);
    let mut late: Vec<&TaskTimes> = of
        .tasks
        .iter()
        .filter(|task| is_late(task.late_h) || is_late(task.end_late_h))
        .collect();
    // The latest first; equals, and what has not ended, in the plan's order.
    late.sort_by(|a, b| {
        let late_h = |task: &TaskTimes| task.end_late_h.unwrap_or(f64::INFINITY);
        late_h(b).total_cmp(&late_h(a))
    });
    out.push_str("### Planned and simulated\n\n");
    if late.is_empty() {
        out.push_str("No task was later than planned.\n\n");
        return;
    }
    let _ = writeln!(
        out,
        "{} of {} tasks were later than planned. Planned is what the plan gives if nobody waits for people, equipment or \
         space, with the same durations. The latest first.\n",
        late.len(),
        of.tasks.len()
    );
    let header = [
        "task",
        "planned start",
        "start",
        "planned end",
        "end",
        "end later by",
        "waited",
        "for space",
    ];
    let time = |hours: Option<f64>| hours.map_or_else(|| "-".to_owned(), clock);
    let rows = late.iter().take(MOST_LATE).map(|task| {
        vec![
            task.task.clone(),
            clock(task.planned_start_h),
            time(task.start_h),
            clock(task.planned_end_h),
            time(task.end_h),
            time(task.end_late_h),
            clock(task.waited_h),
            clock(task.waited_for_space_h),
        ]
    });
    table(out, &header, rows);
    if late.len() > MOST_LATE {
        let _ = writeln!(
            out,
            "And {} more: `summary.json` has them all.\n",
            late.len() - MOST_LATE
        );
    }
}

fn tightest(out: &mut String, of: &Schedule) {
    if of.tightest.is_empty() {
        return;
    }
    out.push_str("### Tightest moments\n\n");
    let rows = of.tightest.iter().flat_map(|(place, moments)| {
        moments.iter().map(move |moment| {
            let who = moment
                .who
                .iter()
                .map(|who| format!("{} ({}, {} m3)", who.person, who.effort, short(who.claims_m3)));
            vec![
                place.to_owned(),
                clock(moment.from_h),
                clock(moment.to_h),
                format!("{} m3", short(moment.claimed_m3)),
                format!("{} m3", short(moment.usable_m3)),
                who.collect::<Vec<String>>().join(", "),
            ]
        })
    });
    table(
        out,
        &["compartment", "from", "to", "claimed", "usable", "who was there"],
        rows,
    );
}
