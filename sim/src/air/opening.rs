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

/// An ideal hold: gas is added as needed, never taken away, from an unlimited supply that is counted.
#[derive(Clone, Copy, Debug)]
pub struct Hold {
    /// Index of the compartment.
    pub compartment: usize,
    /// Oxygen partial pressure to hold, Pa.
    pub oxygen_pa: Option<f64>,
    /// Total pressure to hold with diluent, Pa.
    pub pressure_pa: Option<f64>,
}
