//! What happens to gas at once: pressures that become equal, suits that are put on, jumps to a held pressure.

use breathroom_sim::air::{Place, Regulation};

use crate::collocation;

use super::mode::Mode;
use super::plant::Plant;

/// Pressures that differ by less than this part are equal.
const EQUAL: f64 = 1e-12;

/// Makes the total pressures of each group equal, isothermally, gas moving at upstream composition. Each compartment's
/// pressure goes in a straight line to the common one, which fixes the flows, up to loops, on which they follow a potential.
/// Whether any gas moved.
pub fn equalise(plant: &Plant, mode: &Mode, x: &mut [f64]) -> bool {
    let mut any = false;
    for root in (0..plant.rooms).filter(|&a| mode.group[a] == a) {
        let members = mode.members(root);
        let room: f64 = members.iter().map(|&a| plant.capacity(x, a)).sum();
        let all: f64 = members.iter().map(|&a| plant.amount(x, a)).sum();
        let common = all / room;
        let leaves: Vec<f64> = members
            .iter()
            .map(|&a| plant.capacity(x, a) * (plant.total(x, a) - common))
            .collect();
        let apart = members
            .iter()
            .any(|&a| (plant.total(x, a) - common).abs() > EQUAL * common);
        if members.len() < 2 || !apart {
            continue;
        }
        any = true;
        let flows = potential_flows(plant, mode, x, &members, &leaves);
        let f = |y: &[f64], d: &mut [f64]| {
            d.fill(0.0);
            for &(a, b, flow) in &flows {
                let up = if flow >= 0.0 { a } else { b };
                let total: f64 = y[4 * up..4 * up + 4].iter().sum();
                for s in 0..4 {
                    let moved = if total > 0.0 { flow * y[4 * up + s] / total } else { 0.0 };
                    d[4 * a + s] -= moved;
                    d[4 * b + s] += moved;
                }
            }
        };
        drive(&f, &mut x[..4 * plant.rooms]);
    }
    any
}

/// Integrates amounts over a pseudo-time from 0 to 1 that stands for an instant.
fn drive(f: &dyn Fn(&[f64], &mut [f64]), y: &mut [f64]) {
    let scale = vec![y.iter().fold(1e-6_f64, |m, v| m.max(*v)); y.len()];
    let (mut t, mut h) = (0.0, 1.0);
    while 1.0 - t > 1e-14 {
        let (fit, next) = collocation::step(f, y, y.len(), &scale, h, 1.0 - t);
        fit.all(fit.length_s, y);
        t += fit.length_s;
        h = next;
    }
}

/// Flows of a group's edges, from `a` to `b`, that take what must leave out of each member: relaxed until they do.
fn potential_flows(
    plant: &Plant,
    mode: &Mode,
    x: &[f64],
    members: &[usize],
    leaves: &[f64],
) -> Vec<(usize, usize, f64)> {
    let edges: Vec<(usize, usize, f64)> = mode
        .edges
        .iter()
        .filter(|e| members.contains(&e.a))
        .map(|e| {
            let mean_k = (x[plant.air + e.a] + x[plant.air + e.b]) / 2.0;
            (e.a, e.b, e.exchange_m3_s.max(1e-9) / mean_k)
        })
        .collect();
    let mut potential = vec![0.0; plant.rooms];
    // Gauss and Seidel's iteration: slow, and needs no solver.
    for _ in 0..200_000 {
        let mut change: f64 = 0.0;
        for (&m, &leave) in members.iter().zip(leaves).skip(1) {
            let (mut sum, mut weight) = (leave, 0.0);
            for &(a, b, g) in edges.iter().filter(|e| e.0 == m || e.1 == m) {
                sum += g * potential[if a == m { b } else { a }];
                weight += g;
            }
            change = change.max((sum / weight - potential[m]).abs() * weight);
            potential[m] = sum / weight;
        }
        if change < 1e-15 * leaves.iter().fold(0.0_f64, |m, v| m.max(v.abs())) {
            break;
        }
    }
    edges
        .into_iter()
        .map(|(a, b, g)| (a, b, g * (potential[a] - potential[b])))
        .collect()
}

