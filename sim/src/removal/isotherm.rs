//! Equilibrium loading of a sorbent against partial pressure.
//!
//! ```text
//! Toth      q* = a p / (1 + (b p)^t)^(1/t)     a = a0 e^(E/T)   b = b0 e^(E/T)   t = t0 + c/T      dq*/dp = q* / (p (1 + (b p)^t))
//! Langmuir  q* = most p / (half + p)
//! Henry     q* = slope p
//! ```
//!
//! `q*` mol/kg; `p` partial pressure, Pa (the numbers of Toth's form are stated for kPa); `T` temperature of the sorbent, K.
//!
//! Source: J. Toth, Acta Chim. Acad. Sci. Hung. 69, 311 (1971); I. Langmuir, J. Am. Chem. Soc. 40, 1361 (1918). Valid where the numbers were
//! fitted, for the built-in ones up to one atmosphere of the species. Below zero pressure each goes on as a line through
//! the origin with the slope that it has there, for integrators that try such values. Left out: hysteresis, heat of sorption.

/// An isotherm: `q*(p, T)` in mol/kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Isotherm {
    /// `q = a p / (1 + (b p)^t)^(1/t)`, `a = a0 e^(E/T)`, `b = b0 e^(E/T)`, `t = t0 + c/T`; p in kPa (Toth).
    Toth {
        /// mol/kg/kPa.
        a0: f64,
        /// 1/kPa.
        b0: f64,
        /// K.
        e_k: f64,
        /// None.
        t0: f64,
        /// K.
        c_k: f64,
    },
    /// `q = most p / (half + p)` (Langmuir).
    Langmuir {
        /// mol/kg.
        most_mol_kg: f64,
        /// Partial pressure of half the most, Pa.
        half_pa: f64,
    },
    /// `q = slope p` (Henry).
    Linear {
        /// mol/kg/Pa.
        slope_mol_kg_pa: f64,
    },
}

/// An isotherm at one temperature: what is left is pressure, and a call costs two logarithms and two exponentials at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AtTemperature {
    /// Toth, per Pa.
    Toth {
        /// Slope at the origin, mol/kg/Pa.
        a_mol_kg_pa: f64,
        /// Logarithm of `b` in 1/Pa.
        ln_b: f64,
        /// Exponent.
        t: f64,
    },
    /// Langmuir.
    Langmuir {
        /// mol/kg.
        most_mol_kg: f64,
        /// Pa.
        half_pa: f64,
    },
    /// Henry.
    Linear {
        /// mol/kg/Pa.
        slope_mol_kg_pa: f64,
    },
}

/// Pascals in the kPa for which Toth's numbers are stated.
const PA_PER_KPA: f64 = 1000.0;

impl Isotherm {
    /// CO2 on zeolite 5A. NASA TM-1998-208752, from memory.
    pub const ZEOLITE_5A_CO2: Self = Self::Toth {
        a0: 9.875e-7,
        b0: 6.761e-8,
        e_k: 5625.0,
        t0: 0.2700,
        c_k: -20.02,
    };
    /// Water on zeolite 5A. As for CO2, from memory.
    pub const ZEOLITE_5A_WATER: Self = Self::Toth {
        a0: 1.106e-8,
        b0: 4.714e-10,
        e_k: 9955.0,
        t0: 0.3548,
        c_k: -51.14,
    };

    /// The isotherm at a temperature, for many calls.
    #[must_use]
    pub fn at(&self, t_k: f64) -> AtTemperature {
        match *self {
            Self::Toth { a0, b0, e_k, t0, c_k } => AtTemperature::Toth {
                a_mol_kg_pa: a0 * libm::exp(e_k / t_k) / PA_PER_KPA,
                ln_b: libm::log(b0 / PA_PER_KPA) + e_k / t_k,
                t: t0 + c_k / t_k,
            },
            Self::Langmuir { most_mol_kg, half_pa } => AtTemperature::Langmuir { most_mol_kg, half_pa },
            Self::Linear { slope_mol_kg_pa } => AtTemperature::Linear { slope_mol_kg_pa },
        }
    }

    /// Loading in equilibrium with a partial pressure, mol/kg.
    #[must_use]
    pub fn loading_mol_kg(&self, p_pa: f64, t_k: f64) -> f64 {
        self.at(t_k).loading_mol_kg(p_pa)
    }

