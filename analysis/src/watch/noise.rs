//! Normal numbers by a key, one after the other: the noise of an instrument follows from seed, what it is of, and the run.
//!
//! Equation: `n = Phi^-1(u)`, `u` the top 53 bits of the next output of a PCG started at the key. Symbols: no units.
//! Source: as of [`crate::chance`]; the quantile is that of the simulator's spreads. Valid for any key.
//! A reading's number depends on its place in the run and on nothing that other instruments or runs do.

use breathroom_sim::scenario::Luck as _;
use breathroom_sim::spread::standard_quantile;
use rand::Rng as _;
use rand_pcg::Pcg64;

use crate::chance::{STREAM, Streams, to_unit};

/// Standard normal numbers.
#[derive(Clone, Debug)]
pub struct Normals(Pcg64);

impl Normals {
    /// Those of this seed, of what they are for, and of a run.
    #[must_use]
    pub fn new(seed: u64, what: &str, run: u64) -> Self {
        let key = Streams::new(seed, &[what])
            .variation(run)
            .stream(what)
            .unwrap_or_default();
        Self(Pcg64::new(u128::from(key), STREAM))
    }

    /// The next uniform, in (0, 1).
    pub fn uniform(&mut self) -> f64 {
        to_unit(self.0.next_u64())
    }

    /// The next normal.
    pub fn draw(&mut self) -> f64 {
        standard_quantile(self.uniform())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn they_are_normal_and_follow_from_their_key() {
        let draws = |what: &str, run: u64| {
            let mut normals = Normals::new(3, what, run);
            (0..20_000).map(|_| normals.draw()).collect::<Vec<f64>>()
        };
        let first = draws("co2", 0);
        assert_eq!(first, draws("co2", 0));
        assert_ne!(first[0], draws("co2", 1)[0]);
        assert_ne!(first[0], draws("humidity", 0)[0]);
        let mean = first.iter().sum::<f64>() / first.len() as f64;
        let square = first.iter().map(|n| n * n).sum::<f64>() / first.len() as f64;
        // Four standard errors of both.
        assert!(mean.abs() < 0.0283 && (square - 1.0).abs() < 0.04, "{mean} {square}");
    }
}
