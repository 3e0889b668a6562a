//! `summary.json` of `stress` as types: its stable keys, in the order in which they are written.

use serde::Serialize;

use crate::results::json;
use crate::results::ordered::Ordered;
use crate::results::provenance::{Provenance, ScenarioFile};
use crate::results::summary::Gate;

/// What a study of stress says.
#[derive(Clone, Debug, Serialize)]
pub struct StressSummary {
    /// [`crate::results::summary::FORMAT`].
    pub format: u32,
    /// "stress".
    pub command: &'static str,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// Seed of the draws.
    pub seed: u64,
    /// Variations; 0: the medians alone.
    pub runs: u64,
    /// Runs of the simulator that could not be finished.
    pub failed: u64,
    /// Why the first of them could not.
    pub failure: Option<String>,
    /// How the draws were laid out.
    pub design: &'static str,
    /// Onsets of the first grid.
    pub onsets: u32,
    /// Finest spacing of the grids after it.
    pub finest_min: f64,
    /// How quantiles are defined and intervals made.
    pub statistics: &'static str,
    /// Something is done after at least one alarm.
    pub responses: bool,
    /// The scenario's own faults, which rest while devices degrade.
    pub faults_at_rest: Vec<String>,
    /// From onset to onset of the first grid, on which a worse moment may be missed that is shorter, min.
    pub spacing_min: f64,
    /// How many alarms the scenario has.
    pub alarms: usize,
    /// What is crossed without any fault: under a fault a limit or a level counts only if it is not, or sooner.
    pub no_fault: NoFaultSummary,
    /// By device.
    pub devices: Vec<DeviceStress>,
    /// No single fault of the list breaks a limit on the medians, nor in more variations than the gate allows; null without faults.
    pub single_fault_tolerant: Option<bool>,
    /// Without any fault first, then each alone, worst first.
    pub single_faults: Vec<FaultRow>,
    /// Pairs, if they were asked for, worst first.
    pub pairs: Vec<FaultRow>,
    /// Published levels: no limits, and no medical claim.
    pub effects: Vec<Effect>,
    /// What the time left was held against, if it was.
    pub gate: Option<Gate>,
    /// Whether every device with every part left passes it.
    pub gate_met: Option<bool>,
    /// What is legal but deserves a look.
    pub warnings: Vec<String>,
    /// Defaults, limits and levels whose source was recalled, not read again.
    pub from_memory: Vec<String>,
    /// What went in.
    pub provenance: Provenance,
    /// What this is not.
    pub caution: String,
}

/// The runs without any fault.
#[derive(Clone, Debug, Serialize)]
pub struct NoFaultSummary {
    /// By limit, from the start.
    pub limits: Ordered<Crossed>,
    /// When it can no longer be lived through.
    pub not_survivable: Crossed,
    /// By published level, when the first person's air is beyond it.
    pub effects: Ordered<Crossed>,
}

/// When something is first crossed, and in how many variations.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Crossed {
    /// On the medians, h from the start; null if never.
    #[serde(flatten)]
    pub medians: EffectTimes,
    /// Over the variations.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub variations: Option<EffectCounts>,
}

/// A device under stress.
#[derive(Clone, Debug, Serialize)]
pub struct DeviceStress {
    /// Its name.
    pub device: String,
    /// By part left.
    pub left: Vec<PartStress>,
}

/// A device with a part of its capacity left.
#[derive(Clone, Debug, Serialize)]
pub struct PartStress {
    /// The part left, a fraction.
    pub part: f64,
    /// How many onsets were looked at.
    pub onsets_looked_at: usize,
    /// Those of them whose runs could not be finished; the worst is one of the others.
    pub onsets_failed: usize,
    /// None of them leads to a limit within the run.
    pub harmless: bool,
    /// The worst onset; null where all of the device is left.
    pub worst_onset_h: Option<f64>,
    /// At that onset, on the medians.
    pub medians: LookSummary,
    /// At that onset, over the variations.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub variations: Option<RunsSummary>,
}

/// What was seen of an onset.
#[derive(Clone, Debug, Serialize)]
pub struct LookSummary {
    /// The first alarm after it.
    pub alarm: Option<AlarmSummary>,
    /// An alarm was on already.
    pub alarm_already_on: bool,
    /// The first limit without any response.
    pub without: FirstSummary,
    /// The first limit with responses.
    pub with: FirstSummary,
    /// When the response was completed; 0 if before the onset, null if never.
    pub response_done_h: Option<f64>,
    /// The time left when it was; null where no alarm has a response.
    pub margin: Option<TimeSummary>,
    /// From the alarm to the first limit without any response.
    pub notice: TimeSummary,
    /// By limit, the first crossing without any response; null if never, or no sooner than without the fault.
    pub limits: Ordered<Option<f64>>,
    /// By published level, when the fault has brought the first person's air beyond it.
    pub effects: Ordered<EffectTimes>,
    /// Why a run could not be finished.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failed: Option<String>,
}

