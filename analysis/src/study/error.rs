//! Why a study gave no result.

use std::fmt;

use breathroom_sim::engine::RunError;

use super::MOST_RUNS;

/// Why a study gave no result. A single run that could not be finished is no reason: it is listed and counts as failed.
#[derive(Clone, Debug, PartialEq)]
pub enum StudyError {
    /// It was stopped from outside; ask again to run it anew.
    Stopped,
    /// No runs were asked for.
    NoRuns,
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
            Self::Medians(error) => write!(f, "the run on the medians could not be finished ({error:?})"),
            Self::NoThreads(why) => write!(f, "the threads could not be started: {why}"),
            Self::TooManyRuns { runs } => write!(f, "{runs} runs are more than the {MOST_RUNS} that a study may have"),
            Self::NoMemory { runs } => write!(f, "the results of {runs} runs do not fit into memory"),
        }
    }
}

impl std::error::Error for StudyError {}
