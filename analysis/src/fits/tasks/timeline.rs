//! The timeline as it was observed beside the timeline as it is simulated, task by task; before and after durations were fitted.

use breathroom_sim::engine::Outcome;
use breathroom_sim::scenario::{Drawn, Names};

use super::Trial;
use crate::stats::quantiles::{quantile, sort};

/// What is kept of one variation.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Looked {
    /// By turn of a task (index of the plan): duration drawn, s.
    pub durations_s: Vec<f64>,
    /// By turn: start, s from the start of the run; none if it did not start.
    pub starts_s: Vec<Option<f64>>,
    /// By rule: margin in SI; minus infinity if the crew did not live through it, NaN if the rule never applied.
    pub margins: Vec<f64>,
    /// Values of the inputs.
    pub values: Vec<f64>,
}

impl Looked {
    /// Of a variation that has ended.
    #[must_use]
    pub fn of(drawn: &Drawn, outcome: &Outcome) -> Self {
        use breathroom_sim::engine::End;
        let lived = outcome.end == End::Completed;
        let margin = |margin: f64| if lived { margin } else { f64::NEG_INFINITY };
        Self {
            durations_s: drawn
                .case
                .plan
                .tasks
                .iter()
                .map(|task| task.duration.seconds())
                .collect(),
            starts_s: outcome
                .schedule
                .started
                .iter()
                .map(|at| at.map(|at| at.seconds()))
                .collect(),
            margins: outcome.rules.iter().map(|rule| margin(rule.margin)).collect(),
            values: drawn.values.clone(),
        }
    }
}

/// 5 %, 50 % and 95 % of something.
pub type Range = [f64; 3];

/// One task: what was observed, and what is simulated before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its id.
    pub id: String,
    /// How many observed durations there are.
    pub trials: usize,
    /// Of the observed durations, s: least, median, most.
    pub observed_s: Range,
    /// Of the durations that the scenario had, over all turns and variations, s.
    pub before_s: Range,
    /// Of those that it has now, s.
    pub after_s: Range,
    /// Observed durations that lie beyond what the scenario had, 5 to 95 %.
    pub beyond_before: usize,
    /// Those that lie beyond what it has now.
    pub beyond_after: usize,
    /// Median of the observed starts, s; none if they were not written down.
    pub observed_start_s: Option<f64>,
    /// Start of the first turn that the scenario had, s; none if it never starts.
    pub start_before_s: Option<Range>,
    /// That it has now.
    pub start_after_s: Option<Range>,
}

/// Rows of these tasks. `before` and `after` are variations of the two texts.
#[must_use]
pub fn timeline(
    tasks: &[super::Task],
    trials: &[Trial],
    (before, names_before): (&[Looked], &Names),
    (after, names_after): (&[Looked], &Names),
) -> Vec<Row> {
    tasks
        .iter()
        .map(|task| {
            let seconds: Vec<f64> = task.used.iter().map(|&index| trials[index].seconds).collect();
            let starts: Vec<f64> = task.used.iter().filter_map(|&index| trials[index].start_s).collect();
            let before_s = durations(before, names_before, &task.id);
            let after_s = durations(after, names_after, &task.id);
            let beyond = |range: Range| seconds.iter().filter(|s| !(range[0]..=range[2]).contains(*s)).count();
            Row {
                id: task.id.clone(),
                trials: seconds.len(),
                observed_s: places(seconds.clone(), [0.0, 0.5, 1.0]),
                beyond_before: beyond(before_s),
                beyond_after: beyond(after_s),
                before_s,
                after_s,
                observed_start_s: (!starts.is_empty()).then(|| places(starts, [0.5])[0]),
                start_before_s: starts_of(before, names_before, &task.id),
                start_after_s: starts_of(after, names_after, &task.id),
            }
        })
        .collect()
}

fn range(values: Vec<f64>) -> Range {
    places(values, [0.05, 0.5, 0.95])
}

/// Quantiles of values that hold no NaN.
pub(super) fn places<const N: usize>(mut values: Vec<f64>, at: [f64; N]) -> [f64; N] {
    sort(&mut values);
    at.map(|p| quantile(&values, p))
}

fn turns<'a>(names: &'a Names, id: &'a str) -> impl Iterator<Item = usize> + 'a {
    (0..names.tasks.len()).filter(move |&turn| names.tasks[turn].id == id)
}

fn durations(looks: &[Looked], names: &Names, id: &str) -> Range {
    range(
        looks
            .iter()
            .flat_map(|look| turns(names, id).map(|turn| look.durations_s[turn]))
            .collect(),
    )
}

fn starts_of(looks: &[Looked], names: &Names, id: &str) -> Option<Range> {
    let first = turns(names, id).next()?;
    let starts: Vec<f64> = looks.iter().filter_map(|look| look.starts_s[first]).collect();
    (!starts.is_empty()).then(|| range(starts))
}
