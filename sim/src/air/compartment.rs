//! Compartments with their condensing surfaces, and the gas around the cabin, as numbers.

/// Most compartments, and most people, that a case may hold.
pub const MOST: usize = 8;

/// A well-mixed body of cabin gas at a fixed temperature.
#[derive(Clone, Debug)]
pub struct Compartment {
    /// Free gas volume, m3.
    pub volume_m3: f64,
    /// Volume that people can occupy, m3.
    pub usable_m3: f64,
    /// Air temperature, K.
    pub temperature_k: f64,
    /// Partial pressures at the start, Pa, by [`super::Species`].
    pub partial_pa: [f64; 4],
    /// Saturation pressure at the air temperature, Pa.
    pub saturation_pa: f64,
    /// Gas lost to a vacuum, as actual volume per time, m3/s: choked flow at fixed temperature keeps it constant.
    pub leak_m3_s: f64,
    /// Places where vapour can condense, each with its own film.
    pub surfaces: Vec<Surface>,
}

/// What a condensing surface is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SurfaceKind {
    /// The walls.
    Wall,
    /// The coldest part of the walls.
    ColdSpot,
    /// The air itself: mist, when vapour exceeds saturation at the air temperature.
    Mist,
}

/// A place where vapour condenses while its pressure exceeds saturation there, and evaporates while a film is left.
///
/// Rate: `conductance (p_v - saturation)`, mol/s.
#[derive(Clone, Copy, Debug)]
pub struct Surface {
    /// What it is.
    pub kind: SurfaceKind,
    /// Surface temperature, K.
    pub temperature_k: f64,
    /// Saturation pressure at the surface temperature, Pa.
    pub saturation_pa: f64,
    /// Molar mass-transfer conductance `h_m A / (R T_film)`, mol/s/Pa.
    pub conductance_mol_s_pa: f64,
}

/// The gas around the cabin; vacuum by default.
#[derive(Clone, Copy, Debug, Default)]
pub struct Outside {
    /// Partial pressures, Pa, by [`super::Species`].
    pub partial_pa: [f64; 4],
    /// Temperature, K; means nothing for a vacuum.
    pub temperature_k: f64,
}
