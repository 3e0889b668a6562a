//! What the reference tells: the end, and what went where.

use breathroom_sim::engine::TransferKind;
use breathroom_sim::removal::Removal;
use breathroom_sim::units::Time;

use super::guards::Stop;
use super::laws::MASS;
use super::run::Run;

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

/// Masses of amounts, kg.
#[must_use]
pub fn kg(mol: [f64; 4]) -> [f64; 4] {
    std::array::from_fn(|s| mol[s] * MASS[s])
}

impl Run<'_> {
    /// Gas of every compartment at a state.
    pub(super) fn gas(&self, x: &[f64]) -> Vec<Gas> {
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

    pub(super) fn told(mut self, stop: Stop, start: Vec<Gas>) -> Solution {
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
