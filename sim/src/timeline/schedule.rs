//! One run of a plan: which tasks wait, run and have ended, and what follows from it.
//!
//! A task is *ready* once its earliest start is reached and all turns that must come before have ended. Ready tasks are
//! tried in the plan's order; one starts when all its people are off task, a unit of each equipment it needs is free and,
//! if it asks for that, its people's claims fit into its place: all of it or none. Nothing is reserved: a later task may
//! start where an earlier one cannot.
//!
//! Order at one instant: [`Schedule::end_due`] is the phase *ends*, [`Schedule::start_ready`] the phase *new tasks*; within
//! each the plan's order rules. A task without duration starts in one pass and ends in the next. What a start makes
//! possible for an earlier task (people who leave make space) is taken up in the next pass.
//!
//! Cost: both heaps take O(log n) for a task; waiting tasks are looked at again only after something was freed, and those
//! with a busy person are passed over by one comparison of bits. Buffers are kept from run to run.

mod told;
mod upset;

pub(crate) use upset::each;

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::air::Place;
use crate::crew::Person;
use crate::units::Time;

use super::occupancy::Occupancy;
use super::{Effect, Plan, SuitUse, Task};

/// What the schedule did, for the engine to carry out and to log. Indices refer to the case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// A task started.
    TaskStarted(usize),
    /// A task's time is over, and an effect of its end takes time: its people stay at it, and it ends with
    /// [`Schedule::finish`].
    TaskEnding(usize),
    /// A task ended.
    TaskEnded(usize),
    /// A task was interrupted.
    TaskInterrupted(usize),
    /// A task that was interrupted goes on.
    TaskResumed(usize),
    /// A task that was interrupted is over.
    TaskDropped(usize),
    /// A task outside was told to end sooner.
    TaskRecalled(usize),
    /// A task became ready but could not start: it waits. Given once for each task.
    TaskWaits(usize),
    /// A person takes up an effort in a place. The last of an instant holds: whoever goes from task to task is given as
    /// off task in between.
    Does {
        /// Index of the person.
        person: usize,
        /// Index of the effort.
        effort: usize,
        /// Where.
        place: Place,
        /// How they wear their suit.
        suit: SuitUse,
    },
    /// A task's effect is due.
    Effect {
        /// Index of the task.
        task: usize,
        /// What.
        effect: Effect,
    },
}

/// A ready task that has not started.
#[derive(Clone, Copy, Debug)]
struct Waiting {
    task: u32,
    /// Never tried so far.
    fresh: bool,
    needs_space: bool,
    /// Bit p: person p takes part.
    people: u64,
    /// Since when only space has been lacking, if that is so now.
    for_space: Option<Time>,
}

/// What keeps a task whose people are all off task from starting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Lack {
    Nothing,
    Equipment,
    Space,
}

/// How far a task is.
#[derive(Clone, Copy, Debug)]
struct Progress {
    /// Turns before it that have not ended.
    unmet: u32,
    /// When it became ready; means something once `unmet` is 0.
    ready: Time,
    started: Option<Time>,
    ended: Option<Time>,
    /// How long it has waited for nothing but space, up to when that was last so.
    for_space: Time,
    /// When it ends, while it runs; else never.
    due: Time,
    /// Its time is over, and what it does at its end takes time.
    ending: bool,
    /// What was left of it when it was interrupted, if it is to go on.
    left: Option<Time>,
    interruptions: u32,
    dropped: bool,
    /// Who was called, of a task on call: bit p, person p.
    called: u64,
}

impl Progress {
    /// It has started, and its people are at it.
    fn runs(&self) -> bool {
        self.due < Time::NEVER || self.ending
    }
}

type Queue = BinaryHeap<Reverse<(Time, u32)>>;

