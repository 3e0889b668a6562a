//! `summary.json` of `watch` as types: its stable keys, in the order in which they are written.

use serde::Serialize;

use super::measured::MeasuredSummary;
use super::{Caught, MethodFigures, Of, sentences};
use crate::chance::Design;
use crate::results::provenance::{Provenance, ScenarioFile};
use crate::results::summarise::from_memory;
use crate::results::summary::FORMAT;
use crate::results::{caution, json};
use crate::watch::characterise::Watched;
use crate::watch::detector::Method;

/// What a detector is worth, and what it says of measured readings.
#[derive(Clone, Debug, Serialize)]
pub struct WatchSummary {
    /// [`FORMAT`].
    pub format: u32,
    /// "watch".
    pub command: &'static str,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// Seed of all draws.
    pub seed: u64,
    /// Spacing of rows, s.
    pub row_s: f64,
    /// Nominal runs that thresholds come from.
    pub tuning_runs: u64,
    /// Nominal runs that they were tried on.
    pub held_out_runs: u64,
    /// Runs of each fault at each severity.
    pub runs: u64,
    /// Severities, fractions.
    pub severities: Vec<f64>,
    /// False alarms a day that were asked for.
    pub asked_per_day: f64,
    /// "plan" or "known".
    pub timeline: &'static str,
    /// Instruments.
    pub instruments: Vec<String>,
    /// Faults that the bank knows.
    pub bank: Vec<String>,
    /// By method.
    pub methods: Vec<MethodSummary>,
    /// By fault, severity and method.
    pub faults: Vec<FaultSummary>,
    /// Runs that could not be finished.
    pub failed: u64,
    /// What it says of measured readings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured: Option<MeasuredSummary>,
    /// The answer in sentences.
    pub answer: Vec<String>,
    /// What deserves a look.
    pub warnings: Vec<String>,
    /// Defaults and limits whose source was recalled, not read again.
    pub from_memory: Vec<String>,
    /// What went in.
    pub provenance: Provenance,
    /// What this is not.
    pub caution: String,
}

/// A method.
#[derive(Clone, Debug, Serialize)]
pub struct MethodSummary {
    /// Which.
    pub method: &'static str,
    /// From nominal tuning runs.
    pub threshold: f64,
    /// False alarms in held-out runs.
    pub false_alarms: usize,
    /// Their days.
    pub days: f64,
    /// False alarms a day.
    pub per_day: f64,
    /// 95 % interval.
    pub per_day_95: [f64; 2],
    /// The interval holds what was asked for.
    pub holds: bool,
    /// False alarms a day at the limit of tables.
    pub per_day_at_table_limit: Option<f64>,
    /// Area under the operating curve by severity.
    pub areas: Vec<Option<f64>>,
    /// The same of faults that the bank does not know.
    pub area_unmodelled: Option<f64>,
    /// Runs whose fault crosses a limit.
    pub cross_a_limit: usize,
    /// Those with the alarm before.
    pub caught_before: usize,
}

/// A fault at a severity under a method.
#[derive(Clone, Debug, Serialize)]
pub struct FaultSummary {
    /// Which.
    pub fault: String,
    /// Fraction; null for a fault of the file.
    pub severity: Option<f64>,
    /// The bank knows it.
    pub in_bank: bool,
    /// Which statistic.
    pub method: &'static str,
    /// Runs.
    pub runs: usize,
    /// Runs with an alarm.
    pub detected: usize,
    /// 95 % interval of the chance.
    pub detected_95: [f64; 2],
    /// Median, h.
    pub to_alarm_h: Option<f64>,
    /// Runs that cross a limit.
    pub cross_a_limit: usize,
    /// Median, h.
    pub to_limit_h: Option<f64>,
    /// Of those, with the alarm before.
    pub caught_before: usize,
    /// Median margin, min; null where that half has no alarm.
    pub margin_min: Option<f64>,
    /// Named right when the bank's alarm comes.
    pub named_right: Option<usize>,
}

