//! The loop: steps, events in time, instants.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{Case, TransferKind};
use breathroom_sim::removal::{Removal, Valves};
use breathroom_sim::timeline::{Effect, Pace, SuitUse};
use breathroom_sim::units::Time;

use crate::collocation::{self, Fit};

use super::clock::Clock;
use super::guards::{Guard, Stop, govern, guards, place, rooms_of, settle, turn, watched};
use super::instant::{empty, equalise, jump_suits, mix, top_up};
use super::laws::MASS;
use super::mode::{Active, How, Mode, What};
use super::plant::Plant;
use super::rates::rates;

/// Points at which a step is searched for the end of its mode.
const SCAN: usize = 32;
/// A ramp to a vacuum is cut at this part of its start: there the fractions lose their meaning.
const NOTHING: f64 = 1e-8;
/// A vent to a vacuum through an orifice ends below this, Pa.
const VENTED: f64 = 100.0;

/// Why the reference could not go on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Failure {
    /// An opening was to be opened against a pressure.
    Hatch {
        /// Index of the opening.
        opening: usize,
        /// When.
        at: Time,
    },
    /// A compartment was to be vented with someone in it without a pressurised suit.
    Unsuited {
        /// Index of the compartment.
        compartment: usize,
        /// When.
        at: Time,
    },
}

/// A vent, a fill or an equalisation.
#[derive(Clone, Copy, Debug)]
pub struct Moved {
    /// What.
    pub kind: TransferKind,
    /// Compartment, or opening.
    pub subject: usize,
    /// When it began.
    pub began: Time,
    /// When it ended.
    pub ended: Option<Time>,
    /// Pressure or difference at its beginning, Pa.
    pub from_pa: f64,
    /// At its end.
    pub to_pa: f64,
    /// A tank ran dry.
    pub short: bool,
    /// Amounts, mol.
    pub mol: [f64; 4],
}

/// What became of a device, in mol and J.
#[derive(Clone, Copy, Debug, Default)]
pub struct Worked {
    /// CO2 and water taken.
    pub taken: [f64; 2],
    /// CO2 and water held at the end.
    pub held: [f64; 2],
    /// Heat to the air.
    pub heat_j: f64,
    /// Canisters changed.
    pub spent: u32,
    /// Turns of its beds.
    pub turns: u32,
    /// Gas lost at its turns.
    pub lost: [f64; 4],
}

/// What became of a tank, in mol.
#[derive(Clone, Copy, Debug, Default)]
pub struct Drawn {
    /// Taken out, less what came back.
    pub used: f64,
    /// When it ran dry.
    pub dry_at: Option<Time>,
    /// When it went below its reserve.
    pub reserve_at: Option<Time>,
}

/// Gas of one compartment.
#[derive(Clone, Copy, Debug)]
pub struct Gas {
    /// Partial pressures, Pa.
    pub partial_pa: [f64; 4],
    /// Air and wall temperature, K.
    pub temperature_k: [f64; 2],
    /// Liquid on surfaces and in towels, mol.
    pub liquid: f64,
}

/// Sums over the run, by species, mol.
#[derive(Clone, Copy, Debug, Default)]
pub struct Books {
    /// Net given off by people and towels.
    pub made: [f64; 4],
    /// Let in by holds, fills, and into suits.
    pub supplied: [[f64; 4]; 3],
    /// Vented, leaked, relieved, lost at turns.
    pub lost: [[f64; 4]; 4],
    /// Net condensation.
    pub condensed: f64,
}

/// The solution of a case.
#[derive(Debug)]
pub struct Solution {
    /// How it ended.
    pub stop: Stop,
    /// When, s.
    pub end_s: f64,
    /// Each compartment at the end.
    pub end: Vec<Gas>,
    /// The same at the start.
    pub start: Vec<Gas>,
    /// States asked for, by time.
    pub seen: Vec<(f64, Vec<Gas>)>,
    /// Devices.
    pub devices: Vec<Worked>,
    /// Tanks.
    pub tanks: Vec<Drawn>,
    /// Oxygen let into each suit, mol.
    pub suits: Vec<f64>,
    /// Transfers in order of their start.
    pub transfers: Vec<Moved>,
    /// Sums.
    pub books: Books,
    /// Ends of modes that were found in time.
    pub switches: usize,
}

