//! The figures of a limit against the number of runs: whether they have settled.
//!
//! Equation: rows at 16, 32 .. 1,024 runs, from then on at 1, 2, 3, 4, 6, 8, 12, 16 .. times 1,024, and at the last
//! run: 26 rows for a million. Each is what a job of so many runs would have said.
//! Symbols: runs; chances without unit; margins in the limit's unit.
//! Source: see `proportion`, `replicates` and `quantiles`.
//! Valid as those are. The intervals of different rows share their runs and are not to be stopped on: see `looks`.
//! Left out: a judgement; the reader sees whether the interval shrinks about one value.

use super::sample::Sample;
use super::{proportion, replicates};

/// The probability of the quantile that is followed: the low end of the margin.
pub const FOLLOWED_QUANTILE: f64 = 0.05;

/// Numbers of runs at which to keep the figures, upwards; the last is `runs` itself.
#[must_use]
pub fn checkpoints(runs: u64) -> Vec<u64> {
    let mut checkpoints = Vec::new();
    let mut power = 16_u64;
    while power < runs {
        checkpoints.push(power);
        let half_more = power.saturating_add(power / 2);
        if power >= 2_048 && half_more < runs {
            checkpoints.push(half_more);
        }
        match power.checked_mul(2) {
            Some(next) => power = next,
            None => break,
        }
    }
    if runs > 0 {
        checkpoints.push(runs);
    }
    checkpoints
}

/// The figures after so many runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Runs so far.
    pub runs: u64,
    /// Those with a margin below zero, failed ones among them.
    pub violations: u64,
    /// Violations over runs.
    pub probability: f64,
    /// Its two-sided interval.
    pub interval: [f64; 2],
    /// The margin's quantile at [`FOLLOWED_QUANTILE`], of all runs together.
    pub low_margin: f64,
}

impl Row {
    /// Of independent runs.
    #[must_use]
    pub fn plain(margins: &Sample, confidence: f64) -> Self {
        let (violations, runs) = (margins.below(0.0), margins.len());
        Self {
            runs,
            violations,
            probability: violations as f64 / runs as f64,
            interval: proportion::interval(violations, runs, confidence),
            low_margin: margins.quantile(FOLLOWED_QUANTILE),
        }
    }

    /// Of replicates of a design, each with its runs so far.
    #[must_use]
    pub fn replicates(margins: &[Sample], confidence: f64) -> Self {
        let counts: Vec<(u64, u64)> = margins.iter().map(|sample| (sample.below(0.0), sample.len())).collect();
        let (violations, runs) = counts.iter().fold((0, 0), |(k, n), count| (k + count.0, n + count.1));
        Self {
            runs,
            violations,
            probability: violations as f64 / runs as f64,
            interval: replicates::interval(&counts, confidence),
            low_margin: replicates::quantile(margins, FOLLOWED_QUANTILE),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn checkpoints_are_few_and_rise() {
        assert_eq!(checkpoints(0), [0; 0]);
        assert_eq!(checkpoints(10), [10]);
        assert_eq!(checkpoints(59), [16, 32, 59]);
        let rows = [
            16, 32, 64, 128, 256, 512, 1_024, 2_048, 3_072, 4_096, 6_144, 8_192, 10_000,
        ];
        assert_eq!(checkpoints(10_000), rows);
        assert_eq!(checkpoints(1_000_000).len(), 26);
        for runs in [16, 17, 1_024, 3_072, 5_000, 1_000_000, u64::MAX] {
            let checkpoints = checkpoints(runs);
            assert!(checkpoints.windows(2).all(|pair| pair[0] < pair[1]), "{runs}");
            assert_eq!(checkpoints.last(), Some(&runs));
            assert!(
                checkpoints.iter().rev().skip(1).all(|&n| n < 1_024 || n % 1_024 == 0),
                "{runs}"
            );
        }
    }

    #[test]
    fn rows_say_what_a_job_of_so_many_runs_would() {
        let margins: Vec<f64> = (0..100).map(|i| f64::from(i) - 7.0).collect();
        let row = Row::plain(&Sample::exact(margins.clone()), 0.95);
        assert_eq!((row.runs, row.violations, row.probability), (100, 7, 0.07));
        assert_eq!(row.interval, proportion::interval(7, 100, 0.95));
        assert!((row.low_margin + 2.05).abs() < 1e-12);
        let halves = [0, 1].map(|half| Sample::exact(margins.iter().skip(half).step_by(2).copied().collect()));
        let row = Row::replicates(&halves, 0.95);
        assert_eq!((row.runs, row.violations, row.probability), (100, 7, 0.07));
        assert_eq!(row.interval, replicates::interval(&[(4, 50), (3, 50)], 0.95));
        assert!((row.low_margin + 2.05).abs() < 1e-12);
    }
}
