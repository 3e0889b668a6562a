//! Pieces: what some variations gave, side by side, as they are streamed, kept in files and folded.
//!
//! A *block* is 1,024 variations that start at a multiple of 1,024: what sums are folded by and shards are cut on. A *piece*
//! is 64 variations that start at a multiple of 64 (the last may be shorter): what is handed on, kept and made again after
//! a kill. Blocks are whole pieces, so no piece belongs to two.

use std::ops::Range;

use breathroom_sim::engine::{AlarmOutcome, Counters, End, Outcome, RuleOutcome, RunError};
use breathroom_sim::units::Time;

use super::Simulate;
use super::courses::{POINTS, TRACED};
use super::upsets::Responded;

/// Variations in a block.
pub const BLOCK: u64 = 1_024;
/// Variations in a piece.
pub const PIECE: u64 = 64;

/// The rule of a run that gave no outcome.
const UNKNOWN: RuleOutcome = RuleOutcome {
    worst: f64::NAN,
    at: Time::ZERO,
    margin: f64::NAN,
    first_crossing: None,
    beyond_s: f64::NAN,
};

/// How many numbers of each kind a variation has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shape {
    /// Uncertain inputs.
    pub inputs: usize,
    /// Limits.
    pub limits: usize,
    /// Tanks.
    pub tanks: usize,
    /// Removal devices.
    pub devices: usize,
    /// Courses that are kept of the first variations.
    pub series: usize,
    /// Faults.
    pub faults: usize,
    /// Alarms.
    pub alarms: usize,
}

impl Shape {
    /// That of a simulation.
    pub fn of<S: Simulate>(simulate: &S) -> Self {
        Self {
            inputs: simulate.paths().len(),
            limits: simulate.limits(),
            tanks: simulate.tanks(),
            devices: simulate.devices(),
            series: simulate.series(),
            faults: simulate.faults(),
            alarms: simulate.alarms(),
        }
    }
}

/// How a variation ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Ended {
    /// As its run says: completed or not survivable.
    Run(End),
    /// It could not be finished; why, in words.
    Failed(String),
}

/// Some variations, one after the other. The lists are what a file of pieces holds, in this order.
#[derive(Clone, Debug)]
pub struct Piece {
    /// How many numbers there are of each kind.
    pub shape: Shape,
    /// Index of the first variation.
    pub first: u64,
    /// Work of all of its runs that ended.
    pub counters: Counters,
    /// How each ended.
    pub ends: Vec<Ended>,
    /// When each ended; 0 if it failed.
    pub ended_at: Vec<Time>,
    /// Of each, the value of every input, SI.
    pub values: Vec<f64>,
    /// Of each, how every limit fared, SI.
    pub rules: Vec<RuleOutcome>,
    /// Of each, what its tanks hold at the end, kg, then the canisters that its devices used.
    pub stores: Vec<f64>,
    /// Of each, when every fault began, if it did.
    pub began: Vec<Option<Time>>,
    /// Of each, what became of every alarm.
    pub alarms: Vec<AlarmOutcome>,
    /// Of each, what became of the responses to every alarm.
    pub responded: Vec<Responded>,
    /// Of each series, then of each traced variation, its values on the grid, SI; NaN where there is none.
    pub courses: Vec<f32>,
}

impl Piece {
    /// Without variations.
    #[must_use]
    pub fn new(shape: Shape) -> Self {
        Self {
            shape,
            first: 0,
            counters: Counters::default(),
            ends: Vec::new(),
            ended_at: Vec::new(),
            values: Vec::new(),
            rules: Vec::new(),
            stores: Vec::new(),
            began: Vec::new(),
            alarms: Vec::new(),
            responded: Vec::new(),
            courses: Vec::new(),
        }
    }

    /// Makes place for these variations in memory that is used again; nothing is known of them yet.
    pub fn reset(&mut self, range: Range<u64>) {
        let (shape, len) = (self.shape, (range.end - range.start) as usize);
        self.first = range.start;
        self.counters = Counters::default();
        self.ends.clear();
        self.ends.resize_with(len, || Ended::Failed(String::new()));
        refill(&mut self.ended_at, Time::ZERO, len);
        refill(&mut self.values, f64::NAN, len * shape.inputs);
        refill(&mut self.rules, UNKNOWN, len * shape.limits);
        refill(&mut self.stores, f64::NAN, len * (shape.tanks + shape.devices));
        refill(&mut self.began, None, len * shape.faults);
        refill(&mut self.alarms, AlarmOutcome::default(), len * shape.alarms);
        refill(&mut self.responded, Responded::default(), len * shape.alarms);
        let traced = self.traced();
        refill(&mut self.courses, f32::NAN, shape.series * traced * POINTS);
    }

    /// How many variations.
    #[must_use]
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// How many of them, from the first on, are traced.
    #[must_use]
    pub fn traced(&self) -> usize {
        traced(self.first, self.len())
    }

    /// The value of each input in the `i`-th variation here, SI (a mean over turns and people where it was drawn for each).
    #[must_use]
    pub fn values(&self, i: usize) -> &[f64] {
        &self.values[i * self.shape.inputs..][..self.shape.inputs]
    }

    /// How each limit fared, SI: all NaN if the run failed; `worst` and `margin` are NaN if the limit never applied.
    #[must_use]
    pub fn rules(&self, i: usize) -> &[RuleOutcome] {
        &self.rules[i * self.shape.limits..][..self.shape.limits]
    }

    /// What each tank holds at the end, kg; NaN if the run failed.
    #[must_use]
    pub fn tanks_left_kg(&self, i: usize) -> &[f64] {
        &self.stores_of(i)[..self.shape.tanks]
    }

