//! Metabolic energy and gas exchange: Weir's relation, forward and backward, and the split of heat.
//!
//! ```text
//! energy       E = 3.941 V_O2 + 1.106 V_CO2              kcal/min; L/min STPD
//! backward     V_O2 = E / (3.941 + 1.106 q),  V_CO2 = q V_O2
//! evaporation  E_res  = 1.7e-5 M (5867 - p_a)            breath
//!              E_diff = 3.05e-3 (5733 - 6.99 M - p_a)    skin, dry
//!              E_sw   = 0.42 (M - 58.15)                 sweat
//! ```
//!
//! `q`: respiratory quotient, CO2 given off over oxygen used, by amount; `M`: metabolic power for body surface, W/m2;
//! `p_a`: vapour pressure of the air, Pa; the three `E_` in W/m2, each at least 0, together at most `M`.
//!
//! Sources: Weir, J. Physiol. 109, 1 (1949); 22.414 L/mol at STPD; Fanger, Thermal Comfort (1970), as in ISO 7730
//! (from memory): the evaporation of a person in thermal comfort. Against the activity table's rows: sleep 88 W gives
//! 32 W (26 in the table), nominal 138 W gives 44 W (48 in the table).
//!
//! Range: the relation for evaporation holds for comfort up to about 230 W/m2; for heavy exercise it is low by a third
//! against the table's second quarter of an hour, so such efforts are better given by stages.
//!
//! Left out: urinary nitrogen in Weir's relation (its short form), external mechanical work (all of the power becomes
//! heat in the air), runoff (all sweat evaporates).

use super::Load;
use super::body::J_PER_KCAL;
use crate::air::Species;

/// Molar volume at standard temperature and pressure, dry, L/mol.
pub const LITRES_PER_MOL_STPD: f64 = 22.414;

/// Weir's coefficient of oxygen, kcal/L (1949).
pub const WEIR_OXYGEN_KCAL_L: f64 = 3.941;

/// Weir's coefficient of CO2, kcal/L (1949).
pub const WEIR_CO2_KCAL_L: f64 = 1.106;

/// Heat of evaporation of sweat and breath, J/kg: the activity table's wet heat over its vapour and runoff (the value
/// of water near 30 C).
pub const EVAPORATION_J_KG: f64 = 2.43e6;

/// One `met`, W/m2 of body surface (ASHRAE 55; ISO 8996 rounds to 58).
pub const MET_W_M2: f64 = 58.2;

/// Respiratory quotient of the NASA activity table (0.9199 in every row). The default of efforts by power: of the
/// three it gives the most CO2 for a given power, and it agrees with the tabulated efforts beside which they stand.
pub const RQ_ACTIVITY_TABLE: f64 = 0.92;

/// Respiratory quotient of the older baseline (0.835 kg oxygen, 0.998 kg CO2 a day; NASA ALS baseline values 2004).
pub const RQ_BASELINE: f64 = 0.869;

/// Respiratory quotient of ASHRAE 62.1 and Fundamentals (from memory), behind 0.31 L/min of CO2 for a person.
pub const RQ_ASHRAE: f64 = 0.83;

/// Vapour pressure of the air for which evaporation by power is stated, Pa. Assumption: 50 % at 22 C; 500 Pa more
/// takes 2 W/m2 (6 % at rest) from the vapour.
pub const REFERENCE_VAPOUR_PA: f64 = 1320.0;

/// Metabolic power, W, of an oxygen use and a CO2 output in mol/s (Weir 1949).
#[must_use]
pub fn weir_w(oxygen_mol_s: f64, co2_mol_s: f64) -> f64 {
    (WEIR_OXYGEN_KCAL_L * oxygen_mol_s + WEIR_CO2_KCAL_L * co2_mol_s) * LITRES_PER_MOL_STPD * J_PER_KCAL
}

