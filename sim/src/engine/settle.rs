//! The mode at the start of a segment: films, pieces of laws, and which holds flow.
//!
//! A hold whose quantity is at or below its set point is tried flowing. One that flows with a negative flow rests, one that
//! rests at its set point while the quantity falls flows: the first such hold is turned over until there is none (Murty 1974,
//! Linear Algebra Appl. 9:65, least-index pivoting for a linear complementarity problem). What oxygen valves let in decides
//! what the diluent valves need and the other way round, so neither can be settled first for good. Only here, after an event,
//! may a mode be entered; between events it is left where its multiplier reaches zero (see `watch`).

use crate::air::{MOST, Regulation};
use crate::units::Time;

use super::Case;
use super::bulk::{Bulk, BulkRates};
use super::films::{dry, settle_films};
use super::indices::OXYGEN;
use super::ledger::Ledger;
use super::mode::{Mode, TAKEN};
use super::outcome::RunError;
use super::people::Crew;
use super::regulate::{regulated, settle_reliefs};
use super::scene::{settle_suits, suit_source};
use super::segment::Sum;
use super::state::Stocks;
use super::system::System;
use super::top_up::{dry_tanks, set_oxygen, set_pressure, top_up};
use super::trace::{Entry, Event, Trace};
use super::transfer::pressure_of;
use super::valve::{diluent_flow, oxygen_flow};
use super::watch::{Exit, WHOLE_BAND_MOL_S, valve_band};
use super::whole::{Maker, Plumbing, SuitValve, is_needed};

/// A suit nearer to its pressure than this part of it is at it.
const AT_SUIT_PRESSURE: f64 = 1e-9;
/// Turns of holds at one instant before the run is given up: far more than the few holds of a cabin need.
const MOST_TURNS: usize = 64;

/// Settles modes; remembers which holds were just left.
#[derive(Debug, Default)]
pub(crate) struct Settler {
    oxygen_left: Vec<Time>,
    pressure_left: Vec<Time>,
    suit_left: Vec<Time>,
    /// By hold: its oxygen is at the set point, and it was not left at this very instant.
    oxygen_may_flow: Vec<bool>,
    /// The same of its pressure.
    pressure_may_flow: Vec<bool>,
    /// By suit: it is at the pressure at which it lets gas out, and it was not left at this very instant.
    suit_may_relieve: Vec<bool>,
    bulk: Bulk,
}

impl Settler {
    /// Forgets all.
    pub fn reset(&mut self, case: &Case) {
        self.oxygen_left.clear();
        self.oxygen_left.resize(case.holds.len(), Time(-1));
        self.pressure_left.clear();
        self.pressure_left.resize(case.holds.len(), Time(-1));
        self.suit_left.clear();
        self.suit_left.resize(case.suits.len(), Time(-1));
        self.suit_may_relieve.clear();
        self.suit_may_relieve.resize(case.suits.len(), false);
        for may_flow in [&mut self.oxygen_may_flow, &mut self.pressure_may_flow] {
            may_flow.clear();
            may_flow.resize(case.holds.len(), false);
        }
    }

    /// Carries out the end of a mode. An exit by the floor ends the run and is not for here.
    #[expect(clippy::too_many_arguments, reason = "the whole state takes part")]
    pub fn leave(
        &mut self,
        case: &Case,
        mode: &mut Mode,
        system: &System,
        stocks: &mut Stocks,
        ledger: &mut Ledger,
        exit: Exit,
        now: Time,
        trace: Option<&mut Trace>,
    ) {
        let log = |event| {
            if let Some(trace) = trace {
                trace.log.push(Entry { at: now, event });
            }
        };
        match exit {
            Exit::OxygenHold(hold, true) => {
                (mode.oxygen_flows[hold], mode.oxygen_full[hold]) = (true, false);
                set_oxygen(case, system, stocks, ledger, hold);
            }
            Exit::OxygenHold(hold, false) => {
                (mode.oxygen_flows[hold], mode.oxygen_full[hold]) = (false, false);
                self.oxygen_left[hold] = now;
            }
            Exit::OxygenFull(hold) => (mode.oxygen_flows[hold], mode.oxygen_full[hold]) = (true, true),
            Exit::PressureHold(hold, true) => {
                (mode.pressure_flows[hold], mode.pressure_full[hold]) = (true, false);
                set_pressure(case, mode, system, stocks, ledger, hold);
            }
            Exit::PressureHold(hold, false) => {
                (mode.pressure_flows[hold], mode.pressure_full[hold]) = (false, false);
                self.pressure_left[hold] = now;
            }
            Exit::PressureFull(hold) => (mode.pressure_flows[hold], mode.pressure_full[hold]) = (true, true),
            Exit::Knee(hold, true, knee) => mode.oxygen_knee[hold] = knee,
            Exit::Knee(hold, false, knee) => mode.pressure_knee[hold] = knee,
            Exit::Thin(compartment, thin) => mode.thin[compartment] = thin,
            Exit::Relief(compartment, opened) => {
                mode.relief[compartment] = opened;
                log(Event::Relief { compartment, opened });
            }
            Exit::Film(compartment, surface, wet) => {
                mode.wet[compartment][surface] = wet;
                if wet {
                    log(Event::FilmBegan { compartment, surface });
                } else {
                    dry(system, stocks, compartment, surface);
                    log(Event::FilmDried { compartment, surface });
                }
            }
            Exit::Piece(device, taken, piece) => mode.piece[device][taken] = piece,
            Exit::SuitRelief(suit, relieves) => {
                mode.suit_relieves[suit] = relieves;
                self.suit_left[suit] = now;
            }
            // The run carries out the end of transfers, and tanks that run dry are found with all the others.
            Exit::Floor(..) | Exit::Transfer(_) | Exit::TankDry(_) => {}
        }
    }

