//! Who does what where, what is open or on, and what is wrong, in one run: lanes on the axis of time.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{Entry, Event};
use breathroom_sim::timeline::{Effect, SuitUse};

use super::figure::Figure;
use super::lanes::{self, Lane, Look, Stretch};
use super::ran::Ran;
use crate::results::words;

/// The figure's id.
pub const ID: &str = "who-does-what";

/// The figure.
#[must_use]
pub fn figure(ran: &Ran<'_>) -> Figure {
    let people = 0..ran.case.people.len();
    let mut lanes: Vec<Lane> = people
        .flat_map(|person| [Some(of_person(ran, person)), places(ran, person)])
        .flatten()
        .collect();
    lanes.extend(waits(ran));
    lanes.extend((0..ran.case.suits.len()).filter_map(|suit| of_suit(ran, suit)));
    lanes.extend((0..ran.case.openings.len()).filter_map(|opening| of_opening(ran, opening)));
    lanes.extend((0..ran.case.devices.len()).map(|device| of_device(ran, device)));
    lanes.extend(transfers(ran));
    lanes.extend((0..ran.case.faults.len()).map(|fault| of_fault(ran, fault)));
    lanes.extend((0..ran.case.alarms.len()).map(|alarm| of_alarm(ran, alarm)));
    lanes.extend(crossings(ran));
    lanes.extend(incidents(ran));
    let says = "Who does what, by task (or effort), and where; waits; what is open, on or worn; what goes wrong. A triangle is an event. Darker: more CO2 made.";
    lanes::figure(ID, "Who does what, and what happens", says, &lanes, ran.end_h())
}

/// When the run ended, h.
fn end(ran: &Ran<'_>) -> f64 {
    ran.trace
        .samples
        .last()
        .map_or_else(|| ran.end_h(), |sample| sample.at.hours())
}

fn log<'a>(ran: &Ran<'a>) -> impl Iterator<Item = &'a Entry> {
    ran.trace.log.iter()
}

/// Stretches of something that is on or off, from its state at the start and the turns that `turn` finds.
fn switched(ran: &Ran<'_>, at_start: bool, turn: impl Fn(&Event) -> Option<bool>) -> Vec<(f64, f64, bool)> {
    let mut out = Vec::new();
    let (mut on, mut since) = (at_start, 0.0);
    for entry in log(ran) {
        if let Some(now) = turn(&entry.event)
            && now != on
        {
            out.push((since, entry.at.hours(), on));
            (on, since) = (now, entry.at.hours());
        }
    }
    out.push((since, end(ran), on));
    out.retain(|(from, to, _)| to > from);
    out
}

fn of_person(ran: &Ran<'_>, person: usize) -> Lane {
    let names = &ran.scenario.names;
    let name = words::person(names, person).to_owned();
    let mut running: Vec<usize> = Vec::new();
    let mut lane = Lane {
        name: name.clone(),
        ..Lane::default()
    };
    let mut doing: Option<(f64, usize, Place)> = None;
    let is_of = |task: usize| {
        ran.case
            .plan
            .tasks
            .get(task)
            .is_some_and(|task| task.people.contains(&person))
    };
    let mut task_now: Option<usize> = None;
    let close = |lane: &mut Lane, doing: Option<(f64, usize, Place)>, task: Option<usize>, to: f64| {
        let Some((from, effort, place)) = doing else { return };
        if to <= from {
            return;
        }
        let effort = words::effort(names, effort);
        let place_name = words::place(names, place);
        let (short, says) = match task {
            Some(task) => {
                let id = names.tasks.get(task).map_or("?", |task| task.id.as_str());
                (
                    id.to_owned(),
                    format!("{name}: {} ({effort}), {place_name}", words::task(names, task)),
                )
            }
            None => (effort.to_owned(), format!("{name}: {effort}, {place_name}")),
        };
        let look = Look::Doing(load(ran, person, from, to), place == Place::Outside);
        lane.stretches.push(Stretch {
            from,
            to,
            name: short,
            says,
            look,
        });
    };
    for entry in log(ran) {
        let at = entry.at.hours();
        match entry.event {
            Event::TaskStarted(task) | Event::TaskResumed(task) if is_of(task) => running.push(task),
            Event::TaskEnded(task) | Event::TaskInterrupted(task) | Event::TaskDropped(task) => {
                running.retain(|&other| other != task);
            }
            Event::Does {
                person: who,
                effort,
                place,
            } if who == person => {
                close(&mut lane, doing, task_now, at);
                doing = Some((at, effort, place));
                task_now = running.last().copied();
            }
            _ => continue,
        }
        // A task that starts after "does" at the same instant is what is done.
        if let Some((since, ..)) = doing
            && since == at
        {
            task_now = running.last().copied();
        }
    }
    close(&mut lane, doing, task_now, end(ran));
    lane
}

