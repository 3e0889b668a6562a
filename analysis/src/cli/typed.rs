//! The arguments as typed: one set of definitions for parsing, help, completions and the man page.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use super::compare::CompareArguments;
use super::fit::FitArguments;
use super::profile::ProfileArguments;
use super::values::{Left, Over, design, folder, gate, left, over, override_text, share, spread};
use super::watch::{TracesArguments, WatchArguments};
use crate::chance::Design;
use crate::results::parts::Share;
use crate::stats::sensitivity::LEAST_ROWS;
use crate::stats::until::{self, Until};
use crate::study::stress::{MOST_STRESS_RUNS, USUAL_ONSETS};
use crate::study::{Gate, LEAST_RUNS, MOST_RUNS};
use crate::trades::about::Spread;

/// What stands below the help.
const AFTER: &str = "Exit codes:
  0    done
  1    the input is wrong, or a run failed
  2    wrong usage
  3    done, and a limit is not met
  130  interrupted

A scenario is one TOML file; `breathroom new FILE` writes one with every key
explained. Results go to a new folder, results/SCENARIO-COMMAND unless --out names
another, and appear there whole or not at all.";

/// Does the air of a small crewed cabin stay within limits, and with how much margin?
#[derive(Debug, Parser)]
#[command(
    name = "breathroom",
    version,
    about = "Does the air of a small crewed cabin stay within limits, and with how much margin?",
    long_about = "Breathroom simulates a small crewed cabin: given its volume, crew, timeline and air treatment, it says \
                  whether the air stays within limits, and with how much margin, given everything that is uncertain.",
    after_help = AFTER,
    after_long_help = concat_after(),
    color = clap::ColorChoice::Never,
    arg_required_else_help = true,
    disable_help_subcommand = true
)]
pub struct Typed {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

fn concat_after() -> String {
    format!("{AFTER}\n\n{}", crate::results::CAUTION)
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read and check a scenario; print every value as it was understood
    ///
    /// Prints every resolved value as written and in SI, its source or default, the median and the 5 to 95 % range of each
    /// spread, V/(e Q) of each removal device, and warnings. Nothing is run.
    Check(CheckArguments),
    /// Run once, on the medians of all spreads: margins, history, event log
    ///
    /// Medians are optimistic where durations are skewed; `vary` gives margins with their confidence. Exit code 3 if a
    /// limit is not met on the medians.
    Run(RunArguments),
    /// Run many variations: margins with confidence, and what drives them
    ///
    /// Every uncertain value is drawn anew in each variation. Exit code 3 if the margin that 95 % of variations keep with
    /// 95 % confidence is below zero for any limit, or does not exist because there are fewer than 59 runs; --gate sets
    /// another coverage and confidence. With --only, exit code 3 if a limit is not met in that variation.
    ///
    /// While variations run they are kept in the folder of the results with `.unfinished` at its end. A run that was
    /// interrupted or killed goes on with --resume and ends with the same bytes; that folder is taken away at the end. With
    /// --shard K/N only the K-th of N shares is run, and a part is left that `breathroom merge` joins with the others.
    ///
    /// With --design the draws lie more evenly: a Latin hypercube or a scrambled Sobol sequence, in 16 independent replicates
    /// from which the intervals come (fewer than 80 runs then show nothing at 95/95). With --until the runs go on until every
    /// share is known well enough.
    ///
    /// Rank correlations say what each margin goes with. With --drivers ROWS, further runs after the variations say which
    /// share of its variance each input holds, alone and with others, each with its interval: for n inputs (those drawn
    /// together count once) ROWS x (n + 2) runs, always of plain draws, whatever the variations had. They are not kept for
    /// --resume, and neither --shard nor `merge` makes them.
    ///
    /// With --rare LIMIT no variations are run, but levels of ever rarer samples (subset simulation, Au and Beck 2001) that
    /// end where the limit is broken. The draws are plain ones. Its interval is approximate. Exit code 3 if a limit is not met
    /// on the medians, whatever the probability; 1 if runs failed among the violations.
    Vary(Box<VaryArguments>),
    /// Let removal devices degrade at the worst moment: what time does the crew have left?
    ///
    /// Each device that is on at the start and takes CO2 or water keeps only a part of what it would take, from an onset on; the
    /// faults of the file rest meanwhile, its alarms and responses do not. The worst onset is looked for on the medians: a grid over
    /// the run, then finer ones around the worst few, to a minute. There the run without any response says when the first limit is
    /// crossed, the run with responses when the crew is done: the time between is what is left. With --runs, so many variations
    /// say how sure that is. Then each fault of the file alone: which limits does it break?
    ///
    /// Exit code 1 if runs failed; 3 only with --gate.
    Stress(Box<StressArguments>),
    /// Make a table over combinations of design values
    ///
    /// Reads a trade file: a scenario, factors with their levels or whole options, the columns that are wanted. Every row is run on the same
    /// variations, so that rows differ by their design alone; each is held against a baseline, with an interval and a verdict that says so where no
    /// difference is seen. The tables come as CSV, XLSX, Markdown, LaTeX and JSON. `scenarios/trades/README.md` explains the file.
    ///
    /// Rows that are done are kept while others run: after a kill --resume goes on and ends with the same bytes. A row that fails says why
    /// and stops no other. Exit code 1 if one did.
    Trade(TradeArguments),
    /// Find how small it may be: the value of a design quantity that keeps a margin
    ///
    /// Finds the smallest (with --largest, the largest) value of one quantity of the scenario with which the share of variations that --at
    /// names keeps a limit, with its confidence. All values are tried on the same variations; the answer has an interval, and is tried
    /// again on a fresh seed with four times as many. If there is none, it says why and shows the curve. With --over, the same for each value of a
    /// second quantity.
    ///
    /// Exit code 3 if there is no value that was shown; 1 if runs failed at the value.
    Size(Box<SizeArguments>),
    /// Say what changed between two scenarios or two results folders
    ///
    /// Tells which inputs and limits differ, which margins moved and whether beyond chance. Two scenario files are both run on the same
    /// variations; two results folders, both of `run` or both of `vary`, are read: on the same luck if seed and plain draws are the same,
    /// else as independent. All verdicts hold together.
    ///
    /// Exit code 0 whatever differs; 1 if runs failed.
    Compare(CompareArguments),
    /// Fit parameters to what was measured, and write them into a scenario
    ///
    /// What was fitted becomes spreads of the scenario: comments, order and all other values stay as they are. The file is replaced whole or
    /// not at all, and only by one that reads without a fault; --as leaves it alone and writes a new one.
    Fit(FitArguments),
    /// Say what a gas-mixing bench is to deliver to test a device as the run would
    ///
    /// Flows of CO2, water, oxygen and diluent, temperature, dew point and pressure over time that give the device's inlet of the run on the
    /// medians, as set points that a bench with the ranges and speeds of --bench can follow; every place where it cannot is told, with what that
    /// changes at the inlet. With --scale, for a smaller piece with flow and sorbent in proportion.
    Profile(ProfileArguments),
    /// Make labelled histories as instruments would see them, nominal and with each fault
    ///
    /// Each variation of the scenario gives a nominal run, then one with each fault at each severity, all on the same crew, timeline, noise and
    /// offsets: a set to train and try methods of one's own on. traces.csv and traces.parquet have a row to each reading, with the
    /// devices that run and, with --truth, what is; runs.csv and runs.parquet have the label of each run: the fault, its place, severity and
    /// onset, the time to the first limit, the variation, and whether it is for tuning or held out. Nobody responds to alarms.
    ///
    /// Exit code 1 if runs failed.
    Traces(Box<TracesArguments>),
    /// Tell nominal from off-nominal: a detector, what it is worth on every fault, and what it says of measurements
    ///
    /// Tunes six statistics on nominal runs as instruments would see them: cumulative sums and moving averages of what differs from the run on the
    /// medians, raw and made white, an innovation test, and a bank of fault models that names the likely fault. Then, without MEASURED.csv, it
    /// says what they are worth: false alarms a day on other nominal runs, what is detected of each fault at each severity, how soon, how
    /// long before a limit, and how often the right fault is named. With it, it says when they give alarm on the measured readings and
    /// which fault is likely. Any other method has this to beat.
    ///
    /// MEASURED.csv has a column `time [h]` (or another unit), which counts from the start of the scenario, and one for each instrument by its name
    /// and unit. Instruments are the sensors of the scenario's alarms and a usual set, or those of --instruments. Nobody responds to alarms in
    /// these runs. Exit code 0 whatever is found; 3 with --gate if there is an alarm on MEASURED.csv; 1 if runs failed.
    Watch(Box<WatchArguments>),
    /// Play with a scenario on a page in the browser
    ///
    /// Prints the address of a page on this machine, which nobody else can reach, and serves it until Ctrl-C. The page shows the scenario as
    /// forms and sliders, draws the run on the medians again at every change, and runs variations while nothing changes; two variants
    /// stand side by side. It writes only where you save: a file of the scenario's folder, with its comments and its order as they are.
    /// Changes that were not saved go to NAME.unsaved.toml at the end.
    ///
    /// Without FILE it begins with what `breathroom new` writes. Exit code 0 after Ctrl-C.
    Desk(DeskArguments),
    /// Join the parts of a study that `vary --shard` has made
    ///
    /// Gives the bytes that one machine would have given, from the parts alone (they hold copies of the files that were
    /// read). Parts of another scenario, seed, number of runs, design or version are refused, and missing ones are named. Exit
    /// codes are those of `vary`.
    Merge(MergeArguments),
    /// List and explain the built-in sets of limits
    Limits(LimitsArguments),
    /// Write a scenario to start from, with every key explained
    New(NewArguments),
    /// Print the JSON Schema of scenario files, for editors that complete and check TOML
    Schema,
    /// Print the completions of a shell
    Completions {
        /// Which shell.
        shell: Shell,
    },
    /// Print the manual page, or that of one command
    Man {
        /// The command whose page is printed.
        command: Option<String>,
    },
}

/// How results are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    #[default]
    Text,
    /// summary.json alone.
    Json,
}

