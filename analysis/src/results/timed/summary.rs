//! `summary.json` of `fit tasks` as types: its stable keys, in the order in which they are written.

use serde::Serialize;

use super::{Timed, sentences};
use crate::results::caution::CAUTION;
use crate::results::json;
use crate::results::provenance::FileDigest;
use crate::results::summary::FORMAT;

/// What `fit tasks` says.
#[derive(Clone, Debug, Serialize)]
pub struct TimedSummary {
    /// [`FORMAT`].
    pub format: u32,
    /// "fit tasks".
    pub command: &'static str,
    /// The files that were read: the list, and the scenario as it was.
    pub files: Vec<FileDigest>,
    /// Spreads, task by task.
    pub tasks: Vec<TaskSummary>,
    /// Tasks without one: id and why.
    pub without: Vec<[String; 2]>,
    /// Trials that were left out.
    pub left_out: usize,
    /// Values of the scenario that are written.
    pub changes: Vec<ChangeSummary>,
    /// Seed of variations and of the bootstrap.
    pub seed: u64,
    /// Variations before and after; 0 without a scenario.
    pub runs: u64,
    /// Variations that could not be finished.
    pub failed: u64,
    /// The answer in sentences.
    pub answer: Vec<String>,
    /// Version of this program.
    pub version: &'static str,
    /// What this is not.
    pub caution: String,
}

/// The spread of a task.
#[derive(Clone, Debug, Serialize)]
pub struct TaskSummary {
    /// Its id.
    pub id: String,
    /// As the scenario has it.
    pub spread: String,
    /// Family.
    pub family: &'static str,
    /// Trials that are used.
    pub trials: usize,
    /// As so many independent ones.
    pub counts_as: u32,
    /// People who did it.
    pub people: usize,
    /// Median and 5 to 95 %, s.
    pub seconds: [f64; 3],
    /// Duration after twice as many trials as a part of before, with its 95 % interval; null if it cannot be told.
    pub per_doubling: Option<[f64; 3]>,
    /// Anderson and Darling's statistic and its chance.
    pub anderson_darling: [f64; 2],
    /// AICc of each family that could be fitted.
    pub aicc: Vec<(&'static str, Option<f64>)>,
}

/// A value of the scenario that changed.
#[derive(Clone, Debug, Serialize)]
pub struct ChangeSummary {
    /// Its path.
    pub path: String,
    /// What stood there.
    pub before: String,
    /// What stands there now.
    pub after: String,
}

/// The summary.
#[must_use]
pub fn build(of: &Timed, files: Vec<FileDigest>, seed: u64) -> TimedSummary {
    let task = |task: &crate::fits::tasks::Task| {
        let (fit, test) = &task.fits[task.choice.index];
        TaskSummary {
            id: task.id.clone(),
            spread: task.written.toml.clone(),
            family: fit.family.name(),
            trials: task.used.len(),
            counts_as: task.written.trials,
            people: task.people.count,
            seconds: [task.written.median_s, task.written.range_s[0], task.written.range_s[1]],
            per_doubling: task
                .learning
                .map(|l| [l.per_doubling, l.per_doubling_95[0], l.per_doubling_95[1]]),
            anderson_darling: [test.a2, test.p],
            aicc: task
                .fits
                .iter()
                .map(|(fit, _)| (fit.family.name(), Some(fit.aicc()).filter(|value| value.is_finite())))
                .collect(),
        }
    };
    let change = |(path, _, before, after): &(String, usize, String, String)| ChangeSummary {
        path: path.clone(),
        before: before.clone(),
        after: after.clone(),
    };
    TimedSummary {
        format: FORMAT,
        command: "fit tasks",
        files,
        tasks: of.tasks.iter().map(task).collect(),
        without: of
            .without
            .iter()
            .map(|without| [without.id.clone(), without.why.clone()])
            .collect(),
        left_out: of.trials.iter().filter(|trial| trial.left_out.is_some()).count(),
        changes: of.changes.iter().map(change).collect(),
        seed,
        runs: of.simulated.as_ref().map_or(0, |simulated| simulated.runs),
        failed: of.simulated.as_ref().map_or(0, |simulated| simulated.failed),
        answer: sentences(of),
        version: env!("CARGO_PKG_VERSION"),
        caution: CAUTION.to_owned(),
    }
}

impl TimedSummary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }
}
