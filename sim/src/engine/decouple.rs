//! The eigenvectors of the inverse of Radau's matrix `A`, which take the stage equations apart.
//!
//! `A^-1 T = T L`: `L` has one real eigenvalue and two pairs of complex ones, so that a linear system of five times the size
//! falls into one real and two complex systems of the size itself (Hairer and Wanner 1996, Solving Ordinary Differential
//! Equations II, section IV.8).
//!
//! The eigenvalues are the zeros of the denominator of the method's stability function, the Pade approximation of the
//! exponential of degree 4 over 5 (there, section IV.5): `sum_i (9 - i)! 5! / (9! i! (5 - i)!) (-z)^i`. All of it is worked out
//! once, by sums and products alone.

use std::sync::LazyLock;

use super::poly::Poly;
use super::radau::{NODES, STAGES, TABLES};

/// A matrix over the stages.
pub(crate) type Square = [[f64; STAGES]; STAGES];

/// What takes the stage equations apart.
pub(crate) struct Decoupling {
    /// `A^-1`.
    pub inverse: Square,
    /// The real eigenvalue.
    pub real: f64,
    /// One of each pair of complex ones, negative imaginary part: the one that stage sums 1 + 2i and 3 + 4i see.
    pub pairs: [[f64; 2]; 2],
    /// `T`: its columns are the real eigenvector, and real and imaginary part of one of each pair.
    pub to_stages: Square,
    /// `T^-1`.
    pub from_stages: Square,
    /// The same by columns, for sums that go on side by side (`radau`).
    pub from_stages_columns: Square,
    /// `T` by columns, likewise.
    pub to_stages_columns: Square,
    /// `T^-1 A^-1` of a start of 1.
    pub of_start: [f64; STAGES],
    /// The polynomial that is 1 at node `l`, and 0 at the start and at all other nodes.
    pub basis: [Poly; STAGES],
}

/// What takes the stage equations apart.
pub(crate) static DECOUPLING: LazyLock<Decoupling> = LazyLock::new(|| {
    let inverse = slopes();
    let (real, pairs) = eigenvalues();
    let mut to_stages = [[0.0; STAGES]; STAGES];
    let vector = eigenvector(&inverse, [real, 0.0]);
    for j in 0..STAGES {
        to_stages[j][0] = vector[j][0];
    }
    for (p, pair) in pairs.iter().enumerate() {
        // The conjugate eigenvalue's vector u + iv: A^-1 (u, v) = (u, v) ((a, b), (-b, a)) with a + ib that eigenvalue, so
        // that w = w_u + i w_v obeys (a - ib) w.
        let vector = eigenvector(&inverse, [pair[0], -pair[1]]);
        for j in 0..STAGES {
            to_stages[j][1 + 2 * p] = vector[j][0];
            to_stages[j][2 + 2 * p] = vector[j][1];
        }
    }
    let from_stages = invert(&to_stages);
    let ones: [f64; STAGES] = inverse.map(|row| row.iter().sum());
    Decoupling {
        inverse,
        real,
        pairs,
        to_stages,
        from_stages,
        from_stages_columns: transposed(&from_stages),
        to_stages_columns: transposed(&to_stages),
        of_start: from_stages.map(|row| row.iter().zip(&ones).map(|(a, b)| a * b).sum()),
        basis: std::array::from_fn(|l| {
            let mut values = [0.0; STAGES];
            values[l] = 1.0;
            TABLES.through(0.0, values)
        }),
    }
});

impl Decoupling {
    /// `weights[j][l]`: share of the `l`th node's increment in the increment at `from + length NODES[j]`, both in lengths of
    /// the step whose increments are known.
    pub fn weights(&self, from: f64, length: f64) -> Square {
        std::array::from_fn(|j| self.values_at(from + length * NODES[j]))
    }

