//! A device that takes a fixed fraction out of a fixed flow: a bed or canister while it is fresh.
//!
//! ```text
//! r = f e Q p / (R T)
//! ```
//!
//! `r` mol/s, `p` inlet partial pressure (Pa), `f` factor of the device's turn, `e` efficiency, `Q` actual volume flow at the inlet
//! (m3/s), `T` inlet temperature (K), `R` 8.314462618 J/mol/K.
//!
//! Source: ideal gas law, amount flow = Q p / (R T); efficiency as measured on a bench. Valid while the efficiency does not
//! depend on what the bed has taken up. Left out: loading, breakthrough, heat of sorption.

use super::Line;

/// The one piece, from the amount flow per pressure `f Q / (R T)` (mol/s/Pa) and the efficiency.
pub(super) fn line(per_pa: f64, efficiency: f64) -> Line {
    Line {
        conductance_mol_s_pa: per_pa * efficiency,
        ..Line::NOTHING
    }
}

#[cfg(test)]
mod tests {
    use super::super::Removal;
    use super::super::device::alone;
    use crate::air::Species;

    #[test]
    fn a_perfect_scrubber_takes_what_the_flow_carries() {
        // 10 ft3/min at 1 mmHg and 294.15 K carries 0.978 kg CO2 a day: ideal gas, arithmetic.
        let scrubber = alone(Removal::FlowThrough {
            flow_m3_s: 10.0 * 0.028_316_8 / 60.0,
            co2_efficiency: 1.0,
            water_efficiency: 0.0,
        });
        let kg_d = scrubber.rate_mol_s(Species::Co2, 133.322, 294.15) * 0.044_009_5 * 86_400.0;
        assert!((kg_d - 0.978).abs() < 5e-4, "{kg_d}");
        assert_eq!(scrubber.rate_mol_s(Species::Water, 1000.0, 294.15), 0.0);
        assert_eq!(scrubber.pieces(Species::Oxygen), 0);
    }
}
