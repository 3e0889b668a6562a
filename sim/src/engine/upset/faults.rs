//! The faults of a run: which wait, act or are over, and what they make of the case.
//!
//! A fault is worked out in the phase *faults* of an instant: its onset, its coming and going, the end of its growth and its own
//! end are due times of the engine. What it does to the case is put there before anything else of the instant is carried out.

use libm::exp;

use crate::engine::mode::Mode;
use crate::engine::state::Stocks;
use crate::engine::{Case, FaultOutcome};
use crate::removal::Removal;
use crate::units::Time;
use crate::upset::{Broken, By, Change, Ends, Fault, Onset, SensorNumber, Shape, Target};

use super::broken::break_things;
use super::drift::{Drift, Growth};
use super::numbers::{number, set_number};

/// Time constants after which a decay has come to its end: what is left, 4e-18, is beneath rounding.
const DECAYED: f64 = 40.0;

/// How far a fault is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Phase {
    #[default]
    Waiting,
    Acting,
    Over,
}

/// One fault.
#[derive(Clone, Copy, Debug)]
struct State {
    phase: Phase,
    /// When it begins, if that is known.
    onset: Time,
    /// When it began.
    since: Time,
    /// An intermittent one is there now; any other is always.
    there: bool,
    /// Which of its spells runs, of those that go round.
    spell: usize,
    /// When it comes or goes next, or ends its growth.
    next: Time,
    /// How long the device has run whose time it counts, or how often it has turned.
    ran: Time,
    turned: u64,
    book: FaultOutcome,
}

/// A number that faults act on.
#[derive(Clone, Debug)]
struct Acted {
    target: Target,
    plain: f64,
    domain: [f64; 2],
    by: Vec<(usize, By)>,
    /// It was changing when it was last put in place.
    moving: bool,
}

/// All faults of a run.
#[derive(Clone, Debug, Default)]
pub(crate) struct Faults {
    states: Vec<State>,
    numbers: Vec<Acted>,
    /// Up to when operating time has been counted.
    at: Time,
    /// When turns were last counted.
    turned_at: Time,
    /// Something began, came, went or ended since the case was last brought up to date.
    changed: bool,
    /// Faults that have begun, and whose stocks have not been touched yet.
    begun: Vec<usize>,
}

/// What became of the case when faults were put in place.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Applied {
    /// A number or a mode changed.
    pub changed: bool,
    /// An exchange flow did.
    pub exchange: bool,
}

impl Faults {
    /// Nothing has happened yet.
    pub fn reset(&mut self, case: &Case) {
        self.states.clear();
        self.states.extend(case.faults.iter().map(|fault| State {
            phase: Phase::Waiting,
            onset: match fault.onset {
                Onset::At(at) => at,
                _ => Time::NEVER,
            },
            since: Time::NEVER,
            there: true,
            spell: 0,
            next: Time::NEVER,
            ran: Time::ZERO,
            turned: 0,
            book: FaultOutcome::default(),
        }));
        self.numbers.clear();
        for (index, fault) in case.faults.iter().enumerate() {
            for change in &fault.changes {
                let Change::Number { target, by, domain } = *change else {
                    continue;
                };
                let Some(plain) = number(case, target) else { continue };
                match self.numbers.iter_mut().find(|acted| acted.target == target) {
                    Some(acted) => acted.by.push((index, by)),
                    None => self.numbers.push(Acted {
                        target,
                        plain,
                        domain,
                        by: vec![(index, by)],
                        moving: false,
                    }),
                }
            }
        }
        self.at = Time::ZERO;
        self.turned_at = Time::ZERO;
        self.changed = false;
        self.begun.clear();
    }

    /// Lets time pass for what counts operating time and turns.
    pub fn advance(&mut self, case: &Case, mode: &Mode, now: Time) {
        let passed = now - self.at;
        self.at = now;
        for (state, fault) in self.states.iter_mut().zip(&case.faults) {
            if state.phase != Phase::Waiting {
                continue;
            }
            match fault.onset {
                Onset::Ran { device, .. } if mode.on[device] => state.ran = state.ran + passed,
                Onset::Turn { device, .. } if now > self.turned_at && mode.on[device] => {
                    let turns = turn_length(case, device).is_some_and(|every| now.0 % every.0 == 0);
                    state.turned += u64::from(turns);
                }
                _ => {}
            }
        }
        self.turned_at = now;
    }

