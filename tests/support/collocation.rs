//! Integrates an autonomous system of ordinary differential equations by Chebyshev collocation.
//!
//! On a step of length `h` the right-hand side is interpolated at the 17 Chebyshev points of the second kind; the
//! solution is start plus the exact integral of that polynomial. The implicit equations are solved by Picard's iteration,
//! which on a step this short converges to rounding. The result is a polynomial in time, so values between, integrals
//! and roots come at the same accuracy as the ends.
//!
//! Symbols: `x` state; `f` right-hand side, 1/s; `c_j = (1 - cos(pi j / 16)) / 2` points on [0, 1].
//! Source: Clenshaw and Norton 1963 (Picard in Chebyshev series); Clenshaw 1955 (sum of a Chebyshev series).
//! Accuracy: a step is refused while the last two coefficients of `h f` exceed 1e-14 of the state's scale.
//! Left out: stiff systems (steps shrink with the fastest rate) and jumps inside a step, which the caller must cut at.

use std::f64::consts::PI;
use std::sync::OnceLock;

/// Degree of the polynomial that stands for the right-hand side.
pub const DEGREE: usize = 16;
const POINTS: usize = DEGREE + 1;
const COEFFICIENTS: usize = DEGREE + 2;
/// Largest accepted tail of `h f`, relative to the state's scale.
const TAIL: f64 = 1e-14;

/// Numbers that depend on the degree alone.
struct Tables {
    /// Integral from the start to point `j` of the `k`-th cardinal polynomial, on [0, 1].
    integral: [[f64; POINTS]; POINTS],
    /// From values at the points to Chebyshev coefficients.
    coefficients: [[f64; POINTS]; POINTS],
}

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| {
        let n = DEGREE as f64;
        let mut coefficients = [[0.0; POINTS]; POINTS];
        for k in 0..POINTS {
            for j in 0..POINTS {
                let end = if j == 0 || j == DEGREE { 0.5 } else { 1.0 };
                let half = if k == 0 || k == DEGREE { 0.5 } else { 1.0 };
                coefficients[k][j] = 2.0 / n * end * half * (k as f64 * PI * (DEGREE - j) as f64 / n).cos();
            }
        }
        let mut integral = [[0.0; POINTS]; POINTS];
        for k in 0..POINTS {
            let column: Vec<f64> = (0..POINTS).map(|m| coefficients[m][k]).collect();
            let series = integrate(&column);
            for j in 0..POINTS {
                let x = -(PI * j as f64 / n).cos();
                integral[j][k] = if j == 0 { 0.0 } else { clenshaw(&series, x) / 2.0 };
            }
        }
        Tables { integral, coefficients }
    })
}

/// Series of the integral from -1 of a series.
fn integrate(a: &[f64]) -> [f64; COEFFICIENTS] {
    let at = |k: usize| if k < a.len() { a[k] } else { 0.0 };
    let mut b = [0.0; COEFFICIENTS];
    b[1] = at(0) - at(2) / 2.0;
    for k in 2..COEFFICIENTS {
        b[k] = (at(k - 1) - at(k + 1)) / (2.0 * k as f64);
    }
    for k in 1..COEFFICIENTS {
        b[0] -= if k % 2 == 0 { b[k] } else { -b[k] };
    }
    b
}

/// Value of a Chebyshev series at `x` in [-1, 1].
fn clenshaw(a: &[f64], x: f64) -> f64 {
    let (mut b1, mut b2) = (0.0, 0.0);
    for k in (1..a.len()).rev() {
        (b1, b2) = (a[k] + 2.0 * x * b1 - b2, b1);
    }
    a[0] + x * b1 - b2
}

/// The solution on one step as a polynomial.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Length over which it was fitted, s.
    pub length_s: f64,
    start: Vec<f64>,
    series: Vec<[f64; COEFFICIENTS]>,
    /// Largest tail relative to its scale: at most 1 for an accepted step.
    tail: f64,
}

impl Fit {
    /// State `i` at `t` seconds into the step.
    #[must_use]
    pub fn one(&self, i: usize, t: f64) -> f64 {
        self.start[i] + clenshaw(&self.series[i], (2.0 * t / self.length_s - 1.0).clamp(-1.0, 1.0))
    }

    /// All states at `t` seconds into the step.
    pub fn all(&self, t: f64, x: &mut [f64]) {
        for i in 0..x.len() {
            x[i] = self.one(i, t);
        }
    }
}

