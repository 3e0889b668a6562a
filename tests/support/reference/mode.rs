//! Which equations hold: everything that is constant between two changes.

use breathroom_sim::crew::Load;

use super::network::Network;

/// What a hold's valve adds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gas {
    Oxygen,
    Diluent,
}

/// One valve of one hold.
#[derive(Clone, Copy, Debug)]
pub struct Valve {
    pub compartment: usize,
    pub gas: Gas,
    /// What it keeps, Pa.
    pub hold_pa: f64,
}

/// One set of equations.
#[derive(Clone, Debug, Default)]
pub struct Mode {
    /// Compartment of each person; none outside.
    pub place: Vec<Option<usize>>,
    pub load: Vec<Load>,
    pub sweat_lag: Vec<bool>,
    pub towel: Vec<bool>,
    pub open: Vec<bool>,
    pub on: Vec<bool>,
    /// Factor of the current turn of each device.
    pub factor: Vec<f64>,
    /// Of each device: its condenser takes water.
    pub condensing: Vec<bool>,
    /// Of each device: piece of its two curves (CO2, water) that holds; the number of points means past the last.
    pub piece: Vec<[usize; 2]>,
    /// Of each surface of the case, in order: vapour is exchanged with it.
    pub wet: Vec<bool>,
    /// Of each valve: it may act (the highest pressure hold of a group governs).
    pub governs: Vec<bool>,
    /// Of each valve: it is open.
    pub valve: Vec<bool>,
    pub network: Network,
    /// Of each edge of the network: the bulk flow goes from its first to its second end.
    pub forward: Vec<bool>,
}
