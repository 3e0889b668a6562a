//! An answer tried again on variations that it was not found by.

use super::{Find, SizeJob, TryOut, Untried, safe};
use crate::stats::{quantiles, tolerance};
use crate::study::own_seed;

/// At most so many values are tried.
pub const TRIES: usize = 3;
/// So many times the variations of the search, to be surer than it.
const MORE: u64 = 4;
/// The step to the safe side where the interval has no width to go by, as a part of the value.
const STEP: f64 = 0.02;

/// What fresh seeds said.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// Each value tried, in order.
    pub tries: Vec<Try>,
    /// Confidence of each, so that all together have the gate's.
    pub confidence: f64,
}

/// One value on one fresh seed.
#[derive(Clone, Debug, PartialEq)]
pub struct Try {
    /// The value, in the quantity's unit.
    pub value: f64,
    /// The seed.
    pub seed: u64,
    /// Variations.
    pub runs: u64,
    /// Margin that the gate's share keeps, in the limit's unit, with the confidence of each try; NaN with too few variations.
    pub bound: f64,
    /// Share of variations beyond the limit, 0 to 1.
    pub beyond: f64,
}

impl Try {
    /// It is shown.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.bound >= 0.0
    }
}

impl Proof {
    /// The value that was shown, if one was: the last.
    #[must_use]
    pub fn proved(&self) -> Option<f64> {
        self.tries.last().filter(|last| last.holds()).map(|last| last.value)
    }
}

/// Tries the value found, and then values on the safe side of it.
pub(super) fn prove(job: &SizeJob, of: &TryOut<'_>, found: f64, interval: [Option<f64>; 2]) -> Result<Proof, Untried> {
    let confidence = 1.0 - (1.0 - job.gate.confidence()) / TRIES as f64;
    let sign = match job.find {
        Find::Smallest => 1.0,
        Find::Largest => -1.0,
    };
    let width = match interval {
        [Some(low), Some(high)] if high > low => high - low,
        [Some(end), None] | [None, Some(end)] if end != found => (end - found).abs(),
        _ => STEP * found.abs(),
    };
    let mut tries = Vec::new();
    let mut value = found;
    for number in 1..=TRIES {
        let seed = own_seed(job.seed, &format!("size.{number}"));
        let margins = match of(value, seed, MORE) {
            Ok(margins) => margins,
            // Further on the safe side there is no such design: what was tried stands.
            Err(Untried::Refused(_)) if number > 1 => break,
            Err(error) => return Err(error),
        };
        let runs = margins.values.len() as u64;
        let beyond = margins.values.iter().filter(|margin| **margin < 0.0).count() as f64 / runs as f64;
        let mut sorted = margins.values;
        quantiles::sort(&mut sorted);
        let bound = if margins.exact {
            sorted[0]
        } else {
            tolerance::lower_bound(&sorted, job.gate.coverage(), confidence).unwrap_or(f64::NAN)
        };
        let tried = Try {
            value,
            seed,
            runs,
            bound,
            beyond,
        };
        let holds = tried.holds();
        tries.push(tried);
        if holds {
            break;
        }
        value = safe(value + sign * width, job.find);
    }
    Ok(Proof { tries, confidence })
}
