//! Which task's spread holds a margin, and whether more trials would help.
//!
//! The rank correlation of a margin with three inputs of each task: `duration`, how long it took this time; `centre` and `width`, what its trials
//! leave unsure. A margin that goes with the first goes with how the task varies from one time to the next, which no trial makes
//! less; one that goes with the others is known better once the task was timed again. What lies within chance is not told: |r| below
//! `z / sqrt(n - 1)`, the bound of no correlation (Kendall 1948, Rank Correlation Methods; from memory), n variations, z the two-sided normal quantile of 5 %
//! for all comparisons together (Bonferroni), so that with 95 % confidence none is told where there is none.

use breathroom_sim::scenario::Scenario;
use breathroom_sim::spread::standard_quantile;

use super::timeline::{Looked, places};
use crate::stats::rank::{correlation, ranks};

/// How one margin goes with one task.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Index of the rule.
    pub rule: usize,
    /// The task's id.
    pub id: String,
    /// Rank correlation with how long it takes, the mean over its turns.
    pub duration: f64,
    /// With the doubt of its centre.
    pub centre: f64,
    /// With the doubt of its width.
    pub width: f64,
    /// Correlations nearer to 0 than this are no more than chance, all comparisons together.
    pub chance: f64,
}

impl Held {
    /// The part of the margin's variance that goes with what trials leave unsure.
    #[must_use]
    pub fn doubt(&self) -> f64 {
        let seen = |r: f64| if r.abs() > self.chance { r * r } else { 0.0 };
        seen(self.centre) + seen(self.width)
    }

    /// Whether any of the three is more than chance.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        [self.duration, self.centre, self.width]
            .iter()
            .any(|r| r.abs() > self.chance)
    }
}

/// Margins of a rule over variations: what 95 % of them keep, and the part that is below zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kept {
    /// 5 % quantile, SI; NaN if the rule never applied.
    pub low: f64,
    /// Median, SI.
    pub median: f64,
    /// Part of the variations that are beyond the limit.
    pub beyond: f64,
}

/// Of every rule.
#[must_use]
pub fn kept(looks: &[Looked], rules: usize) -> Vec<Kept> {
    (0..rules)
        .map(|rule| {
            let margins: Vec<f64> = looks
                .iter()
                .map(|look| look.margins[rule])
                .filter(|m| !m.is_nan())
                .collect();
            let beyond = margins.iter().filter(|m| **m < 0.0).count() as f64 / margins.len().max(1) as f64;
            let [low, median] = places(margins, [0.05, 0.5]);
            Kept { low, median, beyond }
        })
        .collect()
}

/// How margins go with these tasks, by variations of the scenario that has their fitted spreads.
#[must_use]
pub fn held(scenario: &Scenario, looks: &[Looked], ids: &[String]) -> Vec<Held> {
    let input = |path: String| scenario.inputs.iter().position(|input| input.path == path);
    let column =
        |path: String| input(path).map(|at| ranks(&looks.iter().map(|look| look.values[at]).collect::<Vec<_>>()));
    let comparisons = (3 * ids.len() * scenario.limits.len()).max(1) as f64;
    let chance = -standard_quantile(0.025 / comparisons) / libm::sqrt((looks.len().max(2) - 1) as f64);
    let columns: Vec<[Option<Vec<f64>>; 3]> = ids
        .iter()
        .map(|id| {
            let path = format!("tasks.{id}.duration");
            [path.clone(), format!("{path}.centre"), format!("{path}.width")].map(column)
        })
        .collect();
    let mut all = Vec::new();
    for rule in 0..scenario.limits.len() {
        let margins = ranks(&looks.iter().map(|look| look.margins[rule]).collect::<Vec<_>>());
        for (id, columns) in ids.iter().zip(&columns) {
            let [duration, centre, width] =
                [0, 1, 2].map(|of| columns[of].as_ref().map_or(0.0, |values| correlation(values, &margins)));
            all.push(Held {
                rule,
                id: id.clone(),
                duration,
                centre,
                width,
                chance,
            });
        }
    }
    all
}
