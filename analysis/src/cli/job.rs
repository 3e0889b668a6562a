//! The job as meant: what was typed, with everything that the commands need and nothing that they do not.

use std::path::PathBuf;

use clap_complete::Shell;

use super::compare::CompareJob;
use super::fit::FitJob;
use super::profile::ProfileJob;
use super::slurm::SlurmJob;
use super::typed::{Command, Format, OutputArguments, ReportArguments, ScenarioArguments, Typed};
use super::values::Over;
use super::watch::{TracesAsked, WatchAsked};
use crate::chance::Design;
use crate::results::parts::Share;
use crate::stats::until::Until;
use crate::study::stress::USUAL_LEFT;
use crate::study::{Gate, VaryJob};
use crate::trades::about::Spread;

/// Most runs of a study that is to go on until something is reached.
const USUAL_CAP: u64 = 1_000_000;

/// One job.
#[derive(Debug, PartialEq)]
pub enum Job {
    /// Check a scenario.
    Check(ScenarioJob),
    /// Run it once, on the medians.
    Run(ScenarioJob),
    /// Run many variations of it.
    Vary(ScenarioJob, VaryJob, How),
    /// Join parts of such a study.
    Merge(MergeJob),
    /// Estimate how likely one limit is broken.
    Rare(ScenarioJob, RareAsked),
    /// Let its removal devices degrade at the worst moment.
    Stress(ScenarioJob, StressAsked),
    /// Make a table over combinations of design values.
    Trade(TradeJob),
    /// Find the value of a quantity that keeps a margin.
    Size(ScenarioJob, SizeAsked),
    /// Say what changed between two scenarios or two results.
    Compare(CompareJob),
    /// Make numbers of a scenario from what was measured.
    Fit(FitJob),
    /// Say what a bench is to deliver to a device.
    Profile(ProfileJob),
    /// Make labelled histories.
    Traces(ScenarioJob, TracesAsked),
    /// Tune a detector, and say what it is worth or what it says of measurements.
    Watch(ScenarioJob, WatchAsked),
    /// Run one variation of a seed alone.
    Only(ScenarioJob, OnlyJob),
    /// Write the folder of many variations for a cluster.
    Slurm(ScenarioJob, VaryJob, SlurmJob),
    /// Explain the sets of limits, or one of them.
    Limits(Option<String>, Output),
    /// Write a scenario to start from.
    New {
        /// Where.
        file: PathBuf,
        /// Over a file that is there.
        force: bool,
        /// Say nothing.
        quiet: bool,
    },
    /// Play with a scenario on a page in the browser.
    Desk {
        /// The scenario; none for the starter.
        file: Option<PathBuf>,
        /// The port; none for any that is free.
        port: Option<u16>,
    },
    /// Print the schema.
    Schema,
    /// Print completions.
    Completions(Shell),
    /// Print a manual page.
    Man(Option<String>),
}

/// A scenario and where the results go.
#[derive(Debug, PartialEq)]
pub struct ScenarioJob {
    /// The scenario file.
    pub file: PathBuf,
    /// Overrides, in order.
    pub overrides: Vec<String>,
    /// Where results go.
    pub output: Output,
}

/// One variation of a seed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OnlyJob {
    /// How the draws lie.
    pub design: Design,
    /// Runs of the whole study, if they were given.
    pub runs: Option<u64>,
    /// The seed.
    pub seed: u64,
    /// The variation, from 0.
    pub k: u64,
}

/// How likely a limit is broken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RareAsked {
    /// How draws are laid out: another than plain is refused.
    pub design: Design,
    /// The limit, as typed.
    pub limit: String,
    /// Runs in each level.
    pub runs: u64,
    /// The seed.
    pub seed: u64,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
}

/// What is asked of devices that degrade.
#[derive(Clone, Debug, PartialEq)]
pub struct StressAsked {
    /// Devices by name; none: those that are on at the start and take something.
    pub devices: Vec<String>,
    /// Parts left, 0 to 1.
    pub left: Vec<f64>,
    /// Onsets of the first grid.
    pub onsets: u32,
    /// Variations; 0: the medians alone.
    pub runs: u64,
    /// The seed.
    pub seed: u64,
    /// Pairs of faults too.
    pub pairs: bool,
    /// What the time left is held against, if the exit code is to tell.
    pub gate: Option<Gate>,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
}

