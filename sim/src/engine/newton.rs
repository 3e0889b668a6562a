//! One step of five-stage Radau IIA collocation for stiff systems `y' = f(t, y)` of any size.
//!
//! The increments `Z_j = Y_j - y` of the stages obey `sum_l (A^-1)_jl Z_l = h f(t + c_j h, y + Z_j)`. Newton's iteration with one
//! Jacobian `J` for all stages and many steps, `(A^-1 - h J) dZ = h f - A^-1 Z`, falls into one real and two complex systems of
//! the size itself (see `decouple`). Where it converges to is decided by the residual alone, so that an old Jacobian costs
//! iterations and no exactness. It starts from the polynomial of the last step, extrapolated, and ends when what its
//! contraction leaves to come is a thousandth of what is allowed along the step, and a part of what is allowed at its end: what it
//! leaves has one sign, and adds up.
//!
//! A Jacobian is found anew when the iteration fails with an old one, or when the iterations that its age has cost come to what
//! a new one would cost. A step that fails with a new one must be made shorter.
//!
//! Two errors are judged: that of the polynomial along the step, which goes with the sixth power of the length, and that at its end,
//! which goes with the ninth where the step is short against what relaxes, and is a fifth of the other where it is twenty times as
//! long. Where nothing is stiff, the residual `r = p' - f(t, p)` is a multiple of the node polynomial
//! `M`, and the error along the step its integral, at most 0.030 `h r(t)`. Where all is stiff, the stages lie on the slow solution,
//! the error is that of interpolation, `theta M(theta)` in shape, largest (by far enough) at `theta = 0.734`, and the residual there
//! is `J` times the error. Both are found by `(mu I - h J)^-1 h r` at that place, with the real eigenvalue `mu = 6.29` of `A^-1`,
//! whose inverse is at hand: `M / mu` there is 0.031. The same at the start, `e = 0.03 mu (mu I - h J)^-1 h r(t)`, finds what has
//! passed before the first stages. The damping is also why a start that is off the slow solution by what one allows costs nothing.
//!
//! What relaxes as `y' = -z y / h` ends with the error `G(z) h r(t)`, `G(z)` the integral of `exp(-z (1 - theta)) M(theta) / M(0)`.
//! Within a quarter `13 z^5 / (mu + z)^7` is at least that for `z` of 2 and more, and within a half for 1 (worked out by
//! quadrature; the test holds steps to it). So the error at the end is `13 / (0.03 mu) (hJ)^5 (mu I - h J)^-6 e`.
//!
//! Symbols: `t` s within the segment; `y` in the units of the states; `h` s; `f` per s; `J` 1/s in units of states.
//! Source: Hairer and Wanner 1996, Solving Ordinary Differential Equations II, section IV.8 (iteration, predictor and damped
//! estimate; theirs is of another formula embedded in the method).
//! Range: `f` continuous, and smooth but for kinks; a kink within a step shows in its error, or stops the iteration. A state
//! whose allowed error is below some 1e-13 of it cannot be found to a thousandth of that: what rounding leaves is accepted up to
//! ten times as much, else the step fails.

mod judge;

use super::decouple::{DECOUPLING, Square};
use super::factors::Store;
use super::radau::{NODES, STAGES};

/// The iteration has converged when what is left to come is less than this fraction of what is allowed along the step,
const LEFT_ALONG: f64 = 1e-3;
/// and than this fraction of what is allowed at its end.
const LEFT_AT_END: f64 = 0.3;
/// So many times as much will do where it gets no nearer for rounding or for slowness.
const MOST_LEFT: f64 = 10.0;
/// A first iteration that moves more than this over what may be left is looked at again: it may have met a kink.
const MOST_UNSEEN: f64 = 1e3;
/// Iterations before the iteration is given up.
const MOST_ITERATIONS: usize = 15;
/// Iterations that a step takes with a good Jacobian, and no guess.
const USUAL_ITERATIONS: usize = 4;
/// Contraction is measured where movements are above this over what may be left: below, they may be rounding.
const MEASURED_ABOVE: f64 = 1e2;
/// A step is guessed from the one before up to so many lengths of that one from its start: errors grow with the sixth power.
const MOST_EXTRAPOLATED: f64 = 2.5;