/// Builds the summary.
#[must_use]
pub fn build(
    of: &Of<'_>,
    watched: &Watched,
    (figures, caught): (&[MethodFigures], &[Caught]),
    measured: Option<MeasuredSummary>,
    (file, mut provenance): (ScenarioFile, Provenance),
) -> WatchSummary {
    provenance.seed = Some(of.seed);
    provenance.runs = Some(of.job.tune + of.job.held_out.max(of.job.runs));
    provenance.design = Some(Design::Plain.name());
    let mut answer = measured
        .as_ref()
        .map(|measured| measured.answer.clone())
        .unwrap_or_default();
    answer.extend(sentences(of, watched, figures, caught));
    let mut warnings: Vec<String> = of
        .scenario
        .warnings
        .iter()
        .map(|warning| warning.message.clone())
        .collect();
    let wanted = of.job.per_day * watched.tuned_days;
    if wanted < 1.0 {
        warnings.push(format!(
            "{} d of tuning runs cannot show a rate as low as {} a day: thresholds are set for one alarm in all of them; --tune with more runs \
             can.",
            crate::results::numbers::short(watched.tuned_days),
            crate::results::numbers::short(of.job.per_day)
        ));
    }
    if !watched.failures.is_empty() {
        warnings.push(format!(
            "{} runs could not be finished and are left out{}",
            watched.failures.len(),
            super::the_first(watched.failures.first(), of.scenario)
        ));
    }
    warnings.extend(measured.iter().flat_map(|measured| measured.notes.clone()));
    WatchSummary {
        format: FORMAT,
        command: "watch",
        scenario: file,
        seed: of.seed,
        row_s: of.step_s,
        tuning_runs: of.job.tune,
        held_out_runs: of.job.held_out,
        runs: of.job.runs,
        severities: of.job.severities.clone(),
        asked_per_day: of.job.per_day,
        timeline: if of.job.known_timeline { "known" } else { "plan" },
        instruments: of
            .instruments
            .iter()
            .map(|instrument| instrument.name.clone())
            .collect(),
        bank: of.job.bank.iter().map(|&mode| of.modes[mode].id.clone()).collect(),
        methods: figures
            .iter()
            .enumerate()
            .map(|(index, one)| method(of, watched, index, one))
            .collect(),
        faults: caught.iter().map(|one| fault(of, one)).collect(),
        failed: watched.failures.len() as u64,
        measured,
        answer,
        warnings,
        from_memory: from_memory(of.scenario),
        provenance,
        caution: caution::of(of.case),
    }
}

fn method(of: &Of<'_>, watched: &Watched, index: usize, one: &MethodFigures) -> MethodSummary {
    let severities = of.job.severities.len();
    MethodSummary {
        method: one.method.name(),
        threshold: watched.detector.thresholds[index],
        false_alarms: watched.nominal.alarms[index],
        days: watched.nominal.days,
        per_day: one.per_day,
        per_day_95: one.interval,
        holds: one.holds,
        per_day_at_table_limit: one.table_per_day,
        areas: one.areas.iter().take(severities).copied().collect(),
        area_unmodelled: one.areas.get(severities).copied().flatten(),
        cross_a_limit: one.before[0],
        caught_before: one.before[1],
    }
}

fn fault(of: &Of<'_>, one: &Caught) -> FaultSummary {
    let mode = &of.modes[one.mode];
    let bank = Method::ALL[one.method] == Method::Bank && of.knows(one.mode);
    FaultSummary {
        fault: mode.id.clone(),
        severity: mode.graded.then(|| of.job.severities[one.severity]),
        in_bank: of.knows(one.mode),
        method: Method::ALL[one.method].name(),
        runs: one.runs,
        detected: one.detected,
        detected_95: one.interval,
        to_alarm_h: one.to_alarm_h,
        cross_a_limit: one.crossed,
        to_limit_h: one.to_limit_h,
        caught_before: one.before,
        margin_min: one.margin_min.filter(|margin| margin.is_finite()),
        named_right: bank.then_some(one.right[0]),
    }
}

impl WatchSummary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }
}
