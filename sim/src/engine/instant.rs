//! What happens at one instant, in the documented order.
//!
//! Passes over the phases *ends* (tasks, and stages of efforts), *hatches and devices* (effects of tasks, turns of cycles) and
//! *new tasks*, until a pass finds no work; faults, alarms and responses have their places between the first two. An effect
//! of an ending task joins the hatches of this pass; one of a starting task joins the next pass, since its phase is behind.
//! Inside a phase the order is that of the file. What a person does is settled when the passes are over: an instant off task
//! between two tasks is no rest, and restarts nothing.

use crate::air::Place;
use crate::timeline::{Change, Effect, Schedule};
use crate::units::Time;

use super::Case;
use super::hatch::equalise;
use super::mode::Mode;
use super::outcome::{Counters, RunError};
use super::people::Crew;
use super::state::Stocks;
use super::system::System;
use super::trace::{Entry, Event, Trace};

/// Passes at one instant before the run is given up.
const MOST_PASSES: u64 = 1000;

/// Buffers of the passes.
#[derive(Debug, Default)]
pub(crate) struct Instant {
    changes: Vec<Change>,
    effects: Vec<(usize, Effect)>,
    /// What each person will do, once settled.
    doing: Vec<Option<(usize, Place)>>,
    /// Tasks that took part in the running pass.
    tasks: Vec<usize>,
}

/// What the passes act on.
pub(crate) struct Scene<'a> {
    /// The case.
    pub case: &'a Case,
    /// The timeline.
    pub schedule: &'a mut Schedule,
    /// The mode.
    pub mode: &'a mut Mode,
    /// The people.
    pub crew: &'a mut Crew,
    /// The gas.
    pub stocks: &'a mut Stocks,
    /// Capacities.
    pub system: &'a System,
    /// The counters.
    pub counters: &'a mut Counters,
    /// The log.
    pub trace: Option<&'a mut Trace>,
}

impl Scene<'_> {
    fn log(&mut self, at: Time, event: Event) {
        if let Some(trace) = &mut self.trace {
            trace.log.push(Entry { at, event });
        }
    }
}

impl Instant {
    /// Makes the passes at `now`; whether gas moved at once, so that pieces of device laws must be looked up again.
    ///
    /// # Errors
    /// If the passes do not end, or a hatch is to be opened against a pressure.
    pub fn settle(&mut self, scene: &mut Scene, now: Time) -> Result<bool, RunError> {
        self.effects.clear();
        self.doing.clear();
        self.doing.resize(scene.case.people.len(), None);
        let mut moved = false;
        let mut passes = 0;
        loop {
            passes += 1;
            scene.counters.passes += 1;
            if passes > MOST_PASSES {
                let mut tasks = std::mem::take(&mut self.tasks);
                tasks.sort_unstable();
                tasks.dedup();
                return Err(RunError::TooManyPasses { at: now, tasks });
            }
            self.tasks.clear();
            let ended = scene.schedule.end_due(&scene.case.plan, now, &mut self.changes);
            self.take_changes(scene, now);
            let mut worked = ended;
            worked |= turn_cycles(scene, now);
            let effects = std::mem::take(&mut self.effects);
            for &(task, effect) in &effects {
                worked = true;
                moved |= carry_out(scene, effect, now)?;
                scene.log(now, Event::Effect { task, effect });
            }
            self.effects = effects;
            self.effects.clear();
            worked |= scene.schedule.start_ready(&scene.case.plan, now, &mut self.changes);
            self.take_changes(scene, now);
            if !worked && self.effects.is_empty() {
                break;
            }
        }
        for person in 0..self.doing.len() {
            if let Some((effort, place)) = self.doing[person] {
                scene.crew.take_up(scene.case, person, effort, place, now);
                scene.log(now, Event::Does { person, effort, place });
            }
        }
        scene.crew.end_stages(scene.case, now);
        Ok(moved)
    }

    fn take_changes(&mut self, scene: &mut Scene, now: Time) {
        let changes = std::mem::take(&mut self.changes);
        for change in &changes {
            match *change {
                Change::TaskStarted(task) => {
                    self.tasks.push(task);
                    scene.log(now, Event::TaskStarted(task));
                }
                Change::TaskEnded(task) => {
                    self.tasks.push(task);
                    scene.log(now, Event::TaskEnded(task));
                }
                Change::TaskWaits(task) => scene.log(now, Event::TaskWaits(task)),
                Change::Does { person, effort, place } => self.doing[person] = Some((effort, place)),
                Change::Effect { task, effect } => self.effects.push((task, effect)),
            }
        }
        self.changes = changes;
        self.changes.clear();
    }
}

/// Brings every device's cycle to the turn of `now`; whether one changed.
fn turn_cycles(scene: &mut Scene, now: Time) -> bool {
    let mut changed = false;
    for (d, device) in scene.case.devices.iter().enumerate() {
        if let Some(cycle) = &device.cycle {
            let turn = (now.0 / cycle.every.0) as usize % cycle.factors.len();
            changed |= turn != scene.mode.turn[d];
            scene.mode.turn[d] = turn;
        }
    }
    changed
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