/// An alarm.
#[derive(Clone, Debug, Serialize)]
pub struct AlarmSummary {
    /// Its id.
    pub id: String,
    /// "caution" or "warning".
    pub grade: &'static str,
    /// When it came on.
    pub after_h: f64,
    /// Whether it was false: the truth was not beyond its set point.
    #[serde(rename = "false")]
    pub is_false: bool,
}

/// The first limit that the fault has crossed.
#[derive(Clone, Debug, Serialize)]
pub struct FirstSummary {
    /// The rule's id, or "not survivable"; null if none was crossed within the run.
    pub limit: Option<String>,
    /// Whose air.
    #[serde(rename = "where")]
    pub place: Option<String>,
    /// When.
    pub after_h: Option<f64>,
}

/// A time, or that it is more.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TimeSummary {
    /// h; null: not in time.
    pub h: Option<f64>,
    /// It is only known to be at least this: the run ends first.
    pub at_least: bool,
}

/// When a level or a limit was first passed; null if never.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct EffectTimes {
    /// Without any response.
    pub without_h: Option<f64>,
    /// With responses.
    pub with_h: Option<f64>,
}

/// Variations at the worst onset of the medians.
#[derive(Clone, Debug, Serialize)]
pub struct RunsSummary {
    /// Those that could not be finished.
    pub failed: u64,
    /// Quantiles of the time left; null where no alarm has a response, as are all that follow from it.
    pub margin_quantiles: Option<Ordered<TimeSummary>>,
    /// What 95 % of variations have left at least, with 95 % confidence; null with fewer than 59.
    pub tolerance_95_95: Option<TimeSummary>,
    /// The same at the gate that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance_gate: Option<Option<TimeSummary>>,
    /// Whether it passes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub met_gate: Option<bool>,
    /// Time left not below zero.
    pub in_time: Option<ShareSummary>,
    /// Quantiles of the time to the first limit without any response.
    pub to_limit_quantiles: Ordered<TimeSummary>,
    /// What 95 % of variations have at least until then, with 95 % confidence.
    pub to_limit_95_95: Option<TimeSummary>,
    /// Quantiles of the time from the alarm to the first limit without any response.
    pub notice_quantiles: Ordered<TimeSummary>,
    /// The alarm came before that limit, or there was none.
    pub noticed: ShareSummary,
    /// A limit was crossed without any response.
    pub crossed_without: ShareSummary,
    /// A limit was crossed in spite of the responses.
    pub crossed_with: ShareSummary,
    /// The response was done in time, and a limit was crossed all the same.
    pub in_vain: ShareSummary,
    /// An alarm came on after the onset.
    pub alarmed: u64,
    /// By published level, in how many variations someone's air was beyond it: without any response, and with.
    pub effects: Ordered<EffectCounts>,
}

/// Variations that pass a level or a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct EffectCounts {
    /// Without any response.
    pub without: u64,
    /// With responses.
    pub with: u64,
}

/// A share of the variations.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ShareSummary {
    /// How many.
    pub count: u64,
    /// Their share.
    pub share: f64,
    /// Its 95 % interval.
    pub share_95: [f64; 2],
}

/// Faults, alone or together.
#[derive(Clone, Debug, Serialize)]
pub struct FaultRow {
    /// Their ids; empty: no fault.
    pub faults: Vec<String>,
    /// Limits broken on the medians ("co2-1h (crew:lead)"); under a fault those that are not broken without, or crossed sooner.
    pub broken: Vec<String>,
    /// The least margin on the medians, as a fraction of its limit.
    pub margin_fraction: Option<f64>,
    /// Of which limit.
    pub margin_limit: Option<String>,
    /// None is broken on the medians, nor in more variations than the gate allows.
    pub tolerated: bool,
    /// It could not be lived through on the medians.
    pub not_survivable: bool,
    /// A fault did not begin on the medians: nothing is known of it from that run.
    pub did_not_begin: bool,
    /// Why the run on the medians could not be finished.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failed: Option<String>,
    /// Over the variations.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub variations: Option<FaultRuns>,
}

/// Faults over the variations.
#[derive(Clone, Debug, Serialize)]
pub struct FaultRuns {
    /// Those in which a limit is broken; not survivable and failed ones too.
    pub broken: ShareSummary,
    /// Those in which a fault did not begin.
    pub did_not_begin: u64,
    /// Those that could not be finished.
    pub failed: u64,
    /// Quantiles of the least margin as a fraction of its limit; null where a run was not survivable or failed.
    pub margin_fraction_quantiles: Ordered<f64>,
}

/// A published level.
#[derive(Clone, Debug, Serialize)]
pub struct Effect {
    /// Its id.
    pub id: &'static str,
    /// "co2" or "oxygen".
    pub quantity: &'static str,
    /// As the source writes it.
    pub level: &'static str,
    /// As a partial pressure.
    pub level_pa: f64,
    /// What the source says, in our words.
    pub says: &'static str,
    /// The source.
    pub source: &'static str,
    /// The source was recalled or quoted, not read.
    pub from_memory: bool,
}

impl StressSummary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }
}
