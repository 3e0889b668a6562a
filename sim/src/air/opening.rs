//! Places, the openings between them, and what is held in a place.

/// Where a person, or an end of an opening, is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Outside the cabin.
    Outside,
    /// In the compartment of this index.
    Compartment(usize),
}

/// A hatch or duct.
#[derive(Clone, Copy, Debug)]
pub struct Opening {
    /// Its two ends; at most one is outside.
    pub between: [Place; 2],
    /// Exchange flow while open, m3/s.
    pub exchange_m3_s: f64,
    /// Open at the start.
    pub open: bool,
    /// Largest difference of total pressure against which it can be opened, Pa.
    pub opens_within_pa: f64,
}

/// A hold of a compartment's oxygen partial pressure, of its total pressure, or of both: gas is added as needed, never taken
/// away. Each has its regulation and the tank that it draws on; without a tank the supply is unlimited, and counted.
#[derive(Clone, Copy, Debug)]
pub struct Hold {
    /// Index of the compartment.
    pub compartment: usize,
    /// Oxygen partial pressure to hold, Pa.
    pub oxygen_pa: Option<f64>,
    /// How.
    pub oxygen_by: Regulation,
    /// Index of the tank that the oxygen comes from.
    pub oxygen_from: Option<usize>,
    /// Total pressure to hold, Pa.
    pub pressure_pa: Option<f64>,
    /// How.
    pub pressure_by: Regulation,
    /// Index of the tank that the gas comes from: it may hold either gas.
    pub pressure_from: Option<usize>,
}

/// How a hold lets gas in.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Regulation {
    /// Just as much as keeps the quantity at its set point.
    #[default]
    Ideal,
    /// The same, but never more than this; the quantity falls while more would be needed.
    Limited {
        /// mol/s.
        most_mol_s: f64,
    },
    /// On or off: a steady flow from when the quantity has fallen to `set - width` until it is back at the set point.
    Band {
        /// Pa.
        width_pa: f64,
        /// mol/s.
        flow_mol_s: f64,
    },
    /// In proportion to what the quantity lacks, up to a most.
    Proportional {
        /// mol/s/Pa.
        gain_mol_s_pa: f64,
        /// mol/s; infinite without a limit.
        most_mol_s: f64,
    },
}
