//! Compartments and hatches while the plan is gone through: what is joined, what has lost its gas.

use crate::air::Place;
use crate::engine::Case;

use super::found::Id;

/// Compartments and hatches at an instant.
pub(super) struct Rooms<'c> {
    case: &'c Case,
    /// Of each opening.
    pub open: Vec<bool>,
    /// Of each compartment in which no one lives without a suit: what vented it, and which one that named.
    pub unfit: Vec<Option<(Id, usize)>>,
    /// Of each compartment, whether it is open to the vacuum.
    pub vacuum: Vec<bool>,
}

/// The compartment behind an opening onto the vacuum outside.
pub(super) fn onto_vacuum(case: &Case, opening: usize) -> Option<usize> {
    if case.outside.partial_pa.iter().any(|p| *p > 0.0) {
        return None;
    }
    match case.openings[opening].between {
        [Place::Outside, Place::Compartment(c)] | [Place::Compartment(c), Place::Outside] => Some(c),
        _ => None,
    }
}

impl<'c> Rooms<'c> {
    /// As a run begins.
    pub fn new(case: &'c Case) -> Self {
        Self {
            case,
            open: case.openings.iter().map(|o| o.open).collect(),
            unfit: vec![None; case.compartments.len()],
            vacuum: vec![false; case.compartments.len()],
        }
    }

    /// A hatch of this compartment that is open onto the vacuum outside.
    pub fn gaping(&self, compartment: usize) -> Option<usize> {
        (0..self.open.len()).find(|o| self.open[*o] && onto_vacuum(self.case, *o) == Some(compartment))
    }

    /// Gas is let out of a compartment and what is joined to it.
    pub fn mark(&mut self, id: Id, compartment: usize) {
        for c in self.group(compartment) {
            self.unfit[c] = Some((id, compartment));
        }
    }

    /// They are open to the vacuum.
    pub fn empty(&mut self, compartment: usize) {
        for c in self.group(compartment) {
            self.vacuum[c] = true;
        }
    }

    /// They have gas again.
    pub fn clear(&mut self, compartment: usize) {
        for c in self.group(compartment) {
            self.unfit[c] = None;
            self.vacuum[c] = false;
        }
    }

    /// A compartment and what is joined to it by open openings.
    pub fn group(&self, compartment: usize) -> Vec<usize> {
        let mut group = vec![compartment];
        let mut next = 0;
        while let Some(&c) = group.get(next) {
            next += 1;
            for (n, opening) in self.case.openings.iter().enumerate() {
                if let [Place::Compartment(a), Place::Compartment(b)] = opening.between
                    && self.open[n]
                    && (a == c || b == c)
                {
                    let other = if a == c { b } else { a };
                    if !group.contains(&other) {
                        group.push(other);
                    }
                }
            }
        }
        group
    }
}
