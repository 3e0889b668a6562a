//! Tasks against each other: turns that are not there, rings, overlaps, and what can never start.
//!
//! A turn is *fixed* if it has an `at` of its own and waits for nothing. Two fixed turns of one person overlap for certain
//! if the later one is due before the earlier one can have ended, whatever the spreads (all but 1e-6 of each) draw: that is
//! a fault. If they overlap only on the medians, the later one starts late, and that is a warning.

use std::collections::BTreeSet;

use crate::air::Place;
use crate::scenario::blueprint::Parts;
use crate::scenario::reader::Reader;
use crate::units::Time;

use super::crew::EquipmentRead;
use super::efforts::Efforts;
use super::tasks::{MOST_TURNS, TaskRead};
use super::{least, median, most};

/// Checks the tasks; faults are reported.
pub(super) fn check(
    r: &mut Reader<'_>,
    tasks: &[TaskRead],
    parts: &Parts,
    equipment: &EquipmentRead,
    efforts: &Efforts,
) {
    let turns: usize = tasks.iter().map(|t| t.times as usize).sum();
    if turns > MOST_TURNS || !references(r, tasks) {
        return;
    }
    if rings(r, tasks) {
        return;
    }
    never(r, tasks, parts, equipment, efforts);
    repeats(r, tasks);
    late(r, tasks, parts);
    overlaps(r, tasks);
}

/// Turns that are waited for must exist.
fn references(r: &mut Reader<'_>, tasks: &[TaskRead]) -> bool {
    let mut good = true;
    for task in tasks {
        for after in &task.after {
            let other = &tasks[after.task];
            let last = task.waits_for(task.times, after, other);
            if last <= other.times {
                continue;
            }
            good = false;
            let message = match after.turn {
                Some(turn) => format!("`{}` has no turn {turn}", other.id),
                None => format!(
                    "turn {last} of `{}` waits for turn {last} of `{}`, which is not there",
                    task.id, other.id
                ),
            };
            let help = match other.times {
                1 => "it is done once".to_owned(),
                n => format!("it has {n} turns; \"{}#{n}\" names the last", other.id),
            };
            r.texts.fault(&after.spot, message, help);
        }
    }
    good
}

/// Reports turns that wait for each other; whether there are any.
fn rings(r: &mut Reader<'_>, tasks: &[TaskRead]) -> bool {
    let mut first = Vec::with_capacity(tasks.len());
    let mut owner = Vec::new();
    for (n, task) in tasks.iter().enumerate() {
        first.push(owner.len());
        owner.extend(std::iter::repeat_n(n, task.times as usize));
    }
    // 0: not seen; 1: on the path; 2: done.
    let mut state = vec![0_u8; owner.len()];
    let mut told: BTreeSet<usize> = BTreeSet::new();
    let mut path: Vec<(usize, usize)> = Vec::new();
    for start in 0..owner.len() {
        if state[start] != 0 {
            continue;
        }
        path.push((start, 0));
        state[start] = 1;
        while let Some((node, edge)) = path.last_mut() {
            let task = &tasks[owner[*node]];
            let turn = (*node - first[owner[*node]]) as u32 + 1;
            let Some(after) = task.after.get(*edge) else {
                state[*node] = 2;
                path.pop();
                continue;
            };
            *edge += 1;
            let to = first[after.task] + task.waits_for(turn, after, &tasks[after.task]) as usize - 1;
            match state[to] {
                0 => {
                    state[to] = 1;
                    path.push((to, 0));
                }
                1 => {
                    let from = path.iter().position(|(n, _)| *n == to).unwrap_or(0);
                    let ring: Vec<usize> = path[from..].iter().map(|(n, _)| owner[*n]).collect();
                    let key = ring.iter().copied().min().unwrap_or(0);
                    if told.insert(key) {
                        let spot = after.spot.clone();
                        tell_ring(r, tasks, &ring, &spot);
                    }
                }
                _ => {}
            }
        }
    }
    !told.is_empty()
}

