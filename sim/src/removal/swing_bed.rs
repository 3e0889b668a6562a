//! Two beds that take turns: one adsorbs CO2 and water from the cabin while the other desorbs overboard.
//!
//! ```text
//! adsorbing    (Q / (R T)) (p_in - p_b) = m k (q*(p_b) - q) = m dq/dt
//! desorbing    m dq/dt = -m k (q - q*(p_d))
//! competition  q*_c = f_c(p_b,c) / (1 + C q_w)        q*_w = f_w(p_b,w)
//! ```
//!
//! `q` loading, mol/kg, and `q*` the loading in equilibrium, of CO2 (c) and water (w); `m` sorbent in a bed, kg; `k` rate of approach
//! (linear driving force), 1/s; `p_in` inlet and `p_b` partial pressure around the adsorbing bed, Pa; `p_d` around the desorbing
//! one; `Q` actual volume flow at the inlet, m3/s; `T` inlet temperature, K; `C` how much held water hinders CO2, kg/mol; `f` isotherms at
//! the bed's temperature.
//!
//! Source: linear driving force after E. Glueckauf, Trans. Faraday Soc. 51, 1540 (1955), from memory. The gas around a bed is well mixed
//! and quasi-steady (assumption: it turns over in seconds, the bed in many minutes). A bed above equilibrium with the
//! inlet gives back to the cabin by the same equation. Valid where the isotherms are. Left out: the wave front along a bed, its
//! heating and cooling, the time that valves take.

use crate::units::Time;

use super::isotherm::{AtTemperature, Isotherm};
use super::toth_gas::{Near, toth_around};

/// A pair of beds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwingBed {
    /// Actual volume at the inlet, m3/s.
    pub flow_m3_s: f64,
    /// Sorbent in each bed, kg.
    pub bed_kg: f64,
    /// Bed temperature, K.
    pub bed_k: f64,
    /// Equilibrium loading with CO2.
    pub co2: Isotherm,
    /// Equilibrium loading with water.
    pub water: Isotherm,
    /// How much held water hinders CO2: `q*_c = f(p_c) / (1 + competition q_w)`, kg/mol.
    pub competition_kg_mol: f64,
    /// Rates of approach to equilibrium of CO2 and water, 1/s.
    pub rate_1_s: [f64; 2],
    /// Partial pressures of CO2 and water around a desorbing bed, Pa.
    pub desorb_pa: [f64; 2],
    /// Time for which a bed adsorbs before it turns.
    pub half_cycle: Time,
    /// Cabin gas lost at each turn, as volume at cabin pressure, m3.
    pub lost_m3: f64,
    /// Loadings at the start, mol/kg: CO2 of both beds, water of both beds.
    pub loaded_mol_kg: [f64; 4],
    /// What its valves do.
    pub valves: Valves,
}

/// What the valves of a pair of beds do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Valves {
    /// The beds take turns.
    #[default]
    Turning,
    /// The bed of this index adsorbs for ever.
    Stuck(usize),
    /// The bed of this index is shut off: in its turns nothing is taken, and it neither adsorbs nor desorbs.
    Isolated(usize),
}

/// Which bed does what; one that does neither holds what it holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Beds {
    /// The bed that meets the cabin's air.
    pub adsorbs: Option<usize>,
    /// The bed that is open overboard.
    pub desorbs: Option<usize>,
}

impl Valves {
    /// What the beds do in a turn; the first is turn 0, in which bed 0 adsorbs.
    #[must_use]
    pub fn at_turn(self, turn: u64) -> Beds {
        let due = usize::from(turn % 2 == 1);
        let unless = |shut: usize, bed: usize| (bed != shut).then_some(bed);
        match self {
            Self::Turning => Beds {
                adsorbs: Some(due),
                desorbs: Some(1 - due),
            },
            Self::Stuck(bed) => Beds {
                adsorbs: Some(bed),
                desorbs: Some(1 - bed),
            },
            Self::Isolated(bed) => Beds {
                adsorbs: unless(bed, due),
                desorbs: unless(bed, 1 - due),
            },
        }
    }
}

impl SwingBed {
    /// What the beds do in a turn; the first is turn 0, in which bed 0 adsorbs.
    #[must_use]
    pub fn at_turn(&self, turn: u64) -> Beds {
        self.valves.at_turn(turn)
    }

    /// What does not change while the beds work, worked out once: for a caller with more than a few calls.
    #[must_use]
    pub fn prepared(&self) -> PreparedBed {
        let isotherms = [self.co2.at(self.bed_k), self.water.at(self.bed_k)];
        PreparedBed {
            isotherms,
            exchange_kg_s: self.rate_1_s.map(|rate| rate * self.bed_kg),
            competition_kg_mol: self.competition_kg_mol,
            desorbed_mol_kg: [0, 1].map(|n| isotherms[n].loading_mol_kg(self.desorb_pa[n])),
        }
    }

