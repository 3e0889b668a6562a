//! The arguments of `fit device` as typed.

use std::path::PathBuf;

use breathroom_sim::units::{Dimension, parse};
use clap::Args;

use super::DeviceJob;
use crate::cli::job;
use crate::cli::typed::{OutputArguments, ReportArguments};
use crate::fits::device::nuisance::Nuisance;
use crate::fits::device::part::Beside;
use crate::fits::device::samples::Window;

/// Arguments of `fit device`.
#[derive(Debug, Args)]
pub struct DeviceArguments {
    /// What was measured
    #[arg(value_name = "DATA.csv")]
    pub data: PathBuf,
    /// The scenario that has the device, and gets its parameters
    #[arg(long, value_name = "FILE")]
    pub into: PathBuf,
    /// The device, by its name in [removal]
    #[arg(long, value_name = "NAME")]
    pub device: String,
    /// Leave FILE as it is and write a new one
    #[arg(long = "as", value_name = "NEW.toml", conflicts_with = "no_write")]
    pub new: Option<PathBuf>,
    /// Write no scenario: only say what would be written
    #[arg(long)]
    pub no_write: bool,
    /// Foretell another test with what was fitted (repeatable)
    #[arg(long, value_name = "OTHER.csv")]
    pub held_out: Vec<PathBuf>,
    /// Look at samples from this time of the file on: "30 min"
    #[arg(long, value_name = "TIME", value_parser = time)]
    pub from: Option<f64>,
    /// Look at samples up to this time
    #[arg(long, value_name = "TIME", value_parser = time)]
    pub to: Option<f64>,
    /// Where the range of the CO2 sensor at the outlet ends: "20 mmHg" [default: a flat top, if there is one]
    #[arg(long, value_name = "PRESSURE", value_parser = pressure)]
    pub saturates: Option<f64>,
    /// Where that of the water sensor ends, as vapour pressure
    #[arg(long, value_name = "PRESSURE", value_parser = pressure)]
    pub saturates_water: Option<f64>,
    /// Fit how late the outlet's clock is
    #[arg(long)]
    pub clock: bool,
    /// Fit an offset of the outlet's sensor
    #[arg(long)]
    pub baseline: bool,
    /// Fit an offset of the outlet's sensor that grows with time, and one that does not
    #[arg(long)]
    pub drift: bool,
    /// Fit nothing of the sensor and its clock but what is asked for [default: what clearly pays]
    #[arg(long)]
    pub plain: bool,
    /// Write what the test does not identify too, with its wide spread
    #[arg(long)]
    pub keep_all: bool,
    /// The size of the piece that was tested, with flow and sorbent in proportion: "25 %"
    #[arg(long, value_name = "PART", default_value = "100 %", value_parser = scale)]
    pub scale: f64,
    /// A bench file, for the condition that `standard flow` is stated for
    #[arg(long, value_name = "BENCH.toml")]
    pub bench: Option<PathBuf>,
    /// A date that is to stand on the tables, as you write it; without it there is none
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    #[command(flatten)]
    pub(in crate::cli) report: ReportArguments,
    #[command(flatten)]
    pub(in crate::cli) output: OutputArguments,
}

fn quantity(text: &str, dimension: Dimension) -> Result<f64, String> {
    parse(text, dimension)
        .map(|quantity| quantity.si)
        .map_err(|error| format!("{}; {}", error.message(), error.help()))
}

/// A time, s.
///
/// # Errors
/// What would be right.
fn time(text: &str) -> Result<f64, String> {
    quantity(text, Dimension::Time)
}

/// A partial pressure above zero, Pa.
///
/// # Errors
/// What would be right.
fn pressure(text: &str) -> Result<f64, String> {
    match quantity(text, Dimension::PartialPressure)? {
        value if value > 0.0 => Ok(value),
        _ => Err("more than 0".to_owned()),
    }
}

/// A part of a whole device, above 0 up to 10.
///
/// # Errors
/// What would be right.
pub fn scale(text: &str) -> Result<f64, String> {
    match quantity(text, Dimension::Number)? {
        value if value > 0.0 && value <= 10.0 => Ok(value),
        _ => Err("more than 0 and at most 1000 %, as in \"25 %\"".to_owned()),
    }
}

impl From<DeviceArguments> for DeviceJob {
    fn from(arguments: DeviceArguments) -> Self {
        let asked = [
            // A drift is about a baseline.
            (arguments.baseline || arguments.drift, Nuisance::Baseline),
            (arguments.drift, Nuisance::Drift),
            (arguments.clock, Nuisance::Clock),
        ];
        Self {
            data: arguments.data,
            into: arguments.into,
            device: arguments.device,
            new: arguments.new,
            writes: !arguments.no_write,
            held_out: arguments.held_out,
            window: Window {
                from_s: arguments.from,
                to_s: arguments.to,
                saturates_pa: [arguments.saturates, arguments.saturates_water],
            },
            beside: Beside {
                asked: asked
                    .into_iter()
                    .filter(|(asked, _)| *asked)
                    .map(|(_, of)| of)
                    .collect(),
                only: arguments.plain,
                keeps_all: arguments.keep_all,
            },
            scale: arguments.scale,
            bench: arguments.bench,
            date: arguments.date,
            output: job::printed(arguments.output, arguments.report),
        }
    }
}
