//! `summary.json` of `trade` as types: its stable keys, in the order in which they are written.

use serde::Serialize;

use super::answered::{Answered, State};
use super::plan::Plan;
use super::tables::{describe, verdict};
use super::words::sentences;
use crate::chance::Design;
use crate::results::json;
use crate::results::ordered::Ordered;
use crate::results::provenance::{Provenance, ScenarioFile};
use crate::results::summarise::from_memory;
use crate::results::summary::{FORMAT, Gate};
use crate::study::trade::Standing;
use crate::trades::{Trade, What};

/// What a trade says.
#[derive(Clone, Debug, Serialize)]
pub struct TradeSummary {
    /// [`FORMAT`].
    pub format: u32,
    /// "trade".
    pub command: &'static str,
    /// The trade file.
    pub trade: ScenarioFile,
    /// The question that it is to answer.
    pub question: String,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// Seed of the draws.
    pub seed: u64,
    /// Variations of each row.
    pub runs: u64,
    /// Variations that could not be finished, of all rows.
    pub failed: u64,
    /// How the draws were laid out.
    pub design: &'static str,
    /// Coverage and confidence.
    pub gate: Gate,
    /// The factors.
    pub factors: Vec<FactorSummary>,
    /// The columns.
    pub columns: Vec<ColumnSummary>,
    /// The row that others are held against.
    pub baseline: String,
    /// The rows.
    pub rows: Vec<RowSummary>,
    /// The knee of the front, if there is one.
    pub knee: Option<String>,
    /// The rows that no other beats of those that keep every limit; empty without a front.
    pub front_within_limits: Vec<String>,
    /// How statistics are made, in words.
    pub statistics: &'static str,
    /// The answer in sentences.
    pub answer: Vec<String>,
    /// What is legal but deserves a look.
    pub warnings: Vec<String>,
    /// Defaults and limits whose source was recalled, not read again.
    pub from_memory: Vec<String>,
    /// What went in.
    pub provenance: Provenance,
    /// The date that was given to stand on it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// What this is not.
    pub caution: String,
}

/// A factor.
#[derive(Clone, Debug, Serialize)]
pub struct FactorSummary {
    /// Its name.
    pub name: String,
    /// The unit of its levels, where they are numbers.
    pub unit: Option<&'static str>,
    /// What it sets.
    pub meaning: String,
}

/// A column.
#[derive(Clone, Debug, Serialize)]
pub struct ColumnSummary {
    /// Its name.
    pub name: String,
    /// Its unit.
    pub unit: String,
    /// What it means.
    pub meaning: String,
}

/// A row.
#[derive(Clone, Debug, Serialize)]
pub struct RowSummary {
    /// Its name.
    pub name: String,
    /// Its levels, by factor, as they read.
    pub levels: Ordered<String>,
    /// "ran", "failed" or "refused".
    pub state: &'static str,
    /// Why it is not "ran".
    pub why: Option<String>,
    /// By column.
    pub values: Ordered<ValueSummary>,
    /// Less the baseline, by column; of the statistical ones.
    pub differences: Ordered<Option<DifferenceSummary>>,
    /// The gate passes every limit; null of a row that was refused.
    pub limits_met: Option<bool>,
    /// The limits that it does not pass.
    pub not_met: Vec<String>,
    /// No row beats it; null without a front, or where an objective is not known.
    pub front: Option<bool>,
    /// A row that beats it.
    pub beaten_by: Option<String>,
    /// That row beats it in something by more than chance.
    pub beaten_beyond_chance: Option<bool>,
}

/// A value.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct ValueSummary {
    /// It; null where there is none.
    pub value: f64,
    /// Its 95 % interval; null of a formula, and where there are too few variations.
    pub interval_95: Option<[f64; 2]>,
}

/// A difference.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct DifferenceSummary {
    /// It.
    pub value: f64,
    /// Its own 95 % interval.
    pub interval_95: [f64; 2],
    /// Judged with all others of the table.
    pub verdict: &'static str,
}

/// How statistics are made.
const STATISTICS: &str = "the same luck in all rows; bounds by Wilks, quantiles by Hyndman and Fan's type 7 with order statistics, shares by \
                          Clopper-Pearson, means by Student's t; differences variation by variation: means by paired t, quantiles and kept margins \
                          by resampled pairs, shares by the ends of both discordant shares; intervals at 95 % each, verdicts at 95 % for all comparisons \
                          together (Bonferroni)";

