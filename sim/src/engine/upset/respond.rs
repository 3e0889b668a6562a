//! Responses: who does what after an alarm, and how it goes.
//!
//! Each alarm has at most one response under way; if it comes on again meanwhile, that is part of it. A response is done when
//! its task has ended and everyone it called in from outside has come in. A repair that fails is tried again at once, with
//! another draw of how long it takes, until its attempts are used up.

use crate::air::Place;
use crate::engine::{Case, ResponseOutcome};
use crate::timeline::{Change, Schedule};
use crate::units::Time;
use crate::upset::{Responder, Response};

/// A response under way.
#[derive(Clone, Debug)]
struct Pending {
    alarm: usize,
    /// When it may begin.
    due: Time,
    /// Its task runs.
    running: bool,
    /// Its task has ended, and what it does at its end is being done.
    ended: bool,
    /// This attempt failed.
    failed: bool,
    /// Tasks outside that are to end before it is done.
    awaits: Vec<usize>,
    /// Its place in the records.
    record: usize,
}

/// All responses of a run.
#[derive(Debug, Default)]
pub(crate) struct Responses {
    pending: Vec<Pending>,
    /// How often each alarm has been responded to, and attempts so far.
    occurrences: Vec<usize>,
    attempts: Vec<usize>,
    records: Vec<ResponseOutcome>,
}

impl Responses {
    /// Nothing has happened yet.
    pub fn reset(&mut self, case: &Case) {
        self.pending.clear();
        self.records.clear();
        for counts in [&mut self.occurrences, &mut self.attempts] {
            counts.clear();
            counts.resize(case.alarms.len(), 0);
        }
    }

    /// An alarm came on at `at`.
    pub fn trip(&mut self, case: &Case, alarm: usize, at: Time) {
        let Some(response) = &case.alarms[alarm].response else {
            return;
        };
        if self.pending.iter().any(|pending| pending.alarm == alarm) {
            return;
        }
        let occurrence = self.occurrences[alarm];
        self.occurrences[alarm] += 1;
        self.pending.push(Pending {
            alarm,
            due: at + in_turn(&response.reactions, occurrence),
            running: false,
            ended: false,
            failed: false,
            awaits: Vec::new(),
            record: self.records.len(),
        });
        self.records.push(ResponseOutcome {
            alarm,
            tripped: at,
            ..ResponseOutcome::default()
        });
    }

    /// When a response may next begin, after `now`. What waits for people is tried at every instant.
    pub fn next_due(&self, now: Time) -> Time {
        let waiting = self.pending.iter().filter(|pending| !pending.running && !pending.ended);
        let due = waiting.map(|pending| pending.due).filter(|&due| due > now);
        due.min().unwrap_or(Time::NEVER)
    }

    /// The phase *responses*: begins what is due and can be; whether anything did.
    pub fn step(&mut self, case: &Case, schedule: &mut Schedule, now: Time, out: &mut Vec<Change>) -> bool {
        let mut any = false;
        for pending in &mut self.pending {
            let Some(response) = &case.alarms[pending.alarm].response else {
                continue;
            };
            if pending.running || pending.ended || pending.due > now {
                continue;
            }
            let Some(people) = choose(case, response, schedule) else {
                continue;
            };
            if !schedule.has_equipment(&case.plan, response.task, people) {
                continue;
            }
            for person in crate::timeline::each(people) {
                if let Some(task) = schedule.task_of(&case.plan, person) {
                    schedule.interrupt(&case.plan, task, now, out);
                }
            }
            let attempt = self.attempts[pending.alarm];
            self.attempts[pending.alarm] += 1;
            let length = in_turn(&response.takes, attempt).max(Time(1));
            schedule.call(&case.plan, response.task, (people, response.in_place), length, now, out);
            (pending.running, pending.failed) = (true, false);
            let record = &mut self.records[pending.record];
            record.began.get_or_insert(now);
            record.people |= people;
            record.attempts += 1;
            any = true;
        }
        any
    }

