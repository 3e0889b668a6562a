//! The plan gone through once on the medians, without gas: whether anyone is where the pressure is let out.
//!
//! An effect that lasts takes its `over`; one through an orifice or at a flow takes no time here, since only the engine can
//! know. A compartment that is vented below [`SURVIVABLE_PA`], and what is joined to it by open openings then, stays unfit
//! until a fill or an equalisation of it has ended; until then everyone there must wear a pressurised suit. What is so found
//! is certain on the medians; what goes by other times ends a run with an error of its own.

use std::collections::BTreeSet;

use crate::air::Place;
use crate::engine::Case;
use crate::scenario::Names;
use crate::scenario::blueprint::Blueprint;
use crate::scenario::reader::Reader;
use crate::scenario::tree::Spot;
use crate::timeline::{Change, Effect, Pace, Schedule, SuitUse};
use crate::units::{Time, show};

use super::kilopascal;
use super::tasks::TaskRead;

/// Least total pressure at which someone lives without a suit, Pa: about that at which pure oxygen just does (NASA-STD-3001
/// asks for 20.7 kPa, from memory).
pub(super) const SURVIVABLE_PA: f64 = 20_000.0;

/// Passes at one instant after which the engine's own guard will speak.
const PASSES: usize = 1000;

/// An effect of a task of the plan: task, whether of its ends, place in the list.
type Id = (usize, bool, usize);

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
    let lists = case.plan.tasks.iter().flat_map(|t| t.starts.iter().chain(&t.ends));
    if !r.texts.faults.is_empty() || !lists.into_iter().any(deadly) {
        return;
    }
    let mut run = Run {
        case,
        schedule: Schedule::new(),
        now: Time::ZERO,
        sequences: Vec::new(),
        open: case.openings.iter().map(|o| o.open).collect(),
        unfit: vec![None; case.compartments.len()],
        vacuum: vec![false; case.compartments.len()],
        task_of: vec![None; case.people.len()],
        found: Vec::new(),
        told: BTreeSet::new(),
    };
    run.go();
    let found = run.found;
    for fault in found {
        fault.tell(r, case, tasks, names);
    }
}

/// The compartment behind an opening onto the vacuum outside.
fn onto_vacuum(case: &Case, opening: usize) -> Option<usize> {
    if case.outside.partial_pa.iter().any(|p| *p > 0.0) {
        return None;
    }
    match case.openings[opening].between {
        [Place::Outside, Place::Compartment(c)] | [Place::Compartment(c), Place::Outside] => Some(c),
        _ => None,
    }
}

/// What was found.
#[derive(Clone, Copy, Debug)]
enum Found {
    Unsuited {
        effect: Id,
        person: usize,
        /// Where they are, and which compartment loses its gas.
        place: usize,
        vented: usize,
        task: Option<usize>,
        suit: SuitUse,
        at: Time,
    },
    /// A hatch is opened onto the vacuum while there is gas behind it.
    OpensOnGas { effect: Id, inside: usize, at: Time },
    /// Gas is let in while a hatch is open onto the vacuum.
    FillsVacuum { effect: Id, opening: usize, at: Time },
}

