//! What holds for all limits at once: not that each is kept, which more runs may break together.
//!
//! Two claims. That 95 % of all variations keep all limits, with 95 % confidence: the limits stand before the runs, so that "beyond any of
//! them" is one event, whose share is bounded as that of one limit is (plain draws: the order of one limit is above the count
//! of such runs; other designs: the upper bound of the share from the replicates is at most 1 - 0.95).
//!
//! And margins that bound all limits at once, so values taken from the runs (plain draws alone): each of m limits is taken
//! at the order floor(r / m), r the order of one limit alone (see [`tolerance`]), which needs the runs of the order m. They
//! show less of the limits themselves than the count does.
//! Symbols: m limits; orders from 1.
//! Source: see `tolerance` and `replicates`.
//! Valid as those are. Left out: survival, which is judged for itself.

use super::fold::Fold;
use super::{Gate, method};
use crate::chance::Design;
use crate::stats::sample::Sample;
use crate::stats::tolerance;

/// Confidence of the interval of the share beyond any.
const CONFIDENCE: f64 = 0.95;

/// What is claimed of all limits together, at the usual gate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Limits.
    pub limits: u64,
    /// Runs that violate any of them, failed ones among them.
    pub violations: u64,
    /// Interval of their share.
    pub interval: [f64; 2],
    /// The claim holds: 95 % of all variations keep all limits, with 95 % confidence.
    pub met: bool,
    /// Margins that bound all limits at once; `None` for designs that are not plain.
    pub bounds: Option<JointBounds>,
}

/// Margins that bound all limits at once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointBounds {
    /// The order at which each is taken; `None` if there are too few runs.
    pub order: Option<u64>,
    /// The fewest runs with which there are any; `None` if no number will do.
    pub runs_needed: Option<u64>,
    /// None of them is below zero.
    pub met: bool,
}

impl Joint {
    /// Of all limits, each with its margins.
    pub(super) fn of(fold: &Fold, design: Design, margins: &[Vec<Sample>]) -> Self {
        let any = fold.any();
        Self {
            limits: margins.len() as u64,
            violations: any.iter().map(|count| count.0).sum(),
            interval: method::interval(design, &any, CONFIDENCE),
            met: method::allows(design, Gate::USUAL, &any),
            bounds: (design == Design::Plain).then(|| JointBounds::of(margins, any.iter().map(|count| count.1).sum())),
        }
    }
}

impl JointBounds {
    fn of(margins: &[Vec<Sample>], runs: u64) -> Self {
        let limits = margins.len() as u64;
        let (coverage, confidence) = (Gate::USUAL.coverage(), Gate::USUAL.confidence());
        let order = tolerance::joint_order(limits, runs, coverage, confidence);
        let kept = |order| {
            let of_limit = |margins: &Vec<Sample>| margins.iter().all(|all| all.order_statistic(order) >= 0.0);
            margins.iter().all(of_limit)
        };
        Self {
            order,
            runs_needed: tolerance::joint_runs_needed(limits, coverage, confidence),
            met: order.is_some_and(kept),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicBool;

    use breathroom_sim::engine::{Outcome, RuleOutcome, RunError};
    use breathroom_sim::scenario::Luck;

    use super::super::{Simulate, VaryJob, vary};
    use super::*;

    /// Limits that are all beyond in the same fiftieth of the variations.
    struct Alike(usize);

    impl Simulate for Alike {
        type Worker = ();

        fn worker(&self) {}

        fn paths(&self) -> Vec<&str> {
            vec!["a"]
        }

        fn limits(&self) -> usize {
            self.0
        }

        fn run(&self, luck: &dyn Luck, _worker: &mut (), values: &mut [f64]) -> Result<Outcome, RunError> {
            values[0] = luck.uniform(0, 0, 0);
            let rule = RuleOutcome {
                margin: values[0] - 0.02,
                ..RuleOutcome::default()
            };
            Ok(Outcome {
                rules: vec![rule; self.0],
                ..Outcome::default()
            })
        }
    }

    fn joint(limits: usize, runs: u64, design: Design) -> Joint {
        let job = VaryJob {
            runs,
            design,
            ..VaryJob::default()
        };
        let done = vary(&Alike(limits), &job, &|_| {}, &AtomicBool::new(false));
        done.unwrap_or_else(|error| panic!("{error:?}")).joint
    }

    #[test]
    fn beyond_any_is_one_event_however_many_limits_there_are() {
        let (one, forty) = (joint(1, 4000, Design::Plain), joint(40, 4000, Design::Plain));
        assert_eq!((one.violations, one.interval), (forty.violations, forty.interval));
        assert!(one.met && forty.met);
        assert!(one.interval[0] < 0.02 && 0.02 < one.interval[1] && one.interval[1] < 0.03);
        // Of margins taken from the runs more of each must be given away the more of them there are.
        let orders = [&one, &forty].map(|joint| joint.bounds.and_then(|bounds| bounds.order).unwrap_or(0));
        assert_eq!(orders[1], orders[0] / 40);
        assert_eq!(
            [&one, &forty].map(|joint| joint.bounds.map(|bounds| bounds.met)),
            [Some(true), Some(false)]
        );
        let sobol = joint(40, 4000, Design::Sobol);
        assert!(sobol.met && sobol.bounds.is_none());
    }

    #[test]
    fn few_runs_show_nothing() {
        // 58 runs with none beyond: one fewer than shows it.
        let nothing_beyond = |runs| {
            let fold = |joint: Joint| (joint.violations, joint.met);
            fold(joint(0, runs, Design::Plain))
        };
        assert_eq!([58, 59].map(nothing_beyond), [(0, false), (0, true)]);
    }
}
