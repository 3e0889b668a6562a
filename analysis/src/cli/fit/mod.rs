//! `fit`: what was measured becomes numbers of a scenario.

mod device;
mod tasks;
mod typed;

use clap::{Args, Subcommand};

use super::Code;
use super::console::{Console, Ended};

pub use device::{DeviceJob, index};
pub use tasks::{TasksArguments, TasksJob};
pub use typed::{DeviceArguments, scale};

/// Arguments of `fit`.
#[derive(Debug, Args)]
pub struct FitArguments {
    /// What was measured.
    #[command(subcommand)]
    pub of: FitCommand,
}

/// What is fitted.
#[derive(Debug, Subcommand)]
pub enum FitCommand {
    /// Timed tasks to spreads of their durations
    ///
    /// TIMES.csv has a row to a trial: the columns task, person, trial (which time it was for this person) and seconds (or duration [min]); suit,
    /// start [min] and notes if you have them. Each task gets the maximum-likelihood family of the smallest AICc, and the spread says from how many
    /// trials it comes, so that variations draw what these leave unsure. Nothing is left out unless you ask for it; what lies far from the rest is shown.
    ///
    /// With --into the spreads replace the durations of the tasks of the same ids in that scenario (comments and order stay), or with --as in a copy of
    /// it; the scenario is run before and after on the same luck: observed against simulated timeline, margins, and which task to time again.
    Tasks(Box<TasksArguments>),
    /// A removal device, measured at its inlet and outlet on a bench
    ///
    /// DATA.csv has units in its headers: time [s], co2 in [mmHg], co2 out [mmHg], water in [kPa] or dew point in [degC] and likewise out, flow [L/min]
    /// (actual volume at the inlet), temperature [degC], pressure [kPa]; what the device's family does not need may be missing. Empty cells are gaps.
    ///
    /// Each parameter that the data give is written into the scenario as a normal spread within its domain, all else of the file as it was. What the
    /// data do not give stays as it is, and is told.
    Device(Box<DeviceArguments>),
}

/// One fit.
#[derive(Debug, PartialEq)]
pub enum FitJob {
    /// Of timed tasks.
    Tasks(TasksJob),
    /// Of a removal device.
    Device(Box<DeviceJob>),
}

impl From<FitArguments> for FitJob {
    fn from(arguments: FitArguments) -> Self {
        match arguments.of {
            FitCommand::Tasks(arguments) => Self::Tasks(TasksJob::from(*arguments)),
            FitCommand::Device(arguments) => Self::Device(Box::new(DeviceJob::from(*arguments))),
        }
    }
}

/// Fits.
///
/// # Errors
/// If something that is read is wrong, a run fails or results cannot be written.
pub fn fit(job: &FitJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    match job {
        FitJob::Tasks(job) => tasks::fit(job, console),
        FitJob::Device(job) => device::device(job, console),
    }
}
