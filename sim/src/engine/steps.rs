//! The steps of a segment, each in a place of its own that is used again: a segment that is let go of leaves its places to the
//! next one, so that a run that is like one before allocates nothing, and holds no more than its kept segments need.

use super::segment::Step;

/// So many steps in a segment are room made for beforehand: more than the most there are.
const ROOM: usize = 80;

/// Steps in order, and places for more.
#[derive(Clone, Debug)]
pub(crate) struct Steps {
    #[expect(
        clippy::vec_box,
        reason = "places change hands between segments without being copied"
    )]
    taken: Vec<Box<Step>>,
    #[expect(
        clippy::vec_box,
        reason = "places change hands between segments without being copied"
    )]
    spare: Vec<Box<Step>>,
}

impl Default for Steps {
    fn default() -> Self {
        Self {
            taken: Vec::with_capacity(ROOM),
            spare: Vec::new(),
        }
    }
}

impl Steps {
    /// How many there are.
    pub fn len(&self) -> usize {
        self.taken.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.taken.is_empty()
    }

    /// The steps, in order.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = &Step> {
        self.taken.iter().map(|step| &**step)
    }

    /// The step of this place, from 0.
    pub fn get(&self, place: usize) -> Option<&Step> {
        self.taken.get(place).map(|step| &**step)
    }

    /// The last.
    pub fn last(&self) -> Option<&Step> {
        self.taken.last().map(|step| &**step)
    }

    /// The place of the step in which `t` s lies, the last one's beyond all; none if there are none.
    pub fn place_at(&self, t: f64) -> Option<usize> {
        let last = self.taken.len().checked_sub(1)?;
        let before = self.taken[..last].iter();
        Some(before.take_while(|step| t >= step.from_s + step.length_s).count())
    }

    /// Adds one.
    pub fn push(&mut self, step: &Step) {
        match self.spare.pop() {
            Some(mut place) => {
                *place = *step;
                self.taken.push(place);
            }
            None => self.taken.push(Box::new(*step)),
        }
    }

    /// Takes the last off.
    pub fn pop(&mut self) -> Option<Step> {
        let place = self.taken.pop()?;
        let step = *place;
        self.spare.push(place);
        Some(step)
    }

    /// Takes all off.
    pub fn clear(&mut self) {
        self.spare.append(&mut self.taken);
    }

    /// Changes spare places with `other`: the list itself, which is long, and not its places one by one.
    pub fn swap_spare(&mut self, other: &mut Self) {
        std::mem::swap(&mut self.spare, &mut other.spare);
    }

    /// Takes all off, and leaves every place to `heir`.
    pub fn leave_to(&mut self, heir: &mut Self) {
        heir.spare.append(&mut self.taken);
        heir.spare.append(&mut self.spare);
    }

    /// Takes over the spare places of `other`.
    pub fn take_spare(&mut self, other: &mut Self) {
        self.spare.append(&mut other.spare);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn step(from_s: f64) -> Step {
        Step {
            from_s,
            length_s: 10.0,
            ..Step::default()
        }
    }

    #[test]
    fn places_are_used_again() {
        let (mut old, mut heir) = (Steps::default(), Steps::default());
        assert_eq!(old.place_at(3.0), None);
        for k in 0..3 {
            old.push(&step(10.0 * f64::from(k)));
        }
        assert_eq!(
            [0.0, 9.0, 10.0, 25.0, 99.0].map(|t| old.place_at(t)),
            [0, 0, 1, 2, 2].map(Some)
        );
        assert_eq!(old.pop().map(|step| step.from_s), Some(20.0));
        old.swap_spare(&mut heir);
        assert_eq!((old.spare.len(), heir.spare.len()), (0, 1));
        old.leave_to(&mut heir);
        assert!(old.is_empty() && old.spare.is_empty() && heir.is_empty());
        assert_eq!(heir.spare.len(), 3);
        heir.push(&step(5.0));
        assert_eq!((heir.len(), heir.spare.len()), (1, 2));
        assert_eq!(heir.last().map(|step| step.from_s), Some(5.0));
    }
}