    /// A task ended.
    pub fn ended(&mut self, case: &Case, task: usize) {
        for pending in &mut self.pending {
            pending.awaits.retain(|&other| other != task);
            let own = case.alarms[pending.alarm].response.as_ref();
            if pending.running && own.is_some_and(|response| response.task == task) {
                (pending.running, pending.ended) = (false, true);
            }
        }
    }

    /// The response of which this is the task has called in these people (as bits).
    pub fn recalled(&mut self, case: &Case, schedule: &Schedule, task: usize, people: u64) {
        let Some(pending) = self.of_task(case, task) else {
            return;
        };
        for other in 0..case.plan.tasks.len() {
            let outside = case.plan.tasks[other].place == Place::Outside;
            let mut theirs = schedule.people(&case.plan, other);
            if outside && schedule.runs(other) && theirs.any(|person| people & (1 << person) != 0) {
                pending.awaits.push(other);
            }
        }
    }

    /// Whether an attempt at a repair succeeds: that of a response as its draw says, that of a task always.
    pub fn repairs(&mut self, case: &Case, task: usize) -> bool {
        let attempts = &self.attempts;
        let Some(pending) = self.pending.iter_mut().find(|pending| is_of(case, pending, task)) else {
            return true;
        };
        let Some(response) = &case.alarms[pending.alarm].response else {
            return true;
        };
        let attempt = attempts[pending.alarm].saturating_sub(1);
        let count = response.succeeds.len();
        let succeeds = count == 0 || response.succeeds[attempt % count];
        pending.failed |= !succeeds;
        succeeds
    }

    /// Closes what has ended, unless its task has still something to do (`busy`); whether an attempt is to be made again.
    pub fn settle(&mut self, case: &Case, now: Time, busy: impl Fn(usize) -> bool) -> bool {
        let mut again = false;
        let records = &mut self.records;
        self.pending.retain_mut(|pending| {
            let own = case.alarms[pending.alarm].response.as_ref();
            let at_it = own.is_some_and(|response| busy(response.task));
            if !pending.ended || at_it || !(pending.awaits.is_empty() || pending.failed) {
                return true;
            }
            let record = &mut records[pending.record];
            let tries = own.map_or(1, |response| response.tries);
            if !pending.failed {
                record.done = Some(now);
            } else if record.attempts < tries {
                (pending.ended, pending.due) = (false, now);
                again = true;
                return true;
            } else {
                record.failed = true;
            }
            false
        });
        again
    }

    fn of_task(&mut self, case: &Case, task: usize) -> Option<&mut Pending> {
        self.pending.iter_mut().find(|pending| is_of(case, pending, task))
    }

    /// What became of each.
    pub fn finish(&self, out: &mut Vec<ResponseOutcome>) {
        out.clear();
        out.extend_from_slice(&self.records);
    }
}

fn is_of(case: &Case, pending: &Pending, task: usize) -> bool {
    let own = case.alarms[pending.alarm].response.as_ref();
    own.is_some_and(|response| response.task == task)
}

/// The value of an occurrence: they go round.
fn in_turn(values: &[Time], occurrence: usize) -> Time {
    values[occurrence % values.len()]
}

/// Who begins now, as bits; none: those who are wanted cannot be had yet.
fn choose(case: &Case, response: &Response, schedule: &Schedule) -> Option<u64> {
    let had = |person: usize, busy: bool| schedule.can_be_had(&case.plan, person, busy);
    let mut people = 0..case.people.len().min(64);
    let first = |busy: bool| (0..case.people.len().min(64)).find(|&person| had(person, busy));
    match &response.by {
        Responder::People(named) => {
            let all = named.iter().all(|&person| had(person, response.interrupts));
            all.then(|| named.iter().fold(0, |bits, &person| bits | 1 << person))
        }
        Responder::Free => first(false).map(|person| 1 << person),
        Responder::Any => {
            let taken = || response.interrupts.then(|| first(true)).flatten();
            first(false).or_else(taken).map(|person| 1 << person)
        }
        Responder::Inside => {
            let bits = people
                .by_ref()
                .filter(|&person| had(person, response.interrupts))
                .fold(0, |bits, person| bits | 1 << person);
            (bits != 0).then_some(bits)
        }
    }
}
