//! `[[tasks]]`: as read, and as the turns of a plan.

use crate::air::Place;
use crate::scenario::blueprint::{DurationNums, Parts, TaskNums, TurnOf};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{TASK, What};
use crate::scenario::luck::person_key;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::{Names, TaskName};
use crate::text::{Spot, Value};
use crate::timeline::{Interrupted, Plan, SuitUse, Task};
use crate::units::Time;

use super::cabin::place;
use super::effects::{self, EffectRead};
use super::{duration, suit};

/// Most turns (and copies) that a plan may have.
pub(super) const MOST_TURNS: usize = 100_000;

/// A task as the file gives it.
#[derive(Debug)]
pub(super) struct TaskRead {
    pub id: String,
    pub spot: Spot,
    pub people: Vec<usize>,
    /// Index among all known efforts.
    pub effort: Option<usize>,
    pub place: Option<Place>,
    pub at: Option<Num>,
    pub at_spot: Spot,
    pub after: Vec<After>,
    pub each: bool,
    pub needs: Vec<usize>,
    pub needs_space: bool,
    pub duration: DurationNums,
    /// Shortest, median and longest, s.
    pub lasts: [f64; 3],
    pub every: Option<Num>,
    pub repeat_spot: Spot,
    pub times: u32,
    pub suit: SuitUse,
    pub interrupted: Interrupted,
    pub starts: Vec<EffectRead>,
    pub ends: Vec<EffectRead>,
}

/// One predecessor.
#[derive(Debug)]
pub(super) struct After {
    /// Index of the task.
    pub task: usize,
    /// A turn that was named.
    pub turn: Option<u32>,
    pub spot: Spot,
}

impl TaskRead {
    /// How many entries of the plan one turn makes.
    pub fn copies(&self) -> usize {
        if self.each { self.people.len().max(1) } else { 1 }
    }

    /// The turn of a predecessor that one of its turns waits for.
    pub fn waits_for(&self, turn: u32, after: &After, other: &Self) -> u32 {
        after
            .turn
            .unwrap_or(if self.times > 1 && other.times > 1 { turn } else { 1 })
    }
}

/// Reads every task.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &Parts) -> Vec<TaskRead> {
    let mut list: Vec<TaskRead> = Vec::new();
    for (node, table) in root.tables(r, "tasks") {
        let id = table.get("id").and_then(|e| e.node.text()).unwrap_or("");
        let path = if id.is_empty() {
            "tasks".to_owned()
        } else {
            format!("tasks.{id}")
        };
        let mut fields = Fields::new(r, &TASK, table, &path, &node.spot);
        fields.per_turn = true;
        list.push(one(r, &fields, parts));
    }
    // Names of tasks without an id of their own are not known, so that indices may differ from the list's.
    let mut places = std::collections::BTreeMap::new();
    for (n, task) in list.iter().enumerate() {
        places.entry(task.id.clone()).or_insert(n);
    }
    for task in &mut list {
        for after in &mut task.after {
            after.task = r
                .known
                .tasks
                .list
                .get(after.task)
                .and_then(|id| places.get(id))
                .copied()
                .unwrap_or(0);
        }
    }
    let all: Vec<&EffectRead> = list.iter().flat_map(|t| t.starts.iter().chain(&t.ends)).collect();
    effects::onto_vacuum(r, &all, parts);
    let mut turns = 0;
    for task in &list {
        turns += task.times as usize * task.copies();
        if turns > MOST_TURNS {
            let message = format!("more than {MOST_TURNS} turns of tasks");
            r.texts
                .fault(&task.repeat_spot, message, "fewer repeats, or a shorter run");
            break;
        }
    }
    list
}

fn one(r: &mut Reader<'_>, fields: &Fields<'_>, parts: &Parts) -> TaskRead {
    let id = fields.text(r, "id").unwrap_or("").to_owned();
    let people = fields.indices(r, "crew");
    if let Some(entry) = fields.entry("crew")
        && people.is_empty()
        && matches!(&entry.node.value, Value::List(items) if items.is_empty())
    {
        r.texts.fault(
            &entry.node.spot,
            "a task without people",
            "name at least one: crew = [\"lead\"]",
        );
    }
    let effort = fields.name(r, "effort");
    let place = task_place(r, fields);
    let at = fields.number_if(r, "at");
    let after = afters(r, fields);
    let each = fields.flag(r, "each");
    let needs = fields.indices(r, "needs");
    let needs_space = fields.flag(r, "needs_space");
    let (duration, lasts) = duration::read(r, fields, &people, parts);
    let suit = suit::read(r, fields, &people, place, parts);
    let (mut every, mut times) = (None, 1);
    if let Some(mut repeat) = fields.sub(r, "repeat") {
        repeat.per_turn = false;
        every = Some(repeat.number(r, "every"));
        times = repeat
            .whole(r, "times")
            .and_then(|n| u32::try_from(n).ok())
            .unwrap_or(1);
    }
    let interrupted = match fields.word(r, "interrupted") {
        Some("restarts") => Interrupted::Restarts,
        Some("dropped") => Interrupted::Dropped,
        _ => Interrupted::Resumes,
    };
    let starts = effects::read(r, fields, "starts", parts);
    let ends = effects::read(r, fields, "ends", parts);
    TaskRead {
        id,
        spot: fields.spot_of("id"),
        people,
        effort,
        place,
        at,
        at_spot: fields.spot_of("at"),
        after,
        each,
        needs,
        needs_space,
        duration,
        lasts,
        every,
        repeat_spot: fields.spot_of("repeat"),
        times,
        suit,
        interrupted,
        starts,
        ends,
    }
}

