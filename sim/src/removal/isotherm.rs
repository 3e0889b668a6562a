//! Equilibrium loading of a sorbent against partial pressure.

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
