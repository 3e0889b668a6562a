//! Waits, delays, the plan against the run, and crowding, by name. What is on call has no place in the plan: see the responses.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{Case, Outcome};
use breathroom_sim::scenario::{Names, Origin, Resolved, Scenario};
use breathroom_sim::timeline;
use breathroom_sim::units::Time;

use super::super::ordered::Ordered;
use super::super::summary::{Crowding, Doing, Schedule, TaskTimes, TaskUpset, Tight};
use super::super::words;

pub(super) fn schedule(outcome: &Outcome, case: &Case, scenario: &Scenario) -> Schedule {
    let of = &outcome.schedule;
    let names = &scenario.names;
    let label = |index: usize| words::task(names, index);
    let place = |index: usize| words::compartment(names, index).to_owned();
    let planned = |index: usize| case.plan.tasks.get(index).is_none_or(|task| !task.on_call);
    let all = case.plan.tasks.iter().enumerate();
    let late = all.filter(|(index, _)| planned(*index)).filter_map(|(index, task)| {
        // A task that only follows others has no time of its own to be late for.
        let timed = task.after.is_empty() || names.tasks.get(index).is_some_and(|name| is_timed(scenario, &name.id));
        let late_h = at(&of.started, index).map(|start| (start - task.earliest).hours());
        (timed && late_h != Some(0.0)).then(|| (label(index), late_h))
    });
    let crowded = of.space_exceeded_s.iter().zip(&of.space_excess_m3).enumerate();
    let crowded = crowded.filter(|(_, (time_s, excess_m3))| **time_s > 0.0 || **excess_m3 > 0.0);
    let crowding = |(time_s, excess_m3): (&f64, &f64)| Crowding {
        exceeded_h: time_s / 3600.0,
        excess_m3: *excess_m3,
    };
    let tightest = of
        .tightest
        .iter()
        .enumerate()
        .filter(|(_, moments)| !moments.is_empty());
    let sum_h = |waits_s: &[f64]| {
        let waits_s = waits_s.iter().enumerate().filter(|(index, _)| planned(*index));
        waits_s.map(|(_, wait_s)| wait_s).sum::<f64>() / 3600.0
    };
    Schedule {
        waits_h: sum_h(&of.waited_s),
        waits_for_space_h: sum_h(&of.waited_for_space_s),
        space_exceeded_h: of.space_exceeded_s.iter().sum::<f64>() / 3600.0,
        late_h: late.collect(),
        tasks: tasks(outcome, case, names),
        space: crowded.map(|(index, of)| (place(index), crowding(of))).collect(),
        tightest: tightest
            .map(|(index, moments)| {
                let usable_m3 = case.compartments.get(index).map_or(f64::NAN, |place| place.usable_m3);
                let shown = moments.iter().map(|moment| tight(moment, usable_m3, case, names));
                (place(index), shown.collect())
            })
            .collect::<Ordered<Vec<Tight>>>(),
        unfinished: (0..case.plan.tasks.len())
            .filter(|&index| planned(index) && at(&of.ended, index).is_none())
            .map(label)
            .collect(),
    }
}

/// The time of a task, if it came.
fn at(times: &[Option<Time>], task: usize) -> Option<Time> {
    times.get(task).copied().flatten()
}

fn tasks(outcome: &Outcome, case: &Case, names: &Names) -> Vec<TaskTimes> {
    let of = &outcome.schedule;
    let planned = case.plan.planned();
    let tasks = case.plan.tasks.iter().enumerate().zip(&planned);
    let tasks = tasks.filter(|((_, task), _)| !task.on_call);
    let responds = case.alarms.iter().any(|alarm| alarm.response.is_some());
    let times = tasks.map(|((index, task), planned)| {
        let (start, end) = (at(&of.started, index), at(&of.ended, index));
        let after = |time: Option<Time>, planned: Time| time.map(|time| (time - planned).hours());
        TaskTimes {
            task: words::task(names, index),
            planned_start_h: planned.start.hours(),
            planned_end_h: planned.end.hours(),
            start_h: start.map(Time::hours),
            end_h: end.map(Time::hours),
            late_h: after(start, planned.start),
            end_late_h: after(end, planned.end),
            waited_h: of.waited_s.get(index).copied().unwrap_or(f64::NAN) / 3600.0,
            waited_for_space_h: of.waited_for_space_s.get(index).copied().unwrap_or(f64::NAN) / 3600.0,
            upset: responds.then(|| TaskUpset {
                interruptions: of.interruptions.get(index).copied().unwrap_or(0),
                dropped: of.dropped.get(index).copied().unwrap_or(false),
                recalled: is_recalled(task, start.zip(end)),
            }),
        }
    });
    times.collect()
}