/// Tries one step of length `h`; `None` if the iteration does not settle.
///
/// The first `core` states feed back into `f`; the others are pure integrals and are found once at the end.
fn attempt(f: &dyn Fn(&[f64], &mut [f64]), x0: &[f64], core: usize, scale: &[f64], h: f64) -> Option<Fit> {
    let tables = tables();
    let len = x0.len();
    let mut x = vec![x0.to_vec(); POINTS];
    let mut rate = vec![vec![0.0; len]; POINTS];
    f(x0, &mut rate[0]);
    for j in 1..POINTS {
        let c = (1.0 - (PI * j as f64 / DEGREE as f64).cos()) / 2.0;
        for i in 0..core {
            x[j][i] = x0[i] + h * c * rate[0][i];
        }
    }
    let mut last = f64::INFINITY;
    let mut settled = false;
    for sweep in 0..90 {
        for j in 1..POINTS {
            f(&x[j], &mut rate[j]);
        }
        let mut change: f64 = 0.0;
        for j in 1..POINTS {
            for i in 0..core {
                let mut sum = 0.0;
                for k in 0..POINTS {
                    sum += tables.integral[j][k] * rate[k][i];
                }
                let new = x0[i] + h * sum;
                // `max` would pass over what is not a number.
                if !new.is_finite() {
                    return None;
                }
                change = change.max((new - x[j][i]).abs() / scale[i]);
                x[j][i] = new;
            }
        }
        if !change.is_finite() {
            return None;
        }
        // Settled at rounding, or no longer getting better close to it.
        if change < 4e-16 || (change < 1e-14 && change >= last) {
            settled = true;
            break;
        }
        if sweep > 30 && change > 1e-3 {
            return None;
        }
        last = change;
    }
    if !settled {
        return None;
    }
    let mut series = Vec::with_capacity(len);
    let mut tail: f64 = 0.0;
    for i in 0..len {
        let mut a = [0.0; POINTS];
        for k in 0..POINTS {
            for j in 0..POINTS {
                a[k] += tables.coefficients[k][j] * rate[j][i];
            }
        }
        tail = tail.max(h * (a[DEGREE].abs() + a[DEGREE - 1].abs()) / scale[i] / TAIL);
        series.push(integrate(&a).map(|b| b * h / 2.0));
    }
    Some(Fit {
        length_s: h,
        start: x0.to_vec(),
        series,
        tail,
    })
}

/// Makes one step of at most `most_s`, starting with the guess `h`; returns the fit and a guess for the next step.
///
/// # Panics
/// If the step must become shorter than a nanosecond.
#[must_use]
pub fn step(f: &dyn Fn(&[f64], &mut [f64]), x0: &[f64], core: usize, scale: &[f64], h: f64, most_s: f64) -> (Fit, f64) {
    let mut h = h.min(most_s);
    loop {
        match attempt(f, x0, core, scale, h) {
            Some(fit) if fit.tail <= 1.0 => {
                let grow = (0.8 * fit.tail.max(1e-12).powf(-1.0 / DEGREE as f64)).clamp(0.5, 2.5);
                return (fit, h * grow);
            }
            Some(fit) => h *= (0.8 * fit.tail.powf(-1.0 / DEGREE as f64)).clamp(0.1, 0.8),
            None => h *= 0.4,
        }
        assert!(h > 1e-9, "the reference's step shrank to nothing");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drive(f: &dyn Fn(&[f64], &mut [f64]), x0: &[f64], end: f64) -> Vec<f64> {
        let scale = vec![1.0; x0.len()];
        let (mut x, mut t, mut h) = (x0.to_vec(), 0.0, 1.0);
        while t < end {
            let (fit, next) = step(f, &x, x0.len(), &scale, h, end - t);
            fit.all(fit.length_s, &mut x);
            t += fit.length_s;
            h = next;
        }
        x
    }

    #[test]
    fn an_oscillator_keeps_its_phase() {
        let x = drive(
            &|x, d| {
                d[0] = x[1];
                d[1] = -x[0];
            },
            &[0.0, 1.0],
            100.0,
        );
        assert!((x[0] - 100.0_f64.sin()).abs() < 1e-12, "{}", x[0] - 100.0_f64.sin());
    }

    #[test]
    fn a_nonlinear_equation_meets_its_solution() {
        // x' = x (1 - x), x(0) = 1/11: the logistic curve 1 / (1 + 10 e^-t).
        let x = drive(&|x, d| d[0] = x[0] * (1.0 - x[0]), &[1.0 / 11.0], 7.0);
        assert!((x[0] - 1.0 / (1.0 + 10.0 * (-7.0_f64).exp())).abs() < 1e-13);
    }

    #[test]
    fn values_inside_a_step_are_as_good_as_its_end() {
        let (fit, _) = step(&|x, d| d[0] = -x[0], &[1.0], 1, &[1.0], 2.0, 2.0);
        for i in 0..=20 {
            let t = fit.length_s * f64::from(i) / 20.0;
            assert!((fit.one(0, t) - (-t).exp()).abs() < 1e-14);
        }
    }
}
