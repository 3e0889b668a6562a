//! `fit`: parameters from measurements, and into a scenario.

mod device;
mod typed;

use super::Code;
use super::console::{Console, Ended};

pub use device::{DeviceJob, index};
pub use typed::{FitArguments, scale};

/// What is to be fitted.
#[derive(Debug, PartialEq)]
pub enum FitJob {
    /// A removal device.
    Device(Box<DeviceJob>),
}

/// Fits.
///
/// # Errors
/// If data or scenario are wrong, nothing can be fitted, or something cannot be written.
pub fn fit(job: &FitJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    match job {
        FitJob::Device(job) => device::device(job, console),
    }
}
