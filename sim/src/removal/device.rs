//! A device as numbers: its family, its parameters, its turns; and its law as lines, from the file of its family.

use crate::air::{GAS_CONSTANT_J_MOL_K, Species};
use crate::units::Time;

use super::{Line, SwingBed, condenser, curve, flow_through};

/// A removal device.
#[derive(Clone, Debug)]
pub struct Device {
    /// Index of the compartment it serves.
    pub serves: usize,
    /// On at the start.
    pub on: bool,
    /// What it does.
    pub removal: Removal,
    /// Electric power while on, W: heat to the air of a compartment with a heat balance.
    pub power_w: f64,
    /// The part of what it would take at the same inlet that it takes; 1 unless a fault changes it.
    pub capacity: f64,
    /// Turns that scale its efficiencies (or curve, or condenser flow); none: always 1.
    pub cycle: Option<Cycle>,
}

/// The family of a removal device with its numbers.
#[derive(Clone, Debug)]
pub enum Removal {
    /// Takes a fixed fraction out of a fixed flow.
    FlowThrough {
        /// Actual volume at the inlet, m3/s.
        flow_m3_s: f64,
        /// Fraction of the inlet's CO2 removed.
        co2_efficiency: f64,
        /// Fraction of the inlet's water removed.
        water_efficiency: f64,
    },
    /// Removal rate against inlet partial pressure, linear between points, from the origin, constant past the last.
    Curve {
        /// (Pa, mol/s) of CO2, rising in pressure, without the origin; empty: takes none.
        co2: Vec<(f64, f64)>,
        /// (Pa, mol/s) of water vapour, likewise.
        water: Vec<(f64, f64)>,
    },
    /// Cools a flow below its dew point.
    Condenser {
        /// Actual volume at the inlet, m3/s.
        flow_m3_s: f64,
        /// Fraction of the flow that misses the coil.
        bypass: f64,
        /// Saturation pressure at the coil, Pa.
        coil_saturation_pa: f64,
        /// Coil temperature, K.
        coil_temperature_k: f64,
        /// Part of the condensate that the flow carries over, as droplets that evaporate in the room.
        carry_over: f64,
    },
    /// A canister that fills up: what it takes depends on what it has taken. See `sorbent`.
    Sorbent {
        /// Actual volume at the inlet, m3/s.
        flow_m3_s: f64,
        /// CO2 that a canister takes in all, mol.
        capacity_mol: f64,
        /// Sharpness of its breakthrough, `N` of Bohart and Adams.
        sharpness: f64,
        /// Part of the flow that misses the bed (channelling).
        bypass: f64,
        /// Vapour given off per CO2 taken, mol/mol.
        water_per_co2: f64,
        /// Heat given off per CO2 taken, J/mol.
        heat_j_mol: f64,
        /// CO2 already in the first canister, mol.
        loaded_mol: f64,
        /// Fresh canisters in stock beside the one in place.
        canisters: u32,
    },
    /// Two beds that take turns: one adsorbs from the cabin while the other desorbs overboard. See `swing_bed`.
    SwingBed(SwingBed),
}

/// Turns of equal length, each with a factor on the efficiencies; the first starts at time zero, and they go round.
#[derive(Clone, Debug)]
pub struct Cycle {
    /// Length of one turn.
    pub every: Time,
    /// Factor of each turn.
    pub factors: Vec<f64>,
}

impl Device {
    /// Actual volume at its inlet while it is on, m3/s; none of a curve, which has no flow.
    #[must_use]
    pub fn flow_m3_s(&self) -> Option<f64> {
        match &self.removal {
            Removal::FlowThrough { flow_m3_s, .. }
            | Removal::Condenser { flow_m3_s, .. }
            | Removal::Sorbent { flow_m3_s, .. } => Some(*flow_m3_s),
            Removal::SwingBed(bed) => Some(bed.flow_m3_s),
            Removal::Curve { .. } => None,
        }
    }

    /// How many pieces the device's law for `species` has: 0 if it takes none.
    #[must_use]
    pub fn pieces(&self, species: Species) -> usize {
        match (&self.removal, species) {
            (Removal::FlowThrough { .. }, Species::Co2 | Species::Water) => 1,
            (Removal::Condenser { .. }, Species::Water) => 2,
            (Removal::Curve { co2: points, .. }, Species::Co2)
            | (Removal::Curve { water: points, .. }, Species::Water) => curve::pieces(points),
            _ => 0,
        }
    }

    /// Piece `index` of the law for `species`, with inlet air at `temperature_k` and the turn's `factor`.
    ///
    /// A piece that the law does not have takes nothing.
    #[must_use]
    pub fn line(&self, species: Species, index: usize, temperature_k: f64, factor: f64) -> Line {
        let per_flow = factor / (GAS_CONSTANT_J_MOL_K * temperature_k);
        match (&self.removal, species) {
            (
                Removal::FlowThrough {
                    flow_m3_s,
                    co2_efficiency,
                    ..
                },
                Species::Co2,
            ) => flow_through::line(per_flow * flow_m3_s, *co2_efficiency),
            (
                Removal::FlowThrough {
                    flow_m3_s,
                    water_efficiency,
                    ..
                },
                Species::Water,
            ) => flow_through::line(per_flow * flow_m3_s, *water_efficiency),
            (
                Removal::Condenser {
                    flow_m3_s,
                    bypass,
                    coil_saturation_pa,
                    carry_over,
                    ..
                },
                Species::Water,
            ) if index == 1 => condenser::line(per_flow * flow_m3_s * (1.0 - carry_over), *bypass, *coil_saturation_pa),
            (Removal::Curve { co2: points, .. }, Species::Co2)
            | (Removal::Curve { water: points, .. }, Species::Water) => curve::line(points, index, factor),
            _ => Line::NOTHING,
        }
    }

    /// The piece that holds at an inlet partial pressure.
    #[must_use]
    pub fn piece_at(&self, species: Species, p_pa: f64, temperature_k: f64) -> usize {
        let pieces = self.pieces(species);
        (1..pieces)
            .take_while(|&i| self.line(species, i, temperature_k, 1.0).from_pa <= p_pa)
            .count()
    }

    /// Removal rate of `species` at an inlet partial pressure, mol/s, in a turn of factor 1.
    #[must_use]
    pub fn rate_mol_s(&self, species: Species, p_pa: f64, temperature_k: f64) -> f64 {
        self.line(species, self.piece_at(species, p_pa, temperature_k), temperature_k, 1.0)
            .rate_mol_s(p_pa)
    }
}

/// A device of compartment 0 that is on and takes no turns.
#[cfg(test)]
pub(super) fn alone(removal: Removal) -> Device {
    Device {
        serves: 0,
        on: true,
        power_w: 0.0,
        capacity: 1.0,
        removal,
        cycle: None,
    }
}
