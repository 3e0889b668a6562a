//! Tables of five-stage Radau IIA collocation (order 9, stiffly accurate), worked out from its nodes.
//!
//! The nodes are the roots of the Radau right polynomial on [0, 1] (Hairer and Wanner 1996, Solving Ordinary Differential
//! Equations II, section IV.5): the test holds them to the quadrature conditions up to order 9.

use std::sync::LazyLock;

use super::decouple::Decoupling;
use super::poly::{COEFFICIENTS, Poly};

/// Stages.
pub(crate) const STAGES: usize = 5;

/// Nodes.
pub(crate) const NODES: [f64; STAGES] = [
    0.057_104_196_114_517_68,
    0.276_843_013_638_123_8,
    0.583_590_432_368_916_8,
    0.860_240_135_656_219_4,
    1.0,
];

/// What follows from the nodes.
pub(crate) struct Tables {
    /// `a[j][l]`: the integral of the `l`th Lagrange polynomial from 0 to node `j`.
    pub a: [[f64; STAGES]; STAGES],
    /// Coefficient `i` of the polynomial through values at the nodes: `sum_l inner[i][l] v_l`.
    inner: [[f64; STAGES]; STAGES],
    /// The same through the start as well: `sum_l through[i][l] v_l`, `v_0` at 0.
    through: [[f64; COEFFICIENTS]; COEFFICIENTS],
}

/// The tables.
pub(crate) static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    let inner = lagrange(&NODES);
    let mut with_start = [0.0; COEFFICIENTS];
    with_start[1..].copy_from_slice(&NODES);
    let mut a = [[0.0; STAGES]; STAGES];
    for j in 0..STAGES {
        for l in 0..STAGES {
            let mut sum = 0.0;
            for i in (0..STAGES).rev() {
                sum = (sum + inner[i][l] / (i + 1) as f64) * NODES[j];
            }
            a[j][l] = sum;
        }
    }
    Tables {
        a,
        inner,
        through: lagrange(&with_start),
    }
});

/// `out[i][l]`: coefficient `i` of the Lagrange polynomial of node `l`.
fn lagrange<const N: usize>(nodes: &[f64; N]) -> [[f64; N]; N] {
    let mut out = [[0.0; N]; N];
    for l in 0..N {
        let mut c = [0.0; N];
        c[0] = 1.0;
        let mut degree = 0;
        let mut scale = 1.0;
        for (m, node) in nodes.iter().enumerate() {
            if m == l {
                continue;
            }
            degree += 1;
            for i in (0..=degree).rev() {
                c[i] = if i == 0 { 0.0 } else { c[i - 1] } - node * c[i];
            }
            scale *= nodes[l] - node;
        }
        for i in 0..N {
            out[i][l] = c[i] / scale;
        }
    }
    out
}

impl Tables {
    /// The polynomial through `start` at 0 and values at the nodes.
    pub fn through(&self, start: f64, values: [f64; STAGES]) -> Poly {
        let mut poly = Poly::default();
        for i in 0..COEFFICIENTS {
            let mut sum = self.through[i][0] * start;
            for l in 0..STAGES {
                sum += self.through[i][l + 1] * values[l];
            }
            poly.0[i] = sum;
        }
        poly
    }

    /// The polynomial through values at the nodes alone.
    pub fn inner(&self, values: [f64; STAGES]) -> Poly {
        let mut poly = Poly::default();
        for i in 0..STAGES {
            poly.0[i] = (0..STAGES).map(|l| self.inner[i][l] * values[l]).sum();
        }
        poly
    }
}

/// The stage equations of one relaxing mode, `(I + z A) Z = start + h A g`, solved for every `g`: `z = h lambda >= 0`.
///
/// Taken apart by the eigenvectors of `A^-1` (see `decouple`): `(L + z) Y = T^-1 A^-1 start + h T^-1 g`, `Z = T Y`, with one real
/// and two complex quotients.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct StageSolver {
    h: f64,
    /// `1 / (l + z)` of the real eigenvalue, then real and imaginary part of those of the pairs.
    inverse: [f64; STAGES],
}