/// Options of every command that gives results.
#[derive(Debug, Args)]
pub struct OutputArguments {
    /// Folder for the results; it must not exist yet
    #[arg(long, value_name = "DIR", value_parser = folder)]
    pub out: Option<PathBuf>,
    /// Replace the results folder that --out names, once the new results are complete
    #[arg(long)]
    pub force: bool,
    /// What is printed: text for people, or summary.json alone
    #[arg(long, value_enum, value_name = "FORMAT", default_value_t)]
    pub format: Format,
    /// Print nothing but errors (and, with --format json, the summary)
    #[arg(long, short)]
    pub quiet: bool,
    /// Threads to use; by default one for each core. Changes no bit of the results
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
}

/// What else is made of the report, by commands that write one.
#[derive(Clone, Copy, Debug, Args)]
pub struct ReportArguments {
    /// Print the report to report.pdf too, with an installed Chromium or what the variable BREATHROOM_BROWSER names. A
    /// PDF holds the date, so this file alone differs from run to run
    #[arg(long)]
    pub pdf: bool,
    /// Write the report's figures as SVG files too, each sized in mm for a page
    #[arg(long)]
    pub figures: bool,
}

/// Which scenario, and how it is changed.
#[derive(Debug, Args)]
pub struct ScenarioArguments {
    /// The scenario file
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Override one value of the file, by its path of ids: removal.scrubber.flow="0.8 m3/min" (repeatable)
    #[arg(long = "set", value_name = "PATH=VALUE", value_parser = override_text)]
    pub overrides: Vec<String>,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArguments {
    #[command(flatten)]
    pub(super) scenario: ScenarioArguments,
    #[command(flatten)]
    pub(super) output: OutputArguments,
}

/// Arguments of `run`.
#[derive(Debug, Args)]
pub struct RunArguments {
    #[command(flatten)]
    pub(super) scenario: ScenarioArguments,
    #[command(flatten)]
    pub(super) report: ReportArguments,
    #[command(flatten)]
    pub(super) output: OutputArguments,
}

/// Arguments of `vary`.
#[derive(Debug, Args)]
pub struct VaryArguments {
    #[command(flatten)]
    pub(super) scenario: ScenarioArguments,
    /// How many variations [default: 1000]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=MOST_RUNS))]
    pub runs: Option<u64>,
    /// Seed of the draws; the same seed gives the same variations
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Go on until every share of violations is known well enough, as in "probability within 0.002": looked at after
    /// 1024, 2048, 3072 ... runs, and judged so that all looks together have 95 % confidence
    #[arg(long, value_name = "TARGET", value_parser = until::parse, conflicts_with_all = ["shard", "only", "slurm"])]
    pub until: Option<Until>,
    /// Most runs of --until [default: --runs if given, else 1000000]
    #[arg(long, value_name = "N", requires = "until", value_parser = clap::value_parser!(u64).range(1..=MOST_RUNS))]
    pub cap: Option<u64>,
    /// How the draws lie: plain (independent), latin-hypercube or sobol; the last two need at least 32 runs
    #[arg(long, value_name = "DESIGN", default_value = "plain", value_parser = design)]
    pub design: Design,
    /// Run variation K of this seed alone, with its full history (as numbered in variations.csv, from 0). Of a Latin
    /// hypercube, --runs says how many the study had
    #[arg(long, value_name = "K", conflicts_with = "gate")]
    pub only: Option<u64>,
    /// Coverage and confidence, in percent, that every margin must have
    #[arg(long, value_name = "COVERAGE/CONFIDENCE", default_value = "95/95", value_parser = gate)]
    pub gate: Gate,
    /// Run only the K-th of N shares (whole blocks of 1024 variations) and leave a part for `breathroom merge`
    #[arg(long, value_name = "K/N", value_parser = share, conflicts_with_all = ["gate", "only", "pdf", "figures"])]
    pub shard: Option<Share>,
    /// Go on with a run of the same job that was interrupted or killed; where there is none, begin anew
    #[arg(long, conflicts_with = "only")]
    pub resume: bool,
    /// Write a folder for a Slurm cluster instead of running: a job array of --shards, a merge that waits for it, and what
    /// both need. Submit it there by its submit.sh. --threads is then how many each task uses, 1 unless given
    #[arg(long, value_name = "FOLDER", value_parser = folder, requires = "shards", conflicts_with_all = ["out", "force", "only", "format", "shard", "resume", "until", "drivers", "rare", "pdf", "figures"])]
    pub slurm: Option<PathBuf>,
    /// How many shards --slurm cuts the variations into; more than one to each 1024 of them have nothing to do
    #[arg(long, value_name = "N", requires = "slurm", value_parser = clap::value_parser!(u64).range(1..=1 << 32))]
    pub shards: Option<u64>,
    /// Find what drives each margin by ROWS x (uncertain inputs + 2) further runs of plain draws: sensitivity indices
    #[arg(long, value_name = "ROWS", value_parser = clap::value_parser!(u64).range(LEAST_ROWS as u64..=MOST_RUNS), conflicts_with_all = ["shard", "only"])]
    pub drivers: Option<u64>,
    /// Instead of variations, estimate how likely this limit is broken, down to about 1e-6: its id, or ID@WHERE as in
    /// co2-1h@crew:lead
    #[arg(long, value_name = "LIMIT", conflicts_with_all = ["runs", "gate", "only", "shard", "resume", "drivers", "until", "cap"])]
    pub rare: Option<String>,
    /// Runs in each level of --rare; each level goes about ten times rarer
    #[arg(long, value_name = "N", default_value_t = 1000, requires = "rare", value_parser = clap::value_parser!(u64).range(LEAST_RUNS..=MOST_RUNS))]
    pub rare_runs: u64,
    #[command(flatten)]
    pub(super) report: ReportArguments,
    #[command(flatten)]
    pub(super) output: OutputArguments,
}

/// Arguments of `stress`.
#[derive(Debug, Args)]
pub struct StressArguments {
    #[command(flatten)]
    pub(super) scenario: ScenarioArguments,
    /// A removal device by its name (repeatable) [default: those that are on at the start and take CO2 or water]
    #[arg(long = "device", value_name = "NAME")]
    pub devices: Vec<String>,
    /// The parts of its capacity that are left, as in "60 %,30 %" [default: 100, 75, 50, 25 and 0 %]
    #[arg(long, value_name = "LIST", value_parser = left)]
    pub left: Option<Left>,
    /// Onsets of the first grid over the run
    #[arg(long, value_name = "N", default_value_t = USUAL_ONSETS, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub onsets: u32,
    /// Variations at each worst onset, and of each fault; 0: the medians alone
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::value_parser!(u64).range(0..=MOST_STRESS_RUNS))]
    pub runs: u64,
    /// Seed of the draws; variation K is that of `vary` with the same seed
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// All pairs of the file's faults too
    #[arg(long)]
    pub pairs: bool,
    /// Coverage and confidence, in percent, with which time must be left and no limit crossed: exit code 3 if not. Needs --runs
    #[arg(long, value_name = "COVERAGE/CONFIDENCE", requires = "runs", value_parser = gate)]
    pub gate: Option<Gate>,
    #[command(flatten)]
    pub(super) report: ReportArguments,
    #[command(flatten)]
    pub(super) output: OutputArguments,
}

