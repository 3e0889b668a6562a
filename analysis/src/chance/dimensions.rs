//! Which dimension of a Sobol sequence belongs to which input.
//!
//! Rule: inputs drawn once in a variation take dimensions 1, 2, ... in their order, up to [`MOST_DIMENSIONS`]; who comes
//! later, and values drawn in every turn, have none and take plain keyed draws. Early dimensions are the most even in pairs.
//! One table can serve several scenarios (the rows of a trade): a path that is in it keeps its dimension, new ones follow.

use std::collections::BTreeMap;

use super::design::InputKey;
use super::sobol::MOST_DIMENSIONS;

/// Path to dimension, from 1.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Dimensions(BTreeMap<String, u32>);

impl Dimensions {
    /// The table of one scenario.
    #[must_use]
    pub fn of(inputs: &[InputKey<'_>]) -> Self {
        let mut table = Self::default();
        table.add(inputs);
        table
    }

    /// Gives dimensions to the inputs of one more scenario that have none yet.
    pub fn add(&mut self, inputs: &[InputKey<'_>]) {
        for input in inputs.iter().filter(|input| input.once) {
            let next = self.0.len() as u32 + 1;
            if next <= MOST_DIMENSIONS && !self.0.contains_key(input.path) {
                self.0.insert(input.path.to_owned(), next);
            }
        }
    }

    /// The dimension of a path.
    #[must_use]
    pub fn get(&self, path: &str) -> Option<u32> {
        self.0.get(path).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn once(path: &str) -> InputKey<'_> {
        InputKey { path, once: true }
    }

    #[test]
    fn the_order_of_inputs_is_the_order_of_dimensions() {
        let turns = InputKey { path: "b", once: false };
        let mut table = Dimensions::of(&[once("z"), turns, once("a")]);
        assert_eq!(["z", "b", "a"].map(|path| table.get(path)), [Some(1), None, Some(2)]);
        table.add(&[once("c"), once("a")]);
        assert_eq!(["z", "a", "c"].map(|path| table.get(path)), [Some(1), Some(2), Some(3)]);
    }

    #[test]
    fn the_table_ends() {
        let paths: Vec<String> = (0..1_030).map(|n| n.to_string()).collect();
        let inputs: Vec<_> = paths.iter().map(|path| once(path)).collect();
        let table = Dimensions::of(&inputs);
        assert_eq!((table.get("1023"), table.get("1024")), (Some(1024), None));
    }
}
