//! What `check` says of each removal device: what it takes at some partial pressures at its inlet.
//!
//! A device whose law knows no loading has one row. A canister has one for each of a few loadings, a pair of beds one while it is
//! clean and one for the mean of its half-cycles once they repeat. The other species is as at the start.

use crate::air::{Compartment, GAS_CONSTANT_J_MOL_K, Species};
use crate::engine::Case;
use crate::limits::{Quantity, Statistic};
use crate::removal::{Device, Removal, SwingBed, sorbent};

use super::Scenario;

/// Loadings of a canister that are told, with their words.
const LOADINGS: [(f64, &str); 3] = [(0.0, "fresh"), (0.5, "half used"), (0.9, "90 % used")];
/// CO2 around which rates are told where no limit is given, Pa: 3 mmHg, the usual mean over an hour.
const WITHOUT_LIMIT_PA: f64 = 3.0 * 133.322;
/// Two limits closer than this have nothing told between them.
const FAR_APART: f64 = 1.5;

/// What a device takes.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceRates {
    /// Its name.
    pub device: String,
    /// Rows against partial pressure of CO2; none if that changes nothing.
    pub co2: Vec<StateRates>,
    /// Rows against partial pressure of water vapour, likewise.
    pub water: Vec<StateRates>,
}

/// What a device takes in one state.
#[derive(Clone, Debug, PartialEq)]
pub struct StateRates {
    /// The state in words; empty where there is only one.
    pub state: &'static str,
    /// Taken at each of the partial pressures, mol/s; below zero: given off.
    pub taken_mol_s: Vec<f64>,
}

impl Scenario {
    /// Partial pressures of CO2 around the limits of a case, Pa, rising: what rates are worth telling at.
    #[must_use]
    pub fn co2_of_note_pa(&self, case: &Case) -> Vec<f64> {
        let numbers = case
            .rules
            .iter()
            .filter(|r| r.quantity == Quantity::Co2)
            .map(|r| match r.statistic {
                Statistic::Allowance { threshold, .. } => threshold,
                _ => r.limit,
            });
        let (lo, hi) = numbers
            .filter(|p| *p > 0.0)
            .fold((f64::INFINITY, 0.0_f64), |(lo, hi), p| (lo.min(p), hi.max(p)));
        let (lo, hi) = if hi > 0.0 {
            (lo, hi)
        } else {
            (WITHOUT_LIMIT_PA, WITHOUT_LIMIT_PA)
        };
        if hi > FAR_APART * lo {
            vec![0.5 * lo, lo, libm::sqrt(lo * hi), hi, 2.0 * hi]
        } else {
            vec![0.25 * lo, 0.5 * lo, lo, 2.0 * hi, 4.0 * hi]
        }
    }

    /// What each device of a case of this scenario takes at these partial pressures of CO2, Pa, and these relative humidities, at
    /// full factor of its cycle.
    #[must_use]
    pub fn device_rates(&self, case: &Case, co2_pa: &[f64], humidity: &[f64]) -> Vec<DeviceRates> {
        let served = |device: &Device| case.compartments.get(device.serves);
        let devices = self.names.devices.iter().zip(&case.devices);
        let known = devices.filter_map(|(name, device)| Some((name, device, served(device)?)));
        known
            .map(|(name, device, compartment)| {
                let water_pa: Vec<f64> = humidity.iter().map(|h| h * compartment.saturation_pa).collect();
                DeviceRates {
                    device: name.clone(),
                    co2: rows(device, compartment, Species::Co2, co2_pa),
                    water: rows(device, compartment, Species::Water, &water_pa),
                }
            })
            .collect()
    }
}

/// The rows of a device against partial pressures of one species.
fn rows(device: &Device, compartment: &Compartment, species: Species, at_pa: &[f64]) -> Vec<StateRates> {
    let t = compartment.temperature_k;
    let row = |state, taken: &dyn Fn(f64) -> f64| StateRates {
        state,
        taken_mol_s: at_pa.iter().map(|p| taken(*p)).collect(),
    };
    match &device.removal {
        Removal::Sorbent {
            flow_m3_s,
            sharpness,
            bypass,
            ..
        } => {
            if species != Species::Co2 {
                return Vec::new();
            }
            let meets = flow_m3_s * (1.0 - bypass) / (GAS_CONSTANT_J_MOL_K * t);
            let taken = |held| move |p: f64| meets * p * sorbent::takes(*sharpness, held);
            LOADINGS.iter().map(|(held, state)| row(state, &taken(*held))).collect()
        }
        Removal::SwingBed(bed) => {
            let per_pa = bed.flow_m3_s / (GAS_CONSTANT_J_MOL_K * t);
            let n = species as usize;
            let inlet = |p: f64| {
                let mut inlet = [compartment.partial_pa[0], compartment.partial_pa[1]];
                inlet[n] = p;
                inlet
            };
            let of = |law: &dyn Fn(&SwingBed, [f64; 2]) -> [f64; 2], p: f64| law(bed, inlet(p))[n];
            let clean = |bed: &SwingBed, inlet| bed.uptake_mol_s(per_pa, inlet, [0.0, 0.0]);
            let mean = |bed: &SwingBed, inlet| bed.mean_uptake_mol_s(per_pa, inlet);
            vec![
                row("clean bed", &|p| of(&clean, p)),
                row("mean of its cycle", &|p| of(&mean, p)),
            ]
        }
        removal => {
            if device.pieces(species) == 0 {
                return Vec::new();
            }
            let kept = match removal {
                Removal::Condenser { carry_over, .. } => 1.0 - carry_over,
                _ => 1.0,
            };
            let only = row("", &|p| kept * device.rate_mol_s(species, p, t));
            let takes = only.taken_mol_s.iter().any(|taken| *taken != 0.0);
            if takes { vec![only] } else { Vec::new() }
        }
    }
}