/// Arguments of `trade`.
#[derive(Debug, Args)]
pub struct TradeArguments {
    /// The trade file
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Variations of each row, in place of what the file says
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=MOST_STRESS_RUNS))]
    pub runs: Option<u64>,
    /// Seed of the draws, in place of what the file says
    #[arg(long, value_name = "S")]
    pub seed: Option<u64>,
    /// Go on with a trade of the same files that was interrupted or killed; where there is none, begin anew
    #[arg(long)]
    pub resume: bool,
    /// A date that is to stand on the tables, as you write it; without it there is none
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    #[command(flatten)]
    pub(super) report: ReportArguments,
    #[command(flatten)]
    pub(super) output: OutputArguments,
}

/// Arguments of `size`.
#[derive(Debug, Args)]
pub struct SizeArguments {
    #[command(flatten)]
    pub(super) scenario: ScenarioArguments,
    /// The quantity, by its path of ids: compartments.cabin.free_volume
    #[arg(long, value_name = "PATH")]
    pub what: String,
    /// The limit to be kept: its id, or ID@WHERE as in co2-1h@crew:lead; else of whoever has the least margin
    #[arg(long, value_name = "LIMIT")]
    pub keep: String,
    /// Coverage and confidence, in percent, with which it is to be kept
    #[arg(long, value_name = "COVERAGE/CONFIDENCE", default_value = "95/95", value_parser = gate)]
    pub at: Gate,
    /// The lowest value to be tried, with its unit [default: a quarter of what the scenario has]
    #[arg(long, value_name = "VALUE")]
    pub from: Option<String>,
    /// The highest [default: four times what the scenario has]
    #[arg(long, value_name = "VALUE")]
    pub to: Option<String>,
    /// Find the largest value, of a quantity of which more is worse
    #[arg(long)]
    pub largest: bool,
    /// Variations at each value
    #[arg(long, value_name = "N", default_value_t = 400, value_parser = clap::value_parser!(u64).range(1..=MOST_STRESS_RUNS))]
    pub runs: u64,
    /// Seed of the draws
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// What becomes of the spread that the scenario has there: exact (a value replaces it), scaled or shifted (it is kept about each value)
    #[arg(long, value_name = "HOW", default_value = "exact", value_parser = spread)]
    pub spread: Spread,
    /// Find it for each value of a second quantity: PATH=VALUE,VALUE,...
    #[arg(long, value_name = "PATH=LIST", value_parser = over)]
    pub over: Option<Over>,
    /// A date that is to stand on the tables, as you write it; without it there is none
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    #[command(flatten)]
    pub(super) report: ReportArguments,
    #[command(flatten)]
    pub(super) output: OutputArguments,
}

