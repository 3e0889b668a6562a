//! A sensor: what it says is not quite what is.
//!
//! ```text
//! s' = (x - s) / lag        reading = gain s + bias + drift t + noise N(0, 1), kept inside its range
//! ```
//!
//! `x` the quantity in its compartment, `s` the sensor's state, which is `x` at the start of the run; `t` s from the start of the run; SI
//! units of the quantity. A reading is taken at every whole multiple of its period, the first
//! one period after the start of the run.
//!
//! Source: first-order response as data sheets of CO2 and humidity sensors state it (T63 is the lag; T90 = 2.303 lag); common practice.

use crate::limits::Quantity;
use crate::units::Time;

/// A sensor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensor {
    /// What it reads: one of `Co2`, `Humidity`, `Oxygen`, `Pressure`, `Temperature`.
    pub quantity: Quantity,
    /// Index of the compartment it stands in.
    pub compartment: usize,
    /// What it makes of the quantity: a factor.
    pub gain: f64,
    /// Added, in the quantity's unit.
    pub bias: f64,
    /// Added per second of the run, in the quantity's unit.
    pub drift_per_s: f64,
    /// Standard deviation of a reading, in the quantity's unit.
    pub noise: f64,
    /// What the noise of this run follows from; none: there is none, as in a run on the medians.
    pub noise_key: Option<u64>,
    /// Time constant, s; 0: none.
    pub lag_s: f64,
    /// From reading to reading.
    pub every: Time,
    /// Least and largest reading.
    pub range: [f64; 2],
}
