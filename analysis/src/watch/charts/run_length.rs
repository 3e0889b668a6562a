//! Average run lengths of the charts on independent residuals, by the integral equations of their chains.
//!
//! ```text
//! CUSUM, one side   L(u) = 1 + L(0) F(k - u - d) + int_0^h L(y) f(y - u + k - d) dy          from u = 0
//! both sides        1 / L = 1 / L+ + 1 / L-
//! EWMA              L(u) = 1 + (1 / lambda) int_-H^H L(y) f((y - (1 - lambda) u) / lambda - d) dy,   H = L sqrt(lambda / (2 - lambda))
//! ```
//!
//! `L` mean number of residuals to an alarm, `u` the chart's value, `d` shift, `F`, `f` of the standard normal; no units. The integrals are
//! sums over Gauss-Legendre nodes (Nystrom), and the values there a linear system.
//!
//! Source: Page (1954) for the equation of the cumulative sum; K. W. Kemp, J. R. Stat. Soc. B 23 (1961) 149 for both sides; S. V. Crowder,
//! Technometrics 29 (1987) 401 for the average. D. Brook and D. A. Evans, Biometrika 59 (1972) 539 solve the same chain on a grid.
//! Valid for independent standard normal residuals and nothing else: residuals of a cabin are not. Good to about 1e-9 of the length for the
//! designs in use (64 nodes).

use std::f64::consts::{PI, SQRT_2};

/// Nodes of the quadrature: twice as many change the eighth digit of no length in use.
const NODES: usize = 64;

/// Mean number of residuals to an alarm of a two-sided cumulative sum, under a shift in standard deviations.
#[must_use]
pub fn cusum(allowance: f64, interval: f64, shift: f64) -> f64 {
    let one = |shift: f64| {
        let (nodes, weights) = gauss_legendre(0.0, interval);
        // The first unknown is L(0), from which the atom at 0 comes; then L at the nodes.
        let n = NODES + 1;
        let from: Vec<f64> = std::iter::once(0.0).chain(nodes.iter().copied()).collect();
        let mut matrix = vec![0.0; n * n];
        for (row, &u) in from.iter().enumerate() {
            matrix[row * n] -= below(allowance - u - shift);
            for (j, (&y, &w)) in nodes.iter().zip(&weights).enumerate() {
                matrix[row * n + j + 1] -= w * density(y - u + allowance - shift);
            }
            matrix[row * n + row] += 1.0;
        }
        solve(&mut matrix, &mut vec![1.0; n])[0]
    };
    1.0 / (1.0 / one(shift) + 1.0 / one(-shift))
}

/// Mean number of residuals to an alarm of a moving average, under a shift in standard deviations.
#[must_use]
pub fn ewma(weight: f64, limit: f64, shift: f64) -> f64 {
    let half = limit * (weight / (2.0 - weight)).sqrt();
    let (nodes, weights) = gauss_legendre(-half, half);
    let kernel = |u: f64, y: f64| density((y - (1.0 - weight) * u) / weight - shift) / weight;
    let mut matrix = vec![0.0; NODES * NODES];
    for (row, &u) in nodes.iter().enumerate() {
        for (j, (&y, &w)) in nodes.iter().zip(&weights).enumerate() {
            matrix[row * NODES + j] = f64::from(u8::from(row == j)) - w * kernel(u, y);
        }
    }
    let at_nodes = solve(&mut matrix, &mut vec![1.0; NODES]);
    let from_zero = nodes.iter().zip(&weights).zip(&at_nodes);
    1.0 + from_zero
        .map(|((&y, &w), &length)| w * kernel(0.0, y) * length)
        .sum::<f64>()
}

/// The chance that a standard normal is below.
#[must_use]
pub fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

fn density(z: f64) -> f64 {
    libm::exp(-0.5 * z * z) / (2.0 * PI).sqrt()
}

/// Nodes and weights on `[a, b]`: roots of the Legendre polynomial by Newton's method.
fn gauss_legendre(a: f64, b: f64) -> (Vec<f64>, Vec<f64>) {
    let n = NODES as f64;
    let one = |i: usize| {
        let mut x = libm::cos(PI * (i as f64 + 0.75) / (n + 0.5));
        let mut slope = 0.0;
        for _ in 0..100 {
            let (mut before, mut now) = (1.0, x);
            for k in 2..=NODES {
                let k = k as f64;
                (before, now) = (now, ((2.0 * k - 1.0) * x * now - (k - 1.0) * before) / k);
            }
            slope = n * (x * now - before) / (x * x - 1.0);
            let step = now / slope;
            x -= step;
            if step.abs() < 1e-15 {
                break;
            }
        }
        let weight = 2.0 / ((1.0 - x * x) * slope * slope);
        (0.5 * (a + b) - 0.5 * (b - a) * x, 0.5 * (b - a) * weight)
    };
    (0..NODES).map(one).unzip()
}

