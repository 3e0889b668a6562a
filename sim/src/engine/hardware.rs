//! Books of tanks, devices, suits and transfers.

use crate::air::Species;
use crate::units::Time;

use super::Case;
use super::outcome::{DeviceOutcome, Outcome, SuitOutcome, TankOutcome, Transfer, TransferKind};
use super::people::Exchanged;
use super::state::Stocks;

/// A tank's book, mol.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct TankBook {
    /// Taken out of it.
    pub drawn: f64,
    /// When it ran dry.
    pub dry_at: Option<Time>,
    /// When it went below its reserve.
    pub reserve_at: Option<Time>,
}

/// A device's book, mol.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct DeviceBook {
    /// CO2 and water taken out of the air.
    pub taken: [f64; 2],
    /// Cabin gas lost at turns.
    pub lost: [f64; 4],
    /// Canisters taken out.
    pub spent: u32,
    /// Turns.
    pub turns: u32,
    /// Heat to the air, J.
    pub heat_j: f64,
}

/// A suit's book, mol and J.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct SuitBook {
    /// Time worn, s.
    pub worn_s: f64,
    sensible_j: f64,
    latent_j: f64,
    vapour: f64,
    runoff: f64,
    /// Oxygen let in.
    pub oxygen: f64,
}

impl SuitBook {
    /// Adds what its wearer exchanged.
    pub fn add(&mut self, exchanged: &Exchanged) {
        self.sensible_j += exchanged.sensible_j;
        self.latent_j += exchanged.latent_j;
        self.vapour += exchanged.vapour;
        self.runoff += exchanged.runoff;
    }
}

/// The books of all hardware.
#[derive(Clone, Debug, Default)]
pub(crate) struct Hardware {
    /// By tank.
    pub tanks: Vec<TankBook>,
    /// By device.
    pub devices: Vec<DeviceBook>,
    /// By suit.
    pub suits: Vec<SuitBook>,
    /// By transfer: gas lost, let in or moved, by species.
    pub transfers: Vec<[f64; 4]>,
}

impl Hardware {
    /// Opens the books.
    pub fn reset(&mut self, case: &Case) {
        self.tanks.clear();
        self.tanks.resize(case.tanks.len(), TankBook::default());
        self.devices.clear();
        self.devices.resize(case.devices.len(), DeviceBook::default());
        self.suits.clear();
        self.suits.resize(case.suits.len(), SuitBook::default());
        self.transfers.clear();
    }

    /// Closes the books.
    pub fn finish(&self, case: &Case, stocks: &Stocks, transfers: &[Transfer], out: &mut Outcome) {
        let kg = |species: Species, mol: f64| species.molar_mass_kg_mol() * mol;
        let all = |mol: [f64; 4]| Species::ALL.map(|species| kg(species, mol[species as usize]));
        out.tanks.clear();
        out.devices.clear();
        out.suits.clear();
        out.transfers.clear();
        out.tanks
            .extend(self.tanks.iter().enumerate().map(|(t, book)| TankOutcome {
                used_kg: kg(case.tanks[t].gas, book.drawn),
                left_kg: kg(case.tanks[t].gas, stocks.tank_mol[t]),
                dry_at: book.dry_at,
                reserve_at: book.reserve_at,
            }));
        out.devices.extend(self.devices.iter().enumerate().map(|(d, book)| {
            let [co2, water] = stocks.held_mol(case, d, None);
            DeviceOutcome {
                co2_kg: kg(Species::Co2, book.taken[0]),
                water_kg: kg(Species::Water, book.taken[1]),
                co2_held_kg: kg(Species::Co2, co2),
                water_held_kg: kg(Species::Water, water),
                canisters_spent: book.spent,
                turns: book.turns,
                lost_kg: all(book.lost),
                heat_mj: book.heat_j * 1e-6,
            }
        }));
        out.suits.extend(self.suits.iter().map(|book| SuitOutcome {
            worn_s: book.worn_s,
            sensible_mj: book.sensible_j * 1e-6,
            latent_mj: book.latent_j * 1e-6,
            vapour_kg: kg(Species::Water, book.vapour),
            runoff_kg: kg(Species::Water, book.runoff),
            oxygen_kg: kg(Species::Oxygen, book.oxygen),
        }));
        out.transfers
            .extend(transfers.iter().zip(&self.transfers).map(|(transfer, mol)| Transfer {
                // Of an equalisation either end may be the higher: what moved counts, not which way.
                gas_kg: all(mol.map(|amount| match transfer.kind {
                    TransferKind::Equalise => amount.abs(),
                    _ => amount,
                })),
                ..*transfer
            }));
    }
}
