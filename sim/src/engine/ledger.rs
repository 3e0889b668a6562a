//! The books of carbon, oxygen, water and diluent.
//!
//! Every flow is its rate constant times the independent integral of what drives it, never what came in minus what is left:
//! so a wrong coefficient, or a solution that does not belong to its equations, shows as a residual.
//!
//! ```text
//! residual = (start + made + supplied - used - removed - lost - end) / throughput
//! throughput = start + all flows, each counted positive
//! ```
//!
//! Amounts in mol.

use crate::air::{GAS_CONSTANT_J_MOL_K, MOST, Place, Species};
use crate::removal::Removal;
use crate::timeline::{Effect, SuitUse};

use super::Case;
use super::expo::phi1;
use super::hardware::Hardware;
use super::indices::{CO2, DILUENT, OXYGEN, WATER};
use super::mode::{Mode, SURFACES, TAKEN};
use super::outcome::{Balance, Totals};
use super::people::{Crew, Exchanged};
use super::segment::{Integrals, Segment, Sum};
use super::state::Stocks;
use super::system::{System, conductance};
use super::top_up::pressure_gas;
use super::valve::{diluent_flow, is_held, oxygen_flow};
use super::whole::{Maker, Plumbing, tap};

/// Flows of one species over the run, mol.
#[derive(Clone, Copy, Debug, Default)]
struct Account {
    start: f64,
    /// From people, and from runoff into towels.
    made: f64,
    supplied: f64,
    used: f64,
    removed: f64,
    lost: f64,
    /// Lost in vents and to the vacuum, by relief valves, and at turns of beds.
    vented: f64,
    relieved: f64,
    turn_lost: f64,
    /// Let in by fills, and into suits.
    filled: f64,
    to_suits: f64,
    /// All flows counted positive.
    turnover: f64,
}

/// The books of a run.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ledger {
    accounts: [Account; 4],
    condensed: f64,
    evaporated_from_towels: f64,
    vapour: f64,
    runoff: f64,
    sensible_j: f64,
    latent_j: f64,
    sorbent_water: f64,
    /// What devices, tanks, suits and transfers did.
    pub hardware: Hardware,
}

impl Account {
    fn residual(&self, end: f64) -> f64 {
        let throughput = self.start + self.turnover;
        let came = self.start + self.made + self.supplied + self.filled + self.to_suits;
        let went = self.used + self.removed + self.lost + self.vented + self.relieved + self.turn_lost;
        let rest = came - went - end;
        if throughput > 0.0 { rest / throughput } else { rest }
    }
}

impl Ledger {
    /// Opens the books on what is there.
    pub fn reset(&mut self, case: &Case, system: &System, stocks: &Stocks) {
        let mut hardware = std::mem::take(&mut self.hardware);
        hardware.reset(case);
        *self = Self {
            hardware,
            ..Self::default()
        };
        for i in 0..4 {
            self.accounts[i].start = amount(system, stocks, i);
        }
    }

    /// Gas that a hold adds at once.
    pub fn supply(&mut self, species: usize, amount: f64) {
        self.accounts[species].supplied += amount;
        self.accounts[species].turnover += amount.abs();
    }

    /// Draws on a tank, if there is one.
    pub fn draw(&mut self, stocks: &mut Stocks, tank: Option<usize>, amount: f64) {
        if let Some(tank) = tank {
            stocks.tank_mol[tank] -= amount;
            self.hardware.tanks[tank].drawn += amount;
        }
    }

    /// Gas lost in a vent or to the vacuum.
    pub fn vent(&mut self, species: usize, amount: f64) {
        self.accounts[species].vented += amount;
        self.accounts[species].turnover += amount.abs();
    }

    /// Gas let in by a fill.
    pub fn fill(&mut self, species: usize, amount: f64) {
        self.accounts[species].filled += amount;
        self.accounts[species].turnover += amount.abs();
    }

    /// Oxygen let into a suit.
    pub fn let_into_suit(&mut self, suit: usize, amount: f64) {
        self.accounts[OXYGEN].to_suits += amount;
        self.accounts[OXYGEN].turnover += amount.abs();
        self.hardware.suits[suit].oxygen += amount;
    }

