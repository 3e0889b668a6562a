//! What is claimed of a study beyond each limit by itself: all limits together, when they are crossed, why it stopped.

use serde::Serialize;

/// The claim that 95 % of all variations keep all limits at once, with 95 % confidence. Survival is judged for itself.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Joint {
    /// It holds.
    pub met: bool,
    /// Of how many limits.
    pub limits: u64,
    /// Variations beyond any of them, failed ones included.
    pub violations: u64,
    /// 95 % interval of their share.
    pub probability_95: [f64; 2],
    /// Margins that bound all limits at once; null for designs that are not plain.
    pub bounds: Option<JointBounds>,
}

/// Margins, taken from the variations, that 95 % of all variations keep in all limits at once, with 95 % confidence.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct JointBounds {
    /// None of them is below zero.
    pub met: bool,
    /// The order of the margin which each limit is taken at (1: the smallest); null if there are too few variations.
    pub order: Option<u64>,
    /// The fewest variations with which there are any; null if no number will do.
    pub runs_needed: Option<u64>,
}

/// When a share of the variations has crossed a limit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Crossing {
    /// By then, rounded up to a minute.
    pub time_h: f64,
    /// Its 95 % interval, null where it is open; null altogether for designs that are not plain.
    pub interval_95: Option<[Option<f64>; 2]>,
}

/// Why a study stopped that was to go on until its shares are known well enough.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Until {
    /// Half width that the interval of every share was to have.
    pub probability_within: f64,
    /// Every interval was narrow enough; else the cap ended it.
    pub reached: bool,
    /// Most variations that it might have had.
    pub cap: u64,
    /// Numbers of variations at which it was looked at.
    pub looks: Vec<u64>,
    /// How many looks there might have been.
    pub looks_planned: u64,
    /// Confidence of the intervals that each look was judged by: together they have 95 %.
    pub look_confidence: f64,
}
