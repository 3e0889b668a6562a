//! Bulk flow in a group with a loop of openings: by potentials.

use super::super::indices::OXYGEN;
use super::super::linear::eliminate;
use super::super::system::System;
use super::{Bulk, is_held};
use crate::air::MOST;

/// An opening with no exchange flow still lets bulk flow pass: relative conductance that keeps the system regular.
const LEAST_CONDUCTANCE: f64 = 1e-9;

impl Bulk {
    /// Unknowns, at each instant for itself: potentials of all members but the first, then `P'` (or the valve's flow).
    pub(super) fn solve_loops<const N: usize, const L: usize>(
        &mut self,
        system: &System,
        group: usize,
        p: &[[[f64; L]; N]; 3],
        per_pa: &[f64; L],
        net: &[[f64; L]; N],
    ) {
        let held_pressure = is_held(system, group);
        let size = system.group_size[group];
        let mut place = [0; MOST];
        let mut row = 0;
        for a in 0..N {
            if system.group[a] == group {
                place[a] = row;
                row += 1;
            }
        }
        for l in 0..L {
            let mut matrix = [[0.0; MOST + 1]; MOST];
            for a in 0..N {
                if system.group[a] != group {
                    continue;
                }
                matrix[place[a]][size] = net[a][l];
                matrix[place[a]][size - 1] = match held_pressure {
                    false => system.capacity[a],
                    true if system.inlet[group] == a => -1.0,
                    true => 0.0,
                };
            }
            for (o, join) in system.joins.iter().enumerate() {
                if system.group[join.a] != group {
                    continue;
                }
                let w = weight(join.conductance);
                let not_oxygen = self.share(system, o, &p[OXYGEN], per_pa, l);
                for (end, sign) in [(join.a, 1.0), (join.b, -1.0)] {
                    let share = if system.oxygen_held[end].is_some() {
                        not_oxygen
                    } else {
                        1.0
                    };
                    for (other, direction) in [(join.a, 1.0), (join.b, -1.0)] {
                        if place[other] > 0 {
                            matrix[place[end]][place[other] - 1] += sign * share * w * direction;
                        }
                    }
                }
            }
            let unknown = eliminate(&mut matrix, size);
            let potential = |a: usize| if place[a] == 0 { 0.0 } else { unknown[place[a] - 1] };
            for (o, join) in system.joins.iter().enumerate() {
                if system.group[join.a] == group {
                    self.flow[o][l] = weight(join.conductance) * (potential(join.a) - potential(join.b));
                }
            }
        }
    }
}

fn weight(conductance: f64) -> f64 {
    conductance.max(LEAST_CONDUCTANCE)
}
