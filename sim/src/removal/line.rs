//! What a device takes of one species, as lines against inlet partial pressure.
//!
//! Every constant device removes at a rate that is linear in the inlet partial pressure between a few fixed pressures:
//!
//! ```text
//! flow-through   r = f e Q p / (R T)
//! condenser      r = f Q (1 - b) max(0, p - p_sat(coil)) / (R T)
//! curve          r = f (line between the given points, from the origin, constant past the last)
//! ```
//!
//! `r` in mol/s, `p` in Pa; `f` factor of the device's turn, `e` efficiency, `Q` actual volume flow at the inlet (m3/s),
//! `T` inlet temperature (K), `b` bypass, `R` 8.314462618 J/mol/K. Ideal gas: amount flow = Q p / (R T). The condenser's
//! saturation is taken against the inlet's amount of carrier gas (what leaves the coil saturated carries as many moles of
//! carrier as came in); the exact form that conserves the carrier gives 0.9 to 2.7 % more from 101 to 33 kPa. A condenser
//! drains its water, so it never gives any back.
//!
//! A device thus has a few pieces, each affine, and which piece holds is part of the engine's mode.

use crate::air::{GAS_CONSTANT_J_MOL_K, Species};

use super::{Device, Removal};

/// One piece: from `from_pa` up, `rate = conductance p - offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Inlet partial pressure from which it holds, Pa.
    pub from_pa: f64,
    /// mol/s/Pa.
    pub conductance_mol_s_pa: f64,
    /// mol/s.
    pub offset_mol_s: f64,
}

impl Line {
    /// The rate at an inlet partial pressure, mol/s.
    #[must_use]
    pub fn rate_mol_s(&self, p_pa: f64) -> f64 {
        self.conductance_mol_s_pa * p_pa - self.offset_mol_s
    }
}

impl Device {
    /// How many pieces the device's law for `species` has: 0 if it takes none.
    #[must_use]
    pub fn pieces(&self, species: Species) -> usize {
        match (&self.removal, species) {
            (Removal::FlowThrough { .. }, Species::Co2 | Species::Water) => 1,
            (Removal::Condenser { .. }, Species::Water) => 2,
            (Removal::Curve { co2: points, .. }, Species::Co2)
            | (Removal::Curve { water: points, .. }, Species::Water) => {
                if points.is_empty() {
                    0
                } else {
                    points.len() + 1
                }
            }
            _ => 0,
        }
    }

    /// Piece `index` of the law for `species`, with inlet air at `temperature_k` and the turn's `factor`.
    ///
    /// A piece that the law does not have takes nothing.
    #[must_use]
    pub fn line(&self, species: Species, index: usize, temperature_k: f64, factor: f64) -> Line {
        let per_flow = factor / (GAS_CONSTANT_J_MOL_K * temperature_k);
        match (&self.removal, species) {
            (
                Removal::FlowThrough {
                    flow_m3_s,
                    co2_efficiency,
                    ..
                },
                Species::Co2,
            ) => through(per_flow * flow_m3_s * co2_efficiency),
            (
                Removal::FlowThrough {
                    flow_m3_s,
                    water_efficiency,
                    ..
                },
                Species::Water,
            ) => through(per_flow * flow_m3_s * water_efficiency),
            (
                Removal::Condenser {
                    flow_m3_s,
                    bypass,
                    coil_saturation_pa,
                    ..
                },
                Species::Water,
            ) if index == 1 => {
                let conductance = per_flow * flow_m3_s * (1.0 - bypass);
                Line {
                    from_pa: *coil_saturation_pa,
                    conductance_mol_s_pa: conductance,
                    offset_mol_s: conductance * coil_saturation_pa,
                }
            }
            (Removal::Curve { co2: points, .. }, Species::Co2)
            | (Removal::Curve { water: points, .. }, Species::Water) => between(points, index, factor),
            _ => through(0.0),
        }
    }

    /// The piece that holds at an inlet partial pressure.
    #[must_use]
    pub fn piece_at(&self, species: Species, p_pa: f64, temperature_k: f64) -> usize {
        let pieces = self.pieces(species);
        (1..pieces)
            .take_while(|&i| self.line(species, i, temperature_k, 1.0).from_pa <= p_pa)
            .count()
    }

    /// Removal rate of `species` at an inlet partial pressure, mol/s, in a turn of factor 1.
    #[must_use]
    pub fn rate_mol_s(&self, species: Species, p_pa: f64, temperature_k: f64) -> f64 {
        self.line(species, self.piece_at(species, p_pa, temperature_k), temperature_k, 1.0)
            .rate_mol_s(p_pa)
    }
}

fn through(conductance_mol_s_pa: f64) -> Line {
    Line {
        from_pa: 0.0,
        conductance_mol_s_pa,
        offset_mol_s: 0.0,
    }
}

fn between(points: &[(f64, f64)], index: usize, factor: f64) -> Line {
    let left = if index == 0 {
        (0.0, 0.0)
    } else {
        points[index.min(points.len()) - 1]
    };
    let slope = points
        .get(index)
        .map_or(0.0, |right| (right.1 - left.1) / (right.0 - left.0));
    Line {
        from_pa: left.0,
        conductance_mol_s_pa: factor * slope,
        offset_mol_s: factor * (slope * left.0 - left.1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn device(removal: Removal) -> Device {
        Device {
            serves: 0,
            on: true,
            removal,
            cycle: None,
        }
    }

    #[test]
    fn a_perfect_scrubber_takes_what_the_flow_carries() {
        // 10 ft3/min at 1 mmHg and 294.15 K carries 0.978 kg CO2 a day: ideal gas, arithmetic.
        let scrubber = device(Removal::FlowThrough {
            flow_m3_s: 10.0 * 0.028_316_8 / 60.0,
            co2_efficiency: 1.0,
            water_efficiency: 0.0,
        });
        let kg_d = scrubber.rate_mol_s(Species::Co2, 133.322, 294.15) * 0.044_009_5 * 86_400.0;
        assert!((kg_d - 0.978).abs() < 5e-4, "{kg_d}");
        assert_eq!(scrubber.rate_mol_s(Species::Water, 1000.0, 294.15), 0.0);
        assert_eq!(scrubber.pieces(Species::Oxygen), 0);
    }

    #[test]
    fn a_condenser_takes_nothing_from_air_drier_than_its_coil() {
        let coil = device(Removal::Condenser {
            flow_m3_s: 0.02,
            bypass: 0.2,
            coil_saturation_pa: 872.575,
            coil_temperature_k: 278.15,
        });
        assert_eq!(coil.rate_mol_s(Species::Water, 872.0, 298.15), 0.0);
        assert!(coil.rate_mol_s(Species::Water, 900.0, 298.15) > 0.0);
        let line = coil.line(Species::Water, 1, 298.15, 1.0);
        assert!(line.rate_mol_s(872.575).abs() < 1e-18);
    }

    #[test]
    fn a_curve_is_linear_between_its_points_and_flat_past_the_last() {
        let curve = device(Removal::Curve {
            co2: vec![(100.0, 1e-4), (300.0, 2e-4)],
            water: vec![],
        });
        for (p, r) in [
            (0.0, 0.0),
            (50.0, 0.5e-4),
            (100.0, 1e-4),
            (200.0, 1.5e-4),
            (300.0, 2e-4),
            (900.0, 2e-4),
        ] {
            assert!((curve.rate_mol_s(Species::Co2, p, 295.0) - r).abs() < 1e-18, "{p}");
        }
        assert_eq!(curve.pieces(Species::Water), 0);
    }
}
