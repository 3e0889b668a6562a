//! `summary.json` of `compare` as types: its stable keys, in the order in which they are written.

use serde::Serialize;

use super::{Changed, Comparison, Figure, InputOf, Of, RuleChanged, Side, sentences, words};
use crate::results::json;
use crate::results::provenance::{FileDigest, ScenarioFile};
use crate::results::summary::{FORMAT, Gate};
use crate::study::compare::{Luck, together};
use crate::study::trade::CONFIDENCE;

/// What a comparison says.
#[derive(Clone, Debug, Serialize)]
pub struct CompareSummary {
    /// [`FORMAT`].
    pub format: u32,
    /// "compare".
    pub command: &'static str,
    /// "scenarios", "vary" (two results of it) or "run".
    pub of: &'static str,
    /// The first.
    pub a: SideSummary,
    /// The second.
    pub b: SideSummary,
    /// Coverage and confidence of kept margins; null for "run".
    pub gate: Option<Gate>,
    /// What the variations share: "same luck", "independent", "unknown"; null for "run".
    pub luck: Option<&'static str>,
    /// Confidence of every interval.
    pub confidence: f64,
    /// How many comparisons are judged together.
    pub comparisons: usize,
    /// The confidence at which each of them is judged.
    pub judged_at: f64,
    /// What differs in how the two came about: of results folders.
    pub provenance_changed: Vec<ProvenanceChanged>,
    /// Inputs and data files that differ; null if one side does not know its inputs.
    pub inputs_changed: Option<Vec<InputChanged>>,
    /// Limits that differ.
    pub limits_changed: Vec<LimitChanged>,
    /// Margins, limit by limit.
    pub limits: Vec<LimitSummary>,
    /// Totals and times.
    pub totals: Vec<TotalSummary>,
    /// Nothing differs at all.
    pub same: bool,
    /// The answer in sentences.
    pub answer: Vec<String>,
    /// What deserves a look.
    pub warnings: Vec<String>,
    /// Version of this program.
    pub version: &'static str,
    /// The date that was given to stand on it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// What this is not.
    pub caution: String,
}

/// One side.
#[derive(Clone, Debug, Serialize)]
pub struct SideSummary {
    /// The name of its file or folder.
    pub name: String,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// Data files that it reads.
    pub data_files: Vec<FileDigest>,
    /// Overrides that were in force.
    pub overrides: Vec<String>,
    /// Version of the program that ran it.
    pub version: String,
    /// Seed of the draws, if any were made.
    pub seed: Option<u64>,
    /// Variations that it has, if any.
    pub runs: Option<u64>,
    /// Variations that are compared.
    pub compared: u64,
    /// How the draws lie.
    pub design: Option<String>,
    /// Variations that could not be finished.
    pub failed: u64,
    /// The first of them, and why.
    pub first_failed: Option<String>,
    /// Why a run on the medians ended early.
    pub ended: Option<String>,
}

/// Something of the provenance that differs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProvenanceChanged {
    /// What: "seed", "version".
    pub what: &'static str,
    /// On A.
    pub a: String,
    /// On B.
    pub b: String,
}

/// An input that differs.
#[derive(Clone, Debug, Serialize)]
pub struct InputChanged {
    /// Its path.
    pub path: String,
    /// "changed", "only in A", "only in B", "written in another way".
    pub how: &'static str,
    /// On A.
    pub a: Option<Value>,
    /// On B.
    pub b: Option<Value>,
}

/// A value that went in.
#[derive(Clone, Debug, Serialize)]
pub struct Value {
    /// As written.
    pub written: String,
    /// In SI.
    pub si: String,
    /// Not given: a default.
    pub default: bool,
}

/// A limit that differs.
#[derive(Clone, Debug, Serialize)]
pub struct LimitChanged {
    /// Its id.
    pub id: String,
    /// "changed", "only in A", "only in B".
    pub how: &'static str,
    /// On A, in words.
    pub a: Option<String>,
    /// On B, in words.
    pub b: Option<String>,
}

/// Margins of a limit.
#[derive(Clone, Debug, Serialize)]
pub struct LimitSummary {
    /// Its id.
    pub id: String,
    /// Met on A, at the gate or in the run; null where that is not known.
    pub met_a: Option<bool>,
    /// Met on B.
    pub met_b: Option<bool>,
    /// "kept", "mean", "beyond"; of "run" "on the medians".
    pub figures: Vec<FigureSummary>,
}

