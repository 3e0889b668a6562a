//! What further runs say: those of `vary --drivers`, and those of `vary --rare`.

use serde::Serialize;

/// The further runs from which sensitivity indices come.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DriverRuns {
    /// Rows: pairs of draws between which factors are exchanged.
    pub rows: u64,
    /// Runs: for each row one for each factor, and two.
    pub runs: u64,
    /// Runs among them that could not be finished.
    pub failed: u64,
    /// Inputs, those that are drawn together counted once.
    pub factors: u64,
    /// How these draws were laid out, whatever the design of the variations.
    pub design: &'static str,
    /// The estimators.
    pub method: &'static str,
    /// For each limit, what its indices rest on.
    pub limits: Vec<DriverRows>,
}

/// What the indices of one limit rest on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DriverRows {
    /// The rule's id.
    pub limit: String,
    /// "cabin", "crew:lead" or "tank:oxygen".
    #[serde(rename = "where")]
    pub place: String,
    /// Rows that could be used.
    pub used: u64,
    /// Rows left out: a run failed, or the limit never applied.
    pub left_out: u64,
    /// Half the width of the widest interval of its first-order indices; null where there are none.
    pub noise: Option<f64>,
}

/// How likely one limit is broken.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rare {
    /// The rule's id.
    pub limit: String,
    /// "cabin", "crew:lead" or "tank:oxygen".
    #[serde(rename = "where")]
    pub place: String,
    /// Unit of the thresholds.
    pub unit: &'static str,
    /// Seed of the draws.
    pub seed: u64,
    /// How the draws were laid out.
    pub design: &'static str,
    /// How the probability was found.
    pub method: &'static str,
    /// The estimate; left out if no violation was seen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub probability: Option<f64>,
    /// With about 95 % confidence the probability is below this; left out if there is an estimate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub below: Option<f64>,
    /// Coefficient of variation of the estimate, levels taken as independent.
    pub coefficient_of_variation: Option<f64>,
    /// The upper bound of that: levels that err all together.
    pub coefficient_of_variation_most: Option<f64>,
    /// 95 % interval of the probability.
    pub interval_95: Option<[f64; 2]>,
    /// That interval is exact (Clopper-Pearson: plain runs were enough), not approximate.
    pub interval_exact: bool,
    /// Level by level.
    pub levels: Vec<RareLevel>,
    /// Runs in each level.
    pub level_runs: u64,
    /// All runs.
    pub runs: u64,
    /// Runs of the last level that could not be finished; they count as violations.
    pub failed: u64,
    /// Why the levels ended: "reached", "plateau" or "levels".
    pub ended: &'static str,
    /// The same in words.
    pub reason: String,
}

/// One level.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RareLevel {
    /// Its samples have at most this margin; null in the first, which has all.
    pub threshold: Option<f64>,
    /// Its samples in the next level; in the last, the violations.
    pub inside: u64,
    /// That over all its samples.
    pub share: f64,
    /// Chains of samples.
    pub chains: u64,
    /// Share of moves that were kept; null in the first, where nothing moves.
    pub acceptance: Option<f64>,
    /// The stride that moves came to.
    pub stride: f64,
    /// The correlation factor of its samples: 0 for independent ones.
    pub correlation: f64,
}