/// Errors allowed, above 0, in each state.
#[derive(Clone, Debug, Default)]
pub(crate) struct Allowed {
    /// Along a step.
    pub along: Vec<f64>,
    /// Where it ends.
    pub at_end: Vec<f64>,
}

/// A system of differential equations.
pub(crate) trait Equations {
    /// Number of states.
    fn size(&self) -> usize;
    /// Derivatives at `t_s` within the segment, per s.
    fn rates(&mut self, t_s: f64, y: &[f64], out: &mut [f64]);
}

/// Work done since the reset.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Work {
    /// Iterations.
    pub iterations: u64,
    /// Calls for rates, those for Jacobians among them.
    pub evaluations: u64,
    /// Jacobians.
    pub jacobians: u64,
    /// Factorisations (each of one real and two complex matrices).
    pub factorisations: u64,
}

/// Makes steps, and remembers what helps the next.
#[derive(Clone, Debug, Default)]
pub(crate) struct Newton {
    size: usize,
    store: Store,
    work: Work,
    /// Start of the last attempt.
    start: Point,
    /// Whether the Jacobian was found there.
    found_here: bool,
    length_s: f64,
    /// Whether it converged.
    converged: bool,
    /// Increments of the states at the stages, one stage after the other.
    increments: Vec<f64>,
    /// End of the last step that was accepted.
    end: Point,
    /// The last attempt that converged, before the last one.
    like: Like,
    point: Vec<f64>,
    /// What `damped` makes of it.
    damped: Vec<f64>,
    stage_rates: Vec<f64>,
    residual: Vec<f64>,
    inverse_along: Vec<f64>,
    inverse_at_end: Vec<f64>,
    /// Of what the iteration may leave to come.
    inverse_left: Vec<f64>,
}

/// A point with its rates.
#[derive(Clone, Debug, Default)]
struct Point {
    known: bool,
    t_s: f64,
    y: Vec<f64>,
    rates: Vec<f64>,
}

impl Point {
    fn resize(&mut self, size: usize) {
        self.known = false;
        self.y.resize(size, 0.0);
        self.rates.resize(size, 0.0);
    }

    /// Whether it is this one; times may differ by a rounding.
    fn is(&self, t_s: f64, y: &[f64]) -> bool {
        self.known && (self.t_s - t_s).abs() <= 4.0 * f64::EPSILON * t_s.abs() && self.y == y
    }
}

/// A step along which, or beyond which, stages are guessed.
#[derive(Clone, Debug, Default)]
struct Like {
    known: bool,
    t_s: f64,
    length_s: f64,
    y: Vec<f64>,
    increments: Vec<f64>,
}

/// `out_j = sum_l matrix_jl values_l` for each state; `each` makes what is kept of the sum.
fn mix(matrix: &Square, values: &[f64], out: &mut [f64], size: usize, each: impl Fn(f64, &mut f64)) {
    let values: [&[f64]; STAGES] = std::array::from_fn(|l| &values[l * size..][..size]);
    for (weights, out) in matrix.iter().zip(out.chunks_exact_mut(size)) {
        let out = &mut out[..size];
        for i in 0..size {
            let mut sum = 0.0;
            for l in 0..STAGES {
                sum += weights[l] * values[l][i];
            }
            each(sum, &mut out[i]);
        }
    }
}

impl Newton {
    /// Starts a new run: forgets all.
    pub fn reset(&mut self) {
        self.store.reset();
        self.work = Work::default();
        self.forget_steps();
    }

    /// Starts a new segment, with time from 0 and equations that go by `mode`.
    ///
    /// A Jacobian of equations of the same mode is tried as it is. So the mode is best the same where the equations are
    /// similar, and another where they differ much.
    pub fn begin(&mut self, mode: u64) {
        self.store.choose(mode);
        self.forget_steps();
    }

    fn forget_steps(&mut self) {
        self.start.known = false;
        self.end.known = false;
        self.like.known = false;
        self.converged = false;
        self.found_here = false;
    }

    /// Work done since the reset.
    #[cfg(test)]
    pub fn work(&self) -> Work {
        self.work
    }

