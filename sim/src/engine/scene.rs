//! What effects, turns of beds and suits do at once to gas, hatches and stocks.

use crate::air::{Place, Species};
use crate::removal::Removal;
use crate::timeline::{Effect, SuitUse};
use crate::units::Time;

use super::Case;
use super::hatch::equalise;
use super::indices::OXYGEN;
use super::instant::half_cycle;
use super::ledger::Ledger;
use super::mode::Mode;
use super::outcome::{RunError, Transfer, TransferKind};
use super::people::Crew;
use super::state::Stocks;
use super::system::System;
use super::trace::{Entry, Event, Trace};
use super::transfer::{Running, pressure_of};

/// Venting below this pressure, Pa, needs a pressurised suit on everyone there: pure oxygen would still be breathable at it.
const SURVIVABLE_PA: f64 = 20_000.0;

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
    /// The books.
    pub ledger: &'a mut Ledger,
    /// All transfers of the run so far.
    pub transfers: &'a mut Vec<Transfer>,
    /// The log, if anyone asks.
    pub trace: Option<&'a mut Trace>,
}

impl Scene<'_> {
    fn log(&mut self, at: Time, event: Event) {
        if let Some(trace) = self.trace.as_deref_mut() {
            trace.log.push(Entry { at, event });
        }
    }

    /// Compartments joined to `a`, itself included.
    fn joined(&self, a: usize) -> impl Iterator<Item = usize> + use<> {
        let (group, own) = (self.mode.group, self.mode.group[a]);
        (0..self.case.compartments.len()).filter(move |&b| group[b] == own)
    }

    /// A transfer whose known end has come.
    pub fn due_transfer(&self, now: Time) -> Option<usize> {
        let due = |transfer: &Running| transfer.until.is_some_and(|until| until <= now);
        self.mode.transfers.iter().position(due)
    }

    /// Ends a transfer, and puts pressures exactly where they were to go.
    pub fn complete(&mut self, place: usize, now: Time) {
        let running = self.mode.transfers.remove(place);
        let short = running.short;
        match running.effect {
            Effect::Vent { compartment, to_pa, .. } => {
                for a in self.joined(compartment) {
                    let (before, pressure) = (self.stocks.p, self.stocks.pressure(a));
                    let left = if to_pa <= 0.0 || pressure <= 0.0 {
                        0.0
                    } else {
                        to_pa / pressure
                    };
                    for i in 0..4 {
                        self.stocks.p[i][a] *= left;
                        let lost = (before[i][a] - self.stocks.p[i][a]) * self.system.capacity[a];
                        self.ledger.vent(i, lost);
                        self.ledger.hardware.transfers[running.record][i] += lost;
                    }
                }
                if to_pa <= 0.0 {
                    for a in self.joined(compartment) {
                        self.mode.void[a] = true;
                    }
                }
            }
            Effect::Fill {
                compartment,
                to_pa,
                oxygen,
                ..
            } => {
                for a in self.joined(compartment) {
                    self.mode.shut_off[a] = false;
                    let lack = to_pa - self.stocks.pressure(a);
                    // What rounding and the crossing's nanosecond left.
                    if !short && lack.abs() < 1e-6 * to_pa {
                        for (species, part) in [(OXYGEN, oxygen), (Species::Diluent as usize, 1.0 - oxygen)] {
                            let amount = part * lack * self.system.capacity[a];
                            self.stocks.p[species][a] += part * lack;
                            self.ledger.fill(species, amount);
                            self.ledger.hardware.transfers[running.record][species] += amount;
                            self.ledger.draw(self.stocks, running.source(species), amount);
                        }
                    }
                }
            }
            Effect::Equalise { .. } => {
                for a in running.ends(self.case).into_iter().flatten() {
                    for b in self.joined(a) {
                        self.mode.shut_off[b] = false;
                    }
                }
            }
            _ => {}
        }
        let to_pa = match running.effect {
            Effect::Vent { compartment, .. } | Effect::Fill { compartment, .. } => self.stocks.pressure(compartment),
            Effect::Equalise { opening, .. } => self.difference(opening),
            _ => f64::NAN,
        };
        let entry = &mut self.transfers[running.record];
        (entry.ended, entry.to_pa, entry.short) = (Some(now), to_pa, short);
        // The end of one whose time was known has been logged in the order of the instant.
        if running.until.is_none() {
            self.log(now, Event::TransferEnded(running.record));
        }
    }

    fn difference(&self, opening: usize) -> f64 {
        let [a, b] = self.case.openings[opening].between;
        pressure_of(self.case, self.stocks, a) - pressure_of(self.case, self.stocks, b)
    }

    /// Turns every pair of beds that is due: a volume of cabin gas is lost at once. Whether any was.
    pub fn turn_beds(&mut self, now: Time) -> bool {
        let mut moved = false;
        for (d, device) in self.case.devices.iter().enumerate() {
            let (Some(every), Removal::SwingBed(bed)) = (half_cycle(device), &device.removal) else {
                continue;
            };
            let turn = (now.0 / every.0) as u64;
            if turn == self.mode.beds_turn[d] {
                continue;
            }
            self.mode.beds_turn[d] = turn;
            if !self.mode.on[d] {
                continue;
            }
            let a = device.serves;
            let part = (bed.lost_m3 / self.case.compartments[a].volume_m3).min(1.0);
            self.ledger.hardware.devices[d].turns += 1;
            if part > 0.0 && !self.mode.void[a] {
                for i in 0..4 {
                    let lost = part * self.stocks.p[i][a];
                    self.stocks.p[i][a] -= lost;
                    self.ledger.lose_at_turn(d, i, lost * self.system.capacity[a]);
                }
                if self.mode.group_size[self.mode.group[a]] > 1 {
                    equalise(self.case, self.mode, self.system, self.stocks, a);
                }
                moved = true;
            }
        }
        moved
    }

    /// Puts a suit on or takes it off: its gas and that of the place mix completely. Whether gas moved.
    pub fn dress(&mut self, person: usize, place: Place, suit: SuitUse, now: Time) -> bool {
        let doing = &self.crew.people[person];
        let (before, was_in) = (doing.suit, doing.place);
        let Some(own) = self.case.suits.iter().find(|own| own.wearer == person) else {
            return false;
        };
        if before != suit {
            self.log(now, Event::SuitWorn { person, suit });
        }
        let (Place::Compartment(a), true) = (place, (before == SuitUse::Off) != (suit == SuitUse::Off)) else {
            self.mode.wear(self.case, person, suit);
            return before != suit || was_in != place;
        };
        self.mode.wear(self.case, person, suit);
        if !self.mode.void[a] {
            let (s, c) = (own.compartment, self.system.capacity);
            for i in 0..4 {
                let mixed = (c[s] * self.stocks.p[i][s] + c[a] * self.stocks.p[i][a]) / (c[s] + c[a]);
                self.stocks.p[i][s] = mixed;
                self.stocks.p[i][a] = mixed;
            }
        }
        true
    }

    /// Lets joined rooms come to one pressure, where suits that were put on or taken off have changed it.
    pub fn even_out(&mut self) {
        for a in 0..self.case.compartments.len() {
            let apart = self
                .joined(a)
                .map(|b| (self.stocks.pressure(b) - self.stocks.pressure(a)).abs());
            let most = apart.fold(0.0, f64::max);
            if self.mode.group[a] == a && !self.mode.void[a] && most > AT_PRESSURE * self.stocks.pressure(a) {
                equalise(self.case, self.mode, self.system, self.stocks, a);
            }
        }
    }

    /// Carries out an effect; whether gas moved at once. `coming` is what people take up at this instant: effort, place, suit.
    pub fn carry_out(
        &mut self,
        task: usize,
        effect: Effect,
        coming: &[Option<(usize, Place, SuitUse)>],
        now: Time,
    ) -> Result<bool, RunError> {
        match effect {
            Effect::SwitchOn(device) => self.mode.switch(device, true),
            Effect::SwitchOff(device) => self.mode.switch(device, false),
            Effect::Open(opening) | Effect::Close(opening) if self.mode.stuck[opening] => {}
            Effect::Close(opening) => {
                self.mode.open[opening] = false;
                self.mode.regroup(self.case);
            }
            Effect::Open(opening) => return self.open(opening, now),
            Effect::ChangeCanister(device) => self.change_canister(device, now),
            Effect::Recharge(suit) => self.recharge(suit),
            Effect::Mask { people, on } => self.mask(people, on, now),
            // Done where the instant is worked out: they are of the timeline and of faults.
            Effect::Recall { .. } | Effect::Wear { .. } | Effect::Ease { .. } | Effect::Repair(_) => {}
            Effect::Vent { .. } | Effect::Fill { .. } | Effect::Equalise { .. } => {
                self.begin(task, effect, coming, now)?;
                return Ok(true);
            }
        }
        Ok(false)
    }

    fn begin(
        &mut self,
        task: usize,
        effect: Effect,
        coming: &[Option<(usize, Place, SuitUse)>],
        now: Time,
    ) -> Result<(), RunError> {
        if let Effect::Vent { compartment, to_pa, .. } = effect
            && to_pa < SURVIVABLE_PA
        {
            for (person, doing) in self.crew.people.iter().enumerate() {
                let (place, suit) = coming[person].map_or((doing.place, doing.suit), |(_, place, suit)| (place, suit));
                let there = self.joined(compartment).any(|b| place == Place::Compartment(b));
                if there && suit != SuitUse::Pressurised {
                    return Err(RunError::Unsuited {
                        at: now,
                        compartment,
                        person,
                    });
                }
            }
        }
        let (running, entry) = Running::begin(self.case, self.stocks, task, effect, self.transfers.len(), now);
        self.transfers.push(entry);
        self.ledger.hardware.transfers.push([0.0; 4]);
        for a in running.ends(self.case).into_iter().flatten() {
            for b in self.joined(a) {
                // What is let in must not be made up for by a hold; a hold goes on to feed what it shares.
                self.mode.shut_off[b] |= entry.kind == TransferKind::Vent;
                if entry.kind != TransferKind::Vent && self.mode.void[b] {
                    self.mode.void[b] = false;
                    // What comes in meets the wall as it has become.
                    let heat = self.case.compartments[b].heat.as_ref();
                    if heat.is_some_and(|heat| heat.wall.is_some()) {
                        self.stocks.temperature_k[b] = self.stocks.wall_k[b];
                    }
                }
            }
        }
        self.mode.transfers.push(running);
        Ok(())
    }

    fn change_canister(&mut self, device: usize, now: Time) {
        if self.stocks.canisters[device] == 0 {
            self.log(now, Event::NoCanister(device));
            return;
        }
        self.stocks.canisters[device] -= 1;
        self.ledger.hardware.devices[device].spent += 1;
        self.stocks.held[device] = [0.0; 4];
        self.mode.fresh.push(device);
    }

    /// Those of some people (as bits) who are inside breathe from masks, or no longer.
    fn mask(&mut self, people: u64, on: bool, now: Time) {
        for person in 0..self.crew.people.len() {
            let doing = &mut self.crew.people[person];
            let meant = people & (1 << person) != 0 && doing.place != Place::Outside;
            if meant && doing.masked != on {
                doing.masked = on;
                self.log(now, Event::Mask { person, on });
            }
        }
    }

    fn recharge(&mut self, suit: usize) {
        let suit = &self.case.suits[suit];
        let (Some(tank), Some(supply)) = (suit.tank, suit.supply) else {
            return;
        };
        let wanted = self.case.tanks[tank].amount_mol - self.stocks.tank_mol[tank];
        let there = self.stocks.tank_mol[supply] - self.case.tanks[supply].residue_mol;
        let moved = wanted.min(there).max(0.0);
        self.stocks.tank_mol[tank] += moved;
        self.ledger.draw(self.stocks, Some(supply), moved);
        self.mode.dry[tank] = self.stocks.tank_mol[tank] <= self.case.tanks[tank].residue_mol;
        self.mode.dry[supply] = self.stocks.tank_mol[supply] <= self.case.tanks[supply].residue_mol;
    }

    fn open(&mut self, index: usize, now: Time) -> Result<bool, RunError> {
        let opening = self.case.openings[index];
        if self.mode.open[index] {
            return Ok(false);
        }
        let difference_pa = self.difference(index).abs();
        if difference_pa > opening.opens_within_pa {
            return Err(RunError::HatchAgainstPressure {
                at: now,
                opening: index,
                difference_pa,
            });
        }
        self.mode.open[index] = true;
        self.mode.regroup(self.case);
        let (Place::Compartment(a), Place::Compartment(_)) = (opening.between[0], opening.between[1]) else {
            return Ok(false);
        };
        let void = self.joined(a).any(|b| self.mode.void[b]);
        for b in self.joined(a) {
            self.mode.void[b] = void;
            self.mode.shut_off[b] |= void;
        }
        if difference_pa > 0.0 && !void {
            equalise(self.case, self.mode, self.system, self.stocks, a);
        }
        Ok(difference_pa > 0.0 || void)
    }
}