    /// When something of itself is due next, after `now`.
    pub fn next_due(&self, case: &Case, mode: &Mode, now: Time) -> Time {
        let mut next = Time::NEVER;
        for (state, fault) in self.states.iter().zip(&case.faults) {
            match (state.phase, fault.onset) {
                (Phase::Waiting, Onset::Ran { device, time }) if mode.on[device] => {
                    next = next.min(now + (time - state.ran).max(Time(1)));
                }
                (Phase::Waiting, _) if state.onset > now => next = next.min(state.onset),
                (Phase::Acting, _) => {
                    if let Ends::After(length) = fault.ends {
                        next = next.min(state.since + length);
                    }
                    next = next.min(state.next);
                }
                _ => {}
            }
        }
        next
    }

    /// A task has started or ended.
    pub fn note(&mut self, case: &Case, of: usize, started: bool, now: Time) {
        for (state, fault) in self.states.iter_mut().zip(&case.faults) {
            if let Onset::Task { task, start, plus } = fault.onset
                && (task, start) == (of, started)
                && state.phase == Phase::Waiting
                && state.onset == Time::NEVER
            {
                state.onset = now + plus;
            }
        }
    }

    /// The phase *faults*: begins, turns and ends what is due by `now`, and says each beginning and end to `log` (fault, began).
    pub fn step(&mut self, case: &Case, now: Time, mut log: impl FnMut(usize, bool)) -> bool {
        let mut any = false;
        for (index, (state, fault)) in self.states.iter_mut().zip(&case.faults).enumerate() {
            if state.phase == Phase::Waiting && is_due(state, fault, now) {
                state.begin(fault, now);
                self.begun.push(index);
                log(index, true);
                any = true;
            }
            if state.phase != Phase::Acting {
                continue;
            }
            while state.next <= now {
                state.go_on(fault);
                any = true;
            }
            if matches!(fault.ends, Ends::After(length) if state.since + length <= now) {
                state.end(now, false);
                log(index, false);
                any = true;
            }
        }
        self.changed |= any;
        any
    }

    /// Whether a fault acts now.
    pub fn acts(&self, fault: usize) -> bool {
        self.states[fault].phase == Phase::Acting
    }

    /// A fault is repaired; whether there was anything to repair. One that has not begun yet will.
    pub fn repair(&mut self, fault: usize, now: Time) -> bool {
        let acts = self.acts(fault);
        if acts {
            self.states[fault].end(now, true);
            self.changed = true;
        }
        acts
    }

    /// A device has got a fresh canister: what that ends is over; said to `log`.
    pub fn freshen(&mut self, case: &Case, device: usize, now: Time, mut log: impl FnMut(usize)) {
        for (index, (state, fault)) in self.states.iter_mut().zip(&case.faults).enumerate() {
            if state.phase == Phase::Acting && fault.ends == Ends::Fresh(device) {
                state.end(now, false);
                self.changed = true;
                log(index);
            }
        }
    }

    /// Whether what happened changes a value in the equations.
    pub fn changes_equations(&self, case: &Case, mode: &Mode, now: Time) -> bool {
        if !self.changed {
            return false;
        }
        let number_changes = |acted: &Acted| {
            let drift = self.drift(case, acted, now);
            let in_equations = !matches!(acted.target, Target::Sensor { .. } | Target::TankAmount(_));
            in_equations && (acted.moving || drift.moves() || number(case, acted.target) != Some(drift.at(0.0)))
        };
        !self.begun.is_empty() && self.begun.iter().any(|&fault| takes_stock(&case.faults[fault]))
            || self.numbers.iter().any(number_changes)
            || self.broken(case) != mode.broken
    }

