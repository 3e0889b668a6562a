//! Rows that were run, side by side.

use super::plan::Plan;
use crate::stats::front;
use crate::study::measure::Measure;
use crate::study::trade::{CONFIDENCE, RowAnswer, RowRuns, Standing, Statistic, answers, standings};
use crate::trades::Trade;

/// What stands among the limits that are not met where the runs were not lived through.
pub const SURVIVAL: &str = "survival";

/// How a row went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// All its variations were run.
    Ran,
    /// Some could not be finished: how many, and why the first.
    Failed(u64, String),
    /// There is no such design: why.
    Refused(String),
}

/// All rows.
#[derive(Clone, Debug)]
pub struct Answered {
    /// By row.
    pub states: Vec<State>,
    /// By row; none of one that is refused.
    pub answers: Vec<Option<RowAnswer>>,
    /// By row, then by column: the values of formulas, none where there is none.
    pub formulas: Vec<Vec<Option<f64>>>,
    /// By row: the limits that the gate does not pass.
    pub not_met: Vec<Vec<String>>,
    /// By row: how many limits it has.
    pub limits: Vec<usize>,
    /// By row, if a front was asked for.
    pub standings: Option<Vec<Standing>>,
    /// The rows that no other beats of those whose limits are all met, and their knee; empty if no front was asked for.
    pub good: (Vec<usize>, Option<usize>),
}

impl Answered {
    /// Of rows that were run; the error is why there is no such design. On the threads of the pool that this is called in.
    #[must_use]
    pub fn of(trade: &Trade, plan: &Plan, rows: &[Result<RowRuns, String>]) -> Self {
        let ran: Vec<Option<RowRuns>> = rows.iter().map(|row| row.as_ref().ok().cloned()).collect();
        let answers = answers(&ran, trade.baseline, &plan.asked, trade.seed);
        let state = |row: &Result<RowRuns, String>| match row {
            Err(why) => State::Refused(why.clone()),
            Ok(RowRuns {
                first_failed: Some((k, why)),
                failed,
                ..
            }) => State::Failed(*failed, format!("variation {k}: {why}")),
            Ok(_) => State::Ran,
        };
        let formulas = (0..rows.len())
            .map(|row| formulas(trade, plan, row, ran[row].as_ref()))
            .collect();
        let not_met = (0..rows.len())
            .map(|row| not_met(trade, plan, row, ran[row].as_ref()))
            .collect();
        let mut answered = Self {
            states: rows.iter().map(state).collect(),
            answers,
            formulas,
            not_met,
            limits: trade
                .rows
                .iter()
                .map(|row| row.scenario.as_ref().map_or(0, |scenario| scenario.limit_ids().len()))
                .collect(),
            standings: None,
            good: (Vec::new(), None),
        };
        if let Some(front) = &trade.front {
            let signs = front.least.iter().map(|column| (*column, 1.0));
            let objectives: Vec<(usize, f64)> = signs.chain(front.most.iter().map(|column| (*column, -1.0))).collect();
            let values = answered.objectives(plan, &objectives);
            answered.standings = Some(stand((plan, &ran), (&objectives, &values), trade.seed));
            // What one would take: a row that breaks a limit is no better for what it saves.
            let mut good = values;
            for (row, values) in good.iter_mut().enumerate() {
                if answered.met(row) != Some(true) {
                    values.fill(f64::NAN);
                }
            }
            let on = front::front(&good);
            let knee = front::knee(&good, &on);
            answered.good = (on, knee);
        }
        answered
    }

    /// The value of a column in a row; NaN where there is none.
    #[must_use]
    pub fn value(&self, plan: &Plan, row: usize, column: usize) -> f64 {
        match plan.of_column[column] {
            Some(asked) => self.answers[row]
                .as_ref()
                .map_or(f64::NAN, |answer| answer.known[asked].value),
            None => self.formulas[row][column].unwrap_or(f64::NAN),
        }
    }

    /// Whether the gate passes every limit of a row; none of one that is refused.
    #[must_use]
    pub fn met(&self, row: usize) -> Option<bool> {
        match self.states[row] {
            State::Refused(_) => None,
            _ => Some(self.not_met[row].is_empty()),
        }
    }

    /// The limits that the gate does not pass in a row, in words.
    #[must_use]
    pub fn told_not_met(&self, row: usize) -> String {
        match self.not_met[row].len() {
            all if all > 1 && all > self.limits[row] => "every limit, and survival".to_owned(),
            _ => self.not_met[row].join(", "),
        }
    }

    /// By row: the objectives, of which less is better.
    fn objectives(&self, plan: &Plan, of: &[(usize, f64)]) -> Vec<Vec<f64>> {
        let row = |row: usize| {
            of.iter()
                .map(|(column, sign)| sign * self.value(plan, row, *column))
                .collect()
        };
        (0..self.states.len()).map(row).collect()
    }
}

/// How rows stand among all.
fn stand(
    (plan, ran): (&Plan, &[Option<RowRuns>]),
    (objectives, values): (&[(usize, f64)], &[Vec<f64>]),
    seed: u64,
) -> Vec<Standing> {
    // A formula is no chance of its own: what it makes of means is taken as it is.
    let seen = |one: usize, other: usize, objective: usize| {
        let Some(asked) = plan.of_column[objectives[objective].0] else {
            return values[one][objective] != values[other][objective];
        };
        let asked = plan.asked[asked];
        let (Some(one), Some(other)) = (&ran[one], &ran[other]) else {
            return false;
        };
        let pair = (&one.values[asked.measure][..], &other.values[asked.measure][..]);
        let difference = asked.statistic.difference(pair, CONFIDENCE, seed);
        difference.is_some_and(|difference| difference.is_seen())
    };
    standings(values, &seen)
}

fn formulas(trade: &Trade, plan: &Plan, row: usize, runs: Option<&RowRuns>) -> Vec<Option<f64>> {
    let mean_of = |measure: &Measure| {
        let place = plan.measures.iter().position(|other| other == measure)?;
        let mean = Statistic::Mean.of(&runs?.values[place]).value;
        mean.is_finite().then_some(mean)
    };
    let value = |column: usize| match plan.of_column[column] {
        None => trade.formula_value(column, row, &mean_of),
        Some(_) => None,
    };
    (0..trade.columns.len()).map(value).collect()
}

/// A row's limits that its gate does not pass; those without enough variations to show it are not passed either.
fn not_met(trade: &Trade, plan: &Plan, row: usize, runs: Option<&RowRuns>) -> Vec<String> {
    let (Some(runs), Ok(scenario)) = (runs, &trade.rows[row].scenario) else {
        return Vec::new();
    };
    let Some((not_survived, margins)) = runs.values[plan.measures.len()..].split_last() else {
        return Vec::new();
    };
    let broken = |margins: &[f64]| {
        let kept = Statistic::Kept(trade.gate).of(margins).value;
        kept.is_nan() || kept < 0.0
    };
    let all = scenario.limit_ids().into_iter().zip(margins);
    let mut not_met: Vec<String> = all
        .filter(|(_, margins)| broken(margins))
        .map(|(id, _)| id.to_owned())
        .collect();
    // No design is good because its crew ended early.
    if !Statistic::allows(trade.gate, not_survived) {
        not_met.insert(0, SURVIVAL.to_owned());
    }
    not_met
}