/// The summary of a trade.
#[must_use]
pub fn build(
    (trade, plan, answered): (&Trade, &Plan, &Answered),
    (file, scenario): (ScenarioFile, ScenarioFile),
    mut provenance: Provenance,
    (date, caution): (Option<&str>, String),
) -> TradeSummary {
    provenance.seed = Some(trade.seed);
    provenance.runs = Some(trade.runs);
    provenance.design = Some(Design::Plain.name());
    let failed = answered.states.iter().map(|state| {
        if let State::Failed(failed, _) = state {
            *failed
        } else {
            0
        }
    });
    let knee = answered
        .standings
        .iter()
        .flatten()
        .position(|standing| *standing == Standing::Knee);
    let column = |at: usize| {
        let (unit, meaning) = describe(trade, at);
        ColumnSummary {
            name: trade.columns[at].name.clone(),
            unit,
            meaning,
        }
    };
    TradeSummary {
        format: FORMAT,
        command: "trade",
        trade: file,
        question: trade.question.clone(),
        scenario,
        seed: trade.seed,
        runs: trade.runs,
        failed: failed.sum(),
        design: Design::Plain.name(),
        gate: Gate {
            coverage: trade.gate.coverage(),
            confidence: trade.gate.confidence(),
        },
        factors: trade
            .factors
            .iter()
            .map(|factor| FactorSummary {
                name: factor.name.clone(),
                unit: factor.unit.map(|unit| unit.symbol),
                meaning: factor.meaning.clone(),
            })
            .collect(),
        columns: (0..trade.columns.len()).map(column).collect(),
        baseline: trade.rows[trade.baseline].name.clone(),
        rows: (0..trade.rows.len())
            .map(|row| of_row((trade, plan, answered), row))
            .collect(),
        knee: knee.map(|row| trade.rows[row].name.clone()),
        front_within_limits: answered
            .good
            .0
            .iter()
            .map(|row| trade.rows[*row].name.clone())
            .collect(),
        statistics: STATISTICS,
        answer: sentences(trade, plan, answered),
        warnings: trade
            .base
            .warnings
            .iter()
            .chain(&trade.warnings)
            .map(|warning| warning.message.clone())
            .collect(),
        from_memory: from_memory(&trade.base),
        provenance,
        date: date.map(str::to_owned),
        caution,
    }
}

fn of_row((trade, plan, answered): (&Trade, &Plan, &Answered), row: usize) -> RowSummary {
    let of = &trade.rows[row];
    let names = || trade.columns.iter().map(|column| column.name.clone());
    let scale = |column: usize| {
        if matches!(trade.columns[column].what, What::Beyond(_)) {
            100.0
        } else {
            1.0
        }
    };
    let value = |column: usize| {
        let known =
            plan.of_column[column].and_then(|asked| answered.answers[row].as_ref().map(|answer| answer.known[asked]));
        ValueSummary {
            value: scale(column) * answered.value(plan, row, column),
            interval_95: known
                .and_then(|known| known.interval)
                .map(|ends| ends.map(|end| scale(column) * end)),
        }
    };
    let difference = |column: usize| {
        let asked = plan.of_column[column]?;
        let told = answered.answers[row].as_ref()?.differences[asked]?;
        Some(DifferenceSummary {
            value: scale(column) * told.difference.value,
            interval_95: told.difference.interval.map(|end| scale(column) * end),
            verdict: verdict(&trade.columns[column].what, told.verdict),
        })
    };
    let (state, why) = match &answered.states[row] {
        State::Ran => ("ran", None),
        State::Failed(failed, why) => ("failed", Some(format!("{failed} variations; {why}"))),
        State::Refused(why) => ("refused", Some(why.clone())),
    };
    let standing = answered.standings.as_ref().map(|all| all[row]);
    let (front, beaten) = match standing {
        Some(Standing::Front | Standing::Knee) => (Some(true), None),
        Some(Standing::Beaten(by)) => (Some(false), Some((by, true))),
        Some(Standing::WithinChance(by)) => (Some(false), Some((by, false))),
        Some(Standing::Unknown) | None => (None, None),
    };
    RowSummary {
        name: of.name.clone(),
        levels: trade
            .factors
            .iter()
            .map(|factor| factor.name.clone())
            .zip(of.labels.iter().cloned())
            .collect(),
        state,
        why,
        values: names().zip((0..trade.columns.len()).map(value)).collect(),
        differences: names().zip((0..trade.columns.len()).map(difference)).collect(),
        limits_met: answered.met(row),
        not_met: answered.not_met[row].clone(),
        front,
        beaten_by: beaten.map(|(by, _)| trade.rows[by].name.clone()),
        beaten_beyond_chance: beaten.map(|(_, surely)| surely),
    }
}

impl TradeSummary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }
}
