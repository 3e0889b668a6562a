//! Values that were tried, each once, and where the margin passes 0 between them.

use super::{Find, Margins, SizeJob, TryOut, Untried, Why};
use crate::stats::{quantile_interval, quantiles, tolerance};

/// Confidence of the interval of the quantile.
const CONFIDENCE: f64 = 0.95;

/// Which point of the margins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// The tolerance bound at the gate.
    Bound,
    /// The lower end of the interval of the quantile that it bounds.
    Low,
    /// Its upper end.
    High,
}

/// A value that was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// The value, in the quantity's unit.
    pub value: f64,
    /// Why the design is refused there; the numbers are NaN then.
    pub refused: Option<String>,
    /// Margin kept at the gate, in the limit's unit, as all margins here; NaN with too few variations.
    pub bound: f64,
    /// Interval of the quantile that it bounds; NaN where there are too few variations for an end.
    pub quantile: [f64; 2],
    /// Median of the margin.
    pub median: f64,
    /// Share of variations beyond the limit, 0 to 1.
    pub beyond: f64,
    /// Variations.
    pub runs: u64,
    /// Why the first variation that could not be finished could not.
    pub failure: Option<String>,
}

impl Point {
    fn of(value: f64, margins: Margins, job: &SizeJob) -> Self {
        let runs = margins.values.len() as u64;
        let (coverage, confidence) = (job.gate.coverage(), job.gate.confidence());
        let beyond = margins.values.iter().filter(|margin| **margin < 0.0).count();
        let mut sorted = margins.values;
        quantiles::sort(&mut sorted);
        let median = quantiles::quantile(&sorted, 0.5);
        let at = |rank: u64| sorted[(rank - 1) as usize];
        let ranks = quantile_interval::ranks(runs, 1.0 - coverage, CONFIDENCE);
        let [bound, low, high] = if margins.exact {
            [median; 3]
        } else {
            [
                tolerance::lower_bound(&sorted, coverage, confidence).unwrap_or(f64::NAN),
                ranks.map_or(f64::NAN, |(low, _)| at(low)),
                ranks.map_or(f64::NAN, |(_, high)| at(high)),
            ]
        };
        Self {
            value,
            refused: None,
            bound,
            quantile: [low, high],
            median,
            beyond: beyond as f64 / runs as f64,
            runs,
            failure: margins.failure,
        }
    }

    fn refused(value: f64, why: String) -> Self {
        Self {
            value,
            refused: Some(why),
            bound: f64::NAN,
            quantile: [f64::NAN; 2],
            median: f64::NAN,
            beyond: f64::NAN,
            runs: 0,
            failure: None,
        }
    }

    /// The margin at a level.
    #[must_use]
    pub fn at(&self, level: Level) -> f64 {
        match level {
            Level::Bound => self.bound,
            Level::Low => self.quantile[0],
            Level::High => self.quantile[1],
        }
    }
}

/// Values tried so far, upwards.
pub struct Curve<'a> {
    job: &'a SizeJob,
    of: &'a TryOut<'a>,
    points: Vec<Point>,
}

impl<'a> Curve<'a> {
    /// Nothing tried yet.
    #[must_use]
    pub fn new(job: &'a SizeJob, of: &'a TryOut<'a>) -> Self {
        Self {
            job,
            of,
            points: Vec::new(),
        }
    }

    /// Tries a value, unless it was tried.
    ///
    /// # Errors
    /// If the study ended. A value that is refused is a point.
    pub fn try_out(&mut self, value: f64) -> Result<&Point, Untried> {
        let at = self.points.partition_point(|point| point.value < value);
        if self.points.get(at).is_none_or(|point| point.value != value) {
            let point = match (self.of)(value, self.job.seed, 1) {
                Ok(margins) => Point::of(value, margins, self.job),
                Err(Untried::Refused(why)) => Point::refused(value, why),
                Err(ended) => return Err(ended),
            };
            self.points.insert(at, point);
        }
        Ok(&self.points[at])
    }

    /// The margin at a value, at a level.
    ///
    /// # Errors
    /// If the study ended, or the value is refused.
    pub fn margin(&mut self, value: f64, level: Level) -> Result<f64, Untried> {
        let point = self.try_out(value)?;
        match &point.refused {
            Some(why) => Err(Untried::Refused(why.clone())),
            None => Ok(point.at(level)),
        }
    }

    /// The two neighbours between which the margin passes 0: where it is not kept, where it is.
    ///
    /// # Errors
    /// Why there are none, or not only two.
    pub fn crossing(&self, level: Level) -> Result<(f64, f64), Why> {
        let tried: Vec<&Point> = self.points.iter().filter(|point| point.refused.is_none()).collect();
        let kept = |point: &&Point| point.at(level) >= 0.0;
        let Some(first) = tried.first() else {
            let why = self.points.first().and_then(|point| point.refused.clone());
            return Err(Why::Refused(why.unwrap_or_default()));
        };
        let changes: Vec<(&Point, &Point)> = tried
            .windows(2)
            .filter(|pair| kept(&pair[0]) != kept(&pair[1]))
            .map(|pair| (pair[0], pair[1]))
            .collect();
        match changes[..] {
            [] if kept(first) => Err(Why::Always),
            [] => Err(Why::Never),
            [(low, high)] => match (self.job.find, kept(&low)) {
                (Find::Smallest, false) => Ok((low.value, high.value)),
                (Find::Largest, true) => Ok((high.value, low.value)),
                _ => Err(Why::OtherEnd),
            },
            _ => Err(Why::NotMonotone),
        }
    }

    /// All values tried, upwards.
    #[must_use]
    pub fn into_points(self) -> Vec<Point> {
        self.points
    }
}
