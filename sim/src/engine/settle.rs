//! The mode at the start of a segment: films, pieces of laws, and which holds flow.
//!
//! A hold whose quantity is at or below its set point is tried flowing. One that flows with a negative flow rests, one that
//! rests at its set point while the quantity falls flows: the first such hold is turned over until there is none (Murty 1974,
//! Linear Algebra Appl. 9:65, least-index pivoting for a linear complementarity problem). What oxygen valves let in decides
//! what the diluent valves need and the other way round, so neither can be settled first for good. Only here, after an event,
//! may a mode be entered; between events it is left where its multiplier reaches zero (see `watch`).

use crate::air::{MOST, Regulation, Species};
use crate::units::Time;

use super::Case;
use super::accuracy::allowed_whole;
use super::bulk::{Bulk, BulkRates};
use super::hatch::equalise;
use super::indices::{OXYGEN, WATER};
use super::ledger::Ledger;
use super::mode::{Mode, SURFACES, TAKEN};
use super::outcome::RunError;
use super::people::Crew;
use super::scene::settle_suits;
use super::segment::Sum;
use super::state::Stocks;
use super::system::System;
use super::trace::{Entry, Event, Trace};
use super::valve::{diluent_flow, oxygen_flow};
use super::watch::{Exit, valve_band};
use super::whole::{Maker, Plumbing, is_needed};

/// A quantity within this fraction of its set point is at it.
const AT_SET_POINT: f64 = 1e-12;
/// A tank with no more than this to deliver is dry, mol.
const DRY_MOL: f64 = 1e-9;
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
        settle_suits(case, mode, crew, system, stocks, ledger);
        let topped_up = top_up(case, mode, system, stocks, ledger);
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
        let mut turned = 0;
        for _ in 0..MOST_TURNS {
            system.assemble(case, mode, crew, stocks);
            let plumbing = is_needed(case, mode, crew).then(|| Plumbing::lay(case, mode, crew, stocks));
            let wrong = match &plumbing {
                Some(plumbing) => self.turn_wrong_whole(case, mode, plumbing, maker, stocks),
                None => self.turn_wrong(case, mode, system, stocks),
            };
            match wrong {
                None => return Ok(plumbing),
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
            let Some(oxygen) = hold.oxygen_pa else { continue };
            let is = stocks.p[OXYGEN][hold.compartment];
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

/// A flow is taken for a change of direction only beyond this, mol/s.
const WHOLE_BAND_MOL_S: f64 = 1e-12;

impl Settler {
    /// The same as [`Settler::turn_wrong`] where the mode is integrated whole: a hold that would have to take gas rests, one that
    /// would have to let in more than it can is full, one that rests at its set point while its quantity falls flows.
    fn turn_wrong_whole(
        &mut self,
        case: &Case,
        mode: &mut Mode,
        plumbing: &Plumbing,
        maker: &mut Maker,
        stocks: &Stocks,
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
                    return Some(index);
                }
                if let (true, Regulation::Limited { most_mol_s }) = (*flows, by)
                    && flow > most_mol_s + WHOLE_BAND_MOL_S
                {
                    *full = true;
                    return Some(index);
                }
                if !*flows && may_flow && falls {
                    *flows = true;
                    return Some(index);
                }
            }
        }
        None
    }
}

/// How a hold stands at the start of a segment.
struct Standing {
    flows: bool,
    full: bool,
    may_flow: bool,
}

/// Where a regulator stands with its quantity at `is` and its set point at `set`, Pa; `was` flowing and full; `left` at this very
/// instant.
fn regulated(by: Regulation, is: f64, set: f64, noise: f64, was: (bool, bool), left: bool) -> Standing {
    let at = is <= set * (1.0 + AT_SET_POINT) + noise;
    match by {
        Regulation::Ideal => Standing {
            flows: at && (was.0 || !left),
            full: false,
            may_flow: at && !left,
        },
        Regulation::Limited { .. } => {
            // One that lets in all it can does so until its quantity rises above the set point.
            let below = is < set * (1.0 - AT_SET_POINT) - noise || (was.1 && at);
            Standing {
                flows: at && (was.0 || !left),
                full: below,
                may_flow: at && !below && !left,
            }
        }
        Regulation::Band { width_pa, .. } => {
            let on = is <= (set - width_pa) * (1.0 + AT_SET_POINT) || (was.1 && is < set);
            Standing {
                flows: on,
                full: on,
                may_flow: false,
            }
        }
        Regulation::Proportional { .. } => Standing {
            flows: false,
            full: false,
            may_flow: false,
        },
    }
}

/// Opens and closes relief valves whose pressure is beyond their set points.
fn settle_reliefs(case: &Case, mode: &mut Mode, stocks: &Stocks, now: Time, mut trace: Option<&mut Trace>) {
    for (compartment, spec) in case.compartments.iter().enumerate() {
        let Some(relief) = spec.relief else { continue };
        let pressure = stocks.pressure(compartment);
        let opened = if mode.relief[compartment] {
            pressure > relief.closes_pa
        } else {
            pressure > relief.opens_pa * (1.0 + AT_SET_POINT)
        };
        if opened != mode.relief[compartment] {
            mode.relief[compartment] = opened;
            if let Some(trace) = trace.as_deref_mut() {
                trace.log.push(Entry {
                    at: now,
                    event: Event::Relief { compartment, opened },
                });
            }
        }
    }
}

