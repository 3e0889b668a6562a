//! Gas through an orifice: choked while the pressure behind it is low, subsonic above that; and heat capacities.
//!
//! ```text
//! n'  = A P psi(r) / sqrt(R T M)        r = P_d / P,   M = sum x_i M_i,   g = c_p / (c_p - R),   c_p = sum x_i c_p,i
//! psi = sqrt(g) (2 / (g + 1))^((g + 1) / (2 (g - 1)))                        r <= r* = (2 / (g + 1))^(g / (g - 1))
//! psi = sqrt(2 g / (g - 1) (r^(2 / g) - r^((g + 1) / g)))                    r* < r <= 0.999
//! psi = psi(0.999) (1 - r) / 0.001                                           above
//! ```
//!
//! `n'`: molar flow, mol/s; `A`: effective area (area times discharge coefficient), m2; `P`, `T`: total pressure, Pa,
//! and temperature, K, upstream; `P_d`: total pressure downstream, Pa; `x_i`: mole fractions upstream; `M_i`: molar
//! masses, kg/mol; `c_p,i`: molar heat capacities, J/mol/K; `g`: heat capacity ratio; `R`: gas constant.
//!
//! Source: isentropic flow of an ideal gas with constant heat capacities through a nozzle from gas at rest, as in
//! Anderson, Modern Compressible Flow, ch. 5, or any textbook of compressible flow (from memory), per amount instead of
//! per mass. Linear near equal pressures, where the square root has no slope: laminar flow, as the practice of ISO 6358
//! has it (from memory; its limit of 0.999 is that of the common fluid-power models).
//!
//! Range: any pressures; vapour is taken as an ideal gas that does not condense on the way.
//!
//! Left out: the contraction's dependence on the pressure ratio (it is in the discharge coefficient), and cooling of the
//! gas left behind: compartments are isothermal under vents.

use super::{GAS_CONSTANT_J_MOL_K, Species, total_pa};

/// Molar heat capacities at constant pressure, J/mol/K, by [`Species`], taken as constant (NIST-JANAF tables at 300 K,
/// rounded, from memory).
pub const CP_J_MOL_K: [f64; 4] = [37.1, 33.6, 29.4, 29.1];

/// Pressure ratio above which the flow falls to zero in a straight line.
const LAMINAR_RATIO: f64 = 0.999;

/// Mean of a molar property over a gas of these partial pressures; of nothing, that of the diluent.
fn mean(partial_pa: &[f64; 4], of: &[f64; 4]) -> f64 {
    let total = total_pa(partial_pa);
    if total <= 0.0 {
        return of[Species::Diluent as usize];
    }
    let mut sum = 0.0;
    for i in 0..4 {
        sum += partial_pa[i] * of[i];
    }
    sum / total
}

/// Heat capacity ratio of a gas of these partial pressures.
#[must_use]
pub fn heat_ratio(partial: &[f64; 4]) -> f64 {
    let cp = mean(partial, &CP_J_MOL_K);
    cp / (cp - GAS_CONSTANT_J_MOL_K)
}

/// Mean molar mass, kg/mol, of a gas of these partial pressures.
#[must_use]
pub fn mean_molar_mass(partial: &[f64; 4]) -> f64 {
    mean(partial, &Species::ALL.map(Species::molar_mass_kg_mol))
}

/// Pressure ratio down to which the flow still depends on it.
fn critical_ratio(heat_ratio: f64) -> f64 {
    libm::pow(2.0 / (heat_ratio + 1.0), heat_ratio / (heat_ratio - 1.0))
}

/// `psi` of a choked flow.
fn choked(heat_ratio: f64) -> f64 {
    let power = (heat_ratio + 1.0) / (2.0 * (heat_ratio - 1.0));
    libm::sqrt(heat_ratio) * libm::pow(2.0 / (heat_ratio + 1.0), power)
}

/// `psi` of a subsonic flow.
fn subsonic(heat_ratio: f64, ratio: f64) -> f64 {
    let root = libm::pow(ratio, 1.0 / heat_ratio);
    // r^(2/g) - r^((g+1)/g), with no difference of nearly equal powers.
    let drop = root * (root - ratio);
    libm::sqrt((2.0 * heat_ratio / (heat_ratio - 1.0) * drop).max(0.0))
}

/// The flow function `psi` at a pressure ratio; 0 where there is no drop of pressure.
fn flow_function(heat_ratio: f64, ratio: f64) -> f64 {
    if ratio >= 1.0 {
        0.0
    } else if ratio > LAMINAR_RATIO {
        subsonic(heat_ratio, LAMINAR_RATIO) * (1.0 - ratio) / (1.0 - LAMINAR_RATIO)
    } else if ratio > critical_ratio(heat_ratio) {
        subsonic(heat_ratio, ratio)
    } else {
        choked(heat_ratio)
    }
}

