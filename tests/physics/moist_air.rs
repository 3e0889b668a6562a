//! Mixtures of cabin gas: humidity, density, composition, inspired oxygen.

use breathroom_sim::air::{
    GAS_CONSTANT_J_MOL_K, Species, density_kg_m3, dew_point_gap_k, humidity_ratio, inspired_oxygen_pa, oxygen_fraction,
    partials, relative_humidity, total_pa, vapour_pressure_pa,
};
use proptest::prelude::*;

const MMHG_PA: f64 = 133.322;
const PSI_PA: f64 = 6_894.757;

/// Conkin, NASA evidence report on hypobaric hypoxia from the exploration atmosphere (2015), printed: 8.2 psia at 34 %
/// oxygen gives an inspired oxygen pressure of 128 mmHg.
#[test]
fn inspired_oxygen_of_the_exploration_atmosphere() {
    let inspired = inspired_oxygen_pa(8.2 * PSI_PA, 0.34) / MMHG_PA;
    assert!((inspired - 128.0).abs() < 0.5, "{inspired}");
}

/// Textbook: dry sea-level air, 20.94 %, 760 mmHg: 149 mmHg.
#[test]
fn inspired_oxygen_at_sea_level() {
    let inspired = inspired_oxygen_pa(101_325.0, 0.2094) / MMHG_PA;
    assert!((inspired - 149.3).abs() < 0.1, "{inspired}");
}

/// Derived from molar masses: the ratio of water to dry gas is 0.6134 at 34 % oxygen and 66 % nitrogen, where dry air
/// of 28.97 g/mol has 0.622.
#[test]
fn the_humidity_ratio_knows_its_gas() {
    let gas = partials(56_500.0, 0.34, 0.0, 0.45, 295.15).expect("a legal atmosphere");
    let vapour = gas[Species::Water as usize];
    let factor = humidity_ratio(&gas) * (total_pa(&gas) - vapour) / vapour;
    assert!((factor - 0.6134).abs() < 5e-5, "{factor}");
}

/// ASHRAE Handbook of Fundamentals, table of moist air (from memory): saturated at 20 C and 101.325 kPa 0.014758
/// kg/kg. Dry air here is oxygen and nitrogen without argon (28.85 instead of 28.966 g/mol), and the enhancement
/// factor (1.004) is left out: both are taken into account.
#[test]
fn the_humidity_ratio_of_saturated_air() {
    let gas = partials(101_325.0, 0.2095, 0.0, 1.0, 293.15).expect("a legal atmosphere");
    let dry_molar_mass = 0.2095 * 31.9988 + 0.7905 * 28.0134;
    let expected = 0.014_758 / 1.004 * 28.966 / dry_molar_mass;
    let value = humidity_ratio(&gas);
    assert!((value / expected - 1.0).abs() < 1e-3, "{value} against {expected}");
}

/// Standard atmosphere: 1.225 kg/m3 at 288.15 K and 101.325 kPa with 28.9644 g/mol and R = 8.31432 J/mol/K; argon
/// taken out as above.
#[test]
fn density_of_dry_air() {
    let gas = partials(101_325.0, 0.2095, 0.0, 0.0, 288.15).expect("a legal atmosphere");
    let dry_molar_mass = 0.2095 * 31.9988 + 0.7905 * 28.0134;
    let value = density_kg_m3(&gas, 288.15) * 28.9644 / dry_molar_mass * GAS_CONSTANT_J_MOL_K / 8.314_32;
    assert!((value / 1.225 - 1.0).abs() < 1e-5, "{value}");
}

/// Derived: moist air is lighter than dry air.
#[test]
fn vapour_makes_air_lighter() {
    let dry = partials(101_325.0, 0.21, 0.0, 0.0, 298.15).expect("a legal atmosphere");
    let moist = partials(101_325.0, 0.21, 0.0, 1.0, 298.15).expect("a legal atmosphere");
    assert!(density_kg_m3(&moist, 298.15) < density_kg_m3(&dry, 298.15));
}

/// ASHRAE: the dew point of 25 C and 50 % is 13.86 C, so a surface at 14 C is dry by 0.14 K.
#[test]
fn the_gap_to_the_dew_point() {
    let gap = dew_point_gap_k(vapour_pressure_pa(0.5, 298.15), 287.15);
    assert!((gap - 0.14).abs() < 0.02, "{gap}");
}

proptest! {
    /// Derived: relative humidity depends on vapour pressure and temperature alone.
    #[test]
    fn pressure_leaves_humidity_alone(
        pressure_pa in 20_000.0..110_000.0_f64, oxygen in 0.1..0.9_f64, humidity in 0.0..1.0_f64,
        temperature_k in 276.0..318.0_f64,
    ) {
        let gas = partials(pressure_pa, oxygen, 0.0, humidity, temperature_k).expect("a legal atmosphere");
        prop_assert!((relative_humidity(gas[1], temperature_k) - humidity).abs() <= 1e-12);
        prop_assert!((oxygen_fraction(&gas) - oxygen).abs() <= 1e-12);
        prop_assert!((total_pa(&gas) / pressure_pa - 1.0).abs() <= 1e-12);
    }
}