/// Marks tanks that have nothing left to deliver.
fn dry_tanks(
    case: &Case,
    mode: &mut Mode,
    stocks: &mut Stocks,
    ledger: &mut Ledger,
    now: Time,
    mut trace: Option<&mut Trace>,
) {
    for (index, tank) in case.tanks.iter().enumerate() {
        if !mode.dry[index] && stocks.tank_mol[index] <= tank.residue_mol + DRY_MOL {
            mode.dry[index] = true;
            ledger.hardware.tanks[index].dry_at.get_or_insert(now);
            if let Some(trace) = trace.as_deref_mut() {
                trace.log.push(Entry {
                    at: now,
                    event: Event::TankDry(index),
                });
            }
        }
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
        for (index, hold) in case.holds.iter().enumerate() {
            let c = hold.compartment;
            // Oxygen first: what it adds counts towards the total.
            let oxygen = hold
                .oxygen_pa
                .filter(|_| hold.oxygen_by == Regulation::Ideal && mode.oxygen_works(case, index))
                .map_or(0.0, |p| p - stocks.p[OXYGEN][c]);
            added |= top_up_by(case, mode, system, stocks, ledger, c, OXYGEN, hold.oxygen_from, oxygen);
            let pressure = hold
                .pressure_pa
                .filter(|_| hold.pressure_by == Regulation::Ideal && mode.pressure_works(case, index))
                .map_or(0.0, |p| p - stocks.pressure(c));
            // In a group the total rises by less than what is let in here: aim at the group.
            let share = group_capacity(mode, system, mode.group[c]) / system.capacity[c];
            let (gas, from) = (pressure_gas(case, index), hold.pressure_from);
            added |= top_up_by(case, mode, system, stocks, ledger, c, gas, from, pressure * share);
        }
        any |= added;
        if !added {
            break;
        }
    }
    any
}

/// Lets in what a compartment lacks of a species, Pa, as far as its tank goes; whether that is more than rounding.
#[expect(clippy::too_many_arguments, reason = "the whole state takes part")]
fn top_up_by(
    case: &Case,
    mode: &Mode,
    system: &System,
    stocks: &mut Stocks,
    ledger: &mut Ledger,
    c: usize,
    species: usize,
    from: Option<usize>,
    lack: f64,
) -> bool {
    if lack <= 1e-9 * stocks.pressure(c).max(1.0) {
        return false;
    }
    let mut amount = lack * system.capacity[c];
    if let Some(tank) = from {
        amount = amount.min((stocks.tank_mol[tank] - case.tanks[tank].residue_mol).max(0.0));
        if amount <= DRY_MOL {
            return false;
        }
    }
    stocks.p[species][c] += amount / system.capacity[c];
    ledger.supply(species, amount);
    ledger.draw(stocks, from, amount);
    if mode.group_size[mode.group[c]] > 1 {
        equalise(case, mode, system, stocks, c);
    }
    true
}

/// The gas by which a hold keeps the total pressure.
pub(crate) fn pressure_gas(case: &Case, index: usize) -> usize {
    let from = case.holds[index].pressure_from;
    from.map_or(Species::Diluent, |tank| case.tanks[tank].gas) as usize
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
        let amount = (oxygen - stocks.p[OXYGEN][c]) * system.capacity[c];
        ledger.supply(OXYGEN, amount);
        ledger.draw(stocks, hold.oxygen_from, amount);
        stocks.p[OXYGEN][c] = oxygen;
    }
}

/// Puts a group's pressure exactly on its set point; what rounding lacked is counted as supplied.
fn set_pressure(case: &Case, mode: &Mode, system: &System, stocks: &mut Stocks, ledger: &mut Ledger, index: usize) {
    let hold = case.holds[index];
    let Some(pressure) = hold.pressure_pa else { return };
    let gas = pressure_gas(case, index);
    for a in 0..system.n {
        if mode.group[a] == mode.group[hold.compartment] {
            let lack = pressure - stocks.pressure(a);
            ledger.supply(gas, lack * system.capacity[a]);
            ledger.draw(stocks, hold.pressure_from, lack * system.capacity[a]);
            stocks.p[gas][a] += lack;
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
    for (a, compartment) in case.compartments.iter().enumerate().filter(|&(a, _)| !mode.inert[a]) {
        for (s, surface) in compartment.surfaces.iter().enumerate().take(SURFACES) {
            let (vapour, saturation) = (stocks.p[WATER][a], stocks.saturation_pa(case, a, surface));
            let wet = &mut mode.wet[a][s];
            // Where saturation goes with a temperature, it is known as well as a step is.
            let warm = if compartment.heat.is_some() {
                4.0 * allowed_whole(saturation, false)
            } else {
                0.0
            };
            let noise = system.noise_pa(saturation).max(warm);
            let left = stocks.film_mol[a][s] > DRY_MOL;
            let event = if !*wet && (vapour > saturation + noise || left) {
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
