//! One of the crew as numbers.

use crate::air::Place;

use super::Profile;

/// One of the crew.
#[derive(Clone, Debug)]
pub struct Person {
    /// First-order lag of oxygen use and CO2 output behind effort, s.
    pub gas_lag_s: f64,
    /// Where they are at the start.
    pub start: Place,
    /// Where they go off task; none: they stay where the last task left them (from outside: where they came from).
    pub home: Option<usize>,
    /// Partial pressure of diluent in their tissue at the start, Pa; none: that of the air they start in.
    pub tissue_pa: Option<f64>,
    /// Index of the effort off task.
    pub idle: usize,
    /// This person's profile of every effort, by effort index (the order of `plan.effort_space_m3`).
    pub profiles: Vec<Profile>,
}
