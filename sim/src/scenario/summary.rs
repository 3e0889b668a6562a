//! What `check` says of each removal device: how fast it clears the room it serves.
//!
//! `tau = V / (e Q)`: free volume over the flow that is cleared. For a curve, `Q e` is the removal rate over the inlet's
//! partial pressure at its first point, times R T; a condenser's `e` is the part of the flow that meets the coil. A canister is
//! taken as fresh, and a pair of beds as clean, in the air of the start: the fastest that they clear it.

use crate::air::{Compartment, GAS_CONSTANT_J_MOL_K, Species};
use crate::engine::Case;
use crate::removal::{Device, Removal, sorbent};

use super::Scenario;

/// Least partial pressure at which a clean bed is asked, Pa: far below any that matters.
const LEAST_PA: f64 = 1.0;

/// How fast a device clears the compartment it serves.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceSummary {
    /// Its name.
    pub device: String,
    /// The compartment it serves.
    pub serves: String,
    /// On at the start.
    pub on: bool,
    /// Time constant for CO2, V/(e Q), s; none if it takes none.
    pub co2_s: Option<f64>,
    /// The same for water vapour. A condenser's holds only above its coil's saturation pressure.
    pub water_s: Option<f64>,
    /// What its canisters are; none if it has none.
    pub canister: Option<CanisterSummary>,
}

/// What a device's canisters amount to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CanisterSummary {
    /// CO2 that one takes in all, kg.
    pub capacity_kg: f64,
    /// Fresh ones in stock.
    pub stock: u32,
    /// Vapour given off, kg for each kg of CO2.
    pub vapour_kg_kg: f64,
    /// Heat given off, J for each kg of CO2.
    pub heat_j_kg: f64,
}

impl Scenario {
    /// The devices of a case of this scenario, at full factor of their cycles.
    #[must_use]
    pub fn device_summaries(&self, case: &Case) -> Vec<DeviceSummary> {
        let mut list = Vec::new();
        for (name, device) in self.names.devices.iter().zip(&case.devices) {
            let Some(compartment) = case.compartments.get(device.serves) else {
                continue;
            };
            let cleared = cleared_m3_s(device, compartment);
            let [co2_s, water_s] = cleared.map(|flow| (flow > 0.0).then(|| compartment.volume_m3 / flow));
            let serves = self.names.compartments.get(device.serves).cloned().unwrap_or_default();
            list.push(DeviceSummary {
                device: name.clone(),
                serves,
                on: device.on,
                co2_s,
                water_s,
                canister: canister(device),
            });
        }
        list
    }
}

fn canister(device: &Device) -> Option<CanisterSummary> {
    let Removal::Sorbent {
        capacity_mol,
        water_per_co2,
        heat_j_mol,
        canisters,
        ..
    } = &device.removal
    else {
        return None;
    };
    let [co2, water] = [Species::Co2, Species::Water].map(Species::molar_mass_kg_mol);
    Some(CanisterSummary {
        capacity_kg: capacity_mol * co2,
        stock: *canisters,
        vapour_kg_kg: water_per_co2 * water / co2,
        heat_j_kg: heat_j_mol / co2,
    })
}

/// Volume cleared of CO2 and of water per time, m3/s.
fn cleared_m3_s(device: &Device, compartment: &Compartment) -> [f64; 2] {
    let rt = GAS_CONSTANT_J_MOL_K * compartment.temperature_k;
    match &device.removal {
        Removal::FlowThrough {
            flow_m3_s,
            co2_efficiency,
            water_efficiency,
        } => [flow_m3_s * co2_efficiency, flow_m3_s * water_efficiency],
        Removal::Condenser {
            flow_m3_s,
            bypass,
            carry_over,
            ..
        } => [0.0, flow_m3_s * (1.0 - bypass) * (1.0 - carry_over)],
        Removal::Sorbent {
            flow_m3_s,
            bypass,
            sharpness,
            ..
        } => [flow_m3_s * (1.0 - bypass) * sorbent::takes(*sharpness, 0.0), 0.0],
        Removal::SwingBed(bed) => {
            let p = [0, 1].map(|n| compartment.partial_pa[n].max(LEAST_PA));
            let taken = bed.uptake_mol_s(bed.flow_m3_s / rt, p, [0.0, 0.0]);
            [0, 1].map(|n| taken[n] * rt / p[n])
        }
        Removal::Curve { co2, water } => {
            [co2, water].map(|points| points.first().map_or(0.0, |(pressure, rate)| rate * rt / pressure))
        }
    }
}
