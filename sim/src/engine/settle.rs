//! The mode at the start of a segment: films, pieces of laws, and which holds flow.
//!
//! A hold whose quantity is at or below its set point is tried flowing. One that flows with a negative flow rests, one that
//! rests at its set point while the quantity falls flows: the first such hold is turned over until there is none (Murty 1974,
//! Linear Algebra Appl. 9:65, least-index pivoting for a linear complementarity problem). What oxygen valves let in decides
//! what the diluent valves need and the other way round, so neither can be settled first for good. Only here, after an event,
//! may a mode be entered; between events it is left where its multiplier reaches zero (see `watch`).

use crate::air::MOST;
use crate::units::Time;

use super::Case;
use super::bulk::{Bulk, BulkRates};
use super::hatch::equalise;
use super::indices::{DILUENT, OXYGEN, WATER};
use super::ledger::Ledger;
use super::mode::{Mode, SURFACES, TAKEN};
use super::outcome::RunError;
use super::people::Crew;
use super::segment::Sum;
use super::state::Stocks;
use super::system::System;
use super::trace::{Entry, Event, Trace};
use super::valve::{diluent_flow, oxygen_flow};
use super::watch::{Exit, valve_band};

/// A quantity within this fraction of its set point is at it.
const AT_SET_POINT: f64 = 1e-12;
/// Turns of holds at one instant before the run is given up: far more than the few holds of a cabin need.
const MOST_TURNS: usize = 64;

/// Settles modes; remembers which holds were just left.
#[derive(Debug, Default)]
pub(crate) struct Settler {
    oxygen_left: Vec<Time>,
    pressure_left: Vec<Time>,
    /// By hold: its oxygen is at the set point, and it was not left at this very instant.
    oxygen_may_flow: Vec<bool>,
    /// The same of its pressure.
    pressure_may_flow: Vec<bool>,
    bulk: Bulk,
}

impl Settler {
    /// Forgets all.
    pub fn reset(&mut self, case: &Case) {
        self.oxygen_left.clear();
        self.oxygen_left.resize(case.holds.len(), Time(-1));
        self.pressure_left.clear();
        self.pressure_left.resize(case.holds.len(), Time(-1));
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
                mode.oxygen_flows[hold] = true;
                set_oxygen(case, system, stocks, ledger, hold);
            }
            Exit::OxygenHold(hold, false) => {
                mode.oxygen_flows[hold] = false;
                self.oxygen_left[hold] = now;
            }
            Exit::PressureHold(hold, true) => {
                mode.pressure_flows[hold] = true;
                set_pressure(case, mode, system, stocks, ledger, hold);
            }
            Exit::PressureHold(hold, false) => {
                mode.pressure_flows[hold] = false;
                self.pressure_left[hold] = now;
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
            Exit::Floor(..) => {}
        }
    }

    /// Settles everything at `now` and leaves the equations of the settled mode in `system`.
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
        moved: bool,
        now: Time,
        trace: Option<&mut Trace>,
    ) -> Result<(), RunError> {
        let topped_up = top_up(case, mode, system, stocks, ledger);
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
        let mut turned = 0;
        for _ in 0..MOST_TURNS {
            system.assemble(case, mode, crew, stocks);
            match self.turn_wrong(case, mode, system, stocks) {
                None => return Ok(()),
                Some(hold) => turned = case.holds[hold].compartment,
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
            if let Some(oxygen) = hold.oxygen_pa {
                let at = stocks.p[OXYGEN][hold.compartment] <= oxygen * (1.0 + AT_SET_POINT);
                self.oxygen_may_flow[index] = at && self.oxygen_left[index] != now;
                if self.oxygen_may_flow[index] {
                    mode.oxygen_flows[index] = true;
                } else if !at {
                    // A hatch has let in more than the hold asks for: gas is added, never taken.
                    mode.oxygen_flows[index] = false;
                }
                if mode.oxygen_flows[index] {
                    set_oxygen(case, system, stocks, ledger, index);
                }
            }
        }
        for index in 0..case.holds.len() {
            let hold = case.holds[index];
            let Some(pressure) = hold.pressure_pa else { continue };
            let group = mode.group[hold.compartment];
            if mode.governing_hold(case, group) != Some(index) {
                (mode.pressure_flows[index], self.pressure_may_flow[index]) = (false, false);
                continue;
            }
            // A hold that flows is at its set point within noise too: oxygen has just been put on its own.
            let noise = if mode.pressure_flows[index] {
                2.0 * system.noise_pa(pressure)
            } else {
                0.0
            };
            let at = stocks.pressure(hold.compartment) <= pressure * (1.0 + AT_SET_POINT) + noise;
            self.pressure_may_flow[index] = at && self.pressure_left[index] != now;
            if self.pressure_may_flow[index] {
                mode.pressure_flows[index] = true;
            } else if !at {
                mode.pressure_flows[index] = false;
            }
            if mode.pressure_flows[index] {
                set_pressure(case, mode, system, stocks, ledger, index);
            }
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
            let flows = &mut mode.oxygen_flows[index];
            let may_flow = self.oxygen_may_flow[index];
            if (*flows || may_flow) && wrong(*flows, may_flow, &oxygen_flow(system, hold.compartment)) {
                *flows = !*flows;
                return Some(index);
            }
        }
        for (index, hold) in case.holds.iter().enumerate() {
            let flows = &mut mode.pressure_flows[index];
            let may_flow = self.pressure_may_flow[index];
            let group = mode.group[hold.compartment];
            if (*flows || may_flow) && wrong(*flows, may_flow, &diluent_flow(system, group)) {
                *flows = !*flows;
                return Some(index);
            }
        }
        None
    }
}