    /// Tries a step of `h_s` from `(t_s, y)`. Gives the error over what is allowed in the state where that is most (of the error at
    /// the end the power of 2/3, so that all goes with the sixth power of the length), or none if the iteration did not converge.
    pub fn attempt<E: Equations>(
        &mut self,
        equations: &mut E,
        t_s: f64,
        h_s: f64,
        y: &[f64],
        allowed: &Allowed,
    ) -> Option<f64> {
        self.resize(equations.size());
        self.keep();
        self.set_start(equations, t_s, y);
        for (inverses, allowed) in [
            (&mut self.inverse_along, &allowed.along),
            (&mut self.inverse_at_end, &allowed.at_end),
        ] {
            for (inverse, allowed) in inverses.iter_mut().zip(allowed) {
                *inverse = 1.0 / allowed;
            }
        }
        for (i, inverse) in self.inverse_left.iter_mut().enumerate() {
            *inverse = 1.0 / (LEFT_ALONG * allowed.along[i]).min(LEFT_AT_END * allowed.at_end[i]);
        }
        self.length_s = h_s;
        if !self.store.serves() {
            self.find(equations, &allowed.along);
        }
        while !self.iterate(equations) {
            if self.found_here {
                return None;
            }
            self.find(equations, &allowed.along);
        }
        self.converged = true;
        Some(self.judge(equations))
    }

    /// State `i` at the stages of the last attempt.
    pub fn stages(&self, i: usize) -> [f64; STAGES] {
        self.increments(i).map(|z| self.start.y[i] + z)
    }

    /// State `i` at stage `j` of the last attempt.
    pub fn stage(&self, i: usize, j: usize) -> f64 {
        self.start.y[i] + self.increments[j * self.size + i]
    }

    /// The same less what it is at the start: more exact where little changes.
    pub fn increments(&self, i: usize) -> [f64; STAGES] {
        std::array::from_fn(|l| self.increments[l * self.size + i])
    }

    /// Derivative of state `i` at the stages, per s: that of the collocation polynomial, which is the right side there.
    pub fn rates(&self, i: usize) -> [f64; STAGES] {
        let z = self.increments(i);
        std::array::from_fn(|j| (0..STAGES).map(|l| DECOUPLING.inverse[j][l] * z[l]).sum::<f64>() / self.length_s)
    }

    /// Accepts the last attempt: its end is the start of the next.
    pub fn accept(&mut self) {
        let n = self.size;
        self.end.known = true;
        self.end.t_s = self.start.t_s + self.length_s;
        for i in 0..n {
            self.end.y[i] = self.start.y[i] + self.increments[(STAGES - 1) * n + i];
            self.end.rates[i] = self.rates(i)[STAGES - 1];
        }
    }

    fn resize(&mut self, size: usize) {
        if self.size == size {
            return;
        }
        self.size = size;
        self.store.resize(size);
        self.start.resize(size);
        self.end.resize(size);
        self.like.known = false;
        self.converged = false;
        for buffer in [
            &mut self.like.y,
            &mut self.point,
            &mut self.damped,
            &mut self.inverse_along,
            &mut self.inverse_at_end,
            &mut self.inverse_left,
        ] {
            buffer.resize(size, 0.0);
        }
        for buffer in [
            &mut self.increments,
            &mut self.like.increments,
            &mut self.stage_rates,
            &mut self.residual,
        ] {
            buffer.resize(STAGES * size, 0.0);
        }
    }

    /// Keeps the last attempt to guess from.
    fn keep(&mut self) {
        if self.converged {
            self.converged = false;
            self.like.known = true;
            self.like.t_s = self.start.t_s;
            self.like.length_s = self.length_s;
            self.like.y.copy_from_slice(&self.start.y);
            std::mem::swap(&mut self.like.increments, &mut self.increments);
        }
    }

    fn set_start<E: Equations>(&mut self, equations: &mut E, t_s: f64, y: &[f64]) {
        if self.start.is(t_s, y) {
            return;
        }
        self.found_here = false;
        if self.end.is(t_s, y) {
            std::mem::swap(&mut self.start, &mut self.end);
            self.end.known = false;
        } else {
            self.start.known = true;
            self.start.y.copy_from_slice(y);
            equations.rates(t_s, y, &mut self.start.rates);
            self.work.evaluations += 1;
        }
        self.start.t_s = t_s;
    }

    /// Finds the Jacobian at the start.
    fn find<E: Equations>(&mut self, equations: &mut E, allowed: &[f64]) {
        let start = &mut self.start;
        // What the polynomial of the last step says is not exact enough for differences.
        equations.rates(start.t_s, &start.y, &mut start.rates);
        self.store.find(equations, start.t_s, &start.y, &start.rates, allowed);
        self.work.evaluations += 1 + self.size as u64;
        self.work.jacobians += 1;
        self.found_here = true;
    }

