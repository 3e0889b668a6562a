//! Compartments joined by open openings and the bulk flow that keeps their total pressure equal.
//!
//! In a group with capacities `C_a = V_a / (R T_a)` (mol/Pa) and net productions `S_a` (mol/s), the shared pressure
//! changes by `P' = sum S / sum C`, and what a compartment has too much, `S_a - C_a P'`, leaves through its openings. On
//! a loop the flows follow a potential, with the exchange's amount of gas per pascal, `Q / (R T_mean)`, as conductance.

use breathroom_sim::air::{GAS_CONSTANT_J_MOL_K, Place};
use breathroom_sim::engine::Case;

/// The groups of one set of open openings.
#[derive(Clone, Debug, Default)]
pub struct Network {
    /// Group of each compartment (the index of its first member).
    pub group: Vec<usize>,
    /// Open openings between two compartments: index, and its two ends.
    pub edges: Vec<(usize, usize, usize)>,
    /// For each edge, flow from its first to its second end per mol/s made in each compartment.
    pub share: Vec<Vec<f64>>,
}

/// Capacity of a compartment, mol/Pa.
pub fn capacity_mol_pa(case: &Case, a: usize) -> f64 {
    let c = &case.compartments[a];
    c.volume_m3 / (GAS_CONSTANT_J_MOL_K * c.temperature_k)
}

/// What an opening exchanges per difference of pressure, mol/s/Pa.
fn conductance_mol_s_pa(case: &Case, o: usize, a: usize, b: usize) -> f64 {
    let mean_k = (case.compartments[a].temperature_k + case.compartments[b].temperature_k) / 2.0;
    case.openings[o].exchange_m3_s / (GAS_CONSTANT_J_MOL_K * mean_k)
}

/// Solves `m x = b` by elimination with row exchange; `b` becomes `x`.
pub fn solve(m: &mut [Vec<f64>], b: &mut [f64]) {
    let n = b.len();
    for k in 0..n {
        let best = (k..n)
            .max_by(|&i, &j| m[i][k].abs().total_cmp(&m[j][k].abs()))
            .unwrap_or(k);
        m.swap(k, best);
        b.swap(k, best);
        assert!(m[k][k] != 0.0, "the reference met a singular system");
        for i in k + 1..n {
            let factor = m[i][k] / m[k][k];
            if factor == 0.0 {
                continue;
            }
            for j in k..n {
                m[i][j] -= factor * m[k][j];
            }
            b[i] -= factor * b[k];
        }
    }
    for k in (0..n).rev() {
        for j in k + 1..n {
            b[k] -= m[k][j] * b[j];
        }
        b[k] /= m[k][k];
    }
}

impl Network {
    /// The network of a case whose openings are open as told.
    pub fn new(case: &Case, open: &[bool]) -> Self {
        let count = case.compartments.len();
        let mut group: Vec<usize> = (0..count).collect();
        let mut edges = Vec::new();
        for (o, opening) in case.openings.iter().enumerate() {
            if let (true, [Place::Compartment(a), Place::Compartment(b)]) = (open[o], opening.between) {
                edges.push((o, a, b));
                let (low, high) = (group[a].min(group[b]), group[a].max(group[b]));
                for g in &mut group {
                    if *g == high {
                        *g = low;
                    }
                }
            }
        }
        let mut share = vec![vec![0.0; count]; edges.len()];
        for a in 0..count {
            let members: Vec<usize> = (0..count).filter(|&b| group[b] == group[a]).collect();
            if members.len() < 2 {
                continue;
            }
            let total: f64 = members.iter().map(|&b| capacity_mol_pa(case, b)).sum();
            // Potentials relative to the first member.
            let n = members.len() - 1;
            let at = |c: usize| members.iter().position(|&b| b == c).and_then(|i| i.checked_sub(1));
            let mut m = vec![vec![0.0; n]; n];
            let mut potential: Vec<f64> = members[1..]
                .iter()
                .map(|&b| f64::from(u8::from(a == b)) - capacity_mol_pa(case, b) / total)
                .collect();
            for &(o, i, j) in edges.iter().filter(|e| group[e.1] == group[a]) {
                let q = conductance_mol_s_pa(case, o, i, j);
                for (from, to) in [(at(i), at(j)), (at(j), at(i))] {
                    if let Some(from) = from {
                        m[from][from] += q;
                        if let Some(to) = to {
                            m[from][to] -= q;
                        }
                    }
                }
            }
            solve(&mut m, &mut potential);
            let value = |c: usize| at(c).map_or(0.0, |i| potential[i]);
            for (e, &(o, i, j)) in edges.iter().enumerate() {
                if group[i] == group[a] {
                    share[e][a] = conductance_mol_s_pa(case, o, i, j) * (value(i) - value(j));
                }
            }
        }
        Self { group, edges, share }
    }
}
