//! How fast vapour reaches a wall: film coefficient, gas properties, and the molar conductance of a surface.
//!
//! ```text
//! natural convection   h   = 0.13 k (Gr Pr / L^3)^(1/3) = 0.13 k (g |T_a - T_w| rho^2 c_p / (T_f mu k))^(1/3)
//! Lewis relation       h_m = h / (rho c_p Le^(2/3)),   Le = k / (rho c_p D)
//! conductance          C   = h_m A / (R T_f)
//! ```
//!
//! `h`: film coefficient of heat, W/m2/K; `h_m`: of vapour, m/s; `k`: thermal conductivity, W/m/K; `rho`: density,
//! kg/m3; `c_p`: heat capacity, J/kg/K; `mu`: viscosity, Pa s; `D`: diffusivity of vapour, m2/s; `g`: gravity, m/s2;
//! `T_a`, `T_w`, `T_f`: air, wall and mean (film) temperature, K; `A`: area, m2; `C`: conductance, mol/s/Pa.
//!
//! Sources: the constant 0.13 with the power 1/3, McAdams, Heat Transmission, 3rd ed. (1954), turbulent free
//! convection on vertical surfaces, Gr Pr above 1e9 (Incropera gives 0.10 for plates), in which the length cancels;
//! the Lewis relation with its power 2/3, Chilton and Colburn (1934), as in Incropera. Properties: Sutherland's law
//! with White's constants (Viscous Fluid Flow, tables 1-2 and 1-3, from memory), mixed by Wilke (1950) and Mason and
//! Saxena (1958); heat capacities at 298 K from the NIST-JANAF tables (from memory); diffusivity by Massman, Atmos.
//! Environ. 32, 1111 (1998): 0.2178 cm2/s (T / 273.15)^1.81 (101.325 kPa / p) (from memory).
//!
//! Dependence: at fixed temperatures `h` goes as (g P^2)^(1/3), and `h_m` as g^(1/3) / P^(1/3): vapour meets a wall
//! faster at low pressure.
//!
//! Range: 250 to 350 K, 10 to 110 kPa. Below Gr Pr = 1e9 (a wall of about 2 m at 1 K and 101 kPa; much more at low
//! pressure or gravity) the layer is laminar and `Nu = 0.59 (Gr Pr)^(1/4)` (McAdams): for a wall of 1 m that is within
//! 25 % of the value here at 1 g, 34 to 101 kPa and 0.5 to 5 K, and up to half as much again at a sixth of 1 g. A
//! better known coefficient should be given instead.
//!
//! Left out: buoyancy by the lighter vapour, blowing by the condensing flow, and CO2 and vapour in the gas properties
//! (together below 3 % of the gas). The diffusivity in oxygen is taken as that in air (1 to 2 % apart: Marrero and
//! Mason, J. Phys. Chem. Ref. Data 1, 3 (1972)).

use super::{GAS_CONSTANT_J_MOL_K, Species};

/// Constant of turbulent free convection on vertical surfaces (McAdams 1954).
pub const FREE_CONVECTION: f64 = 0.13;

/// Least difference between air and wall that drives free convection, K. Assumption: it stands for what moves the air
/// of an occupied cabin besides the wall itself (people, ventilation), and keeps a wall at air temperature from being
/// dry for ever. It matters to the power 1/3: half of it lowers the film coefficient by 21 %.
pub const LEAST_DIFFERENCE_K: f64 = 0.5;

/// Gravity at the Earth's surface, m/s2 (standard value, CGPM 1901).
pub const EARTH_GRAVITY_M_S2: f64 = 9.806_65;

/// Properties of dry cabin gas taken as a mixture of oxygen and nitrogen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transport {
    /// Density, kg/m3.
    pub density_kg_m3: f64,
    /// Heat capacity at constant pressure, J/kg/K.
    pub heat_capacity_j_kg_k: f64,
    /// Viscosity, Pa s.
    pub viscosity_pa_s: f64,
    /// Thermal conductivity, W/m/K.
    pub conductivity_w_m_k: f64,
    /// Diffusivity of water vapour, m2/s.
    pub vapour_diffusivity_m2_s: f64,
}

/// A pure gas by Sutherland's law, `value = reference (T / T0)^1.5 (T0 + S) / (T + S)` with `T0` = 273 K.
struct Pure {
    molar_mass_kg_mol: f64,
    heat_capacity_j_mol_k: f64,
    viscosity_pa_s: f64,
    viscosity_s_k: f64,
    conductivity_w_m_k: f64,
    conductivity_s_k: f64,
}

