//! Real and complex triangular factors of `mu I - h J`, for the decoupled stage equations of a step of collocation.
//!
//! Gaussian elimination with partial pivoting (Golub and Van Loan 2013, Matrix Computations, section 3.4), columns one after the
//! other in memory, so that every inner loop runs along a column. Real and imaginary parts lie apart for the same reason. The
//! sizes are known at run time only, and the order of all operations is as written: the same bits everywhere.

/// Factors of a real matrix.
#[derive(Clone, Debug, Default)]
pub(crate) struct RealLu {
    size: usize,
    /// The factors, column by column; the diagonal of the lower one is 1 and not kept.
    a: Vec<f64>,
    /// Reciprocals of the upper one's diagonal.
    inverse: Vec<f64>,
    /// Row swapped with row `k` at step `k`.
    pivots: Vec<usize>,
}

/// Factors of a complex matrix.
#[derive(Clone, Debug, Default)]
pub(crate) struct ComplexLu {
    size: usize,
    re: Vec<f64>,
    im: Vec<f64>,
    /// Reciprocals of the upper factor's diagonal.
    inverse: Vec<[f64; 2]>,
    pivots: Vec<usize>,
}

/// `to -= factor * from`.
fn subtract(to: &mut [f64], factor: f64, from: &[f64]) {
    for (to, from) in to.iter_mut().zip(from) {
        *to -= factor * from;
    }
}

/// The same with complex numbers.
fn subtract_complex(to: [&mut [f64]; 2], [re, im]: [f64; 2], from: [&[f64]; 2]) {
    let [to_re, to_im] = to;
    for (((to_re, to_im), from_re), from_im) in to_re.iter_mut().zip(to_im).zip(from[0]).zip(from[1]) {
        *to_re -= re * from_re - im * from_im;
        *to_im -= re * from_im + im * from_re;
    }
}

/// The reciprocal, without overflow where the number is neither huge nor tiny.
fn reciprocal([re, im]: [f64; 2]) -> [f64; 2] {
    let scale = 1.0 / (re * re + im * im);
    [re * scale, -im * scale]
}