/// Brings every worn suit to its pressure at once: oxygen is let in, or gas let out into the place.
///
/// Between events the flows keep it there; only what an event changes at once (a suit closed, pressurised, carried into another
/// room) is left for here. Gas that is in a compartment open to the vacuum is lost.
pub(crate) fn settle_suits(
    case: &Case,
    mode: &Mode,
    crew: &Crew,
    system: &System,
    stocks: &mut Stocks,
    ledger: &mut Ledger,
) {
    for a in (0..case.compartments.len()).filter(|&a| mode.void[a]) {
        for i in 0..4 {
            ledger.vent(i, stocks.p[i][a] * system.capacity[a]);
            stocks.p[i][a] = 0.0;
        }
    }
    // What one suit lets out raises the pressure around the others.
    for _ in 0..MOST_JUMPS {
        let mut any = false;
        for index in 0..case.suits.len() {
            any |= settle_suit(case, mode, crew, system, stocks, ledger, index);
        }
        if !any {
            break;
        }
        for suit in &case.suits {
            if let Place::Compartment(a) = crew.people[suit.wearer].place
                && !mode.void[a]
                && mode.group_size[mode.group[a]] > 1
            {
                equalise(case, mode, system, stocks, a);
            }
        }
    }
}

/// Rounds in which suits that share a place come to their pressures.
const MOST_JUMPS: usize = 100;
/// A suit nearer to its pressure than this part of it is there.
const AT_PRESSURE: f64 = 1e-12;

