//! Segments that moving averages still look back on.

use std::collections::VecDeque;

use super::segment::Segment;
use super::steps::Steps;

/// The recent segments, by a number that only grows; their storage is used again.
#[derive(Debug, Default)]
pub(crate) struct Past {
    first: u64,
    kept: VecDeque<Box<Segment>>,
    spare: Vec<Box<Segment>>,
    /// Storage of steps that nobody holds; while a segment is solved, it holds all.
    steps: Steps,
}

impl Past {
    /// Forgets all; keeps the storage.
    pub fn clear(&mut self) {
        while let Some(mut old) = self.kept.pop_front() {
            old.forget(&mut self.steps);
            self.spare.push(old);
        }
        self.first = 0;
    }

    /// A segment to write the next solution into; it becomes the newest.
    pub fn next(&mut self) -> &mut Segment {
        let mut fresh = self.spare.pop().unwrap_or_default();
        // The newest held the long list of places: it goes on to the next, with what has been left since.
        match self.kept.back_mut() {
            Some(newest) => fresh.steps.swap_spare(&mut newest.steps),
            None => fresh.steps.swap_spare(&mut self.steps),
        }
        fresh.steps.take_spare(&mut self.steps);
        self.kept.push_back(fresh);
        let place = self.kept.len() - 1;
        &mut self.kept[place]
    }

    /// The number of the newest.
    pub fn newest(&self) -> u64 {
        self.first + self.kept.len() as u64 - 1
    }

    /// A kept segment.
    pub fn get(&self, number: u64) -> &Segment {
        &self.kept[(number - self.first) as usize]
    }

    /// The newest, to be solved further.
    pub fn newest_mut(&mut self) -> &mut Segment {
        let place = self.kept.len() - 1;
        &mut self.kept[place]
    }

    /// Lets go of all before `number`.
    pub fn keep_from(&mut self, number: u64) {
        while self.first < number && self.kept.len() > 1 {
            if let Some(mut old) = self.kept.pop_front() {
                old.forget(&mut self.steps);
                self.spare.push(old);
            }
            self.first += 1;
        }
    }
}
