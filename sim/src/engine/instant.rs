//! What happens at one instant, in the documented order.
//!
//! Passes over the phases *ends* (tasks, and stages of efforts), *faults*, *alarms*, *responses*, *hatches and devices* (effects of
//! tasks, turns of cycles) and *new tasks*, until a pass finds no work. An effect
//! of an ending task joins the hatches of this pass; one of a starting task joins the next pass, since its phase is behind.
//! Inside a phase the order is that of the file. What a person does is settled when the passes are over: an instant off task
//! between two tasks is no rest, and restarts nothing.

use crate::air::Place;
use crate::removal::{Cycle, Device, Removal, Valves};
use crate::timeline::{Change, Effect, Schedule, SuitUse, each};
use crate::units::Time;

use super::Case;
use super::mode::{Mode, TAKEN};
use super::outcome::{Counters, RunError};
use super::people::Crew;
use super::scene::Scene;
use super::sequence::Sequences;
use super::trace::{Entry, Event, Trace};
use super::upset::Upsets;

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
    /// Tasks of which all effects are done.
    done: Vec<usize>,
    /// Effects in the order in which they are carried out, with their tasks.
    effects: Vec<(usize, Effect)>,
    /// What tasks have still to do.
    sequences: Sequences,
    /// A transfer ends now.
    transfer_ends: bool,
    /// What each person will do, once settled.
    doing: Vec<Option<(usize, Place, SuitUse)>>,
    /// Tasks that took part in the running pass.
    tasks: Vec<usize>,
}

/// A log, for those who ask.
type Log<'a, 'b> = &'a mut Option<&'b mut Trace>;

fn log(to: Log, at: Time, event: Event) {
    if let Some(trace) = to {
        trace.log.push(Entry { at, event });
    }
}

impl Instant {
    /// Forgets what tasks have still to do.
    pub fn reset(&mut self) {
        self.sequences.clear();
        self.transfer_ends = false;
    }

    /// A transfer of this task has ended before its time was known.
    pub fn release(&mut self, task: usize) {
        self.sequences.release(task);
    }