/// The state of one run of a plan. A default one is empty; [`Schedule::reset`] makes it ready for a run.
#[derive(Debug, Default)]
pub struct Schedule {
    progress: Vec<Progress>,
    /// Tasks that wait for task i: `followers[follower_from[i] .. follower_from[i + 1]]`.
    follower_from: Vec<u32>,
    followers: Vec<u32>,
    /// Ends of running tasks; ties by the plan's order, which is that of the indices.
    ends: Queue,
    /// Earliest starts of tasks that wait for nothing else.
    starts: Queue,
    /// Made ready by an end, not yet tried.
    arrived: Vec<u32>,
    /// Ready and not started, in the plan's order.
    waiting: Vec<Waiting>,
    /// Something was freed since the waiting tasks were last tried.
    freed: bool,
    free_equipment: Vec<u32>,
    /// Bit p: person p is on task.
    busy: u64,
    occupancy: Occupancy,
    tries: u64,
}

impl Schedule {
    /// An empty schedule.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Time zero of a run: everyone idle at their start, nothing started. `usable_m3` is each compartment's usable volume,
    /// m3. At most 64 people.
    pub fn reset(&mut self, plan: &Plan, people: &[Person], usable_m3: impl IntoIterator<Item = f64>) {
        debug_assert!(people.len() <= 64, "people are kept as bits");
        self.occupancy
            .reset(&plan.effort_space_m3, people, usable_m3.into_iter());
        self.free_equipment.clear();
        self.free_equipment.extend_from_slice(&plan.equipment);
        self.busy = 0;
        self.freed = false;
        self.tries = 0;
        self.ends.clear();
        self.arrived.clear();
        self.waiting.clear();
        self.progress.clear();
        self.progress.extend(plan.tasks.iter().map(|task| Progress {
            unmet: task.after.len() as u32,
            ready: task.earliest,
            started: None,
            ended: None,
            for_space: Time::ZERO,
            due: Time::NEVER,
            ending: false,
            left: None,
            interruptions: 0,
            dropped: false,
            called: 0,
        }));
        self.index_followers(plan);
        let mut starts = std::mem::take(&mut self.starts).into_vec();
        starts.clear();
        let first = plan
            .tasks
            .iter()
            .enumerate()
            .filter(|(_, task)| task.after.is_empty() && !task.on_call);
        starts.extend(first.map(|(i, task)| Reverse((task.earliest, i as u32))));
        self.starts = BinaryHeap::from(starts);
    }

    /// Turns "must come after" around, as one flat list sorted by predecessor (a counting sort).
    fn index_followers(&mut self, plan: &Plan) {
        let from = &mut self.follower_from;
        from.clear();
        from.resize(plan.tasks.len() + 1, 0);
        for &before in plan.tasks.iter().flat_map(|task| &task.after) {
            from[before + 1] += 1;
        }
        for i in 1..from.len() {
            from[i] += from[i - 1];
        }
        self.followers.clear();
        self.followers.resize(from[plan.tasks.len()] as usize, 0);
        // Filling from the back moves each start to where its list begins, and keeps the plan's order within a list.
        for (i, task) in plan.tasks.iter().enumerate().rev() {
            for &before in task.after.iter().rev() {
                from[before + 1] -= 1;
                self.followers[from[before + 1] as usize] = i as u32;
            }
        }
        // Each entry was moved from the end of its list to the start: shift them back into place.
        for i in 0..plan.tasks.len() {
            from[i] = from[i + 1];
        }
        from[plan.tasks.len()] = self.followers.len() as u32;
    }

    /// The earliest time at which something is due of itself: the end of a running task, or the earliest start of a task
    /// that waits for nothing else. [`Time::NEVER`] if nothing is.
    #[must_use]
    pub fn next_due(&self) -> Time {
        let head = |queue: &Queue| queue.peek().map_or(Time::NEVER, |&Reverse((at, _))| at);
        head(&self.ends).min(head(&self.starts))
    }

