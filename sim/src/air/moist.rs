//! Moist air: humidity, dew point, composition, density, inspired oxygen.
//!
//! Everything follows from the four partial pressures `p_i` and the temperature `T` of an ideal gas:
//!
//! ```text
//! humidity         phi = p_v / p_sat(T)
//! density          rho = sum(p_i M_i) / (R T)
//! humidity ratio   w   = p_v M_v / sum over the dry species (p_i M_i)
//! oxygen fraction  x   = p_o / (P - p_v)
//! inspired oxygen  p_I = (P - 47 mmHg) x
//! ```
//!
//! `p_v`, `p_o`: partial pressures of water vapour and oxygen, Pa; `P`: their total, Pa; `M_i`: molar masses, kg/mol;
//! `R`: molar gas constant, J/mol/K.
//!
//! Source of the inspired-oxygen relation: the alveolar gas equation's first term, with gas saturated at 37 C as
//! breathed (Conkin, NASA evidence report on hypobaric hypoxia, 2015; 8.2 psia at 34 % gives 128 mmHg).
//!
//! Range: ideal gas, up to about 110 kPa and 60 C. The humidity ratio takes the dry gas as it is: the familiar 0.622
//! holds for dry air of 28.97 g/mol alone.
//!
//! Left out: non-ideality (0.4 % of vapour pressure at 101 kPa), trace gases.

use super::saturation::{dew_point_k, saturation_pa};
use super::{GAS_CONSTANT_J_MOL_K, Species};

/// Vapour pressure of water at body temperature, 47 mmHg, Pa (physiological convention; saturation at 37 C is 6282
/// Pa).
pub const BODY_VAPOUR_PA: f64 = 47.0 * 133.322;

/// Why a composition is not one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CompositionError {
    /// A pressure, temperature, fraction or humidity is negative, above its range, or not a number.
    OutOfRange {
        /// Which one, as a scenario calls it: `pressure`, `oxygen`, `co2`, `humidity`, `temperature`.
        what: &'static str,
        /// Its value in SI.
        value: f64,
    },
    /// CO2, vapour and oxygen leave a negative amount of diluent.
    Overfull {
        /// Total pressure asked for, Pa.
        pressure_pa: f64,
        /// Sum of CO2, vapour and oxygen, Pa.
        sum_pa: f64,
    },
}

/// Rounding allowed before a diluent of zero counts as negative, as a fraction of the pressure: an atmosphere of pure
/// oxygen must not fail on the last bit.
const ROUNDING: f64 = 1e-12;

/// Partial pressures, by [`Species`], of a gas given by its total pressure, the oxygen fraction of its dry part, its
/// CO2 and its relative humidity. CO2 is part of the dry gas; diluent is what remains.
///
/// # Errors
/// If a value is out of range or the parts exceed the whole: see [`CompositionError`].
pub fn partials(
    pressure_pa: f64,
    oxygen_dry_fraction: f64,
    co2_pa: f64,
    relative_humidity: f64,
    temperature_k: f64,
) -> Result<[f64; 4], CompositionError> {
    let check = |what, value: f64, ok: bool| {
        if ok && value.is_finite() {
            Ok(())
        } else {
            Err(CompositionError::OutOfRange { what, value })
        }
    };
    check("pressure", pressure_pa, pressure_pa >= 0.0)?;
    check(
        "oxygen",
        oxygen_dry_fraction,
        (0.0..=1.0).contains(&oxygen_dry_fraction),
    )?;
    check("co2", co2_pa, co2_pa >= 0.0)?;
    check("humidity", relative_humidity, (0.0..=1.0).contains(&relative_humidity))?;
    check("temperature", temperature_k, temperature_k > 0.0)?;
    let vapour_pa = vapour_pressure_pa(relative_humidity, temperature_k);
    let oxygen_pa = oxygen_dry_fraction * (pressure_pa - vapour_pa);
    let diluent_pa = pressure_pa - vapour_pa - oxygen_pa - co2_pa;
    if oxygen_pa < 0.0 || diluent_pa < -ROUNDING * pressure_pa {
        return Err(CompositionError::Overfull {
            pressure_pa,
            sum_pa: co2_pa + vapour_pa + oxygen_pa.max(0.0),
        });
    }
    let mut partial_pa = [0.0; 4];
    partial_pa[Species::Co2 as usize] = co2_pa;
    partial_pa[Species::Water as usize] = vapour_pa;
    partial_pa[Species::Oxygen as usize] = oxygen_pa;
    partial_pa[Species::Diluent as usize] = diluent_pa.max(0.0);
    Ok(partial_pa)
}

