//! The relaxing modes of one species: its closed form over a segment.
//!
//! In the eigenbasis (see `basis`) each mode is alone, `z' = -lambda z + sigma + sum_l gamma_l e^(-mu_l t)`, so
//!
//! ```text
//! z(t) = z(0) e^(-lambda t) + sigma phi1(lambda, t) + sum_l gamma_l psi1(lambda, mu_l, t)
//! ```
//!
//! with the integrals of `expo`. `z` in mol^(1/2) Pa^(1/2), rates in 1/s.

use libm::expm1;

use crate::air::MOST;

use super::basis::Basis;
use super::expo::{APART, phi1, phi2_with, psi2};
use super::indices::LAGS;
use super::sized::sized;
use super::system::Dying;

/// The relaxing modes of one species.
#[derive(Clone, Debug)]
pub(crate) struct Modes {
    /// Number of modes.
    pub n: usize,
    /// Rates, 1/s.
    pub lambda: [f64; MOST],
    /// `p_a = sum_k to_p[a][k] z_k`.
    pub to_p: [[f64; MOST]; MOST],
    /// Values at the start.
    pub start: [f64; MOST],
    /// Constant sources.
    pub sigma: [f64; MOST],
    /// Number of dying sources.
    pub lags: usize,
    /// Their rates, 1/s.
    pub mu: [f64; LAGS],
    /// `gamma[l][k]`.
    pub gamma: [[f64; MOST]; LAGS],
}

impl Default for Modes {
    fn default() -> Self {
        Self {
            n: 0,
            lambda: [0.0; MOST],
            to_p: [[0.0; MOST]; MOST],
            start: [0.0; MOST],
            sigma: [0.0; MOST],
            lags: 0,
            mu: [0.0; LAGS],
            gamma: [[0.0; MOST]; LAGS],
        }
    }
}

impl Modes {
    /// Modes that are the compartments themselves, at zero: under steps that are the solution.
    pub fn be_identity(&mut self, n: usize) {
        *self = Self { n, ..Self::default() };
        for a in 0..n.min(MOST) {
            self.to_p[a][a] = 1.0;
        }
    }

    /// Starts from partial pressures (Pa) with steady (mol/s) and dying sources.
    pub fn set(
        &mut self,
        basis: &Basis,
        capacity: &[f64; MOST],
        p: &[f64; MOST],
        source: &[f64; MOST],
        dying: Option<&Dying>,
    ) {
        let n = basis.n;
        self.n = n;
        self.lambda[..n].copy_from_slice(&basis.lambda[..n]);
        self.to_p[..n].copy_from_slice(&basis.to_p[..n]);
        self.lags = dying.map_or(0, |d| d.count);
        for k in 0..n {
            let mut start = 0.0;
            let mut sigma = 0.0;
            for a in 0..n {
                start += basis.to_p[a][k] * capacity[a] * p[a];
                sigma += basis.to_p[a][k] * source[a];
            }
            self.start[k] = start;
            self.sigma[k] = sigma;
        }
        if let Some(dying) = dying {
            for l in 0..dying.count {
                self.mu[l] = dying.mu[l];
                for k in 0..n {
                    self.gamma[l][k] = (0..n).map(|a| basis.to_p[a][k] * dying.amount[l][a]).sum();
                }
            }
        }
    }

    /// The closed form's modes at `t`.
    pub fn at(&self, t: f64) -> [f64; MOST] {
        // e^(-mu t) - 1, once for all modes.
        let mut lost = [0.0; LAGS];
        for l in 0..self.lags.min(LAGS) {
            lost[l] = expm1(-self.mu[l] * t);
        }
        let mut z = [0.0; MOST];
        sized!(self.n, N => {
            for (z, [at]) in z.iter_mut().zip(self.at_instants::<N, 1>(&[t], &[&lost])) {
                *z = at;
            }
        });
        z
    }

    /// The same at several instants, of which it is known what the dying sources have lost, `e^(-mu t) - 1`.
    pub fn at_instants<const N: usize, const L: usize>(&self, t: &[f64; L], lost: &[&[f64; LAGS]; L]) -> [[f64; L]; N] {
        let mut z = [[0.0; L]; N];
        for k in 0..N {
            let lambda = self.lambda[k];
            let fade = t.map(|t| expm1(-lambda * t));
            let phi: [f64; L] = if lambda == 0.0 {
                *t
            } else {
                let inverse = 1.0 / lambda;
                fade.map(|fade| -fade * inverse)
            };
            for l in 0..L {
                z[k][l] = self.start[k] * (1.0 + fade[l]) + self.sigma[k] * phi[l];
            }
            for d in 0..self.lags.min(LAGS) {
                let gamma = self.gamma[d][k];
                if gamma == 0.0 {
                    continue;
                }
                let gap = lambda - self.mu[d];
                let inverse = 1.0 / gap;
                for l in 0..L {
                    let psi = if (gap * t[l]).abs() > APART {
                        (lost[l][d] - fade[l]) * inverse
                    } else {
                        // `psi1`, of which the exponential is known.
                        let slower = if gap > 0.0 { lost[l][d] } else { fade[l] };
                        (1.0 + slower) * phi1(gap.abs(), t[l])
                    };
                    z[k][l] += gamma * psi;
                }
            }
        }
        z
    }

    /// The closed form's integrals to `t`.
    pub fn integral(&self, t: f64) -> [f64; MOST] {
        let mut z = [0.0; MOST];
        for k in 0..self.n.min(MOST) {
            let phi = phi1(self.lambda[k], t);
            z[k] = self.start[k] * phi + self.sigma[k] * phi2_with(self.lambda[k], t, phi);
            for l in 0..self.lags.min(LAGS) {
                z[k] += self.gamma[l][k] * psi2(self.lambda[k], self.mu[l], t);
            }
        }
        z
    }

    /// From modes to partial pressures.
    pub fn pressures(&self, z: &[f64; MOST], out: &mut [f64; MOST]) {
        for a in 0..self.n.min(MOST) {
            out[a] = (0..self.n.min(MOST)).map(|k| self.to_p[a][k] * z[k]).sum();
        }
    }
}
