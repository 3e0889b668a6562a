//! When to stop: looks at a study while it grows, fixed beforehand, and what each may claim.
//!
//! Equation: looks at 1,024 c runs with c = 1, 2, 3, 5, 8, 12 .. (each ceil(3/2) of the last), the last look at the
//! cap. With J looks each interval has the confidence 1 - a / J: all J cover at once with the confidence 1 - a at least
//! (Bonferroni), so the one that is stopped at does too, however it was chosen.
//! Symbols: runs; a = 1 - confidence; no units.
//! Source: the union bound; why uncorrected looks undercover: Armitage, McPherson and Rowe, J. R. Statist. Soc. A 132
//! (1969) 235-244.
//! Valid whatever the interval and however looks depend on each other, if each interval covers as stated. Equal parts:
//! nobody knows beforehand at which look a job will stop.
//! Price: J = 17 up to a million runs, so 2.98 standard deviations in place of 1.96: 2.3 times the runs of a job whose
//! number of runs was known beforehand, and at most half as many again up to the next look.
//! Left out: spending that reckons with the correlation of looks.

/// Runs between which a study may stop: the block in which sums are folded.
pub const BLOCK: u64 = 1_024;

/// The looks of one job.
#[derive(Clone, Debug, PartialEq)]
pub struct Looks {
    counts: Vec<u64>,
    confidence: f64,
}

impl Looks {
    /// Looks up to `cap` runs that together have the confidence `confidence`. None for a cap of 0.
    #[must_use]
    pub fn new(cap: u64, confidence: f64) -> Self {
        let mut counts = Vec::new();
        let mut blocks = 1_u64;
        while blocks.saturating_mul(BLOCK) < cap {
            counts.push(blocks * BLOCK);
            blocks += blocks.div_ceil(2);
        }
        if cap > 0 {
            counts.push(cap);
        }
        Self { counts, confidence }
    }

    /// Numbers of runs at which to look, upwards; the last is the cap.
    #[must_use]
    pub fn counts(&self) -> &[u64] {
        &self.counts
    }

    /// The confidence of each interval at the look `look` (from 0).
    #[must_use]
    pub fn confidence_at(&self, look: usize) -> f64 {
        debug_assert!(look < self.counts.len(), "there are {} looks", self.counts.len());
        1.0 - (1.0 - self.confidence) / self.counts.len() as f64
    }
}

/// Whether a study may stop: half of every interval is at most `within`.
#[must_use]
pub fn is_reached(intervals: &[[f64; 2]], within: f64) -> bool {
    intervals.iter().all(|[low, high]| 0.5 * (high - low) <= within)
}

#[cfg(test)]
mod tests {
    use super::super::coverage_tests::{Draws, assert_covers_at_least, share};
    use super::super::proportion;
    use super::*;

    #[test]
    fn looks_are_fixed_and_spend_no_more_than_there_is() {
        let looks = Looks::new(20_000, 0.95);
        assert_eq!(
            looks.counts(),
            [1_024, 2_048, 3_072, 5_120, 8_192, 12_288, 18_432, 20_000]
        );
        assert_eq!(Looks::new(1_000_000, 0.95).counts().len(), 17);
        for cap in [1, 1_000, 1_024, 1_025, 2_048, 999_999, u64::MAX] {
            let looks = Looks::new(cap, 0.9);
            let counts = looks.counts();
            assert_eq!(counts.last(), Some(&cap));
            assert!(counts.windows(2).all(|pair| pair[0] < pair[1] && pair[0] % BLOCK == 0));
            let spent: f64 = (0..counts.len()).map(|look| 1.0 - looks.confidence_at(look)).sum();
            assert!((spent - 0.1).abs() < 1e-12, "{cap}: {spent}");
        }
        assert!((Looks::new(1_000, 0.95).confidence_at(0) - 0.95).abs() < 1e-15);
        assert!(Looks::new(0, 0.95).counts().is_empty());
    }

    #[test]
    fn every_interval_must_be_narrow() {
        assert!(is_reached(&[[0.1, 0.13], [0.0, 0.04]], 0.02));
        assert!(!is_reached(&[[0.1, 0.13], [0.0, 0.05]], 0.02));
        assert!(!is_reached(&[[f64::NAN, 0.1]], 0.02));
    }

    /// Stopping on the first narrow interval covers at least as stated, less 4 standard deviations; and it does stop at
    /// several looks.
    #[test]
    fn stopping_covers() {
        let draws = Draws::new("looks");
        for (p, within) in [(0.02, 0.0115), (0.3, 0.0363)] {
            let looks = Looks::new(4_000, 0.95);
            let mut stops = vec![0; looks.counts().len()];
            let covered = share(|repetition| {
                let (mut runs, mut violations) = (0, 0);
                for (look, &count) in looks.counts().iter().enumerate() {
                    violations += (runs..count).filter(|&i| draws.uniform(repetition, 0, i) < p).count() as u64;
                    runs = count;
                    let [low, high] = proportion::interval(violations, runs, looks.confidence_at(look));
                    if is_reached(&[[low, high]], within) || runs == 4_000 {
                        stops[look] += 1;
                        return low <= p && p <= high;
                    }
                }
                unreachable!("the last look is the cap")
            });
            assert_covers_at_least(covered, 0.95, &format!("{p}"));
            assert!(stops.iter().filter(|&&stops| stops > 20).count() >= 2, "{stops:?}");
        }
    }
}