type List = Vec<(Guard, f64, f64)>;

/// What ended a stretch.
enum Ended {
    Reached,
    /// Something for an instant came about.
    Event,
    Stop(Stop),
}

struct Run<'a> {
    plant: Plant<'a>,
    mode: Mode,
    clock: Clock,
    x: Vec<f64>,
    t: f64,
    guess: f64,
    transfers: Vec<Moved>,
    devices: Vec<Worked>,
    stock: Vec<u32>,
    tanks: Vec<Drawn>,
    switches: usize,
    looks: Vec<f64>,
    seen: Vec<(f64, Vec<Gas>)>,
}

/// Integrates a case.
///
/// # Errors
/// If a hatch is to be opened against a pressure, or someone would be vented without a suit.
///
/// # Panics
/// If tasks contend, or it cannot find a consistent mode: such a case is not one for the reference.
pub fn integrate(case: &Case) -> Result<Solution, Failure> {
    watch(case, &[])
}

/// Integrates a case and tells the gas at some times (s, rising; not those of events).
///
/// # Errors
/// As [`integrate`].
pub fn watch(case: &Case, looks_s: &[f64]) -> Result<Solution, Failure> {
    let plant = Plant::new(case);
    let mode = Mode::new(&plant);
    let mut run = Run {
        x: plant.start(),
        mode,
        clock: Clock::new(case),
        t: 0.0,
        guess: 1.0,
        transfers: Vec::new(),
        devices: vec![Worked::default(); case.devices.len()],
        stock: case
            .devices
            .iter()
            .map(|d| match d.removal {
                Removal::Sorbent { canisters, .. } => canisters,
                _ => 0,
            })
            .collect(),
        tanks: vec![Drawn::default(); case.tanks.len()],
        switches: 0,
        looks: looks_s.iter().rev().copied().collect(),
        seen: Vec::new(),
        plant,
    };
    let start = run.gas(&run.x);
    let mut now = Time::ZERO;
    let mut stop = Stop::Completed;
    run.instant(now, true)?;
    loop {
        let until = run.next(now).min(case.duration);
        match run.advance(until.seconds()) {
            Ended::Reached => now = until,
            Ended::Event => now = Time::from_seconds_up(run.t - 1e-10).max(now),
            Ended::Stop(early) => {
                stop = early;
                break;
            }
        }
        if now >= case.duration {
            break;
        }
        run.t = now.seconds();
        run.instant(now, false)?;
    }
    Ok(run.told(stop, start))
}

