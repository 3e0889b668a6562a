//! A canister that fills up: what it lets pass depends on what it holds.
//!
//! ```text
//! X(s) = e^(-N (1 - s))        r = (Q / (R T)) p (1 - b) (1 - X(s))        ds/dt = r / capacity
//! ```
//!
//! `X` what passes of what meets the bed, `s` part of its capacity that it holds, `N` sharpness (a number); `r` CO2 taken, mol/s;
//! `p` inlet partial pressure, Pa; `Q` actual volume flow at the inlet, m3/s; `b` part of it that misses the bed; capacity, mol.
//!
//! Source: G. S. Bohart and E. Q. Adams, J. Am. Chem. Soc. 42, 523 (1920), from memory. Their course at a constant inlet is
//! `X = e^(K t) / (e^(K t) + e^N - 1)`, with `N / K` the time in which the inlet carries the capacity. Then
//! `N s = K integral(1 - X) = K t - ln(e^(K t) + e^N - 1) + N`, so that `e^(N s - N) = X`: time and inlet drop out, and the law is one of
//! loading alone, which a moving inlet can follow. The logistic of Thomas and of Yoon and Nelson, `X = 1 / (1 + e^(K (tau - t)))`,
//! is the same law with `N = ln(1 + e^(K tau))`.
//!
//! Valid for a bed whose zone of reaction keeps its shape. Beyond `s = 1` the law gives back, so that an integrator that steps
//! over the end is led back to it. Left out: what residence time and humidity do to capacity, rest and storage of a bed in part used,
//! its temperature.

/// The part of what meets the bed that it lets pass, from its sharpness and the part of its capacity that it holds.
#[must_use]
pub fn passes(sharpness: f64, part_held: f64) -> f64 {
    libm::exp(-sharpness * (1.0 - part_held))
}

/// The part that the bed takes, `1 - X`, without loss of figures near the end.
#[must_use]
pub fn takes(sharpness: f64, part_held: f64) -> f64 {
    -libm::expm1(-sharpness * (1.0 - part_held))
}

/// What taking CO2 up does besides: how much fits, what is given off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chemistry {
    /// CO2 that 1 kg of pure sorbent takes when all of it has reacted, kg.
    pub co2_kg_kg: f64,
    /// Vapour given off per CO2 taken, mol/mol.
    pub water_per_co2: f64,
    /// Heat given off per CO2 taken, the water leaving as vapour, J/mol.
    pub heat_j_mol: f64,
}

/// 2 LiOH + CO2 -> Li2CO3 + H2O. Stoichiometry; 2029 kJ per kg CO2 (872 Btu/lb; the customary figure is 875).
pub const LITHIUM_HYDROXIDE: Chemistry = Chemistry {
    co2_kg_kg: 0.044_009_5 / (2.0 * 0.023_948),
    water_per_co2: 1.0,
    heat_j_mol: 2.029e6 * 0.044_009_5,
};

/// Ca(OH)2 + CO2 -> CaCO3 + H2O. Stoichiometry of the hydroxide alone; heat from enthalpies of formation (from memory).
pub const SODA_LIME: Chemistry = Chemistry {
    co2_kg_kg: 0.044_009_5 / 0.074_093,
    water_per_co2: 1.0,
    heat_j_mol: 70.7e3,
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fresh_bed_takes_nearly_all_and_a_full_one_nothing() {
        assert_eq!(passes(8.0, 0.0), libm::exp(-8.0));
        assert_eq!(passes(8.0, 1.0), 1.0);
        assert_eq!(takes(8.0, 1.0), 0.0);
        assert!(takes(8.0, 1.01) < 0.0, "a bed past its end gives back");
        for s in [0.0, 0.3, 0.9, 0.999] {
            assert!((passes(5.0, s) + takes(5.0, s) - 1.0).abs() < 1e-15);
        }
    }

    /// Standard enthalpies of formation at 298.15 K, kJ/mol, CRC Handbook of Chemistry and Physics (from memory): LiOH -487.5,
    /// Li2CO3 -1215.9, Ca(OH)2 -985.2, CaCO3 (calcite) -1207.6, CO2 -393.51, H2O vapour -241.83, liquid -285.83.
    #[test]
    fn heat_follows_from_enthalpies_of_formation() {
        let lithium = 1215.9 + 241.83 - 2.0 * 487.5 - 393.51;
        assert!((LITHIUM_HYDROXIDE.heat_j_mol / (1e3 * lithium) - 1.0).abs() < 2e-3);
        // Condensing the water besides gives 3029 kJ per kg CO2.
        let condensed = LITHIUM_HYDROXIDE.heat_j_mol + 1e3 * (285.83 - 241.83);
        assert!((condensed / 0.044_009_5 / 3.029e6 - 1.0).abs() < 1e-3, "{condensed}");
        let soda_lime = 1207.6 + 241.83 - 985.2 - 393.51;
        assert!((SODA_LIME.heat_j_mol / (1e3 * soda_lime) - 1.0).abs() < 2e-3);
    }
}