/// A trade file and how it is run.
#[derive(Debug, PartialEq)]
pub struct TradeJob {
    /// The trade file.
    pub file: PathBuf,
    /// Variations of each row, in place of the file's.
    pub runs: Option<u64>,
    /// The seed, in place of the file's.
    pub seed: Option<u64>,
    /// What an earlier run has left is gone on with.
    pub resume: bool,
    /// A date to stand on the tables.
    pub date: Option<String>,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
    /// Where results go.
    pub output: Output,
}

/// What is asked of a size.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeAsked {
    /// Path of the quantity.
    pub what: String,
    /// The limit, as typed.
    pub keep: String,
    /// The gate.
    pub gate: Gate,
    /// Ends of the range, as typed.
    pub from: Option<String>,
    /// The upper one.
    pub to: Option<String>,
    /// The largest value is asked for.
    pub largest: bool,
    /// Variations at each value.
    pub runs: u64,
    /// The seed.
    pub seed: u64,
    /// How the scenario's spread is kept.
    pub spread: Spread,
    /// A second quantity.
    pub over: Option<Over>,
    /// A date to stand on the tables.
    pub date: Option<String>,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
}

/// How much of a study is run at once.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct How {
    /// What it is to reach before it stops; the runs of the job are the cap then.
    pub until: Option<Until>,
    /// One of several shares alone.
    pub share: Option<Share>,
    /// What an earlier run has left is gone on with.
    pub resume: bool,
    /// Rows of further runs after it, from which sensitivity indices come.
    pub drivers: Option<u64>,
}

/// Parts to be joined.
#[derive(Debug, PartialEq)]
pub struct MergeJob {
    /// Their folders.
    pub folders: Vec<PathBuf>,
    /// When a limit counts as met.
    pub gate: Gate,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
    /// Where results go.
    pub output: Output,
}

/// Where results go and how they are shown.
#[derive(Debug, PartialEq, Eq)]
pub struct Output {
    /// The folder that was named.
    pub out: Option<PathBuf>,
    /// It may be replaced.
    pub force: bool,
    /// The report's figures as files of their own, too.
    pub figures: bool,
    /// summary.json alone on standard output.
    pub json: bool,
    /// No text on standard output.
    pub quiet: bool,
    /// The report as a PDF too.
    pub pdf: bool,
}