struct Run<'c> {
    case: &'c Case,
    schedule: Schedule,
    now: Time,
    sequences: Vec<Sequence>,
    open: Vec<bool>,
    /// Of each compartment: what vented it, and which one that named.
    unfit: Vec<Option<(Id, usize)>>,
    vacuum: Vec<bool>,
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
            if next > case.duration || next == Time::NEVER {
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
            Effect::Vent { compartment, to_pa, .. } if to_pa < SURVIVABLE_PA => self.mark(id, compartment),
            Effect::Equalise { opening, .. } => {
                if let Some(inside) = onto_vacuum(self.case, opening) {
                    self.mark(id, inside);
                }
            }
            Effect::Fill { compartment, .. } => {
                let group = self.group(compartment);
                for c in group {
                    self.vacuum[c] = false;
                    let gaping = (0..self.open.len()).find(|o| self.open[*o] && onto_vacuum(self.case, *o) == Some(c));
                    if let Some(opening) = gaping
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
                    && !self.vacuum[inside]
                    && self.told.insert((self.entry(id), id.1, id.2, usize::MAX))
                {
                    self.found.push(Found::OpensOnGas {
                        effect: id,
                        inside,
                        at: self.now,
                    });
                }
                self.open[opening] = true;
            }
            Effect::Close(opening) => self.open[opening] = false,
            _ => {}
        }
    }

    fn ended(&mut self, effect: &Effect) {
        match *effect {
            Effect::Vent { compartment, to_pa, .. } if to_pa <= 0.0 => self.empty(compartment),
            Effect::Fill { compartment, to_pa, .. } if to_pa >= SURVIVABLE_PA => self.clear(compartment),
            Effect::Equalise { opening, .. } => {
                if let Some(inside) = onto_vacuum(self.case, opening) {
                    self.empty(inside);
                    return;
                }
                let ends = self.case.openings[opening].between;
                let unfit = |place: &Place| matches!(place, Place::Compartment(c) if self.unfit[*c].is_some());
                if !ends.iter().all(unfit) {
                    for place in ends {
                        if let Place::Compartment(c) = place {
                            self.clear(c);
                        }
                    }
                }
            }
            _ => {}
        }
    }

    fn mark(&mut self, id: Id, compartment: usize) {
        for c in self.group(compartment) {
            self.unfit[c] = Some((id, compartment));
        }
    }

    fn empty(&mut self, compartment: usize) {
        for c in self.group(compartment) {
            self.vacuum[c] = true;
        }
    }

    fn clear(&mut self, compartment: usize) {
        for c in self.group(compartment) {
            self.unfit[c] = None;
            self.vacuum[c] = false;
        }
    }

    /// A compartment and what is joined to it by open openings.
    fn group(&self, compartment: usize) -> Vec<usize> {
        let mut group = vec![compartment];
        let mut next = 0;
        while let Some(&c) = group.get(next) {
            next += 1;
            for (n, opening) in self.case.openings.iter().enumerate() {
                if let [Place::Compartment(a), Place::Compartment(b)] = opening.between
                    && self.open[n]
                    && (a == c || b == c)
                {
                    let other = if a == c { b } else { a };
                    if !group.contains(&other) {
                        group.push(other);
                    }
                }
            }
        }
        group
    }

    /// Whoever is where the gas was let out.
    fn people(&mut self) {
        for person in 0..self.case.people.len() {
            let (Place::Compartment(place), suit) = (self.schedule.place(person), self.schedule.suit(person)) else {
                continue;
            };
            let has_suit = self.case.suits.iter().any(|s| s.wearer == person);
            let Some((effect, vented)) = self.unfit[place] else {
                continue;
            };
            if has_suit && suit == SuitUse::Pressurised {
                continue;
            }
            if self.told.insert((self.entry(effect), effect.1, effect.2, person)) {
                self.found.push(Found::Unsuited {
                    effect,
                    person,
                    place,
                    vented,
                    task: self.task_of[person],
                    suit,
                    at: self.now,
                });
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

impl Found {
    fn tell(self, r: &mut Reader<'_>, case: &Case, tasks: &[TaskRead], names: &Names) {
        let spot = |(task, ends, n): Id| -> Spot {
            let read = &tasks[case.plan.tasks[task].entry];
            let list = if ends { &read.ends } else { &read.starts };
            list.get(n).map_or_else(|| read.spot.clone(), |e| e.spot.clone())
        };
        let room = |c: usize| format!("`{}`", names.compartments[c]);
        match self {
            Self::Unsuited {
                effect,
                person,
                place,
                vented,
                task,
                suit,
                at,
            } => {
                let who = &names.people[person];
                let (task_of_effect, ends, n) = effect;
                let turn = &case.plan.tasks[task_of_effect];
                let list = if ends { &turn.ends } else { &turn.starts };
                let what = match list.get(n) {
                    Some(Effect::Vent { to_pa, .. }) => {
                        format!("{} is vented to {}", room(vented), show(*to_pa, kilopascal()))
                    }
                    _ => format!("{} is opened to the vacuum", room(vented)),
                };
                let stay = if place == vented {
                    "in it".to_owned()
                } else {
                    format!("in {}, which is joined to it,", room(place))
                };
                let has_suit = case.suits.iter().any(|s| s.wearer == person);
                let wears = if !has_suit {
                    "without a suit"
                } else if suit == SuitUse::Off {
                    "with the suit off"
                } else {
                    "in a suit that is not pressurised"
                };
                let doing = match task {
                    Some(task) => format!("at `{}`", names.tasks[task].id),
                    None => "off task".to_owned(),
                };
                let right = match (has_suit, task) {
                    (false, _) => format!("give them a suit in `[suits.{who}]`, or let them be elsewhere"),
                    (true, Some(_)) => "write suit = \"pressurised\" in that task, or let them be elsewhere".to_owned(),
                    (true, None) => {
                        "let them be elsewhere (`home`), or end their last task there with suit = \"pressurised\""
                            .to_owned()
                    }
                };
                r.texts.fault(
                    &spot(effect),
                    format!("{what} with `{who}` {stay} {wears}"),
                    format!("on the medians they are {doing} at {at}: {right}"),
                );
            }
            Self::OpensOnGas { effect, inside, at } => {
                let name = &names.compartments[inside];
                r.texts.fault(
                    &spot(effect),
                    format!("this opens onto the vacuum outside, and {} is not vented", room(inside)),
                    format!(
                        "on the medians that is at {at}: vent it to 0 first, {{ vent = \"{name}\", to = \"0 kPa\", over = \"10 min\" }}"
                    ),
                );
            }
            Self::FillsVacuum { effect, opening, at } => {
                let name = &names.openings[opening];
                r.texts.fault(
                    &spot(effect),
                    format!("gas is let in while `{name}` is open onto the vacuum"),
                    format!("on the medians that is at {at}: close it first, {{ close = \"{name}\" }}"),
                );
            }
        }
    }
}
