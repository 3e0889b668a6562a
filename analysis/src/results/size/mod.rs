//! Results of `size`: the value that keeps a margin, why there is none, the curve, and the boundary over a second quantity.

mod summary;
mod tables;
mod words;

use crate::study::size::{Find, Size};

pub use summary::{SizeSummary, build};
pub use tables::{boundary, curve, proof};
pub use words::sentences;

/// One size: at a value of the second quantity, if there is one.
#[derive(Clone, Debug)]
pub struct Sized {
    /// The second quantity's value, as typed.
    pub over: Option<String>,
    /// What was found.
    pub size: Size,
    /// At the answer: the limits that the gate does not pass there, on the last seed that it was tried on.
    pub not_met: Vec<String>,
    /// At the answer: why the first variation failed, if one did.
    pub failure: Option<String>,
}

/// What is asked, for whoever tells of it.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The quantity's path.
    pub what: String,
    /// Its unit.
    pub unit: &'static str,
    /// The limit, as typed.
    pub keep: String,
    /// The unit of its margin.
    pub margin_unit: &'static str,
    /// The rule in words.
    pub words: String,
    /// Which end.
    pub find: Find,
    /// The range, in the unit.
    pub range: [f64; 2],
    /// Coverage and confidence.
    pub gate: crate::study::Gate,
    /// Variations of each value.
    pub runs: u64,
    /// Nothing is uncertain: one variation says all.
    pub exact: bool,
    /// Seed of the search.
    pub seed: u64,
    /// The path of the second quantity.
    pub over: Option<String>,
    /// How the scenario's spread is kept about the values: "exact", "scaled", "shifted".
    pub spread: &'static str,
}

impl Asked {
    /// "smallest", "largest".
    #[must_use]
    pub fn end(&self) -> &'static str {
        match self.find {
            Find::Smallest => "smallest",
            Find::Largest => "largest",
        }
    }
}