/// Arguments of `desk`.
#[derive(Debug, Args)]
pub struct DeskArguments {
    /// The scenario file; without it, a scenario to start from
    #[arg(value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// The port of the address [default: any that is free]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub port: Option<u16>,
}

/// Arguments of `merge`.
#[derive(Debug, Args)]
pub struct MergeArguments {
    /// The parts, in any order
    #[arg(value_name = "DIR", required = true, value_parser = folder)]
    pub folders: Vec<PathBuf>,
    /// Coverage and confidence, in percent, that every margin must have
    #[arg(long, value_name = "COVERAGE/CONFIDENCE", default_value = "95/95", value_parser = gate)]
    pub gate: Gate,
    #[command(flatten)]
    pub(super) report: ReportArguments,
    #[command(flatten)]
    pub(super) output: OutputArguments,
}

/// Arguments of `limits`.
#[derive(Debug, Args)]
pub struct LimitsArguments {
    /// The set to explain; without it, all are
    #[arg(value_name = "SET")]
    pub set: Option<String>,
    #[command(flatten)]
    pub(super) output: OutputArguments,
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct NewArguments {
    /// The file to write; it must not exist yet
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Write over the file if it is there
    #[arg(long)]
    pub force: bool,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory as _;

    use super::*;

    #[test]
    fn the_definitions_are_consistent() {
        Typed::command().debug_assert();
    }
}
