//! The scenario's own faults alone, and in pairs: which limits each breaks, and how near it comes to them.

use breathroom_sim::engine::{Case, End, Outcome, RunError};
use breathroom_sim::scenario::LimitInfo;
use breathroom_sim::units::Time;

use super::bench::Unharmed;
use super::spread::{self, QUANTILES, Share};
use crate::stats::quantiles;
use crate::study::Gate;

/// How one run with some of the faults went, beside the run without any.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fared {
    /// Rules that it broke.
    pub broken: Vec<usize>,
    /// The least margin as a fraction of its limit, and the rule; none where no fraction means anything.
    pub least: Option<(f64, usize)>,
    /// It could not be lived through.
    pub not_survivable: bool,
    /// Not all of its faults began in this run.
    pub did_not_begin: bool,
    /// It could not be finished.
    pub failed: Option<RunError>,
}

/// Some of the faults, over all runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Their indices; empty: none goes wrong.
    pub faults: Vec<usize>,
    /// On the medians.
    pub medians: Fared,
    /// Over the variations, if there are any.
    pub runs: Option<Over>,
}

impl Row {
    /// Whether no limit is broken on the medians and, if there are variations, in few enough of them for the gate: medians alone
    /// would flatter.
    #[must_use]
    pub fn is_tolerated(&self, gate: Gate) -> bool {
        let kept = |over: &Over| spread::allows(gate, over.broken.count, over.runs);
        !self.medians.is_bad() && self.runs.as_ref().is_none_or(kept)
    }
}

/// Over variations.
#[derive(Clone, Debug, PartialEq)]
pub struct Over {
    /// Variations.
    pub runs: u64,
    /// Those in which a limit is broken, or that could not be lived through or finished.
    pub broken: Share,
    /// Those in which not all of the faults began.
    pub did_not_begin: u64,
    /// Those that could not be finished.
    pub failed: u64,
    /// Quantiles of the least margin as a fraction; NaN where there is none.
    pub least: [f64; QUANTILES.len()],
}

impl Fared {
    /// Of an outcome in which these faults were to begin. Beside the run `without` any, only what is not broken there counts, or what is
    /// crossed sooner.
    #[must_use]
    pub fn of(
        limits: &[LimitInfo],
        case: &Case,
        outcome: &Outcome,
        faults: &[usize],
        without: Option<&Unharmed>,
    ) -> Self {
        let ended = || outcome.end != End::Completed;
        let mut fared = Self {
            not_survivable: without.map_or_else(ended, |of| of.usual.with.not_survivable(outcome, Time::ZERO).came()),
            did_not_begin: faults
                .iter()
                .any(|fault| outcome.faults.get(*fault).is_none_or(|of| of.began.is_none())),
            ..Self::default()
        };
        let rules = case.rules.iter().zip(&outcome.rules).zip(limits);
        for (index, ((rule, judged), info)) in rules.enumerate() {
            let counts = without.is_none_or(|of| {
                !of.fared.broken.contains(&index) || of.usual.with.rule(outcome, index, Time::ZERO).came()
            });
            if !counts {
                continue;
            }
            if judged.margin < 0.0 {
                fared.broken.push(index);
            }
            let fraction = judged.margin / rule.limit;
            let means = info.fraction_means_something && fraction.is_finite();
            if means && fared.least.is_none_or(|(least, _)| fraction < least) {
                fared.least = Some((fraction, index));
            }
        }
        fared
    }

    /// Whether a limit was broken, or worse.
    #[must_use]
    pub fn is_bad(&self) -> bool {
        !self.broken.is_empty() || self.not_survivable || self.failed.is_some()
    }

    /// By what rows are ordered: what is worse is less.
    #[must_use]
    pub fn worth(&self) -> f64 {
        let least = self.least.map_or(f64::INFINITY, |(least, _)| least);
        if self.not_survivable || self.failed.is_some() {
            f64::NEG_INFINITY
        } else if !self.broken.is_empty() {
            // A broken limit of which no fraction is told is no better than one just broken.
            least.min(-0.0)
        } else {
            least
        }
    }
}

