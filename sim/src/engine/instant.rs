//! What happens at one instant, in the documented order.
//!
//! Passes over the phases *ends* (tasks, and stages of efforts), *hatches and devices* (effects of tasks, turns of cycles) and
//! *new tasks*, until a pass finds no work; faults, alarms and responses have their places between the first two. An effect
//! of an ending task joins the hatches of this pass; one of a starting task joins the next pass, since its phase is behind.
//! Inside a phase the order is that of the file. What a person does is settled when the passes are over: an instant off task
//! between two tasks is no rest, and restarts nothing.

use crate::air::Place;
use crate::removal::{Cycle, Device};
use crate::timeline::{Change, Effect, Schedule};
use crate::units::Time;

use super::Case;
use super::hatch::equalise;
use super::mode::{Mode, TAKEN};
use super::outcome::{Counters, RunError};
use super::people::Crew;
use super::state::Stocks;
use super::system::System;
use super::trace::{Entry, Event, Trace};

/// Passes at one instant before the run is given up.
const MOST_PASSES: u64 = 1000;

/// The passes of one instant: first worked out, then carried out.
///
/// Working them out touches the timeline alone, so that an instant that changes nothing in the equations need not end a
/// segment.
#[derive(Debug, Default)]
pub(crate) struct Instant {
    changes: Vec<Change>,
    /// Effects of the running pass, not yet in their phase.
    waiting: Vec<(usize, Effect)>,
    /// Effects in the order in which they are carried out.
    effects: Vec<Effect>,
    /// What each person will do, once settled.
    doing: Vec<Option<(usize, Place)>>,
    /// Tasks that took part in the running pass.
    tasks: Vec<usize>,
}

/// What is carried out acts on this.
pub(crate) struct Scene<'a> {
    /// The case.
    pub case: &'a Case,
    /// The mode.
    pub mode: &'a mut Mode,
    /// The people.
    pub crew: &'a mut Crew,
    /// The gas.
    pub stocks: &'a mut Stocks,
    /// Capacities.
    pub system: &'a System,
}

/// A log, for those who ask.
type Log<'a, 'b> = &'a mut Option<&'b mut Trace>;

fn log(to: Log, at: Time, event: Event) {
    if let Some(trace) = to {
        trace.log.push(Entry { at, event });
    }
}

impl Instant {
    /// Works out the passes at `now`.
    ///
    /// # Errors
    /// If they do not end.
    pub fn plan(
        &mut self,
        case: &Case,
        mode: &Mode,
        schedule: &mut Schedule,
        counters: &mut Counters,
        mut trace: Option<&mut Trace>,
        now: Time,
    ) -> Result<(), RunError> {
        self.waiting.clear();
        self.effects.clear();
        self.doing.clear();
        self.doing.resize(case.people.len(), None);
        let mut turns_due = turns_due(case, mode, now);
        let mut passes = 0;
        loop {
            passes += 1;
            counters.passes += 1;
            if passes > MOST_PASSES {
                let mut tasks = std::mem::take(&mut self.tasks);
                tasks.sort_unstable();
                tasks.dedup();
                return Err(RunError::TooManyPasses { at: now, tasks });
            }
            self.tasks.clear();
            let mut worked = schedule.end_due(&case.plan, now, &mut self.changes);
            self.take_changes(&mut trace, now);
            worked |= std::mem::take(&mut turns_due) || !self.waiting.is_empty();
            for (task, effect) in self.waiting.drain(..) {
                self.effects.push(effect);
                log(&mut trace, now, Event::Effect { task, effect });
            }
            worked |= schedule.start_ready(&case.plan, now, &mut self.changes);
            self.take_changes(&mut trace, now);
            if !worked && self.waiting.is_empty() {
                break;
            }
        }
        for (person, doing) in self.doing.iter().enumerate() {
            if let Some((effort, place)) = *doing {
                log(&mut trace, now, Event::Does { person, effort, place });
            }
        }
        Ok(())
    }

    fn take_changes(&mut self, trace: Log, now: Time) {
        for change in self.changes.drain(..) {
            match change {
                Change::TaskStarted(task) => {
                    self.tasks.push(task);
                    log(trace, now, Event::TaskStarted(task));
                }
                Change::TaskEnded(task) => {
                    self.tasks.push(task);
                    log(trace, now, Event::TaskEnded(task));
                }
                Change::TaskEnding(_) => {}
                Change::TaskWaits(task) => log(trace, now, Event::TaskWaits(task)),
                Change::Does {
                    person, effort, place, ..
                } => self.doing[person] = Some((effort, place)),
                Change::Effect { task, effect } => self.waiting.push((task, effect)),
            }
        }
    }

    /// Whether what was worked out changes a value in the equations.
    pub fn changes_equations(&self, case: &Case, mode: &Mode, crew: &Crew, now: Time) -> bool {
        let turned = |d: usize| {
            let cycle = case.devices[d].cycle.as_ref();
            cycle.is_some_and(|cycle| cycle.factors[turn_at(cycle, now)] != cycle.factors[mode.turn[d]])
        };
        (0..case.devices.len()).any(|d| mode.on[d] && turned(d) && takes_something(case, d))
            || self.effects.iter().any(|&effect| match effect {
                Effect::SwitchOn(d) => !mode.on[d] && takes_something(case, d),
                Effect::SwitchOff(d) => mode.on[d] && takes_something(case, d),
                Effect::Open(o) => !mode.open[o],
                Effect::Close(o) => mode.open[o],
                _ => true,
            })
            || crew
                .people
                .iter()
                .enumerate()
                .any(|(person, doing)| match self.doing[person] {
                    Some((effort, place)) => doing.changes_with(case, person, effort, place),
                    None => doing.place != Place::Outside && doing.stage_ends <= now,
                })
    }