/// A sum's value at the start of a segment.
fn at_start(sum: &Sum, system: &System, stocks: &Stocks, rates: &BulkRates<MOST>) -> f64 {
    let mut value = sum.constant;
    for a in 0..system.n {
        for i in 0..4 {
            value += sum.p[i][a] * stocks.p[i][a];
        }
        // Where oxygen is held its inflow stands by itself; where a hold rests it is part of what happens to the room.
        value += sum.oxygen_inflow[a] * (rates.held_oxygen[a] + rates.inflow[OXYGEN][a]);
        for i in 0..3 {
            let dying = &system.dying[i];
            value += sum.dying[i][a] * (0..dying.count).map(|l| dying.amount[l][a]).sum::<f64>();
        }
    }
    value
}

/// Adds at once what holds lack by more than rounding: at the start, or after a hatch has moved gas. In a joined group what
/// is added spreads at once, so a few rounds are needed.
fn top_up(case: &Case, mode: &Mode, system: &System, stocks: &mut Stocks, ledger: &mut Ledger) -> bool {
    let mut any = false;
    for _ in 0..100 {
        let mut added = false;
        for hold in &case.holds {
            let c = hold.compartment;
            for species in [OXYGEN, DILUENT] {
                // Oxygen first: what it adds counts towards the total.
                let lack = match species {
                    OXYGEN => hold.oxygen_pa.map_or(0.0, |p| p - stocks.p[OXYGEN][c]),
                    _ => hold.pressure_pa.map_or(0.0, |p| p - stocks.pressure(c)),
                };
                if lack > 1e-9 * stocks.pressure(c).max(1.0) {
                    // In a group the total rises by less than what is let in here: aim at the group.
                    let share = match species {
                        DILUENT => group_capacity(mode, system, mode.group[c]) / system.capacity[c],
                        _ => 1.0,
                    };
                    stocks.p[species][c] += lack * share;
                    ledger.supply(species, lack * share * system.capacity[c]);
                    if mode.group_size[mode.group[c]] > 1 {
                        equalise(case, mode, system, stocks, c);
                    }
                    added = true;
                }
            }
        }
        any |= added;
        if !added {
            break;
        }
    }
    any
}

fn group_capacity(mode: &Mode, system: &System, group: usize) -> f64 {
    (0..system.n)
        .filter(|&a| mode.group[a] == group)
        .map(|a| system.capacity[a])
        .sum()
}

/// Puts oxygen exactly on its set point; what rounding lacked is counted as supplied.
fn set_oxygen(case: &Case, system: &System, stocks: &mut Stocks, ledger: &mut Ledger, index: usize) {
    let hold = case.holds[index];
    if let Some(oxygen) = hold.oxygen_pa {
        let c = hold.compartment;
        ledger.supply(OXYGEN, (oxygen - stocks.p[OXYGEN][c]) * system.capacity[c]);
        stocks.p[OXYGEN][c] = oxygen;
    }
}

/// Puts a group's pressure exactly on its set point; what rounding lacked is counted as supplied.
fn set_pressure(case: &Case, mode: &Mode, system: &System, stocks: &mut Stocks, ledger: &mut Ledger, index: usize) {
    let hold = case.holds[index];
    let Some(pressure) = hold.pressure_pa else { return };
    for a in 0..system.n {
        if mode.group[a] == mode.group[hold.compartment] {
            let lack = pressure - stocks.pressure(a);
            ledger.supply(DILUENT, lack * system.capacity[a]);
            stocks.p[DILUENT][a] += lack;
        }
    }
}

/// Wets surfaces that vapour exceeds and dries those without a film.
fn settle_films(
    case: &Case,
    mode: &mut Mode,
    system: &System,
    stocks: &mut Stocks,
    now: Time,
    mut trace: Option<&mut Trace>,
) {
    for (a, compartment) in case.compartments.iter().enumerate() {
        for (s, surface) in compartment.surfaces.iter().enumerate().take(SURFACES) {
            let (vapour, saturation) = (stocks.p[WATER][a], surface.saturation_pa);
            let wet = &mut mode.wet[a][s];
            let noise = system.noise_pa(saturation);
            let event = if !*wet && vapour > saturation + noise {
                *wet = true;
                Event::FilmBegan {
                    compartment: a,
                    surface: s,
                }
            } else if *wet && stocks.film_mol[a][s] <= 0.0 && vapour < saturation - noise {
                *wet = false;
                dry(system, stocks, a, s);
                Event::FilmDried {
                    compartment: a,
                    surface: s,
                }
            } else {
                continue;
            };
            if let Some(trace) = trace.as_deref_mut() {
                trace.log.push(Entry { at: now, event });
            }
        }
    }
}

/// What is left of a film that has dried, a rounding of zero, goes back to the vapour.
fn dry(system: &System, stocks: &mut Stocks, a: usize, s: usize) {
    stocks.p[WATER][a] += stocks.film_mol[a][s] / system.capacity[a];
    stocks.film_mol[a][s] = 0.0;
}
