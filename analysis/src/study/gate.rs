//! What is asked of a margin before a limit counts as met.

use crate::stats::tolerance;

/// A claim: at least the share `coverage` of all variations keeps the limit, with this `confidence`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gate {
    coverage: f64,
    confidence: f64,
}

impl Gate {
    /// 95 % of all variations with 95 % confidence.
    pub const USUAL: Self = Self {
        coverage: 0.95,
        confidence: 0.95,
    };

    /// A gate; `None` unless both are between 0 and 1 (both excluded), where no number of runs could show it.
    #[must_use]
    pub fn new(coverage: f64, confidence: f64) -> Option<Self> {
        let open = |share: f64| share > 0.0 && share < 1.0;
        (open(coverage) && open(confidence)).then_some(Self { coverage, confidence })
    }

    /// Reads `99/95` or `99 %/95 %`, both between 0 and 100 (both excluded).
    ///
    /// # Errors
    /// If it is not that: what would be right.
    pub fn parse(text: &str) -> Result<Self, String> {
        let wrong = || "write COVERAGE/CONFIDENCE in percent, both above 0 and below 100, as in 99/95".to_owned();
        // A decimal shift in the text, so that 99.9 % is the same bits as 0.999.
        let part = |text: &str| {
            format!("{}e-2", text.trim().trim_end_matches('%').trim())
                .parse::<f64>()
                .ok()
        };
        let (coverage, confidence) = text.split_once('/').ok_or_else(wrong)?;
        let (coverage, confidence) = part(coverage).zip(part(confidence)).ok_or_else(wrong)?;
        Self::new(coverage, confidence).ok_or_else(wrong)
    }

    /// Share of all variations.
    #[must_use]
    pub fn coverage(&self) -> f64 {
        self.coverage
    }

    /// Confidence.
    #[must_use]
    pub fn confidence(&self) -> f64 {
        self.confidence
    }

    /// The fewest runs with which it can be passed at all, if 2^53 are enough.
    #[must_use]
    pub fn runs_needed(&self) -> Option<u64> {
        tolerance::runs_needed(1, self.coverage, self.confidence)
    }
}

impl Default for Gate {
    fn default() -> Self {
        Self::USUAL
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gate_asks_for_something_possible() {
        assert_eq!(Gate::new(0.95, 0.95), Some(Gate::USUAL));
        for (coverage, confidence) in [(0.0, 0.9), (1.0, 0.9), (0.9, 1.0), (f64::NAN, 0.9), (0.9, -0.1)] {
            assert_eq!(Gate::new(coverage, confidence), None);
        }
        assert_eq!(Gate::default().runs_needed(), Some(59));
    }
}
