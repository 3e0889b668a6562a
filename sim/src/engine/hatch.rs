//! Opening a hatch: what is left of a pressure difference equalises at once.
//!
//! A hatch cannot be moved against a pressure; what its seal or valve lets be (`opens_within`) flows over isothermally, each
//! compartment well mixed, at the composition of where the gas comes from. With `C` the capacities and `tau` from 0 to 1:
//!
//! ```text
//! C_a dP_a/dtau = C_a (P_end - P_a(0)),   P_end = sum C_a P_a(0) / sum C_a
//! dn_ia/dtau = sum_o f_o x_i(upstream)
//! ```
//!
//! The flows `f_o` are constant along tau and follow from the balance of each compartment (on a loop from a potential, as for
//! bulk flow). Integrated by the classical fourth-order Runge-Kutta method in [`STEPS`] steps, or one where hardly
//! anything moves: with at most a few percent of the gas moving its error is below 1e-12 of the amounts.

use crate::air::{MOST, Place};

use super::Case;
use super::linear::eliminate;
use super::mode::Mode;
use super::state::Stocks;
use super::system::System;

/// Steps of the integration.
const STEPS: usize = 32;
/// A part of the gas for which one step will do.
const LITTLE: f64 = 3e-4;

/// Lets the group of `a` (already regrouped, the new hatch open) come to one pressure.
pub(crate) fn equalise(case: &Case, mode: &Mode, system: &System, stocks: &mut Stocks, a: usize) {
    let n = case.compartments.len();
    let group = mode.group[a];
    let member = |b: usize| mode.group[b] == group;
    let (mut amount, mut capacity) = (0.0, 0.0);
    for b in (0..n).filter(|&b| member(b)) {
        amount += system.capacity[b] * stocks.pressure(b);
        capacity += system.capacity[b];
    }
    let end = amount / capacity;
    let mut outflow = [0.0; MOST];
    for b in (0..n).filter(|&b| member(b)) {
        outflow[b] = system.capacity[b] * (stocks.pressure(b) - end);
    }
    let openings = case.openings.iter().zip(&mode.open);
    let joins = openings.filter_map(|(opening, &open)| match (open, opening.between) {
        (true, [Place::Compartment(a), Place::Compartment(b)]) if member(a) => {
            Some((a, b, opening.exchange_m3_s.max(1e-9)))
        }
        _ => None,
    });
    let potentials = network(joins.clone(), &outflow);
    let flows = joins.map(|(a, b, w)| (a, b, w * (potentials[a] - potentials[b])));
    let mut amounts = stocks.p;
    for species in &mut amounts {
        for b in 0..n {
            species[b] *= system.capacity[b];
        }
    }
    // The error goes with the fifth power of what moves: of little, one step leaves nothing.
    let moves = (0..n)
        .filter(|&b| member(b))
        .map(|b| outflow[b].abs() / (capacity * end))
        .fold(0.0, f64::max);
    let steps = if moves < LITTLE { 1 } else { STEPS };
    let h = 1.0 / steps as f64;
    for _ in 0..steps {
        let k1 = rates(n, flows.clone(), &amounts);
        let k2 = rates(n, flows.clone(), &moved(&amounts, &k1, 0.5 * h));
        let k3 = rates(n, flows.clone(), &moved(&amounts, &k2, 0.5 * h));
        let k4 = rates(n, flows.clone(), &moved(&amounts, &k3, h));
        for i in 0..4 {
            for b in 0..n {
                amounts[i][b] += h / 6.0 * (k1[i][b] + 2.0 * k2[i][b] + 2.0 * k3[i][b] + k4[i][b]);
            }
        }
    }
    for b in (0..n).filter(|&b| member(b)) {
        for i in 0..4 {
            stocks.p[i][b] = amounts[i][b] / system.capacity[b];
        }
    }
}

type Amounts = [[f64; MOST]; 4];

fn moved(amounts: &Amounts, rate: &Amounts, by: f64) -> Amounts {
    let mut out = *amounts;
    for i in 0..4 {
        for b in 0..MOST {
            out[i][b] += by * rate[i][b];
        }
    }
    out
}

/// What each compartment gains by flows `(from, to, flow)`.
fn rates(n: usize, flows: impl Iterator<Item = (usize, usize, f64)>, amounts: &Amounts) -> Amounts {
    let mut out = [[0.0; MOST]; 4];
    let mut total = [0.0; MOST];
    for b in 0..n {
        total[b] = amounts.iter().map(|species| species[b]).sum();
    }
    for (a, b, f) in flows {
        let upstream = if f >= 0.0 { a } else { b };
        for i in 0..4 {
            let carried = f * amounts[i][upstream] / total[upstream];
            out[i][a] -= carried;
            out[i][b] += carried;
        }
    }
    out
}

/// Potentials whose differences, times the weights of the joins `(a, b, weight)`, are flows from `a` to `b` that take `outflow` out of
/// each compartment: 0 in the first compartment met, whose own balance follows from the others'.
fn network(joins: impl Iterator<Item = (usize, usize, f64)> + Clone, outflow: &[f64; MOST]) -> [f64; MOST] {
    // Compartments in the order in which they are met: each with its place from 0, the first without an equation.
    let mut places = [None; MOST];
    let mut count = 0;
    for (a, b, _) in joins.clone() {
        for c in [a, b] {
            if places[c].is_none() {
                places[c] = Some(count);
                count += 1;
            }
        }
    }
    let unknown = |c: usize| places[c].and_then(|place: usize| place.checked_sub(1));
    let mut matrix = [[0.0; MOST + 1]; MOST];
    let size = count.saturating_sub(1);
    for c in 0..MOST {
        if let Some(row) = unknown(c) {
            matrix[row][size] = outflow[c];
        }
    }
    for (a, b, w) in joins {
        for (end, other) in [(a, b), (b, a)] {
            if let Some(row) = unknown(end) {
                matrix[row][row] += w;
                if let Some(column) = unknown(other) {
                    matrix[row][column] -= w;
                }
            }
        }
    }
    let potentials = eliminate(&mut matrix, size);
    std::array::from_fn(|c| unknown(c).map_or(0.0, |place| potentials[place]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gas_takes_the_way_through_a_middle_room() {
        let joins = [(0, 1, 2.0), (1, 2, 0.1)];
        let potentials = network(joins.into_iter(), &[3.0, -1.0, -2.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
        let [first, second] = joins.map(|(a, b, w)| w * (potentials[a] - potentials[b]));
        assert!((first - 3.0).abs() < 1e-15 && (second - 2.0).abs() < 1e-15);
    }
}
