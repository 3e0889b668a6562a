//! Nonlinear least squares by the method of Levenberg and Marquardt, with the covariance of what was fitted.
//!
//! ```text
//! minimise S(p) = sum r_i(p)^2        (J^T J + l D^2) d = -J^T r        lo <= p <= hi
//! covariance = s^2 (J^T J)^-1         s^2 = S / (m - n)
//! ```
//!
//! `r` residuals, `p` parameters, `J` their derivatives by central differences (one-sided at the edge of a domain); `D` lengths of the
//! columns of `J`, never falling; `l` damping, steered by how much of the predicted gain came true; `m` residuals, `n` parameters.
//! A step beyond the domain ends at its edge; the covariance of a parameter that stays there is that of one that could go on.
//!
//! Source: K. Levenberg, Quart. Appl. Math. 2, 164 (1944); D. W. Marquardt, J. SIAM 11, 431 (1963); scaling after J. J. More, Lecture Notes
//! in Mathematics 630, 105 (1978); steering of the damping after H. B. Nielsen, IMM-REP-1999-05, Technical University of Denmark (all from
//! memory). Checked against NIST's certified values and SciPy (`tests.rs`).
//!
//! Valid for residuals that are smooth in the parameters; finds the minimum whose basin the start lies in. The covariance is that of the
//! model made linear at the minimum, for errors that are independent and of one size; `autocorrelation.rs` says what becomes of it
//! otherwise. Left out: weights (the caller's residuals have them), robust losses.

use nalgebra::DMatrix;

/// Steps after which the search is given up.
const MOST_STEPS: usize = 400;
/// Damping at the start, as part of the largest diagonal entry of the scaled normal matrix, which is 1.
const FIRST_DAMPING: f64 = 1e-3;
/// A step this small, relative to the parameters' scales, ends the search.
const SMALL_STEP: f64 = 1e-13;
/// So does a cosine this small between the residuals and every column of `J`: what is left cannot be told from rounding.
const SMALL_COSINE: f64 = 1e-12;
/// The cube root of the rounding unit: the best step of a central difference.
const DIFFERENCE: f64 = 6.055_454_5e-6;

/// A parameter before the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// Where the search starts.
    pub start: f64,
    /// Its domain.
    pub domain: [f64; 2],
    /// A typical size, from which steps of differences follow where the value is near 0.
    pub scale: f64,
}

/// What came of a fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// The parameters.
    pub estimate: Vec<f64>,
    /// Parameters that lie on the edge of their domain.
    pub at_edge: Vec<bool>,
    /// Residuals there.
    pub residuals: Vec<f64>,
    /// Their sum of squares.
    pub sum: f64,
    /// `(J^T J)^-1`, row by row; infinite where the data say nothing.
    pub unscaled: Vec<Vec<f64>>,
    /// Largest over smallest singular value of `J` with columns of length 1; infinite if one is zero.
    pub condition: f64,
    /// Calls of the residuals.
    pub calls: u64,
    /// Whether the search came to rest.
    pub at_rest: bool,
}

impl Fitted {
    /// Degrees of freedom that are left.
    #[must_use]
    pub fn freedom(&self) -> usize {
        self.residuals.len().saturating_sub(self.estimate.len())
    }

    /// The standard deviation of a residual.
    #[must_use]
    pub fn residual_sd(&self) -> f64 {
        libm::sqrt(self.sum / self.freedom().max(1) as f64)
    }

    /// The standard deviation of a parameter, for independent errors.
    #[must_use]
    pub fn sd(&self, index: usize) -> f64 {
        self.residual_sd() * libm::sqrt(self.unscaled[index][index])
    }

    /// The correlation of two parameters; 0 where one has no spread.
    #[must_use]
    pub fn correlation(&self, a: usize, b: usize) -> f64 {
        let product = self.unscaled[a][a] * self.unscaled[b][b];
        if product > 0.0 && product.is_finite() {
            (self.unscaled[a][b] / libm::sqrt(product)).clamp(-1.0, 1.0)
        } else {
            0.0
        }
    }
}

/// Fits parameters to residuals. `residuals` gives as many numbers whatever the parameters; what is not finite counts as worse than anything.
///
/// # Errors
/// If there are no more residuals than parameters, or they are not finite at the start.
pub fn fit(parameters: &[Parameter], residuals: &dyn Fn(&[f64]) -> Vec<f64>) -> Result<Fitted, String> {
    let mut search = Search {
        parameters,
        residuals,
        calls: 0,
    };
    search.run()
}

struct Search<'a> {
    parameters: &'a [Parameter],
    residuals: &'a dyn Fn(&[f64]) -> Vec<f64>,
    calls: u64,
}

fn sum_of_squares(values: &[f64]) -> f64 {
    values.iter().map(|value| value * value).sum()
}

