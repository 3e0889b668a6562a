//! `summary.json` of `size` as types: its stable keys, in the order in which they are written.

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::Scenario;
use serde::Serialize;

use super::{Asked, Sized, sentences};
use crate::chance::Design;
use crate::results::caution;
use crate::results::json;
use crate::results::provenance::{Provenance, ScenarioFile};
use crate::results::summarise::from_memory;
use crate::results::summary::{FORMAT, Gate};
use crate::study::size::{Point, Why};

/// What a study of size says.
#[derive(Clone, Debug, Serialize)]
pub struct SizeSummary {
    /// [`FORMAT`].
    pub format: u32,
    /// "size".
    pub command: &'static str,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// The quantity's path.
    pub what: String,
    /// Its unit, of all its values here.
    pub unit: &'static str,
    /// "smallest" or "largest".
    pub find: &'static str,
    /// The range that was looked at.
    pub range: [f64; 2],
    /// What stood in the scenario was replaced ("exact"), or its spread kept ("scaled", "shifted").
    pub spread: &'static str,
    /// The limit to be kept.
    pub keep: String,
    /// It in words.
    pub keep_words: String,
    /// The unit of its margins.
    pub margin_unit: &'static str,
    /// Coverage and confidence.
    pub gate: Gate,
    /// Seed of the search.
    pub seed: u64,
    /// Variations of each value of the search; those of a proof are four times as many.
    pub runs: u64,
    /// How the draws were laid out.
    pub design: &'static str,
    /// Nothing is uncertain: one variation says all.
    pub exact: bool,
    /// The path of the second quantity, if there is one.
    pub over: Option<String>,
    /// One; or one for each value of the second quantity.
    pub sizes: Vec<SizeFound>,
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

/// One size.
#[derive(Clone, Debug, Serialize)]
pub struct SizeFound {
    /// The value of the second quantity.
    pub over: Option<String>,
    /// The value to build by; null if there is none.
    pub value: Option<f64>,
    /// It was shown on a fresh seed.
    pub proved: bool,
    /// What the search gave.
    pub found: Option<f64>,
    /// 95 % interval of the value at which the share of the gate keeps the margin; null where an end is not known.
    pub interval_95: [Option<f64>; 2],
    /// Why there is no value: "never", "always", "other end", "not monotone", "refused".
    pub why_not: Option<&'static str>,
    /// Confidence of each try of the proof.
    pub try_confidence: Option<f64>,
    /// Values tried on fresh seeds.
    pub tries: Vec<TrySummary>,
    /// Limits that the gate does not pass at the value.
    pub not_met: Vec<String>,
    /// Why the first variation that failed at the value did.
    pub failure: Option<String>,
    /// Values tried in the search.
    pub tried: usize,
}

/// A value on a fresh seed.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct TrySummary {
    /// The value.
    pub value: f64,
    /// The seed.
    pub seed: u64,
    /// Variations.
    pub runs: u64,
    /// Margin kept; null with too few variations.
    pub bound: f64,
    /// Share beyond the limit.
    pub beyond: f64,
    /// It is shown.
    pub holds: bool,
}

/// The summary of sizes.
#[must_use]
pub fn build(
    asked: &Asked,
    sizes: &[Sized],
    (scenario, case): (&Scenario, &Case),
    file: ScenarioFile,
    mut provenance: Provenance,
    date: Option<&str>,
) -> SizeSummary {
    provenance.seed = Some(asked.seed);
    provenance.runs = Some(asked.runs);
    provenance.design = Some(Design::Plain.name());
    SizeSummary {
        format: FORMAT,
        command: "size",
        scenario: file,
        what: asked.what.clone(),
        unit: asked.unit,
        find: asked.end(),
        range: asked.range,
        spread: asked.spread,
        keep: asked.keep.clone(),
        keep_words: asked.words.clone(),
        margin_unit: asked.margin_unit,
        gate: Gate {
            coverage: asked.gate.coverage(),
            confidence: asked.gate.confidence(),
        },
        seed: asked.seed,
        runs: asked.runs,
        design: Design::Plain.name(),
        exact: asked.exact,
        over: asked.over.clone(),
        sizes: sizes.iter().map(found).collect(),
        answer: sentences(asked, sizes),
        warnings: scenario
            .warnings
            .iter()
            .map(|warning| warning.message.clone())
            .collect(),
        from_memory: from_memory(scenario),
        provenance,
        date: date.map(str::to_owned),
        caution: caution::of(case),
    }
}

fn found(sized: &Sized) -> SizeFound {
    let answer = sized.size.answer.as_ref();
    let why = |why: &Why| match why {
        Why::Never => "never",
        Why::Always => "always",
        Why::OtherEnd => "other end",
        Why::NotMonotone => "not monotone",
        Why::Refused(_) => "refused",
    };
    let tries = answer.map(|answer| answer.proof.tries.as_slice()).unwrap_or_default();
    SizeFound {
        over: sized.over.clone(),
        value: answer.ok().map(|answer| answer.value()),
        proved: answer.is_ok_and(|answer| answer.proof.proved().is_some()),
        found: answer.ok().map(|answer| answer.found),
        interval_95: answer.map_or([None; 2], |answer| answer.interval),
        why_not: answer.err().map(why),
        try_confidence: answer.ok().map(|answer| answer.proof.confidence),
        tries: tries
            .iter()
            .map(|one| TrySummary {
                value: one.value,
                seed: one.seed,
                runs: one.runs,
                bound: one.bound,
                beyond: one.beyond,
                holds: one.holds(),
            })
            .collect(),
        not_met: sized.not_met.clone(),
        failure: sized.failure.clone(),
        tried: sized
            .size
            .curve
            .iter()
            .filter(|point: &&Point| point.refused.is_none())
            .count(),
    }
}

impl SizeSummary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }

    /// Every size has a value that was shown, and no limit is broken there.
    #[must_use]
    pub fn is_met(&self) -> bool {
        self.sizes.iter().all(|size| size.proved && size.not_met.is_empty())
    }
}