    /// CO2 and water that the adsorbing bed takes, mol/s; see [`PreparedBed::uptake_mol_s`].
    #[must_use]
    pub fn uptake_mol_s(&self, per_pa: f64, p_in: [f64; 2], held: [f64; 2]) -> [f64; 2] {
        self.prepared().uptake_mol_s(per_pa, p_in, held)
    }

    /// CO2 and water that a desorbing bed gives off overboard, mol/s; see [`PreparedBed::release_mol_s`].
    #[must_use]
    pub fn release_mol_s(&self, held: [f64; 2]) -> [f64; 2] {
        self.prepared().release_mol_s(held)
    }
}

/// The gas around a bed when it was last asked for: CO2 and water.
#[derive(Clone, Copy, Debug, Default)]
pub struct LastGas([Near; 2]);

/// A bed of a pair, with what its constants amount to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PreparedBed {
    isotherms: [AtTemperature; 2],
    /// `m k`, kg/s.
    exchange_kg_s: [f64; 2],
    competition_kg_mol: f64,
    /// Loadings in equilibrium with the desorbing bed's surroundings, without competition, mol/kg.
    desorbed_mol_kg: [f64; 2],
}

impl PreparedBed {
    /// CO2 and water that the adsorbing bed takes, mol/s; below zero it gives back to the cabin.
    ///
    /// `per_pa` is `Q / (R T)` in mol/s/Pa, `p_in` the inlet's partial pressures in Pa, `held` the bed's loadings in mol/kg.
    #[must_use]
    pub fn uptake_mol_s(&self, per_pa: f64, p_in: [f64; 2], held: [f64; 2]) -> [f64; 2] {
        self.uptake_near_mol_s(per_pa, p_in, held, &mut LastGas::default())
    }

    /// The same for whoever asks again and again for much the same: what the gas around the bed was last time is where the search
    /// for it starts. The answer is the same to rounding.
    pub fn uptake_near_mol_s(&self, per_pa: f64, p_in: [f64; 2], held: [f64; 2], around: &mut LastGas) -> [f64; 2] {
        let hindrance = self.hindrance(held[1]);
        // m k (f / h - q) is (m k / h) (f - h q).
        let co2 = uptake(
            &self.isotherms[0],
            per_pa,
            self.exchange_kg_s[0] / hindrance,
            p_in[0],
            held[0] * hindrance,
            &mut around.0[0],
        );
        let water = uptake(
            &self.isotherms[1],
            per_pa,
            self.exchange_kg_s[1],
            p_in[1],
            held[1],
            &mut around.0[1],
        );
        [co2, water]
    }

    /// CO2 and water that a desorbing bed gives off overboard, mol/s; below zero it takes from its surroundings.
    #[must_use]
    pub fn release_mol_s(&self, held: [f64; 2]) -> [f64; 2] {
        let rest = [
            self.desorbed_mol_kg[0] / self.hindrance(held[1]),
            self.desorbed_mol_kg[1],
        ];
        [0, 1].map(|n| self.exchange_kg_s[n] * (held[n] - rest[n]))
    }

    /// `1 + C q_w`; a loading below zero, which an integrator may try, hinders nothing.
    fn hindrance(&self, water_mol_kg: f64) -> f64 {
        1.0 + self.competition_kg_mol * water_mol_kg.max(0.0)
    }
}

