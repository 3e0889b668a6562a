//! How margins of time lie over the variations, some of them only known to be more than a value.
//!
//! Each censored value counts as the least that it can be, so a quantile is a lower bound of the true one; it is marked where a value at or
//! below it is censored, and exact elsewhere. Quantiles are of Hyndman and Fan's type 7, shares have the interval of Clopper and Pearson, the
//! one-sided bound is Wilks' (see [`crate::stats`]). A run that failed, or was not in time, is minus infinity.

use crate::stats::{proportion, quantiles, tolerance};
use crate::study::Gate;

use super::times::Censored;

/// Probabilities at which quantiles are given.
pub const QUANTILES: [f64; 4] = [0.01, 0.05, 0.5, 0.95];

/// Confidence of the intervals.
const CONFIDENCE: f64 = 0.95;

/// Margins of many variations.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Variations.
    pub runs: u64,
    /// Quantiles at [`QUANTILES`].
    pub quantiles: [Censored; QUANTILES.len()],
    /// Margins not below zero.
    pub in_time: Share,
    /// 95 % of all variations have at least this, with 95 % confidence; none with fewer than 59.
    pub bound_95_95: Option<Censored>,
    /// The same at the gate that was asked for.
    pub gate_bound: Option<Censored>,
}

/// So many of the variations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// How many.
    pub count: u64,
    /// Their share.
    pub share: f64,
    /// Its two-sided interval at 95 %.
    pub interval_95: [f64; 2],
}

impl Share {
    /// So many of `runs`.
    #[must_use]
    pub fn of(count: u64, runs: u64) -> Self {
        Self {
            count,
            share: count as f64 / runs as f64,
            interval_95: proportion::interval(count, runs, CONFIDENCE),
        }
    }
}

impl Spread {
    /// Of margins in any order.
    #[must_use]
    pub fn of(mut margins: Vec<Censored>, gate: Gate) -> Self {
        margins.sort_unstable_by(|a, b| a.order(*b));
        let seconds: Vec<f64> = margins.iter().map(|margin| margin.seconds).collect();
        let marked = |seconds: f64| Censored {
            seconds,
            more: margins.iter().any(|margin| margin.more && margin.seconds <= seconds),
        };
        let bound = |gate: Gate| tolerance::lower_bound(&seconds, gate.coverage(), gate.confidence()).map(marked);
        let in_time = margins.iter().filter(|margin| margin.in_time()).count();
        Self {
            runs: margins.len() as u64,
            quantiles: QUANTILES.map(|p| marked(quantiles::quantile(&seconds, p))),
            in_time: Share::of(in_time as u64, margins.len() as u64),
            bound_95_95: bound(Gate::USUAL),
            gate_bound: bound(gate),
        }
    }
}

/// Whether so few of `runs` are bad that a gate is passed.
#[must_use]
pub fn allows(gate: Gate, bad: u64, runs: u64) -> bool {
    tolerance::order(runs, gate.coverage(), gate.confidence()).is_some_and(|order| bad < order)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn margins(values: &[(f64, bool)]) -> Vec<Censored> {
        values
            .iter()
            .map(|&(seconds, more)| Censored { seconds, more })
            .collect()
    }

    /// Type 7 of 0, 1 .. 100: the quantile p is 100 p.
    #[test]
    fn quantiles_are_type_7_and_say_where_they_are_only_bounds() {
        // From 60 on censored, in any order.
        let values: Vec<(f64, bool)> = (0..=100).rev().map(|i| (f64::from(i), i >= 60)).collect();
        let spread = Spread::of(margins(&values), Gate::USUAL);
        let expected = [(1.0, false), (5.0, false), (50.0, false), (95.0, true)];
        for (found, (seconds, more)) in spread.quantiles.into_iter().zip(expected) {
            assert!(
                (found.seconds - seconds).abs() < 1e-9 && found.more == more,
                "{found:?}"
            );
        }
        // Wilks: of 101 runs the second lowest (93 are enough for it, 124 for the third).
        assert_eq!(
            spread.bound_95_95,
            Some(Censored {
                seconds: 1.0,
                more: false
            })
        );
    }

    #[test]
    fn who_is_not_in_time_is_counted_and_pulls_down() {
        let mut values = vec![(f64::NEG_INFINITY, false); 3];
        values.extend([(-1.0, false); 2]);
        values.extend([(0.0, false), (10.0, true)]);
        values.extend([(5.0, false); 53]);
        let spread = Spread::of(margins(&values), Gate::USUAL);
        assert_eq!((spread.runs, spread.in_time.count), (60, 55));
        // Clopper and Pearson for 5 of 60 the other way round: 0.0276 to 0.1839 (handbooks; from memory).
        let [low, high] = spread.in_time.interval_95;
        assert!(
            (low - 0.8161).abs() < 5e-4 && (high - 0.9724).abs() < 5e-4,
            "{low} {high}"
        );
        assert_eq!(spread.quantiles[0].seconds, f64::NEG_INFINITY);
        assert_eq!(spread.bound_95_95.map(|bound| bound.seconds), Some(f64::NEG_INFINITY));
        assert!(allows(Gate::USUAL, 0, 59) && !allows(Gate::USUAL, 1, 59) && !allows(Gate::USUAL, 0, 58));
    }

    #[test]
    fn few_runs_have_no_bound() {
        let spread = Spread::of(margins(&[(1.0, false); 58]), Gate::USUAL);
        assert_eq!((spread.bound_95_95, spread.gate_bound), (None, None));
    }
}
