//! What a heat balance of a compartment's air needs, as numbers.
//!
//! ```text
//! C dT/dt   = q_people + q_equipment + h A (T_w - T) + sum g_b (T_b - T) + q_devices        C = sum n_i c_p,i
//! C_w dT_w/dt = h A (T - T_w) + L m_condensed - q_insulation(T_w, T_s)
//! q_insulation = k (T_w - T_s)   or   sigma e A (T_w^4 - T_s^4)
//! ```
//!
//! `T` air, `T_w` wall, `T_s` surroundings, K; `h A`, `k` in W/K; `e A` effective emittance times area, m2; `g_b` heat capacity
//! flow of an open opening, W/K; `L m` heat of what condenses on the wall, W.

/// Heat balance of a compartment's air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// Dissipated into the air by equipment, W.
    pub equipment_w: f64,
    /// The wall; none: the air exchanges heat with nothing but what is in it.
    pub wall: Option<WallHeat>,
}

/// A wall with a temperature of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WallHeat {
    /// Temperature at the start, K.
    pub temperature_k: f64,
    /// Film coefficient times area, W/K.
    pub to_air_w_k: f64,
    /// Heat capacity, J/K.
    pub capacity_j_k: f64,
    /// What lies between it and the surroundings.
    pub insulation: Insulation,
    /// Temperature of the surroundings, K.
    pub surroundings_k: f64,
}

/// What lies between a wall and the surroundings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Insulation {
    /// A conductance, W/K.
    Conductance(f64),
    /// Radiation with an effective emittance times area, m2.
    Emittance(f64),
}
