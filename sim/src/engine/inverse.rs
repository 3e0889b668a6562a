//! Real and complex inverses of `mu I - h J`, for the decoupled stage equations of a step of collocation.
//!
//! Gauss-Jordan elimination in place with partial pivoting (Higham 2002, Accuracy and Stability of Numerical Algorithms, section
//! 14.4). An inverse is less exact than triangular factors, but it only says where an iteration goes next, not where it ends; and to
//! multiply by it no number waits for the one before it. Rows lie together by fours for the same reason. The sizes are known at
//! run time only, and the order of all operations is as written: the same bits everywhere.

/// How many rows lie together.
const ROWS: usize = 4;

/// A number that can be eliminated with.
pub(crate) trait Number: Copy + Default + PartialEq {
    /// Numbers of one column and `ROWS` rows.
    type Block: Copy + Default + PartialEq;

    fn real(value: f64) -> Self;
    /// What pivots are chosen by.
    fn weight(self) -> f64;
    /// Not finite where there is none.
    fn reciprocal(self) -> Self;
    fn is_finite(self) -> bool;
    fn times(self, other: Self) -> Self;
    fn plus(self, other: Self) -> Self;
    fn get(block: &Self::Block, row: usize) -> Self;
    fn set(block: &mut Self::Block, row: usize, value: Self);
    /// `to += self * from`.
    fn add_times(self, from: &Self::Block, to: &mut Self::Block);
}

/// A complex number: real and imaginary part.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Complex(pub f64, pub f64);

impl Number for f64 {
    type Block = [f64; ROWS];

    fn real(value: f64) -> Self {
        value
    }

    fn weight(self) -> f64 {
        self.abs()
    }

    fn reciprocal(self) -> Self {
        1.0 / self
    }

    fn is_finite(self) -> bool {
        f64::is_finite(self)
    }

    fn times(self, other: Self) -> Self {
        self * other
    }

    fn plus(self, other: Self) -> Self {
        self + other
    }

    fn get(block: &Self::Block, row: usize) -> Self {
        block[row]
    }

    fn set(block: &mut Self::Block, row: usize, value: Self) {
        block[row] = value;
    }

    fn add_times(self, from: &Self::Block, to: &mut Self::Block) {
        for row in 0..ROWS {
            to[row] += self * from[row];
        }
    }
}

impl Number for Complex {
    /// Real parts, imaginary parts.
    type Block = [[f64; ROWS]; 2];

    fn real(value: f64) -> Self {
        Self(value, 0.0)
    }

    fn weight(self) -> f64 {
        self.0.abs() + self.1.abs()
    }

    fn reciprocal(self) -> Self {
        let scale = 1.0 / (self.0 * self.0 + self.1 * self.1);
        Self(self.0 * scale, -self.1 * scale)
    }

    fn is_finite(self) -> bool {
        self.0.is_finite() && self.1.is_finite()
    }

    fn times(self, other: Self) -> Self {
        Self(self.0 * other.0 - self.1 * other.1, self.0 * other.1 + self.1 * other.0)
    }

    fn plus(self, other: Self) -> Self {
        Self(self.0 + other.0, self.1 + other.1)
    }

    fn get(block: &Self::Block, row: usize) -> Self {
        Self(block[0][row], block[1][row])
    }

    fn set(block: &mut Self::Block, row: usize, value: Self) {
        (block[0][row], block[1][row]) = (value.0, value.1);
    }

    fn add_times(self, from: &Self::Block, to: &mut Self::Block) {
        let ([from_re, from_im], [to_re, to_im]) = (from, to);
        for row in 0..ROWS {
            to_re[row] += self.0 * from_re[row] - self.1 * from_im[row];
            to_im[row] += self.0 * from_im[row] + self.1 * from_re[row];
        }
    }
}

/// The inverse of a matrix.
#[derive(Clone, Debug, Default)]
pub(crate) struct Inverse<N: Number> {
    size: usize,
    /// Column after column of the first rows, then of the next; rows beyond the size stay zero.
    blocks: Vec<N::Block>,
    /// Row swapped with row `k` at step `k`.
    pivots: Vec<usize>,
    /// The row that is eliminated with: column and factor, where that is not zero.
    row: Vec<(usize, N)>,
}

impl<N: Number> Inverse<N> {
    /// Inverts `mu I - h J`; `jacobian` lies column by column. Whether it could be inverted.
    pub fn invert(&mut self, mu: N, h: f64, jacobian: &[f64], size: usize) -> bool {
        self.size = size;
        self.blocks.clear();
        self.blocks.resize(size.div_ceil(ROWS) * size, N::Block::default());
        self.pivots.clear();
        for k in 0..size {
            for i in 0..size {
                let value = N::real(-h * jacobian[k * size + i]);
                self.set(i, k, if i == k { value.plus(mu) } else { value });
            }
        }
        for k in 0..size {
            let mut pivot = k;
            for row in k + 1..size {
                if self.get(row, k).weight() > self.get(pivot, k).weight() {
                    pivot = row;
                }
            }
            let inverse = self.get(pivot, k).reciprocal();
            if !inverse.is_finite() {
                return false;
            }
            self.pivots.push(pivot);
            self.swap_rows(k, pivot);
            self.eliminate(k, inverse);
        }
        // What was done to rows is undone to columns.
        for k in (0..size).rev() {
            let pivot = self.pivots[k];
            if pivot != k {
                for blocks in self.blocks.chunks_exact_mut(size) {
                    blocks.swap(k, pivot);
                }
            }
        }
        true
    }

