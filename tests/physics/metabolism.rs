//! Gas exchange and energy against published pairs.

use breathroom_sim::air::Species;
use breathroom_sim::crew::{
    LITRES_PER_MOL_STPD, MET_W_M2, RQ_ASHRAE, RQ_BASELINE, evaporation_w, gases_mol_s, kg_per_day, weir_w,
};

const KCAL_PER_DAY_W: f64 = 4184.0 / 86_400.0;

fn close(value: f64, expected: f64, relative: f64) {
    assert!((value / expected - 1.0).abs() <= relative, "{value} against {expected}");
}

fn mol_s(litres_min: f64) -> f64 {
    litres_min / LITRES_PER_MOL_STPD / 60.0
}

fn mol_s_of_kg_day(kg: f64, species: Species) -> f64 {
    kg / kg_per_day(1.0, species)
}

/// Weir, J. Physiol. 109, 1 (1949): 0.250 L/min of oxygen and 0.200 of CO2 are 1737 kcal/d (the printed short form,
/// with 3.9 and 1.1, gives 1721).
#[test]
fn energy_of_gases() {
    close(weir_w(mol_s(0.250), mol_s(0.200)) / KCAL_PER_DAY_W, 1737.0, 1e-3);
}

/// NASA Advanced Life Support baseline values and assumptions (2004), quoted: 0.835 kg of oxygen and 0.998 kg of CO2 a
/// day, a respiratory quotient of 0.869, 11.82 MJ a day; Weir gives 12.00.
#[test]
fn the_older_baseline() {
    let oxygen = mol_s_of_kg_day(0.835, Species::Oxygen);
    let co2 = mol_s_of_kg_day(0.998, Species::Co2);
    assert!((co2 / oxygen - RQ_BASELINE).abs() < 5e-4);
    let mj_day = weir_w(oxygen, co2) * 86_400.0 / 1e6;
    close(mj_day, 11.82, 0.02);
    close(mj_day, 12.00, 1e-3);
}

/// ASHRAE Handbook of Fundamentals (from memory): 1.8 m2 at 1.2 met with a quotient of 0.83 give 0.309 L/min of CO2.
/// ASHRAE's own relation, oxygen in L/s = 0.00276 A M / (0.23 q + 0.77), is worked out beside it.
#[test]
fn co2_of_an_office_worker() {
    let (_, co2) = gases_mol_s(1.2 * MET_W_M2 * 1.8, RQ_ASHRAE);
    let litres_min = co2 * LITRES_PER_MOL_STPD * 60.0;
    close(litres_min, 0.309, 0.005);
    close(
        litres_min,
        0.00276 * 1.8 * 1.2 / (0.23 * 0.83 + 0.77) * 0.83 * 60.0,
        0.005,
    );
}

/// The choice of respiratory quotient moves CO2 by 9 % at equal power (derived from Weir).
#[test]
fn the_quotient_matters() {
    let (_, high) = gases_mol_s(120.0, 0.92);
    let (_, low) = gases_mol_s(120.0, 0.83);
    assert!((high / low - 1.0 - 0.085).abs() < 0.005, "{}", high / low);
}

/// ASHRAE Handbook of Fundamentals, chapter 18, table 1 (from memory): seated, very light office work, 130 W of which
/// 55 W are latent at 24 C; cooler and drier air takes it down to a third.
#[test]
fn vapour_of_an_office_worker() {
    let power = 1.2 * MET_W_M2 * 1.8;
    let latent_part = evaporation_w(power, 1.8) / power;
    assert!((1.0 / 3.0 - 0.03..55.0 / 130.0).contains(&latent_part), "{latent_part}");
}
