//! Which entries of a log are told, and in which order.
//!
//! The engine logs what an instant brings as it works it out, and then what comes of carrying it out. Read as a story that is
//! the wrong way round: a vent ends, and then the hatch is opened and the task is over. So of one instant, ends of vents, fills
//! and equalisations come first; all else stays as it is. Not told are the change of a canister that found none (the event
//! that none was left says it, and takes the task from it), going below a reserve of nothing (the tank ran dry), and a film
//! that begins and is dry at one instant: at the very point of saturation the last digit decides.

use breathroom_sim::engine::{Case, Entry, Event};
use breathroom_sim::timeline::Effect;
use breathroom_sim::units::Time;

/// An event to tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    pub at: Time,
    pub event: Event,
    /// The task that an event is about that does not say so itself.
    pub task: Option<usize>,
}

/// What is told of a log.
pub(super) fn lines(log: &[Entry], case: &Case) -> Vec<Line> {
    let mut lines = Vec::with_capacity(log.len());
    for instant in log.chunk_by(|a, b| a.at == b.at) {
        let ended = |entry: &&Entry| matches!(entry.event, Event::TransferEnded(_));
        let plain = |entry: &Entry| Line {
            at: entry.at,
            event: entry.event,
            task: None,
        };
        lines.extend(instant.iter().filter(ended).map(plain));
        let missed = missed(instant);
        for (index, entry) in instant.iter().enumerate().filter(|(_, entry)| !ended(entry)) {
            let empty = matches!(entry.event, Event::TankReserve(tank)
                if case.tanks.get(tank).is_some_and(|tank| tank.reserve_mol <= 0.0));
            if empty || is_no_film(instant, entry.event) || missed.iter().any(|&(change, _, _)| change == index) {
                continue;
            }
            let task = missed.iter().find(|&&(_, none, _)| none == index);
            lines.push(Line {
                task: task.map(|&(_, _, task)| task),
                ..plain(entry)
            });
        }
    }
    lines
}

/// A film that begins and is dry in the same instant, or the other way round: that leaves all as it was.
fn is_no_film(instant: &[Entry], event: Event) -> bool {
    let turns = |begins: bool, place: (usize, usize)| {
        let same = |entry: &&Entry| match entry.event {
            Event::FilmBegan { compartment, surface } => begins && (compartment, surface) == place,
            Event::FilmDried { compartment, surface } => !begins && (compartment, surface) == place,
            _ => false,
        };
        instant.iter().filter(same).count()
    };
    match event {
        Event::FilmBegan { compartment, surface } | Event::FilmDried { compartment, surface } => {
            turns(true, (compartment, surface)) == turns(false, (compartment, surface))
        }
        _ => false,
    }
}

/// Changes of canisters that found none, in one instant: places of the change and of what says so, and the task.
fn missed(instant: &[Entry]) -> Vec<(usize, usize, usize)> {
    let mut found: Vec<(usize, usize, usize)> = Vec::new();
    // From the last back: those that came first got what there was.
    for (none, entry) in instant.iter().enumerate().rev() {
        let Event::NoCanister(device) = entry.event else {
            continue;
        };
        let change = instant
            .iter()
            .enumerate()
            .rev()
            .find_map(|(index, entry)| match entry.event {
                Event::Effect { task, effect } if effect == Effect::ChangeCanister(device) => {
                    (!found.iter().any(|&(taken, _, _)| taken == index)).then_some((index, task))
                }
                _ => None,
            });
        found.extend(change.map(|(change, task)| (change, none, task)));
    }
    found
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::{Species, Tank};

    use super::*;

    #[test]
    fn an_end_comes_before_what_it_leads_to_and_nothing_is_told_twice() {
        let tank = |reserve_mol| Tank {
            gas: Species::Oxygen,
            amount_mol: 10.0,
            residue_mol: 0.0,
            reserve_mol,
        };
        let case = Case {
            tanks: vec![tank(0.0), tank(1.0)],
            ..Case::default()
        };
        let effect = |task, effect| Event::Effect { task, effect };
        let film = |begins, compartment| {
            let surface = 0;
            if begins {
                Event::FilmBegan { compartment, surface }
            } else {
                Event::FilmDried { compartment, surface }
            }
        };
        let events = [
            effect(3, Effect::Open(0)),
            Event::TaskEnded(3),
            effect(4, Effect::ChangeCanister(0)),
            effect(5, Effect::ChangeCanister(0)),
            effect(5, Effect::ChangeCanister(1)),
            Event::TransferEnded(7),
            Event::TankReserve(0),
            Event::TankReserve(1),
            Event::NoCanister(0),
            film(true, 0),
            film(false, 0),
            film(true, 1),
        ];
        let at = |seconds: f64| {
            move |event| Entry {
                at: Time::from_seconds(seconds),
                event,
            }
        };
        let mut log: Vec<Entry> = events.map(at(60.0)).into();
        log.push(at(61.0)(Event::TaskStarted(0)));
        let told: Vec<_> = lines(&log, &case).iter().map(|line| (line.event, line.task)).collect();
        assert_eq!(
            told,
            [
                (events[5], None),
                (events[0], None),
                (events[1], None),
                (events[2], None),
                (events[4], None),
                (events[7], None),
                (events[8], Some(5)),
                (events[11], None),
                (Event::TaskStarted(0), None),
            ]
        );
    }
}