    /// Carries out what was worked out; whether gas moved at once, so that pieces of device laws must be looked up again.
    ///
    /// # Errors
    /// If a hatch is to be opened against a pressure.
    pub fn carry_out(&mut self, scene: &mut Scene, now: Time) -> Result<bool, RunError> {
        let mut moved = false;
        for (d, device) in scene.case.devices.iter().enumerate() {
            if let Some(cycle) = &device.cycle {
                scene.mode.turn[d] = turn_at(cycle, now);
            }
        }
        for &effect in &self.effects {
            moved |= carry_out(scene, effect, now)?;
        }
        for (person, doing) in self.doing.iter().enumerate() {
            if let Some((effort, place)) = *doing {
                scene.crew.take_up(scene.case, person, effort, place, now);
            }
        }
        scene.crew.end_stages(scene.case, now);
        Ok(moved)
    }
}

fn turn_at(cycle: &Cycle, now: Time) -> usize {
    (now.0 / cycle.every.0) as usize % cycle.factors.len()
}

/// Whether some cycle goes over to another turn at `now`.
fn turns_due(case: &Case, mode: &Mode, now: Time) -> bool {
    let due = |(d, device): (usize, &Device)| device.cycle.as_ref().is_some_and(|c| turn_at(c, now) != mode.turn[d]);
    case.devices.iter().enumerate().any(due)
}

/// When a value in the equations is next expected to change, after `now`: by what is known to be due and would change one. The
/// integrator ends a step there. What starts then, or crosses before, may change them earlier.
///
/// It does not depend on what changes nothing: that moves no step.
pub(crate) fn next_expected(case: &Case, mode: &Mode, crew: &Crew, schedule: &Schedule, now: Time) -> Time {
    let mut next = case.duration;
    for (at, task) in schedule.running() {
        let changes = |&person: &usize| {
            let doing = &crew.people[person];
            doing.changes_with(case, person, case.people[person].idle, doing.place)
        };
        if at < next && at > now && case.plan.tasks[task].people.iter().any(changes) {
            next = at;
        }
    }
    for doing in &crew.people {
        if doing.place != Place::Outside {
            next = next.min(doing.stage_ends);
        }
    }
    for (d, device) in case.devices.iter().enumerate() {
        if let (Some(cycle), true) = (&device.cycle, mode.on[d] && takes_something(case, d)) {
            let turns = (1..=cycle.factors.len() as i64).map(|k| Time((now.0 / cycle.every.0 + k) * cycle.every.0));
            let changes = |&at: &Time| cycle.factors[turn_at(cycle, at)] != cycle.factors[mode.turn[d]];
            next = next.min(turns.into_iter().find(changes).unwrap_or(Time::NEVER));
        }
    }
    next
}

/// Whether a device can take anything at all.
fn takes_something(case: &Case, d: usize) -> bool {
    let device = &case.devices[d];
    let temperature = case.compartments[device.serves].temperature_k;
    TAKEN.into_iter().any(|species| {
        (0..device.pieces(species)).any(|piece| {
            let line = device.line(species, piece, temperature, 1.0);
            line.conductance_mol_s_pa != 0.0 || line.offset_mol_s != 0.0
        })
    })
}

/// When the next turn of a cycle begins, after `now`.
pub(crate) fn next_turn(case: &Case, mode: &Mode, now: Time) -> Time {
    let mut next = Time::NEVER;
    for (device, &on) in case.devices.iter().zip(&mode.on) {
        if let (Some(cycle), true) = (&device.cycle, on) {
            next = next.min(Time((now.0 / cycle.every.0 + 1) * cycle.every.0));
        }
    }
    next
}

/// Carries out an effect; whether gas moved at once.
fn carry_out(scene: &mut Scene, effect: Effect, now: Time) -> Result<bool, RunError> {
    match effect {
        Effect::SwitchOn(device) => scene.mode.on[device] = true,
        Effect::SwitchOff(device) => scene.mode.on[device] = false,
        Effect::Close(opening) => {
            scene.mode.open[opening] = false;
            scene.mode.regroup(scene.case);
        }
        Effect::Open(opening) => return open(scene, opening, now),
        _ => {}
    }
    Ok(false)
}

fn open(scene: &mut Scene, index: usize, now: Time) -> Result<bool, RunError> {
    let opening = scene.case.openings[index];
    if scene.mode.open[index] {
        return Ok(false);
    }
    let pressure = |place| match place {
        Place::Compartment(a) => scene.stocks.pressure(a),
        Place::Outside => scene.case.outside.partial_pa.iter().sum(),
    };
    let difference_pa = (pressure(opening.between[0]) - pressure(opening.between[1])).abs();
    if difference_pa > opening.opens_within_pa {
        return Err(RunError::HatchAgainstPressure {
            at: now,
            opening: index,
            difference_pa,
        });
    }
    scene.mode.open[index] = true;
    scene.mode.regroup(scene.case);
    let (Place::Compartment(a), Place::Compartment(_)) = (opening.between[0], opening.between[1]) else {
        return Ok(false);
    };
    if difference_pa > 0.0 {
        equalise(scene.case, scene.mode, scene.system, scene.stocks, a);
    }
    Ok(difference_pa > 0.0)
}
