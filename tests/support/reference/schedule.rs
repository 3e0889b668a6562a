//! Works out who does what when, for tasks that wait for nothing but their earliest start and their predecessors.
//!
//! Left out on purpose: contention for people, equipment and space. A case whose tasks contend is refused.

use breathroom_sim::air::Place;
use breathroom_sim::crew::Load;
use breathroom_sim::engine::Case;
use breathroom_sim::timeline::Effect;
use breathroom_sim::units::Time;

/// Something that changes a value in the equations.
#[derive(Clone, Copy, Debug)]
pub enum Change {
    /// A person's steady rates from here on.
    Load {
        person: usize,
        place: Place,
        load: Load,
        sweat_lag: bool,
        towel: bool,
    },
    /// A hatch or a device.
    Effect(Effect),
    /// A turn of a device's cycle.
    Factor { device: usize, factor: f64 },
}

/// Start and end of each task; `None` beyond the run.
pub fn times(case: &Case) -> Vec<Option<(Time, Time)>> {
    let tasks = &case.plan.tasks;
    let mut known: Vec<Option<(Time, Time)>> = vec![None; tasks.len()];
    for _ in 0..=tasks.len() {
        for i in 0..tasks.len() {
            let mut start = tasks[i].earliest;
            let mut ready = true;
            for &before in &tasks[i].after {
                match known[before] {
                    Some((_, end)) => start = start.max(end),
                    None => ready = false,
                }
            }
            if ready {
                known[i] = Some((start, start + tasks[i].duration));
            }
        }
    }
    for i in 0..tasks.len() {
        for j in 0..i {
            let (Some(a), Some(b)) = (known[i], known[j]) else {
                continue;
            };
            let shared = tasks[i].people.iter().any(|p| tasks[j].people.contains(p));
            assert!(
                !shared || a.1 <= b.0 || b.1 <= a.0,
                "tasks {j} and {i} contend: not for the reference"
            );
        }
    }
    known
}

/// What one person does from an instant on.
#[derive(Clone, Copy)]
struct Stint {
    from: Time,
    place: Place,
    effort: usize,
}

/// The stints of one person, in order; one that lasts no time is dropped.
fn stints(case: &Case, person: usize, times: &[Option<(Time, Time)>]) -> Vec<Stint> {
    let who = &case.people[person];
    let mut own: Vec<(Time, Time, usize)> = (0..times.len())
        .filter(|&i| case.plan.tasks[i].people.contains(&person))
        .filter_map(|i| times[i].map(|(a, b)| (a, b, i)))
        .collect();
    own.sort();
    let rest = |last: Place, inside: Place| match who.home {
        Some(a) => Place::Compartment(a),
        None if last == Place::Outside => inside,
        None => last,
    };
    let mut out = vec![Stint {
        from: Time::ZERO,
        place: who.start,
        effort: who.idle,
    }];
    let mut inside = out[0].place;
    for (start, end, i) in own {
        let task = &case.plan.tasks[i];
        out.push(Stint {
            from: start,
            place: task.place,
            effort: task.effort,
        });
        let back = rest(task.place, inside);
        if back != Place::Outside {
            inside = back;
        }
        out.push(Stint {
            from: end,
            place: back,
            effort: who.idle,
        });
    }
    let mut kept: Vec<Stint> = Vec::new();
    for stint in out {
        if kept.last().is_some_and(|last| last.from == stint.from) {
            kept.pop();
        }
        kept.push(stint);
    }
    kept
}

/// Everything that happens before the end, in order: time, then ends, then starts, in the order of the tasks.
pub fn script(case: &Case) -> Vec<(Time, Vec<Change>)> {
    let times = times(case);
    // (time, phase, order) sorts changes at one instant.
    let mut all: Vec<(Time, u8, usize, Change)> = Vec::new();
    for (i, task) in case.plan.tasks.iter().enumerate() {
        let Some((start, end)) = times[i] else { continue };
        for &effect in &task.ends {
            all.push((end, 0, i, Change::Effect(effect)));
        }
        for &effect in &task.starts {
            all.push((start, 2, i, Change::Effect(effect)));
        }
    }
    for person in 0..case.people.len() {
        let stints = stints(case, person, &times);
        for (k, stint) in stints.iter().enumerate() {
            let until = stints.get(k + 1).map_or(Time::NEVER, |next| next.from);
            let profile = &case.people[person].profiles[stint.effort];
            let mut at = stint.from;
            for stage in &profile.stages {
                if at >= until {
                    break;
                }
                let change = Change::Load {
                    person,
                    place: stint.place,
                    load: stage.load,
                    sweat_lag: profile.sweat_lag,
                    towel: profile.towel,
                };
                all.push((at, 1, person, change));
                match stage.lasts {
                    Some(lasts) => at = at + lasts,
                    None => break,
                }
            }
        }
    }
    for (device, d) in case.devices.iter().enumerate() {
        let Some(cycle) = &d.cycle else { continue };
        let mut turn = 0_usize;
        let mut at = Time::ZERO;
        while at < case.duration {
            all.push((
                at,
                1,
                device,
                Change::Factor {
                    device,
                    factor: cycle.factors[turn % cycle.factors.len()],
                },
            ));
            turn += 1;
            at = at + cycle.every;
        }
    }
    all.sort_by_key(|&(at, phase, order, _)| (at, phase, order));
    let mut out: Vec<(Time, Vec<Change>)> = vec![(Time::ZERO, Vec::new())];
    for (at, _, _, change) in all {
        if at >= case.duration {
            break;
        }
        match out.last_mut() {
            Some((last, changes)) if *last == at => changes.push(change),
            _ => out.push((at, vec![change])),
        }
    }
    out
}
