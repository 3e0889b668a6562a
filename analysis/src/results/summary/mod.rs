//! `summary.json` as types: the stable keys of a result, in the order in which they are written.
//!
//! Units are in the names (`_h` hours, `_pa`, `_kg`, `_mj`, `_k`); `worst`, `limit`, `margin` and the statistics of margins
//! are in the limit's own `unit`. A number that does not exist is `null`. Nothing here depends on threads, paths or the
//! clock, so that the same job gives the same bytes. A change that takes a key away or changes its meaning raises
//! [`FORMAT`].

mod air;
mod claims;
mod further;
mod schedule;
mod sorties;
mod stores;
mod upset;

use serde::Serialize;

use super::json;
use super::ordered::Ordered;
use super::provenance::{Provenance, ScenarioFile};

pub use air::{Balance, Extremes, Gas, StateEnd, Totals};
pub use claims::{Crossing, Joint, JointBounds, Until};
pub use further::{DriverRows, DriverRuns, Rare, RareLevel};
pub use schedule::{Crowding, Doing, Schedule, TaskTimes, TaskUpset, Tight};
pub use sorties::{PerDay, PerSortie, Sortie, Transfer};
pub use stores::{Device, Suit, Tank};
pub use upset::{Alarm, AlarmStatistics, Fault, In, Response, ResponseStatistics};

/// The version of the keys.
pub const FORMAT: u32 = 1;

/// One job's result.
#[derive(Clone, Debug, Serialize)]
pub struct Summary {
    /// [`FORMAT`].
    pub format: u32,
    /// "run" or "vary".
    pub command: &'static str,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// What `vary` did; left out by `run`.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub variations: Option<Variations>,
    /// Which variation this is, of a rerun of one alone; left out otherwise.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub only: Option<Only>,
    /// The further runs of `vary --drivers`; left out otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drivers: Option<DriverRuns>,
    /// What `vary --rare` found; left out otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rare: Option<Rare>,
    /// How the run (for `vary`: the run on the medians) ended.
    pub end: End,
    /// One for each rule.
    pub limits: Vec<Limit>,
    /// Masses and heat over the run.
    pub totals: Totals,
    /// Gas at the end, by compartment.
    pub state_end: Ordered<StateEnd>,
    /// Extremes over the run, by compartment.
    pub extremes: Ordered<Extremes>,
    /// Mean use of stocks, and water gained and lost, in a day.
    pub per_day: PerDay,
    /// What became of each tank.
    pub tanks: Ordered<Tank>,
    /// What became of each removal device.
    pub devices: Ordered<Device>,
    /// What each suit did for its wearer, by person.
    pub suits: Ordered<Suit>,
    /// Vents, fills and equalisations, in order of their start.
    pub transfers: Vec<Transfer>,
    /// Times outside.
    pub sorties: Vec<Sortie>,
    /// Means of them; null if there are none.
    pub per_sortie: Option<PerSortie>,
    /// What became of each fault; left out where the scenario has none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<Fault>,
    /// What became of each alarm; left out where the scenario has none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub alarms: Vec<Alarm>,
    /// Responses, in order of their alarms' coming on; left out where there were none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub responses: Vec<Response>,
    /// The responses to each alarm that has one, over the variations; left out by `run` and where there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub responses_in_variations: Vec<ResponseStatistics>,
    /// Residual of each ledger over its throughput.
    pub balance: Balance,
    /// Waits, delays, crowding.
    pub schedule: Schedule,
    /// Work done.
    pub counters: Counters,
    /// What is legal but deserves a look.
    pub warnings: Vec<String>,
    /// Defaults and limits whose source was recalled, not read again.
    pub from_memory: Vec<String>,
    /// What went in.
    pub provenance: Provenance,
    /// What this is not.
    pub caution: String,
}

/// What `vary` did.
#[derive(Clone, Debug, Serialize)]
pub struct Variations {
    /// Seed of the draws.
    pub seed: u64,
    /// Variations made.
    pub runs: u64,
    /// Variations that could not be finished; they count as violations and as the worst margin.
    pub failed: u64,
    /// How the draws were laid out.
    pub design: &'static str,
    /// How the intervals of shares are made.
    pub interval_method: &'static str,
    /// Why it stopped, if it was to go on until its shares are known well enough.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub until: Option<Until>,
    /// All limits together.
    pub joint_95_95: Joint,
    /// Whether the variations could be lived through.
    pub survival: Survival,
    /// The first few failures.
    pub failures: Vec<Failure>,
    /// Variations, from the first on, from which drivers are told.
    pub driver_runs: u64,
    /// Rank correlations within this of 0 are hard to tell from chance.
    pub driver_noise: f64,
    /// How the quantiles are defined.
    pub quantiles: &'static str,
    /// Quantiles and bounds of margins may be off by this fraction of themselves; null where they are exact.
    pub quantile_error: Option<f64>,
    /// Coverage and confidence by which the exit code was decided, when not 95/95.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gate: Option<Gate>,
}