    /// Whether the case is to be brought up to date: something happened, or a number changes while time passes.
    pub fn is_due(&self) -> bool {
        self.changed || self.numbers.iter().any(|acted| acted.moving)
    }

    /// What is broken now, in the order of the file.
    fn broken(&self, case: &Case) -> Vec<Broken> {
        let acting = self.states.iter().zip(&case.faults);
        let there = acting.filter(|(state, _)| state.phase == Phase::Acting && state.there);
        let changes = there.flat_map(|(_, fault)| &fault.changes);
        let broken = changes.filter_map(|change| match change {
            Change::Broken(Broken::SensorStuck { .. } | Broken::SensorDead(_)) | Change::Number { .. } => None,
            Change::Broken(broken) => Some(*broken),
        });
        broken.collect()
    }

    /// A number from `now` on.
    fn drift(&self, case: &Case, acted: &Acted, now: Time) -> Drift {
        let part = |&(fault, by): &(usize, By)| {
            let growth = self.states[fault].growth(&case.faults[fault], now)?;
            Some((by, growth))
        };
        Drift {
            target: acted.target,
            plain: acted.plain,
            parts: acted.by.iter().filter_map(part).collect(),
            domain: acted.domain,
        }
    }

    /// Puts into the case and the mode what faults make of them at `now`.
    pub fn apply(&mut self, case: &mut Case, mode: &mut Mode, stocks: &mut Stocks, now: Time) -> Applied {
        let mut applied = Applied::default();
        mode.drifts.clear();
        for index in 0..self.numbers.len() {
            let acted = &self.numbers[index];
            if matches!(acted.target, Target::Sensor { .. } | Target::TankAmount(_)) {
                continue;
            }
            let drift = self.drift(case, acted, now);
            let (is, moves) = (drift.at(0.0), drift.moves());
            let target = acted.target;
            if number(case, target) != Some(is) || moves != acted.moving {
                set_number(case, target, is);
                applied.changed = true;
                applied.exchange |= matches!(target, Target::Exchange(_));
            }
            self.numbers[index].moving = moves;
            if moves {
                mode.drifts.push(drift);
            }
        }
        for fault in std::mem::take(&mut self.begun) {
            for change in &case.faults[fault].changes {
                if let Change::Number {
                    target: Target::TankAmount(tank),
                    by,
                    domain,
                } = *change
                {
                    let is = &mut stocks.tank_mol[tank];
                    *is = match by {
                        By::Factor(factor) => *is * factor,
                        By::Add(more) => *is + more,
                        By::To(value) => value,
                    }
                    .clamp(domain[0], domain[1]);
                    applied.changed = true;
                }
            }
        }
        let broken = self.broken(case);
        if broken != mode.broken {
            break_things(case, mode, &broken);
            applied.changed = true;
        }
        self.changed = false;
        applied
    }

    /// A number of a sensor at `now`, and what drifts add to its bias.
    pub fn of_sensor(&self, case: &Case, sensor: usize, which: SensorNumber, now: Time) -> f64 {
        let target = Target::Sensor { sensor, number: which };
        let plain = number(case, target).unwrap_or(0.0);
        let Some(acted) = self.numbers.iter().find(|acted| acted.target == target) else {
            return plain;
        };
        if which != SensorNumber::Drift {
            return self.drift(case, acted, now).at(0.0);
        }
        let walked = acted.by.iter().filter_map(|&(fault, by)| {
            let state = &self.states[fault];
            let growth = state.growth(&case.faults[fault], now)?;
            let By::Add(per_s) = by else { return None };
            Some(growth.at(0.0) * per_s * (now - state.since).seconds())
        });
        walked.sum()
    }

    /// What is broken about a sensor: the last of the file that acts on it.
    pub fn broken_sensor(&self, case: &Case, sensor: usize) -> Option<Broken> {
        let acting = self.states.iter().zip(&case.faults);
        let there = acting.filter(|(state, _)| state.phase == Phase::Acting && state.there);
        let mut found = None;
        for change in there.flat_map(|(_, fault)| &fault.changes) {
            match change {
                Change::Broken(broken @ Broken::SensorDead(own)) if *own == sensor => return Some(*broken),
                Change::Broken(broken @ Broken::SensorStuck { sensor: own, .. }) if *own == sensor => {
                    found = Some(*broken);
                }
                _ => {}
            }
        }
        found
    }

