//! The plan as it stands on paper: when each task would start and end if nobody waited.
//!
//! ```text
//! start(i) = max(earliest(i), end(j) over the turns j that must come before i)
//! end(i)   = start(i) + duration(i) + sum of the times given for vents, fills and equalisations of its end
//! ```
//!
//! Times in whole nanoseconds. Left out: people, equipment and space, which is what makes a run wait; and how long gas takes
//! where the plan gives an area or a flow in place of a time, which only the run knows (it counts as nothing here).

use crate::units::Time;

use super::{Effect, Pace, Plan, Task};

/// When a task is planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Planned {
    /// Its start; [`Time::NEVER`] of a task that waits for itself.
    pub start: Time,
    /// Its end, with the effects that take time.
    pub end: Time,
}

impl Planned {
    const NEVER: Self = Self {
        start: Time::NEVER,
        end: Time::NEVER,
    };
}

impl Plan {
    /// The planned times of every task, in the plan's order. They need not be within the run.
    #[must_use]
    pub fn planned(&self) -> Vec<Planned> {
        let mut planned = vec![Planned::NEVER; self.tasks.len()];
        let mut start: Vec<Time> = self.tasks.iter().map(|task| task.earliest).collect();
        let mut unmet: Vec<usize> = self.tasks.iter().map(|task| task.after.len()).collect();
        let mut followers = vec![Vec::new(); self.tasks.len()];
        for (index, task) in self.tasks.iter().enumerate() {
            for &before in &task.after {
                followers[before].push(index);
            }
        }
        // What is on call has no place in the plan.
        let planned_at_all = |&index: &usize| unmet[index] == 0 && !self.tasks[index].on_call;
        let mut known: Vec<usize> = (0..self.tasks.len()).filter(planned_at_all).collect();
        while let Some(index) = known.pop() {
            let end = start[index] + length(&self.tasks[index]);
            planned[index] = Planned {
                start: start[index],
                end,
            };
            for &follower in &followers[index] {
                start[follower] = start[follower].max(end);
                unmet[follower] -= 1;
                if unmet[follower] == 0 {
                    known.push(follower);
                }
            }
        }
        planned
    }
}

/// How long a task takes with what its end takes.
fn length(task: &Task) -> Time {
    let given = |effect: &Effect| match effect {
        Effect::Vent { pace, .. } | Effect::Fill { pace, .. } | Effect::Equalise { pace, .. } => match pace {
            Pace::Over(time) => Some(*time),
            Pace::Through(_) | Pace::At(_) => None,
        },
        _ => None,
    };
    task.ends
        .iter()
        .filter_map(given)
        .fold(task.duration, |sum, more| sum + more)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::Place;
    use crate::timeline::{Interrupted, SuitUse};

    fn minutes(minutes: i64) -> Time {
        Time(minutes * 60_000_000_000)
    }

    fn task(earliest_min: i64, duration_min: i64, after: &[usize]) -> Task {
        Task {
            entry: 0,
            turn: 1,
            people: vec![0],
            effort: 0,
            place: Place::Compartment(0),
            earliest: minutes(earliest_min),
            after: after.to_vec(),
            duration: minutes(duration_min),
            needs: Vec::new(),
            suit: SuitUse::Off,
            needs_space: false,
            starts: Vec::new(),
            ends: Vec::new(),
            interrupted: Interrupted::Resumes,
            on_call: false,
        }
    }

    fn times(tasks: Vec<Task>) -> Vec<(Time, Time)> {
        let plan = Plan {
            tasks,
            ..Plan::default()
        };
        plan.planned().iter().map(|task| (task.start, task.end)).collect()
    }

    fn vent(pace: Pace) -> Effect {
        Effect::Vent {
            compartment: 0,
            to_pa: 0.0,
            pace,
        }
    }

    #[test]
    fn a_task_starts_when_all_before_it_have_ended_and_not_before_its_time() {
        // The second waits for the third, which stands after it; all are of one person, who is not asked.
        let chain = times(vec![task(10, 60, &[]), task(15, 5, &[0, 2]), task(0, 90, &[])]);
        let expected = [(10, 70), (90, 95), (0, 90)].map(|(from, to)| (minutes(from), minutes(to)));
        assert_eq!(chain, expected);
        let late = times(vec![task(0, 10, &[]), task(30, 5, &[0])]);
        assert_eq!(late[1], (minutes(30), minutes(35)));
    }

    #[test]
    fn what_takes_time_at_the_end_is_part_of_the_task_where_the_plan_says_how_long() {
        let mut out = task(0, 60, &[]);
        out.starts = vec![vent(Pace::Over(minutes(10)))];
        out.ends = vec![
            Effect::Open(0),
            vent(Pace::Over(minutes(4))),
            vent(Pace::Through(1e-3)),
            vent(Pace::Over(minutes(3))),
        ];
        assert_eq!(times(vec![out, task(0, 1, &[0])])[1], (minutes(67), minutes(68)));
    }

    #[test]
    fn tasks_that_wait_for_each_other_are_never() {
        let ring = times(vec![task(0, 1, &[1]), task(0, 1, &[0]), task(0, 1, &[])]);
        assert_eq!(ring[0], (Time::NEVER, Time::NEVER));
        assert_eq!(ring[2], (minutes(0), minutes(1)));
    }
}
