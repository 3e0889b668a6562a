//! What is told of a measure over variations: its value, how well that is known, and how it differs between two rows.
//!
//! | statistic | value | interval |
//! |---|---|---|
//! | kept | the tolerance bound: what the gate's share keeps at least, with its confidence (`stats::tolerance`) | that of the quantile it bounds |
//! | mean | arithmetic mean | Student's t |
//! | quantile | type 7 | two order statistics (`stats::quantile_interval`) |
//! | beyond | share of margins below 0; of *broken*, share of ones | Clopper and Pearson |
//!
//! Differences: `stats::pairs`; of a kept margin that of the quantile it bounds. Intervals are two-sided, at [`CONFIDENCE`].

use rand::Rng;
use rand_pcg::Pcg64;

use super::super::own_seed;
use crate::stats::pairs::{self, Difference};
use crate::stats::{proportion, quantile_interval, quantiles, student, tolerance};
use crate::study::Gate;

/// Confidence of every interval that is told.
pub const CONFIDENCE: f64 = 0.95;

/// What is told of a measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Statistic {
    /// What is kept at the gate.
    Kept(Gate),
    /// The mean.
    Mean,
    /// A quantile.
    Quantile(f64),
    /// The share of variations beyond the limit: margins below 0.
    Beyond,
    /// The share of variations in which it is so: ones.
    Share,
}

/// A number and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// The number; not finite where failed variations reach it, NaN where there is none.
    pub value: f64,
    /// Its interval, where there is one.
    pub interval: Option<[f64; 2]>,
}

impl Known {
    /// Half the width of the interval; infinite without one.
    #[must_use]
    pub fn half_width(&self) -> f64 {
        self.interval.map_or(f64::INFINITY, |[low, high]| 0.5 * (high - low))
    }
}

impl Statistic {
    /// Of values in the order of variations.
    #[must_use]
    pub fn of(self, values: &[f64]) -> Known {
        match self {
            Self::Kept(gate) => {
                let sorted = sorted(values);
                let bound = tolerance::lower_bound(&sorted, gate.coverage(), gate.confidence());
                Known {
                    value: bound.unwrap_or(f64::NAN),
                    interval: bound.and_then(|_| of_quantile(&sorted, 1.0 - gate.coverage())),
                }
            }
            Self::Mean => mean(values),
            Self::Quantile(p) => {
                let sorted = sorted(values);
                Known {
                    value: quantiles::quantile(&sorted, p),
                    interval: of_quantile(&sorted, p),
                }
            }
            Self::Beyond | Self::Share => {
                let (n, k) = (
                    values.len() as u64,
                    values.iter().filter(|value| self.counts(**value)).count() as u64,
                );
                Known {
                    value: k as f64 / n as f64,
                    interval: Some(proportion::interval(k, n, CONFIDENCE)),
                }
            }
        }
    }

    /// First minus second, of the same variations, at a confidence; `None` where it cannot be known.
    #[must_use]
    pub fn difference(self, (first, second): (&[f64], &[f64]), confidence: f64, seed: u64) -> Option<Difference> {
        let of_quantile = |p: f64| {
            // The same picks for every pair of rows.
            let mut source = Pcg64::new(u128::from(own_seed(seed, "pairs")), 0);
            let mut pick = |n: usize| ((u128::from(source.next_u64()) * n as u128) >> 64) as usize;
            pairs::quantile(first, second, p, confidence, &mut pick)
        };
        match self {
            Self::Kept(gate) => of_quantile(1.0 - gate.coverage()),
            Self::Quantile(p) => of_quantile(p),
            Self::Mean => pairs::mean(first, second, confidence),
            Self::Beyond | Self::Share => {
                let both = first.iter().zip(second);
                pairs::share(both.map(|(x, y)| (self.counts(*x), self.counts(*y))), confidence)
            }
        }
    }

    /// Whether a gate allows a share: of the variations in which something is so (ones), no more than it leaves out, with its confidence.
    #[must_use]
    pub fn allows(gate: Gate, values: &[f64]) -> bool {
        let (n, k) = (
            values.len() as u64,
            values.iter().filter(|value| **value > 0.5).count() as u64,
        );
        proportion::upper(k, n, gate.confidence()) <= 1.0 - gate.coverage()
    }

    fn counts(self, value: f64) -> bool {
        match self {
            Self::Beyond => value < 0.0,
            _ => value > 0.5,
        }
    }
}