    /// Gas of the cabin lost at a turn of beds.
    pub fn lose_at_turn(&mut self, device: usize, species: usize, amount: f64) {
        self.accounts[species].turn_lost += amount;
        self.accounts[species].turnover += amount.abs();
        self.hardware.devices[device].lost[species] += amount;
    }

    /// Books a segment that was integrated whole, from what flowed through its taps; moves films, towels, tanks and people's
    /// lags to its end.
    #[expect(clippy::too_many_arguments, reason = "the whole state takes part")]
    pub fn book_whole(
        &mut self,
        case: &Case,
        mode: &Mode,
        (plumbing, maker): (&Plumbing, &Maker),
        segment: &Segment,
        length_s: f64,
        stocks: &mut Stocks,
        crew: &mut Crew,
    ) {
        let amount = |tap: usize| maker.amount(segment, tap);
        for i in 0..4 {
            self.lost(i, amount(tap::LEAK + i));
            self.vent(i, amount(tap::VENT + i));
            let relieved = amount(tap::RELIEF + i);
            self.accounts[i].relieved += relieved;
            self.accounts[i].turnover += relieved.abs();
        }
        for (d, &first) in plumbing.device_tap.iter().enumerate() {
            let Some(first) = first else { continue };
            let (co2, water, heat_j) = (amount(first), amount(first + 1), amount(first + 2));
            let book = &mut self.hardware.devices[d];
            book.taken[0] += co2;
            book.taken[1] += water;
            book.heat_j += heat_j;
            self.accounts[CO2].removed += co2;
            self.accounts[CO2].turnover += co2.abs();
            if matches!(case.devices[d].removal, Removal::Sorbent { .. }) {
                self.made(WATER, -water);
                self.sorbent_water -= water;
            } else {
                self.accounts[WATER].removed += water;
                self.accounts[WATER].turnover += water.abs();
            }
        }
        for (tap, tank) in plumbing.draws(case, mode, crew) {
            self.draw(stocks, Some(tank), amount(tap));
        }
        for index in 0..case.holds.len() {
            if let Some(tap) = plumbing.oxygen_tap[index] {
                self.supply(OXYGEN, amount(tap));
            }
            if let Some(tap) = plumbing.pressure_tap[index] {
                self.supply(pressure_gas(case, index), amount(tap));
            }
        }
        for (index, tap) in plumbing.suit_tap.iter().enumerate() {
            if let Some(tap) = *tap {
                self.let_into_suit(index, amount(tap));
            }
        }
        for (running, &first) in mode.transfers.iter().zip(&plumbing.transfer_tap) {
            for i in 0..4 {
                let moved = amount(first + i);
                self.hardware.transfers[running.record][i] += moved;
                if matches!(running.effect, Effect::Fill { .. }) {
                    self.fill(i, moved);
                }
            }
        }
        for (a, taps) in plumbing.film_tap.iter().enumerate() {
            for (s, tap) in taps.iter().enumerate() {
                let Some(tap) = *tap else { continue };
                let collected = amount(tap);
                stocks.film_mol[a][s] += collected;
                self.condensed += collected;
                self.accounts[WATER].turnover += collected.abs();
            }
        }
        self.book_people(case, length_s, stocks, crew);
    }

    /// Towels and people, whose flows are known beforehand.
    fn book_people(&mut self, case: &Case, length_s: f64, stocks: &mut Stocks, crew: &mut Crew) {
        for a in 0..case.compartments.len() {
            let runoff = crew.runoff_to_towel(case, a);
            self.book_towel(case, runoff, length_s, &mut stocks.towel_mol[a]);
        }
        for (index, suit) in case.suits.iter().enumerate() {
            if crew.people[suit.wearer].suit != SuitUse::Off {
                self.hardware.suits[index].worn_s += length_s;
            }
        }
        crew.advance(case, length_s, |_, air, exchanged| {
            if let Place::Compartment(a) = air {
                self.book_person(exchanged);
                if let Some(index) = case.suits.iter().position(|suit| suit.compartment == a) {
                    self.hardware.suits[index].add(exchanged);
                }
            }
        });
    }