/// Where someone is; nothing of whoever stays in one place.
fn places(ran: &Ran<'_>, person: usize) -> Option<Lane> {
    let names = &ran.scenario.names;
    let mut stays: Vec<(f64, Place)> = Vec::new();
    for entry in log(ran) {
        if let Event::Does { person: who, place, .. } = entry.event
            && who == person
        {
            let at = entry.at.hours();
            // What is changed at the same instant never was.
            stays.pop_if(|(since, _)| *since == at);
            if stays.last().is_none_or(|&(_, last)| last != place) {
                stays.push((at, place));
            }
        }
    }
    let ends = stays.iter().skip(1).map(|&(at, _)| at).chain([end(ran)]);
    let name = words::person(names, person);
    let stretches: Vec<Stretch> = stays
        .iter()
        .zip(ends)
        .filter(|((from, _), to)| to > from)
        .map(|(&(from, place), to)| {
            let place_name = words::place(names, place);
            let (says, look) = match place {
                Place::Outside => (format!("{name} is outside"), Look::Out),
                Place::Compartment(index) => (format!("{name} is in {place_name}"), Look::In(index)),
            };
            Stretch {
                from,
                to,
                name: place_name.to_owned(),
                says,
                look,
            }
        })
        .collect();
    (stretches.len() > 1).then(|| Lane {
        name: format!("where {name} is"),
        stretches,
        pins: Vec::new(),
    })
}

/// How much CO2 someone makes over a stretch of time, of 0 (least) to 3 (most), against the most that anyone makes.
fn load(ran: &Ran<'_>, person: usize, from: f64, to: f64) -> usize {
    let rate = |sample: &breathroom_sim::engine::Sample| sample.people.get(person).map_or(0.0, |now| now.co2_mol_s);
    let samples = &ran.trace.samples;
    let first = samples.partition_point(|sample| sample.at.hours() < from);
    let last = samples
        .partition_point(|sample| sample.at.hours() <= to)
        .max(first + 1)
        .min(samples.len());
    let here = samples
        .get(first..last)
        .unwrap_or_default()
        .iter()
        .map(rate)
        .fold(0.0, f64::max);
    let everyone = samples
        .iter()
        .flat_map(|sample| sample.people.iter().map(|now| now.co2_mol_s));
    let most = everyone.fold(0.0, f64::max);
    if most > 0.0 {
        ((4.0 * here / most) as usize).min(3)
    } else {
        0
    }
}

fn waits(ran: &Ran<'_>) -> Option<Lane> {
    let names = &ran.scenario.names;
    let mut lane = Lane {
        name: "waiting".to_owned(),
        ..Lane::default()
    };
    for entry in log(ran) {
        if let Event::TaskWaits(task) = entry.event {
            let starts = |other: &&Entry| {
                other.at >= entry.at
                    && matches!(other.event, Event::TaskStarted(of) | Event::TaskResumed(of) if of == task)
            };
            let to = log(ran).find(starts).map_or_else(|| end(ran), |other| other.at.hours());
            let name = words::task(names, task);
            lane.stretches.push(Stretch {
                from: entry.at.hours(),
                to,
                says: format!("{name} waits"),
                name,
                look: Look::Waits,
            });
        }
    }
    (!lane.stretches.is_empty()).then_some(lane)
}

