//! The arguments of `compare` as typed.

use std::path::PathBuf;

use clap::Args;

use super::CompareJob;
use crate::cli::job;
use crate::cli::typed::OutputArguments;
use crate::study::Gate;
use crate::study::stress::MOST_STRESS_RUNS;

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub struct CompareArguments {
    /// The first: a scenario file, or a results folder of `run` or `vary`
    #[arg(value_name = "A")]
    pub a: PathBuf,
    /// The second, of the same kind
    #[arg(value_name = "B")]
    pub b: PathBuf,
    /// Variations of each scenario [default: 400]; results folders have theirs
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=MOST_STRESS_RUNS))]
    pub runs: Option<u64>,
    /// Seed of the draws [default: 1]; results folders have theirs
    #[arg(long, value_name = "S")]
    pub seed: Option<u64>,
    /// Coverage and confidence, in percent, of the margins that are kept
    #[arg(long, value_name = "COVERAGE/CONFIDENCE", default_value = "95/95", value_parser = Gate::parse)]
    pub at: Gate,
    /// A date that is to stand on the tables, as you write it; without it there is none
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    #[command(flatten)]
    pub(in crate::cli) output: OutputArguments,
}

impl From<CompareArguments> for CompareJob {
    fn from(arguments: CompareArguments) -> Self {
        Self {
            a: arguments.a,
            b: arguments.b,
            runs: arguments.runs,
            seed: arguments.seed,
            gate: arguments.at,
            date: arguments.date,
            threads: usize::from(arguments.output.threads.unwrap_or(0)),
            output: job::output(arguments.output),
        }
    }
}