    /// The running tasks with their ends, in no order.
    pub fn running(&self) -> impl Iterator<Item = (Time, usize)> + '_ {
        self.ends.iter().map(|&Reverse((at, task))| (at, task as usize))
    }

    /// Lets time pass up to `now`, for the sums of crowded time and of waits; the two phases do so themselves. Call it at
    /// the end of a run.
    pub fn advance(&mut self, now: Time) {
        self.occupancy.advance(now);
    }

    /// The phase *ends*: ends what is due by `now`, frees its people, equipment and space, and appends for each task
    /// [`Change::TaskEnded`], its effects, and its people off task. Gives whether there was anything.
    pub fn end_due(&mut self, plan: &Plan, now: Time, out: &mut Vec<Change>) -> bool {
        self.advance(now);
        let mut any = false;
        while let Some(&Reverse((at, task))) = self.ends.peek() {
            if at > now {
                break;
            }
            self.ends.pop();
            self.progress[task as usize].due = Time::NEVER;
            if plan.tasks[task as usize].ends.iter().any(Effect::lasts) {
                self.progress[task as usize].ending = true;
                out.push(Change::TaskEnding(task as usize));
                let effects = plan.tasks[task as usize].ends.iter();
                out.extend(effects.map(|&effect| Change::Effect {
                    task: task as usize,
                    effect,
                }));
            } else {
                self.end(plan, task as usize, now, out);
            }
            any = true;
        }
        any
    }

    /// Ends a task whose last effect is done: see [`Change::TaskEnding`].
    pub fn finish(&mut self, plan: &Plan, task: usize, now: Time, out: &mut Vec<Change>) {
        self.advance(now);
        self.end(plan, task, now, out);
    }

    fn end(&mut self, plan: &Plan, index: usize, now: Time, out: &mut Vec<Change>) {
        let task = &plan.tasks[index];
        out.push(Change::TaskEnded(index));
        if !task.ends.iter().any(Effect::lasts) {
            out.extend(task.ends.iter().map(|&effect| Change::Effect { task: index, effect }));
        }
        self.end_without_effects(plan, index, now, out);
    }

    /// Frees what a task held, and makes those ready that come after it.
    fn end_without_effects(&mut self, plan: &Plan, index: usize, now: Time, out: &mut Vec<Change>) {
        self.progress[index].ended = Some(now);
        self.progress[index].ending = false;
        self.release(plan, index, out);
        let followers = self.follower_from[index] as usize..self.follower_from[index + 1] as usize;
        for &follower in &self.followers[followers] {
            let progress = &mut self.progress[follower as usize];
            progress.unmet -= 1;
            if progress.unmet > 0 {
                continue;
            }
            if progress.ready <= now {
                progress.ready = now;
                self.arrived.push(follower);
            } else {
                self.starts.push(Reverse((progress.ready, follower)));
            }
        }
    }

    /// A task's people are off task, and its equipment is free.
    fn release(&mut self, plan: &Plan, index: usize, out: &mut Vec<Change>) {
        self.freed = true;
        for &equipment in &plan.tasks[index].needs {
            self.free_equipment[equipment] += 1;
        }
        for person in self.people(plan, index) {
            self.busy &= !(1 << person);
            let (effort, place, suit) = self.occupancy.off_task(person);
            out.push(Change::Does {
                person,
                effort,
                place,
                suit,
            });
        }
    }

    /// A task runs until `due`.
    fn run(&mut self, index: usize, due: Time) {
        self.progress[index].due = due;
        self.ends.push(Reverse((due, index as u32)));
    }

    /// A task no longer runs.
    fn stop(&mut self, index: usize) {
        self.progress[index].due = Time::NEVER;
        self.ends.retain(|&Reverse((_, task))| task as usize != index);
    }

    /// The phase *new tasks*: tries the ready tasks in the plan's order, and appends for each that starts
    /// [`Change::TaskStarted`], its people at its effort in its place, and its effects; for each that fails for the first
    /// time [`Change::TaskWaits`]. Gives whether any started.
    pub fn start_ready(&mut self, plan: &Plan, now: Time, out: &mut Vec<Change>) -> bool {
        self.advance(now);
        let arrived = self.gather(plan, now);
        let retry = std::mem::take(&mut self.freed);
        if !retry && !arrived {
            return false;
        }
        let (mut any, mut kept, mut space_is_waited_for) = (false, 0, false);
        for i in 0..self.waiting.len() {
            let mut entry = self.waiting[i];
            let index = entry.task as usize;
            if (retry || entry.fresh) && entry.people & self.busy == 0 {
                let lack = self.lack(&plan.tasks[index]);
                self.mark(&mut entry, lack == Lack::Space, now);
                if lack == Lack::Nothing {
                    self.start(plan, index, now, out);
                    any = true;
                    continue;
                }
            }
            if entry.fresh {
                entry.fresh = false;
                out.push(Change::TaskWaits(index));
            }
            space_is_waited_for |= entry.needs_space;
            self.waiting[kept] = entry;
            kept += 1;
        }
        self.waiting.truncate(kept);
        for i in 0..kept {
            let mut entry = self.waiting[i];
            if entry.people & self.busy != 0 {
                self.mark(&mut entry, false, now);
                self.waiting[i] = entry;
            }
        }
        // Whoever went elsewhere to start may have made space for a task that was tried before.
        self.freed = any && space_is_waited_for;
        any
    }

    /// Notes whether a waiting task lacks nothing but space from now on.
    fn mark(&mut self, entry: &mut Waiting, only_space: bool, now: Time) {
        match entry.for_space {
            Some(since) if !only_space => {
                let waited = &mut self.progress[entry.task as usize].for_space;
                *waited = *waited + (now - since);
                entry.for_space = None;
            }
            None if only_space => entry.for_space = Some(now),
            _ => {}
        }
    }

    /// Puts the tasks that have become ready among the waiting ones; whether there were any.
    fn gather(&mut self, plan: &Plan, now: Time) -> bool {
        while let Some(&Reverse((at, task))) = self.starts.peek() {
            if at > now {
                break;
            }
            self.starts.pop();
            self.arrived.push(task);
        }
        self.arrived.sort_unstable();
        for &index in &self.arrived {
            let task = &plan.tasks[index as usize];
            let entry = Waiting {
                task: index,
                fresh: true,
                needs_space: task.needs_space,
                people: bits(&task.people),
                for_space: None,
            };
            let at = self.waiting.partition_point(|other| other.task < index);
            self.waiting.insert(at, entry);
        }
        let any = !self.arrived.is_empty();
        self.arrived.clear();
        any
    }

    /// Whether equipment and space allow a task whose people are all off task.
    fn lack(&mut self, task: &Task) -> Lack {
        self.tries += 1;
        let has = |&equipment: &usize| {
            let wanted = task.needs.iter().filter(|&&other| other == equipment).count();
            self.free_equipment[equipment] as usize >= wanted
        };
        if !task.needs.iter().all(has) {
            Lack::Equipment
        } else if task.needs_space && !self.occupancy.would_fit(task.place, &task.people, task.effort) {
            Lack::Space
        } else {
            Lack::Nothing
        }
    }

    fn start(&mut self, plan: &Plan, index: usize, now: Time, out: &mut Vec<Change>) {
        let task = &plan.tasks[index];
        let left = self.progress[index].left.take();
        self.progress[index].started.get_or_insert(now);
        self.run(index, now + left.unwrap_or(task.duration));
        out.push(if left.is_some() {
            Change::TaskResumed(index)
        } else {
            Change::TaskStarted(index)
        });
        for &equipment in &task.needs {
            self.free_equipment[equipment] -= 1;
        }
        self.busy |= bits(&task.people);
        for &person in &task.people {
            self.occupancy.put(person, task.effort, task.place, task.suit);
            out.push(Change::Does {
                person,
                effort: task.effort,
                place: task.place,
                suit: task.suit,
            });
        }
        if left.is_none() {
            out.extend(task.starts.iter().map(|&effect| Change::Effect { task: index, effect }));
        }
    }
}

fn bits(people: &[usize]) -> u64 {
    people.iter().fold(0, |bits, &person| bits | 1 << person)
}