impl Search<'_> {
    fn call(&mut self, p: &[f64]) -> Vec<f64> {
        self.calls += 1;
        (self.residuals)(p)
    }

    fn run(&mut self) -> Result<Fitted, String> {
        let n = self.parameters.len();
        let mut p: Vec<f64> = self
            .parameters
            .iter()
            .map(|of| of.start.clamp(of.domain[0], of.domain[1]))
            .collect();
        let mut r = self.call(&p);
        let mut sum = sum_of_squares(&r);
        if !sum.is_finite() {
            return Err("the model has no value at the start of the fit".to_owned());
        }
        if r.len() <= n {
            return Err(format!("{} values cannot give {n} parameters", r.len()));
        }
        let (mut damping, mut grow) = (FIRST_DAMPING, 2.0);
        let mut lengths = vec![0.0_f64; n];
        let mut columns = self.jacobian(&p, &r);
        let mut at_rest = n == 0;
        for _ in 0..MOST_STEPS {
            if at_rest {
                break;
            }
            for (length, column) in lengths.iter_mut().zip(&columns) {
                *length = length.max(libm::sqrt(sum_of_squares(column)));
            }
            let gradient: Vec<f64> = columns.iter().map(|column| dot(column, &r)).collect();
            if self.is_flat(&p, &gradient, &columns, sum) {
                at_rest = true;
                break;
            }
            let free = self.free(&p, &gradient);
            let step = damped_step(&columns, &r, &lengths, damping, &free);
            let next: Vec<f64> = (0..n)
                .map(|i| {
                    let [lo, hi] = self.parameters[i].domain;
                    (p[i] + step[i]).clamp(lo, hi)
                })
                .collect();
            let moved: Vec<f64> = next.iter().zip(&p).map(|(a, b)| a - b).collect();
            let tiny = |i: usize| moved[i].abs() <= SMALL_STEP * p[i].abs().max(self.parameters[i].scale * SMALL_STEP);
            if (0..n).all(tiny) {
                at_rest = true;
                break;
            }
            let new = self.call(&next);
            let new_sum = sum_of_squares(&new);
            let gain = sum - new_sum;
            let linear = predicted(&columns, &r, &moved);
            if new_sum.is_finite() && gain > 0.0 {
                let ratio = if linear > 0.0 { gain / linear } else { 1.0 };
                let t = 2.0 * ratio.min(1.0) - 1.0;
                damping *= (1.0 - t * t * t).max(1.0 / 3.0);
                grow = 2.0;
                (p, r, sum) = (next, new, new_sum);
                columns = self.jacobian(&p, &r);
            } else {
                damping *= grow;
                grow *= 2.0;
                if damping > 1e20 {
                    // No step downhill is left that rounding does not hide.
                    at_rest = true;
                }
            }
        }
        Ok(self.told(p, r, sum, &columns, at_rest))
    }

    /// Whether nothing that is free would lower the sum.
    fn is_flat(&self, p: &[f64], gradient: &[f64], columns: &[Vec<f64>], sum: f64) -> bool {
        let norm = libm::sqrt(sum);
        let free = self.free(p, gradient);
        (0..p.len()).filter(|&i| free[i]).all(|i| {
            let length = libm::sqrt(sum_of_squares(&columns[i]));
            gradient[i].abs() <= SMALL_COSINE * length * norm
        })
    }

    /// Parameters that are not pushed against the edge of their domain.
    fn free(&self, p: &[f64], gradient: &[f64]) -> Vec<bool> {
        let free = |(i, of): (usize, &Parameter)| {
            let [lo, hi] = of.domain;
            !((p[i] <= lo && gradient[i] > 0.0) || (p[i] >= hi && gradient[i] < 0.0))
        };
        self.parameters.iter().enumerate().map(free).collect()
    }

    /// The derivatives of the residuals, column by column.
    fn jacobian(&mut self, p: &[f64], r: &[f64]) -> Vec<Vec<f64>> {
        let mut columns = Vec::with_capacity(p.len());
        for (i, of) in self.parameters.iter().enumerate() {
            let [lo, hi] = of.domain;
            let h = DIFFERENCE * p[i].abs().max(1e-3 * of.scale);
            let mut at = p.to_vec();
            let mut side = |search: &mut Self, to: f64| {
                let inside = to.clamp(lo, hi);
                at[i] = inside;
                (inside, search.call(&at))
            };
            let (up, above) = side(self, p[i] + h);
            let (down, below) = side(self, p[i] - h);
            let width = up - down;
            let column = if width > 0.0 {
                above.iter().zip(&below).map(|(a, b)| (a - b) / width).collect()
            } else {
                vec![0.0; r.len()]
            };
            columns.push(column);
        }
        columns
    }

    fn told(&self, p: Vec<f64>, r: Vec<f64>, sum: f64, columns: &[Vec<f64>], at_rest: bool) -> Fitted {
        let gradient: Vec<f64> = columns.iter().map(|column| dot(column, &r)).collect();
        let free = self.free(&p, &gradient);
        let (unscaled, condition) = inverse_normal(&columns.iter().map(|column| &column[..]).collect::<Vec<_>>());
        Fitted {
            at_edge: free.iter().map(|free| !free).collect(),
            estimate: p,
            residuals: r,
            sum,
            unscaled,
            condition,
            calls: self.calls,
            at_rest,
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// What the linear model says that a step gains.
fn predicted(columns: &[Vec<f64>], r: &[f64], step: &[f64]) -> f64 {
    let mut gain = 0.0;
    for (row, &residual) in r.iter().enumerate() {
        let change: f64 = columns.iter().zip(step).map(|(column, step)| column[row] * step).sum();
        gain -= change * (2.0 * residual + change);
    }
    gain
}

/// The step of the damped problem, by reflections of Householder on `[J; sqrt(l) D]`; nothing moves that is not free.
fn damped_step(columns: &[Vec<f64>], r: &[f64], lengths: &[f64], damping: f64, free: &[bool]) -> Vec<f64> {
    let kept: Vec<usize> = (0..columns.len()).filter(|&i| free[i] && lengths[i] > 0.0).collect();
    let mut rows: Vec<Vec<f64>> = kept.iter().map(|&i| columns[i].clone()).collect();
    let mut right: Vec<f64> = r.iter().map(|value| -value).collect();
    for (a, &i) in kept.iter().enumerate() {
        for (b, column) in rows.iter_mut().enumerate() {
            column.push(if a == b { libm::sqrt(damping) * lengths[i] } else { 0.0 });
        }
        right.push(0.0);
    }
    triangular(&mut rows, Some(&mut right));
    let solved = back(&rows, &right);
    let mut step = vec![0.0; columns.len()];
    for (&i, value) in kept.iter().zip(solved) {
        step[i] = value;
    }
    step
}

/// Turns columns into an upper triangle, the right-hand side with them.
fn triangular(columns: &mut [Vec<f64>], mut right: Option<&mut Vec<f64>>) {
    for k in 0..columns.len() {
        let norm = libm::sqrt(sum_of_squares(&columns[k][k..]));
        if norm == 0.0 {
            continue;
        }
        let alpha = if columns[k][k] > 0.0 { -norm } else { norm };
        let mut v = columns[k][k..].to_vec();
        v[0] -= alpha;
        let half = sum_of_squares(&v) / 2.0;
        if half == 0.0 {
            continue;
        }
        let reflect = |column: &mut [f64]| {
            let share = dot(&v, column) / half;
            for (value, v) in column.iter_mut().zip(&v) {
                *value -= share * v;
            }
        };
        for column in &mut columns[k..] {
            reflect(&mut column[k..]);
        }
        if let Some(right) = right.as_deref_mut() {
            reflect(&mut right[k..]);
        }
    }
}

/// Solves the triangle.
fn back(columns: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let n = columns.len();
    let mut x = vec![0.0; n];
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| columns[j][k] * x[j]).sum();
        x[k] = if columns[k][k] == 0.0 {
            0.0
        } else {
            (right[k] - known) / columns[k][k]
        };
    }
    x
}