    /// Exchanges unknown `k` for the right side of row `k`; `inverse` of the number where they meet.
    fn eliminate(&mut self, k: usize, inverse: N) {
        let size = self.size;
        self.row.clear();
        for column in 0..size {
            let value = self.get(k, column);
            // Most states do not depend on most others.
            if column != k && value != N::default() {
                self.row.push((column, value.times(inverse).times(N::real(-1.0))));
            }
        }
        for blocks in self.blocks.chunks_exact_mut(size) {
            let with = blocks[k];
            if with != N::Block::default() {
                for &(column, factor) in &self.row {
                    factor.add_times(&with, &mut blocks[column]);
                }
                blocks[k] = N::Block::default();
                inverse.times(N::real(-1.0)).add_times(&with, &mut blocks[k]);
            }
        }
        for place in 0..self.row.len() {
            let (column, factor) = self.row[place];
            self.set(k, column, factor.times(N::real(-1.0)));
        }
        self.set(k, k, inverse);
    }

    /// Multiplies by the inverse: `number(k)` is what is multiplied, `put` is given each row with its number.
    pub fn times(&self, number: impl Fn(usize) -> N, mut put: impl FnMut(usize, N)) {
        for (place, blocks) in self.blocks.chunks_exact(self.size.max(1)).enumerate() {
            let mut sum = N::Block::default();
            for (k, block) in blocks.iter().enumerate() {
                number(k).add_times(block, &mut sum);
            }
            let first = place * ROWS;
            for row in first..self.size.min(first + ROWS) {
                put(row, N::get(&sum, row - first));
            }
        }
    }

    fn get(&self, row: usize, column: usize) -> N {
        N::get(&self.blocks[row / ROWS * self.size + column], row % ROWS)
    }

    fn set(&mut self, row: usize, column: usize, value: N) {
        N::set(&mut self.blocks[row / ROWS * self.size + column], row % ROWS, value);
    }

    fn swap_rows(&mut self, one: usize, other: usize) {
        if one != other {
            for column in 0..self.size {
                let (a, b) = (self.get(one, column), self.get(other, column));
                self.set(one, column, b);
                self.set(other, column, a);
            }
        }
    }
}

impl Inverse<f64> {
    /// Multiplies `x` by the inverse.
    pub fn of(&self, x: &[f64], out: &mut [f64]) {
        self.times(|k| x[k], |row, value| out[row] = value);
    }
}

impl Inverse<Complex> {
    /// Multiplies by the inverse: real parts, then imaginary ones.
    pub fn of(&self, x: &[f64], out: &mut [f64]) {
        let (re, im) = x.split_at(self.size);
        let (out_re, out_im) = out.split_at_mut(self.size);
        self.times(
            |k| Complex(re[k], im[k]),
            |row, value| (out_re[row], out_im[row]) = (value.0, value.1),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A full matrix, column by column, whose pivots are not on its diagonal.
    fn jacobian(n: usize) -> Vec<f64> {
        (0..n * n)
            .map(|k| ((k * k * 37 + k * 11) % 101) as f64 - 50.0)
            .collect()
    }

    /// The right side that belongs to known unknowns, and what comes of it.
    fn solved<N: Number>(mu: N, known: &[N]) -> Vec<N> {
        let (n, mut inverse) = (known.len(), Inverse::default());
        let j = jacobian(n);
        assert!(inverse.invert(mu, 0.2, &j, n));
        let right = |i: usize| {
            let sum = (0..n).fold(N::default(), |sum, k| {
                sum.plus(N::real(-0.2 * j[k * n + i]).times(known[k]))
            });
            sum.plus(mu.times(known[i]))
        };
        let mut out = vec![N::default(); n];
        inverse.times(right, |row, value| out[row] = value);
        out
    }

    #[test]
    fn inverses_solve() {
        for n in [1, 2, 4, 7, 30] {
            let known: Vec<f64> = (0..n).map(|i| 1.0 - 0.3 * i as f64).collect();
            for (x, known) in solved(3.0, &known).iter().zip(&known) {
                assert!((x - known).abs() < 1e-9, "{n} {x} {known}");
            }
            let known: Vec<Complex> = known
                .iter()
                .enumerate()
                .map(|(i, &re)| Complex(re, 0.1 * i as f64 - 1.0))
                .collect();
            for mu in [Complex(3.0, 5.0), Complex(4.0, -1.0)] {
                for (x, known) in solved(mu, &known).iter().zip(&known) {
                    let off = (x.0 - known.0).abs() + (x.1 - known.1).abs();
                    assert!(off < 1e-9, "{n} {x:?} {known:?}");
                }
            }
        }
    }

    #[test]
    fn parts_lie_apart() {
        let mut inverse = Inverse::default();
        assert!(inverse.invert(Complex(0.0, 2.0), 1.0, &[0.0, 0.0, 0.0, 0.0], 2));
        let mut out = [0.0; 4];
        inverse.of(&[2.0, 4.0, 6.0, 8.0], &mut out);
        // (a + b i) / (2 i)
        assert_eq!(out, [3.0, 4.0, -1.0, -2.0]);
    }

    #[test]
    fn what_cannot_be_inverted_is_told() {
        assert!(!Inverse::default().invert(1.0, 1.0, &[1.0, 0.0, 0.0, 0.0], 2));
        assert!(!Inverse::default().invert(1.0, 1.0, &[f64::NAN], 1));
        assert!(!Inverse::default().invert(Complex(1.0, 0.0), 1.0, &[1.0], 1));
    }
}