    /// How that loading rises with pressure, mol/kg/Pa.
    #[must_use]
    pub fn slope_mol_kg_pa(&self, p_pa: f64, t_k: f64) -> f64 {
        self.at(t_k).slope_mol_kg_pa(p_pa)
    }
}

impl AtTemperature {
    /// Loading in equilibrium with a partial pressure, mol/kg.
    #[must_use]
    pub fn loading_mol_kg(&self, p_pa: f64) -> f64 {
        match *self {
            _ if p_pa <= 0.0 => self.slope_at_origin_mol_kg_pa() * p_pa,
            Self::Toth { a_mol_kg_pa, ln_b, t } => toth(a_mol_kg_pa, ln_b, t, libm::log(p_pa), p_pa).0,
            Self::Langmuir { most_mol_kg, half_pa } => most_mol_kg * p_pa / (half_pa + p_pa),
            Self::Linear { slope_mol_kg_pa } => slope_mol_kg_pa * p_pa,
        }
    }

    /// How that loading rises with pressure, mol/kg/Pa.
    #[must_use]
    pub fn slope_mol_kg_pa(&self, p_pa: f64) -> f64 {
        match *self {
            _ if p_pa <= 0.0 => self.slope_at_origin_mol_kg_pa(),
            Self::Toth { a_mol_kg_pa, ln_b, t } => {
                let (q, x) = toth(a_mol_kg_pa, ln_b, t, libm::log(p_pa), p_pa);
                q / (p_pa * (1.0 + x))
            }
            Self::Langmuir { most_mol_kg, half_pa } => most_mol_kg * half_pa / ((half_pa + p_pa) * (half_pa + p_pa)),
            Self::Linear { slope_mol_kg_pa } => slope_mol_kg_pa,
        }
    }

    /// The slope from which the loading rises at zero pressure, mol/kg/Pa: the steepest, as each of them is concave.
    #[must_use]
    pub fn slope_at_origin_mol_kg_pa(&self) -> f64 {
        match *self {
            Self::Toth { a_mol_kg_pa, .. } => a_mol_kg_pa,
            Self::Langmuir { most_mol_kg, half_pa } => most_mol_kg / half_pa,
            Self::Linear { slope_mol_kg_pa } => slope_mol_kg_pa,
        }
    }
}

/// Toth's loading and `(b p)^t`, from a pressure above zero and its logarithm.
fn toth(a_mol_kg_pa: f64, ln_b: f64, t: f64, ln_p: f64, p_pa: f64) -> (f64, f64) {
    let x = libm::exp(t * (ln_b + ln_p));
    (a_mol_kg_pa * p_pa * libm::exp(-libm::log1p(x) / t), x)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Isotherm; 4] = [
        Isotherm::ZEOLITE_5A_CO2,
        Isotherm::ZEOLITE_5A_WATER,
        Isotherm::Langmuir {
            most_mol_kg: 3.0,
            half_pa: 1000.0,
        },
        Isotherm::Linear { slope_mol_kg_pa: 0.003 },
    ];

    #[test]
    fn the_slope_is_that_of_the_loading() {
        for isotherm in ALL {
            for p in [0.5, 20.0, 400.0, 3000.0] {
                let h = 1e-4 * p;
                let secant =
                    (isotherm.loading_mol_kg(p + h, 295.0) - isotherm.loading_mol_kg(p - h, 295.0)) / (2.0 * h);
                let slope = isotherm.slope_mol_kg_pa(p, 295.0);
                assert!(
                    (slope / secant - 1.0).abs() < 1e-7,
                    "{isotherm:?} at {p}: {slope} {secant}"
                );
            }
        }
    }

    #[test]
    fn below_zero_it_is_a_line_through_the_origin() {
        for isotherm in ALL {
            assert_eq!(isotherm.loading_mol_kg(0.0, 295.0), 0.0);
            let slope = isotherm.slope_mol_kg_pa(0.0, 295.0);
            assert!(slope > 0.0);
            assert_eq!(isotherm.loading_mol_kg(-2.0, 295.0), -2.0 * slope);
            assert_eq!(isotherm.slope_mol_kg_pa(-1.0, 295.0), slope);
        }
    }

    #[test]
    fn a_warmer_sorbent_holds_less() {
        for isotherm in [Isotherm::ZEOLITE_5A_CO2, Isotherm::ZEOLITE_5A_WATER] {
            let [cold, warm] = [283.15, 323.15].map(|t| isotherm.loading_mol_kg(400.0, t));
            assert!(cold > 1.2 * warm, "{cold} {warm}");
        }
    }
}
