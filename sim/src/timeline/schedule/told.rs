//! What one may ask of a run of a plan.

use crate::air::Place;
use crate::timeline::{SuitUse, Tight};
use crate::units::Time;

use super::{Schedule, Waiting};

impl Schedule {
    /// When a task started, if it did.
    #[must_use]
    pub fn started(&self, task: usize) -> Option<Time> {
        self.progress[task].started
    }

    /// When a task ended, if it did.
    #[must_use]
    pub fn ended(&self, task: usize) -> Option<Time> {
        self.progress[task].ended
    }

    /// How long a task has waited, s: from when it was ready to its start, or to the instant up to which time has passed.
    /// Waiting for an earlier turn, or for its earliest start, does not count.
    #[must_use]
    pub fn waited_s(&self, task: usize) -> f64 {
        let progress = &self.progress[task];
        if progress.unmet > 0 || progress.ready == Time::NEVER {
            return 0.0;
        }
        let until = progress.started.unwrap_or(self.occupancy.now());
        (until - progress.ready).max(Time::ZERO).seconds()
    }

    /// The part of that in which nothing but space was lacking, s: its people were off task, and its equipment was free.
    #[must_use]
    pub fn waited_for_space_s(&self, task: usize) -> f64 {
        let waits = |entry: &&Waiting| entry.task as usize == task;
        let since = self.waiting.iter().find(waits).and_then(|entry| entry.for_space);
        let open = since.map_or(Time::ZERO, |since| self.occupancy.now() - since);
        (self.progress[task].for_space + open).seconds()
    }

    /// Where a person is.
    #[must_use]
    pub fn place(&self, person: usize) -> Place {
        self.occupancy.place(person)
    }

    /// Index of a person's effort.
    #[must_use]
    pub fn effort(&self, person: usize) -> usize {
        self.occupancy.effort(person)
    }

    /// Whether a person is on task.
    #[must_use]
    pub fn is_busy(&self, person: usize) -> bool {
        self.busy & (1 << person) != 0
    }

    /// Space that the people in a compartment claim now, m3.
    #[must_use]
    pub fn claimed_m3(&self, compartment: usize) -> f64 {
        self.occupancy.claimed_m3(compartment)
    }

    /// Time so far with more space claimed in a compartment than is usable.
    #[must_use]
    pub fn space_exceeded(&self, compartment: usize) -> Time {
        self.occupancy.exceeded(compartment)
    }

    /// Largest excess so far of claimed over usable space in a compartment, m3; 0 if it was never crowded.
    #[must_use]
    pub fn space_excess_m3(&self, compartment: usize) -> f64 {
        self.occupancy.excess_m3(compartment)
    }

    /// How a person wears their suit.
    #[must_use]
    pub fn suit(&self, person: usize) -> SuitUse {
        self.occupancy.suit(person)
    }

    /// The moments of a compartment with most space claimed, tightest first.
    #[must_use]
    pub fn tightest(&self, compartment: usize) -> &[Tight] {
        self.occupancy.tightest(compartment)
    }

    /// How many times a ready task whose people were all off task was tried: the work done.
    #[must_use]
    pub fn tries(&self) -> u64 {
        self.tries
    }
}