    /// Settles everything at `now` and leaves the equations of the settled mode in `system`; what is connected, if the mode must be
    /// integrated whole.
    ///
    /// # Errors
    /// If the holds do not settle.
    #[expect(clippy::too_many_arguments, reason = "the whole state takes part")]
    pub fn settle(
        &mut self,
        case: &Case,
        mode: &mut Mode,
        system: &mut System,
        stocks: &mut Stocks,
        crew: &Crew,
        ledger: &mut Ledger,
        maker: &mut Maker,
        moved: bool,
        now: Time,
        mut trace: Option<&mut Trace>,
    ) -> Result<Option<Plumbing>, RunError> {
        let mut topped_up = false;
        // What a hold adds lifts a room above the suits in it, and what they take leaves it short again.
        for _ in 0..MOST_TURNS {
            settle_suits(case, mode, crew, system, stocks, ledger);
            if !top_up(case, mode, system, stocks, ledger) {
                break;
            }
            topped_up = true;
        }
        for running in &mut mode.transfers {
            running.aim(case, stocks, now);
        }
        dry_tanks(case, mode, stocks, ledger, now, trace.as_deref_mut());
        settle_reliefs(case, mode, stocks, now, trace.as_deref_mut());
        if moved || topped_up {
            for (d, device) in case.devices.iter().enumerate() {
                let a = device.serves;
                for (taken, species) in TAKEN.into_iter().enumerate() {
                    let (p, temperature) = (stocks.p[species as usize][a], case.compartments[a].temperature_k);
                    mode.piece[d][taken] = device.piece_at(species, p, temperature);
                }
            }
        }
        settle_films(case, mode, system, stocks, now, trace);
        self.try_holds(case, mode, system, stocks, ledger, now);
        self.try_suits(case, mode, crew, stocks, now);
        let mut turned = 0;
        for _ in 0..MOST_TURNS {
            system.assemble(case, mode, crew, stocks);
            let plumbing = is_needed(case, mode, crew).then(|| Plumbing::lay(case, mode, crew, stocks));
            let wrong = match &plumbing {
                Some(plumbing) => self.turn_wrong_whole(case, mode, plumbing, maker, stocks, now),
                None => self
                    .turn_wrong(case, mode, system, stocks)
                    .map(|hold| case.holds[hold].compartment),
            };
            match wrong {
                None => return Ok(plumbing),
                Some(compartment) => turned = compartment,
            }
        }
        Err(RunError::Restless {
            at: now,
            compartment: turned,
        })
    }

