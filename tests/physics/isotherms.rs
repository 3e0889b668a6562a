//! Equilibrium loadings against the figures of the coefficients' own form.

use breathroom_sim::removal::Isotherm;

const MMHG_PA: f64 = 133.322;
const CELSIUS_K: f64 = 273.15;

/// Toth's form for CO2 on zeolite 5A with the coefficients of NASA TM-1998-208752 (from memory), worked out by hand: mol/kg
/// at degC and mmHg. What is tested is the form and its units, not the coefficients.
#[test]
fn co2_on_zeolite_5a() {
    for (celsius, mmhg, expected) in [
        (25.0, 0.5, 0.4008),
        (25.0, 1.0, 0.5669),
        (25.0, 2.0, 0.7826),
        (25.0, 3.0, 0.9345),
        (25.0, 4.0, 1.0546),
        (25.0, 5.0, 1.1550),
        (25.0, 7.6, 1.3612),
        (10.0, 3.0, 1.3185),
        (50.0, 3.0, 0.5169),
    ] {
        let loading = Isotherm::ZEOLITE_5A_CO2.loading_mol_kg(mmhg * MMHG_PA, celsius + CELSIUS_K);
        assert!(
            (loading - expected).abs() < 5.1e-5,
            "{celsius} degC, {mmhg} mmHg: {loading}"
        );
    }
}

/// Both near what such a zeolite can hold at all: the cages of type A hold 0.2 to 0.25 kg of water per kg in moist air, and 3
/// to 5 mol of CO2 per kg at one atmosphere (Breck, Zeolite Molecular Sieves, 1974, from memory).
#[test]
fn zeolite_5a_near_its_fill() {
    let water = Isotherm::ZEOLITE_5A_WATER.loading_mol_kg(1500.0, 25.0 + CELSIUS_K);
    assert!(
        (0.18..0.25).contains(&(water * 0.018_015_28)),
        "{water} mol/kg of water"
    );
    let co2 = Isotherm::ZEOLITE_5A_CO2.loading_mol_kg(101_325.0, 25.0 + CELSIUS_K);
    assert!((3.0..5.0).contains(&co2), "{co2} mol/kg of CO2");
}

/// Langmuir's form holds half the most at `half`, and is Henry's line far below it.
#[test]
fn langmuir_from_its_two_numbers() {
    let isotherm = Isotherm::Langmuir {
        most_mol_kg: 3.0,
        half_pa: 1000.0,
    };
    assert_eq!(isotherm.loading_mol_kg(1000.0, 295.0), 1.5);
    let henry = Isotherm::Linear { slope_mol_kg_pa: 0.003 };
    let [bent, straight] = [isotherm, henry].map(|i| i.loading_mol_kg(0.01, 295.0));
    assert!((bent / straight - 1.0).abs() < 2e-5, "{bent} {straight}");
}
