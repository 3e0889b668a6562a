//! A trade as it was meant: factors, rows, columns, and how rows are compared.

use breathroom_sim::scenario::{Diagnostic, Scenario};

use crate::study::Gate;
use crate::study::measure::Measure;

use super::factor::Factor;
use super::formula::Formula;

/// A trade: one scenario, its rows, and what is to be said of each.
#[derive(Clone, Debug)]
pub struct Trade {
    /// Its title.
    pub title: String,
    /// What the tables are to answer; may be empty.
    pub question: String,
    /// The scenario's file as the trade file names it.
    pub scenario_path: String,
    /// Variations of each row.
    pub runs: u64,
    /// Seed of their luck, the same in all rows.
    pub seed: u64,
    /// What is asked of a margin.
    pub gate: Gate,
    /// The scenario as its file has it.
    pub base: Scenario,
    /// What is varied by design, in file order.
    pub factors: Vec<Factor>,
    /// The rows, in order.
    pub rows: Vec<Row>,
    /// The row that the others are compared with.
    pub baseline: usize,
    /// What is said of each row, in order.
    pub columns: Vec<Column>,
    /// What makes one row better than another, if that was asked.
    pub front: Option<Front>,
    /// What deserves a look.
    pub warnings: Vec<Diagnostic>,
}

/// One design.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its name: as given, else "r01", "r02" and so on; "baseline" if it was added as that.
    pub name: String,
    /// The level of each factor as shown.
    pub labels: Vec<String>,
    /// The level of each factor in the factor's unit, where it is a number.
    pub numbers: Vec<Option<f64>>,
    /// Constants of its options: "scrubber.mass", "34 kg".
    pub figures: Vec<(String, String)>,
    /// What makes its scenario of the base: "PATH=VALUE", in the order of the factors.
    pub overrides: Vec<String>,
    /// Its scenario; or why these levels do not go together.
    pub scenario: Result<Scenario, Vec<Diagnostic>>,
}

/// Something that is said of each row.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// What it is.
    pub what: What,
}

/// What a column says.
#[derive(Clone, Debug)]
pub enum What {
    /// A margin.
    Margin {
        /// Whose.
        measure: Measure,
        /// Which of its values over the variations.
        at: At,
    },
    /// The share of variations beyond this limit, or any ([`Measure::Broken`]).
    Beyond(Measure),
    /// A total or a time.
    Result {
        /// Which.
        measure: Measure,
        /// Which of its values over the variations.
        at: At,
    },
    /// What follows from others: see [`Trade::formula_value`].
    Formula(Formula),
}

/// Which value of many variations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum At {
    /// The one that is kept at the gate: the tolerance bound.
    Gate,
    /// The mean.
    Mean,
    /// The quantile of this share, between 0 and 1.
    Quantile(f64),
}

/// The rows that no other beats: at least as good in all of these columns and better in one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Front {
    /// Columns of which more is better.
    pub most: Vec<usize>,
    /// Columns of which less is better.
    pub least: Vec<usize>,
}

impl Trade {
    /// All that must be read off the variations of each row, each once, in the order of the columns.
    #[must_use]
    pub fn measures(&self) -> Vec<Measure> {
        let mut all: Vec<Measure> = Vec::new();
        for column in &self.columns {
            let of_column = match &column.what {
                What::Margin { measure, .. } | What::Beyond(measure) | What::Result { measure, .. } => {
                    vec![measure.clone()]
                }
                What::Formula(formula) => formula.measures(),
            };
            for measure in of_column {
                if !all.contains(&measure) {
                    all.push(measure);
                }
            }
        }
        all
    }

    /// The value of a formula's column in a row, from the means over the row's variations. None if the column is no formula, if
    /// something in it is not there in this row, or if it has no finite value (a division by zero).
    #[must_use]
    pub fn formula_value(&self, column: usize, row: usize, mean_of: &dyn Fn(&Measure) -> Option<f64>) -> Option<f64> {
        let What::Formula(formula) = &self.columns.get(column)?.what else {
            return None;
        };
        formula.value(self, row, mean_of)
    }
}