    /// Whether any fault acts on a sensor now.
    pub fn act_on_sensor(&self, case: &Case, sensor: usize) -> bool {
        let of_it = |change: &Change| match change {
            Change::Number { target, .. } => matches!(target, Target::Sensor { sensor: own, .. } if *own == sensor),
            Change::Broken(Broken::SensorStuck { sensor: own, .. } | Broken::SensorDead(own)) => *own == sensor,
            Change::Broken(_) => false,
        };
        let mut acting = self.states.iter().zip(&case.faults);
        acting.any(|(state, fault)| state.phase == Phase::Acting && fault.changes.iter().any(of_it))
    }

    /// What became of each.
    pub fn finish(&self, out: &mut Vec<FaultOutcome>) {
        out.clear();
        out.extend(self.states.iter().map(|state| state.book));
    }
}

impl State {
    fn begin(&mut self, fault: &Fault, now: Time) {
        (self.phase, self.since, self.there, self.spell) = (Phase::Acting, now, true, 0);
        self.book.began = Some(now);
        self.next = match &fault.shape {
            Shape::Step => Time::NEVER,
            Shape::Ramp(over) => now + *over,
            Shape::Decay(tau_s) => now + Time::from_seconds(DECAYED * tau_s),
            Shape::Intermittent(spells) => now + spells[0][0].max(Time(1)),
        };
    }

    /// An intermittent fault comes or goes; another has ended its growth.
    fn go_on(&mut self, fault: &Fault) {
        let Shape::Intermittent(spells) = &fault.shape else {
            self.next = Time::NEVER;
            return;
        };
        if !self.there {
            self.spell = (self.spell + 1) % spells.len();
        }
        self.there = !self.there;
        let lasts = spells[self.spell][usize::from(!self.there)];
        self.next = self.next + lasts.max(Time(1));
    }

    fn end(&mut self, now: Time, repaired: bool) {
        (self.phase, self.next) = (Phase::Over, Time::NEVER);
        (self.book.ended, self.book.repaired) = (Some(now), repaired);
    }

    /// Its part from `now` on; none while it does not act.
    fn growth(&self, fault: &Fault, now: Time) -> Option<Growth> {
        if self.phase != Phase::Acting || !self.there {
            return None;
        }
        let passed = (now - self.since).seconds();
        let growing = self.next > now && self.next < Time::NEVER;
        Some(match fault.shape {
            Shape::Ramp(over) if growing => Growth::Linear {
                now: passed / over.seconds(),
                per_s: 1.0 / over.seconds(),
            },
            Shape::Decay(tau_s) if growing => Growth::Fading {
                left: exp(-passed / tau_s),
                rate: 1.0 / tau_s,
            },
            _ => Growth::Fixed(1.0),
        })
    }
}

fn is_due(state: &State, fault: &Fault, now: Time) -> bool {
    match fault.onset {
        Onset::Never => false,
        Onset::At(_) | Onset::Task { .. } => state.onset <= now,
        Onset::Ran { time, .. } => state.ran >= time,
        Onset::Turn { turn, .. } => state.turned >= turn,
    }
}

fn takes_stock(fault: &Fault) -> bool {
    let of_stock = |change: &Change| {
        matches!(
            change,
            Change::Number {
                target: Target::TankAmount(_),
                ..
            }
        )
    };
    fault.changes.iter().any(of_stock)
}

/// From turn to turn of a device.
fn turn_length(case: &Case, device: usize) -> Option<Time> {
    let device = &case.devices[device];
    match (&device.removal, &device.cycle) {
        (Removal::SwingBed(bed), _) => Some(bed.half_cycle.max(Time(1))),
        (_, Some(cycle)) => Some(cycle.every),
        _ => None,
    }
}
