//! Results of `fit tasks`: spreads of timed tasks, what they rest on, how the timeline changes, and what to time again.

mod summary;
mod tables;
mod words;

use breathroom_sim::scenario::Scenario;

use crate::fits::tasks::{Held, Kept, Row, Task, Trial, Unfitted};

pub use summary::{TimedSummary, build};
pub use tables::{families, held, margins, spreads, timeline, trials};
pub use words::sentences;

/// What `fit tasks` found.
pub struct Timed {
    /// The list.
    pub trials: Vec<Trial>,
    /// Of each trial its robust distance from the others of its task that are used; none where that has no meaning.
    pub far: Vec<Option<f64>>,
    /// Tasks that have a spread now.
    pub tasks: Vec<Task>,
    /// Tasks that have none.
    pub without: Vec<Unfitted>,
    /// What was written where: path, line, before, after.
    pub changes: Vec<(String, usize, String, String)>,
    /// What the scenario says to it; none if there is no scenario.
    pub simulated: Option<Simulated>,
}

/// The scenario before and after.
pub struct Simulated {
    /// With the new spreads.
    pub scenario: Scenario,
    /// Seed of both.
    pub seed: u64,
    /// Variations of each.
    pub runs: u64,
    /// Variations that could not be finished, of both.
    pub failed: u64,
    /// Task by task.
    pub timeline: Vec<Row>,
    /// By rule: margins before and after.
    pub kept: Vec<[Kept; 2]>,
    /// How margins go with tasks.
    pub held: Vec<Held>,
}

impl Simulated {
    /// Rules that ever applied, the one with the least margin at 5 % first, by the part of the limit.
    fn tightest(&self) -> Vec<usize> {
        let applied = |rule: &usize| !self.kept[*rule][1].low.is_nan();
        let mut rules: Vec<usize> = (0..self.kept.len()).filter(applied).collect();
        // Beyond most often first; then by what is kept, measured by how much the margin scatters.
        let key = |rule: usize| {
            let kept = self.kept[rule][1];
            let scatter = kept.median - kept.low;
            (
                -kept.beyond,
                if scatter > 0.0 {
                    kept.low / scatter
                } else {
                    f64::INFINITY
                },
            )
        };
        rules.sort_by(|&a, &b| key(a).0.total_cmp(&key(b).0).then(key(a).1.total_cmp(&key(b).1)));
        rules
    }

    /// A limit by its id and whom it is about.
    fn limit(&self, rule: usize) -> String {
        let limit = &self.scenario.limits[rule];
        format!("{} of {}", limit.id, limit.subject)
    }
}
