//! The arguments of `profile` as typed.

use std::path::PathBuf;

use clap::Args;

use super::ProfileJob;
use crate::cli::fit::scale;
use crate::cli::job;
use crate::cli::typed::{OutputArguments, ReportArguments, ScenarioArguments};

/// Arguments of `profile`.
#[derive(Debug, Args)]
pub struct ProfileArguments {
    #[command(flatten)]
    pub(in crate::cli) scenario: ScenarioArguments,
    /// The device, by its name in [removal]
    #[arg(long, value_name = "NAME")]
    pub device: String,
    /// The bench: its step, its ranges and how fast it can change [default: one without limits]
    #[arg(long, value_name = "BENCH.toml")]
    pub bench: Option<PathBuf>,
    /// Test a piece of this size, flow and sorbent in proportion: "25 %"
    #[arg(long, value_name = "PART", default_value = "100 %", value_parser = scale)]
    pub scale: f64,
    /// Take variation K of --seed in place of the run on the medians
    #[arg(long, value_name = "K")]
    pub only: Option<u64>,
    /// Seed of the variation
    #[arg(long, value_name = "S", default_value_t = 1, requires = "only")]
    pub seed: u64,
    /// A date that is to stand on the tables, as you write it; without it there is none
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    #[command(flatten)]
    pub(in crate::cli) report: ReportArguments,
    #[command(flatten)]
    pub(in crate::cli) output: OutputArguments,
}

impl From<ProfileArguments> for ProfileJob {
    fn from(arguments: ProfileArguments) -> Self {
        Self {
            file: arguments.scenario.file,
            overrides: arguments.scenario.overrides,
            device: arguments.device,
            bench: arguments.bench,
            scale: arguments.scale,
            only: arguments.only.map(|k| (k, arguments.seed)),
            date: arguments.date,
            output: job::printed(arguments.output, arguments.report),
        }
    }
}
