//! Jacobians that have been found by differences, and the factors made of them.
//!
//! A Jacobian of some steps ago, or of the last time when the same equations held, mostly still serves: it decides how fast the
//! iteration converges, not where to. So the last few are kept, one for each set of equations, and with each the factors for the
//! last lengths of steps, which come from a ladder and come back (Hairer and Wanner 1996, Solving Ordinary Differential Equations
//! II, section IV.8). Factors is what they are called there; here they are inverses (see `inverse`).

use super::decouple::DECOUPLING;
use super::inverse::{Complex, Inverse};
use super::newton::Equations;
use super::radau::STAGES;

/// Sets of equations whose Jacobian is kept: the two halves of a pair of beds, and one more.
const SETS: usize = 3;
/// Lengths for which factors are kept with each.
const LENGTHS: usize = 32;
/// Factors serve for lengths that differ by no more than this part of them: they decide how fast the iteration converges, by which
/// nothing is lost but this part of what it corrects.
const LIKE: f64 = 3e-2;
/// How fast an iteration is taken to converge that has not been seen to.
const UNSEEN: f64 = 0.1;
/// An increment is at least so many times the error that is allowed in the state.
const INCREMENT_OVER_ALLOWED: f64 = 10.0;

/// Factors for one length of step.
#[derive(Clone, Debug, Default)]
pub(crate) struct Factors {
    /// Length, s.
    pub h_s: f64,
    used: u64,
    pub real: Inverse<f64>,
    pub pairs: [Inverse<Complex>; 2],
}

impl Factors {
    /// Solves the real system and the two complex ones: the real one, then real and imaginary parts.
    pub fn apply(&self, right: &[f64], out: &mut [f64]) {
        let n = right.len() / STAGES;
        self.real.of(&right[..n], &mut out[..n]);
        for (k, pair) in self.pairs.iter().enumerate() {
            let parts = (1 + 2 * k) * n..(3 + 2 * k) * n;
            pair.of(&right[parts.clone()], &mut out[parts]);
        }
    }
}

/// A Jacobian and what was made of it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Linearised {
    /// Key of the equations.
    mode: Option<u64>,
    used: u64,
    known: bool,
    /// Derivative of rate `i` by state `k` at `[k * size + i]`, 1/s.
    jacobian: Vec<f64>,
    factors: Vec<Factors>,
    /// Of those, how many are of this Jacobian.
    made: usize,
    /// How fast the iteration converged when it was last seen.
    pub contraction: f64,
    /// Iterations beyond the usual number since it was found.
    pub excess: usize,
}

/// All that is kept.
#[derive(Clone, Debug, Default)]
pub(crate) struct Store {
    sets: [Linearised; SETS],
    current: usize,
    clock: u64,
    size: usize,
    point: Vec<f64>,
    rates: Vec<f64>,
}

impl Store {
    /// Forgets all.
    pub fn reset(&mut self) {
        for set in &mut self.sets {
            set.mode = None;
            set.used = 0;
            set.known = false;
        }
        (self.current, self.clock) = (0, 0);
    }

    /// Equations that go by `mode` hold from now on.
    pub fn choose(&mut self, mode: u64) {
        self.clock += 1;
        let met = self.sets.iter().position(|set| set.mode == Some(mode));
        self.current = met.unwrap_or_else(|| {
            let oldest = (0..SETS).min_by_key(|&k| self.sets[k].used).unwrap_or(0);
            self.sets[oldest].mode = Some(mode);
            self.sets[oldest].known = false;
            oldest
        });
        let set = &mut self.sets[self.current];
        set.used = self.clock;
        set.contraction = set.contraction.max(UNSEEN);
    }

    /// Makes room for systems of `size`; forgets all if they had another.
    pub fn resize(&mut self, size: usize) {
        if self.size != size {
            self.size = size;
            for set in &mut self.sets {
                set.known = false;
            }
            self.point.resize(size, 0.0);
            self.rates.resize(size, 0.0);
        }
    }

    /// What goes with the equations that hold.
    pub fn current(&mut self) -> &mut Linearised {
        &mut self.sets[self.current]
    }

    /// Whether there is a Jacobian, and finding it anew would not cost less than what its age has already cost.
    pub fn serves(&self) -> bool {
        let set = &self.sets[self.current];
        // A Jacobian costs size / 5 iterations in rates, and about size / 4 in factors.
        set.known && set.excess <= self.size / 2
    }

    /// Finds the Jacobian by one-sided differences; `rates` are those at `(t_s, y)`.
    ///
    /// The increment is the root of the rounding, or somewhat above the error that is allowed: enough for a state at 0. It goes
    /// the way that the state goes, into the piece of the equations that lies ahead, but through 0 only away from it.
    pub fn find<E: Equations>(&mut self, equations: &mut E, t_s: f64, y: &[f64], rates: &[f64], allowed: &[f64]) {
        let n = self.size;
        let set = &mut self.sets[self.current];
        set.jacobian.resize(n * n, 0.0);
        self.point.copy_from_slice(y);
        for (k, column) in set.jacobian.chunks_exact_mut(n).enumerate() {
            let mut increment = libm::sqrt(f64::EPSILON) * y[k].abs();
            increment = increment.max(INCREMENT_OVER_ALLOWED * allowed[k]);
            if rates[k] < 0.0 && !(0.0..=increment).contains(&y[k]) {
                increment = -increment;
            }
            self.point[k] = y[k] + increment;
            let inverse = 1.0 / (self.point[k] - y[k]);
            equations.rates(t_s, &self.point, &mut self.rates);
            for i in 0..n {
                column[i] = (self.rates[i] - rates[i]) * inverse;
            }
            self.point[k] = y[k];
        }
        set.known = true;
        set.made = 0;
        set.contraction = UNSEEN;
        set.excess = 0;
    }

    /// The factors for steps of `h_s`, and whether they are new: none if the matrix is singular.
    pub fn factors(&mut self, h_s: f64) -> Option<(&Factors, bool)> {
        self.clock += 1;
        let set = &mut self.sets[self.current];
        let made = set.factors[..set.made]
            .iter()
            .position(|f| (f.h_s - h_s).abs() <= LIKE * h_s);
        let place = made.unwrap_or_else(|| {
            if set.made < LENGTHS {
                set.made += 1;
                if set.factors.len() < set.made {
                    set.factors.push(Factors::default());
                }
                set.made - 1
            } else {
                (0..LENGTHS).min_by_key(|&k| set.factors[k].used).unwrap_or(0)
            }
        });
        let factors = &mut set.factors[place];
        factors.used = self.clock;
        if made.is_none() {
            let decoupling = &*DECOUPLING;
            // Not a length, in case the matrix is singular.
            factors.h_s = f64::NAN;
            if !factors.real.invert(decoupling.real, h_s, &set.jacobian, self.size) {
                return None;
            }
            for (pair, mu) in factors.pairs.iter_mut().zip(decoupling.pairs) {
                if !pair.invert(Complex(mu[0], mu[1]), h_s, &set.jacobian, self.size) {
                    return None;
                }
            }
            factors.h_s = h_s;
        }
        Some((factors, made.is_none()))
    }
}