    /// How many canisters each device used; NaN if the run failed.
    #[must_use]
    pub fn canisters_spent(&self, i: usize) -> &[f64] {
        &self.stores_of(i)[self.shape.tanks..]
    }

    /// When each fault began, if it did; nothing is known of them if the run failed.
    #[must_use]
    pub fn began(&self, i: usize) -> &[Option<Time>] {
        &self.began[i * self.shape.faults..][..self.shape.faults]
    }

    /// What became of each alarm; nothing is known of them if the run failed.
    #[must_use]
    pub fn alarms(&self, i: usize) -> &[AlarmOutcome] {
        &self.alarms[i * self.shape.alarms..][..self.shape.alarms]
    }

    /// What became of the responses to each alarm; nothing is known of them if the run failed.
    #[must_use]
    pub fn responded(&self, i: usize) -> &[Responded] {
        &self.responded[i * self.shape.alarms..][..self.shape.alarms]
    }

    fn stores_of(&self, i: usize) -> &[f64] {
        let many = self.shape.tanks + self.shape.devices;
        &self.stores[i * many..][..many]
    }

    /// How it ended.
    ///
    /// # Errors
    /// Why it failed, in words, if it did.
    pub fn end(&self, i: usize) -> Result<End, &str> {
        match &self.ends[i] {
            Ended::Run(end) => Ok(*end),
            Ended::Failed(why) => Err(why),
        }
    }

    /// The margin as statistics take it: minus infinity if the run failed (nothing good is known of it), plus infinity if
    /// the limit never applied in it (no one there to breathe: it cannot be violated).
    #[must_use]
    pub fn judged_margin(&self, i: usize, limit: usize) -> f64 {
        let margin = self.rules(i)[limit].margin;
        match (&self.ends[i], margin.is_nan()) {
            (Ended::Failed(_), _) => f64::NEG_INFINITY,
            (Ended::Run(_), true) => f64::INFINITY,
            (Ended::Run(_), false) => margin,
        }
    }

    /// Puts what the `i`-th variation gave into its place; `course` has its series one after the other, if it is traced. It
    /// ends after `duration` unless its outcome says otherwise.
    pub(super) fn fill(
        &mut self,
        i: usize,
        values: &[f64],
        course: &[f32],
        (result, duration): (Result<&Outcome, RunError>, Time),
        words: &dyn Fn(&RunError) -> String,
    ) {
        let shape = self.shape;
        self.values[i * shape.inputs..][..shape.inputs].copy_from_slice(values);
        let traced = self.traced();
        if i < traced {
            for (series, course) in course.chunks_exact(POINTS).enumerate().take(shape.series) {
                self.courses[(series * traced + i) * POINTS..][..POINTS].copy_from_slice(course);
            }
        }
        let failed = |error: &RunError| Ended::Failed(words(error));
        self.ends[i] = match result {
            Ok(outcome) if outcome.rules.len() == shape.limits => {
                self.rules[i * shape.limits..][..shape.limits].copy_from_slice(&outcome.rules);
                add_counters(&mut self.counters, outcome.counters);
                let many = shape.tanks + shape.devices;
                let (tanks, devices) = self.stores[i * many..][..many].split_at_mut(shape.tanks);
                for (left_kg, of) in tanks.iter_mut().zip(&outcome.tanks) {
                    *left_kg = of.left_kg;
                }
                for (spent, of) in devices.iter_mut().zip(&outcome.devices) {
                    *spent = f64::from(of.canisters_spent);
                }
                for (began, of) in self.began[i * shape.faults..][..shape.faults]
                    .iter_mut()
                    .zip(&outcome.faults)
                {
                    *began = of.began;
                }
                let alarms = i * shape.alarms..(i + 1) * shape.alarms;
                for (kept, of) in self.alarms[alarms.clone()].iter_mut().zip(&outcome.alarms) {
                    *kept = *of;
                }
                for response in &outcome.responses {
                    if let Some(of) = self.responded[alarms.clone()].get_mut(response.alarm) {
                        of.add(response);
                    }
                }
                self.ended_at[i] = match outcome.end {
                    End::Completed => duration,
                    End::OxygenFloor { at, .. } | End::Exhausted { at, .. } => at,
                };
                Ended::Run(outcome.end)
            }
            Ok(_) => failed(&RunError::Invalid("an outcome without a result for each limit")),
            Err(error) => failed(&error),
        };
    }
}

/// How many of `len` variations from `first` on are traced.
#[must_use]
pub fn traced(first: u64, len: usize) -> usize {
    (TRACED.saturating_sub(first) as usize).min(len)
}

/// The first piece of some variations.
#[must_use]
pub fn piece_at(range: &Range<u64>) -> Range<u64> {
    range.start..range.end.min((range.start / PIECE + 1) * PIECE)
}

fn refill<T: Clone>(list: &mut Vec<T>, with: T, len: usize) {
    list.clear();
    list.resize(len, with);
}

pub(super) fn add_counters(sum: &mut Counters, more: Counters) {
    let mut more = more;
    for (sum, more) in sum.each().into_iter().zip(more.each()) {
        *sum += *more;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_start_at_multiples_and_the_last_may_be_short() {
        assert_eq!(piece_at(&(0..130)), 0..64);
        assert_eq!(piece_at(&(128..130)), 128..130);
        assert_eq!(piece_at(&(960..1_030)), 960..1_024);
        assert!(piece_at(&(64..64)).is_empty());
    }

    #[test]
    fn the_first_thousand_are_traced() {
        assert_eq!([traced(0, 64), traced(960, 64), traced(1_024, 64)], [64, 40, 0]);
        assert_eq!(BLOCK % PIECE, 0);
    }
}
