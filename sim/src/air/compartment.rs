//! Compartments with their condensing surfaces, and the gas around the cabin, as numbers.

use super::Heat;

/// Most compartments, and most people, that a case may hold.
pub const MOST: usize = 8;

/// A well-mixed body of cabin gas; at a fixed temperature unless it has a heat balance.
#[derive(Clone, Debug, Default)]
pub struct Compartment {
    /// Free gas volume, m3.
    pub volume_m3: f64,
    /// Volume that people can occupy, m3.
    pub usable_m3: f64,
    /// Air temperature, K; at the start, where there is a heat balance.
    pub temperature_k: f64,
    /// Partial pressures at the start, Pa, by [`super::Species`].
    pub partial_pa: [f64; 4],
    /// Saturation pressure at the air temperature, Pa.
    pub saturation_pa: f64,
    /// Gas lost to a vacuum, as actual volume per time, m3/s: choked flow at fixed temperature keeps it constant.
    pub leak_m3_s: f64,
    /// Effective area (area times discharge coefficient) of a leak by orifice to the outside, m2: choked or subsonic.
    pub leak_area_m2: f64,
    /// A valve to the outside that opens above a pressure.
    pub relief: Option<Relief>,
    /// Heat balance of the air; none: its temperature is fixed.
    pub heat: Option<Heat>,
    /// What a person's own CO2 output adds to the CO2 they breathe here, Pa per mol/s: helmets and bunks wash out slowly.
    pub washout_pa_s_mol: f64,
    /// Places where vapour can condense, each with its own film.
    pub surfaces: Vec<Surface>,
}

/// A valve that opens when the pressure has risen to one value and closes when it has fallen to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Relief {
    /// Opens at this total pressure, Pa.
    pub opens_pa: f64,
    /// Closes at this one, Pa.
    pub closes_pa: f64,
    /// Effective area while open, m2.
    pub area_m2: f64,
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
