//! What a device takes of one species: lines against inlet partial pressure.
//!
//! Every constant device removes at a rate that is linear in the inlet partial pressure between a few fixed pressures. So it has
//! a few pieces, each affine, and which piece holds is part of the engine's mode. The laws are in the files of their families.

/// One piece: from `from_pa` up, `rate = conductance p - offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Inlet partial pressure from which it holds, Pa.
    pub from_pa: f64,
    /// mol/s/Pa.
    pub conductance_mol_s_pa: f64,
    /// mol/s.
    pub offset_mol_s: f64,
}

impl Line {
    /// Takes nothing.
    pub const NOTHING: Self = Self {
        from_pa: 0.0,
        conductance_mol_s_pa: 0.0,
        offset_mol_s: 0.0,
    };

    /// The rate at an inlet partial pressure, mol/s.
    #[must_use]
    pub fn rate_mol_s(&self, p_pa: f64) -> f64 {
        self.conductance_mol_s_pa * p_pa - self.offset_mol_s
    }
}