impl Run<'_> {
    fn gas(&self, x: &[f64]) -> Vec<Gas> {
        let plant = &self.plant;
        (0..plant.rooms)
            .map(|a| Gas {
                partial_pa: std::array::from_fn(|s| plant.partial(x, a, s)),
                temperature_k: [x[plant.air + a], x[plant.wall + a]],
                liquid: x[plant.towel + a]
                    + (0..plant.surfaces.len())
                        .filter(|&k| plant.surfaces[k].0 == a)
                        .map(|k| x[plant.liquid + k])
                        .sum::<f64>(),
            })
            .collect()
    }

    /// When something is due of itself, after `now`.
    fn next(&self, now: Time) -> Time {
        let case = self.plant.case;
        let mut next = self.clock.next(case, now);
        for device in &case.devices {
            let every = [
                device.cycle.as_ref().map(|c| c.every),
                match &device.removal {
                    Removal::SwingBed(bed) => Some(bed.half_cycle),
                    _ => None,
                },
            ];
            for every in every.into_iter().flatten() {
                next = next.min(Time((now.0 / every.0 + 1) * every.0));
            }
        }
        for transfer in &self.mode.transfers {
            if let How::Ramp { until, .. } | How::Wait { until } = transfer.how {
                next = next.min(until);
            }
        }
        next
    }

    /// Everything that happens at one instant.
    fn instant(&mut self, now: Time, first: bool) -> Result<(), Failure> {
        if first {
            self.mode.rewire(&self.plant);
            equalise(&self.plant, &self.mode, &mut self.x);
        }
        self.turns(now);
        for k in (0..self.mode.transfers.len()).rev() {
            if matches!(self.mode.transfers[k].how, How::Ramp { until, .. } | How::Wait { until } if until <= now) {
                self.end_transfer(k, now, false);
            }
        }
        loop {
            let case = self.plant.case;
            let mut work = self.clock.ends(case, now);
            work |= self.effects(now)?;
            work |= self.clock.starts(case, now);
            if !work {
                break;
            }
        }
        self.people(now, first);
        self.at_once(now);
        place(&self.plant, &mut self.mode, &self.x);
        settle(&self.plant, &mut self.mode, &mut self.x);
        Ok(())
    }

    /// Turns of beds and cycles.
    fn turns(&mut self, now: Time) {
        let plant = &self.plant;
        for (k, device) in plant.case.devices.iter().enumerate() {
            if let Some(cycle) = &device.cycle {
                self.mode.factor[k] = cycle.factors[(now.0 / cycle.every.0) as usize % cycle.factors.len()];
            }
            let Removal::SwingBed(bed) = &device.removal else {
                continue;
            };
            self.mode.bed[k] = (now.0 / bed.half_cycle.0) as usize % 2;
            let turns = now > Time::ZERO && now.0 % bed.half_cycle.0 == 0;
            let stuck = matches!(bed.valves, Valves::Stuck(_));
            if !turns || stuck || !self.mode.on[k] || plant.inert(&self.mode, device.serves) {
                continue;
            }
            self.devices[k].turns += 1;
            let a = device.serves;
            for s in 0..4 {
                let lost = bed.lost_m3 / plant.case.compartments[a].volume_m3 * self.x[4 * a + s];
                self.x[4 * a + s] -= lost;
                self.x[plant.turned + s] += lost;
                self.devices[k].lost[s] += lost;
            }
        }
    }

    /// The phase of hatches and devices. Whether anything was carried out.
    fn effects(&mut self, now: Time) -> Result<bool, Failure> {
        let mut any = false;
        self.clock.runners.sort_by_key(|r| (r.task, r.of_end));
        for r in 0..self.clock.runners.len() {
            loop {
                let runner = self.clock.runners[r];
                let list = runner.list(self.plant.case);
                let Some(&effect) = list.get(runner.next) else { break };
                if runner.waits_for.is_some() {
                    break;
                }
                any = true;
                self.clock.runners[r].next += 1;
                self.clock.runners[r].waits_for = self.effect(effect, now)?;
            }
        }
        let case = self.plant.case;
        let before = self.clock.runners.len();
        self.clock
            .runners
            .retain(|r| r.waits_for.is_some() || r.next < r.list(case).len());
        Ok(any || self.clock.runners.len() < before)
    }

    /// Carries an effect out, or begins it: then its transfer.
    fn effect(&mut self, effect: Effect, now: Time) -> Result<Option<usize>, Failure> {
        let case = self.plant.case;
        match effect {
            Effect::Open(o) => self.open(o, now)?,
            Effect::Close(o) => {
                self.mode.open[o] = false;
                self.mode.rewire(&self.plant);
            }
            Effect::SwitchOn(k) => self.mode.on[k] = true,
            Effect::SwitchOff(k) => self.mode.on[k] = false,
            Effect::ChangeCanister(k) => {
                if self.stock[k] > 0 {
                    self.stock[k] -= 1;
                    self.devices[k].spent += 1;
                    self.x[self.plant.store + 4 * k] = 0.0;
                }
            }
            Effect::Recharge(s) => {
                if let (Some(own), Some(supply)) = (case.suits[s].tank, case.suits[s].supply) {
                    let most = (self.plant.left(&self.x, supply) - case.tanks[supply].residue_mol).max(0.0);
                    let mol = self.x[self.plant.tank + own].min(most);
                    self.x[self.plant.tank + own] -= mol;
                    self.x[self.plant.tank + supply] += mol;
                    self.mode.dry[own] &= mol <= 0.0;
                }
            }
            Effect::Vent { .. } | Effect::Fill { .. } | Effect::Equalise { .. } => return self.begin(effect, now),
        }
        Ok(None)
    }

    fn open(&mut self, o: usize, now: Time) -> Result<(), Failure> {
        if self.mode.open[o] {
            return Ok(());
        }
        let opening = &self.plant.case.openings[o];
        let [one, other] = opening.between.map(|place| self.plant.total_at(&self.x, place));
        if (one - other).abs() > opening.opens_within_pa {
            return Err(Failure::Hatch { opening: o, at: now });
        }
        self.mode.open[o] = true;
        self.mode.rewire(&self.plant);
        empty(&self.plant, &mut self.mode, &mut self.x);
        equalise(&self.plant, &self.mode, &mut self.x);
        Ok(())
    }

    /// Begins a transfer; its number if it takes time.
    fn begin(&mut self, effect: Effect, now: Time) -> Result<Option<usize>, Failure> {
        let (what, kind, subject, to_pa, pace) = match effect {
            Effect::Vent {
                compartment: room,
                to_pa,
                pace,
            } => (What::Vent { room }, TransferKind::Vent, room, to_pa, pace),
            Effect::Fill {
                compartment: room,
                to_pa,
                pace,
                oxygen,
                oxygen_from,
                diluent_from,
            } => {
                let parts = [(2, oxygen, oxygen_from), (3, 1.0 - oxygen, diluent_from)];
                (What::Fill { room, parts }, TransferKind::Fill, room, to_pa, pace)
            }
            Effect::Equalise { opening, pace } => {
                let between = self.plant.case.openings[opening].between;
                (What::Equalise { between }, TransferKind::Equalise, opening, 0.0, pace)
            }
            _ => panic!("{effect:?} takes no time"),
        };
        match what {
            What::Vent { room } => {
                let members = self.mode.members(room);
                for (p, stint) in self.clock.stints.iter().enumerate() {
                    let inside = matches!(stint.place, Place::Compartment(b) if members.contains(&b));
                    let suited = self.plant.case.suits.iter().any(|s| s.wearer == p);
                    if inside && !(suited && stint.suit == SuitUse::Pressurised) {
                        return Err(Failure::Unsuited {
                            compartment: room,
                            at: now,
                        });
                    }
                }
                members.into_iter().for_each(|b| self.mode.resting[b] = true);
            }
            What::Fill { .. } | What::Equalise { .. } => {
                for b in self.sides(&what) {
                    self.mode.vacuum[b] = false;
                }
            }
        }
        let from_pa = watched(&self.plant, &what, &self.x);
        let slot = self.transfers.len();
        self.transfers.push(Moved {
            kind,
            subject,
            began: now,
            ended: None,
            from_pa,
            to_pa: f64::NAN,
            short: false,
            mol: [0.0; 4],
        });
        let falls = from_pa > to_pa;
        let empties = kind == TransferKind::Vent && to_pa <= 0.0;
        let (how, until_pa) = match pace {
            Pace::Over(long) => {
                let how = How::Ramp {
                    rate_pa_s: (to_pa - from_pa) / long.seconds(),
                    until: now + long,
                };
                (how, empties.then_some((NOTHING * from_pa, true)))
            }
            Pace::Through(area_m2) => {
                let ends = match kind {
                    TransferKind::Equalise => 0.1 * self.plant.case.openings[subject].opens_within_pa,
                    _ if empties => VENTED,
                    _ => to_pa,
                };
                let ends = if falls { ends } else { -ends };
                (How::Hole { area_m2 }, Some((ends, falls)))
            }
            Pace::At(mol_s) => (How::Flow { mol_s }, Some((to_pa, false))),
        };
        self.mode.transfers.push(Active {
            slot,
            what,
            how,
            until_pa,
            empties,
        });
        let k = self.mode.transfers.len() - 1;
        let there = match kind {
            TransferKind::Vent => from_pa <= to_pa,
            TransferKind::Fill => from_pa >= to_pa,
            TransferKind::Equalise => from_pa.abs() <= 0.0,
        } || (matches!(how, How::Hole { .. }) && until_pa.is_some_and(|(p, f)| (from_pa <= p) == f));
        if there || self.lacks_gas(&what) {
            self.end_transfer(k, now, !there);
            return Ok(None);
        }
        Ok(Some(slot))
    }

    /// The compartments that a transfer is about, with those that are joined to them.
    fn sides(&self, what: &What) -> Vec<usize> {
        match *what {
            What::Vent { room } | What::Fill { room, .. } => self.mode.members(room),
            What::Equalise { between } => rooms_of(between).flat_map(|a| self.mode.members(a)).collect(),
        }
    }

    /// Whether a fill has nothing to be filled from.
    fn lacks_gas(&self, what: &What) -> bool {
        let What::Fill { parts, .. } = what else { return false };
        parts
            .iter()
            .any(|&(_, part, tank)| part > 0.0 && tank.is_some_and(|t| self.mode.dry[t]))
    }

    fn end_transfer(&mut self, k: usize, now: Time, short: bool) {
        let transfer = self.mode.transfers.remove(k);
        let slot = transfer.slot;
        if let (What::Vent { room }, true) = (transfer.what, transfer.empties) {
            self.let_go(room, slot);
        }
        let moved = &mut self.transfers[slot];
        moved.ended = Some(now);
        moved.short = short;
        moved.to_pa = watched(&self.plant, &transfer.what, &self.x);
        if !matches!(transfer.what, What::Vent { .. }) {
            for b in self.sides(&transfer.what) {
                self.mode.resting[b] = false;
            }
        }
        for runner in &mut self.clock.runners {
            if runner.waits_for == Some(slot) {
                runner.waits_for = None;
            }
        }
    }

    /// What is left in a compartment and those joined to it leaves at once, and it stays open to the vacuum.
    fn let_go(&mut self, room: usize, slot: usize) {
        for b in self.mode.members(room) {
            self.mode.vacuum[b] = true;
            for s in 0..4 {
                self.x[self.plant.transfer + 4 * slot + s] += self.x[4 * b + s];
            }
        }
        empty(&self.plant, &mut self.mode, &mut self.x);
    }

    /// People take up what the last change of the instant gave them.
    fn people(&mut self, now: Time, first: bool) {
        let case = self.plant.case;
        for p in 0..case.people.len() {
            let stint = self.clock.stints[p];
            let was = self.mode.people[p].suit;
            let doing = &mut self.mode.people[p];
            (doing.place, doing.suit) = (stint.place, stint.suit);
            let (stage, _) = self.clock.stage(case, p, now);
            let profile = &case.people[p].profiles[stint.effort];
            let load = profile.stages[stage].load;
            doing.load = load;
            doing.sweat_lag = profile.sweat_lag;
            doing.towel = profile.towel;
            let at = self.plant.person + 4 * p;
            if first {
                self.x[at] = load.oxygen_mol_s;
                self.x[at + 1] = load.co2_mol_s;
            }
            if first || !profile.sweat_lag {
                self.x[at + 2..at + 4].fill(load.vapour_mol_s);
            }
            if let (Some(suit), Place::Compartment(a)) = (case.suits.iter().find(|s| s.wearer == p), stint.place)
                && (was == SuitUse::Off) != (stint.suit == SuitUse::Off)
                && !self.mode.vacuum[a]
            {
                mix(&self.plant, &mut self.x, suit.compartment, a);
            }
        }
    }

    /// Lets gas come to where it must be at once.
    fn at_once(&mut self, now: Time) {
        self.mode.rewire(&self.plant);
        for _ in 0..5000 {
            let mut any = empty(&self.plant, &mut self.mode, &mut self.x);
            any |= equalise(&self.plant, &self.mode, &mut self.x);
            any |= jump_suits(&self.plant, &self.mode, &mut self.x);
            self.run_dry(now);
            govern(&self.plant, &mut self.mode);
            any |= top_up(&self.plant, &self.mode, &mut self.x);
            self.run_dry(now);
            govern(&self.plant, &mut self.mode);
            if !any {
                return;
            }
        }
        panic!("the reference could not let gas come to rest");
    }

    /// Marks tanks that have just run dry, and ends fills that draw on them.
    fn run_dry(&mut self, now: Time) {
        for t in 0..self.tanks.len() {
            let tank = &self.plant.case.tanks[t];
            let left = self.plant.left(&self.x, t);
            if left <= tank.residue_mol + 1e-12 && !self.mode.dry[t] {
                self.mode.dry[t] = true;
                self.tanks[t].dry_at.get_or_insert(now);
            }
            if left < tank.reserve_mol - 1e-12 && !self.mode.reserve[t] {
                self.mode.reserve[t] = true;
                self.tanks[t].reserve_at.get_or_insert(now);
            }
        }
        for k in (0..self.mode.transfers.len()).rev() {
            if self.lacks_gas(&self.mode.transfers[k].what) {
                self.end_transfer(k, now, true);
            }
        }
    }

    /// The size against which each state's error is measured.
    fn scale(&self) -> Vec<f64> {
        let (plant, x) = (&self.plant, &self.x);
        let mut scale: Vec<f64> = x.iter().map(|v| v.abs().max(1.0)).collect();
        for a in 0..plant.rooms {
            for s in 0..4 {
                scale[4 * a + s] = x[4 * a + s].abs().max(1e-3 * plant.amount(x, a)).max(1e-6);
            }
        }
        scale[plant.person..plant.store].fill(1e-3);
        scale
    }

    /// Goes on to `until`, through the ends of modes.
    fn advance(&mut self, until: f64) -> Ended {
        let mut at_once = 0;
        let mut list = Vec::new();
        while until - self.t > 1e-9 {
            let left = until - self.t;
            let scale = self.scale();
            let (plant, mode) = (&self.plant, &self.mode);
            let f = |x: &[f64], d: &mut [f64]| {
                rates(plant, mode, x, d);
            };
            let (fit, next) = collocation::step(&f, &self.x, plant.core, &scale, self.guess, left);
            self.guess = next.max(1e-6);
            let cut = self.search(&fit, &mut list);
            let valid = cut.map_or(fit.length_s, |c| c.1);
            self.look(&fit, valid);
            fit.all(valid, &mut self.x);
            self.t = if cut.is_none() && left - fit.length_s < 1e-9 {
                until
            } else {
                self.t + valid
            };
            at_once = if valid > 1e-9 { 0 } else { at_once + 1 };
            let (valve, t) = (&self.mode.valve, self.t);
            assert!(at_once < 200, "modes do not settle at {t} s: {cut:?}, {valve:?}");
            if let Some((guard, _)) = cut {
                self.switches += 1;
                if let Some(ended) = self.leave(guard) {
                    return ended;
                }
            }
        }
        self.t = until;
        Ended::Reached
    }

    fn look(&mut self, fit: &Fit, valid: f64) {
        while let Some(&at) = self.looks.last() {
            if at > self.t + valid {
                break;
            }
            let mut x = self.x.clone();
            fit.all(at - self.t, &mut x);
            self.seen.push((at, self.gas(&x)));
            self.looks.pop();
        }
    }

    /// The first condition that fails within a step, and when (seconds into it).
    fn search(&self, fit: &Fit, list: &mut List) -> Option<(Guard, f64)> {
        let (plant, mode) = (&self.plant, &self.mode);
        let mut x = vec![0.0; plant.len];
        let mut d = vec![0.0; plant.len];
        let mut look = |t: f64, list: &mut List| {
            fit.all(t, &mut x);
            let solved = rates(plant, mode, &x, &mut d);
            guards(plant, mode, &x, &solved, list);
        };
        let mut rows: Vec<(f64, List)> = Vec::with_capacity(SCAN + 1);
        for i in 0..=SCAN {
            // Closer together near the start, where a mode that was just entered may be left again.
            let u = i as f64 / SCAN as f64;
            let t = fit.length_s * (0.3 * u * u + 0.7 * u);
            look(t, list);
            rows.push((t, list.clone()));
        }
        let mut first: Option<(Guard, f64)> = None;
        for g in 0..rows[0].1.len() {
            let value = |i: usize| rows[i].1[g].1;
            let fails = |i: usize| value(i) < -rows[i].1[g].2;
            let Some(bad) = (0..=SCAN).find(|&i| fails(i)) else {
                continue;
            };
            // Where it passes zero; if it has been a little below from the start, where it passes what is rounding.
            let (good, bound) = match (0..bad).rev().find(|&i| value(i) >= 0.0) {
                Some(good) => (good, 0.0),
                None => (0, -rows[0].1[g].2),
            };
            let (mut low, mut high) = (rows[good].0, rows[bad].0);
            for _ in 0..100 {
                let middle = 0.5 * (low + high);
                look(middle, list);
                if list[g].1 >= bound {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            let at = high;
            if first.is_none_or(|f| at < f.1) {
                first = Some((rows[0].1[g].0, at));
            }
        }
        first
    }

    /// Leaves the mode through a condition that failed.
    fn leave(&mut self, guard: Guard) -> Option<Ended> {
        let now = Time::from_seconds_up(self.t - 1e-10);
        match guard {
            Guard::Floor(p) => {
                let a = self.plant.breathes(&self.mode, p).unwrap_or(usize::MAX);
                return Some(Ended::Stop(Stop::OxygenFloor(a, p)));
            }
            Guard::Empty(a, s) => return Some(Ended::Stop(Stop::Exhausted(a, s))),
            Guard::Ramp(k) => panic!("transfer {k} would have to run backward: not for the reference"),
            Guard::Reserve(t) => {
                self.mode.reserve[t] = true;
                self.tanks[t].reserve_at = Some(now);
            }
            Guard::Tank(t) => {
                self.mode.dry[t] = true;
                self.tanks[t].dry_at.get_or_insert(now);
                self.run_dry(now);
                return Some(Ended::Event);
            }
            Guard::Transfer(k) => {
                let transfer = self.mode.transfers[k];
                if let (What::Vent { room }, How::Ramp { until, .. }) = (transfer.what, transfer.how) {
                    // All but nothing has left: the rest of the ramp is spent in a vacuum.
                    self.let_go(room, transfer.slot);
                    self.mode.transfers[k].how = How::Wait { until };
                    self.mode.transfers[k].until_pa = Some((f64::NEG_INFINITY, true));
                } else {
                    self.end_transfer(k, now, false);
                }
                return Some(Ended::Event);
            }
            Guard::Source(_) => return Some(Ended::Event),
            other => {
                turn(&self.plant, &mut self.mode, &mut self.x, other);
                settle(&self.plant, &mut self.mode, &mut self.x);
            }
        }
        None
    }

    fn told(mut self, stop: Stop, start: Vec<Gas>) -> Solution {
        let (plant, x) = (&self.plant, &self.x);
        let four = |at: usize| std::array::from_fn(|s| x[at + s]);
        for (slot, moved) in self.transfers.iter_mut().enumerate() {
            moved.mol = four(plant.transfer + 4 * slot);
        }
        for (k, worked) in self.devices.iter_mut().enumerate() {
            let at = plant.device + 3 * k;
            let store = plant.store + 4 * k;
            worked.taken = [x[at], x[at + 1]];
            worked.heat_j = x[at + 2];
            worked.held = match &plant.case.devices[k].removal {
                Removal::SwingBed(bed) => [
                    bed.bed_kg * (x[store] + x[store + 1]),
                    bed.bed_kg * (x[store + 2] + x[store + 3]),
                ],
                _ => [x[store], 0.0],
            };
        }
        for (t, drawn) in self.tanks.iter_mut().enumerate() {
            drawn.used = x[plant.tank + t];
        }
        let books = Books {
            made: four(plant.made),
            supplied: [four(plant.supplied), four(plant.filled), four(plant.to_suits)],
            lost: [
                four(plant.vented),
                four(plant.leaked),
                four(plant.relieved),
                four(plant.turned),
            ],
            condensed: x[plant.condensed],
        };
        Solution {
            stop,
            end_s: self.t,
            end: self.gas(x),
            start,
            seen: std::mem::take(&mut self.seen),
            suits: (0..plant.case.suits.len()).map(|s| x[plant.suit + s]).collect(),
            devices: self.devices,
            tanks: self.tanks,
            transfers: self.transfers,
            books,
            switches: self.switches,
        }
    }
}

/// Masses of amounts, kg.
#[must_use]
pub fn kg(mol: [f64; 4]) -> [f64; 4] {
    std::array::from_fn(|s| mol[s] * MASS[s])
}