fn of_suit(ran: &Ran<'_>, suit: usize) -> Option<Lane> {
    let wearer = ran.case.suits.get(suit)?.wearer;
    let name = words::person(&ran.scenario.names, wearer);
    let mut lane = Lane {
        name: format!("{name}'s suit"),
        ..Lane::default()
    };
    let mut worn = (0.0, SuitUse::Off);
    let mut close = |(from, what): (f64, SuitUse), to: f64| {
        if what != SuitUse::Off && to > from {
            let what = words::suit_use(what);
            lane.stretches.push(Stretch {
                from,
                to,
                name: what.to_owned(),
                says: format!("{name}'s suit: {what}"),
                look: Look::State,
            });
        }
    };
    for entry in log(ran) {
        if let Event::SuitWorn { person, suit } = entry.event
            && person == wearer
        {
            close(worn, entry.at.hours());
            worn = (entry.at.hours(), suit);
        }
    }
    close(worn, end(ran));
    (!lane.stretches.is_empty()).then_some(lane)
}

/// A lane of something that has two states.
fn two_states(name: &str, [on, off]: [&str; 2], stretches: Vec<(f64, f64, bool)>, looks: [Look; 2]) -> Lane {
    let stretch = |(from, to, is_on): (f64, f64, bool)| {
        let word = if is_on { on } else { off };
        Stretch {
            from,
            to,
            name: word.to_owned(),
            says: format!("{name}: {word}"),
            look: looks[usize::from(!is_on)],
        }
    };
    Lane {
        name: name.to_owned(),
        stretches: stretches.into_iter().map(stretch).collect(),
        pins: Vec::new(),
    }
}

/// An opening that is ever turned.
fn of_opening(ran: &Ran<'_>, opening: usize) -> Option<Lane> {
    let stretches = switched(ran, ran.case.openings.get(opening)?.open, |event| match event {
        Event::Effect {
            effect: Effect::Open(of),
            ..
        } if *of == opening => Some(true),
        Event::Effect {
            effect: Effect::Close(of),
            ..
        } if *of == opening => Some(false),
        _ => None,
    });
    let name = words::opening(&ran.scenario.names, opening);
    (stretches.len() > 1).then(|| two_states(name, ["open", "closed"], stretches, [Look::State, Look::Rests]))
}

fn of_device(ran: &Ran<'_>, device: usize) -> Lane {
    let on = ran.case.devices.get(device).is_some_and(|of| of.on);
    let stretches = switched(ran, on, |event| match event {
        Event::Effect {
            effect: Effect::SwitchOn(of),
            ..
        } if *of == device => Some(true),
        Event::Effect {
            effect: Effect::SwitchOff(of),
            ..
        } if *of == device => Some(false),
        _ => None,
    });
    let name = words::device(&ran.scenario.names, device);
    let mut lane = two_states(name, ["on", "off"], stretches, [Look::State, Look::Rests]);
    for entry in log(ran) {
        let says = match entry.event {
            Event::Effect {
                effect: Effect::ChangeCanister(of),
                ..
            } if of == device => "fresh canister",
            Event::NoCanister(of) if of == device => "no canister left",
            _ => continue,
        };
        lane.pins.push((entry.at.hours(), format!("{name}: {says}")));
    }
    lane
}

