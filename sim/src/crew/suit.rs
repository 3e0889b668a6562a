//! A suit: a small compartment with its wearer, a regulator and a relief valve.
//!
//! Worn closed, its pressure follows what is around it: `P_suit = P_around + above` (`above` only while pressurised). Oxygen
//! comes in as that needs; what is too much, and what leaks, goes into the place around it. Not worn, it keeps its gas.

/// One person's suit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suit {
    /// Index of the person who wears it.
    pub wearer: usize,
    /// Index of its compartment.
    pub compartment: usize,
    /// Pressure above that around it while pressurised, Pa.
    pub above_pa: f64,
    /// Index of its own tank, used outside and in a vacuum; none: an unlimited supply.
    pub tank: Option<usize>,
    /// Index of the tank behind the umbilical, used inside; none: its own.
    pub supply: Option<usize>,
    /// Air of the place through the umbilical while ventilated, m3/s.
    pub ventilation_m3_s: f64,
    /// Oxygen flow while purged, mol/s.
    pub purge_mol_s: f64,
    /// Leak while closed, as actual volume at the suit's pressure, m3/s.
    pub leak_m3_s: f64,
}
