//! `summary.json` of `fit device` as types: its stable keys, in the order in which they are written.

use breathroom_sim::engine::Case;
use serde::Serialize;

use super::{Told, outlet, outlet_unit, sentences, warnings, why};
use crate::fits::device::Status;
use crate::results::caution;
use crate::results::json;
use crate::results::provenance::{Provenance, ScenarioFile};
use crate::results::summary::FORMAT;

/// What a fit says.
#[derive(Clone, Debug, Serialize)]
pub struct FitSummary {
    /// [`FORMAT`].
    pub format: u32,
    /// "fit device".
    pub command: &'static str,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// The device.
    pub device: String,
    /// Its family.
    pub family: &'static str,
    /// Files of measurements with their digests, the fitted one first.
    pub data: Vec<ScenarioFile>,
    /// The file that was written; null if none was.
    pub into: Option<String>,
    /// Parameters.
    pub parameters: Vec<ParameterSummary>,
    /// Outlets.
    pub outlets: Vec<OutletSummary>,
    /// Other tests.
    pub held_out: Vec<HeldOutSummary>,
    /// The answer in sentences.
    pub answer: Vec<String>,
    /// What deserves a look.
    pub warnings: Vec<String>,
    /// What went in.
    pub provenance: Provenance,
    /// The date that was given to stand on it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// What this is not.
    pub caution: String,
}

/// A parameter.
#[derive(Clone, Debug, Serialize)]
pub struct ParameterSummary {
    /// Its path.
    pub path: String,
    /// The unit of its numbers.
    pub unit: &'static str,
    /// What the scenario had.
    pub given: f64,
    /// What was fitted; null if it was not.
    pub fitted: Option<f64>,
    /// Its standard deviation.
    pub standard_deviation: Option<f64>,
    /// Its 95 % interval.
    pub interval_95: Option<[f64; 2]>,
    /// "fitted", "edge", "not identified", "no data".
    pub status: &'static str,
    /// Why it is not identified.
    pub why: Option<String>,
    /// What was written.
    pub written: Option<String>,
}

/// An outlet.
#[derive(Clone, Debug, Serialize)]
pub struct OutletSummary {
    /// "co2 out", "water out".
    pub outlet: &'static str,
    /// The unit of its numbers.
    pub unit: &'static str,
    /// Samples that were fitted.
    pub samples: usize,
    /// Standard deviation of a residual.
    pub residual: f64,
    /// That of noise alone.
    pub noise: f64,
    /// Autocorrelation at lag 1.
    pub lag_1: f64,
    /// Effective samples.
    pub effective_samples: f64,
}

/// Another test.
#[derive(Clone, Debug, Serialize)]
pub struct HeldOutSummary {
    /// Its file.
    pub file: String,
    /// "co2 out", "water out".
    pub outlet: &'static str,
    /// The unit of its numbers.
    pub unit: &'static str,
    /// Root mean square error.
    pub rmse: f64,
    /// Mean error.
    pub bias: f64,
    /// Share within the 95 % band.
    pub inside: f64,
    /// Mass removed, measured and foretold, kg.
    pub removed_kg: Option<[f64; 2]>,
}

/// The summary of a fit.
#[must_use]
pub fn build(
    told: &Told,
    case: &Case,
    (file, data): (ScenarioFile, Vec<ScenarioFile>),
    provenance: Provenance,
    date: Option<&str>,
) -> FitSummary {
    let parameters = told.fit.estimates.iter().map(|of| {
        let law = told.law(of.law);
        let (unit, path) = (law.unit, format!("removal.{}.{}", told.device, law.key));
        let fitted = of.is_fitted();
        ParameterSummary {
            unit: unit.symbol,
            given: unit.from_si(law.given),
            fitted: fitted.then(|| unit.from_si(of.value)),
            standard_deviation: fitted.then(|| unit.difference_from_si(of.sd)),
            interval_95: fitted.then(|| of.interval_95.map(|end| unit.from_si(end))),
            status: match of.status {
                Status::Fitted => "fitted",
                Status::AtEdge => "edge",
                Status::Held(_) => "not identified",
                Status::NoData => "no data",
            },
            why: match &of.status {
                Status::Held(held) => Some(why(told, of.law, held)),
                _ => None,
            },
            written: told
                .written
                .iter()
                .find(|written| written.path == path)
                .map(|written| written.after.clone()),
            path,
        }
    });
    let outlets = told.fit.parts.iter().map(|part| {
        let unit = told.unit(part);
        OutletSummary {
            outlet: outlet(part.species),
            unit: unit.symbol,
            samples: part.samples.rows.len(),
            residual: part.residual_sd_pa() / unit.factor,
            noise: part.noise_pa / unit.factor,
            lag_1: part.order.lag_1,
            effective_samples: part.order.effective,
        }
    });
    let held_out = told.held_out.iter().flat_map(|test| {
        test.outlets.iter().map(|found| {
            let unit = outlet_unit(&test.series, found.species);
            HeldOutSummary {
                file: test.file.clone(),
                outlet: outlet(found.species),
                unit: unit.symbol,
                rmse: found.rmse_pa / unit.factor,
                bias: found.bias_pa / unit.factor,
                inside: found.inside,
                removed_kg: found.removed_kg,
            }
        })
    });
    FitSummary {
        format: FORMAT,
        command: "fit device",
        scenario: file,
        device: told.device.clone(),
        family: told.model.family,
        data,
        into: told.into.clone(),
        parameters: parameters.collect(),
        outlets: outlets.collect(),
        held_out: held_out.collect(),
        answer: sentences(told),
        warnings: warnings(told),
        provenance,
        date: date.map(str::to_owned),
        caution: caution::of(case),
    }
}

impl FitSummary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }
}