    /// Sets every hold flowing that is at its set point and was not left at this very instant.
    fn try_holds(
        &mut self,
        case: &Case,
        mode: &mut Mode,
        system: &System,
        stocks: &mut Stocks,
        ledger: &mut Ledger,
        now: Time,
    ) {
        for (index, hold) in case.holds.iter().enumerate() {
            let Some(oxygen) = hold.oxygen_pa else { continue };
            let is = stocks.p[OXYGEN][hold.compartment];
            mode.oxygen_knee[index] = mode.oxygen_knee[index].at(hold.oxygen_by, is, oxygen);
            if !mode.oxygen_works(case, index) {
                (mode.oxygen_flows[index], mode.oxygen_full[index]) = (false, false);
                self.oxygen_may_flow[index] = false;
                continue;
            }
            let now_is = regulated(
                hold.oxygen_by,
                is,
                oxygen,
                0.0,
                (mode.oxygen_flows[index], mode.oxygen_full[index]),
                self.oxygen_left[index] == now,
            );
            (mode.oxygen_flows[index], mode.oxygen_full[index]) = (now_is.flows, now_is.full);
            self.oxygen_may_flow[index] = now_is.may_flow;
            if now_is.flows && !now_is.full {
                set_oxygen(case, system, stocks, ledger, index);
            }
        }
        for index in 0..case.holds.len() {
            let hold = case.holds[index];
            let Some(pressure) = hold.pressure_pa else { continue };
            let group = mode.group[hold.compartment];
            let is = stocks.pressure(hold.compartment);
            mode.pressure_knee[index] = mode.pressure_knee[index].at(hold.pressure_by, is, pressure);
            if mode.governing_hold(case, group) != Some(index) {
                (mode.pressure_flows[index], mode.pressure_full[index]) = (false, false);
                self.pressure_may_flow[index] = false;
                continue;
            }
            // A hold that flows is at its set point within noise too: oxygen has just been put on its own.
            let noise = if mode.pressure_flows[index] {
                2.0 * system.noise_pa(pressure)
            } else {
                0.0
            };
            let now_is = regulated(
                hold.pressure_by,
                stocks.pressure(hold.compartment),
                pressure,
                noise,
                (mode.pressure_flows[index], mode.pressure_full[index]),
                self.pressure_left[index] == now,
            );
            (mode.pressure_flows[index], mode.pressure_full[index]) = (now_is.flows, now_is.full);
            self.pressure_may_flow[index] = now_is.may_flow;
            if now_is.flows && !now_is.full {
                set_pressure(case, mode, system, stocks, ledger, index);
            }
        }
    }

    /// Sets every suit with a dry tank relieving that is at its pressure and was not left at this very instant; those with supply
    /// are at their pressure, and do as they did.
    fn try_suits(&mut self, case: &Case, mode: &mut Mode, crew: &Crew, stocks: &Stocks, now: Time) {
        for (index, suit) in case.suits.iter().enumerate() {
            let doing = &crew.people[suit.wearer];
            let full = pressure_of(case, stocks, doing.place) + doing.suit.held_above_pa(suit);
            let at = stocks.pressure(suit.compartment) >= full * (1.0 - AT_SUIT_PRESSURE);
            let left = self.suit_left[index] == now;
            let dry = suit_source(case, mode, index, doing.place).is_some_and(|tank| mode.dry[tank]);
            if dry {
                mode.suit_relieves[index] = at && (mode.suit_relieves[index] || !left);
            }
            self.suit_may_relieve[index] = at && !left;
        }
    }

    /// Turns the first hold that is wrong: flowing though it would have to take gas, or resting at its set point though its
    /// quantity would fall. Gives which.
    fn turn_wrong(&mut self, case: &Case, mode: &mut Mode, system: &System, stocks: &Stocks) -> Option<usize> {
        let rates = self.bulk.at_start(system, stocks);
        let wrong = |flows: bool, may_flow: bool, needed: &Sum| {
            let (flow, band) = (
                at_start(needed, system, stocks, &rates),
                valve_band(needed, system, stocks),
            );
            if flows { flow < -band } else { may_flow && flow > band }
        };
        for (index, hold) in case.holds.iter().enumerate() {
            if matches!(hold.oxygen_by, Regulation::Band { .. }) {
                continue;
            }
            let needed = oxygen_flow(system, hold.compartment);
            if let (true, Regulation::Limited { most_mol_s }) = (mode.oxygen_flows[index], hold.oxygen_by)
                && at_start(&needed, system, stocks, &rates) > most_mol_s
            {
                mode.oxygen_full[index] = true;
                return Some(index);
            }
            let flows = &mut mode.oxygen_flows[index];
            let may_flow = self.oxygen_may_flow[index];
            if (*flows || may_flow) && wrong(*flows, may_flow, &needed) {
                *flows = !*flows;
                return Some(index);
            }
        }
        for (index, hold) in case.holds.iter().enumerate() {
            if matches!(hold.pressure_by, Regulation::Band { .. }) {
                continue;
            }
            let group = mode.group[hold.compartment];
            let needed = diluent_flow(system, group);
            if let (true, Regulation::Limited { most_mol_s }) = (mode.pressure_flows[index], hold.pressure_by)
                && at_start(&needed, system, stocks, &rates) > most_mol_s
            {
                mode.pressure_full[index] = true;
                return Some(index);
            }
            let flows = &mut mode.pressure_flows[index];
            let may_flow = self.pressure_may_flow[index];
            if (*flows || may_flow) && wrong(*flows, may_flow, &needed) {
                *flows = !*flows;
                return Some(index);
            }
        }
        None
    }
}

