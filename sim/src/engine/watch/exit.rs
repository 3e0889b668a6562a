//! How a mode ends, and where that was found.

use super::super::mode::Knee;
use super::super::segment::Sum;

/// How a mode ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Exit {
    /// An oxygen hold (by index) starts or stops to flow.
    OxygenHold(usize, bool),
    /// An oxygen hold lets in all it can.
    OxygenFull(usize),
    /// A pressure hold (by index) starts or stops to flow.
    PressureHold(usize, bool),
    /// A pressure hold lets in all it can.
    PressureFull(usize),
    /// A proportional hold (by index) of oxygen, or of the pressure, comes to a knee of its law.
    Knee(usize, bool, Knee),
    /// The gas of a compartment gets thin, or is no longer.
    Thin(usize, bool),
    /// A relief valve (by compartment) opens or closes.
    Relief(usize, bool),
    /// A transfer (by its place among those under way) has come to its pressure.
    Transfer(usize),
    /// A tank runs dry.
    TankDry(usize),
    /// A suit (by index) begins to let gas out, or no longer does.
    SuitRelief(usize, bool),
    /// A surface gets wet or dry.
    Film(usize, usize, bool),
    /// A device's law for CO2 or water goes over to another piece.
    Piece(usize, usize, usize),
    /// The oxygen that a person breathes falls below the floor: compartment, person.
    Floor(usize, usize),
}

/// What came to which level.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Target {
    /// The number.
    pub sum: Sum,
    /// Its level.
    pub level: f64,
}

/// An exit that was found.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Found {
    /// When, s.
    pub t_s: f64,
    /// What.
    pub exit: Exit,
    /// By which it was found, if it was by a sum of pressures.
    pub target: Option<Target>,
}
