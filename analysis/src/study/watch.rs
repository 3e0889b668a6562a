//! A study that goes on until its shares are known well enough: looked at after numbers of runs that are fixed beforehand.
//!
//! Equation: at each look the interval of every limit's share of violations, and of the share that was not survived, at
//! the confidence that [`Looks`] leaves for that look. It stops at the first look at which half of every interval is at
//! most what was asked for, and else at the cap.
//! Symbols: runs; shares without unit.
//! Source: see [`looks`](crate::stats::looks).
//! Valid for plain draws and Sobol sequences, whose runs can be extended. A Latin hypercube cannot: its draws depend on
//! how many there are. Left out: margins; see [`until`](crate::stats::until).

use super::fold::Fold;
use super::method;
use super::piece::{Piece, Shape};
use super::tally::CONFIDENCE;
use crate::chance::Design;
use crate::stats::looks::{Looks, is_reached};
use crate::stats::until::Until;

/// Counts what a study has made so far, and says when it may stop.
#[derive(Clone, Debug)]
pub struct Watch {
    fold: Fold,
    design: Design,
    until: Until,
    looks: Looks,
    /// Looks that were made.
    made: usize,
    reached: bool,
}

/// How a study stopped.
#[derive(Clone, Debug, PartialEq)]
pub struct Stopped {
    /// Half width that every interval was to have.
    pub within: f64,
    /// Most runs that it might have had.
    pub cap: u64,
    /// Numbers of runs at which it was looked at.
    pub looks: Vec<u64>,
    /// How many looks there might have been.
    pub planned: u64,
    /// The confidence of the intervals of each look.
    pub confidence: f64,
    /// Every interval was narrow enough.
    pub reached: bool,
}

impl Watch {
    /// Of a study of `cap` runs at most.
    #[must_use]
    pub fn new(shape: Shape, design: Design, until: Until, cap: u64) -> Self {
        Self {
            fold: Fold::new(shape.limits, design),
            design,
            until,
            looks: Looks::new(cap, CONFIDENCE),
            made: 0,
            reached: false,
        }
    }

    /// The number of runs at the next look; `None` when there is none.
    #[must_use]
    pub fn next_look(&self) -> Option<u64> {
        let next = self.looks.counts().get(self.made).copied();
        next.filter(|_| !self.reached)
    }

    /// Counts the piece that comes next.
    pub fn add(&mut self, piece: &Piece) {
        self.fold.add(piece);
    }

    /// Looks, once the runs up to [`Watch::next_look`] are counted.
    pub fn look(&mut self) {
        let confidence = self.looks.confidence_at(self.made);
        let limits = (0..self.fold.limits.len()).map(|limit| self.fold.violations(limit));
        let intervals: Vec<[f64; 2]> = limits
            .chain([self.fold.bad()])
            .map(|counts| method::interval(self.design, &counts, confidence))
            .collect();
        self.reached = is_reached(&intervals, self.until.probability_within);
        self.made += 1;
    }

    /// How it stopped.
    #[must_use]
    pub fn stopped(&self) -> Stopped {
        let counts = self.looks.counts();
        Stopped {
            within: self.until.probability_within,
            cap: counts.last().copied().unwrap_or(0),
            looks: counts[..self.made].to_vec(),
            planned: counts.len() as u64,
            confidence: self.looks.confidence_at(0),
            reached: self.reached,
        }
    }
}