    /// Share of each node's increment in the increment at `theta`.
    pub fn values_at(&self, theta: f64) -> [f64; STAGES] {
        std::array::from_fn(|l| self.basis[l].at(theta))
    }

    /// The same for the derivative by `theta`.
    pub fn slopes_at(&self, theta: f64) -> [f64; STAGES] {
        std::array::from_fn(|l| self.basis[l].slope().at(theta))
    }
}

/// `A^-1`: the derivatives at the nodes of the polynomials that are 1 at one of them, and 0 at the start and at all others.
///
/// From the nodes themselves, more exact than by inverting `A`.
fn slopes() -> Square {
    let apart = |j: usize| -> f64 {
        (0..STAGES)
            .filter(|&m| m != j)
            .fold(NODES[j], |product, m| product * (NODES[j] - NODES[m]))
    };
    std::array::from_fn(|j| {
        std::array::from_fn(|l| {
            if j == l {
                let others = (0..STAGES).filter(|&m| m != j);
                others.fold(1.0 / NODES[j], |sum, m| sum + 1.0 / (NODES[j] - NODES[m]))
            } else {
                apart(j) / (apart(l) * (NODES[j] - NODES[l]))
            }
        })
    })
}

fn transposed(matrix: &Square) -> Square {
    std::array::from_fn(|j| std::array::from_fn(|l| matrix[l][j]))
}

/// The inverse, by Gauss and Jordan with partial pivoting.
fn invert(matrix: &Square) -> Square {
    let mut a = *matrix;
    let mut out: Square = std::array::from_fn(|j| std::array::from_fn(|l| if j == l { 1.0 } else { 0.0 }));
    for k in 0..STAGES {
        let mut pivot = k;
        for row in k + 1..STAGES {
            if a[row][k].abs() > a[pivot][k].abs() {
                pivot = row;
            }
        }
        a.swap(k, pivot);
        out.swap(k, pivot);
        let inverse = 1.0 / a[k][k];
        for l in 0..STAGES {
            a[k][l] *= inverse;
            out[k][l] *= inverse;
        }
        for row in 0..STAGES {
            if row != k {
                let factor = a[row][k];
                for l in 0..STAGES {
                    a[row][l] -= factor * a[k][l];
                    out[row][l] -= factor * out[k][l];
                }
            }
        }
    }
    out
}

type Complex = [f64; 2];

