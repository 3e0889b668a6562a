//! A device's law, from its numbers: laid once for a segment, or (while a fault is changing them) at every instant.

use crate::removal::{Device, Removal};
use crate::upset::DeviceNumber;

use super::super::mode::TAKEN;
use super::super::upset::{Drift, set_of_device};
use super::parts::TakerLaw;

/// How a device stands in its mode: with its numbers this makes its law.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Standing {
    /// Factor of its turn, without its capacity.
    pub factor: f64,
    /// Pieces of its laws for CO2 and water.
    pub piece: [usize; 2],
    /// Temperature at which its lines are worked out, K.
    pub at_k: f64,
    /// Place in the state of what it holds.
    pub state: usize,
    /// Number of the half-cycle of its beds.
    pub turn: u64,
    /// Its knee is no event.
    pub one_way: bool,
}

/// The law of a device.
pub(crate) fn law(device: &Device, standing: &Standing) -> TakerLaw {
    let Standing {
        piece,
        at_k,
        state,
        turn,
        one_way,
        ..
    } = *standing;
    let factor = device.capacity * standing.factor;
    let line = |taken: usize| device.line(TAKEN[taken], piece[taken], at_k, factor);
    match &device.removal {
        Removal::FlowThrough { .. } | Removal::Curve { .. } => TakerLaw::Lines {
            lines: [line(0), line(1)],
            at_k,
            by_flow: matches!(device.removal, Removal::FlowThrough { .. }),
        },
        Removal::Condenser {
            flow_m3_s,
            bypass,
            coil_temperature_k,
            ..
        } => TakerLaw::Coil {
            line: line(1),
            at_k,
            flow_m3_s: factor * flow_m3_s * (1.0 - bypass),
            coil_k: *coil_temperature_k,
            one_way,
        },
        Removal::Sorbent {
            flow_m3_s,
            capacity_mol,
            sharpness,
            bypass,
            water_per_co2,
            heat_j_mol,
            ..
        } => TakerLaw::Canister {
            flow_m3_s: factor * flow_m3_s * (1.0 - bypass),
            state,
            capacity_mol: *capacity_mol,
            sharpness: *sharpness,
            water_per_co2: *water_per_co2,
            heat_j_mol: *heat_j_mol,
        },
        Removal::SwingBed(bed) => TakerLaw::Beds {
            bed: bed.prepared(),
            bed_kg: bed.bed_kg,
            flow_m3_s: factor * bed.flow_m3_s,
            state,
            beds: bed.at_turn(turn),
        },
    }
}

/// A device whose numbers a fault is changing.
#[derive(Clone, Debug)]
pub(crate) struct Redone {
    /// It, as it was laid.
    pub device: Device,
    /// How it stands.
    pub standing: Standing,
    /// Which drift changes which number.
    pub numbers: Vec<(usize, DeviceNumber)>,
}

impl Redone {
    /// Its law and its power, W, where the drifts have come to these values.
    pub fn at(&self, values: &[f64]) -> (TakerLaw, f64) {
        let mut device = self.device.clone();
        for &(drift, number) in &self.numbers {
            set_of_device(&mut device, number, values[drift]);
        }
        (law(&device, &self.standing), device.power_w)
    }
}

/// The drifts that change numbers of a device.
pub(crate) fn numbers_of(drifts: &[Drift], device: usize) -> Vec<(usize, DeviceNumber)> {
    let of = |(index, drift): (usize, &Drift)| match drift.target {
        crate::upset::Target::Device { device: own, number } if own == device => Some((index, number)),
        _ => None,
    };
    drifts.iter().enumerate().filter_map(of).collect()
}
