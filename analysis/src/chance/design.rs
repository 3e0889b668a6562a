//! Designs of draws: their names, their replicates, and what they refuse. [`super::Draws`] draws by them.

use std::fmt;

use super::sobol;

/// Independent replicates of a design that is not plain.
pub const REPLICATES: u32 = 16;
/// Fewest runs of a design that is not plain: two for each replicate.
pub const FEWEST_RUNS: u64 = 2 * REPLICATES as u64;
/// Most runs of a Sobol design: 2^52 points for each replicate.
pub const MOST_SOBOL_RUNS: u64 = (REPLICATES as u64) << sobol::BITS;

/// How the draws of a study lie.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Design {
    /// Independent.
    #[default]
    Plain,
    /// Each input stratified by itself.
    LatinHypercube,
    /// Points that are even in many inputs at once.
    Sobol,
}

impl Design {
    /// All, in order.
    pub const ALL: [Self; 3] = [Self::Plain, Self::LatinHypercube, Self::Sobol];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::LatinHypercube => "latin-hypercube",
            Self::Sobol => "sobol",
        }
    }

    /// The design of this name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|design| design.name() == name)
    }

    /// Independent replicates: 1 for plain draws, which are independent themselves.
    #[must_use]
    pub fn replicates(self) -> u32 {
        if self == Self::Plain { 1 } else { REPLICATES }
    }

    /// The replicate of variation `k`.
    #[must_use]
    pub fn replicate_of(self, k: u64) -> u32 {
        (k % u64::from(self.replicates())) as u32
    }
}

/// An input as a design sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InputKey<'a> {
    /// Its path.
    pub path: &'a str,
    /// Drawn once in a variation (not for every turn).
    pub once: bool,
}

/// Why there are no such draws.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DesignError {
    /// Fewer runs than two for each replicate.
    TooFewRuns {
        /// The design.
        design: Design,
        /// Runs asked for.
        runs: u64,
    },
    /// More runs than a Sobol sequence of 52 bits has points.
    TooManyRuns {
        /// Runs asked for.
        runs: u64,
    },
    /// A member of a group is drawn for every turn.
    PerTurn {
        /// Its path.
        path: String,
    },
    /// An input is a member twice.
    Twice {
        /// Its path.
        path: String,
    },
}

impl fmt::Display for DesignError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewRuns { design, runs } => write!(
                f,
                "the design `{}` needs at least {FEWEST_RUNS} runs, not {runs}: two for each of its {REPLICATES} \
                 independent replicates, from which its intervals come",
                design.name()
            ),
            Self::TooManyRuns { runs } => {
                write!(f, "the design `sobol` has at most {MOST_SOBOL_RUNS} runs, not {runs}")
            }
            Self::PerTurn { path } => write!(
                f,
                "`{path}` is drawn for every turn, so it cannot go together with others: only inputs drawn once can"
            ),
            Self::Twice { path } => write!(f, "`{path}` goes together with others twice: once is the most"),
        }
    }
}

impl std::error::Error for DesignError {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_go_both_ways() {
        for design in Design::ALL {
            assert_eq!(Design::parse(design.name()), Some(design));
        }
        assert_eq!(Design::parse("Sobol"), None);
    }

    #[test]
    fn replicates_take_turns() {
        assert_eq!((Design::Plain.replicates(), Design::Sobol.replicates()), (1, 16));
        assert_eq!(
            [0, 1, 15, 16, 33].map(|k| Design::Sobol.replicate_of(k)),
            [0, 1, 15, 0, 1]
        );
        assert_eq!(Design::Plain.replicate_of(33), 0);
    }

    #[test]
    fn refusals_say_what_would_be_right() {
        let design = Design::LatinHypercube;
        let words = DesignError::TooFewRuns { design, runs: 20 }.to_string();
        assert!(
            words.contains("`latin-hypercube` needs at least 32 runs, not 20"),
            "{words}"
        );
    }
}
