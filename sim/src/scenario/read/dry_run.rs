//! The plan gone through once on the medians, without gas: whether anyone is where the pressure is let out.
//!
//! An effect that lasts takes its `over`; one through an orifice or at a flow takes no time here, since only the engine can
//! know. A compartment that is vented below [`SURVIVABLE_PA`], and what is joined to it by open openings then, stays unfit
//! until a fill or an equalisation of it has ended; until then everyone there must wear a pressurised suit. What is so found
//! is certain on the medians (and without alarms: tasks on call never start here); what goes by other times ends a run with an error of its own. A room that is let out with another one
//! because the hatches between them stand open is a warning: nobody is hurt, and it may be meant.

use std::collections::BTreeSet;

use crate::air::Place;
use crate::engine::Case;
use crate::scenario::Names;
use crate::scenario::blueprint::Blueprint;
use crate::scenario::reader::Reader;
use crate::timeline::{Change, Effect, Pace, Schedule, SuitUse};
use crate::units::Time;

use super::found::{Found, Id, Unsuited};
use super::rooms::{Rooms, onto_vacuum};
use super::tasks::TaskRead;

/// Least total pressure at which someone lives without a suit, Pa: about that at which pure oxygen just does (NASA-STD-3001
/// asks for 20.7 kPa, from memory).
pub(super) const SURVIVABLE_PA: f64 = 20_000.0;

/// Passes at one instant after which the engine's own guard will speak.
const PASSES: usize = 1000;

/// Effects that are carried out one after the other.
#[derive(Debug)]
struct Sequence {
    task: usize,
    ends: bool,
    /// The effect that is under way or next.
    at: usize,
    /// When the effect that is under way ends; none: none is.
    until: Option<Time>,
    /// The task ends with the last of them.
    finishes: bool,
}

/// Goes through the plan; what is certain to be deadly is reported.
pub(super) fn check(r: &mut Reader<'_>, blueprint: &Blueprint, tasks: &[TaskRead], names: &Names) {
    let case = &blueprint.template;
    let deadly = |effect: &Effect| match effect {
        Effect::Vent { to_pa, .. } => *to_pa < SURVIVABLE_PA,
        Effect::Equalise { opening, .. } | Effect::Open(opening) => onto_vacuum(case, *opening).is_some(),
        _ => false,
    };
    let lists = case.plan.tasks.iter().filter(|t| !t.on_call);
    let lists = lists.flat_map(|t| t.starts.iter().chain(&t.ends));
    if !r.texts.faults.is_empty() || !lists.into_iter().any(deadly) {
        return;
    }
    let mut run = Run {
        case,
        schedule: Schedule::new(),
        now: Time::ZERO,
        sequences: Vec::new(),
        rooms: Rooms::new(case),
        task_of: vec![None; case.people.len()],
        found: Vec::new(),
        told: BTreeSet::new(),
    };
    run.go();
    for found in &run.found {
        found.tell(r, case, tasks, names);
    }
}

struct Run<'c> {
    case: &'c Case,
    schedule: Schedule,
    now: Time,
    sequences: Vec<Sequence>,
    rooms: Rooms<'c>,
    /// The task that each person is at.
    task_of: Vec<Option<usize>>,
    found: Vec<Found>,
    /// Entry of the effect (and of the task), person: each is told once, whatever the turns.
    told: BTreeSet<(usize, bool, usize, usize)>,
}