fn transfers(ran: &Ran<'_>) -> Option<Lane> {
    let names = &ran.scenario.names;
    let mut lane = Lane {
        name: "vents and fills".to_owned(),
        ..Lane::default()
    };
    for of in &ran.outcome.transfers {
        let kind = match of.kind {
            breathroom_sim::engine::TransferKind::Vent => "vent",
            breathroom_sim::engine::TransferKind::Fill => "fill",
            breathroom_sim::engine::TransferKind::Equalise => "equalise",
        };
        let name = format!("{kind} {}", words::transferred(names, of));
        let to = of.ended.map_or_else(|| end(ran), |at| at.hours());
        lane.stretches.push(Stretch {
            from: of.began.hours(),
            to,
            says: name.clone(),
            name,
            look: Look::State,
        });
    }
    (!lane.stretches.is_empty()).then_some(lane)
}

fn wrong(name: &str, word: &str, stretches: Vec<(f64, f64, bool)>) -> Lane {
    let mut lane = two_states(name, [word, ""], stretches, [Look::Wrong, Look::Rests]);
    lane.stretches.retain(|of| of.look == Look::Wrong);
    lane
}

fn of_fault(ran: &Ran<'_>, fault: usize) -> Lane {
    let stretches = switched(ran, false, |event| match event {
        Event::FaultBegan(of) if *of == fault => Some(true),
        Event::FaultEnded(of) if *of == fault => Some(false),
        _ => None,
    });
    let name = words::fault(&ran.scenario.names, fault);
    let mut lane = wrong(&format!("fault {name}"), "at work", stretches);
    let repairs = log(ran).filter(|entry| entry.event == Event::RepairFailed(fault));
    lane.pins
        .extend(repairs.map(|entry| (entry.at.hours(), format!("{name}: repair failed"))));
    lane
}

fn of_alarm(ran: &Ran<'_>, alarm: usize) -> Lane {
    let stretches = switched(ran, false, |event| match event {
        Event::AlarmOn { alarm: of, .. } if *of == alarm => Some(true),
        Event::AlarmOff(of) if *of == alarm => Some(false),
        _ => None,
    });
    let name = words::alarm(&ran.scenario.names, alarm);
    let mut lane = wrong(&format!("alarm {name}"), "on", stretches);
    for entry in log(ran) {
        if matches!(entry.event, Event::AlarmOn { alarm: of, is_false: true } if of == alarm) {
            lane.pins.push((entry.at.hours(), format!("{name}: false alarm")));
        }
    }
    lane
}

fn crossings(ran: &Ran<'_>) -> Option<Lane> {
    let mut lane = Lane {
        name: "limits first crossed".to_owned(),
        ..Lane::default()
    };
    for entry in log(ran) {
        if let Event::LimitCrossed(rule) = entry.event {
            let info = ran.scenario.limits.get(rule);
            lane.pins.push((
                entry.at.hours(),
                info.map_or_else(
                    || "?".to_owned(),
                    |info| format!("{} ({}): {}", info.id, info.subject, info.words),
                ),
            ));
        }
    }
    (!lane.pins.is_empty()).then_some(lane)
}

/// What happens at an instant and has no lane of its own.
fn incidents(ran: &Ran<'_>) -> Option<Lane> {
    const TOLD: [&str; 9] = [
        "tank ran dry",
        "tank below its reserve",
        "relief opened",
        "film began",
        "recall",
        "task interrupted",
        "task dropped",
        "mask on",
        "not survivable",
    ];
    let column = |header: &str| ran.events.words(header).unwrap_or_default();
    let (what, times) = (column("event"), ran.events.numbers("time [h]").unwrap_or_default());
    let parts = ["task", "person", "place", "thing", "detail"].map(column);
    let mut lane = Lane {
        name: "events".to_owned(),
        ..Lane::default()
    };
    for (row, (&what, &at)) in what.iter().zip(&times).enumerate() {
        if TOLD.contains(&what) {
            let more: Vec<&str> = parts
                .iter()
                .map(|part| part[row])
                .filter(|part| !part.is_empty())
                .collect();
            lane.pins.push((at, format!("{what}: {}", more.join(", "))));
        }
    }
    (!lane.pins.is_empty()).then_some(lane)
}
