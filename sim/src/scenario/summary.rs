//! What `check` says of each removal device: how fast it clears the room it serves.
//!
//! `tau = V / (e Q)`: free volume over the flow that is cleared. For a curve, `Q e` is the removal rate over the inlet's
//! partial pressure at its first point, times R T; a condenser's `e` is the part of the flow that meets the coil.

use crate::air::GAS_CONSTANT_J_MOL_K;
use crate::engine::Case;
use crate::removal::{Device, Removal};

use super::Scenario;

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
            let cleared = cleared_m3_s(device, compartment.temperature_k);
            let [co2_s, water_s] = cleared.map(|flow| (flow > 0.0).then(|| compartment.volume_m3 / flow));
            let serves = self.names.compartments.get(device.serves).cloned().unwrap_or_default();
            list.push(DeviceSummary {
                device: name.clone(),
                serves,
                on: device.on,
                co2_s,
                water_s,
            });
        }
        list
    }
}

/// Volume cleared of CO2 and of water per time, m3/s.
fn cleared_m3_s(device: &Device, temperature_k: f64) -> [f64; 2] {
    match &device.removal {
        Removal::FlowThrough {
            flow_m3_s,
            co2_efficiency,
            water_efficiency,
        } => [flow_m3_s * co2_efficiency, flow_m3_s * water_efficiency],
        Removal::Condenser { flow_m3_s, bypass, .. } => [0.0, flow_m3_s * (1.0 - bypass)],
        Removal::Sorbent { flow_m3_s, bypass, .. } => [flow_m3_s * (1.0 - bypass), 0.0],
        Removal::SwingBed(bed) => [bed.flow_m3_s; 2],
        Removal::Curve { co2, water } => [co2, water].map(|points| {
            points.first().map_or(0.0, |(pressure, rate)| {
                rate * GAS_CONSTANT_J_MOL_K * temperature_k / pressure
            })
        }),
    }
}