/// Empties every compartment that is open to the vacuum, or joined to one that is; whether there was gas.
pub fn empty(plant: &Plant, mode: &mut Mode, x: &mut [f64]) -> bool {
    let mut any = false;
    for a in (0..plant.rooms).filter(|&a| mode.vacuum[a]).collect::<Vec<_>>() {
        for b in mode.members(a) {
            mode.vacuum[b] = true;
            for s in 0..4 {
                any |= x[4 * b + s] > 0.0;
                x[plant.vented + s] += x[4 * b + s];
                x[4 * b + s] = 0.0;
            }
        }
    }
    any
}

/// Mixes the gas of two compartments completely: both come to the same partial pressures.
pub fn mix(plant: &Plant, x: &mut [f64], a: usize, b: usize) {
    let (one, other) = (plant.capacity(x, a), plant.capacity(x, b));
    for s in 0..4 {
        let all = x[4 * a + s] + x[4 * b + s];
        x[4 * a + s] = all * one / (one + other);
        x[4 * b + s] = all * other / (one + other);
    }
}

/// Brings closed suits to their pressure: oxygen in as far as there is some, or gas out into the place. Whether any moved.
pub fn jump_suits(plant: &Plant, mode: &Mode, x: &mut [f64]) -> bool {
    let mut any = false;
    for (s, suit) in plant.case.suits.iter().enumerate() {
        if !plant.closed(mode, s) {
            continue;
        }
        let (a, place) = (suit.compartment, plant.worn(mode, s).1);
        let over = plant.total(x, a) - plant.suit_target(mode, x, s);
        if over.abs() <= EQUAL * (1.0 + plant.total(x, a)) {
            continue;
        }
        if over < 0.0 {
            let mut mol = -over * plant.capacity(x, a);
            let inside = matches!(place, Place::Compartment(b) if !mode.vacuum[b]);
            let source = if suit.supply.is_some() && inside {
                suit.supply
            } else {
                suit.tank
            };
            if let Some(t) = source {
                let most = plant.left(x, t) - plant.case.tanks[t].residue_mol;
                if mode.dry[t] || most <= 0.0 {
                    continue;
                }
                mol = mol.min(most);
                x[plant.tank + t] += mol;
            }
            x[4 * a + 2] += mol;
            x[plant.to_suits + 2] += mol;
            x[plant.suit + s] += mol;
        } else {
            // What the place's pressure rises by counts.
            let gives = match place {
                Place::Compartment(b) if !mode.vacuum[b] => {
                    let room: f64 = mode.members(b).iter().map(|&c| plant.capacity(x, c)).sum();
                    over / (1.0 / plant.capacity(x, a) + 1.0 / room)
                }
                _ => over * plant.capacity(x, a),
            };
            let to = match place {
                Place::Compartment(b) => 4 * b,
                Place::Outside => plant.leaked,
            };
            for (species, part) in plant.composition(x, Place::Compartment(a)).into_iter().enumerate() {
                x[4 * a + species] -= gives * part;
                x[to + species] += gives * part;
            }
        }
        any = true;
    }
    any
}

/// Adds at once what ideal holds lack, as far as their tanks go. Whether anything was added.
pub fn top_up(plant: &Plant, mode: &Mode, x: &mut [f64]) -> bool {
    let mut any = false;
    for oxygen in [true, false] {
        for (v, valve) in plant.valves.iter().enumerate() {
            if valve.oxygen != oxygen || !mode.acts[v] || valve.by != Regulation::Ideal {
                continue;
            }
            // Of a total what is missing in all rooms together: oxygen that has just been added has not spread yet.
            let rooms = if oxygen {
                vec![valve.room]
            } else {
                mode.members(valve.room)
            };
            let room: f64 = rooms.iter().map(|&b| plant.capacity(x, b)).sum();
            let lacks = |b: usize| {
                let kept = if oxygen {
                    plant.partial(x, b, 2)
                } else {
                    plant.total(x, b)
                };
                (valve.set_pa - kept) * plant.capacity(x, b)
            };
            let mut mol: f64 = rooms.iter().map(|&b| lacks(b)).sum();
            if mol <= 1e-12 * valve.set_pa * room {
                continue;
            }
            if let Some(t) = valve.tank {
                let most = plant.left(x, t) - plant.case.tanks[t].residue_mol;
                if most <= 0.0 {
                    continue;
                }
                mol = mol.min(most);
                x[plant.tank + t] += mol;
            }
            x[4 * valve.room + valve.species] += mol;
            x[plant.supplied + valve.species] += mol;
            any = true;
        }
    }
    any
}