/// What is taken, mol/s: the `p` of `g (p_in - p) = m (q*(p) - q)` found, and either side of it.
///
/// With `L(p) = g p + m q*(p)`, which rises, it is where `L` is `g p_in + m q`.
fn uptake(isotherm: &AtTemperature, g: f64, m: f64, p_in: f64, q: f64, near: &mut Near) -> f64 {
    if !(g > 0.0 && m > 0.0) {
        return 0.0;
    }
    let level = g * p_in + m * q;
    match *isotherm {
        AtTemperature::Langmuir { most_mol_kg, half_pa } if level > 0.0 => {
            let b = g * half_pa + m * most_mol_kg - level;
            let root = libm::sqrt(b * b + 4.0 * g * half_pa * level);
            let p = if b > 0.0 {
                2.0 * half_pa * level / (b + root)
            } else {
                (root - b) / (2.0 * g)
            };
            let q_star = most_mol_kg * p / (half_pa + p);
            let slope = most_mol_kg * half_pa / ((half_pa + p) * (half_pa + p));
            if g < m * slope {
                g * (p_in - p)
            } else {
                m * (q_star - q)
            }
        }
        AtTemperature::Toth { a_mol_kg_pa, ln_b, t } if level > 0.0 => {
            let around = toth_around(a_mol_kg_pa, ln_b, t, g, m, level, *near);
            *near = around.near;
            // The side that an error of `p` changes less.
            if g < m * around.slope {
                g * (p_in - around.p_pa)
            } else {
                m * (around.q_star - q)
            }
        }
        // Below the origin every isotherm is a line.
        _ => {
            let slope = isotherm.slope_at_origin_mol_kg_pa();
            (slope * p_in - q) * (g * m / (g + m * slope))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bed(co2: Isotherm) -> SwingBed {
        SwingBed {
            flow_m3_s: 0.01,
            bed_kg: 8.0,
            bed_k: 295.0,
            co2,
            water: Isotherm::ZEOLITE_5A_WATER,
            competition_kg_mol: 0.5,
            rate_1_s: [5e-3, 2e-3],
            desorb_pa: [1.0, 2.0],
            half_cycle: Time::from_seconds(3600.0),
            lost_m3: 0.0,
            loaded_mol_kg: [0.0; 4],
            valves: Valves::Turning,
        }
    }

    const ISOTHERMS: [Isotherm; 3] = [
        Isotherm::ZEOLITE_5A_CO2,
        Isotherm::Langmuir {
            most_mol_kg: 3.0,
            half_pa: 1000.0,
        },
        Isotherm::Linear { slope_mol_kg_pa: 0.003 },
    ];

    /// The uptake put back into the equation, solved for the loading that it would need.
    #[test]
    fn flow_and_bed_agree_on_what_is_taken() {
        for isotherm in ISOTHERMS {
            let bed = bed(isotherm);
            for g in [1e-7, 4e-6, 1e-4, 1e-2] {
                for p in [0.0, 3.0, 300.0, 2000.0] {
                    for held in [0.0, 0.01, 0.8, 2.5] {
                        let water = 1.5;
                        let [taken, _] = bed.uptake_mol_s(g, [p, 1200.0], [held, water]);
                        let p_b = p - taken / g;
                        let hindrance = 1.0 + bed.competition_kg_mol * water;
                        let q_star = isotherm.loading_mol_kg(p_b, bed.bed_k) / hindrance;
                        let by_bed = bed.bed_kg * bed.rate_1_s[0] * (q_star - held);
                        // What rounding of either side amounts to.
                        let slope = isotherm.slope_mol_kg_pa(p_b, bed.bed_k) / hindrance;
                        let exchange = bed.bed_kg * bed.rate_1_s[0];
                        let allowed = 1e-14 * (exchange * (q_star + held) + exchange * slope * (p + p_b.abs()));
                        assert!(
                            (by_bed - taken).abs() <= allowed,
                            "{isotherm:?} {g} {p} {held}: {by_bed} {taken}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn values_below_zero_lead_back() {
        for isotherm in ISOTHERMS {
            let bed = bed(isotherm);
            let [taken, _] = bed.uptake_mol_s(4e-6, [0.0, 0.0], [-1e-6, 0.0]);
            assert!(taken > 0.0, "{isotherm:?}");
            let [taken, _] = bed.uptake_mol_s(4e-6, [-1e-3, 0.0], [0.0, 0.0]);
            assert!(taken < 0.0, "{isotherm:?}");
        }
    }

    #[test]
    fn without_flow_or_bed_nothing_is_taken() {
        let mut bed = bed(Isotherm::ZEOLITE_5A_CO2);
        assert_eq!(bed.uptake_mol_s(0.0, [300.0, 900.0], [0.1, 0.2]), [0.0, 0.0]);
        bed.rate_1_s = [0.0, 0.0];
        assert_eq!(bed.uptake_mol_s(4e-6, [300.0, 900.0], [0.1, 0.2]), [0.0, 0.0]);
        assert_eq!(bed.release_mol_s([0.1, 0.2]), [0.0, 0.0]);
    }

    #[test]
    fn valves_say_which_bed_does_what() {
        let told = |valves: Valves| {
            [0, 1].map(|turn| {
                let beds = valves.at_turn(turn);
                (beds.adsorbs, beds.desorbs)
            })
        };
        assert_eq!(told(Valves::Turning), [(Some(0), Some(1)), (Some(1), Some(0))]);
        assert_eq!(told(Valves::Stuck(1)), [(Some(1), Some(0)); 2]);
        assert_eq!(told(Valves::Isolated(0)), [(None, Some(1)), (Some(1), None)]);
        assert_eq!(told(Valves::Isolated(1)), [(Some(0), None), (None, Some(0))]);
    }
}