    /// Books a segment that has been solved, and moves films, towels and people's lags to its end.
    #[expect(clippy::too_many_arguments, reason = "the whole state takes part")]
    pub fn book(
        &mut self,
        case: &Case,
        mode: &Mode,
        system: &System,
        segment: &Segment,
        integrals: &Integrals,
        stocks: &mut Stocks,
        crew: &mut Crew,
    ) {
        self.book_devices(case, mode, integrals);
        self.book_losses(case, mode, integrals);
        self.book_valves(case, mode, system, segment, integrals, stocks);
        self.book_films(case, mode, integrals, stocks);
        self.book_people(case, integrals.length_s, stocks, crew);
    }

    fn book_person(&mut self, exchanged: &Exchanged) {
        self.made(CO2, exchanged.co2);
        self.made(WATER, exchanged.vapour);
        self.accounts[OXYGEN].used += exchanged.oxygen;
        self.accounts[OXYGEN].turnover += exchanged.oxygen.abs();
        self.vapour += exchanged.vapour;
        self.runoff += exchanged.runoff;
        self.sensible_j += exchanged.sensible_j;
        self.latent_j += exchanged.latent_j;
    }

    fn made(&mut self, species: usize, amount: f64) {
        self.accounts[species].made += amount;
        self.accounts[species].turnover += amount.abs();
    }

    fn book_devices(&mut self, case: &Case, mode: &Mode, integrals: &Integrals) {
        for (d, device) in case.devices.iter().enumerate() {
            let factor = mode.factor(case, d);
            if factor == 0.0 {
                continue;
            }
            let a = device.serves;
            for (taken, species) in TAKEN.into_iter().enumerate() {
                let line = device.line(
                    species,
                    mode.piece[d][taken],
                    case.compartments[a].temperature_k,
                    factor,
                );
                let i = species as usize;
                let removed = line.conductance_mol_s_pa * integrals.p[i][a] - line.offset_mol_s * integrals.length_s;
                self.accounts[i].removed += removed;
                self.accounts[i].turnover += removed.abs();
                self.hardware.devices[d].taken[taken] += removed;
            }
            self.hardware.devices[d].heat_j += device.power_w * integrals.length_s;
        }
    }

    fn book_losses(&mut self, case: &Case, mode: &Mode, integrals: &Integrals) {
        for (a, compartment) in case.compartments.iter().enumerate() {
            let per_volume = 1.0 / (GAS_CONSTANT_J_MOL_K * compartment.temperature_k);
            for i in 0..4 {
                self.lost(i, compartment.leak_m3_s * per_volume * integrals.p[i][a]);
            }
        }
        for (opening, &open) in case.openings.iter().zip(&mode.open) {
            let a = match opening.between {
                [Place::Compartment(a), Place::Outside] | [Place::Outside, Place::Compartment(a)] if open => a,
                _ => continue,
            };
            let conductance = conductance(case, opening);
            for i in 0..4 {
                self.lost(i, conductance * integrals.p[i][a]);
                self.lost(i, -conductance * case.outside.partial_pa[i] * integrals.length_s);
            }
        }
    }

    /// Gas lost to the outside, but for vents.
    pub fn lost(&mut self, species: usize, amount: f64) {
        self.accounts[species].lost += amount;
        self.accounts[species].turnover += amount.abs();
    }

    fn book_valves(
        &mut self,
        case: &Case,
        mode: &Mode,
        system: &System,
        segment: &Segment,
        integrals: &Integrals,
        stocks: &mut Stocks,
    ) {
        for (index, hold) in case.holds.iter().enumerate() {
            if mode.oxygen_flows[index] && system.oxygen_held[hold.compartment].is_some() {
                let amount = over(&oxygen_flow(system, hold.compartment), system, segment, integrals);
                self.supply(OXYGEN, amount);
                self.draw(stocks, hold.oxygen_from, amount);
            }
            let group = system.group[hold.compartment];
            if mode.pressure_flows[index] && is_held(system, group) {
                let amount = over(&diluent_flow(system, group), system, segment, integrals);
                self.supply(DILUENT, amount);
                self.draw(stocks, hold.pressure_from, amount);
            }
        }
    }

    fn book_films(&mut self, case: &Case, mode: &Mode, integrals: &Integrals, stocks: &mut Stocks) {
        for (a, compartment) in case.compartments.iter().enumerate() {
            for (s, surface) in compartment.surfaces.iter().enumerate().take(SURFACES) {
                if mode.wet[a][s] {
                    let driven = integrals.p[WATER][a] - surface.saturation_pa * integrals.length_s;
                    let collected = surface.conductance_mol_s_pa * driven;
                    stocks.film_mol[a][s] += collected;
                    self.condensed += collected;
                    self.accounts[WATER].turnover += collected.abs();
                }
            }
        }
    }