fn tell_ring(r: &mut Reader<'_>, tasks: &[TaskRead], ring: &[usize], spot: &crate::text::Spot) {
    let mut names: Vec<&str> = ring.iter().map(|t| tasks[*t].id.as_str()).collect();
    if names.len() > 8 {
        names.truncate(8);
        names.push("...");
    }
    let message = match ring {
        [only] => format!("`{}` waits for itself", tasks[*only].id),
        _ => format!(
            "tasks that wait for each other: {} after {}",
            names.join(" after "),
            tasks[ring[0]].id
        ),
    };
    r.texts
        .fault(spot, message, "none of them could ever start; remove one `after`");
}

/// Reports tasks that can never start.
fn never(r: &mut Reader<'_>, tasks: &[TaskRead], parts: &Parts, equipment: &EquipmentRead, efforts: &Efforts) {
    let mut dead = vec![false; tasks.len()];
    let end = parts.duration.map_or(f64::NAN, |d| most(r, d));
    for (n, task) in tasks.iter().enumerate() {
        let mut why = None;
        if let Some(missing) = task.needs.iter().find(|e| equipment.counts.get(**e) == Some(&0)) {
            let name = r.known.equipment.list[*missing].clone();
            why = Some((
                task.spot.clone(),
                format!("it needs `{name}`, of which there are none"),
                "count = 1 or more".to_owned(),
            ));
        }
        if let Some(at) = task.at
            && least(r, at) >= end
        {
            let help = "`at` counts from the start of the run";
            why = Some((
                task.at_spot.clone(),
                "the run is over by then".to_owned(),
                help.to_owned(),
            ));
        }
        if let (true, Some(Place::Compartment(place)), Some(effort)) = (task.needs_space, task.place, task.effort) {
            let people = if task.each { 1 } else { task.people.len() };
            let claim = efforts.get(effort).map_or(0.0, |e| least(r, e.space)) * people as f64;
            let room = parts
                .compartments
                .get(place)
                .map_or(f64::INFINITY, |c| most(r, c.usable));
            if claim > room * (1.0 + 1e-9) {
                let why_not = format!("its people claim {claim:.3} m3 where {room:.3} m3 are usable");
                why = Some((
                    task.spot.clone(),
                    why_not,
                    "fewer people, less space, or without `needs_space`".to_owned(),
                ));
            }
        }
        if let Some((spot, why, help)) = why {
            dead[n] = true;
            r.texts
                .fault(&spot, format!("`{}` can never start: {why}", task.id), help);
        }
    }
    // What waits for a task that never runs never runs either; rings are out, so this ends.
    let mut changed = true;
    while changed {
        changed = false;
        for (n, task) in tasks.iter().enumerate() {
            if dead[n] {
                continue;
            }
            if let Some(after) = task.after.iter().find(|a| dead[a.task]) {
                dead[n] = true;
                changed = true;
                let message = format!("`{}` can never start: it waits for `{}`", task.id, tasks[after.task].id);
                r.texts.fault(&after.spot, message, "which can never start itself");
            }
        }
    }
}

/// Turns of one task that overlap, and turns after the end.
fn repeats(r: &mut Reader<'_>, tasks: &[TaskRead]) {
    for task in tasks {
        let Some(every) = task.every else { continue };
        if task.times < 2 || !task.after.is_empty() {
            continue;
        }
        if task.lasts[0] > most(r, every) {
            let message = format!(
                "the turns of `{}` overlap: it takes longer than from one turn to the next",
                task.id
            );
            r.texts
                .fault(&task.repeat_spot, message, "repeat it less often, or make it shorter");
        }
    }
}

/// Warns of turns that are due only after the end of the run.
fn late(r: &mut Reader<'_>, tasks: &[TaskRead], parts: &Parts) {
    let end = parts.duration.map_or(f64::INFINITY, |d| median(r, d));
    for task in tasks {
        let (Some(every), true) = (task.every, task.times > 1) else {
            continue;
        };
        let (at, every) = (task.at.map_or(0.0, |at| median(r, at)), median(r, every));
        let within = (1..=task.times)
            .take_while(|k| at + f64::from(k - 1) * every < end)
            .count();
        if within < task.times as usize {
            let message = format!(
                "only {within} of the {} turns of `{}` are due in the run",
                task.times, task.id
            );
            r.texts.warn(&task.repeat_spot, message, "the others are never done");
        }
    }
}

