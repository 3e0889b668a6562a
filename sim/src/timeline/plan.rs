//! The plan of a case: tasks expanded to single turns, and what they compete for.

use crate::air::Place;
use crate::units::Time;

/// Everything the timeline needs, as plain numbers.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Every turn of every task (and each person's copy where `each = true`), in file order, then turn, then person.
    /// This order is the order in which ready tasks are tried.
    pub tasks: Vec<Task>,
    /// How many people can use each equipment at a time.
    pub equipment: Vec<u32>,
    /// Space that a person claims in each effort, m3.
    pub effort_space_m3: Vec<f64>,
}

/// One turn of a task.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Index of the `[[tasks]]` entry it comes from.
    pub entry: usize,
    /// Turn of a repeated task, from 1.
    pub turn: u32,
    /// Indices of the people, all at once.
    pub people: Vec<usize>,
    /// Index of the effort.
    pub effort: usize,
    /// Where.
    pub place: Place,
    /// Earliest start.
    pub earliest: Time,
    /// Indices (in `Plan::tasks`) of the turns that must have ended before.
    pub after: Vec<usize>,
    /// How long it takes.
    pub duration: Time,
    /// Indices of the equipment claimed, one unit of each, while it runs.
    pub needs: Vec<usize>,
    /// Waits until its people's claims fit into the place's usable volume.
    pub needs_space: bool,
    /// Carried out when it starts.
    pub starts: Vec<Effect>,
    /// Carried out when it ends.
    pub ends: Vec<Effect>,
}

/// What a task does to the cabin. Indices refer to the case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Opens an opening.
    Open(usize),
    /// Closes an opening.
    Close(usize),
    /// Switches a device on.
    SwitchOn(usize),
    /// Switches a device off.
    SwitchOff(usize),
}
