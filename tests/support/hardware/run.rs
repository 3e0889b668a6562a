//! The loop, and what happens at one instant.

use breathroom_sim::air::Place;
use breathroom_sim::engine::Case;
use breathroom_sim::removal::{Removal, Valves};
use breathroom_sim::timeline::{Effect, SuitUse};
use breathroom_sim::units::Time;

use super::clock::Clock;
use super::guards::{Stop, govern, place, settle};
use super::instant::{empty, equalise, jump_suits, mix, top_up};
use super::mode::{How, Mode};
use super::plant::Plant;
use super::steps::Ended;
use super::told::{Drawn, Failure, Gas, Moved, Solution, Worked};

/// A run under way.
pub struct Run<'a> {
    pub(super) plant: Plant<'a>,
    pub(super) mode: Mode,
    pub(super) clock: Clock,
    pub(super) x: Vec<f64>,
    pub(super) t: f64,
    pub(super) guess: f64,
    pub(super) transfers: Vec<Moved>,
    pub(super) devices: Vec<Worked>,
    pub(super) stock: Vec<u32>,
    pub(super) tanks: Vec<Drawn>,
    pub(super) switches: usize,
    pub(super) looks: Vec<f64>,
    pub(super) seen: Vec<(f64, Vec<Gas>)>,
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
    /// When something is due of itself, after `now`.
    pub(super) fn next(&self, now: Time) -> Time {
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
    pub(super) fn instant(&mut self, now: Time, first: bool) -> Result<(), Failure> {
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
        self.aim(now);
        place(&self.plant, &mut self.mode, &self.x);
        settle(&self.plant, &mut self.mode, &mut self.x);
        Ok(())
    }

    /// Turns of beds and cycles.
    pub(super) fn turns(&mut self, now: Time) {
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
    pub(super) fn effects(&mut self, now: Time) -> Result<bool, Failure> {
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
    pub(super) fn effect(&mut self, effect: Effect, now: Time) -> Result<Option<usize>, Failure> {
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
            // This reference knows no faults and no responses.
            Effect::Recall { .. }
            | Effect::Wear { .. }
            | Effect::Mask { .. }
            | Effect::Ease { .. }
            | Effect::Repair(_) => {
                unreachable!("{effect:?} is not in this reference")
            }
        }
        Ok(None)
    }

    pub(super) fn open(&mut self, o: usize, now: Time) -> Result<(), Failure> {
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

    /// People take up what the last change of the instant gave them.
    pub(super) fn people(&mut self, now: Time, first: bool) {
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
    pub(super) fn at_once(&mut self, now: Time) {
        self.mode.rewire(&self.plant);
        for _ in 0..5000 {
            let mut any = empty(&self.plant, &mut self.mode, &mut self.x);
            any |= equalise(&self.plant, &self.mode, &mut self.x);
            any |= jump_suits(&self.plant, &self.mode, &mut self.x);
            self.run_dry(now);
            govern(&self.plant, &mut self.mode);
            // What flows by itself comes first: a hold makes up only for what is missing then.
            if any {
                continue;
            }
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
    pub(super) fn run_dry(&mut self, now: Time) {
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
}
