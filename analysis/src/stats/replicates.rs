//! Chances and quantiles from independent replicates of a design of draws (scramblings of a Sobol set, Latin
//! hypercubes).
//!
//! Why not the binomial interval: runs of one design are not independent. Its count mostly varies less than a binomial
//! one, so that Clopper-Pearson claims too little; for an unlucky outcome it varies more. Only the replicates are
//! independent of each other, each with a share of violations whose mean is the chance. So the interval rests on their
//! scatter.
//!
//! Equation, with y_r = k_r / n_r, m their mean, s^2 their variance, R replicates, K of N runs in all, one-sided error
//! a. An end is the farthest of up to four (given for the upper; the lower mirrors it):
//! (1) Batch means: m + t(R - 1, 1 - a) s / sqrt R.
//! (2) If K or N - K is below [`FEW`]: Clopper-Pearson of K / d in N / d, rounded outwards, with the design effect
//! d = max(1, (s^2 / R) / (m (1 - m) / N)). So few violations scatter too little to prove that a design gains, but may
//! show that it loses.
//! (3) If the replicates' counts differ by 1 at most: (c + b) / n, c the smallest count, b the Clopper-Pearson end of
//! the replicates above c among R: stratified counts differ by rounding alone, and how one rounds is one trial.
//! (4) If K = 0: o / (1 + o), o = (a^(-1/R) - 1) / (n - 1): the chance that a replicate sees nothing is at most
//! V / (V + p^2) (Cantelli), with V = p (1 - p) / (n - 1).
//! Symbols: k_r violations in n_r runs of replicate r; shares and chances without unit.
//! Source: batch means: Law, Simulation Modeling and Analysis, 5th ed. 2015, section 9.5; for quasi-random sets: Owen,
//! in Monte Carlo and Quasi-Monte Carlo Methods 1994, 299-317. (2): Korn and Graubard, Survey Methodology 24 (1998)
//! 193-201, with an effective size of N at most and without their t factor. V: Owen, SIAM J. Numer. Anal. 34 (1997)
//! 1884-1910, for Latin hypercubes. (3): own. (All from memory.)
//! Valid for 2 replicates or more, tested for 16. An assumption for Sobol sets: seeing nothing is not likelier than for
//! a Latin hypercube. Theory bounds their loss by a power of two only; once there are violations, (1) and (2) show it.
//! Free of that assumption a chance with K = 0 is below 1 - a^(1/R) only: 0.206 with R = 16, whatever n. Not used:
//! one violation seen would then narrow the interval forty times.
//! Measured for R = 16, n = 64, p 0.0005 to 0.31, 4,000 repetitions of 0.95: plain, stratified in 1 and 2 dimensions,
//! Latin hypercubes in 2 and 3: from 0.939 (plain, p = 0.1) up, mostly 0.945 to 0.96, 0.97 and more below 32
//! violations. The upper end is missed more often than the lower, since s goes with m: the one-sided upper bound at
//! 0.95 covers 0.929 with 51 violations expected, 0.936 with 72, 0.942 with 102, 0.944 with 410, 0.95 with 2,500
//! (plain, 8,000 repetitions); the tolerance bound rests on it. If violations come in fours (so bad a design) the
//! interval covers 0.71 with 5 expected, 0.92 with 10, 0.97 and more with 15 to 50, 0.937 and more beyond.
//! Left out: replicates of very different size (m weighs each alike).

use super::quantile_bisection::{first, last};
use super::sample::Sample;
use super::{proportion, quantiles, student};

/// Below so many violations, or runs without, their scatter alone is no ground for an interval. At 16 a chance of 0.015
/// in strata of one dimension was covered in 48 % only, at 32 in all.
pub const FEW: u64 = 32;

/// Two-sided interval of the chance, from each replicate's violations and runs. `[0, 1]` with fewer than two
/// replicates, one of them without runs, or a confidence outside (0, 1).
#[must_use]
pub fn interval(counts: &[(u64, u64)], confidence: f64) -> [f64; 2] {
    let ends = Ends::new(counts.len(), of_each_side(confidence));
    [ends.lower(counts), ends.upper(counts)]
}

/// One-sided upper bound of the chance; 1 where [`interval`] gives nothing.
#[must_use]
pub fn upper(counts: &[(u64, u64)], confidence: f64) -> f64 {
    Ends::new(counts.len(), confidence).upper(counts)
}

/// Interval of a quantile by inverting [`interval`] over the pooled values: from the largest value below which the
/// chance is at most `p` to the smallest up to which it is at least `p`, as far as the counts can tell. `None` if
/// either end is beyond all values. Approximate as the interval is; values of sketches carry their relative error.
#[must_use]
pub fn quantile_interval(samples: &[Sample], p: f64, confidence: f64) -> Option<[f64; 2]> {
    let ends = Ends::new(samples.len(), of_each_side(confidence));
    let low = low_end(samples, p, &ends)?;
    let counts = |x: f64| count(samples, |sample| sample.up_to(x));
    let high = first(counts, |counts| ends.lower(counts) >= p)?;
    Some([low, read_up_to(samples, high)])
}

/// The quantile of all values together, as [`Sample::quantile`] gives it of one; NaN without values or if `p` is not in
/// [0, 1].
#[must_use]
pub fn quantile(samples: &[Sample], p: f64) -> f64 {
    let runs = samples.iter().map(Sample::len).sum();
    quantiles::of_ranks(runs, p, |rank| {
        let up_to = |x: f64| samples.iter().map(|sample| sample.up_to(x)).sum::<u64>();
        first(up_to, |&count| count >= rank).map_or(f64::NAN, |x| read_up_to(samples, x))
    })
}

