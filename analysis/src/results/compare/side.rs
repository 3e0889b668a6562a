//! One of two things that are compared: what went in, which limits it is held against, and what its runs gave.
//!
//! Made from a scenario and its runs ([`Side::of`]) or from a results folder ([`super::folder`]); from here on nothing depends on which.

use breathroom_sim::scenario::{Origin, Scenario};

use crate::results::provenance::{FileDigest, ScenarioFile, sha256_hex};
use crate::study::measure::{Gauge, Measure, names};

/// One side.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Side {
    /// What it is called: the name of its file or folder, without folders.
    pub name: String,
    /// Which scenario.
    pub file: ScenarioFile,
    /// Data files that the scenario reads.
    pub data_files: Vec<FileDigest>,
    /// Overrides that were in force.
    pub overrides: Vec<String>,
    /// Version of the program that ran it.
    pub version: String,
    /// Seed of the draws, if any were made.
    pub seed: Option<u64>,
    /// Variations, if it is of any.
    pub runs: Option<u64>,
    /// How the draws lie, if any were made.
    pub design: Option<String>,
    /// Variations that could not be finished.
    pub failed: u64,
    /// The first of them, and why.
    pub first_failed: Option<String>,
    /// Why a run on the medians ended early, if it did.
    pub ended: Option<String>,
    /// Every value that is compared; `None` if they are not known.
    pub inputs: Option<Vec<InputOf>>,
    /// Every limit, by its id.
    pub limits: Vec<LimitOf>,
    /// Totals and times.
    pub totals: Vec<TotalOf>,
}

/// A value that went in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InputOf {
    /// Its path.
    pub path: String,
    /// As written.
    pub written: String,
    /// In SI.
    pub si: String,
    /// It is a default, not given.
    pub is_default: bool,
}

/// A limit and the margins to it.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitOf {
    /// Its id.
    pub id: String,
    /// Whom or what it is about.
    pub whose: Vec<String>,
    /// The rule in words.
    pub words: String,
    /// Whose limit it is.
    pub source: String,
    /// Unit of its margins.
    pub unit: String,
    /// The margin of whoever has the least: of each variation, or of the run alone.
    pub margins: Vec<f64>,
}

/// A total or a time.
#[derive(Clone, Debug, PartialEq)]
pub struct TotalOf {
    /// Its name, as in `summary.json`: "totals.co2_made_kg".
    pub name: String,
    /// Its unit.
    pub unit: String,
    /// Of each variation, or of the run on the medians alone.
    pub values: Vec<f64>,
}

/// What is read off each run of a scenario: the margin of each limit, then totals and times.
#[must_use]
pub fn gauges(scenario: &Scenario) -> Vec<Gauge> {
    let limits = scenario.limit_ids().into_iter().map(Measure::margin);
    let totals = total_names(scenario).into_iter().map(Measure::Total);
    limits
        .chain(totals)
        .filter_map(|measure| measure.of(scenario).ok())
        .collect()
}

fn total_names(scenario: &Scenario) -> Vec<String> {
    let is_of_all = |name: &String| name.starts_with("totals.") || name.starts_with("schedule.");
    names(scenario).into_iter().filter(is_of_all).collect()
}

impl Side {
    /// A scenario, with what its [`gauges`] gave, by gauge and variation.
    #[must_use]
    pub fn of(name: String, scenario: &Scenario, file: ScenarioFile, values: Vec<Vec<f64>>) -> Self {
        let mut values = values.into_iter();
        let mut next = || values.next().unwrap_or_default();
        let limit = |id: &str| {
            let rules: Vec<_> = scenario.limits.iter().filter(|info| info.id == id).collect();
            LimitOf {
                whose: rules.iter().map(|info| info.subject.clone()).collect(),
                words: rules.first().map(|info| info.words.clone()).unwrap_or_default(),
                source: rules.first().map(|info| info.source.clone()).unwrap_or_default(),
                unit: rules.first().map_or("", |info| info.unit.symbol).to_owned(),
                margins: next(),
                id: id.to_owned(),
            }
        };
        let limits = scenario.limit_ids().into_iter().map(limit).collect();
        let total = |name: String| {
            let gauge = Measure::Total(name.clone()).of(scenario);
            TotalOf {
                unit: gauge.map_or("", |gauge| gauge.unit).to_owned(),
                values: next(),
                name,
            }
        };
        let totals = total_names(scenario).into_iter().map(total).collect();
        let input = |value: &breathroom_sim::scenario::Resolved| InputOf {
            path: value.path.clone(),
            written: value.written.clone(),
            si: value.si.clone(),
            is_default: matches!(value.origin, Origin::Default { .. }),
        };
        Self {
            name,
            file,
            data_files: scenario
                .data_files
                .iter()
                .map(|(name, bytes)| FileDigest {
                    name: name.clone(),
                    sha256: sha256_hex(bytes),
                })
                .collect(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            inputs: Some(scenario.resolved.iter().map(input).collect()),
            limits,
            totals,
            ..Self::default()
        }
    }
}