/// Whether a task outside ended before its time was over. Nothing but a recall does that to it: nobody outside is interrupted.
fn is_recalled(task: &timeline::Task, times: Option<(Time, Time)>) -> bool {
    task.place == Place::Outside && times.is_some_and(|(start, end)| end - start < task.duration)
}

fn tight(moment: &timeline::Tight, usable_m3: f64, case: &Case, names: &Names) -> Tight {
    let doing = |&(person, effort): &(usize, usize)| Doing {
        person: words::person(names, person).to_owned(),
        effort: words::effort(names, effort).to_owned(),
        claims_m3: case.plan.effort_space_m3.get(effort).copied().unwrap_or(f64::NAN),
    };
    Tight {
        from_h: moment.from.hours(),
        to_h: moment.to.hours(),
        claimed_m3: moment.claimed_m3,
        usable_m3,
        who: moment.who.iter().map(doing).collect(),
    }
}

/// Whether a task was given an earliest start of its own.
fn is_timed(scenario: &Scenario, id: &str) -> bool {
    let path = format!("tasks.{id}.at");
    let given = |value: &Resolved| value.path == path && !matches!(value.origin, Origin::Default { .. });
    scenario.resolved.iter().any(given)
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::{Compartment, Place};
    use breathroom_sim::engine::ScheduleOutcome;
    use breathroom_sim::scenario::TaskName;
    use breathroom_sim::timeline::{Interrupted, Plan, SuitUse, Task};

    use super::*;

    fn hours(hours: f64) -> Time {
        Time::from_seconds(3600.0 * hours)
    }

    fn task(earliest_h: f64, after: &[usize]) -> Task {
        Task {
            entry: 0,
            turn: 1,
            people: vec![0],
            effort: 0,
            place: Place::Compartment(0),
            earliest: hours(earliest_h),
            after: after.to_vec(),
            duration: hours(2.0),
            needs: Vec::new(),
            suit: SuitUse::Off,
            needs_space: false,
            starts: Vec::new(),
            ends: Vec::new(),
            interrupted: Interrupted::Resumes,
            on_call: false,
        }
    }

    fn name(id: &str) -> TaskName {
        TaskName {
            id: id.to_owned(),
            turn: 1,
            turns: 1,
            person: None,
        }
    }

    fn scenario() -> Scenario {
        let mut scenario = Scenario::default();
        scenario.names.tasks = ["eat", "wash", "sleep"].map(name).into();
        scenario.names.compartments = vec!["cabin".to_owned(), "lock".to_owned()];
        scenario.names.people = vec!["lead".to_owned()];
        scenario.names.efforts = vec!["rest".to_owned()];
        scenario
    }

    /// The second follows the first, which is half an hour late; the third never starts.
    #[test]
    fn tasks_are_held_against_the_plan_as_if_nobody_waited() {
        let case = Case {
            plan: Plan {
                tasks: vec![task(1.0, &[]), task(0.0, &[0]), task(9.0, &[])],
                ..Plan::default()
            },
            ..Case::default()
        };
        let outcome = Outcome {
            schedule: ScheduleOutcome {
                started: vec![Some(hours(1.5)), Some(hours(3.75)), None],
                ended: vec![Some(hours(3.5)), Some(hours(5.5)), None],
                waited_s: vec![1800.0, 900.0, 0.0],
                ..ScheduleOutcome::default()
            },
            ..Outcome::default()
        };
        let schedule = schedule(&outcome, &case, &scenario());
        let wash = &schedule.tasks[1];
        assert_eq!(
            (wash.task.as_str(), wash.planned_start_h, wash.planned_end_h),
            ("wash", 3.0, 5.0)
        );
        assert_eq!((wash.start_h, wash.end_h), (Some(3.75), Some(5.5)));
        assert_eq!(
            (wash.late_h, wash.end_late_h, wash.waited_h),
            (Some(0.75), Some(0.5), 0.25)
        );
        let sleep = &schedule.tasks[2];
        assert_eq!((sleep.planned_end_h, sleep.start_h, sleep.late_h), (11.0, None, None));
        // Only tasks with a start of their own are late for it.
        let late: Vec<_> = schedule.late_h.iter().collect();
        assert_eq!(late, [("eat", &Some(0.5)), ("sleep", &None)]);
        assert_eq!(schedule.unfinished, ["sleep"]);
    }

    /// A response's task is in no list of planned ones; a task outside that ended before its time was recalled.
    #[test]
    fn what_is_on_call_is_not_planned_and_who_is_called_in_ends_early() {
        let (mut called, mut out) = (task(0.0, &[]), task(1.0, &[]));
        called.on_call = true;
        called.earliest = Time::NEVER;
        out.place = Place::Outside;
        let response = breathroom_sim::upset::Response {
            by: breathroom_sim::upset::Responder::Any,
            reactions: vec![Time::ZERO],
            takes: vec![Time::ZERO],
            task: 2,
            in_place: false,
            interrupts: true,
            succeeds: Vec::new(),
            tries: 1,
        };
        let alarm = breathroom_sim::upset::Alarm {
            sensors: Vec::new(),
            votes: 1,
            bound: breathroom_sim::limits::Bound::AtMost,
            set: 0.0,
            lasts: Time::ZERO,
            clears: 0.0,
            grade: breathroom_sim::upset::Grade::Warning,
            response: Some(response),
        };
        let case = Case {
            plan: Plan {
                tasks: vec![task(0.0, &[]), out, called],
                ..Plan::default()
            },
            alarms: vec![alarm],
            ..Case::default()
        };
        let outcome = Outcome {
            schedule: ScheduleOutcome {
                started: vec![Some(Time::ZERO), Some(hours(1.0)), None],
                ended: vec![Some(hours(2.5)), Some(hours(2.0)), None],
                waited_s: vec![0.0, 0.0, 7200.0],
                interruptions: vec![1, 0, 0],
                dropped: vec![false, false, false],
                ..ScheduleOutcome::default()
            },
            ..Outcome::default()
        };
        let schedule = schedule(&outcome, &case, &scenario());
        assert_eq!((schedule.tasks.len(), schedule.unfinished.len()), (2, 0));
        assert_eq!((schedule.waits_h, schedule.late_h.is_empty()), (0.0, true));
        let upset = |index: usize| schedule.tasks[index].upset.expect("a response");
        assert_eq!((upset(0).interruptions, upset(0).recalled), (1, false));
        assert_eq!((upset(1).interruptions, upset(1).recalled), (0, true));
        assert_eq!(schedule.tasks[0].longer_h(), Some(0.5));
        assert_eq!(schedule.tasks[1].longer_h(), Some(-1.0));
    }

    #[test]
    fn the_tightest_moments_name_who_was_there_and_empty_places_are_left_out() {
        let moment = timeline::Tight {
            from: hours(1.0),
            to: hours(1.5),
            claimed_m3: 3.0,
            who: vec![(0, 0)],
        };
        let outcome = Outcome {
            schedule: ScheduleOutcome {
                tightest: vec![Vec::new(), vec![moment]],
                ..ScheduleOutcome::default()
            },
            ..Outcome::default()
        };
        let room = |usable_m3| Compartment {
            usable_m3,
            ..Compartment::default()
        };
        let case = Case {
            compartments: vec![room(8.0), room(3.5)],
            ..Case::default()
        };
        let tightest = schedule(&outcome, &case, &scenario()).tightest;
        let all: Vec<_> = tightest.iter().collect();
        assert_eq!(all.len(), 1);
        assert_eq!((all[0].0, all[0].1[0].usable_m3, all[0].1[0].to_h), ("lock", 3.5, 1.5));
        assert_eq!(all[0].1[0].who[0].person, "lead");
    }
}
