//! Gas properties and films on walls against handbook values.

use breathroom_sim::air::{
    EARTH_GRAVITY_M_S2, Film, GAS_CONSTANT_J_MOL_K, lewis, natural_film_w_m2_k, transport, vapour_diffusivity_m2_s,
    wall_conductance_mol_s_pa,
};

fn close(value: f64, expected: f64, relative: f64) {
    assert!((value / expected - 1.0).abs() <= relative, "{value} against {expected}");
}

/// Incropera and DeWitt, table A.4, air at 300 K and 101.325 kPa: 1.1614 kg/m3, 1007 J/kg/K, 184.6e-7 Pa s, 26.3e-3
/// W/m/K (from memory). Air here has no argon.
#[test]
fn air_at_300_k() {
    let air = transport(101_325.0, 0.2095, 300.0);
    close(air.density_kg_m3, 1.1614, 0.01);
    close(air.heat_capacity_j_kg_k, 1007.0, 0.01);
    close(air.viscosity_pa_s, 184.6e-7, 0.01);
    close(air.conductivity_w_m_k, 26.3e-3, 0.02);
}

/// The same table for oxygen at 300 K: 207.2e-7 Pa s, 26.8e-3 W/m/K, and nitrogen: 178.2e-7 Pa s, 25.9e-3 W/m/K (from
/// memory).
#[test]
fn pure_gases_at_300_k() {
    let oxygen = transport(101_325.0, 1.0, 300.0);
    close(oxygen.viscosity_pa_s, 207.2e-7, 0.015);
    close(oxygen.conductivity_w_m_k, 26.8e-3, 0.02);
    let nitrogen = transport(101_325.0, 0.0, 300.0);
    close(nitrogen.viscosity_pa_s, 178.2e-7, 0.015);
    close(nitrogen.conductivity_w_m_k, 25.9e-3, 0.02);
}

/// Incropera, table A.8: water vapour in air at 298 K and 1 atm, 0.26e-4 m2/s; Marrero and Mason, J. Phys. Chem. Ref.
/// Data 1, 3 (1972): 1.87e-10 T^2.072 atm m2/s, to which they give an uncertainty of 5 % (all from memory).
#[test]
fn diffusivity_of_vapour() {
    close(vapour_diffusivity_m2_s(101_325.0, 298.0), 0.26e-4, 0.03);
    for t in [283.0_f64, 298.15, 313.0] {
        close(vapour_diffusivity_m2_s(101_325.0, t), 1.87e-10 * t.powf(2.072), 0.05);
    }
    close(
        vapour_diffusivity_m2_s(50_000.0, 298.0) / vapour_diffusivity_m2_s(100_000.0, 298.0),
        2.0,
        1e-12,
    );
}

/// Textbook (Incropera): the Lewis number of water vapour in air is about 0.85, so that h / h_m is close to rho c_p.
#[test]
fn the_lewis_number_of_moist_air() {
    let le = lewis(&transport(101_325.0, 0.21, 298.0));
    assert!((0.80..0.90).contains(&le), "{le}");
}

/// McAdams, Heat Transmission (1954), simplified equation for air at atmospheric pressure, turbulent, vertical
/// surfaces: h = 0.19 dT^(1/3) Btu/h/ft2/degF, in SI 1.31 dT^(1/3) (from memory).
#[test]
fn the_film_of_a_wall_in_air() {
    let air = transport(101_325.0, 0.21, 300.0);
    for difference_k in [1.0_f64, 3.0, 8.0] {
        let h = natural_film_w_m2_k(&air, 300.0, difference_k, EARTH_GRAVITY_M_S2);
        close(h, 1.31 * difference_k.cbrt(), 0.2);
    }
}

/// Derived by hand: with 3 W/m2/K on 26 m2 in air at 300 K, h_m = h / (rho c_p Le^(2/3)) with Incropera's properties
/// is 2.9e-3 m/s, and h_m A / (R T) 3.0e-5 mol/s/Pa: 10 g/h for every 5 Pa above saturation.
#[test]
fn the_conductance_of_a_wall() {
    let le: f64 = 22.5e-6 / 26.3e-6;
    let h_m = 3.0 / (1.1614 * 1007.0 * le.powf(2.0 / 3.0));
    let expected = h_m * 26.0 / (GAS_CONSTANT_J_MOL_K * 300.0);
    let value = wall_conductance_mol_s_pa(Film::Given(3.0), 26.0, 101_325.0, 0.21, 301.5, 298.5);
    close(value, expected, 0.03);
}
