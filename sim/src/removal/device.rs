//! A device as numbers: its family, its parameters, its turns.

use crate::units::Time;

/// A removal device.
#[derive(Clone, Debug)]
pub struct Device {
    /// Index of the compartment it serves.
    pub serves: usize,
    /// On at the start.
    pub on: bool,
    /// What it does.
    pub removal: Removal,
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
    },
}

/// Turns of equal length, each with a factor on the efficiencies; the first starts at time zero, and they go round.
#[derive(Clone, Debug)]
pub struct Cycle {
    /// Length of one turn.
    pub every: Time,
    /// Factor of each turn.
    pub factors: Vec<f64>,
}