impl Run<'_> {
    fn go(&mut self) {
        let case = self.case;
        let usable = case.compartments.iter().map(|c| c.usable_m3);
        self.schedule.reset(&case.plan, &case.people, usable);
        loop {
            for _ in 0..PASSES {
                if !self.pass() {
                    break;
                }
            }
            self.people();
            let ends = self.sequences.iter().filter_map(|s| s.until);
            let next = ends.min().unwrap_or(Time::NEVER).min(self.schedule.next_due());
            if next > case.duration || next <= self.now || next == Time::NEVER {
                return;
            }
            self.now = next;
        }
    }

    /// One pass over the phases; whether there was anything.
    fn pass(&mut self) -> bool {
        let plan = &self.case.plan;
        let mut out = Vec::new();
        let mut any = self.schedule.end_due(plan, self.now, &mut out);
        self.take(&out);
        any |= self.effects();
        out.clear();
        any |= self.schedule.start_ready(plan, self.now, &mut out);
        self.take(&out);
        any
    }

    fn take(&mut self, changes: &[Change]) {
        for change in changes {
            match *change {
                Change::TaskStarted(task) => {
                    for person in &self.case.plan.tasks[task].people {
                        self.task_of[*person] = Some(task);
                    }
                    self.begin(task, false, false);
                }
                Change::TaskEnding(task) => self.begin(task, true, true),
                Change::TaskEnded(task) => {
                    let ended = &self.case.plan.tasks[task];
                    for person in &ended.people {
                        self.task_of[*person] = None;
                    }
                    if !ended.ends.iter().any(Effect::lasts) {
                        self.begin(task, true, false);
                    }
                }
                _ => {}
            }
        }
    }

    fn begin(&mut self, task: usize, ends: bool, finishes: bool) {
        self.sequences.push(Sequence {
            task,
            ends,
            at: 0,
            until: None,
            finishes,
        });
    }

    /// Carries out what is due of the sequences; whether there was anything.
    fn effects(&mut self) -> bool {
        let mut any = false;
        let mut left = Vec::new();
        for mut sequence in std::mem::take(&mut self.sequences) {
            let done = loop {
                let list = self.list(&sequence);
                let Some(effect) = list.get(sequence.at).copied() else {
                    break true;
                };
                let id = (sequence.task, sequence.ends, sequence.at);
                match sequence.until {
                    Some(until) if until > self.now => break false,
                    Some(_) => {
                        self.ended(&effect);
                        sequence.until = None;
                        sequence.at += 1;
                        any = true;
                    }
                    None => {
                        any = true;
                        self.started(id, &effect);
                        match length(&effect) {
                            Some(length) => sequence.until = Some(self.now + length),
                            None => sequence.at += 1,
                        }
                    }
                }
            };
            if !done {
                left.push(sequence);
            } else if sequence.finishes {
                let mut out = Vec::new();
                self.schedule.finish(&self.case.plan, sequence.task, self.now, &mut out);
                self.take(&out);
                any = true;
            }
        }
        self.sequences.append(&mut left);
        any
    }

    fn list(&self, sequence: &Sequence) -> &[Effect] {
        let task = &self.case.plan.tasks[sequence.task];
        if sequence.ends { &task.ends } else { &task.starts }
    }

    fn started(&mut self, id: Id, effect: &Effect) {
        match *effect {
            Effect::Vent { compartment, to_pa, .. } if to_pa < SURVIVABLE_PA => {
                let joined = self.rooms.group(compartment).into_iter().find(|c| *c != compartment);
                if let Some(other) = joined
                    && self.told.insert((self.entry(id), id.1, id.2, usize::MAX))
                {
                    self.found.push(Found::VentsMore {
                        effect: id,
                        vented: compartment,
                        other,
                        at: self.now,
                    });
                }
                self.rooms.mark(id, compartment);
            }
            Effect::Equalise { opening, .. } => {
                if let Some(inside) = onto_vacuum(self.case, opening) {
                    self.rooms.mark(id, inside);
                }
            }
            Effect::Fill { compartment, .. } => {
                let group = self.rooms.group(compartment);
                for c in group {
                    self.rooms.vacuum[c] = false;
                    if let Some(opening) = self.rooms.gaping(c)
                        && self.told.insert((self.entry(id), id.1, id.2, usize::MAX))
                    {
                        self.found.push(Found::FillsVacuum {
                            effect: id,
                            opening,
                            at: self.now,
                        });
                    }
                }
            }
            Effect::Open(opening) => {
                if let Some(inside) = onto_vacuum(self.case, opening)
                    && !self.rooms.vacuum[inside]
                    && self.told.insert((self.entry(id), id.1, id.2, usize::MAX))
                {
                    self.found.push(Found::OpensOnGas {
                        effect: id,
                        inside,
                        at: self.now,
                    });
                }
                self.rooms.open[opening] = true;
            }
            Effect::Close(opening) => self.rooms.open[opening] = false,
            _ => {}
        }
    }

    fn ended(&mut self, effect: &Effect) {
        match *effect {
            Effect::Vent { compartment, to_pa, .. } if to_pa <= 0.0 => self.rooms.empty(compartment),
            Effect::Fill { compartment, to_pa, .. } if to_pa >= SURVIVABLE_PA => self.rooms.clear(compartment),
            Effect::Equalise { opening, .. } => {
                if let Some(inside) = onto_vacuum(self.case, opening) {
                    self.rooms.empty(inside);
                    return;
                }
                let ends = self.case.openings[opening].between;
                let unfit = |place: &Place| matches!(place, Place::Compartment(c) if self.rooms.unfit[*c].is_some());
                if !ends.iter().all(unfit) {
                    for place in ends {
                        if let Place::Compartment(c) = place {
                            self.rooms.clear(c);
                        }
                    }
                }
            }
            _ => {}
        }
    }

    /// Whoever is where the gas was let out.
    fn people(&mut self) {
        for person in 0..self.case.people.len() {
            let (Place::Compartment(place), suit) = (self.schedule.place(person), self.schedule.suit(person)) else {
                continue;
            };
            let has_suit = self.case.suits.iter().any(|s| s.wearer == person);
            let Some((effect, vented)) = self.rooms.unfit[place] else {
                continue;
            };
            if has_suit && suit == SuitUse::Pressurised {
                continue;
            }
            if self.told.insert((self.entry(effect), effect.1, effect.2, person)) {
                self.found.push(Found::Unsuited(Unsuited {
                    effect,
                    person,
                    place,
                    vented,
                    task: self.task_of[person],
                    suit,
                    at: self.now,
                }));
            }
        }
    }

    fn entry(&self, (task, ..): Id) -> usize {
        self.case.plan.tasks[task].entry
    }
}

/// How long an effect takes here; none for what takes no time at all.
fn length(effect: &Effect) -> Option<Time> {
    match effect {
        Effect::Vent { pace, .. } | Effect::Fill { pace, .. } | Effect::Equalise { pace, .. } => Some(match pace {
            Pace::Over(time) => *time,
            Pace::Through(_) | Pace::At(_) => Time::ZERO,
        }),
        _ => None,
    }
}
