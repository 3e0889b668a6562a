//! What goes wrong in a run: faults, what sensors say of it, alarms, responses.

mod broken;
mod drift;
mod faults;
mod listen;
mod numbers;
mod reading;
mod respond;

pub(crate) use drift::Drift;
pub(crate) use faults::Faults;
pub(crate) use listen::Listener;
pub(crate) use numbers::{number, set_of_device};
pub(crate) use respond::Responses;

use super::Case;

/// Everything of a run that goes wrong.
#[derive(Debug, Default)]
pub(crate) struct Upsets {
    /// Faults.
    pub faults: Faults,
    /// Sensors and alarms.
    pub listener: Listener,
    /// What people then do.
    pub responses: Responses,
}

impl Upsets {
    /// Starts a run.
    pub fn reset(&mut self, case: &Case) {
        self.faults.reset(case);
        self.listener.reset(case);
        self.responses.reset(case);
    }
}
