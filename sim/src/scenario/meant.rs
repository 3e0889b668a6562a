//! A checked scenario: what was meant, with the names and sources that people see.

use crate::engine::Case;
use crate::spread::{Spread, Trials};
use crate::units::{Dimension, Unit};

use super::{Blueprint, Diagnostic};

/// A scenario that has passed every check.
#[derive(Clone, Debug, Default)]
pub struct Scenario {
    /// Its title.
    pub title: String,
    /// Data files it reads (name as written, content), in order; for digests.
    pub data_files: Vec<(String, Vec<u8>)>,
    /// Names by index, for everything a `Case` or an `Outcome` indexes.
    pub names: Names,
    /// One for each rule of every case, in the same order.
    pub limits: Vec<LimitInfo>,
    /// The uncertain inputs, in file order.
    pub inputs: Vec<Input>,
    /// Inputs that go together; none is in two of them.
    pub together: Vec<Together>,
    /// Every value that was read or assumed, in the order of the key table; what `check` prints.
    pub resolved: Vec<Resolved>,
    /// What is legal but deserves a look (a start off a set point, a default that rests on memory).
    pub warnings: Vec<Diagnostic>,
    /// What cases are built from.
    pub blueprint: Blueprint,
}

impl Scenario {
    /// The ids of its limits, each once, in order: a limit that is about several people or rooms is one rule for each of them.
    #[must_use]
    pub fn limit_ids(&self) -> Vec<&str> {
        let mut ids: Vec<&str> = Vec::new();
        for limit in &self.limits {
            if !ids.contains(&limit.id.as_str()) {
                ids.push(&limit.id);
            }
        }
        ids
    }
}

/// Names by index.
#[derive(Clone, Debug, Default)]
pub struct Names {
    /// Compartments, and after them the insides of suits ("suit:lead").
    pub compartments: Vec<String>,
    /// Openings.
    pub openings: Vec<String>,
    /// Removal devices.
    pub devices: Vec<String>,
    /// Tanks.
    pub tanks: Vec<String>,
    /// People.
    pub people: Vec<String>,
    /// Efforts.
    pub efforts: Vec<String>,
    /// Equipment.
    pub equipment: Vec<String>,
    /// Faults.
    pub faults: Vec<String>,
    /// Sensors, those that stand inside an alarm by its name.
    pub sensors: Vec<String>,
    /// Alarms.
    pub alarms: Vec<String>,
    /// Turns of tasks, by index in the case's plan; that of a response is named "response to ALARM".
    pub tasks: Vec<TaskName>,
}

/// The name of one turn of a task.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TaskName {
    /// The task's id.
    pub id: String,
    /// Its turn, from 1.
    pub turn: u32,
    /// How many turns the task has.
    pub turns: u32,
    /// The person whose copy it is, where `each = true`.
    pub person: Option<String>,
}

/// What people see of one rule.
#[derive(Clone, Debug)]
pub struct LimitInfo {
    /// The rule's id.
    pub id: String,
    /// "cabin" or "crew:lead".
    pub subject: String,
    /// In words: "CO2 partial pressure, mean over 1 h, at most 3 mmHg".
    pub words: String,
    /// The unit in which worst, limit and margin are shown (hours for an allowance).
    pub unit: Unit,
    /// Whether a margin as a fraction of the limit means anything (not for temperatures, nor a limit of 0).
    pub fraction_means_something: bool,
    /// Where the limit comes from.
    pub source: String,
    /// The source was recalled, not re-read.
    pub from_memory: bool,
    /// The named set it comes from, if any.
    pub set: Option<String>,
}

/// An uncertain input.
#[derive(Clone, Debug)]
pub struct Input {
    /// Its path: "removal.scrubber.flow", "tasks.don.duration".
    pub path: String,
    /// The unit it was written in.
    pub unit: Unit,
    /// Its distribution, in SI.
    pub spread: Spread,
    /// Drawn anew in every turn of its task (and for each person with `each`); else once in a variation.
    pub per_turn: bool,
    /// What trials leave unsure of the spread; none if its numbers are taken as known.
    pub unsure: Option<Unsure>,
}

/// A spread that is an estimate: with what is drawn of its centre and width, once in a variation.
#[derive(Clone, Copy, Debug)]
pub struct Unsure {
    /// What so many trials leave unsure.
    pub trials: Trials,
    /// The input of its centre, in standard errors; before the input itself.
    pub centre: usize,
    /// The input of its width, as a part of what is written; before the input itself.
    pub width: usize,
}

impl Input {
    /// The value at a uniform, given the values of the inputs before it.
    #[must_use]
    pub fn value(&self, u: f64, before: &[f64]) -> f64 {
        let x = self.spread.quantile(u);
        match &self.unsure {
            None => x,
            Some(unsure) => unsure.trials.carried(x, before[unsure.centre], before[unsure.width]),
        }
    }
}

/// Inputs that go together: each drawn once in a variation.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// Their indices, in the order of the rows.
    pub inputs: Vec<usize>,
    /// Rank correlations (Spearman): symmetric, 1 on the diagonal, and such that draws can have them.
    pub rank_correlation: Vec<Vec<f64>>,
}

/// A value as it was understood.
#[derive(Clone, Debug)]
pub struct Resolved {
    /// Its path.
    pub path: String,
    /// As written in the file, or as the default reads.
    pub written: String,
    /// In SI with its unit, for people ("11.5 m3"); the same as `written` for text.
    pub si: String,
    /// Where it comes from.
    pub origin: Origin,
    /// Index of the input if it is a spread.
    pub input: Option<usize>,
    /// What it amounts to, if one number (or a spread) was read there.
    pub amount: Option<Amount>,
}

/// A value that is a number, as it was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Amount {
    /// In SI (in `met`: W/m2 of body surface); of a spread its median.
    pub si: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// The unit it was written in.
    pub unit: Unit,
}

impl Amount {
    /// A count.
    #[must_use]
    pub fn count(value: i64) -> Self {
        let dimension = Dimension::Number;
        Self {
            si: value as f64,
            dimension,
            unit: dimension.si_unit(),
        }
    }
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Line of the scenario file.
    File {
        /// From 1.
        line: usize,
    },
    /// `--set`.
    Override,
    /// Not given: the default.
    Default {
        /// Whose value it is.
        source: String,
        /// Recalled, not re-read.
        from_memory: bool,
    },
}

/// One variation, drawn.
#[derive(Clone, Debug, Default)]
pub struct Drawn {
    /// What the engine runs.
    pub case: Case,
    /// The value of each input (in SI; the mean over turns and people for one drawn anew), for what drives a margin.
    pub values: Vec<f64>,
}
