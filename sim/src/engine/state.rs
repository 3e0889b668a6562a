//! The continuous state between segments: gas, films, towels.

use crate::air::MOST;

use super::Case;
use super::mode::SURFACES;

/// What is where at an instant.
#[derive(Clone, Debug)]
pub(crate) struct Stocks {
    /// Partial pressures `[species][compartment]`, Pa.
    pub p: [[f64; MOST]; 4],
    /// Liquid on each surface, mol.
    pub film_mol: [[f64; SURFACES]; MOST],
    /// Liquid in towels, mol.
    pub towel_mol: [f64; MOST],
}

impl Default for Stocks {
    fn default() -> Self {
        Self {
            p: [[0.0; MOST]; 4],
            film_mol: [[0.0; SURFACES]; MOST],
            towel_mol: [0.0; MOST],
        }
    }
}

impl Stocks {
    /// The start of a run.
    pub fn reset(&mut self, case: &Case) {
        *self = Self::default();
        for (a, compartment) in case.compartments.iter().enumerate() {
            for i in 0..4 {
                self.p[i][a] = compartment.partial_pa[i];
            }
        }
    }

    /// Total pressure of a compartment, Pa.
    pub fn pressure(&self, a: usize) -> f64 {
        self.p[0][a] + self.p[1][a] + self.p[2][a] + self.p[3][a]
    }

    /// Liquid of a compartment, mol. A film that dries may be a rounding below zero until it has.
    pub fn liquid_mol(&self, a: usize) -> f64 {
        self.film_mol[a].iter().sum::<f64>() + self.towel_mol[a]
    }
}