/// Solves a linear system in place by elimination with row exchanges.
fn solve(matrix: &mut [f64], right: &mut Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for column in 0..n {
        let pivot = (column..n)
            .max_by(|&a, &b| matrix[a * n + column].abs().total_cmp(&matrix[b * n + column].abs()))
            .unwrap_or(column);
        for j in 0..n {
            matrix.swap(column * n + j, pivot * n + j);
        }
        right.swap(column, pivot);
        for row in column + 1..n {
            let factor = matrix[row * n + column] / matrix[column * n + column];
            for j in column..n {
                matrix[row * n + j] -= factor * matrix[column * n + j];
            }
            right[row] -= factor * right[column];
        }
    }
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|j| matrix[row * n + j] * right[j]).sum();
        right[row] = (right[row] - known) / matrix[row * n + row];
    }
    std::mem::take(right)
}

#[cfg(test)]
mod tests {
    use super::super::{Cusum, Ewma};
    use super::*;
    use crate::watch::noise::Normals;

    /// Montgomery's and the NIST handbook's tables of the cumulative sum and Lucas and Saccucci's of the average, as recomputed to these
    /// digits; half of the last digit is what a table may be off by.
    #[test]
    fn average_run_lengths_are_those_of_the_tables() {
        let cusums = [
            (5.0, [465.44, 38.00, 10.376, 4.009]),
            (4.0, [167.68, 26.63, 8.383, 3.343]),
        ];
        for (interval, lengths) in cusums {
            for (shift, (wanted, digit)) in [0.0, 0.5, 1.0, 2.0]
                .into_iter()
                .zip(lengths.into_iter().zip([0.01, 0.01, 0.001, 0.001]))
            {
                let length = cusum(0.5, interval, shift);
                assert!(
                    (length - wanted).abs() <= 0.51 * digit,
                    "h {interval} d {shift}: {length} {wanted}"
                );
            }
        }
        let ewmas = [
            (0.1, 2.814, [499.58, 31.30, 10.33, 4.362]),
            (0.2, 2.962, [499.74, 41.76, 10.54, 3.743]),
        ];
        for (weight, limit, lengths) in ewmas {
            for (shift, (wanted, digit)) in [0.0, 0.5, 1.0, 2.0]
                .into_iter()
                .zip(lengths.into_iter().zip([0.01, 0.01, 0.01, 0.001]))
            {
                let length = ewma(weight, limit, shift);
                assert!(
                    (length - wanted).abs() <= 0.51 * digit,
                    "lambda {weight} d {shift}: {length} {wanted}"
                );
            }
        }
    }

    /// The charts themselves, run to their alarms, have these lengths: within four standard errors (a run length's deviation is about its
    /// mean).
    #[test]
    fn charts_that_are_run_have_the_lengths_of_the_equations() {
        const RUNS: u64 = 3_000;
        for shift in [0.0, 1.0] {
            let mean = |step: &mut dyn FnMut(u64) -> u64| {
                let lengths: Vec<f64> = (0..RUNS).map(|run| step(run) as f64).collect();
                let mean = lengths.iter().sum::<f64>() / RUNS as f64;
                let square = lengths.iter().map(|length| (length - mean).powi(2)).sum::<f64>();
                (mean, (square / (RUNS as f64 - 1.0) / RUNS as f64).sqrt())
            };
            let (length, error) = mean(&mut |run| {
                let (mut chart, mut normals) = (Cusum::new(0.5), Normals::new(5, "cusum", run));
                (1..)
                    .find(|_| chart.step(normals.draw() + shift) > 5.0)
                    .expect("an alarm")
            });
            assert!(
                (length - cusum(0.5, 5.0, shift)).abs() < 4.0 * error,
                "CUSUM {shift}: {length} +- {error}"
            );
            let (length, error) = mean(&mut |run| {
                let (mut chart, mut normals) = (Ewma::new(0.1), Normals::new(5, "ewma", run));
                (1..)
                    .find(|_| chart.step(normals.draw() + shift) > 2.814)
                    .expect("an alarm")
            });
            assert!(
                (length - ewma(0.1, 2.814, shift)).abs() < 4.0 * error,
                "EWMA {shift}: {length} +- {error}"
            );
        }
    }

    #[test]
    fn the_quadrature_is_exact_for_polynomials() {
        let (nodes, weights) = gauss_legendre(1.0, 3.0);
        let integral: f64 = nodes.iter().zip(&weights).map(|(x, w)| w * x.powi(5)).sum();
        assert!((integral - 728.0 / 6.0).abs() < 1e-11, "{integral}");
    }
}