fn times(a: Complex, b: Complex) -> Complex {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

fn minus(a: Complex, b: Complex) -> Complex {
    [a[0] - b[0], a[1] - b[1]]
}

fn over(a: Complex, b: Complex) -> Complex {
    let scale = 1.0 / (b[0] * b[0] + b[1] * b[1]);
    times(a, [b[0] * scale, -b[1] * scale])
}

/// The real eigenvalue, and of each pair the one with negative imaginary part.
fn eigenvalues() -> (f64, [Complex; 2]) {
    let mut c = [0.0; STAGES + 1];
    c[0] = 1.0;
    for i in 0..STAGES {
        // Ratio of one coefficient to the one before.
        c[i + 1] = -c[i] * (STAGES - i) as f64 / ((i + 1) * (2 * STAGES - 1 - i)) as f64;
    }
    // All zeros at once (Durand and Kerner's iteration), from points on no axis of symmetry.
    let mut zeros: [Complex; STAGES] = [[1.0, 0.0]; STAGES];
    let mut power = [1.0, 0.0];
    for zero in &mut zeros {
        *zero = [6.0 * power[0], 6.0 * power[1]];
        power = times(power, [0.4, 0.9]);
    }
    for _ in 0..100 {
        for j in 0..STAGES {
            let mut value = [c[STAGES], 0.0];
            for i in (0..STAGES).rev() {
                value = times(value, zeros[j]);
                value[0] += c[i];
            }
            let mut others = [c[STAGES], 0.0];
            for l in 0..STAGES {
                if l != j {
                    others = times(others, minus(zeros[j], zeros[l]));
                }
            }
            zeros[j] = minus(zeros[j], over(value, others));
        }
    }
    zeros.sort_by(|a, b| a[1].total_cmp(&b[1]));
    (zeros[2][0], [zeros[0], zeros[1]])
}

/// The eigenvector whose last entry is 1: the first four equations, by elimination with partial pivoting.
fn eigenvector(inverse: &Square, value: Complex) -> [Complex; STAGES] {
    const UNKNOWN: usize = STAGES - 1;
    let mut m = [[[0.0; 2]; STAGES]; UNKNOWN];
    for j in 0..UNKNOWN {
        for l in 0..STAGES {
            m[j][l][0] = inverse[j][l];
        }
        m[j][j] = minus(m[j][j], value);
        m[j][UNKNOWN] = [-m[j][UNKNOWN][0], -m[j][UNKNOWN][1]];
    }
    for k in 0..UNKNOWN {
        let weight = |x: Complex| x[0].abs() + x[1].abs();
        let mut pivot = k;
        for row in k + 1..UNKNOWN {
            if weight(m[row][k]) > weight(m[pivot][k]) {
                pivot = row;
            }
        }
        m.swap(k, pivot);
        for row in k + 1..UNKNOWN {
            let factor = over(m[row][k], m[k][k]);
            for l in k..STAGES {
                m[row][l] = minus(m[row][l], times(factor, m[k][l]));
            }
        }
    }
    let mut x = [[1.0, 0.0]; STAGES];
    for k in (0..UNKNOWN).rev() {
        let mut rest = m[k][UNKNOWN];
        for l in k + 1..UNKNOWN {
            rest = minus(rest, times(m[k][l], x[l]));
        }
        x[k] = over(rest, m[k][k]);
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    fn multiply(a: &Square, b: &Square) -> Square {
        std::array::from_fn(|j| std::array::from_fn(|l| (0..STAGES).map(|k| a[j][k] * b[k][l]).sum()))
    }

    #[test]
    fn the_parts_make_the_whole() {
        let d = &*DECOUPLING;
        let one = multiply(&d.inverse, &TABLES.a);
        let also_one = multiply(&d.to_stages, &d.from_stages);
        let mut blocks = [[0.0; STAGES]; STAGES];
        blocks[0][0] = d.real;
        for (p, [re, im]) in d.pairs.into_iter().enumerate() {
            let k = 1 + 2 * p;
            (blocks[k][k], blocks[k + 1][k + 1]) = (re, re);
            (blocks[k][k + 1], blocks[k + 1][k]) = (-im, im);
        }
        let back = multiply(&multiply(&d.to_stages, &blocks), &d.from_stages);
        for j in 0..STAGES {
            for l in 0..STAGES {
                let unit = if j == l { 1.0 } else { 0.0 };
                assert!((one[j][l] - unit).abs() < 1e-13, "{j} {l} {}", one[j][l]);
                assert!((also_one[j][l] - unit).abs() < 1e-13, "{j} {l} {}", also_one[j][l]);
                let difference = (back[j][l] - d.inverse[j][l]).abs();
                assert!(difference < 1e-12, "{j} {l} {difference}");
            }
        }
    }

    #[test]
    fn the_eigenvalues_are_those_of_the_pade_denominator() {
        // Their product is 9! / 4!, their sum 25; the real one as in Hairer and Wanner's code RADAU, from memory.
        let d = &*DECOUPLING;
        let product = d.real * d.pairs.iter().map(|[re, im]| re * re + im * im).product::<f64>();
        assert!((product / 15_120.0 - 1.0).abs() < 1e-13, "{product}");
        let sum = d.real + 2.0 * d.pairs.iter().map(|pair| pair[0]).sum::<f64>();
        assert!((sum - 25.0).abs() < 1e-12, "{sum}");
        assert!((d.real - 6.286_704_751_729_277).abs() < 1e-12, "{}", d.real);
    }
}
