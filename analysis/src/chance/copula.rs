//! Inputs that go together: a Gaussian copula on top of whatever design draws them.
//!
//! Equation: z_j = Phi^-1(u_j) for the members of a group in its order, z'_i = sum over j <= i of L_ij z_j,
//! u'_i = Phi(z'_i), with L the factor of [`Factor`]: the members then have the rank correlations asked for, each is still
//! uniform, and the first keeps its own draw to the bit.
//! Symbols: u, u' in (0, 1); z, z' without unit; Phi the standard normal distribution function.
//! Source: as [`Factor`]'s; Phi and its inverse are those of the normal spread (`libm` and Wichura's AS 241).
//! Valid for inputs drawn once in a variation: values drawn anew in every turn have no partner. All at u = 1/2 stay at 1/2.
//! Left out: anything stored for a variation. Member i is made of members 1 to i each time it is asked for.

use breathroom_sim::spread::{Factor, NotDefinite, standard_lower, standard_quantile};

use super::keyed::BELOW_ONE;

/// Inputs that go together.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    inputs: Vec<usize>,
    factor: Factor,
}

impl Group {
    /// The inputs with these indices (in `Scenario::inputs`), and their rank correlations: symmetric, 1 on the diagonal; the
    /// lower triangle is read.
    ///
    /// # Errors
    /// The offending pair, as places in `inputs`, if no draws can have these correlations.
    ///
    /// # Panics
    /// If the table has not a row for each input: a fault of the program, never of a file.
    pub fn new(inputs: &[usize], rank_correlation: &[Vec<f64>]) -> Result<Self, NotDefinite> {
        assert_eq!(inputs.len(), rank_correlation.len(), "a row for each input");
        Ok(Self {
            inputs: inputs.to_vec(),
            factor: Factor::of(rank_correlation)?,
        })
    }

    /// Its inputs, in the order of the rows.
    #[must_use]
    pub fn inputs(&self) -> &[usize] {
        &self.inputs
    }

    /// The uniform of member `i`, from what the design draws for each input.
    pub(super) fn uniform(&self, i: usize, own: impl Fn(usize) -> f64) -> f64 {
        if i == 0 {
            return own(self.inputs[0]);
        }
        let z = self
            .factor
            .row(i)
            .iter()
            .zip(&self.inputs)
            .fold(0.0, |z, (l, &input)| z + l * standard_quantile(own(input)));
        // Beyond 8.3 standard deviations Phi rounds to 1, far below to 0.
        standard_lower(z).clamp(f64::MIN_POSITIVE, BELOW_ONE)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Design, Draws, InputKey};
    use super::*;
    use crate::stats::rank::{ranks, spearman};
    use breathroom_sim::scenario::Luck;

    const PATHS: [&str; 4] = ["a.flow", "b.volume", "c.mass", "d.area"];
    const ASKED: [[f64; 3]; 3] = [[1.0, 0.6, -0.3], [0.6, 1.0, 0.2], [-0.3, 0.2, 1.0]];

    fn group() -> Group {
        // Not in the order of the inputs, and the second input not in it.
        let table: Vec<Vec<f64>> = ASKED.iter().map(|row| row.to_vec()).collect();
        Group::new(&[3, 0, 2], &table).unwrap()
    }

    fn draws(design: Design, runs: u64, groups: &[Group]) -> Draws {
        let inputs = PATHS.map(|path| InputKey { path, once: true });
        Draws::new(5, design, runs, &inputs, groups).unwrap()
    }

    fn column(draws: &Draws, input: usize, runs: u64) -> Vec<f64> {
        (0..runs).map(|k| draws.variation(k).uniform(input, 0, 0)).collect()
    }

    /// Under every design: the rank correlations are those asked for within four standard errors ((1 - s^2) sqrt(1.06 / n)
    /// for normal scores drawn plainly: Fieller, Hartley and Pearson, Biometrika 44 (1957) 470, from memory), the marginals
    /// are uniform (Kolmogorov-Smirnov, once in 1,000 by chance: 1.95 / sqrt(n)), and who is in no group keeps the draws to
    /// the bit.
    #[test]
    fn groups_have_the_correlations_asked_for() {
        let n = 20_000_u64;
        let root = (n as f64).sqrt();
        for design in [Design::Plain, Design::LatinHypercube, Design::Sobol] {
            let (with, without) = (draws(design, n, &[group()]), draws(design, n, &[]));
            let columns: Vec<_> = (0..4).map(|input| column(&with, input, n)).collect();
            let members = [3, 0, 2];
            for (i, row) in ASKED.iter().enumerate() {
                for (j, s) in row.iter().enumerate().take(i) {
                    let found = spearman(&columns[members[i]], &columns[members[j]]);
                    let error = (1.0 - s * s) * 1.06_f64.sqrt() / root;
                    assert!((found - s).abs() < 4.0 * error, "{design:?} {i} {j}: {found}");
                }
            }
            for (input, values) in columns.iter().enumerate() {
                let gap = ranks(values).iter().zip(values).fold(0.0_f64, |gap, (rank, u)| {
                    gap.max((rank / n as f64 - u).abs())
                        .max(((rank - 1.0) / n as f64 - u).abs())
                });
                assert!(gap < 1.95 / root, "{design:?} {input}: {gap}");
                assert!(spearman(values, &columns[1]).abs() < 4.0 / root || input == 1);
            }
            // The first member and the one outside.
            assert_eq!(columns[3], column(&without, 3, n));
            assert_eq!(columns[1], column(&without, 1, n));
        }
    }

    #[test]
    fn medians_stay_medians() {
        for member in 0..3 {
            assert_eq!(group().uniform(member, |_| 0.5), 0.5);
        }
    }

    /// Far out in both tails, every number stays inside (0, 1).
    #[test]
    fn tails_stay_inside() {
        for u in [f64::powi(2.0, -54), BELOW_ONE] {
            for member in 0..3 {
                let out = group().uniform(member, |_| u);
                assert!(out > 0.0 && out < 1.0, "{member}: {out}");
            }
        }
    }
}
