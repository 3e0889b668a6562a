//! Time to the first crossing of a limit, as a survival curve: runs that ended without one tell that it came later.
//!
//! Equation: S(t) = product over ticks up to t of (1 - d / n); Var S = S^2 G, G = sum of d / (n (n - d)) (Greenwood);
//! the interval at one time is S^exp(+/- z sqrt G / ln S). The time by which a share p has crossed is the first with S
//! <= 1 - p; its interval goes from the first time whose lower end is at most 1 - p to the first whose upper end is
//! below 1 - p.
//! Symbols: n runs at risk, d crossings in the tick; times in whole minutes: a crossing or an end is rounded up to its
//! minute, so that S at a whole minute is exact. In one minute crossings come before ends. z standard normal quantile.
//! Source: Kaplan and Meier, J. Am. Statist. Assoc. 53 (1958) 457-481; Greenwood 1926; the interval: Kalbfleisch and
//! Prentice, The Statistical Analysis of Failure Time Data, 1980, section 1.3; times: Brookmeyer and Crowley,
//! Biometrics 38 (1982) 29-41 (from memory).
//! Valid for independent runs whose ends have nothing to do with when they would have crossed; the interval is one for
//! large samples. A run that failed is a crossing at minute 0: nothing good is known of it. Before the first crossing
//! the lower end is (a/2)^(1/n) (Clopper-Pearson), since the formula has none there; where S is 0 the ends are 0 and
//! the last upper end.
//! Left out: bands that hold for all times at once; what would happen after the last end: nothing is said of it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{normal, proportion};

/// Runs by the minute in which they crossed or ended. Counts, so that parts add up to the same in any order.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SurvivalCounts {
    /// Crossed, and ended without crossing.
    minutes: BTreeMap<u32, (u64, u64)>,
}

impl SurvivalCounts {
    /// Without runs.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A run that crossed in this minute (rounded up).
    pub fn add_crossing(&mut self, minute: u32) {
        self.minutes.entry(minute).or_insert((0, 0)).0 += 1;
    }

    /// A run that ended in this minute (rounded up) and had not crossed.
    pub fn add_censored(&mut self, minute: u32) {
        self.minutes.entry(minute).or_insert((0, 0)).1 += 1;
    }

    /// Takes all runs of another.
    pub fn merge(&mut self, other: &Self) {
        for (&minute, &(crossed, censored)) in &other.minutes {
            let sum = self.minutes.entry(minute).or_insert((0, 0));
            *sum = (sum.0 + crossed, sum.1 + censored);
        }
    }

    /// How many runs were counted.
    #[must_use]
    pub fn runs(&self) -> u64 {
        self.minutes
            .values()
            .map(|&(crossed, censored)| crossed + censored)
            .sum()
    }

    /// The curve with its pointwise intervals.
    #[must_use]
    pub fn curve(&self, confidence: f64) -> Curve {
        let z = normal::quantile(0.5 + 0.5 * confidence);
        let runs = self.runs();
        let (mut at_risk, mut survival, mut greenwood, mut upper) = (runs, 1.0, 0.0, 1.0);
        let mut at_first = runs;
        let mut steps: Vec<Step> = Vec::new();
        for (&minute, &(crossed, censored)) in &self.minutes {
            if crossed > 0 {
                if steps.is_empty() {
                    at_first = at_risk;
                }
                let left = at_risk - crossed;
                survival *= left as f64 / at_risk as f64;
                let lower;
                if left > 0 {
                    greenwood += crossed as f64 / (at_risk as f64 * left as f64);
                    let log = libm::log(survival);
                    let wide = libm::exp(z * greenwood.sqrt() / -log);
                    lower = libm::exp(log * wide);
                    upper = libm::exp(log / wide);
                } else {
                    // The last upper end stands: the curve does not rise.
                    lower = 0.0;
                }
                steps.push(Step {
                    minute,
                    at_risk,
                    crossed,
                    survival,
                    lower,
                    upper,
                });
            }
            at_risk -= crossed + censored;
        }
        Curve {
            steps,
            lower_before: 1.0 - proportion::upper(0, at_first, 0.5 + 0.5 * confidence),
            runs,
            last_minute: self.minutes.keys().next_back().copied(),
        }
    }
}

/// A minute in which runs crossed, and the curve from then on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Minutes from the start.
    pub minute: u32,
    /// Runs that had neither crossed nor ended before.
    pub at_risk: u64,
    /// Runs that crossed in this minute.
    pub crossed: u64,
    /// Chance of no crossing up to and with this minute.
    pub survival: f64,
    /// Lower end of its interval.
    pub lower: f64,
    /// Upper end of its interval.
    pub upper: f64,
}

/// A survival curve: 1 from the start, then its steps.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Minutes with crossings, in order.
    pub steps: Vec<Step>,
    /// Lower end of the interval before the first step (the curve and the upper end are 1).
    pub lower_before: f64,
    /// All runs.
    pub runs: u64,
    /// The last minute in which a run crossed or ended: nothing is known beyond it. `None` without runs.
    pub last_minute: Option<u32>,
}

/// When a share of the runs has crossed, in minutes. `None`: not up to the last minute known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CrossingTime {
    /// The time itself.
    pub minute: Option<u32>,
    /// The earliest that the interval holds.
    pub earliest: Option<u32>,
    /// The latest that it holds; `None` if it is open.
    pub latest: Option<u32>,
}

impl Curve {
    /// The curve at a minute, with its interval; `None` beyond the last minute, where nothing is known.
    #[must_use]
    pub fn at(&self, minute: u32) -> Option<[f64; 3]> {
        if self.last_minute.is_none_or(|last| minute > last) {
            return None;
        }
        let after = self.steps.partition_point(|step| step.minute <= minute);
        Some(after.checked_sub(1).map_or([1.0, self.lower_before, 1.0], |i| {
            let step = self.steps[i];
            [step.survival, step.lower, step.upper]
        }))
    }

    /// The time by which the share `share` has crossed (0.5: the median; 0.05: when it becomes a risk).
    #[must_use]
    pub fn crossing_time(&self, share: f64) -> CrossingTime {
        let left = 1.0 - share;
        // Products of ratios miss a round share by their last bits.
        let reached = left * (1.0 + ROUNDING);
        let first = |holds: &dyn Fn(&Step) -> bool| self.steps.iter().find(|step| holds(step)).map(|step| step.minute);
        let from_start = self.runs > 0 && self.lower_before <= reached;
        CrossingTime {
            minute: first(&|step| step.survival <= reached),
            earliest: if from_start {
                Some(0)
            } else {
                first(&|step| step.lower <= reached)
            },
            latest: first(&|step| step.upper < left),
        }
    }
}

/// Relative: what a product over as many steps as there are minutes in a month may be off.
const ROUNDING: f64 = 1e-11;

#[cfg(test)]
#[path = "survival_tests.rs"]
mod tests;