/// White, Viscous Fluid Flow, tables 1-2 and 1-3; NIST-JANAF for the heat capacity (both from memory).
const OXYGEN: Pure = Pure {
    molar_mass_kg_mol: Species::Oxygen.molar_mass_kg_mol(),
    heat_capacity_j_mol_k: 29.378,
    viscosity_pa_s: 1.919e-5,
    viscosity_s_k: 139.0,
    conductivity_w_m_k: 0.0244,
    conductivity_s_k: 240.0,
};

/// As [`OXYGEN`].
const NITROGEN: Pure = Pure {
    molar_mass_kg_mol: Species::Diluent.molar_mass_kg_mol(),
    heat_capacity_j_mol_k: 29.124,
    viscosity_pa_s: 1.663e-5,
    viscosity_s_k: 107.0,
    conductivity_w_m_k: 0.0242,
    conductivity_s_k: 150.0,
};

/// Temperature at which the constants of [`Pure`] are stated, K.
const SUTHERLAND_K: f64 = 273.0;

fn sutherland(reference: f64, s_k: f64, t: f64) -> f64 {
    let ratio = t / SUTHERLAND_K;
    reference * ratio * libm::sqrt(ratio) * (SUTHERLAND_K + s_k) / (t + s_k)
}

/// Wilke's weight of gas `b` in the properties of gas `a`.
fn wilke(viscosity_a: f64, viscosity_b: f64, mass_a: f64, mass_b: f64) -> f64 {
    let root = 1.0 + libm::sqrt(viscosity_a / viscosity_b) * libm::sqrt(libm::sqrt(mass_b / mass_a));
    root * root / libm::sqrt(8.0 * (1.0 + mass_a / mass_b))
}

/// Properties of a mixture of oxygen (fraction of the two, by amount) and nitrogen.
#[must_use]
pub fn transport(pressure_pa: f64, oxygen_fraction: f64, temperature_k: f64) -> Transport {
    let x = [oxygen_fraction.clamp(0.0, 1.0), 1.0 - oxygen_fraction.clamp(0.0, 1.0)];
    let gas = [OXYGEN, NITROGEN];
    let mut mu = [0.0; 2];
    let mut k = [0.0; 2];
    let mut molar_mass = 0.0;
    let mut molar_heat = 0.0;
    for i in 0..2 {
        mu[i] = sutherland(gas[i].viscosity_pa_s, gas[i].viscosity_s_k, temperature_k);
        k[i] = sutherland(gas[i].conductivity_w_m_k, gas[i].conductivity_s_k, temperature_k);
        molar_mass += x[i] * gas[i].molar_mass_kg_mol;
        molar_heat += x[i] * gas[i].heat_capacity_j_mol_k;
    }
    let mut viscosity = 0.0;
    let mut conductivity = 0.0;
    for i in 0..2 {
        let j = 1 - i;
        let weight = x[i] + x[j] * wilke(mu[i], mu[j], gas[i].molar_mass_kg_mol, gas[j].molar_mass_kg_mol);
        viscosity += x[i] * mu[i] / weight;
        conductivity += x[i] * k[i] / weight;
    }
    Transport {
        density_kg_m3: pressure_pa * molar_mass / (GAS_CONSTANT_J_MOL_K * temperature_k),
        heat_capacity_j_kg_k: molar_heat / molar_mass,
        viscosity_pa_s: viscosity,
        conductivity_w_m_k: conductivity,
        vapour_diffusivity_m2_s: vapour_diffusivity_m2_s(pressure_pa, temperature_k),
    }
}

/// Diffusivity of water vapour in air, m2/s (Massman 1998, from memory).
#[must_use]
pub fn vapour_diffusivity_m2_s(pressure_pa: f64, temperature_k: f64) -> f64 {
    0.2178e-4 * libm::pow(temperature_k / 273.15, 1.81) * (101_325.0 / pressure_pa)
}

/// Film coefficient of natural convection, W/m2/K, at a film temperature in K for a difference between air and wall in
/// K (its sign does not matter; see [`LEAST_DIFFERENCE_K`]) and a gravity in m/s2.
#[must_use]
pub fn natural_film_w_m2_k(gas: &Transport, film_k: f64, difference_k: f64, gravity_m_s2: f64) -> f64 {
    let drive = gravity_m_s2 * difference_k.abs().max(LEAST_DIFFERENCE_K) / film_k;
    let group = drive * gas.density_kg_m3 * gas.density_kg_m3 * gas.heat_capacity_j_kg_k
        / (gas.viscosity_pa_s * gas.conductivity_w_m_k);
    FREE_CONVECTION * gas.conductivity_w_m_k * libm::cbrt(group)
}

