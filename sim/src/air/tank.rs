//! Tanks: stocks of gas that run down.

use super::Species;

/// A stock of oxygen or diluent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tank {
    /// What it holds: oxygen or diluent.
    pub gas: Species,
    /// Amount at the start, mol.
    pub amount_mol: f64,
    /// What it cannot deliver: the gas left in it when its pressure has fallen to that of the cabin, mol. The tank is dry
    /// when no more than this is in it.
    pub residue_mol: f64,
    /// Amount kept for contingencies, mol: going below it is an event, and using it is said.
    pub reserve_mol: f64,
}