    /// Works out the passes at `now`.
    ///
    /// # Errors
    /// If they do not end.
    #[expect(clippy::too_many_arguments, reason = "the whole state takes part")]
    pub fn plan(
        &mut self,
        case: &Case,
        mode: &Mode,
        schedule: &mut Schedule,
        upsets: &mut Upsets,
        counters: &mut Counters,
        mut trace: Option<&mut Trace>,
        now: Time,
    ) -> Result<(), RunError> {
        upsets.faults.advance(case, mode, now);
        self.waiting.clear();
        self.effects.clear();
        self.doing.clear();
        self.doing.resize(case.people.len(), None);
        let mut turns_due = turns_due(case, mode, now);
        self.transfer_ends = false;
        for transfer in &mode.transfers {
            if transfer.until.is_some_and(|until| until <= now) {
                self.sequences.release(transfer.task);
                self.transfer_ends = true;
                log(&mut trace, now, Event::TransferEnded(transfer.record));
            }
        }
        self.done.clear();
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
            self.take_changes(case, upsets, &mut trace, now);
            worked |= self.upset(case, schedule, upsets, &mut trace, now);
            worked |= std::mem::take(&mut turns_due) || !self.waiting.is_empty();
            for (task, effect) in self.waiting.drain(..) {
                self.sequences.push(task, effect);
            }
            let before = self.effects.len();
            self.sequences.take(&mut self.effects, &mut self.done);
            for place in before..self.effects.len() {
                let (task, effect) = self.effects[place];
                log(&mut trace, now, Event::Effect { task, effect });
                self.act(case, schedule, upsets, (task, effect), &mut trace, now);
            }
            worked |= before < self.effects.len() || !self.done.is_empty();
            for task in self.done.drain(..) {
                schedule.finish(&case.plan, task, now, &mut self.changes);
            }
            self.take_changes(case, upsets, &mut trace, now);
            let busy = |task: usize| self.sequences.has(task);
            worked |= upsets.responses.settle(case, now, busy);
            worked |= schedule.start_ready(&case.plan, now, &mut self.changes);
            self.take_changes(case, upsets, &mut trace, now);
            if !worked && self.waiting.is_empty() {
                break;
            }
        }
        for (person, doing) in self.doing.iter().enumerate() {
            if let Some((effort, place, _)) = *doing {
                log(&mut trace, now, Event::Does { person, effort, place });
            }
        }
        Ok(())
    }

    /// The phases *faults*, *alarms* and *responses*; whether there was anything.
    fn upset(&mut self, case: &Case, schedule: &mut Schedule, upsets: &mut Upsets, trace: Log, now: Time) -> bool {
        let mut worked = upsets.faults.step(case, now, |fault, began| {
            let event = if began {
                Event::FaultBegan(fault)
            } else {
                Event::FaultEnded(fault)
            };
            log(trace, now, event);
        });
        for turn in upsets.listener.take() {
            worked = true;
            if turn.on {
                log(
                    trace,
                    now,
                    Event::AlarmOn {
                        alarm: turn.alarm,
                        is_false: turn.is_false,
                    },
                );
                upsets.responses.trip(case, turn.alarm, turn.at);
            } else {
                log(trace, now, Event::AlarmOff(turn.alarm));
            }
        }
        worked |= upsets.responses.step(case, schedule, now, &mut self.changes);
        self.take_changes(case, upsets, trace, now);
        worked
    }

    /// Carries out what an effect does to the timeline and to faults.
    fn act(
        &mut self,
        case: &Case,
        schedule: &mut Schedule,
        upsets: &mut Upsets,
        (task, effect): (usize, Effect),
        trace: Log,
        now: Time,
    ) {
        let people = |people: u64| each(people).take_while(|&person| person < case.people.len());
        match effect {
            Effect::Recall { people, within } => {
                upsets.responses.recalled(case, schedule, task, people);
                schedule.recall(&case.plan, people, now + within, &mut self.changes);
            }
            Effect::Wear { people: who, suit } => {
                let has = |person: &usize| case.suits.iter().any(|own| own.wearer == *person);
                for person in people(who).filter(has) {
                    schedule.change(person, None, Some(suit), &mut self.changes);
                }
            }
            Effect::Ease { people: who, effort } => {
                for person in people(who) {
                    schedule.change(person, Some(effort), None, &mut self.changes);
                }
            }
            Effect::Repair(fault) if upsets.responses.repairs(case, task) => {
                if upsets.faults.repair(fault, now) {
                    log(trace, now, Event::FaultEnded(fault));
                }
            }
            Effect::Repair(fault) => log(trace, now, Event::RepairFailed(fault)),
            _ => return,
        }
        self.take_changes(case, upsets, trace, now);
    }

    fn take_changes(&mut self, case: &Case, upsets: &mut Upsets, trace: Log, now: Time) {
        for change in self.changes.drain(..) {
            match change {
                Change::TaskStarted(task) => {
                    self.tasks.push(task);
                    upsets.faults.note(case, task, true, now);
                    log(trace, now, Event::TaskStarted(task));
                }
                Change::TaskEnded(task) => {
                    self.tasks.push(task);
                    upsets.faults.note(case, task, false, now);
                    upsets.responses.ended(case, task);
                    log(trace, now, Event::TaskEnded(task));
                }
                Change::TaskEnding(task) => self.sequences.end(task),
                Change::TaskWaits(task) => log(trace, now, Event::TaskWaits(task)),
                Change::TaskInterrupted(task) => log(trace, now, Event::TaskInterrupted(task)),
                Change::TaskResumed(task) => log(trace, now, Event::TaskResumed(task)),
                Change::TaskDropped(task) => log(trace, now, Event::TaskDropped(task)),
                Change::TaskRecalled(task) => log(trace, now, Event::TaskRecalled(task)),
                Change::Does {
                    person,
                    effort,
                    place,
                    suit,
                } => self.doing[person] = Some((effort, place, suit)),
                Change::Effect { task, effect } => self.waiting.push((task, effect)),
            }
        }
    }

    /// Whether what was worked out changes a value in the equations.
    pub fn changes_equations(&self, case: &Case, mode: &Mode, crew: &Crew, upsets: &Upsets, now: Time) -> bool {
        let turned = |d: usize| {
            let cycle = case.devices[d].cycle.as_ref();
            cycle.is_some_and(|cycle| cycle.factors[turn_at(cycle, now)] != cycle.factors[mode.turn[d]])
        };
        upsets.faults.changes_equations(case, mode, now)
            || (0..case.devices.len()).any(|d| mode.on[d] && turned(d) && takes_something(case, d))
            || self.transfer_ends
            || bed_turns_due(case, mode, now)
            || self.effects.iter().any(|&(_, effect)| match effect {
                Effect::SwitchOn(d) => !mode.on[d] && !mode.failed[d] && takes_something(case, d),
                Effect::SwitchOff(d) => mode.on[d] && takes_something(case, d),
                Effect::Open(o) => !mode.open[o] && !mode.stuck[o],
                Effect::Close(o) => mode.open[o] && !mode.stuck[o],
                Effect::Vent { .. } | Effect::Fill { .. } | Effect::Equalise { .. } => true,
                Effect::ChangeCanister(_) | Effect::Recharge(_) => true,
                // It changes what is judged.
                Effect::Mask { .. } => true,
                // People and faults are asked by themselves.
                Effect::Wear { .. } | Effect::Repair(_) | Effect::Recall { .. } | Effect::Ease { .. } => false,
            })
            || crew
                .people
                .iter()
                .enumerate()
                .any(|(person, doing)| match self.doing[person] {
                    Some((effort, place, suit)) => doing.changes_with(case, person, effort, place, suit),
                    None => doing.air != Place::Outside && doing.stage_ends <= now,
                })
    }

    /// Carries out what was worked out; whether gas moved at once, so that pieces of device laws must be looked up again.
    ///
    /// # Errors
    /// If a hatch is to be opened against a pressure, or people are in a vent without a suit.
    pub fn carry_out(&mut self, scene: &mut Scene, now: Time) -> Result<bool, RunError> {
        let mut moved = false;
        for (d, device) in scene.case.devices.iter().enumerate() {
            if let Some(cycle) = &device.cycle {
                scene.mode.turn[d] = turn_at(cycle, now);
            }
        }
        while let Some(place) = scene.due_transfer(now) {
            scene.complete(place, now);
            moved = true;
        }
        moved |= scene.turn_beds(now);
        for &(task, effect) in &self.effects {
            moved |= scene.carry_out(task, effect, &self.doing, now)?;
        }
        for (person, doing) in self.doing.iter().enumerate() {
            if let Some((effort, place, suit)) = *doing {
                moved |= scene.dress(person, place, suit, now);
                scene.crew.take_up(scene.case, person, effort, place, suit, now);
            }
        }
        scene.even_out();
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
            doing.changes_with(case, person, case.people[person].idle, doing.place, doing.suit)
        };
        if at < next && at > now && schedule.people(&case.plan, task).any(|person| changes(&person)) {
            next = at;
        }
    }
    for doing in &crew.people {
        if doing.air != Place::Outside {
            next = next.min(doing.stage_ends);
        }
    }
    for (d, device) in case.devices.iter().enumerate() {
        if let (Some(cycle), true) = (&device.cycle, mode.on[d] && takes_something(case, d)) {
            let turns = (1..=cycle.factors.len() as i64).map(|k| Time((now.0 / cycle.every.0 + k) * cycle.every.0));
            let changes = |&at: &Time| cycle.factors[turn_at(cycle, at)] != cycle.factors[mode.turn[d]];
            next = next.min(turns.into_iter().find(changes).unwrap_or(Time::NEVER));
        }
        if let (Some(every), true) = (half_cycle(device), mode.on[d]) {
            next = next.min(Time((now.0 / every.0 + 1) * every.0));
        }
    }
    next.min(next_transfer_end(mode, now))
}