impl StageSolver {
    /// Solves for a step of `h` s and a rate of `lambda` 1/s.
    pub fn set(&mut self, decoupling: &Decoupling, h: f64, lambda: f64) {
        let z = h * lambda;
        self.h = h;
        self.inverse[0] = 1.0 / (decoupling.real + z);
        for (p, pair) in decoupling.pairs.iter().enumerate() {
            let (a, b) = (pair[0] + z, pair[1]);
            let scale = 1.0 / (a * a + b * b);
            self.inverse[1 + 2 * p] = a * scale;
            self.inverse[2 + 2 * p] = -b * scale;
        }
    }

    /// The stages from the start of the step and the remainders at its nodes.
    pub fn solve(&self, decoupling: &Decoupling, start: f64, rest: &[f64; STAGES]) -> [f64; STAGES] {
        // Column by column, so that the sums go on side by side.
        let mut y = [0.0; STAGES];
        for l in 0..STAGES {
            for j in 0..STAGES {
                y[j] += decoupling.from_stages_columns[l][j] * rest[l];
            }
        }
        for j in 0..STAGES {
            y[j] = decoupling.of_start[j] * start + self.h * y[j];
        }
        y[0] *= self.inverse[0];
        for p in [1, 3] {
            let (u, v) = (y[p], y[p + 1]);
            let (a, b) = (self.inverse[p], self.inverse[p + 1]);
            y[p] = a * u - b * v;
            y[p + 1] = a * v + b * u;
        }
        let mut stages = [0.0; STAGES];
        for l in 0..STAGES {
            for j in 0..STAGES {
                stages[j] += decoupling.to_stages_columns[l][j] * y[l];
            }
        }
        stages
    }
}

#[cfg(test)]
mod tests {
    use super::super::decouple::DECOUPLING;
    use super::*;

    #[test]
    fn the_nodes_are_radau_s() {
        let tables = &*TABLES;
        // Quadrature with the last row is exact to degree 2 s - 2 = 8, and each row to degree 4.
        for q in 1..=9 {
            let sum: f64 = (0..STAGES)
                .map(|l| tables.a[STAGES - 1][l] * NODES[l].powi(q - 1))
                .sum();
            assert!((sum - 1.0 / f64::from(q)).abs() < 1e-14, "{q}: {sum}");
        }
        for j in 0..STAGES {
            for q in 1..=5 {
                let sum: f64 = (0..STAGES).map(|l| tables.a[j][l] * NODES[l].powi(q - 1)).sum();
                assert!((sum - NODES[j].powi(q) / f64::from(q)).abs() < 1e-14, "{j} {q}");
            }
        }
    }

    #[test]
    fn polynomials_go_through_their_points() {
        let values = [2.0, -1.0, 0.5, 3.0, 1.0];
        let (through, inner) = (TABLES.through(1.5, values), TABLES.inner(values));
        assert!((through.at(0.0) - 1.5).abs() < 1e-12);
        for l in 0..STAGES {
            assert!((through.at(NODES[l]) - values[l]).abs() < 1e-12);
            assert!((inner.at(NODES[l]) - values[l]).abs() < 1e-12);
        }
    }

    #[test]
    fn the_solver_solves_from_slow_to_stiff() {
        for z in [0.0, 0.3, 7.0, 1e6] {
            let (start, rest, h) = (0.7, [1.0, 2.0, -1.0, 0.0, 3.0], 50.0);
            let mut solver = StageSolver::default();
            solver.set(&DECOUPLING, h, z / h);
            let x = solver.solve(&DECOUPLING, start, &rest);
            for j in 0..STAGES {
                let sum = |values: &[f64; STAGES]| (0..STAGES).map(|l| TABLES.a[j][l] * values[l]).sum::<f64>();
                let (left, right) = (x[j] + z * sum(&x), start + h * sum(&rest));
                assert!((left - right).abs() < 1e-9, "{z} {j} {left} {right}");
            }
        }
    }
}
