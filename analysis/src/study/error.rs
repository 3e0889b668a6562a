//! Why a study gave no result.

use std::fmt;

use breathroom_sim::engine::RunError;
use breathroom_sim::spread::NotDefinite;

use super::MOST_RUNS;
use crate::chance::DesignError;

/// Why a study gave no result. A single run that could not be finished is no reason: it is listed and counts as failed.
#[derive(Clone, Debug, PartialEq)]
pub enum StudyError {
    /// It was stopped from outside; ask again to run it anew.
    Stopped,
    /// No runs were asked for.
    NoRuns,
    /// The design of draws cannot be had.
    Design(DesignError),
    /// One variation of a Latin hypercube was asked for without the number of its runs.
    RunsUnknown,
    /// There is no such variation.
    NoSuchRun {
        /// Which, from 0.
        k: u64,
        /// Runs of the study.
        runs: u64,
    },
    /// Inputs cannot go together as asked for.
    Together(NotDefinite),
    /// The run on the medians, from which the totals come, could not be finished.
    Medians(RunError),
    /// The threads could not be started; fewer may do.
    NoThreads(String),
    /// More than [`super::MOST_RUNS`].
    TooManyRuns {
        /// The runs asked for.
        runs: u64,
    },
    /// The results of so many runs do not fit into memory; fewer may do.
    NoMemory {
        /// The runs asked for.
        runs: u64,
    },
}

impl fmt::Display for StudyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stopped => write!(f, "stopped before all variations were run"),
            Self::NoRuns => write!(f, "a study needs at least one run"),
            Self::Design(error) => error.fmt(f),
            Self::RunsUnknown => write!(
                f,
                "the draws of the design `latin-hypercube` depend on the number of runs: say with --runs how many the study had"
            ),
            Self::NoSuchRun { k, runs } => {
                write!(
                    f,
                    "there is no variation {k} among {runs}: the last is {}",
                    runs.saturating_sub(1)
                )
            }
            Self::Together(of) => write!(
                f,
                "no draws can have the rank correlations of a group: see those of its inputs {} and {}",
                of.row + 1,
                of.column + 1
            ),
            Self::Medians(error) => write!(f, "the run on the medians could not be finished ({error:?})"),
            Self::NoThreads(why) => write!(f, "the threads could not be started: {why}"),
            Self::TooManyRuns { runs } => write!(f, "{runs} runs are more than the {MOST_RUNS} that a study may have"),
            Self::NoMemory { runs } => write!(f, "the results of {runs} runs do not fit into memory"),
        }
    }
}

impl std::error::Error for StudyError {}

impl From<DesignError> for StudyError {
    fn from(error: DesignError) -> Self {
        Self::Design(error)
    }
}

impl From<NotDefinite> for StudyError {
    fn from(error: NotDefinite) -> Self {
        Self::Together(error)
    }
}