/// Molar flow, mol/s, through an effective area in m2 from gas of partial pressures `up` (Pa) at `up_k` to a total
/// pressure `down_total_pa`; 0 if that is not below the total upstream.
#[must_use]
pub fn orifice_mol_s(area_m2: f64, up: &[f64; 4], up_k: f64, down_total_pa: f64) -> f64 {
    let total = total_pa(up);
    if total <= 0.0 || down_total_pa >= total {
        return 0.0;
    }
    let psi = flow_function(heat_ratio(up), down_total_pa / total);
    area_m2 * total * psi / libm::sqrt(GAS_CONSTANT_J_MOL_K * up_k * mean_molar_mass(up))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 101.325 kPa of nitrogen with a fifth of oxygen.
    const AIR: [f64; 4] = [0.0, 0.0, 21_278.0, 80_047.0];

    /// Mass flow of choked air per area, by the textbook's own form: `sqrt(g / (R_s T0)) (2 / (g + 1))^(...) p0`.
    #[test]
    fn choked_air_flows_as_the_textbook_says() {
        // g = 1.4, R_s = 287 J/kg/K: 0.040418 A p0 / sqrt(T0) (printed in textbooks of compressible flow).
        let per_root = choked(1.4) / libm::sqrt(287.0);
        assert!((per_root / 0.040_418 - 1.0).abs() < 1e-4, "{per_root}");
        // The same from real dry air, whose R_s is 288.2 and g 1.3987 here: within 0.3 %.
        let (area_m2, temperature_k) = (3e-5, 295.0);
        let flow_kg_s = orifice_mol_s(area_m2, &AIR, temperature_k, 0.0) * mean_molar_mass(&AIR);
        let expected = 0.040_418 * area_m2 * total_pa(&AIR) / libm::sqrt(temperature_k);
        assert!((flow_kg_s / expected - 1.0).abs() < 3e-3, "{flow_kg_s} {expected}");
    }

    #[test]
    fn pure_gases_have_their_heat_ratios() {
        // Tabulated at 300 K (from memory): oxygen 1.395, nitrogen 1.400, CO2 1.289, vapour 1.33.
        for (species, expected) in [(0, 1.289), (1, 1.33), (2, 1.395), (3, 1.400)] {
            let mut partial = [0.0; 4];
            partial[species] = 1e4;
            let ratio = heat_ratio(&partial);
            assert!((ratio - expected).abs() < 4e-3, "{species}: {ratio}");
        }
        assert!((heat_ratio(&[0.0; 4]) - 1.400).abs() < 1e-3);
        assert!((mean_molar_mass(&AIR) - 0.028_850_3).abs() < 1e-6);
    }

    #[test]
    fn the_critical_ratio_of_air_is_the_textbooks() {
        assert!((critical_ratio(1.4) - 0.528_282).abs() < 1e-6);
    }

    #[test]
    fn flow_is_continuous_where_its_law_changes() {
        for g in [1.25, 1.4, 5.0 / 3.0] {
            let critical = critical_ratio(g);
            assert!((subsonic(g, critical) / choked(g) - 1.0).abs() < 1e-12, "{g}");
            // Flat there: the choked flow is the most that passes.
            let past = flow_function(g, critical + 1e-4);
            assert!(past <= choked(g) && past / choked(g) > 1.0 - 1e-6, "{g}: {past}");
            let near = flow_function(g, LAMINAR_RATIO + 1e-12);
            assert!((near / flow_function(g, LAMINAR_RATIO) - 1.0).abs() < 1e-8, "{g}");
        }
    }

    #[test]
    fn it_falls_as_the_pressure_behind_it_rises_and_ends_at_none() {
        let total = total_pa(&AIR);
        let mut last = f64::INFINITY;
        for i in 0..=4000 {
            let flow = orifice_mol_s(1e-4, &AIR, 290.0, total * f64::from(i) / 4000.0);
            assert!(flow <= last && flow >= 0.0, "{i}: {flow} after {last}");
            last = flow;
        }
        assert!(last.abs() < f64::MIN_POSITIVE);
        assert!(orifice_mol_s(1e-4, &AIR, 290.0, 2.0 * total).abs() < f64::MIN_POSITIVE);
        assert!(orifice_mol_s(1e-4, &[0.0; 4], 290.0, 0.0).abs() < f64::MIN_POSITIVE);
    }
}