/// Brings one suit to its pressure; whether anything moved.
fn settle_suit(
    case: &Case,
    mode: &Mode,
    crew: &Crew,
    system: &System,
    stocks: &mut Stocks,
    ledger: &mut Ledger,
    index: usize,
) -> bool {
    let suit = &case.suits[index];
    let doing = &crew.people[suit.wearer];
    if doing.suit == SuitUse::Off {
        return false;
    }
    let s = suit.compartment;
    let above = doing.suit.held_above_pa(suit);
    let around = pressure_of(case, stocks, doing.place);
    let lack = around + above - stocks.pressure(s);
    if lack.abs() <= AT_PRESSURE * (around + above) {
        return false;
    }
    let room = match doing.place {
        Place::Compartment(a) if !mode.void[a] => Some(a),
        _ => None,
    };
    if lack > 0.0 && doing.suit != SuitUse::Ventilated {
        let source = suit_source(case, mode, index, doing.place);
        let mut amount = lack * system.capacity[s];
        if let Some(tank) = source {
            amount = amount.min((stocks.tank_mol[tank] - case.tanks[tank].residue_mol).max(0.0));
        }
        stocks.p[OXYGEN][s] += amount / system.capacity[s];
        ledger.let_into_suit(index, amount);
        ledger.draw(stocks, source, amount);
        return amount > 0.0;
    }
    // Gas flows between suit and place, at the composition of where it comes from.
    let room_capacity = room.map_or(f64::INFINITY, |a| {
        let joined = (0..system.n).filter(|&b| mode.group[b] == mode.group[a]);
        joined.map(|b| system.capacity[b]).sum()
    });
    let moved = -lack / (1.0 / system.capacity[s] + 1.0 / room_capacity);
    let Some(from) = (if moved > 0.0 { Some(s) } else { room }) else {
        return false;
    };
    let part = moved.abs() / (system.capacity[from] * stocks.pressure(from));
    for i in 0..4 {
        let amount = moved.signum() * part * system.capacity[from] * stocks.p[i][from];
        stocks.p[i][s] -= amount / system.capacity[s];
        match room {
            Some(a) => stocks.p[i][a] += amount / system.capacity[a],
            None if doing.place == Place::Outside => ledger.lost(i, amount),
            None => ledger.vent(i, amount),
        }
    }
    true
}

/// The tank that a suit draws on now; none: an unlimited supply. The umbilical serves in a compartment that is not open to the
/// vacuum.
pub(crate) fn suit_source(case: &Case, mode: &Mode, suit: usize, place: Place) -> Option<usize> {
    let suit = &case.suits[suit];
    let inside = matches!(place, Place::Compartment(a) if !mode.void[a]);
    if inside { suit.supply.or(suit.tank) } else { suit.tank }
}