/// Lewis number, thermal over vapour diffusivity.
#[must_use]
pub fn lewis(gas: &Transport) -> f64 {
    gas.conductivity_w_m_k / (gas.density_kg_m3 * gas.heat_capacity_j_kg_k * gas.vapour_diffusivity_m2_s)
}

/// Molar conductance for vapour, mol/s/Pa, of an area in m2 with a film coefficient in W/m2/K.
#[must_use]
pub fn conductance_mol_s_pa(film_w_m2_k: f64, area_m2: f64, gas: &Transport, film_k: f64) -> f64 {
    let le = lewis(gas);
    let le_two_thirds = libm::cbrt(le * le);
    let h_m = film_w_m2_k / (gas.density_kg_m3 * gas.heat_capacity_j_kg_k * le_two_thirds);
    h_m * area_m2 / (GAS_CONSTANT_J_MOL_K * film_k)
}

/// Where the film coefficient of a wall comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Film {
    /// Given, W/m2/K: a fan, a measurement.
    Given(f64),
    /// Natural convection at this gravity, m/s2. Without gravity there is none, and no vapour reaches the wall: give a
    /// coefficient then.
    Natural(f64),
}

/// Molar conductance for vapour, mol/s/Pa, of a wall in a gas of this pressure (Pa) and dry oxygen fraction. Vacuum:
/// 0.
#[must_use]
pub fn wall_conductance_mol_s_pa(
    film: Film,
    area_m2: f64,
    pressure_pa: f64,
    oxygen_fraction: f64,
    air_k: f64,
    wall_k: f64,
) -> f64 {
    if pressure_pa <= 0.0 {
        return 0.0;
    }
    let film_k = 0.5 * (air_k + wall_k);
    let gas = transport(pressure_pa, oxygen_fraction, film_k);
    let h = match film {
        Film::Given(h) => h,
        Film::Natural(gravity) => natural_film_w_m2_k(&gas, film_k, air_k - wall_k, gravity),
    };
    conductance_mol_s_pa(h, area_m2, &gas, film_k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_depends_on_pressure_and_gravity_as_stated() {
        let at = |pressure, gravity| {
            let gas = transport(pressure, 0.21, 295.0);
            let h = natural_film_w_m2_k(&gas, 295.0, 3.0, gravity);
            (h, conductance_mol_s_pa(h, 1.0, &gas, 295.0))
        };
        let (h, c) = at(101_325.0, EARTH_GRAVITY_M_S2);
        let (h_half, c_half) = at(0.5 * 101_325.0, EARTH_GRAVITY_M_S2);
        let (h_moon, c_moon) = at(101_325.0, EARTH_GRAVITY_M_S2 / 8.0);
        assert!((h_half / h - libm::cbrt(0.25)).abs() < 1e-12);
        assert!((c_half / c - libm::cbrt(2.0)).abs() < 1e-12);
        assert!((h_moon / h - 0.5).abs() < 1e-12);
        assert!((c_moon / c - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_wall_at_air_temperature_is_not_cut_off() {
        let wall = |wall_k| wall_conductance_mol_s_pa(Film::Natural(9.8), 26.0, 56_500.0, 0.34, 295.15, wall_k);
        assert!(wall(295.15) > 0.0);
        assert!((wall(295.15) / wall(295.15 + LEAST_DIFFERENCE_K) - 1.0).abs() < 0.01);
        assert!(wall(292.15) > wall(295.15));
    }

    #[test]
    fn a_vacuum_conducts_nothing() {
        assert!(wall_conductance_mol_s_pa(Film::Given(3.0), 26.0, 0.0, 0.34, 295.15, 292.15).abs() < 1e-300);
    }

    #[test]
    fn pure_gases_are_their_own_mixture() {
        let oxygen = transport(101_325.0, 1.0, 273.0);
        assert!((oxygen.viscosity_pa_s / OXYGEN.viscosity_pa_s - 1.0).abs() < 1e-12);
        assert!((oxygen.conductivity_w_m_k / OXYGEN.conductivity_w_m_k - 1.0).abs() < 1e-12);
        let nitrogen = transport(101_325.0, 0.0, 273.0);
        assert!((nitrogen.viscosity_pa_s / NITROGEN.viscosity_pa_s - 1.0).abs() < 1e-12);
    }
}
