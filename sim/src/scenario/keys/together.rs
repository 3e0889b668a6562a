//! Spreads that go together.

use super::*;

/// `[[together]]`.
pub static TOGETHER: Section = Section {
    path: "together",
    meaning: "Spreads that are high or low together, by their rank correlations; each keeps its own spread (a Gaussian copula).",
    keys: &[
        key(
            "inputs",
            Kind::Paths,
            Need::Required,
            "[\"removal.scrubber.co2_efficiency\", \"compartments.cabin.free_volume\"]",
            "Paths of the spreads, two or more; each is drawn once in a variation, and stands in one group only.",
        ),
        key(
            "rank_correlation",
            Kind::Correlations,
            Need::Required,
            "0.6",
            "Spearman's, from -1 to 1: one number for two, else a row for each with 1 where it meets itself: \
             `[[1, 0.6], [0.6, 1]]`.",
        ),
    ],
};
