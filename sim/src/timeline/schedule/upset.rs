//! What a response does to a run of a plan: it calls a task that was on call, takes people from others, has them come in.
//!
//! A task that is interrupted is no longer running: all its people are off task, its equipment is free. Unless it is dropped it
//! waits as a ready task does, in the plan's order, and goes on when all its people and its equipment can be had again, for what
//! was left of it or (if it restarts) anew. A dropped task counts as ended for those that come after it.

use crate::air::Place;
use crate::timeline::{Change, Interrupted, Plan, SuitUse};
use crate::units::Time;

use super::{Schedule, Waiting};

/// The people of a set of bits, by index.
pub(crate) fn each(mut people: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let first = (people != 0).then(|| people.trailing_zeros() as usize);
        people &= people.wrapping_sub(1);
        first
    })
}

impl Schedule {
    /// The people of a task, by index: of one that is on call those who were called last.
    pub fn people<'a>(&self, plan: &'a Plan, task: usize) -> impl Iterator<Item = usize> + use<'a> {
        let called = self.progress[task].called;
        let listed: &[usize] = if plan.tasks[task].on_call {
            &[]
        } else {
            &plan.tasks[task].people
        };
        listed.iter().copied().chain(each(called))
    }

    /// The running task that a person is at.
    #[must_use]
    pub fn task_of(&self, plan: &Plan, person: usize) -> Option<usize> {
        if !self.is_busy(person) {
            return None;
        }
        let mut tasks = 0..plan.tasks.len();
        tasks.find(|&task| self.progress[task].runs() && self.people(plan, task).any(|other| other == person))
    }

    /// Whether a person can be had for a response: inside, not in a suit under pressure, not at a response, nor at what a task
    /// does at its end; off task, or (`busy`) at one that can be interrupted.
    #[must_use]
    pub fn can_be_had(&self, plan: &Plan, person: usize, busy: bool) -> bool {
        if self.place(person) == Place::Outside || self.suit(person) == SuitUse::Pressurised {
            return false;
        }
        match self.task_of(plan, person) {
            None => true,
            Some(task) => busy && !plan.tasks[task].on_call && !self.progress[task].ending,
        }
    }

    /// Whether the equipment of a task is free, or would be if `people` (as bits) left what they are at.
    #[must_use]
    pub fn has_equipment(&self, plan: &Plan, task: usize, people: u64) -> bool {
        let needs = &plan.tasks[task].needs;
        let freed = |equipment: usize| {
            let mut tasks: Vec<usize> = each(people).filter_map(|person| self.task_of(plan, person)).collect();
            tasks.sort_unstable();
            tasks.dedup();
            let held = tasks.iter().flat_map(|&task| &plan.tasks[task].needs);
            held.filter(|&&other| other == equipment).count()
        };
        needs.iter().all(|&equipment| {
            let wanted = needs.iter().filter(|&&other| other == equipment).count();
            self.free_equipment[equipment] as usize + freed(equipment) >= wanted
        })
    }

    /// Starts a task that is on call, at once, with these people (as bits), who are off task, for so long. Each of them is in the
    /// task's place, or stays where they are; their suits stay as they are worn.
    pub fn call(
        &mut self,
        plan: &Plan,
        task: usize,
        (people, in_place): (u64, bool),
        length: Time,
        now: Time,
        out: &mut Vec<Change>,
    ) {
        self.advance(now);
        let progress = &mut self.progress[task];
        progress.called = people;
        progress.started.get_or_insert(now);
        progress.ended = None;
        self.run(task, now + length);
        out.push(Change::TaskStarted(task));
        for &equipment in &plan.tasks[task].needs {
            self.free_equipment[equipment] -= 1;
        }
        self.busy |= people;
        for person in each(people) {
            let own = &plan.tasks[task];
            let place = if in_place { own.place } else { self.place(person) };
            let suit = self.suit(person);
            self.occupancy.put(person, own.effort, place, suit);
            out.push(Change::Does {
                person,
                effort: own.effort,
                place,
                suit,
            });
        }
        let starts = plan.tasks[task].starts.iter();
        out.extend(starts.map(|&effect| Change::Effect { task, effect }));
    }

    /// Interrupts a running task.
    pub fn interrupt(&mut self, plan: &Plan, task: usize, now: Time, out: &mut Vec<Change>) {
        self.advance(now);
        let of = &plan.tasks[task];
        self.progress[task].interruptions += 1;
        out.push(Change::TaskInterrupted(task));
        if of.interrupted == Interrupted::Dropped {
            self.progress[task].dropped = true;
            self.stop(task);
            out.push(Change::TaskDropped(task));
            self.end_without_effects(plan, task, now, out);
            return;
        }
        let progress = &mut self.progress[task];
        progress.left = (of.interrupted == Interrupted::Resumes).then(|| (progress.due - now).max(Time::ZERO));
        self.stop(task);
        self.release(plan, task, out);
        let entry = Waiting {
            task: task as u32,
            fresh: false,
            needs_space: of.needs_space,
            people: super::bits(&of.people),
            for_space: None,
        };
        let at = self.waiting.partition_point(|other| other.task < entry.task);
        self.waiting.insert(at, entry);
    }

    /// Has running tasks outside end by `by`, if any of these people (as bits) is at them.
    pub fn recall(&mut self, plan: &Plan, people: u64, by: Time, out: &mut Vec<Change>) {
        for task in 0..plan.tasks.len() {
            let progress = self.progress[task];
            let outside = plan.tasks[task].place == Place::Outside;
            let theirs = || self.people(plan, task).any(|person| people & (1 << person) != 0);
            if outside && progress.runs() && !progress.ending && progress.due > by && theirs() {
                self.stop(task);
                self.run(task, by);
                out.push(Change::TaskRecalled(task));
            }
        }
    }

    /// A person who is inside goes on at another effort, or wears their suit in another way.
    pub fn change(&mut self, person: usize, effort: Option<usize>, suit: Option<SuitUse>, out: &mut Vec<Change>) {
        let place = self.place(person);
        if place == Place::Outside {
            return;
        }
        let (effort, suit) = (
            effort.unwrap_or_else(|| self.effort(person)),
            suit.unwrap_or_else(|| self.suit(person)),
        );
        self.occupancy.put(person, effort, place, suit);
        out.push(Change::Does {
            person,
            effort,
            place,
            suit,
        });
    }

    /// Whether a task's people are at it.
    #[must_use]
    pub fn runs(&self, task: usize) -> bool {
        self.progress[task].runs()
    }

    /// How often a task was interrupted.
    #[must_use]
    pub fn interruptions(&self, task: usize) -> u32 {
        self.progress[task].interruptions
    }

    /// Whether a task was dropped at an interruption.
    #[must_use]
    pub fn was_dropped(&self, task: usize) -> bool {
        self.progress[task].dropped
    }
}
