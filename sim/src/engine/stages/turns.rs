//! Where a flow first turns within a step.

use super::super::radau::{NODES, STAGES, TABLES};
use super::Nodes;

/// A flow that turns nearer than this to an end of a step, as a share of its length, turns at that end.
const AT_END: f64 = 0.01;

/// Flows through the joins, mol/s, for those who look for where they turn.
#[derive(Clone, Debug, Default)]
pub(crate) struct Flows {
    /// At the start of the step.
    pub start: Vec<f64>,
    /// At its nodes.
    pub nodes: Vec<Nodes>,
}

impl Flows {
    /// Goes on to the next step: where this one ends.
    pub fn go_on(&mut self) {
        self.start.clear();
        self.start.extend(self.nodes.iter().map(|flow| flow[STAGES - 1]));
    }

    /// The first turn of a flow within the step, as a share of its length.
    pub fn first_turn(&self) -> Option<f64> {
        let mut first = None;
        for join in 0..self.start.len() {
            let values = &self.nodes[join];
            let (mut from, mut before) = (0.0, self.start[join]);
            for (node, value) in NODES.into_iter().zip(*values) {
                if before * value < 0.0 {
                    let poly = TABLES.inner(*values);
                    let turn = zero(|theta| poly.at(theta), from, node, before);
                    if turn > AT_END && turn < 1.0 - AT_END && first.is_none_or(|first| turn < first) {
                        first = Some(turn);
                    }
                }
                (from, before) = (node, value);
            }
        }
        first
    }
}

/// Where a number that starts with the sign of `start` turns to the other between `from` and `to`: by halving.
fn zero(value: impl Fn(f64) -> f64, mut from: f64, mut to: f64, start: f64) -> f64 {
    for _ in 0..48 {
        let middle = 0.5 * (from + to);
        if value(middle) * start > 0.0 {
            from = middle;
        } else {
            to = middle;
        }
    }
    to
}