    fn book_towel(&mut self, case: &Case, runoff: f64, t: f64, towel_mol: &mut f64) {
        let mu = 1.0 / case.towel_drying_s;
        let excess = *towel_mol * mu - runoff;
        self.evaporated_from_towels += runoff * t + excess * phi1(mu, t);
        self.made(WATER, runoff * t);
        // The pool tends to runoff over mu.
        let steady = runoff * case.towel_drying_s;
        *towel_mol = steady + (*towel_mol - steady) * libm::exp(-mu * t);
    }

    /// The totals so far.
    pub fn totals(&self) -> Totals {
        let kg = |species: Species, mol: f64| species.molar_mass_kg_mol() * mol;
        let account = |species: Species| &self.accounts[species as usize];
        Totals {
            co2_made_kg: kg(Species::Co2, account(Species::Co2).made),
            co2_removed_kg: kg(Species::Co2, account(Species::Co2).removed),
            water_made_kg: kg(Species::Water, self.vapour + self.evaporated_from_towels),
            runoff_kg: kg(Species::Water, self.runoff),
            water_removed_kg: kg(Species::Water, account(Species::Water).removed),
            water_condensed_kg: kg(Species::Water, self.condensed),
            oxygen_used_kg: kg(Species::Oxygen, account(Species::Oxygen).used),
            oxygen_supplied_kg: kg(Species::Oxygen, account(Species::Oxygen).supplied),
            diluent_supplied_kg: kg(Species::Diluent, account(Species::Diluent).supplied),
            sensible_mj: self.sensible_j * 1e-6,
            latent_mj: self.latent_j * 1e-6,
            leaked_kg: Species::ALL.map(|species| kg(species, account(species).lost)),
            vented_kg: Species::ALL.map(|species| kg(species, account(species).vented)),
            relieved_kg: Species::ALL.map(|species| kg(species, account(species).relieved)),
            turn_lost_kg: Species::ALL.map(|species| kg(species, account(species).turn_lost)),
            oxygen_filled_kg: kg(Species::Oxygen, account(Species::Oxygen).filled),
            diluent_filled_kg: kg(Species::Diluent, account(Species::Diluent).filled),
            oxygen_to_suits_kg: kg(Species::Oxygen, account(Species::Oxygen).to_suits),
            sorbent_water_kg: kg(Species::Water, self.sorbent_water),
        }
    }

    /// The residuals, given what is there now.
    pub fn balance(&self, system: &System, stocks: &Stocks) -> Balance {
        let liquid: f64 = (0..system.n).map(|a| stocks.liquid_mol(a)).sum();
        Balance {
            carbon: self.accounts[CO2].residual(amount(system, stocks, CO2)),
            oxygen: self.accounts[OXYGEN].residual(amount(system, stocks, OXYGEN)),
            water: self.accounts[WATER].residual(amount(system, stocks, WATER) + liquid),
            diluent: self.accounts[DILUENT].residual(amount(system, stocks, DILUENT)),
        }
    }
}

fn amount(system: &System, stocks: &Stocks, i: usize) -> f64 {
    (0..system.n).map(|a| system.capacity[a] * stocks.p[i][a]).sum()
}

/// The integral of a sum over the segment.
fn over(sum: &Sum, system: &System, segment: &Segment, integrals: &Integrals) -> f64 {
    let t = integrals.length_s;
    let mut total = sum.constant * t;
    for a in 0..system.n {
        for i in 0..4 {
            total += sum.p[i][a] * integrals.p[i][a];
        }
        if sum.oxygen_inflow[a] != 0.0 {
            total += sum.oxygen_inflow[a] * segment.oxygen_inflow(a, t);
        }
    }
    for i in 0..3 {
        let dying = &system.dying[i];
        for l in 0..dying.count {
            let weight: f64 = (0..MOST.min(system.n))
                .map(|a| sum.dying[i][a] * dying.amount[l][a])
                .sum();
            if weight != 0.0 {
                total += weight * phi1(dying.mu[l], t);
            }
        }
    }
    total
}

#[cfg(test)]
mod tests;
