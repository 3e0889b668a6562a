//! How small may it be? The value of one design quantity at which a margin is just kept at a gate.
//!
//! All values are tried on the same variations (common random numbers), so that the margins that are kept are a curve over the
//! value and not a cloud. At each value the variations give three points of it: the tolerance bound at the gate (what is *shown* to be
//! kept), and the two ends of the 95 % interval of the quantile that it bounds. Where the bound passes 0 is the answer; where the two ends do is the
//! interval of the value that many more variations would give.
//!
//! ```text
//! grid over the range --> pattern of kept and not kept --> bracket --> root of the bound, of either end --> proof on fresh seeds
//! ```
//!
//! **Proof.** The answer rests on the very variations by which it was found, so it is tried again on variations of a fresh seed, four
//! times as many. If they do not show it, the value goes to the safe side by the width of its interval, and another seed is taken: at most
//! [`TRIES`] in all, each at the confidence 1 - (1 - c) / [`TRIES`], so that all of them together claim c (Bonferroni).
//!
//! Source of the tolerance bound: `stats::tolerance`; of the root, the Illinois variant of the false position (Dowell and Jarratt, "A modified
//! regula falsi method", BIT 11 (1971) 168-174; from memory), with bisection where it is slow.
//! Valid where the bound passes 0 once in the range: a grid of [`POINTS`] values looks for more, and a dip between two of them can be missed.
//! Left out: quantities that are whole numbers or words; designs of draws other than plain.

mod curve;
mod proof;
mod root;

pub use curve::{Curve, Level, Point};
pub use proof::{Proof, TRIES, Try};

/// Values of the grid that looks for the bracket, its ends included.
pub const POINTS: u32 = 9;
/// The root is followed until the bracket is this part of the value.
pub const WITHIN: f64 = 1e-4;
/// The ends of the interval, likewise.
const INTERVAL_WITHIN: f64 = 2e-3;
/// Significant figures of an answer, rounded to the safe side.
const FIGURES: i32 = 5;

/// Which end of the values that keep the margin is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Find {
    /// The smallest: the margin grows with the value.
    Smallest,
    /// The largest: the margin falls.
    Largest,
}

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizeJob {
    /// The range, its lower end first, in the quantity's unit, as all values here.
    pub range: [f64; 2],
    /// Which end.
    pub find: Find,
    /// Values of the grid.
    pub points: u32,
    /// Gate that the margin is to pass.
    pub gate: crate::study::Gate,
    /// Seed of the variations.
    pub seed: u64,
}

/// Why a value could not be tried.
#[derive(Clone, Debug, PartialEq)]
pub enum Untried {
    /// The design is refused there: why.
    Refused(String),
    /// The study ended.
    Ended(crate::study::StudyError),
}

/// The margins of one value.
#[derive(Clone, Debug, PartialEq)]
pub struct Margins {
    /// By variation, in the limit's unit, as all margins here; minus infinity for one that failed or was not lived through.
    pub values: Vec<f64>,
    /// Nothing is uncertain: one variation says all.
    pub exact: bool,
    /// Why the first variation that could not be finished could not.
    pub failure: Option<String>,
}

/// Tries a value on a seed with so many times the variations of the search: (value, seed, times).
pub type TryOut<'a> = dyn Fn(f64, u64, u64) -> Result<Margins, Untried> + 'a;

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    /// The answer, or why there is none.
    pub answer: Result<Answer, Why>,
    /// Every value that was tried, upwards.
    pub curve: Vec<Point>,
}

/// The value that is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Where the bound passes 0, on the safe side of it.
    pub found: f64,
    /// The interval of the value at which the gate's share of all variations keeps the margin, at 95 %; an end that is beyond the range, or that so
    /// few variations cannot tell, is `None`.
    pub interval: [Option<f64>; 2],
    /// What fresh seeds say.
    pub proof: Proof,
}

impl Answer {
    /// The value to build by: what was proved, else what was found.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.proof.proved().unwrap_or(self.found)
    }
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// The margin is kept nowhere in the range.
    Never,
    /// It is kept everywhere in the range.
    Always,
    /// It is kept at the other end: the other one is to be asked for.
    OtherEnd,
    /// It is kept here and there.
    NotMonotone,
    /// No value of the range can be tried: why the first cannot.
    Refused(String),
}

/// Finds the value.
///
/// # Errors
/// If a study ended, or a value between two that can be tried is refused (why).
pub fn size(job: &SizeJob, of: &TryOut<'_>) -> Result<Size, Untried> {
    let mut curve = Curve::new(job, of);
    for value in grid(job) {
        curve.try_out(value)?;
    }
    let why = match curve.crossing(Level::Bound) {
        Ok((bad, good)) => {
            let found = root::root(&mut curve, Level::Bound, (bad, good), WITHIN)?;
            let found = safe(found, job.find);
            let interval = interval(&mut curve, job.find)?;
            let proof = proof::prove(job, of, found, interval)?;
            return Ok(Size {
                answer: Ok(Answer { found, interval, proof }),
                curve: curve.into_points(),
            });
        }
        Err(why) => why,
    };
    Ok(Size {
        answer: Err(why),
        curve: curve.into_points(),
    })
}

/// The range in equal steps, or in equal ratios where it spans more than a factor of four.
fn grid(job: &SizeJob) -> Vec<f64> {
    let [from, to] = job.range;
    let last = f64::from(job.points.max(2) - 1);
    let step = |index: u32| {
        let part = f64::from(index) / last;
        match index {
            0 => from,
            _ if f64::from(index) >= last => to,
            _ if from > 0.0 && to > 4.0 * from => from * libm::pow(to / from, part),
            _ => from + part * (to - from),
        }
    };
    (0..job.points.max(2)).map(step).collect()
}

/// Where the two ends of the quantile's interval pass 0, the lower value first.
fn interval(curve: &mut Curve<'_>, find: Find) -> Result<[Option<f64>; 2], Untried> {
    let mut end = |level: Level| -> Result<Option<f64>, Untried> {
        match curve.crossing(level) {
            Ok(bracket) => Ok(Some(root::root(curve, level, bracket, INTERVAL_WITHIN)?)),
            Err(_) => Ok(None),
        }
    };
    // Judged by the upper end less is enough.
    let (lax, strict) = (end(Level::High)?, end(Level::Low)?);
    Ok(match find {
        Find::Smallest => [lax, strict],
        Find::Largest => [strict, lax],
    })
}

/// With [`FIGURES`] significant figures, rounded to the side on which the margin is kept.
fn safe(value: f64, find: Find) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let places = FIGURES - 1 - libm::floor(libm::log10(value.abs())) as i32;
    let scale = libm::pow(10.0, f64::from(places.abs()));
    let scaled = if places >= 0 { value * scale } else { value / scale };
    // What is a round number but for the last bits stays it.
    let near = libm::round(scaled);
    let whole = match find {
        _ if (scaled - near).abs() < 1e-7 => near,
        Find::Smallest => scaled.ceil(),
        Find::Largest => scaled.floor(),
    };
    if places >= 0 { whole / scale } else { whole * scale }
}

#[cfg(test)]
mod tests;