/// When the next transfer ends whose end is known, after `now`.
pub(crate) fn next_transfer_end(mode: &Mode, now: Time) -> Time {
    let ends = mode.transfers.iter().filter_map(|transfer| transfer.until);
    ends.filter(|&until| until > now).min().unwrap_or(Time::NEVER)
}

/// Whether a device can take anything at all.
fn takes_something(case: &Case, d: usize) -> bool {
    let device = &case.devices[d];
    if matches!(device.removal, Removal::Sorbent { .. } | Removal::SwingBed(_)) {
        return true;
    }
    let temperature = case.compartments[device.serves].temperature_k;
    TAKEN.into_iter().any(|species| {
        (0..device.pieces(species)).any(|piece| {
            let line = device.line(species, piece, temperature, 1.0);
            line.conductance_mol_s_pa != 0.0 || line.offset_mol_s != 0.0
        })
    })
}

/// Whether a pair of beds turns at `now`.
fn bed_turns_due(case: &Case, mode: &Mode, now: Time) -> bool {
    case.devices.iter().enumerate().any(|(d, device)| {
        half_cycle(device).is_some_and(|every| mode.on[d] && (now.0 / every.0) as u64 != mode.beds_turn[d])
    })
}

/// The half-cycle of a pair of beds that turns.
pub(crate) fn half_cycle(device: &Device) -> Option<Time> {
    match &device.removal {
        Removal::SwingBed(bed) if !matches!(bed.valves, Valves::Stuck(_)) => Some(bed.half_cycle.max(Time(1))),
        _ => None,
    }
}

/// When the next turn of a cycle or of a pair of beds begins, after `now`.
pub(crate) fn next_turn(case: &Case, mode: &Mode, now: Time) -> Time {
    let mut next = Time::NEVER;
    for (device, &on) in case.devices.iter().zip(&mode.on) {
        if let (Some(cycle), true) = (&device.cycle, on) {
            next = next.min(Time((now.0 / cycle.every.0 + 1) * cycle.every.0));
        }
        if let (Some(every), true) = (half_cycle(device), on) {
            next = next.min(Time((now.0 / every.0 + 1) * every.0));
        }
    }
    next
}