    /// Guesses the increments.
    fn guess(&mut self) {
        let (n, like) = (self.size, &self.like);
        let from = self.start.t_s - like.t_s;
        if !like.known || from < 0.0 || from + self.length_s > MOST_EXTRAPOLATED * like.length_s {
            self.increments.fill(0.0);
            return;
        }
        let weights = DECOUPLING.weights(from / like.length_s, self.length_s / like.length_s);
        mix(&weights, &like.increments, &mut self.increments, n, |sum, z| *z = sum);
        for increments in self.increments.chunks_exact_mut(n) {
            for i in 0..n {
                increments[i] -= self.start.y[i] - like.y[i];
            }
        }
    }

    /// Iterates from a guess; whether it converged.
    fn iterate<E: Equations>(&mut self, equations: &mut E) -> bool {
        self.guess();
        let mut contraction = libm::pow(self.store.current().contraction, 0.8);
        let (mut before, mut slow) = (f64::INFINITY, 0);
        for iteration in 1..=MOST_ITERATIONS {
            let Some((moved, unlike)) = self.improve(equations) else {
                return false;
            };
            if iteration > 1 {
                // One ratio says little about what goes slowest: factors of another length are no better than they are like.
                contraction = f64::max(moved / before, unlike);
                if before > MEASURED_ABOVE {
                    self.store.current().contraction = contraction.min(1.0);
                }
            }
            let left = if contraction < 1.0 {
                moved * contraction / (1.0 - contraction)
            } else {
                f64::INFINITY
            };
            let seen = iteration > 1 || moved <= MOST_UNSEEN;
            let no_nearer = iteration > 1 && contraction > 0.1;
            if seen && left <= 1.0 || no_nearer && left.min(moved) <= MOST_LEFT {
                self.store.current().excess += iteration.saturating_sub(USUAL_ITERATIONS);
                return true;
            }
            if iteration > 1 {
                // Where a kink is crossed, one movement may be no smaller than the one before.
                slow += usize::from(contraction >= 1.0);
                let more = libm::pow(contraction, (MOST_ITERATIONS - iteration) as f64);
                if slow > 1 || contraction > 4.0 || iteration > 2 && left * more > MOST_LEFT {
                    return false;
                }
            }
            before = moved;
        }
        false
    }

    /// One iteration: how far it moved over what may be left, and by what part the length is another than that of the factors; or
    /// none if it went where there are no numbers.
    fn improve<E: Equations>(&mut self, equations: &mut E) -> Option<(f64, f64)> {
        let (n, h) = (self.size, self.length_s);
        let decoupling = &*DECOUPLING;
        self.work.iterations += 1;
        self.work.evaluations += STAGES as u64;
        for (j, increments) in self.increments.chunks_exact(n).enumerate() {
            for i in 0..n {
                self.point[i] = self.start.y[i] + increments[i];
            }
            let rates = &mut self.stage_rates[j * n..(j + 1) * n];
            equations.rates(self.start.t_s + NODES[j] * h, &self.point, rates);
        }
        mix(
            &decoupling.inverse,
            &self.increments,
            &mut self.stage_rates,
            n,
            |sum, f| *f = h * *f - sum,
        );
        mix(
            &decoupling.from_stages,
            &self.stage_rates,
            &mut self.residual,
            n,
            |sum, w| *w = sum,
        );
        let (factors, new) = self.store.factors(h)?;
        self.work.factorisations += u64::from(new);
        let unlike = (factors.h_s / h - 1.0).abs();
        factors.apply(&self.residual, &mut self.stage_rates);
        mix(
            &decoupling.to_stages,
            &self.stage_rates,
            &mut self.residual,
            n,
            |sum, change| *change = sum,
        );
        let (mut moved, mut finite) = (0.0, true);
        for (increments, changes) in self.increments.chunks_exact_mut(n).zip(self.residual.chunks_exact(n)) {
            for i in 0..n {
                increments[i] += changes[i];
                let change = changes[i].abs() * self.inverse_left[i];
                finite &= change < f64::INFINITY;
                moved = f64::max(moved, change);
            }
        }
        finite.then_some((moved, unlike))
    }
}