impl Settler {
    /// The same as [`Settler::turn_wrong`] where the mode is integrated whole, by compartment: a hold that would have to take gas rests, one that
    /// would have to let in more than it can is full, one that rests at its set point while its quantity falls flows. So do suits with dry tanks.
    fn turn_wrong_whole(
        &mut self,
        case: &Case,
        mode: &mut Mode,
        plumbing: &Plumbing,
        maker: &mut Maker,
        stocks: &Stocks,
        now: Time,
    ) -> Option<usize> {
        let (rates, taps) = maker.look(case, plumbing, stocks);
        for (index, hold) in case.holds.iter().enumerate() {
            let c = hold.compartment;
            let oxygen_falls = rates[4 * c + OXYGEN] * plumbing.capacity(c, stocks) < -WHOLE_BAND_MOL_S;
            let all: f64 = rates[4 * c..4 * c + 4].iter().sum();
            let pressure_falls = all * plumbing.capacity(c, stocks) < -WHOLE_BAND_MOL_S;
            let (oxygen, pressure) = (plumbing.oxygen_tap[index], plumbing.pressure_tap[index]);
            let holds = [
                (
                    oxygen,
                    hold.oxygen_by,
                    self.oxygen_may_flow[index],
                    oxygen_falls,
                    &mut mode.oxygen_flows[index],
                    &mut mode.oxygen_full[index],
                ),
                (
                    pressure,
                    hold.pressure_by,
                    self.pressure_may_flow[index],
                    pressure_falls,
                    &mut mode.pressure_flows[index],
                    &mut mode.pressure_full[index],
                ),
            ];
            for (tap, by, may_flow, falls, flows, full) in holds {
                if *full || matches!(by, Regulation::Band { .. } | Regulation::Proportional { .. }) {
                    continue;
                }
                let flow = tap.map_or(0.0, |tap| taps[tap]);
                if *flows && flow < -WHOLE_BAND_MOL_S {
                    *flows = false;
                    return Some(c);
                }
                if let (true, Regulation::Limited { most_mol_s }) = (*flows, by)
                    && flow > most_mol_s + WHOLE_BAND_MOL_S
                {
                    *full = true;
                    return Some(c);
                }
                if !*flows && may_flow && falls {
                    *flows = true;
                    return Some(c);
                }
            }
        }
        // A valve that has just turned is as near to no flow as its polynomial tells.
        for worn in plumbing.worn.iter().filter(|worn| self.suit_left[worn.suit] != now) {
            let rise = |a: usize| rates[4 * a..4 * a + 4].iter().sum::<f64>();
            let above = rise(worn.s) - worn.room.map_or(0.0, rise);
            let relieves = match worn.valve {
                SuitValve::Supplying => taps[worn.through] < -WHOLE_BAND_MOL_S,
                SuitValve::Relieving => taps[worn.through] >= -WHOLE_BAND_MOL_S,
                SuitValve::Closed => {
                    self.suit_may_relieve[worn.suit] && above * plumbing.capacity(worn.s, stocks) > WHOLE_BAND_MOL_S
                }
            };
            if relieves != mode.suit_relieves[worn.suit] {
                mode.suit_relieves[worn.suit] = relieves;
                return Some(worn.s);
            }
        }
        None
    }
}

/// A sum's value at the start of a segment.
fn at_start(sum: &Sum, system: &System, stocks: &Stocks, rates: &BulkRates<MOST, 1>) -> f64 {
    let mut value = sum.constant;
    for a in 0..system.n {
        for i in 0..4 {
            value += sum.p[i][a] * stocks.p[i][a];
        }
        // Where oxygen is held its inflow stands by itself; where a hold rests it is part of what happens to the room.
        value += sum.oxygen_inflow[a] * (rates.held_oxygen[a][0] + rates.inflow[OXYGEN][a][0]);
        for i in 0..3 {
            let dying = &system.dying[i];
            value += sum.dying[i][a] * (0..dying.count).map(|l| dying.amount[l][a]).sum::<f64>();
        }
    }
    value
}