impl Over {
    /// Of what each variation gave: bad or not, begun or not, failed or not, its least margin.
    #[must_use]
    pub fn of(runs: &[Brief]) -> Self {
        let count = |of: fn(&Brief) -> bool| runs.iter().filter(|run| of(run)).count() as u64;
        let mut least: Vec<f64> = runs.iter().map(|run| run.least).collect();
        quantiles::sort(&mut least);
        Self {
            runs: runs.len() as u64,
            broken: Share::of(count(|run| run.bad), runs.len() as u64),
            did_not_begin: count(|run| run.did_not_begin),
            failed: count(|run| run.failed),
            least: QUANTILES.map(|p| quantiles::quantile(&least, p)),
        }
    }
}

/// What is kept of one variation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Brief {
    bad: bool,
    did_not_begin: bool,
    failed: bool,
    /// Minus infinity if it could not be lived through or finished, plus infinity where no fraction means anything.
    least: f64,
}

impl Brief {
    /// Of a variation that cannot be finished.
    pub const FAILED: Self = Self {
        bad: true,
        did_not_begin: false,
        failed: true,
        least: f64::NEG_INFINITY,
    };
}

impl From<&Fared> for Brief {
    fn from(fared: &Fared) -> Self {
        Self {
            bad: fared.is_bad(),
            did_not_begin: fared.did_not_begin,
            failed: fared.failed.is_some(),
            least: if fared.not_survivable || fared.failed.is_some() {
                f64::NEG_INFINITY
            } else {
                fared.least.map_or(f64::INFINITY, |(least, _)| least)
            },
        }
    }
}

/// No fault, each fault alone, and each pair if wanted.
#[must_use]
pub fn sets(faults: usize, pairs: bool) -> Vec<Vec<usize>> {
    let mut sets = vec![Vec::new()];
    sets.extend((0..faults).map(|fault| vec![fault]));
    if pairs {
        sets.extend((0..faults).flat_map(|a| (a + 1..faults).map(move |b| vec![a, b])));
    }
    sets
}

