//! The four species of cabin gas and the constants that turn amounts into masses and pressures.

/// Molar gas constant, J/mol/K (CODATA 2018, exact since the 2019 revision of the SI).
pub const GAS_CONSTANT_J_MOL_K: f64 = 8.314_462_618;

/// A species that a compartment holds. The discriminant is its index in every `[f64; 4]` of this crate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Species {
    /// Carbon dioxide.
    Co2 = 0,
    /// Water vapour.
    Water = 1,
    /// Oxygen.
    Oxygen = 2,
    /// What is neither breathed nor made: nitrogen.
    Diluent = 3,
}

impl Species {
    /// All four, in index order.
    pub const ALL: [Self; 4] = [Self::Co2, Self::Water, Self::Oxygen, Self::Diluent];

    /// Molar mass, kg/mol (IUPAC 2021 standard atomic weights, conventional values; the diluent is nitrogen).
    #[must_use]
    pub const fn molar_mass_kg_mol(self) -> f64 {
        match self {
            Self::Co2 => 0.044_009_5,
            Self::Water => 0.018_015_28,
            Self::Oxygen => 0.031_998_8,
            Self::Diluent => 0.028_013_4,
        }
    }
}
