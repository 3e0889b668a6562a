//! The eigenbasis in which one species relaxes while nothing in the equations changes.
//!
//! Partial pressures `p` (Pa) of one species in `n` compartments of capacity `c_a = V_a / (R T_a)` (mol/Pa) follow
//!
//! ```text
//! c_a p_a' = sum_b g_ab (p_b - p_a) - G_a p_a + s_a(t)
//! ```
//!
//! with exchange conductances `g_ab = Q / (R T_mean)` and sinks `G_a` (both mol/s/Pa) and sources `s_a` (mol/s).
//! In `y_a = sqrt(c_a) p_a` the matrix is symmetric, so it has real rates `lambda >= 0` and orthonormal vectors
//! `U`; in `z = U^T y` every mode is alone: `z_k' = -lambda_k z_k + (U^T s / sqrt(c))_k`.
//!
//! Valid for `n` up to [`MOST`]; the rates of a sealed group include an exact zero (set where rounding leaves less than
//! 1e-14 of the largest rate).

use nalgebra::SMatrix;

use crate::air::MOST;

/// One species' rates and vectors in one mode.
#[derive(Clone, Debug)]
pub(crate) struct Basis {
    /// What it was made for: exchange pattern, sinks (mol/s/Pa), compartments held.
    key: Key,
    /// Number of compartments.
    pub n: usize,
    /// Rates, 1/s.
    pub lambda: [f64; MOST],
    /// `p_a = sum_k to_p[a][k] z_k`, and for amounts (mol, or mol/s) `z_k = sum_a to_p[a][k] amount_a`.
    pub to_p: [[f64; MOST]; MOST],
}

/// Everything the matrix depends on, within one run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Key {
    /// Number of the exchange pattern.
    pub pattern: usize,
    /// Sinks, mol/s/Pa.
    pub sink: [f64; MOST],
    /// Compartments in which this species is held.
    pub held: [bool; MOST],
}

/// The bases made so far in a run.
#[derive(Debug, Default)]
pub(crate) struct Bases {
    made: Vec<Basis>,
    last: usize,
    /// How many were made, for the work counters.
    pub count: u64,
}

impl Bases {
    /// Forgets all; keeps the storage.
    pub fn clear(&mut self) {
        self.made.clear();
        self.last = 0;
        self.count = 0;
    }

    /// Forgets the bases, not how many were made: an exchange flow has changed, which their keys do not tell.
    pub fn forget(&mut self) {
        self.made.clear();
        self.last = 0;
    }

    /// The basis at a place that [`Bases::find`] gave.
    pub fn get(&self, place: usize) -> &Basis {
        &self.made[place]
    }

    /// The place of the basis for `key`, made if it is new. `exchange[a][b]` in mol/s/Pa, `capacity` in mol/Pa.
    pub fn find(&mut self, n: usize, key: &Key, capacity: &[f64; MOST], exchange: &[[f64; MOST]; MOST]) -> usize {
        // A device that takes turns goes back and forth between two bases: look at the neighbours first.
        let len = self.made.len();
        for offset in 0..len {
            let place = (self.last + len - offset) % len;
            if self.made[place].key == *key {
                self.last = place;
                return place;
            }
        }
        self.made.push(Basis::new(n, key, capacity, exchange));
        self.count += 1;
        self.last = self.made.len() - 1;
        self.last
    }
}

impl Basis {
    fn new(n: usize, key: &Key, capacity: &[f64; MOST], exchange: &[[f64; MOST]; MOST]) -> Self {
        let mut matrix = [[0.0; MOST]; MOST];
        for a in 0..n {
            if key.held[a] {
                continue;
            }
            let mut out = key.sink[a];
            for b in 0..n {
                out += exchange[a][b];
                if b != a && !key.held[b] {
                    matrix[a][b] = -exchange[a][b] / libm::sqrt(capacity[a] * capacity[b]);
                }
            }
            matrix[a][a] = out / capacity[a];
        }
        let (mut lambda, vectors) = eigen(n, &matrix);
        let largest = lambda[..n].iter().fold(0.0_f64, |m, &l| m.max(l));
        for rate in &mut lambda[..n] {
            if *rate < 1e-14 * largest {
                *rate = 0.0;
            }
        }
        let mut to_p = [[0.0; MOST]; MOST];
        for a in 0..n {
            let root = libm::sqrt(capacity[a]);
            for k in 0..n {
                to_p[a][k] = vectors[a][k] / root;
            }
        }
        Self {
            key: *key,
            n,
            lambda,
            to_p,
        }
    }
}