/// A fixed turn of a person.
struct Fixed {
    person: usize,
    task: usize,
    turn: u32,
    start: [f64; 2],
    middle: f64,
    least_end: f64,
    median_end: f64,
}

fn overlaps(r: &mut Reader<'_>, tasks: &[TaskRead]) {
    let mut list: Vec<Fixed> = Vec::new();
    for (n, task) in tasks.iter().enumerate() {
        // Copies of a task for each person are fixed for each of them.
        let (Some(at), true) = (task.at, task.after.is_empty()) else {
            continue;
        };
        let every = task.every;
        let bounds = |r: &Reader<'_>, turn: u32, of: fn(&Reader<'_>, crate::scenario::num::Num) -> f64| {
            of(r, at) + f64::from(turn - 1) * every.map_or(0.0, |e| of(r, e))
        };
        for turn in 1..=task.times {
            let start = [bounds(r, turn, least), bounds(r, turn, most)];
            let middle = bounds(r, turn, median);
            let [shortest, usual, _] = task.lasts;
            for person in &task.people {
                list.push(Fixed {
                    person: *person,
                    task: n,
                    turn,
                    start,
                    middle,
                    least_end: start[0] + shortest,
                    median_end: middle + usual,
                });
            }
        }
    }
    list.sort_by(|a, b| {
        a.person
            .cmp(&b.person)
            .then(a.middle.total_cmp(&b.middle))
            .then(a.task.cmp(&b.task))
            .then(a.turn.cmp(&b.turn))
    });
    let mut told: BTreeSet<(usize, usize)> = BTreeSet::new();
    // For each person, the earlier turn that ends last, by its least and by its median end.
    let mut ahead: Option<(usize, usize)> = None;
    for n in 0..list.len() {
        let same = n > 0 && list[n - 1].person == list[n].person;
        if !same {
            ahead = Some((n, n));
            continue;
        }
        let Some((certain, likely)) = ahead else { continue };
        compare(r, tasks, &list, n, certain, likely, &mut told);
        let certain = if list[n].least_end > list[certain].least_end {
            n
        } else {
            certain
        };
        let likely = if list[n].median_end > list[likely].median_end {
            n
        } else {
            likely
        };
        ahead = Some((certain, likely));
    }
}

/// Holds a turn against the earlier ones of its person that end last.
fn compare(
    r: &mut Reader<'_>,
    tasks: &[TaskRead],
    list: &[Fixed],
    n: usize,
    certain: usize,
    likely: usize,
    told: &mut BTreeSet<(usize, usize)>,
) {
    // Times as the engine takes them: a nanosecond is no overlap.
    let after = |end: f64, start: f64| Time::from_seconds(end) > Time::from_seconds(start);
    let later = &list[n];
    let person = r.known.people.list[later.person].clone();
    let (other, sure) = if after(list[certain].least_end, later.start[1]) {
        (&list[certain], true)
    } else if after(list[likely].median_end, later.middle) {
        (&list[likely], false)
    } else {
        return;
    };
    let same_task = other.task == later.task;
    if !told.insert((other.task, later.task)) || same_task && sure {
        return;
    }
    let (a, b) = (&tasks[other.task], &tasks[later.task]);
    let until = Time::from_seconds(if sure { other.least_end } else { other.median_end });
    let due = Time::from_seconds(later.middle);
    if sure {
        let message = format!("`{}` and `{}` of `{person}` overlap", a.id, b.id);
        let help = format!(
            "`{}` is due at {due} and `{}` lasts until {until}; use `after` where one waits for the other",
            b.id, a.id
        );
        r.texts.fault(&b.at_spot, message, help);
    } else {
        let message = format!("`{}` of `{person}` will often start late", b.id);
        let help = format!("it is due at {due}, and on its median `{}` lasts until {until}", a.id);
        r.texts.warn(&b.at_spot, message, help);
    }
}