/// `(J^T J)^-1` from the singular values of the triangle of `J` with columns of length 1, and its condition.
fn inverse_normal(columns: &[&[f64]]) -> (Vec<Vec<f64>>, f64) {
    let n = columns.len();
    if n == 0 {
        return (Vec::new(), 1.0);
    }
    let lengths: Vec<f64> = columns
        .iter()
        .map(|column| libm::sqrt(sum_of_squares(column)))
        .collect();
    let shown: Vec<usize> = (0..n).filter(|&i| lengths[i] > 0.0).collect();
    let mut scaled: Vec<Vec<f64>> = shown
        .iter()
        .map(|&i| columns[i].iter().map(|value| value / lengths[i]).collect())
        .collect();
    triangular(&mut scaled, None);
    let k = shown.len();
    let triangle = DMatrix::from_fn(
        k,
        k,
        |row, column| if row <= column { scaled[column][row] } else { 0.0 },
    );
    let svd = triangle.svd(false, true);
    let values = svd.singular_values;
    let (largest, smallest) = (values.max(), values.min());
    let mut inverse = vec![vec![0.0; n]; n];
    for i in 0..n {
        // A column of zeros: the residuals do not depend on it.
        inverse[i][i] = f64::INFINITY;
    }
    if let Some(turned) = svd.v_t {
        for (a, &i) in shown.iter().enumerate() {
            for (b, &j) in shown.iter().enumerate() {
                let entry: f64 = (0..k)
                    .map(|s| turned[(s, a)] * turned[(s, b)] / (values[s] * values[s]))
                    .sum();
                inverse[i][j] = entry / (lengths[i] * lengths[j]);
            }
        }
    }
    let condition = if k < n || smallest == 0.0 {
        f64::INFINITY
    } else {
        largest / smallest
    };
    (inverse, condition)
}
