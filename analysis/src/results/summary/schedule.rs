//! The part of a summary about time and space: waits, delays, the plan against the run, crowding.

use serde::Serialize;

use super::super::ordered::Ordered;

/// Waits, delays, crowding.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Schedule {
    /// Time that tasks waited though they were ready, added over all tasks.
    pub waits_h: f64,
    /// The part of it in which only space was lacking.
    pub waits_for_space_h: f64,
    /// Time with more space claimed than usable, added over all compartments.
    pub space_exceeded_h: f64,
    /// For each task that has an earliest start of its own and did not meet it: how much later it started; null if it
    /// never did.
    pub late_h: Ordered<Option<f64>>,
    /// Every turn of every task, as planned and as simulated.
    pub tasks: Vec<TaskTimes>,
    /// Crowding of each compartment that was ever too small.
    pub space: Ordered<Crowding>,
    /// For each compartment that people were in, the moments with most space claimed, tightest first.
    pub tightest: Ordered<Vec<Tight>>,
    /// Tasks that had not ended when the run did.
    pub unfinished: Vec<String>,
}

/// A turn of a task. Planned is what the plan gives if nobody waits: earliest start, what must come before, durations as
/// drawn with the times given for vents, fills and equalisations of its end.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct TaskTimes {
    /// The task.
    pub task: String,
    /// Planned start.
    pub planned_start_h: f64,
    /// Planned end.
    pub planned_end_h: f64,
    /// When it started; null if it did not.
    pub start_h: Option<f64>,
    /// When it ended; null if it did not.
    pub end_h: Option<f64>,
    /// How much later than planned it started.
    pub late_h: Option<f64>,
    /// How much later than planned it ended.
    pub end_late_h: Option<f64>,
    /// How long it waited for people, equipment or space though it was ready.
    pub waited_h: f64,
    /// The part of it in which only space was lacking.
    pub waited_for_space_h: f64,
    /// What responses did to it; left out where the scenario has none.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub upset: Option<TaskUpset>,
}

/// What responses did to a turn of a task.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct TaskUpset {
    /// How often it was interrupted.
    pub interruptions: u32,
    /// It was dropped at an interruption.
    pub dropped: bool,
    /// It was outside, and ended sooner than it was to: its people were called in.
    pub recalled: bool,
}

impl TaskTimes {
    /// How much longer it took from start to end than it was to, h; below 0: it was cut short. None if it has not ended.
    #[must_use]
    pub fn longer_h(&self) -> Option<f64> {
        let took = self.end_h.zip(self.start_h).map(|(end, start)| end - start)?;
        Some(took - (self.planned_end_h - self.planned_start_h))
    }
}

/// A compartment that was too small for its people.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Crowding {
    /// For how long.
    pub exceeded_h: f64,
    /// By how much at most.
    pub excess_m3: f64,
}

/// A stretch of time in which the same space was claimed.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Tight {
    /// When it began.
    pub from_h: f64,
    /// When it ended.
    pub to_h: f64,
    /// Space claimed.
    pub claimed_m3: f64,
    /// Space that people can occupy there.
    pub usable_m3: f64,
    /// Who was there.
    pub who: Vec<Doing>,
}

/// Someone at something.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Doing {
    /// The person.
    pub person: String,
    /// Their effort.
    pub effort: String,
    /// Space that this effort claims.
    pub claims_m3: f64,
}
