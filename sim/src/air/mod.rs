//! Cabin gas: mixture, moist air, compartments, surfaces, openings. Physics only: no time, no events.

mod apparent;
mod compartment;
mod film;
mod gas;
mod heat;
mod moist;
mod opening;
mod orifice;
mod saturation;
mod tank;

pub use apparent::{apparent_temperature_k, vapour_for_apparent_temperature};
pub use compartment::{Compartment, MOST, Outside, Relief, Surface, SurfaceKind};
pub use film::{
    EARTH_GRAVITY_M_S2, FREE_CONVECTION, Film, LEAST_DIFFERENCE_K, Transport, conductance_mol_s_pa, lewis,
    natural_film_w_m2_k, transport, vapour_diffusivity_m2_s, wall_conductance_mol_s_pa,
};
pub use gas::{GAS_CONSTANT_J_MOL_K, Species};
pub use heat::{Heat, Insulation, WallHeat};
pub use moist::{
    BODY_VAPOUR_PA, CompositionError, density_kg_m3, dew_point_gap_k, humidity_ratio, inspired_oxygen_pa,
    oxygen_fraction, partials, relative_humidity, total_pa, vapour_pressure_pa,
};
pub use opening::{Hold, Opening, Place, Regulation};
pub use orifice::{CP_J_MOL_K, heat_ratio, mean_molar_mass, orifice_mol_s};
pub use saturation::{TRIPLE_POINT_K, dew_point_k, saturation_pa, saturation_slope_pa_k};
pub use tank::Tank;