fn task_place(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Place> {
    if fields.entry("in").is_some() {
        let name = fields.text(r, "in")?;
        return place(r, name, &fields.spot_of("in"));
    }
    if r.known.compartments.list.len() == 1 {
        let only = r.known.compartments.list.first().cloned().unwrap_or_default();
        r.assume(
            fields.path_of("in"),
            "the only compartment",
            only,
            "there is no other",
            false,
        );
        return Some(Place::Compartment(0));
    }
    let list = r.known.list(What::Place).join("\", \"");
    let message = format!("`{}` does not say where it is done", fields.path);
    r.texts
        .fault(&fields.spot, message, format!("add `in`: one of \"{list}\""));
    None
}

/// A task and the turn of it that is named: "sleep#2".
pub(super) fn turn_of<'n>(r: &mut Reader<'_>, text: &'n str, spot: &Spot) -> Option<(&'n str, Option<u32>)> {
    let Some((name, digits)) = text.split_once('#') else {
        return Some((text, None));
    };
    match digits.parse::<u32>() {
        Ok(turn) if turn >= 1 => Some((name, Some(turn))),
        _ => {
            r.texts.fault(
                spot,
                format!("`{digits}` is not a turn"),
                "turns count from 1: \"sleep#2\"",
            );
            None
        }
    }
}

/// Predecessors: "sleep" or "sleep#2".
fn afters(r: &mut Reader<'_>, fields: &Fields<'_>) -> Vec<After> {
    let mut list = Vec::new();
    for (text, node) in fields.names(r, "after") {
        let Some((name, turn)) = turn_of(r, text, &node.spot) else {
            continue;
        };
        if let Some(task) = r.refer(What::Task, name, &node.spot) {
            list.push(After {
                task,
                turn,
                spot: node.spot.clone(),
            });
        }
    }
    list
}

/// The plan without its numbers: every turn of every task, in file order, then turn, then person.
pub(super) fn plan(r: &mut Reader<'_>, tasks: &[TaskRead], parts: &mut Parts, names: &mut Names) -> Option<Plan> {
    let mut first = Vec::with_capacity(tasks.len());
    let mut count = 0;
    for task in tasks {
        first.push(count);
        count += task.times as usize * task.copies();
    }
    let mut plan = Plan::default();
    for (entry, task) in tasks.iter().enumerate() {
        let nums = TaskNums {
            at: task.at.unwrap_or(Num::Fixed(0.0)),
            every: task.every.unwrap_or(Num::Fixed(0.0)),
            duration: task.duration,
            starts: task.starts.iter().map(|e| e.nums).collect(),
            ends: task.ends.iter().map(|e| e.nums).collect(),
        };
        parts.tasks.push(nums);
        for turn in 1..=task.times {
            for copy in 0..task.copies() {
                let people = if task.each {
                    vec![task.people[copy]]
                } else {
                    task.people.clone()
                };
                let person = if task.each { Some(task.people[copy]) } else { None };
                names.tasks.push(TaskName {
                    id: task.id.clone(),
                    turn,
                    turns: task.times,
                    person: person.map(|p| r.known.people.list[p].clone()),
                });
                parts.turns.push(TurnOf {
                    entry,
                    turn,
                    person: person.map_or(0, |p| person_key(&r.known.people.list[p])),
                });
                plan.tasks.push(Task {
                    entry,
                    turn,
                    people,
                    effort: task.effort?,
                    place: task.place?,
                    earliest: Time::ZERO,
                    after: predecessors(tasks, &first, task, turn, person),
                    duration: Time::ZERO,
                    needs: task.needs.clone(),
                    needs_space: task.needs_space,
                    suit: task.suit,
                    starts: Vec::new(),
                    ends: Vec::new(),
                    interrupted: task.interrupted,
                    on_call: false,
                });
            }
        }
    }
    Some(plan)
}

/// Indices in the plan of what a turn waits for.
fn predecessors(tasks: &[TaskRead], first: &[usize], task: &TaskRead, turn: u32, person: Option<usize>) -> Vec<usize> {
    let mut list = Vec::new();
    for after in &task.after {
        let other = &tasks[after.task];
        let other_turn = task.waits_for(turn, after, other);
        let start = first[after.task] + (other_turn as usize - 1) * other.copies();
        let own = person
            .filter(|_| other.each)
            .and_then(|p| other.people.iter().position(|q| *q == p));
        match own {
            Some(copy) => list.push(start + copy),
            None => list.extend(start..start + other.copies()),
        }
    }
    list.sort_unstable();
    list.dedup();
    list
}
