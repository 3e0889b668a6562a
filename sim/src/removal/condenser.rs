//! A device that cools a flow below its dew point and drains the water.
//!
//! ```text
//! r = f Q (1 - b) max(0, p - p_sat(coil)) / (R T)
//! ```
//!
//! `r` mol/s, `p` inlet partial pressure of vapour (Pa), `f` factor of the device's turn, `Q` actual volume flow at the inlet
//! (m3/s), `b` the part of it that misses the coil, `T` inlet temperature (K), `R` 8.314462618 J/mol/K.
//!
//! Source: ideal gas law, with the coil's air leaving saturated; the bypass model is common practice for cooling coils. Valid
//! for a coil above the freezing point that drains: it never gives water back. The saturation is taken against the inlet's
//! amount of carrier gas; the exact form, in which what leaves carries as many moles of carrier as came in, gives 0.9 to 2.7 % more
//! from 101 to 33 kPa. Left out: frost, a wet coil that is switched off, the heat taken.

use super::Line;

/// The piece above the coil's saturation pressure (Pa), from `f Q / (R T)` (mol/s/Pa) and the bypass.
pub(super) fn line(per_pa: f64, bypass: f64, coil_saturation_pa: f64) -> Line {
    let conductance = per_pa * (1.0 - bypass);
    Line {
        from_pa: coil_saturation_pa,
        conductance_mol_s_pa: conductance,
        offset_mol_s: conductance * coil_saturation_pa,
    }
}

#[cfg(test)]
mod tests {
    use super::super::Removal;
    use super::super::device::alone;
    use crate::air::Species;

    #[test]
    fn a_condenser_takes_nothing_from_air_drier_than_its_coil() {
        let coil = alone(Removal::Condenser {
            flow_m3_s: 0.02,
            bypass: 0.2,
            coil_saturation_pa: 872.575,
            coil_temperature_k: 278.15,
            carry_over: 0.0,
        });
        assert_eq!(coil.rate_mol_s(Species::Water, 872.0, 298.15), 0.0);
        assert!(coil.rate_mol_s(Species::Water, 900.0, 298.15) > 0.0);
        let line = coil.line(Species::Water, 1, 298.15, 1.0);
        assert!(line.rate_mol_s(872.575).abs() < 1e-18);
    }
}