/// Oxygen use and CO2 output, mol/s, of a metabolic power in W at a respiratory quotient (Weir 1949, backward).
#[must_use]
pub fn gases_mol_s(power_w: f64, respiratory_quotient: f64) -> (f64, f64) {
    let litres = WEIR_OXYGEN_KCAL_L + WEIR_CO2_KCAL_L * respiratory_quotient;
    let oxygen = power_w / (litres * LITRES_PER_MOL_STPD * J_PER_KCAL);
    (oxygen, respiratory_quotient * oxygen)
}

/// Heat, W, that leaves with evaporating water from a person of this metabolic power (W) and body surface (m2).
#[must_use]
pub fn evaporation_w(power_w: f64, surface_m2: f64) -> f64 {
    if power_w <= 0.0 || surface_m2 <= 0.0 {
        return 0.0;
    }
    let m = power_w / surface_m2;
    let breath = 1.7e-5 * m * (5867.0 - REFERENCE_VAPOUR_PA);
    let skin = (3.05e-3 * (5733.0 - 6.99 * m - REFERENCE_VAPOUR_PA)).max(0.0);
    let sweat = (0.42 * (m - 58.15)).max(0.0);
    (breath + skin + sweat).min(m) * surface_m2
}

/// Latent heat, W, of a vapour output and a runoff in mol/s.
#[must_use]
pub fn latent_w(vapour_mol_s: f64, runoff_mol_s: f64) -> f64 {
    (vapour_mol_s + runoff_mol_s) * Species::Water.molar_mass_kg_mol() * EVAPORATION_J_KG
}

/// Everything a person of this power (W) and body surface (m2) takes and gives once the lags have passed.
#[must_use]
pub fn load_of_power(power_w: f64, respiratory_quotient: f64, surface_m2: f64) -> Load {
    let (oxygen_mol_s, co2_mol_s) = gases_mol_s(power_w, respiratory_quotient);
    let evaporation = evaporation_w(power_w, surface_m2);
    Load {
        oxygen_mol_s,
        co2_mol_s,
        vapour_mol_s: evaporation / (EVAPORATION_J_KG * Species::Water.molar_mass_kg_mol()),
        runoff_mol_s: 0.0,
        sensible_w: power_w - evaporation,
        latent_w: evaporation,
    }
}

#[cfg(test)]
mod tests {
    use super::super::Body;
    use super::*;

    #[test]
    fn power_comes_back_from_its_gases() {
        for q in [0.7, RQ_ASHRAE, RQ_BASELINE, RQ_ACTIVITY_TABLE, 1.0] {
            let (oxygen, co2) = gases_mol_s(137.0, q);
            assert!((weir_w(oxygen, co2) - 137.0).abs() < 1e-10);
            assert!((co2 / oxygen - q).abs() < 1e-14);
        }
    }

    #[test]
    fn heat_is_all_of_the_power() {
        for power_w in [0.0, 5.0, 20.0, 90.0, 300.0, 1200.0] {
            let load = load_of_power(power_w, 0.87, 1.9);
            assert!((load.sensible_w + load.latent_w - power_w).abs() < 1e-9);
            assert!(load.sensible_w >= 0.0 && load.latent_w >= 0.0);
            assert!((latent_w(load.vapour_mol_s, load.runoff_mol_s) - load.latent_w).abs() < 1e-9);
        }
    }

    #[test]
    fn evaporation_is_near_the_tabulated_one_at_light_effort() {
        // Activity table, sleep and nominal: wet heat 92 and 171 kJ/h at 88.1 and 137.6 W by Weir. The relation is for
        // people awake: a quarter too much asleep, a tenth too little awake is what it is good for.
        let surface = Body::reference().surface_m2();
        let asleep = evaporation_w(88.1, surface) / (92.0 / 3.6);
        let awake = evaporation_w(137.6, surface) / (171.0 / 3.6);
        assert!(asleep > 1.0 && asleep < 1.25, "{asleep}");
        assert!(awake > 0.9 && awake < 1.0, "{awake}");
    }
}