/// Variations that were not lived through, or of which nothing good is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Survival {
    /// Variations that ended as not survivable.
    pub not_survivable: u64,
    /// Share of these and of the failed ones.
    pub probability: f64,
    /// Interval of that share at 95 %, by `interval_method`.
    pub probability_95: [f64; 2],
    /// Few enough for a claim of 95 % of variations with 95 % confidence.
    pub met_95_95: bool,
    /// Likewise for another gate, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub met_gate: Option<bool>,
}

/// A rerun of one variation alone.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Only {
    /// Seed of the draws.
    pub seed: u64,
    /// Which variation, as numbered in `variations.csv`.
    pub variation: u64,
    /// How the draws were laid out.
    pub design: &'static str,
}

/// A variation that could not be finished.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Failure {
    /// Which.
    pub variation: u64,
    /// Why.
    pub error: String,
}

/// Coverage and confidence, as fractions.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gate {
    /// Share of variations that keep at least the bound.
    pub coverage: f64,
    /// Confidence with which that is claimed.
    pub confidence: f64,
}

impl Gate {
    /// 95 % of variations with 95 % confidence.
    pub const USUAL: Self = Self {
        coverage: 0.95,
        confidence: 0.95,
    };
}

/// How a run ended.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct End {
    /// The whole duration was simulated.
    pub completed: bool,
    /// When it ended.
    pub at_h: f64,
    /// Why it ended early: the cause for which it was not survivable.
    pub cause: Option<String>,
}

/// How one rule fared.
#[derive(Clone, Debug, Serialize)]
pub struct Limit {
    /// The rule's id.
    pub id: String,
    /// "cabin", "crew:lead" or "tank:oxygen".
    #[serde(rename = "where")]
    pub place: String,
    /// What is judged, by its name in scenarios: "co2", "stock".
    pub quantity: &'static str,
    /// Unit of `limit`, `worst`, `margin` and their statistics.
    pub unit: &'static str,
    /// The limit.
    pub limit: f64,
    /// The value nearest to, or furthest beyond, the limit; null if the rule never applied.
    pub worst: f64,
    /// When.
    pub at_h: f64,
    /// Distance to the limit, negative beyond it.
    pub margin: f64,
    /// The same as a fraction of the limit; null for temperatures and a limit of 0.
    pub margin_fraction: Option<f64>,
    /// Not beyond.
    pub met: bool,
    /// When it was first crossed.
    pub first_crossing_h: Option<f64>,
    /// Time beyond (for an allowance: beyond its threshold).
    pub time_beyond_h: f64,
    /// Over the variations; left out by `run`.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub statistics: Option<Statistics>,
    /// The rule in words.
    pub words: String,
    /// Whose limit it is.
    pub source: String,
    /// The source was recalled, not read again.
    pub from_memory: bool,
}

/// One rule over all variations.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Statistics {
    /// Variations beyond the limit, failed ones included.
    pub violations: u64,
    /// Their share.
    pub probability: f64,
    /// Interval of that share at 95 %, by `interval_method`.
    pub probability_95: [f64; 2],
    /// The 95/95 bound exists and is not below zero.
    pub met_95_95: bool,
    /// Margin that 95 % of variations keep, with 95 % confidence; null with fewer than 59 variations, and where so many
    /// failed that none is kept.
    pub tolerance_95_95: Option<f64>,
    /// Likewise at another gate, if one was asked for.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub gate: Option<GateStatistics>,
    /// Quantiles of the margin, by Hyndman and Fan's definition 7.
    pub margin_quantiles: Ordered<f64>,
    /// Their 95 % intervals, whatever the distribution; null where there are too few variations.
    pub margin_quantiles_95: Ordered<Option<[f64; 2]>>,
    /// When these shares of the variations had crossed the limit, where they did.
    pub crossing_h: Ordered<Crossing>,
    /// What drives the margin: the rank correlations, strongest first; after `vary --drivers` the sensitivity indices too.
    pub drivers: Vec<Driver>,
    /// Variations in which the limit never applied.
    pub never_applied: u64,
    /// The variation with the smallest margin: the one to run again alone.
    pub worst_variation: u64,
    /// Mean over the variations of the time beyond.
    pub time_beyond_mean_h: f64,
}