/// Orders rows by what is worst: over the variations by their low quantile, else on the medians. The one without a fault stays first.
pub fn rank(rows: &mut [Row]) {
    let worth = |row: &Row| {
        let low = row.runs.as_ref().map_or(f64::INFINITY, |over| over.least[1]);
        let low = if low.is_nan() { f64::INFINITY } else { low };
        [row.medians.worth().min(low), row.medians.worth()]
    };
    let of_faults = rows.iter().position(|row| !row.faults.is_empty()).unwrap_or(rows.len());
    rows[of_faults..].sort_by(|a, b| {
        let (a, b) = (worth(a), worth(b));
        a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
    });
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::{FaultOutcome, RuleOutcome};
    use breathroom_sim::limits::{Bound, Quantity, Rule, Statistic, Subject};
    use breathroom_sim::units::Dimension;

    use super::*;
    use crate::study::stress::look::Look;
    use crate::study::stress::usual::{Crossings, Usual};

    fn info(means: bool) -> LimitInfo {
        LimitInfo {
            id: "x".to_owned(),
            subject: "cabin".to_owned(),
            unit: Dimension::Pressure.si_unit(),
            words: String::new(),
            source: String::new(),
            from_memory: false,
            fraction_means_something: means,
            set: None,
        }
    }

    fn fared(margins: [f64; 3]) -> Fared {
        beside(margins, None)
    }

    /// Beside a run without any fault; what is broken is crossed after 100 s.
    fn beside(margins: [f64; 3], without: Option<&Unharmed>) -> Fared {
        let limits = [true, true, false].map(info);
        let rule = Rule {
            quantity: Quantity::Co2,
            subject: Subject::Compartment(0),
            statistic: Statistic::Instant,
            bound: Bound::AtMost,
            limit: 400.0,
        };
        let case = Case {
            rules: vec![rule; 3],
            ..Case::default()
        };
        let outcome = Outcome {
            rules: margins
                .map(|margin| RuleOutcome {
                    margin,
                    first_crossing: (margin < 0.0).then_some(Time(100_000_000_000)),
                    ..RuleOutcome::default()
                })
                .to_vec(),
            faults: vec![
                FaultOutcome {
                    began: Some(Time(1)),
                    ..FaultOutcome::default()
                },
                FaultOutcome::default(),
            ],
            ..Outcome::default()
        };
        Fared::of(&limits, &case, &outcome, &[0], without)
    }

    #[test]
    fn the_least_margin_is_a_fraction_and_broken_is_below_zero() {
        let good = fared([100.0, 40.0, 3.0]);
        assert_eq!(
            (good.least, good.is_bad(), good.did_not_begin),
            (Some((0.1, 1)), false, false)
        );
        let broken = fared([100.0, -40.0, f64::NAN]);
        assert_eq!((broken.least, broken.broken.as_slice()), (Some((-0.1, 1)), &[1][..]));
        // Only a temperature is broken: worse than anything that is met.
        let warm = fared([100.0, 40.0, -1.0]);
        assert!(warm.is_bad() && warm.worth() < 0.05 && warm.worth() > broken.worth());
    }

    #[test]
    fn what_is_broken_without_any_fault_counts_only_if_it_is_crossed_sooner() {
        let without = |seconds: i64| Unharmed {
            usual: Usual {
                with: Crossings {
                    rules: vec![Some(Time(seconds * 1_000_000_000)), None, None],
                    end: None,
                },
                ..Usual::default()
            },
            look: Look::default(),
            fared: fared([-80.0, 40.0, 3.0]),
        };
        let same = beside([-80.0, 40.0, 3.0], Some(&without(100)));
        assert_eq!((same.is_bad(), same.least), (false, Some((0.1, 1))));
        let sooner = beside([-80.0, 40.0, 3.0], Some(&without(200)));
        assert_eq!((sooner.broken.as_slice(), sooner.least), (&[0][..], Some((-0.2, 0))));
        let another = beside([-80.0, -4.0, 3.0], Some(&without(100)));
        assert_eq!(another.broken, [1]);
    }

    #[test]
    fn sets_are_none_each_and_pairs() {
        let none: Vec<usize> = Vec::new();
        assert_eq!(sets(0, true), std::slice::from_ref(&none));
        assert_eq!(sets(2, false), [none, vec![0], vec![1]]);
        assert_eq!(sets(3, true)[4..], [vec![0, 1], vec![0, 2], vec![1, 2]]);
    }

    #[test]
    fn the_worst_comes_first_after_the_one_without_a_fault() {
        let row = |faults: &[usize], margins| Row {
            faults: faults.to_vec(),
            medians: fared(margins),
            runs: None,
        };
        let mut rows = [
            row(&[], [-100.0, 1.0, 1.0]),
            row(&[0], [80.0, 90.0, 1.0]),
            row(&[1], [20.0, 90.0, 1.0]),
        ];
        rank(&mut rows);
        let order: Vec<&[usize]> = rows.iter().map(|row| row.faults.as_slice()).collect();
        assert_eq!(order, [&[][..], &[1], &[0]]);
    }

    #[test]
    fn failures_count_as_broken_and_as_the_worst() {
        let failed = Fared {
            failed: Some(RunError::Invalid("x")),
            ..Fared::default()
        };
        let over = Over::of(&[Brief::from(&failed), Brief::from(&fared([40.0, 80.0, 1.0]))]);
        assert_eq!((over.broken.count, over.failed), (1, 1));
        assert_eq!([over.least[0], over.least[3]], [f64::NEG_INFINITY; 2]);
    }

    /// 59 variations without a broken limit show 95 % with 95 % confidence (Wilks 1941); one in 59 does not, and medians do not say it.
    #[test]
    fn what_medians_keep_and_variations_break_is_not_tolerated() {
        let row = |count: u64, runs: u64| Row {
            faults: vec![0],
            medians: Fared::default(),
            runs: Some(Over {
                runs,
                broken: Share::of(count, runs),
                did_not_begin: 0,
                failed: 0,
                least: [0.1; QUANTILES.len()],
            }),
        };
        assert!(row(0, 59).is_tolerated(Gate::USUAL));
        assert!(!row(1, 59).is_tolerated(Gate::USUAL));
        assert!(!row(0, 58).is_tolerated(Gate::USUAL));
        assert!(row(79, 2000).is_tolerated(Gate::USUAL));
        assert!(!row(436, 2000).is_tolerated(Gate::USUAL));
        let broken = Fared {
            broken: vec![0],
            ..Fared::default()
        };
        let on_medians = |medians| Row {
            medians,
            runs: None,
            ..row(0, 59)
        };
        assert!(on_medians(Fared::default()).is_tolerated(Gate::USUAL));
        assert!(!on_medians(broken).is_tolerated(Gate::USUAL));
    }
}
