//! Where within a step a bulk flow turns.
//!
//! Bulk flow carries the gas of where it comes from. Where it turns, what it carries becomes another's gas: a kink in the
//! derivatives, which no polynomial follows. So a step across one is made again, to where the flow turns.

use super::super::radau::{NODES, STAGES, TABLES};

/// A bulk flow below this has no direction worth the name, mol/s.
const STILL_MOL_S: f64 = 1e-10;
/// What turns within this part of a step from its start or end turns there: the error goes with the square of it.
const AT_ITS_ENDS: f64 = 0.01;
/// Halvings by which a turn is found, far within that.
const HALVINGS: usize = 16;

/// Where a flow that is `start` where a step starts, and `flows` at its nodes, first turns, as a part of the step; none if it does
/// not, or at its ends. mol/s.
pub(super) fn turn_of(start: f64, flows: [f64; STAGES]) -> Option<f64> {
    let turned = |flow: f64| flow * start < 0.0 && flow.abs().min(start.abs()) > STILL_MOL_S;
    let first = flows.iter().position(|flow| turned(*flow))?;
    let flow = TABLES.through(start, flows);
    let (mut low, mut high) = (if first > 0 { NODES[first - 1] } else { 0.0 }, NODES[first]);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if flow.at(middle) * start > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    (AT_ITS_ENDS..1.0 - AT_ITS_ENDS).contains(&high).then_some(high)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turn(flow: impl Fn(f64) -> f64) -> Option<f64> {
        turn_of(flow(0.0), NODES.map(flow))
    }

    #[test]
    fn the_first_turn_is_found() {
        for at in [0.02, 0.057, 0.4, 0.97] {
            let found = turn(|t| 1e-3 * (at - t) * (1.0 + t * t)).expect("it turns");
            assert!((found - at).abs() < 2e-5, "{found} {at}");
        }
        let found = turn(|t| -1e-6 * (0.1 - t) * (0.7 - t)).expect("it turns twice");
        assert!((found - 0.1).abs() < 2e-5, "{found}");
    }

    #[test]
    fn what_does_not_turn_is_left() {
        assert_eq!(turn(|t| 1e-3 * (1.2 - t)), None);
        // At the ends, or of a flow that is none.
        assert_eq!(turn(|t| 1e-3 * (0.003 - t)), None);
        assert_eq!(turn(|t| 1e-3 * (0.997 - t)), None);
        assert_eq!(turn(|t| 1e-11 * (0.5 - t)), None);
    }
}