/// One number of both sides.
#[derive(Clone, Debug, Serialize)]
pub struct FigureSummary {
    /// Which.
    pub figure: &'static str,
    /// Its unit.
    pub unit: String,
    /// On A; null where there is none.
    pub a: f64,
    /// Its interval.
    pub a_interval: Option<[f64; 2]>,
    /// On B.
    pub b: f64,
    /// Its interval.
    pub b_interval: Option<[f64; 2]>,
    /// B - A; of a kept margin with an interval that of the quantile which it bounds.
    pub difference: Option<f64>,
    /// Its interval.
    pub difference_interval: Option<[f64; 2]>,
    /// "better", "worse", "more", "less", "no difference seen", "the same", "not judged", "only in A", "only in B".
    pub verdict: &'static str,
}

/// A total.
#[derive(Clone, Debug, Serialize)]
pub struct TotalSummary {
    /// Its name, as in `summary.json` of `run`.
    pub name: String,
    /// It.
    #[serde(flatten)]
    pub of: FigureSummary,
}

/// The summary of a comparison.
#[must_use]
pub fn build(of: &Comparison, warnings: Vec<String>, date: Option<&str>, caution: String) -> CompareSummary {
    let is_run = of.of == Of::Runs;
    CompareSummary {
        format: FORMAT,
        command: "compare",
        of: match of.of {
            Of::Scenarios => "scenarios",
            Of::Variations => "vary",
            Of::Runs => "run",
        },
        a: side(&of.a, of.runs[0]),
        b: side(&of.b, of.runs[1]),
        gate: (!is_run).then(|| Gate {
            coverage: of.gate.coverage(),
            confidence: of.gate.confidence(),
        }),
        luck: of.luck.map(|luck| match luck {
            Luck::Same => "same luck",
            Luck::Independent => "independent",
            Luck::Unknown => "unknown",
        }),
        confidence: CONFIDENCE,
        comparisons: of.comparisons,
        judged_at: together(of.comparisons),
        provenance_changed: words::provenance(of),
        inputs_changed: of.inputs.as_ref().map(|all| all.iter().map(input).collect()),
        limits_changed: of
            .rules
            .iter()
            .filter(|rule| rule.how != super::How::Same)
            .map(rule)
            .collect(),
        limits: of
            .limits
            .iter()
            .map(|limit| LimitSummary {
                id: limit.id.clone(),
                met_a: limit.met[0],
                met_b: limit.met[1],
                figures: limit.figures.iter().map(figure).collect(),
            })
            .collect(),
        totals: of
            .totals
            .iter()
            .map(|total| TotalSummary {
                name: total.name.clone(),
                of: figure(&total.figure),
            })
            .collect(),
        same: of.is_same(),
        answer: sentences(of),
        warnings,
        version: env!("CARGO_PKG_VERSION"),
        date: date.map(str::to_owned),
        caution,
    }
}

fn side(side: &Side, compared: u64) -> SideSummary {
    SideSummary {
        name: side.name.clone(),
        scenario: side.file.clone(),
        data_files: side.data_files.clone(),
        overrides: side.overrides.clone(),
        version: side.version.clone(),
        seed: side.seed,
        runs: side.runs,
        compared,
        design: side.design.clone(),
        failed: side.failed,
        first_failed: side.first_failed.clone(),
        ended: side.ended.clone(),
    }
}

fn input(changed: &Changed) -> InputChanged {
    let value = |input: &InputOf| Value {
        written: input.written.clone(),
        si: input.si.clone(),
        default: input.is_default,
    };
    InputChanged {
        path: changed.path.clone(),
        how: changed.how.words(),
        a: changed.a.as_ref().map(value),
        b: changed.b.as_ref().map(value),
    }
}

fn rule(changed: &RuleChanged) -> LimitChanged {
    LimitChanged {
        id: changed.id.clone(),
        how: changed.how.words(),
        a: changed.a.as_ref().map(|limit| limit.words.clone()),
        b: changed.b.as_ref().map(|limit| limit.words.clone()),
    }
}

fn figure(figure: &Figure) -> FigureSummary {
    FigureSummary {
        figure: figure.name,
        unit: figure.unit.clone(),
        a: figure.of.a.value,
        a_interval: figure.of.a.interval,
        b: figure.of.b.value,
        b_interval: figure.of.b.interval,
        difference: figure.of.difference,
        difference_interval: figure.of.interval,
        verdict: figure.verdict(),
    }
}

impl CompareSummary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }
}
