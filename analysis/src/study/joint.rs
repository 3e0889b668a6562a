//! The claim that all limits are kept at once: not that each is, which more runs may break together.
//!
//! Equation: plain draws: each of m limits is judged at the order floor(r / m), r the order of one limit alone (see
//! [`tolerance`]); the claim holds if all these margins are not below zero, and needs the runs of the order m. Other
//! designs: the one-sided upper bound of the share of runs that violate any limit, from the replicates, is at most
//! 1 - 0.95.
//! Symbols: m limits; orders from 1.
//! Source: see `tolerance` and `replicates`.
//! Valid as those are. Left out: survival, which is judged for itself.

use super::fold::Fold;
use super::{Gate, method};
use crate::chance::Design;
use crate::stats::sample::Sample;
use crate::stats::tolerance;

/// What is claimed of all limits together, at the usual gate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Limits.
    pub limits: u64,
    /// Runs that violate any of them, failed ones among them.
    pub violations: u64,
    /// The order at which each is judged; `None` if there are too few runs, and for designs that are not plain.
    pub order: Option<u64>,
    /// The fewest runs with which the claim can hold; `None` for designs that are not plain.
    pub runs_needed: Option<u64>,
    /// The claim holds: 95 % of all variations keep all limits, with 95 % confidence.
    pub met: bool,
}

impl Joint {
    /// Of all limits, each with its margins.
    pub(super) fn of(fold: &Fold, design: Design, margins: &[Vec<Sample>]) -> Self {
        let any = fold.any();
        let (limits, runs) = (margins.len() as u64, any.iter().map(|count| count.1).sum());
        let (coverage, confidence) = (Gate::USUAL.coverage(), Gate::USUAL.confidence());
        let plain = design == Design::Plain;
        let order = plain
            .then(|| tolerance::joint_order(limits, runs, coverage, confidence))
            .flatten();
        let kept = |order| {
            let of_limit = |margins: &Vec<Sample>| margins.iter().all(|all| all.order_statistic(order) >= 0.0);
            margins.iter().all(of_limit)
        };
        Self {
            limits,
            violations: any.iter().map(|count| count.0).sum(),
            order,
            runs_needed: plain
                .then(|| tolerance::joint_runs_needed(limits, coverage, confidence))
                .flatten(),
            met: if plain {
                order.is_some_and(kept)
            } else {
                method::allows(design, Gate::USUAL, &any)
            },
        }
    }
}
