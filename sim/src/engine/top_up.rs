//! Gas that holds let in at once: at the start, and after an event has moved gas.

use crate::air::{Regulation, Species};
use crate::units::Time;

use super::Case;
use super::hatch::equalise;
use super::indices::OXYGEN;
use super::ledger::Ledger;
use super::mode::Mode;
use super::state::Stocks;
use super::system::System;
use super::trace::{Entry, Event, Trace};

/// A tank with no more than this to deliver is dry, mol.
const DRY_MOL: f64 = 1e-9;

/// Adds at once what holds lack by more than rounding: at the start, or after a hatch has moved gas. In a joined group what
/// is added spreads at once, so a few rounds are needed.
pub(crate) fn top_up(case: &Case, mode: &Mode, system: &System, stocks: &mut Stocks, ledger: &mut Ledger) -> bool {
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
pub(crate) fn set_oxygen(case: &Case, system: &System, stocks: &mut Stocks, ledger: &mut Ledger, index: usize) {
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
pub(crate) fn set_pressure(
    case: &Case,
    mode: &Mode,
    system: &System,
    stocks: &mut Stocks,
    ledger: &mut Ledger,
    index: usize,
) {
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

/// Marks tanks that have nothing left to deliver.
pub(crate) fn dry_tanks(
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
