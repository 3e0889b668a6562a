//! `summary.json` of `profile` as types: its stable keys, in the order in which they are written.

use breathroom_sim::air::Species;
use breathroom_sim::engine::Case;
use serde::Serialize;

use super::{Profile, channel_words, sentences, warnings};
use crate::results::caution;
use crate::results::json;
use crate::results::provenance::{Provenance, ScenarioFile};
use crate::results::summary::FORMAT;

/// What a profile says.
#[derive(Clone, Debug, Serialize)]
pub struct ProfileSummary {
    /// [`FORMAT`].
    pub format: u32,
    /// "profile".
    pub command: &'static str,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// The device.
    pub device: String,
    /// Its family.
    pub family: &'static str,
    /// The bench file; null if none was named.
    pub bench: Option<ScenarioFile>,
    /// Time between set points, s.
    pub step_s: f64,
    /// The condition that standard volumes are stated for, K and Pa.
    pub reference: [f64; 2],
    /// The size of the tested piece; 1 for the whole device.
    pub scale: f64,
    /// Set points.
    pub points: usize,
    /// How many of them have flow.
    pub with_flow: usize,
    /// Places where the bench cannot follow.
    pub misses: Vec<MissSummary>,
    /// Largest errors at the inlet that come of it, delivered less wanted.
    pub effect: EffectSummary,
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

/// A place where a bench cannot follow.
#[derive(Clone, Debug, Serialize)]
pub struct MissSummary {
    /// Which.
    pub channel: &'static str,
    /// "range" or "slew".
    pub why: &'static str,
    /// First time, h.
    pub from_h: f64,
    /// Last time, h.
    pub to_h: f64,
    /// Wanted at the largest miss.
    pub wanted: f64,
    /// Delivered then.
    pub delivered: f64,
    /// The unit of both; flows as standard volume.
    pub unit: &'static str,
}

/// What misses change.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct EffectSummary {
    /// Largest error of the partial pressure of CO2, mmHg.
    pub co2_mmhg: f64,
    /// Of water vapour, kPa.
    pub water_kpa: f64,
    /// Of the actual flow, L/min.
    pub flow_l_min: f64,
    /// CO2 that is wanted and that is delivered, kg.
    pub co2_kg: [f64; 2],
}

/// The summary of a profile.
#[must_use]
pub fn build(
    profile: &Profile,
    case: &Case,
    (file, bench): (ScenarioFile, Option<ScenarioFile>),
    provenance: Provenance,
    date: Option<&str>,
) -> ProfileSummary {
    let misses = profile.delivered.misses.iter().map(|miss| {
        let (wanted, unit) = profile.shown(miss.channel, miss.wanted);
        MissSummary {
            channel: channel_words(miss.channel),
            why: if miss.is_range { "range" } else { "slew" },
            from_h: miss.from_s / 3600.0,
            to_h: miss.to_s / 3600.0,
            wanted,
            delivered: profile.shown(miss.channel, miss.delivered).0,
            unit,
        }
    });
    let effect = &profile.effect;
    ProfileSummary {
        format: FORMAT,
        command: "profile",
        scenario: file,
        device: profile.device.clone(),
        family: profile.family,
        bench,
        step_s: profile.bench.step_s,
        reference: [profile.bench.reference_k, profile.bench.reference_pa],
        scale: profile.scale,
        points: profile.demand.points.len(),
        with_flow: profile.demand.points.iter().filter(|point| point.on).count(),
        misses: misses.collect(),
        effect: EffectSummary {
            co2_mmhg: crate::results::numbers::mmhg().from_si(effect.co2_pa[0]),
            water_kpa: effect.water_pa[0] / 1e3,
            flow_l_min: effect.flow_m3_s[0] * 6e4,
            co2_kg: effect.co2_mol.map(|mol| mol * Species::Co2.molar_mass_kg_mol()),
        },
        answer: sentences(profile),
        warnings: warnings(profile),
        provenance,
        date: date.map(str::to_owned),
        caution: caution::of(case),
    }
}

impl ProfileSummary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }
}