/// Relative humidity, a fraction: vapour pressure over saturation at the air temperature (over ice below 273.16 K).
/// It does not depend on total pressure.
#[must_use]
pub fn relative_humidity(vapour_pa: f64, temperature_k: f64) -> f64 {
    vapour_pa / saturation_pa(temperature_k)
}

/// Vapour pressure at a relative humidity (a fraction) and a temperature in K, Pa.
#[must_use]
pub fn vapour_pressure_pa(relative_humidity: f64, temperature_k: f64) -> f64 {
    relative_humidity * saturation_pa(temperature_k)
}

/// Temperature of the coldest surface minus the dew point, K: below zero, something condenses.
#[must_use]
pub fn dew_point_gap_k(vapour_pa: f64, surface_temperature_k: f64) -> f64 {
    surface_temperature_k - dew_point_k(vapour_pa)
}

/// Total pressure, Pa.
#[must_use]
pub fn total_pa(partial_pa: &[f64; 4]) -> f64 {
    partial_pa.iter().sum()
}

/// Density, kg/m3.
#[must_use]
pub fn density_kg_m3(partial_pa: &[f64; 4], temperature_k: f64) -> f64 {
    let mut sum = 0.0;
    for species in Species::ALL {
        sum += partial_pa[species as usize] * species.molar_mass_kg_mol();
    }
    sum / (GAS_CONSTANT_J_MOL_K * temperature_k)
}

/// Humidity ratio: mass of vapour over mass of dry gas, whatever the dry gas is.
#[must_use]
pub fn humidity_ratio(partial_pa: &[f64; 4]) -> f64 {
    let mut dry = 0.0;
    for species in [Species::Co2, Species::Oxygen, Species::Diluent] {
        dry += partial_pa[species as usize] * species.molar_mass_kg_mol();
    }
    partial_pa[Species::Water as usize] * Species::Water.molar_mass_kg_mol() / dry
}

/// Oxygen as a fraction of the dry gas, by amount.
#[must_use]
pub fn oxygen_fraction(partial_pa: &[f64; 4]) -> f64 {
    partial_pa[Species::Oxygen as usize] / (total_pa(partial_pa) - partial_pa[Species::Water as usize])
}

/// Oxygen partial pressure of inspired gas, saturated at body temperature, Pa. Zero where the total pressure is below
/// the vapour pressure of the body.
#[must_use]
pub fn inspired_oxygen_pa(pressure_pa: f64, oxygen_dry_fraction: f64) -> f64 {
    (pressure_pa - BODY_VAPOUR_PA).max(0.0) * oxygen_dry_fraction
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_add_up_to_the_whole() {
        let p = partials(56_500.0, 0.34, 66.661, 0.45, 295.15).expect("a legal atmosphere");
        assert!((total_pa(&p) - 56_500.0).abs() < 1e-9);
        assert!((oxygen_fraction(&p) - 0.34).abs() < 1e-14);
        assert!((relative_humidity(p[1], 295.15) - 0.45).abs() < 1e-14);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(partials(34_500.0, 1.0, 0.0, 0.5, 294.0).is_ok());
        assert!(matches!(
            partials(34_500.0, 1.0, 100.0, 0.5, 294.0),
            Err(CompositionError::Overfull { .. })
        ));
        assert!(matches!(
            partials(500.0, 0.2, 0.0, 1.0, 294.0),
            Err(CompositionError::Overfull { .. })
        ));
        let nan = partials(f64::NAN, 0.2, 0.0, 1.0, 294.0);
        assert!(matches!(
            nan,
            Err(CompositionError::OutOfRange { what: "pressure", .. })
        ));
        assert!(matches!(
            partials(1e5, 1.2, 0.0, 1.0, 294.0),
            Err(CompositionError::OutOfRange { what: "oxygen", .. })
        ));
        assert!(matches!(
            partials(1e5, 0.2, f64::INFINITY, 1.0, 294.0),
            Err(CompositionError::OutOfRange { what: "co2", .. })
        ));
    }

    #[test]
    fn nothing_dry_is_left_of_a_vacuum() {
        assert!(partials(0.0, 0.2, 0.0, 0.0, 294.0).is_ok());
        assert!(inspired_oxygen_pa(5_000.0, 1.0).abs() < 1e-12);
    }
}
