//! Finds the valves and directions of flow that are consistent, and what happens at once when a hatch opens.
//!
//! Valves: flow `u >= 0`, what is kept does not fall, and at most one of the two is positive. All sets of valves at their
//! bound are tried, small ones first.

use crate::collocation;

use super::guards::FLOW;
use super::mode::{Gas, Mode};
use super::model::{Flows, Model};
use super::network::capacity_mol_pa;

/// A valve counts as at its bound within this part of it.
const AT_BOUND: f64 = 1e-11;

/// A request that a valve be closed, or open, because it has just come to that bound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wish {
    None,
    Closed(usize),
    Open(usize),
}

/// Settles valves and directions of flow with the rates given by `flows`, against `target` slopes (mol/s).
fn settle_with(
    model: &Model,
    mode: &mut Mode,
    x: &[f64],
    wish: Wish,
    target: &[f64; 16],
    flows: &dyn Fn(&Mode) -> Flows,
) {
    let at_bound = |v: usize| model.kept_pa(x, v) <= model.valves[v].hold_pa * (1.0 + AT_BOUND);
    let candidates: Vec<usize> = (0..model.valves.len())
        .filter(|&v| mode.governs[v] && (at_bound(v) || wish == Wish::Open(v)) && wish != Wish::Closed(v))
        .collect();
    let mut sets: Vec<u32> = (0..1_u32 << candidates.len()).collect();
    sets.sort_by_key(|s| s.count_ones());
    for _ in 0..40 {
        let mut found = false;
        for forced in [true, false] {
            for &set in &sets {
                mode.valve.fill(false);
                for (k, &v) in candidates.iter().enumerate() {
                    mode.valve[v] = set >> k & 1 == 1;
                }
                if matches!(wish, Wish::Open(v) if forced && !mode.valve[v]) {
                    continue;
                }
                let flow = flows(mode);
                let eps = FLOW * (flow.size + target.iter().sum::<f64>());
                found = candidates.iter().all(|&v| {
                    if mode.valve[v] {
                        flow.valve[v] >= -eps
                    } else {
                        flow.slope[v] >= target[v] - eps
                    }
                });
                if found {
                    break;
                }
            }
            if found {
                break;
            }
        }
        assert!(found, "the reference found no consistent set of valves");
        let flow = flows(mode);
        let eps = FLOW * (flow.size + target.iter().sum::<f64>()) + 1e-22;
        let mut turned = false;
        for e in 0..mode.network.edges.len() {
            let along = if mode.forward[e] { flow.bulk[e] } else { -flow.bulk[e] };
            if along < -eps {
                mode.forward[e] = !mode.forward[e];
                turned = true;
            }
        }
        if !turned {
            return;
        }
    }
    panic!("the reference found no consistent directions of flow");
}

/// Settles the valves and the directions of bulk flow of a mode at a state.
pub fn settle(model: &Model, mode: &mut Mode, x: &[f64], wish: Wish) {
    let target = [0.0; 16];
    settle_with(model, mode, x, wish, &target, &|mode| {
        let mut d = vec![0.0; model.len];
        model.rates(mode, x, &mut d)
    });
}

/// Drives amounts over a pseudo-time from 0 to 1 that stands for an instant.
fn at_once(model: &Model, x: &mut [f64], extra: usize, f: &dyn Fn(&[f64], &mut [f64])) -> Vec<f64> {
    let mut y = x[..model.liquid].to_vec();
    let scale = vec![y.iter().fold(1.0_f64, |m, v| m.max(*v)); y.len() + extra];
    y.resize(scale.len(), 0.0);
    let (mut t, mut h) = (0.0, 1.0);
    while 1.0 - t > 1e-15 {
        let (fit, next) = collocation::step(f, &y, y.len(), &scale, h, 1.0 - t);
        fit.all(fit.length_s, &mut y);
        t += fit.length_s;
        h = next;
    }
    x[..model.liquid].copy_from_slice(&y[..model.liquid]);
    y[model.liquid..].to_vec()
}

/// Makes the total pressures of every group equal, isothermally, gas moving at upstream composition.
///
/// Every compartment's pressure goes in a straight line to the common one, which fixes the flows on a tree.
pub fn equalise(model: &Model, mode: &mut Mode, x: &mut [f64]) {
    let count = model.case.compartments.len();
    let mut made = [0.0; 8];
    let mut apart = false;
    for a in 0..count {
        let members: Vec<usize> = (0..count)
            .filter(|&b| mode.network.group[b] == mode.network.group[a])
            .collect();
        let room: f64 = members.iter().map(|&b| capacity_mol_pa(model.case, b)).sum();
        let all: f64 = members
            .iter()
            .map(|&b| capacity_mol_pa(model.case, b) * model.total_pa(x, b))
            .sum();
        let excess = model.total_pa(x, a) - all / room;
        made[a] = capacity_mol_pa(model.case, a) * excess;
        apart |= excess.abs() > 1e-13 * model.total_pa(x, a);
    }
    if !apart {
        return;
    }
    let mut unused = vec![0.0; model.liquid];
    let flows = model.bulk(mode, x, &made, &mut unused);
    for e in 0..mode.network.edges.len() {
        mode.forward[e] = flows[e] >= 0.0;
    }
    let mode = &*mode;
    at_once(model, x, 0, &|y, d| {
        d.fill(0.0);
        model.bulk(mode, y, &made, d);
    });
}

/// Adds at once what is missing below the holds, then makes pressures equal; the amounts go to the ledger.
///
/// What leaves a room by that lowers its oxygen again, so it is repeated until nothing is missing.
pub fn fill(model: &Model, mode: &mut Mode, x: &mut [f64]) {
    for _ in 0..2000 {
        let mut added = false;
        for gas in [Gas::Oxygen, Gas::Diluent] {
            for (v, valve) in model
                .valves
                .iter()
                .enumerate()
                .filter(|v| v.1.gas == gas && mode.governs[v.0])
            {
                let a = valve.compartment;
                let (missing, species, line) = match gas {
                    Gas::Oxygen => {
                        let missing = valve.hold_pa - model.kept_pa(x, v);
                        (missing * capacity_mol_pa(model.case, a), 2, 9)
                    }
                    Gas::Diluent => {
                        let same = |b: &usize| mode.network.group[*b] == mode.network.group[a];
                        let missing = (0..model.case.compartments.len())
                            .filter(same)
                            .map(|b| (valve.hold_pa - model.total_pa(x, b)) * capacity_mol_pa(model.case, b));
                        (missing.sum(), 3, 10)
                    }
                };
                if missing > 1e-13 * valve.hold_pa * capacity_mol_pa(model.case, a) {
                    x[4 * a + species] += missing;
                    x[model.core + line] += missing;
                    added = true;
                }
            }
        }
        if !added {
            return;
        }
        equalise(model, mode, x);
    }
    panic!("the reference could not fill up to the holds");
}