/// The largest value not above `x`, as the samples read it; `f64::max` passes over those that have none.
fn read_up_to(samples: &[Sample], x: f64) -> f64 {
    let read = |sample: &Sample| sample.order_statistic(sample.up_to(x));
    samples.iter().map(read).fold(f64::NEG_INFINITY, f64::max)
}

/// Lower tolerance bound: the largest value below which the share of all runs is at most 1 - `coverage`, by the
/// one-sided upper bound at `confidence`. `None` if there are too few runs. Approximate, where Wilks' bound for
/// independent runs is exact.
#[must_use]
pub fn lower_bound(samples: &[Sample], coverage: f64, confidence: f64) -> Option<f64> {
    low_end(samples, 1.0 - coverage, &Ends::new(samples.len(), confidence))
}

fn low_end(samples: &[Sample], p: f64, ends: &Ends) -> Option<f64> {
    if !(p > 0.0 && p < 1.0) {
        return None;
    }
    let counts = |x: f64| count(samples, |sample| sample.below(x));
    let low = last(counts, |counts| ends.upper(counts) <= p)?;
    // The bisection ends on a value, or in the bin of one: read it as the samples do.
    let read = |sample: &Sample| sample.order_statistic(sample.below(low) + 1);
    Some(samples.iter().map(read).fold(f64::INFINITY, f64::min))
}

fn count(samples: &[Sample], of: impl Fn(&Sample) -> u64) -> Vec<(u64, u64)> {
    samples.iter().map(|sample| (of(sample), sample.len())).collect()
}

/// The one-sided confidence of each end of a two-sided interval; NaN for none.
fn of_each_side(confidence: f64) -> f64 {
    if confidence > 0.0 {
        0.5 + 0.5 * confidence
    } else {
        f64::NAN
    }
}

/// What the ends of one confidence share.
struct Ends {
    /// One-sided; NaN if it is none.
    confidence: f64,
    t: f64,
}

impl Ends {
    fn new(replicates: usize, confidence: f64) -> Self {
        let is_share = confidence > 0.0 && confidence < 1.0;
        Self {
            confidence: if is_share { confidence } else { f64::NAN },
            t: student::quantile(confidence, (replicates as u64).saturating_sub(1)),
        }
    }

    fn lower(&self, counts: &[(u64, u64)]) -> f64 {
        let mirrored: Vec<_> = counts
            .iter()
            .map(|&(k, n)| (n.checked_sub(k).unwrap_or(u64::MAX), n))
            .collect();
        1.0 - self.upper(&mirrored)
    }

    fn upper(&self, counts: &[(u64, u64)]) -> f64 {
        let bad = |&(k, n): &(u64, u64)| n == 0 || k > n;
        if counts.len() < 2 || counts.iter().any(bad) || self.confidence.is_nan() {
            return 1.0;
        }
        let replicates = counts.len() as f64;
        let share = |&(k, n): &(u64, u64)| k as f64 / n as f64;
        let mean = counts.iter().map(share).sum::<f64>() / replicates;
        let square = |count| (share(count) - mean) * (share(count) - mean);
        // Of the mean.
        let variance = counts.iter().map(square).sum::<f64>() / (replicates - 1.0) / replicates;
        let mut end = mean + self.t * variance.sqrt();
        let (violations, runs) = counts.iter().fold((0, 0), |(k, n), count| (k + count.0, n + count.1));
        if violations.min(runs - violations) < FEW {
            end = end.max(self.of_few(violations, runs, variance));
        }
        end = end.max(self.of_alike(counts));
        if violations == 0 {
            end = end.max(self.of_none(counts));
        }
        end.min(1.0)
    }

    fn of_few(&self, violations: u64, runs: u64, variance: f64) -> f64 {
        let mean = violations as f64 / runs as f64;
        let plain = mean * (1.0 - mean) / runs as f64;
        let effect = if plain > 0.0 { (variance / plain).max(1.0) } else { 1.0 };
        let runs = (runs as f64 / effect) as u64;
        let violations = (violations as f64 / effect).ceil() as u64;
        proportion::upper(violations.min(runs), runs, self.confidence)
    }

    /// 0 if the counts are not alike.
    fn of_alike(&self, counts: &[(u64, u64)]) -> f64 {
        let least = counts.iter().map(|count| count.0).min().unwrap_or(0);
        let runs = counts[0].1;
        if counts.iter().any(|&(k, n)| n != runs || k > least + 1) {
            return 0.0;
        }
        let above = counts.iter().filter(|count| count.0 > least).count() as u64;
        (least as f64 + proportion::upper(above, counts.len() as u64, self.confidence)) / runs as f64
    }

    /// Without violations; replicates of one run each are plain, and need no more than the others give.
    fn of_none(&self, counts: &[(u64, u64)]) -> f64 {
        let runs = counts.iter().map(|count| count.1).min().unwrap_or(0);
        if runs < 2 {
            return 0.0;
        }
        let odds = (libm::pow(1.0 - self.confidence, -1.0 / counts.len() as f64) - 1.0) / (runs - 1) as f64;
        odds / (1.0 + odds)
    }
}

#[cfg(test)]
#[path = "replicates_tests.rs"]
mod tests;
