//! The arguments of `traces` and `watch` as typed.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{TracesAsked, WatchAsked};
use crate::cli::job::{ScenarioJob, output, printed, scenario};
use crate::cli::typed::{OutputArguments, ReportArguments, ScenarioArguments};
use crate::cli::values::{Left, duration, per_day, severities};

/// Arguments of `traces`.
#[derive(Debug, Args)]
pub struct TracesArguments {
    #[command(flatten)]
    pub(in crate::cli) scenario: ScenarioArguments,
    /// Variations; the first half is for tuning, the rest held out
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    pub runs: u64,
    /// Seed of the draws; variation K is that of `vary` with the same seed
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Instruments: a TOML file of [instruments.NAME], watches = "cabin.co2", noise, lag, every, bias, resolution, range
    #[arg(long, value_name = "FILE")]
    pub instruments: Option<PathBuf>,
    /// Severities, each on the scale of its fault
    #[arg(long, value_name = "LIST", default_value = "25 %,50 %,75 %", value_parser = severities)]
    pub severities: Left,
    /// From row to row [default: 1 min, more in runs of many hours]
    #[arg(long, value_name = "TIME", value_parser = duration)]
    pub every: Option<f64>,
    /// This fault alone (repeatable): scrubber.capacity, cabin.leak, fault.ID [default: all]
    #[arg(long = "fault", value_name = "FAULT")]
    pub faults: Vec<String>,
    /// What is, beside what is read
    #[arg(long)]
    pub truth: bool,
    #[command(flatten)]
    pub(in crate::cli) output: OutputArguments,
}

/// Arguments of `watch`.
#[derive(Debug, Args)]
pub struct WatchArguments {
    #[command(flatten)]
    pub(in crate::cli) scenario: ScenarioArguments,
    /// Measured readings, a CSV file with units in its headers
    #[arg(value_name = "MEASURED.csv")]
    pub measured: Option<PathBuf>,
    /// Added to the times of MEASURED.csv, whose clock is off: "90 s", "-2 min"
    #[arg(long, value_name = "TIME", value_parser = duration, allow_hyphen_values = true, requires = "measured")]
    pub clock: Option<f64>,
    /// Instruments: a TOML file of [instruments.NAME], watches = "cabin.co2", noise, lag, every, bias, resolution, range
    #[arg(long, value_name = "FILE")]
    pub instruments: Option<PathBuf>,
    /// Nominal variations that thresholds come from
    #[arg(long, value_name = "N", default_value_t = 60, value_parser = clap::value_parser!(u64).range(10..=10_000))]
    pub tune: u64,
    /// Further nominal variations, that false alarms are counted on
    #[arg(long, value_name = "N", default_value_t = 60, value_parser = clap::value_parser!(u64).range(1..=10_000))]
    pub held_out: u64,
    /// Runs of each fault at each severity
    #[arg(long, value_name = "N", default_value_t = 20, value_parser = clap::value_parser!(u64).range(1..=10_000))]
    pub runs: u64,
    /// Severities, each on the scale of its fault
    #[arg(long, value_name = "LIST", default_value = "25 %,50 %,75 %", value_parser = severities)]
    pub severities: Left,
    /// From row to row [default: 1 min, more in runs of many hours]
    #[arg(long, value_name = "TIME", value_parser = duration)]
    pub every: Option<f64>,
    /// The rate that thresholds are set for: "1 per 30 d", or a number a day
    #[arg(long, value_name = "RATE", default_value = "1 per 30 d", value_parser = per_day)]
    pub false_alarms: f64,
    /// Whether it is known when tasks really begin and end, as where they are put in with --set
    #[arg(long, value_enum, value_name = "HOW", default_value_t)]
    pub timeline: Timeline,
    /// Try this fault alone (repeatable): scrubber.capacity, cabin.leak, fault.ID [default: all]
    #[arg(long = "fault", value_name = "FAULT")]
    pub faults: Vec<String>,
    /// Keep this fault from the bank (repeatable) [default: slow loss of capacity; faults of the file are never in it]
    #[arg(long = "leave-out", value_name = "FAULT")]
    pub leave_out: Vec<String>,
    /// Seed of the draws; variation K is that of `vary` with the same seed
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Exit code 3 if there is an alarm on MEASURED.csv
    #[arg(long, requires = "measured")]
    pub gate: bool,
    #[command(flatten)]
    pub(in crate::cli) report: ReportArguments,
    #[command(flatten)]
    pub(in crate::cli) output: OutputArguments,
}

/// What is known of the timeline.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Timeline {
    /// The plan, on the medians.
    #[default]
    Plan,
    /// When tasks really began and ended.
    Known,
}

impl From<TracesArguments> for (ScenarioJob, TracesAsked) {
    fn from(arguments: TracesArguments) -> Self {
        let asked = TracesAsked {
            runs: arguments.runs,
            seed: arguments.seed,
            instruments: arguments.instruments,
            severities: arguments.severities.0,
            every_s: arguments.every,
            faults: arguments.faults,
            truth: arguments.truth,
            threads: usize::from(arguments.output.threads.unwrap_or(0)),
        };
        (scenario(arguments.scenario, output(arguments.output)), asked)
    }
}

impl From<WatchArguments> for (ScenarioJob, WatchAsked) {
    fn from(arguments: WatchArguments) -> Self {
        let asked = WatchAsked {
            measured: arguments.measured,
            clock_s: arguments.clock.unwrap_or(0.0),
            instruments: arguments.instruments,
            tune: arguments.tune,
            held_out: arguments.held_out,
            runs: arguments.runs,
            severities: arguments.severities.0,
            every_s: arguments.every,
            per_day: arguments.false_alarms,
            known_timeline: arguments.timeline == Timeline::Known,
            faults: arguments.faults,
            leave_out: arguments.leave_out,
            seed: arguments.seed,
            gate: arguments.gate,
            threads: usize::from(arguments.output.threads.unwrap_or(0)),
        };
        let output = printed(arguments.output, arguments.report);
        (scenario(arguments.scenario, output), asked)
    }
}