/// Static sizes: a dynamic matrix chooses its kernels at run time, which changes bits.
macro_rules! solve_static {
    ($n:literal, $matrix:ident, $lambda:ident, $vectors:ident) => {{
        let solved = nalgebra::SymmetricEigen::new(SMatrix::<f64, $n, $n>::from_fn(|a, b| $matrix[a][b]));
        for k in 0..$n {
            $lambda[k] = solved.eigenvalues[k].max(0.0);
            for a in 0..$n {
                $vectors[a][k] = solved.eigenvectors[(a, k)];
            }
        }
    }};
}

/// Rates and vectors of a symmetric `n` by `n` matrix. A diagonal matrix (nothing joined) needs no work.
fn eigen(n: usize, matrix: &[[f64; MOST]; MOST]) -> ([f64; MOST], [[f64; MOST]; MOST]) {
    let mut lambda = [0.0; MOST];
    let mut vectors = [[0.0; MOST]; MOST];
    let joined = (0..n).any(|a| (0..n).any(|b| a != b && matrix[a][b] != 0.0));
    if !joined {
        for a in 0..n {
            lambda[a] = matrix[a][a];
            vectors[a][a] = 1.0;
        }
        return (lambda, vectors);
    }
    match n {
        2 => solve_static!(2, matrix, lambda, vectors),
        3 => solve_static!(3, matrix, lambda, vectors),
        4 => solve_static!(4, matrix, lambda, vectors),
        5 => solve_static!(5, matrix, lambda, vectors),
        6 => solve_static!(6, matrix, lambda, vectors),
        7 => solve_static!(7, matrix, lambda, vectors),
        _ => solve_static!(8, matrix, lambda, vectors),
    }
    (lambda, vectors)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_rooms_relax_at_the_rate_of_their_volumes_in_series() {
        let mut capacity = [0.0; MOST];
        capacity[0] = 2.0;
        capacity[1] = 3.0;
        let mut exchange = [[0.0; MOST]; MOST];
        exchange[0][1] = 0.6;
        exchange[1][0] = 0.6;
        let key = Key {
            pattern: 0,
            sink: [0.0; MOST],
            held: [false; MOST],
        };
        let mut bases = Bases::default();
        let place = bases.find(2, &key, &capacity, &exchange);
        let basis = bases.get(place);
        let mut rates = [basis.lambda[0], basis.lambda[1]];
        rates.sort_by(f64::total_cmp);
        assert_eq!(rates[0], 0.0);
        assert!((rates[1] - 0.6 * (1.0 / 2.0 + 1.0 / 3.0)).abs() < 1e-15);
        assert_eq!(bases.find(2, &key, &capacity, &exchange), place);
        assert_eq!(bases.count, 1);
    }

    #[test]
    fn into_the_basis_and_back_is_the_identity() {
        let capacity = [1.0, 2.0, 4.0, 0.5, 0.0, 0.0, 0.0, 0.0];
        let mut exchange = [[0.0; MOST]; MOST];
        for (a, b, g) in [(0, 1, 0.3), (1, 2, 0.2), (2, 3, 0.9)] {
            exchange[a][b] = g;
            exchange[b][a] = g;
        }
        let key = Key {
            pattern: 0,
            sink: [0.1, 0.0, 0.3, 0.0, 0.0, 0.0, 0.0, 0.0],
            held: [false; MOST],
        };
        let mut bases = Bases::default();
        let place = bases.find(4, &key, &capacity, &exchange);
        let basis = bases.get(place);
        let p = [3.0_f64, 5.0, 7.0, 11.0];
        for a in 0..4 {
            let back: f64 = (0..4)
                .map(|k| basis.to_p[a][k] * (0..4).map(|b| basis.to_p[b][k] * capacity[b] * p[b]).sum::<f64>())
                .sum();
            assert!((back - p[a]).abs() < 1e-13);
        }
    }
}