fn product(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

/// Swaps two rows of a matrix.
fn swap_rows(a: &mut [f64], size: usize, one: usize, other: usize) {
    if one != other {
        for column in a.chunks_exact_mut(size) {
            column.swap(one, other);
        }
    }
}

impl RealLu {
    /// Factors `mu I - h J`; `jacobian` lies column by column. Whether it could be factored.
    pub fn factor(&mut self, mu: f64, h: f64, jacobian: &[f64], size: usize) -> bool {
        self.size = size;
        self.a.clear();
        self.a.extend(jacobian.iter().map(|j| -h * j));
        self.inverse.clear();
        self.pivots.clear();
        for k in 0..size {
            self.a[k * size + k] += mu;
        }
        for k in 0..size {
            let column = &self.a[k * size..(k + 1) * size];
            let mut pivot = k;
            for row in k + 1..size {
                if column[row].abs() > column[pivot].abs() {
                    pivot = row;
                }
            }
            let inverse = 1.0 / column[pivot];
            if !inverse.is_finite() {
                return false;
            }
            self.pivots.push(pivot);
            self.inverse.push(inverse);
            swap_rows(&mut self.a, size, k, pivot);
            let (done, rest) = self.a.split_at_mut((k + 1) * size);
            let lower = &mut done[k * size + k + 1..];
            for l in &mut *lower {
                *l *= inverse;
            }
            for column in rest.chunks_exact_mut(size) {
                let factor = column[k];
                // Most states do not depend on most others.
                if factor != 0.0 {
                    subtract(&mut column[k + 1..], factor, lower);
                }
            }
        }
        true
    }

    /// Solves in place.
    pub fn solve(&self, x: &mut [f64]) {
        self.swap(x);
        for k in 0..self.size {
            self.forward(k, x);
        }
        for k in (0..self.size).rev() {
            self.backward(k, x);
        }
    }

    fn swap(&self, x: &mut [f64]) {
        for (k, &pivot) in self.pivots.iter().enumerate() {
            x.swap(k, pivot);
        }
    }

    /// Takes unknown `k` of the lower factor out of the rows below.
    fn forward(&self, k: usize, x: &mut [f64]) {
        let (head, tail) = x.split_at_mut(k + 1);
        subtract(tail, head[k], &self.a[k * self.size..][..self.size][k + 1..]);
    }

    /// Takes unknown `k` of the upper factor out of the rows above.
    fn backward(&self, k: usize, x: &mut [f64]) {
        let (head, tail) = x.split_at_mut(k);
        tail[0] *= self.inverse[k];
        subtract(head, tail[0], &self.a[k * self.size..][..k]);
    }
}

/// Solves a real and two complex systems of the same size in place: `x` is the real one, then real and imaginary parts.
///
/// Side by side, for each column must wait for the one before it.
pub(crate) fn solve_together(real: &RealLu, pairs: &[ComplexLu; 2], x: &mut [f64]) {
    let n = real.size;
    let (x, rest) = x.split_at_mut(n);
    let (one, other) = rest.split_at_mut(2 * n);
    let (mut one, mut other) = (one.split_at_mut(n), other.split_at_mut(n));
    real.swap(x);
    pairs[0].swap(&mut one);
    pairs[1].swap(&mut other);
    for k in 0..n {
        real.forward(k, x);
        pairs[0].forward(k, &mut one);
        pairs[1].forward(k, &mut other);
    }
    for k in (0..n).rev() {
        real.backward(k, x);
        pairs[0].backward(k, &mut one);
        pairs[1].backward(k, &mut other);
    }
}

impl ComplexLu {
    /// Factors `mu I - h J`. Whether it could be factored.
    pub fn factor(&mut self, mu: [f64; 2], h: f64, jacobian: &[f64], size: usize) -> bool {
        self.size = size;
        self.re.clear();
        self.re.extend(jacobian.iter().map(|j| -h * j));
        self.im.clear();
        self.im.resize(jacobian.len(), 0.0);
        self.inverse.clear();
        self.pivots.clear();
        for k in 0..size {
            self.re[k * size + k] += mu[0];
            self.im[k * size + k] += mu[1];
        }
        for k in 0..size {
            let at = |row: usize| [self.re[k * size + row], self.im[k * size + row]];
            let weight = |row: usize| at(row)[0].abs() + at(row)[1].abs();
            let mut pivot = k;
            for row in k + 1..size {
                if weight(row) > weight(pivot) {
                    pivot = row;
                }
            }
            let inverse = reciprocal(at(pivot));
            if !(inverse[0].is_finite() && inverse[1].is_finite()) {
                return false;
            }
            self.pivots.push(pivot);
            self.inverse.push(inverse);
            swap_rows(&mut self.re, size, k, pivot);
            swap_rows(&mut self.im, size, k, pivot);
            let (done_re, rest_re) = self.re.split_at_mut((k + 1) * size);
            let (done_im, rest_im) = self.im.split_at_mut((k + 1) * size);
            let (lower_re, lower_im) = (&mut done_re[k * size + k + 1..], &mut done_im[k * size + k + 1..]);
            for (re, im) in lower_re.iter_mut().zip(&mut *lower_im) {
                [*re, *im] = product([*re, *im], inverse);
            }
            for (re, im) in rest_re.chunks_exact_mut(size).zip(rest_im.chunks_exact_mut(size)) {
                let factor = [re[k], im[k]];
                if factor != [0.0, 0.0] {
                    subtract_complex([&mut re[k + 1..], &mut im[k + 1..]], factor, [lower_re, lower_im]);
                }
            }
        }
        true
    }

    fn swap(&self, (re, im): &mut (&mut [f64], &mut [f64])) {
        for (k, &pivot) in self.pivots.iter().enumerate() {
            re.swap(k, pivot);
            im.swap(k, pivot);
        }
    }

    /// Takes unknown `k` of the lower factor out of the rows below.
    fn forward(&self, k: usize, (re, im): &mut (&mut [f64], &mut [f64])) {
        let (head_re, tail_re) = re.split_at_mut(k + 1);
        let (head_im, tail_im) = im.split_at_mut(k + 1);
        let column = [&self.re, &self.im].map(|a| &a[k * self.size..][..self.size][k + 1..]);
        subtract_complex([tail_re, tail_im], [head_re[k], head_im[k]], column);
    }

    /// Takes unknown `k` of the upper factor out of the rows above.
    fn backward(&self, k: usize, (re, im): &mut (&mut [f64], &mut [f64])) {
        let (head_re, tail_re) = re.split_at_mut(k);
        let (head_im, tail_im) = im.split_at_mut(k);
        let factor = product([tail_re[0], tail_im[0]], self.inverse[k]);
        [tail_re[0], tail_im[0]] = factor;
        let column = [&self.re, &self.im].map(|a| &a[k * self.size..][..k]);
        subtract_complex([head_re, head_im], factor, column);
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

    #[test]
    fn factors_solve() {
        let mus = [[3.0, 0.0], [3.0, 5.0], [4.0, -1.0]];
        for n in [1, 2, 7, 30] {
            let (j, mut real, mut pairs) = (
                jacobian(n),
                RealLu::default(),
                [ComplexLu::default(), ComplexLu::default()],
            );
            assert!(real.factor(mus[0][0], 0.2, &j, n));
            assert!(pairs[0].factor(mus[1], 0.2, &j, n) && pairs[1].factor(mus[2], 0.2, &j, n));
            let known = |system: usize, i: usize| [1.0 - 0.3 * i as f64, (0.1 * i as f64 - 1.0) * system as f64];
            // Real and imaginary parts of the right sides, one after the other.
            let right = |system: usize, part: usize| {
                let j = &j;
                (0..n).map(move |i| {
                    product(mus[system], known(system, i))[part]
                        - 0.2 * (0..n).map(|k| j[k * n + i] * known(system, k)[part]).sum::<f64>()
                })
            };
            let parts = [(0, 0), (1, 0), (1, 1), (2, 0), (2, 1)];
            let mut x: Vec<f64> = parts.iter().flat_map(|&(system, part)| right(system, part)).collect();
            let mut alone = x[..n].to_vec();
            solve_together(&real, &pairs, &mut x);
            for (p, &(system, part)) in parts.iter().enumerate() {
                for i in 0..n {
                    let (x, known) = (x[p * n + i], known(system, i)[part]);
                    assert!((x - known).abs() < 1e-10, "{n} {system} {part} {i} {x} {known}");
                }
            }
            real.solve(&mut alone);
            assert_eq!(alone, x[..n]);
        }
    }

    #[test]
    fn what_cannot_be_factored_is_told() {
        assert!(!RealLu::default().factor(1.0, 1.0, &[1.0, 0.0, 0.0, 0.0], 2));
        assert!(!RealLu::default().factor(1.0, 1.0, &[f64::NAN], 1));
        assert!(!ComplexLu::default().factor([1.0, 0.0], 1.0, &[1.0], 1));
    }
}