/// NaN, of which nothing is known, counts as the lowest.
fn sorted(values: &[f64]) -> Vec<f64> {
    let known = |value: &f64| if value.is_nan() { f64::NEG_INFINITY } else { *value };
    let mut sorted: Vec<f64> = values.iter().map(known).collect();
    quantiles::sort(&mut sorted);
    sorted
}

fn of_quantile(sorted: &[f64], p: f64) -> Option<[f64; 2]> {
    let (low, high) = quantile_interval::ranks(sorted.len() as u64, p, CONFIDENCE)?;
    Some([low, high].map(|rank| sorted[(rank - 1) as usize]))
}

fn mean(values: &[f64]) -> Known {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    let half = student::quantile(0.5 + 0.5 * CONFIDENCE, (values.len() as u64).saturating_sub(1))
        * (squares / (n - 1.0) / n).sqrt();
    Known {
        value: mean,
        interval: half.is_finite().then_some([mean - half, mean + half]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_says_what_its_table_says() {
        let values: Vec<f64> = (0..100).map(|i| f64::from((i * 37) % 100) - 4.0).collect();
        // -4 .. 95: four are below 0.
        let beyond = Statistic::Beyond.of(&values);
        assert_eq!(beyond.value, 0.04);
        assert_eq!(beyond.interval, Some(proportion::interval(4, 100, 0.95)));
        // 100 runs: the 95/95 bound is the second lowest (93 runs are needed for that, 124 for the third).
        let kept = Statistic::Kept(Gate::USUAL).of(&values);
        assert_eq!(kept.value, -3.0);
        // Of the 5 % quantile: P(X < 1) = 0.006 and P(X >= 11) = 0.011 for X binomial (100, 0.05).
        assert_eq!(kept.interval, Some([-4.0, 6.0]));
        let median = Statistic::Quantile(0.5).of(&values);
        assert_eq!(median.value, 45.5);
        assert_eq!(median.interval, Some([35.0, 56.0]));
        // Mean 45.5, s^2 = 100 * 101 / 12, t(99) = 1.984 217.
        let mean = Statistic::Mean.of(&values);
        let half = 1.984_217 * (101.0_f64 / 12.0).sqrt();
        assert!((mean.value - 45.5).abs() < 1e-12 && (mean.half_width() - half).abs() < 1e-5);
        assert_eq!(Statistic::Share.of(&[1.0, 0.0, 0.0, 1.0]).value, 0.5);
    }

    /// 59 runs without are enough for 95/95, 58 are not, and one among 93 is.
    #[test]
    fn a_gate_allows_as_few_as_it_says() {
        let ones = |n: usize, k: usize| -> Vec<f64> { (0..n).map(|i| f64::from(u8::from(i < k))).collect() };
        for (n, k, allowed) in [(59, 0, true), (58, 0, false), (93, 1, true), (92, 1, false)] {
            assert_eq!(Statistic::allows(Gate::USUAL, &ones(n, k)), allowed, "{k} of {n}");
        }
    }

    #[test]
    fn what_failed_is_worst_and_has_no_mean() {
        let mut values = vec![1.0; 70];
        values[5] = f64::NEG_INFINITY;
        assert_eq!(Statistic::Kept(Gate::USUAL).of(&values).value, f64::NEG_INFINITY);
        assert_eq!(Statistic::Mean.of(&values).value, f64::NEG_INFINITY);
        assert_eq!(Statistic::Mean.of(&values).interval, None);
        assert!(Statistic::Kept(Gate::USUAL).of(&values[..20]).value.is_nan());
        values[5] = f64::NAN;
        assert!(Statistic::Mean.of(&values).value.is_nan());
        assert_eq!(Statistic::Beyond.of(&values).value, 0.0);
    }

    #[test]
    fn a_shift_shows_as_itself_whatever_the_scatter() {
        let x: Vec<f64> = (0..400).map(|i| f64::from((i * 193) % 400)).collect();
        let y: Vec<f64> = x.iter().map(|x| x - 0.25).collect();
        for of in [Statistic::Kept(Gate::USUAL), Statistic::Mean, Statistic::Quantile(0.5)] {
            let difference = of.difference((&x, &y), 0.95, 1).expect("enough");
            assert!((difference.value - 0.25).abs() < 1e-12, "{of:?} {difference:?}");
            assert!(difference.is_seen() && difference.interval[1] - difference.interval[0] < 1e-9);
        }
        let again = Statistic::Mean.difference((&x, &x), 0.95, 1).expect("enough");
        assert!(!again.is_seen());
    }
}