/// One rule at the gate that was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GateStatistics {
    /// The bound exists and is not below zero.
    pub met_gate: bool,
    /// Margin kept at the gate's coverage and confidence; null if there are too few variations.
    pub tolerance_gate: Option<f64>,
}

/// An input's hold on a margin.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Driver {
    /// Its path; of sensitivity indices, all that are drawn together ("a with b").
    pub input: String,
    /// What the index is: "rank" for a Spearman correlation, "first" and "total" for sensitivity indices.
    pub kind: &'static str,
    /// The index.
    pub index: f64,
    /// Its 95 % interval; only sensitivity indices have one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub index_95: Option<[f64; 2]>,
}

/// Work done by the simulator.
#[derive(Clone, Copy, Debug, Default, Serialize)]
#[allow(missing_docs)] // the engine's own counters, field by field
pub struct Counters {
    pub events: u64,
    pub segments: u64,
    pub crossings: u64,
    pub passes: u64,
    pub modes: u64,
    pub steps: u64,
    pub rejected_steps: u64,
    pub ruled_out: u64,
    pub looked_into: u64,
}

impl Summary {
    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample::{limit, run, sortie, vary};

    #[test]
    fn keys_come_in_a_fixed_order_and_statistics_stand_in_their_limit() {
        let text = vary(vec![(limit("co2-1h", 0.6), Some(0.15))]).to_json().expect("JSON");
        let keys = [
            "format",
            "command",
            "scenario",
            "seed",
            "runs",
            "failed",
            "design",
            "limits",
            "totals",
            "state_end",
        ];
        let at = keys.map(|key| {
            text.find(&format!("\n  \"{key}\":"))
                .unwrap_or_else(|| panic!("no {key} in {text}"))
        });
        assert!(at.is_sorted(), "{at:?}");
        let json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(json["limits"][0]["tolerance_95_95"], 0.15);
        assert_eq!(json["limits"][0]["where"], "crew:lead");
        assert!(text.ends_with("}\n"));
    }

    #[test]
    fn what_is_no_number_is_null_and_a_run_has_no_statistics() {
        let mut rested = limit("co2-1h", f64::NAN);
        rested.margin_fraction = None;
        let json: serde_json::Value = serde_json::from_str(&run(vec![rested]).to_json().expect("JSON")).expect("JSON");
        assert!(json["limits"][0]["margin"].is_null() && json["limits"][0]["worst"].is_null());
        assert!(json["limits"][0].get("probability").is_none());
        for key in ["seed", "runs", "failed", "design", "variation"] {
            assert!(json.get(key).is_none(), "{key}");
        }
    }

    /// The keys that others read: taking one away raises the format.
    #[test]
    fn stocks_and_sorties_have_their_keys() {
        let text = sortie(vec![limit("co2-1h", 0.6)]).to_json().expect("JSON");
        let json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        let of_gas = "co2_kg water_kg oxygen_kg diluent_kg";
        for (place, keys) in [
            (
                "/tanks/oxygen",
                "gas start_kg used_kg left_kg reserve_kg residue_kg dry_at_h reserve_at_h used_kg_per_day days_left \
                 days_to_reserve contingency_days",
            ),
            (
                "/devices/canister",
                "co2_removed_kg water_removed_kg co2_held_kg water_held_kg canisters_spent canisters_left \
                 canister_days_left turns lost heat_mj",
            ),
            ("/devices/beds/lost", of_gas),
            (
                "/suits/lead",
                "worn_h sensible_mj latent_mj mean_cooling_w vapour_kg runoff_kg oxygen_kg",
            ),
            (
                "/transfers/0",
                "kind task subject began_h ended_h from_pa to_pa gas short",
            ),
            ("/transfers/0/gas", of_gas),
            ("/sorties/0", "tasks people start_h end_h duration_h vented filled"),
            (
                "/per_sortie",
                "sorties oxygen_vented_kg diluent_vented_kg oxygen_filled_kg diluent_filled_kg oxygen_to_suits_kg \
                 suit_canisters",
            ),
        ] {
            let found = json.pointer(place).and_then(serde_json::Value::as_object);
            let mut found: Vec<&str> = found.expect(place).keys().map(String::as_str).collect();
            let mut keys: Vec<&str> = keys.split_whitespace().collect();
            found.sort_unstable();
            keys.sort_unstable();
            assert_eq!(found, keys, "{place}");
        }
        // Without hardware the sections are there and empty.
        let text = run(Vec::new()).to_json().expect("JSON");
        let json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(json["tanks"], serde_json::json!({}));
        assert_eq!(json["transfers"], serde_json::json!([]));
        assert!(json["per_sortie"].is_null());
    }
}
