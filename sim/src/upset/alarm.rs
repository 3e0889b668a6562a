//! Alarms and what people then do.
//!
//! An alarm comes on at the reading at which as many sensors as it needs have been beyond its set point at every reading for
//! its persistence; it goes off at the first reading at which so many are no longer beyond the value at which it clears. A sensor
//! that is dead has no vote. A response begins a reaction time after its alarm has come on, as soon as those who do it can be had.

use crate::limits::Bound;
use crate::units::Time;

/// How many occurrences have times of their own; after them they go round.
pub const OCCURRENCES: usize = 16;

/// How urgent an alarm is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Grade {
    /// Look into it.
    Caution,
    /// Act.
    #[default]
    Warning,
}

/// An alarm.
#[derive(Clone, Debug, PartialEq)]
pub struct Alarm {
    /// Its sensors, by index; all have the same period and quantity.
    pub sensors: Vec<usize>,
    /// How many of them must say so.
    pub votes: usize,
    /// Beyond is above (`AtMost`) or below (`AtLeast`).
    pub bound: Bound,
    /// Set point, in the quantity's SI unit.
    pub set: f64,
    /// How long readings must be beyond it.
    pub lasts: Time,
    /// The value at which it clears; at or within the set point.
    pub clears: f64,
    /// How urgent it is.
    pub grade: Grade,
    /// What people then do.
    pub response: Option<Response>,
}

/// What people do after an alarm.
#[derive(Clone, Debug, PartialEq)]
pub struct Response {
    /// Who.
    pub by: Responder,
    /// From the alarm to the beginning, for each occurrence in turn. Not empty.
    pub reactions: Vec<Time>,
    /// How long it takes, for each attempt in turn. Not empty.
    pub takes: Vec<Time>,
    /// Index of its task in the plan, which is on call: its effort, its place and its effects.
    pub task: usize,
    /// Where the responders are: that of the task, or (false) wherever each of them is.
    pub in_place: bool,
    /// Whether whoever does it may be taken from a task.
    pub interrupts: bool,
    /// Whether a repair succeeds, for each attempt in turn; empty: always.
    pub succeeds: Vec<bool>,
    /// Attempts at a repair before it is given up.
    pub tries: u32,
}

/// Who responds. Nobody outside, in a suit under pressure, or at the effects that end a task is taken: the response waits for them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Responder {
    /// These people, all of them.
    People(Vec<usize>),
    /// The first of the file who is off task, else (if it interrupts) the first who can be taken from a task.
    Any,
    /// The first of the file who is off task; it waits for one.
    Free,
    /// All who are inside, at least one.
    Inside,
}
