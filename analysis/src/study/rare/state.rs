//! Where a chain stands: a standard normal for each draw that its runs have asked for.
//!
//! Equation: u = Phi(z); moved, z' = r z + s w with r = sqrt(1 - s^2) and w = Phi^-1 of a fresh draw of the same key; a key that
//! is asked for and not there yet gets z = w. So z' is standard normal if z and w are, whatever s.
//! Symbols: u in (0, 1) the draw; z, w normals; s in (0, 1] the stride of a move; no units.
//! Source: Papaioannou, Betz, Zwirglmaier and Straub, Probab. Eng. Mech. 41 (2015) 89-103, section 4.2.
//! Valid for fresh draws that are independent of the chain; they may depend on each other where inputs are drawn together.
//! A sample keeps the normals that its own run asked for, and no others: of the rest the run says nothing, so that fresh ones
//! are right for them. To keep them because an earlier run of the chain asked would not be: those that had a part in a margin
//! coming low would outlast those that had none (4 to 8 % too high in the check with a drawn number of turns).
//! Left out: strides that differ between inputs.

use std::cell::RefCell;

use breathroom_sim::scenario::Luck;
use breathroom_sim::spread::{standard_lower, standard_quantile};

/// The largest number below 1, for normals so far out that no probability is left above them.
const BELOW_ONE: f64 = 1.0 - f64::EPSILON / 2.0;

/// Input, turn, person.
type Key = (usize, u32, u32);

/// The normals of one sample, by key.
pub(super) type State = Vec<(Key, f64)>;

/// The luck of one run: the sample it moves away from, and fresh draws.
pub(super) struct Walk<'a, L> {
    from: &'a [(Key, f64)],
    stride: f64,
    fresh: L,
    state: RefCell<State>,
}

impl<L: Luck> Walk<'_, L> {
    /// All fresh.
    pub(super) fn new(fresh: L) -> Self {
        Self::moved(&[], 1.0, fresh)
    }
}

impl<'a, L: Luck> Walk<'a, L> {
    /// A move away from a sample.
    pub(super) fn moved(from: &'a [(Key, f64)], stride: f64, fresh: L) -> Self {
        Self {
            from,
            stride,
            fresh,
            state: RefCell::new(State::with_capacity(from.len())),
        }
    }

    /// The normals that the run has asked for.
    pub(super) fn into_state(self) -> State {
        self.state.into_inner()
    }

    /// A normal that is asked for the first time.
    fn made(&self, key: Key) -> f64 {
        let fresh = normal(&self.fresh, key);
        match find(self.from, key) {
            Ok(place) => (1.0 - self.stride * self.stride).sqrt() * self.from[place].1 + self.stride * fresh,
            Err(_) => fresh,
        }
    }
}

impl<L: Luck> Luck for Walk<'_, L> {
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64 {
        let key = (input, turn, person);
        let mut state = self.state.borrow_mut();
        let z = match find(&state, key) {
            Ok(place) => state[place].1,
            Err(place) => {
                let z = self.made(key);
                state.insert(place, (key, z));
                z
            }
        };
        standard_lower(z).clamp(f64::MIN_POSITIVE, BELOW_ONE)
    }
}

/// Where a key is, or belongs.
fn find(state: &[(Key, f64)], key: Key) -> Result<usize, usize> {
    state.binary_search_by(|(other, _)| other.cmp(&key))
}

fn normal<L: Luck>(fresh: &L, (input, turn, person): Key) -> f64 {
    standard_quantile(fresh.uniform(input, turn, person))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::Streams;

    #[test]
    fn a_first_run_has_the_keyed_draws() {
        let streams = Streams::new(1, &["a", "b"]);
        let walk = Walk::new(streams.variation(3));
        for (input, turn, person) in [(1, 2, 9), (0, 0, 0), (1, 1, 9), (1, 2, 9)] {
            let keyed = streams.variation(3).uniform(input, turn, person);
            assert!((walk.uniform(input, turn, person) - keyed).abs() < 1e-15);
        }
        let keys: Vec<Key> = walk.into_state().iter().map(|&(key, _)| key).collect();
        assert_eq!(keys, [(0, 0, 0), (1, 1, 9), (1, 2, 9)], "each once, in order");
    }

    #[test]
    fn a_move_keeps_the_normal_distribution() {
        let streams = Streams::new(2, &["a"]);
        let (count, stride) = (20_000, 0.6);
        let (mut square, mut both) = (0.0, 0.0);
        for k in 0..count {
            let walk = Walk::new(streams.variation(2 * k));
            walk.uniform(0, 0, 0);
            let from = walk.into_state();
            let moved = Walk::moved(&from, stride, streams.variation(2 * k + 1));
            let fresh = moved.uniform(0, 7, 0);
            assert!(
                (fresh - streams.variation(2 * k + 1).uniform(0, 7, 0)).abs() < 1e-15,
                "a new key"
            );
            moved.uniform(0, 0, 0);
            let to = moved.into_state();
            square += to[0].1 * to[0].1 / count as f64;
            both += from[0].1 * to[0].1 / count as f64;
        }
        // Standard deviations: sqrt(2 / n) = 0.01 and about that; four of them. The correlation is sqrt(1 - 0.36).
        assert!(
            (square - 1.0).abs() < 0.04 && (both - 0.8).abs() < 0.04,
            "{square} {both}"
        );
    }

    #[test]
    fn draws_stay_inside_0_and_1() {
        let streams = Streams::new(1, &["a"]);
        for z in [-50.0, 50.0] {
            let from = [((0, 0, 0), z)];
            let walk = Walk::moved(&from, 0.0, streams.variation(0));
            let u = walk.uniform(0, 0, 0);
            assert!(u > 0.0 && u < 1.0, "{u}");
        }
    }

    #[test]
    fn what_a_run_does_not_ask_for_is_let_go() {
        let streams = Streams::new(1, &["a"]);
        let from = [((0, 1, 0), 0.5), ((0, 2, 0), 3.0)];
        let walk = Walk::moved(&from, 0.5, streams.variation(0));
        walk.uniform(0, 1, 0);
        assert_eq!(walk.into_state().len(), 1);
    }
}