impl From<Typed> for Job {
    fn from(typed: Typed) -> Self {
        match typed.command {
            Command::Check(arguments) => Self::Check(scenario(arguments.scenario, output(arguments.output))),
            Command::Run(arguments) => {
                let output = printed(arguments.output, arguments.report);
                Self::Run(scenario(arguments.scenario, output))
            }
            Command::Vary(arguments) => {
                let arguments = *arguments;
                let seed = arguments.seed;
                let threads = usize::from(arguments.output.threads.unwrap_or(0));
                let usual = if arguments.until.is_some() {
                    USUAL_CAP
                } else {
                    VaryJob::default().runs
                };
                let job = scenario(arguments.scenario, printed(arguments.output, arguments.report));
                if let Some(limit) = arguments.rare {
                    let runs = arguments.rare_runs;
                    return Self::Rare(
                        job,
                        RareAsked {
                            design: arguments.design,
                            limit,
                            runs,
                            seed,
                            threads,
                        },
                    );
                }
                let (design, runs) = (arguments.design, arguments.runs);
                let vary = VaryJob {
                    runs: arguments.cap.or(runs).unwrap_or(usual),
                    seed,
                    design,
                    threads,
                    gate: arguments.gate,
                };
                match (arguments.only, arguments.slurm.zip(arguments.shards)) {
                    (Some(k), _) => Self::Only(job, OnlyJob { design, runs, seed, k }),
                    (None, Some((folder, shards))) => Self::Slurm(job, vary, SlurmJob { folder, shards }),
                    (None, None) => {
                        let how = How {
                            until: arguments.until,
                            share: arguments.shard,
                            resume: arguments.resume,
                            drivers: arguments.drivers,
                        };
                        Self::Vary(job, vary, how)
                    }
                }
            }
            Command::Stress(arguments) => {
                let arguments = *arguments;
                let asked = StressAsked {
                    devices: arguments.devices,
                    left: arguments.left.map_or_else(|| USUAL_LEFT.to_vec(), |list| list.0),
                    onsets: arguments.onsets,
                    runs: arguments.runs,
                    seed: arguments.seed,
                    pairs: arguments.pairs,
                    gate: arguments.gate,
                    threads: usize::from(arguments.output.threads.unwrap_or(0)),
                };
                let output = printed(arguments.output, arguments.report);
                Self::Stress(scenario(arguments.scenario, output), asked)
            }
            Command::Trade(arguments) => Self::Trade(TradeJob {
                file: arguments.file,
                runs: arguments.runs,
                seed: arguments.seed,
                resume: arguments.resume,
                date: arguments.date,
                threads: usize::from(arguments.output.threads.unwrap_or(0)),
                output: printed(arguments.output, arguments.report),
            }),
            Command::Size(arguments) => {
                let arguments = *arguments;
                let asked = SizeAsked {
                    what: arguments.what,
                    keep: arguments.keep,
                    gate: arguments.at,
                    from: arguments.from,
                    to: arguments.to,
                    largest: arguments.largest,
                    runs: arguments.runs,
                    seed: arguments.seed,
                    spread: arguments.spread,
                    over: arguments.over,
                    date: arguments.date,
                    threads: usize::from(arguments.output.threads.unwrap_or(0)),
                };
                let output = printed(arguments.output, arguments.report);
                Self::Size(scenario(arguments.scenario, output), asked)
            }
            Command::Compare(arguments) => Self::Compare(CompareJob::from(arguments)),
            Command::Fit(arguments) => Self::Fit(FitJob::from(arguments)),
            Command::Profile(arguments) => Self::Profile(ProfileJob::from(arguments)),
            Command::Traces(arguments) => {
                let (job, asked) = (*arguments).into();
                Self::Traces(job, asked)
            }
            Command::Watch(arguments) => {
                let (job, asked) = (*arguments).into();
                Self::Watch(job, asked)
            }
            Command::Merge(arguments) => Self::Merge(MergeJob {
                folders: arguments.folders,
                gate: arguments.gate,
                threads: usize::from(arguments.output.threads.unwrap_or(0)),
                output: printed(arguments.output, arguments.report),
            }),
            Command::Limits(arguments) => Self::Limits(arguments.set, output(arguments.output)),
            Command::Desk(arguments) => Self::Desk {
                file: arguments.file,
                port: arguments.port,
            },
            Command::New(arguments) => Self::New {
                file: arguments.file,
                force: arguments.force,
                quiet: arguments.quiet,
            },
            Command::Schema => Self::Schema,
            Command::Completions { shell } => Self::Completions(shell),
            Command::Man { command } => Self::Man(command),
        }
    }
}

/// A scenario and its output, as typed.
pub fn scenario(typed: ScenarioArguments, output: Output) -> ScenarioJob {
    ScenarioJob {
        file: typed.file,
        overrides: typed.overrides,
        output,
    }
}

/// Where results go, as typed.
pub fn output(typed: OutputArguments) -> Output {
    Output {
        out: typed.out,
        force: typed.force,
        figures: false,
        json: typed.format == Format::Json,
        quiet: typed.quiet,
        pdf: false,
    }
}

/// The same where the report may be asked for as a PDF.
pub fn printed(typed: OutputArguments, report: ReportArguments) -> Output {
    Output {
        pdf: report.pdf,
        figures: report.figures,
        ..output(typed)
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;

    use super::*;

    fn job(words: &[&str]) -> Job {
        Typed::try_parse_from([&["breathroom"], words].concat())
            .expect("well typed")
            .into()
    }

    #[test]
    fn vary_has_a_thousand_runs_of_seed_one() {
        let Job::Vary(scenario, vary, how) = job(&["vary", "x.toml"]) else {
            panic!("not vary")
        };
        assert_eq!(scenario.file, PathBuf::from("x.toml"));
        assert_eq!(how, How::default());
        assert_eq!(
            vary,
            VaryJob {
                runs: 1000,
                seed: 1,
                design: Design::Plain,
                threads: 0,
                gate: Gate::USUAL
            }
        );
    }

    #[test]
    fn one_variation_alone_is_a_job_of_its_own() {
        let Job::Only(scenario, only) = job(&["vary", "x.toml", "--only", "7", "--seed", "3", "--set", "a.b=1"]) else {
            panic!("not only")
        };
        let expected = OnlyJob {
            design: Design::Plain,
            runs: None,
            seed: 3,
            k: 7,
        };
        assert_eq!(only, expected);
        assert_eq!(scenario.overrides, ["a.b=1"]);
        assert!(Typed::try_parse_from(["breathroom", "vary", "x", "--only", "7", "--gate", "99/95"]).is_err());
    }
}
