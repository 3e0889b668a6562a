//! Spreads drawn together: from rank correlations to the factor that makes independent normals go together.
//!
//! Equation: a rank correlation s between two inputs is had by normal scores of correlation r = 2 sin(pi s / 6); their matrix
//! is factored, R = L L', L lower triangular (Cholesky); then z' = L z of independent standard normals z has the
//! correlations R, and Phi(z') are uniform with the rank correlations asked for (a Gaussian copula).
//! Symbols: s, r from -1 to 1; z without unit; Phi the standard normal distribution function.
//! Source: Pearson, "On further methods of determining correlation" (1907) for r of s; Li and Hammond, IEEE Trans. Syst. Man
//! Cybern. 5 (1975) 557, for scores (both from memory; the tests of draws measure s). Cholesky: nalgebra.
//! Valid for positive definite R: each input keeps at least [`LEAST_OWN`] of its variance when all before it are known.
//! That asks more than a sensible table of s: R is not that table, and may fail where it would pass.
//! Left out: other copulas (no dependence in the far tails stays here unless r is 1), and spreads of a choice, whose ties
//! make the sample's rank correlation smaller.
//!
//! Which pair offends: the first leading part of R that is not positive definite ends in a row; of that row's entries the one
//! that, moved alone toward 0, mends that part with the least change (of r); if none does so alone, the largest in size. The
//! same matrix always gives the same pair. Another pair may be the one that was mistyped: the words say "do not go together".

use std::f64::consts::FRAC_PI_6;

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Least part of an input's variance that must be its own: far above rounding (1e-16 times the size), far below use.
const LEAST_OWN: f64 = 1e-12;

/// The correlation of normal scores that gives the rank correlation `s`.
#[must_use]
pub fn normal_correlation(s: f64) -> f64 {
    2.0 * libm::sin(s * FRAC_PI_6)
}

/// The rank correlation that normal scores of correlation `r` have.
#[must_use]
pub fn rank_correlation(r: f64) -> f64 {
    libm::asin(0.5 * r) / FRAC_PI_6
}

/// The lower triangle L.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    /// Row after row, each up to its diagonal.
    entries: Vec<f64>,
}

/// Why a matrix has no factor: two of its inputs do not go together with the rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NotDefinite {
    /// Row of the offending pair, from 0.
    pub row: usize,
    /// Its column, less than the row.
    pub column: usize,
    /// The rank correlation of the pair at which the matrix up to the row would only just fail; `None` if this pair alone
    /// cannot mend it.
    pub edge: Option<f64>,
}

impl Factor {
    /// Factors a symmetric matrix of rank correlations with a diagonal of 1; only its lower triangle is read.
    ///
    /// Bits: nalgebra's factoring goes by columns with plain multiplications and additions (no kernel picked at run time), so
    /// it gives the bits of the textbook's loop in the same order; a test holds it to that.
    ///
    /// # Errors
    /// The offending pair, if the matrix of normal correlations is not positive definite.
    ///
    /// # Panics
    /// If a row is shorter than its place: a fault of the program, never of a file.
    pub fn of(ranks: &[Vec<f64>]) -> Result<Self, NotDefinite> {
        let n = ranks.len();
        let whole = normal_matrix(ranks);
        let mut solved: Option<Cholesky<f64, Dyn>> = None;
        for row in 0..n {
            let part = Cholesky::new(whole.view((0, 0), (row + 1, row + 1)).into_owned());
            match part {
                Some(part) if own(&part, row) >= LEAST_OWN => solved = Some(part),
                _ => return Err(offence(&whole, row, solved.as_ref())),
            }
        }
        let entries = solved.map_or_else(Vec::new, |all| {
            let lower = all.l_dirty();
            (0..n).flat_map(|i| (0..=i).map(move |j| lower[(i, j)])).collect()
        });
        Ok(Self { entries })
    }

    /// How many inputs go together.
    #[must_use]
    pub fn members(&self) -> usize {
        // n (n + 1) / 2 entries.
        (0..).take_while(|n| n * (n + 1) / 2 < self.entries.len()).count()
    }

    /// Row `i` of L, up to and with its diagonal.
    #[must_use]
    pub fn row(&self, i: usize) -> &[f64] {
        &self.entries[i * (i + 1) / 2..][..=i]
    }
}

/// R.
fn normal_matrix(ranks: &[Vec<f64>]) -> DMatrix<f64> {
    DMatrix::from_fn(ranks.len(), ranks.len(), |i, j| match i.max(j) {
        _ if i == j => 1.0,
        row => normal_correlation(ranks[row][i.min(j)]),
    })
}

/// The part of the variance of the last input that is its own.
fn own(part: &Cholesky<f64, Dyn>, row: usize) -> f64 {
    let diagonal = part.l_dirty()[(row, row)];
    diagonal * diagonal
}

/// The pair in `row`, whose leading part is the first to fail; `before` is the factor of the part before it.
///
/// With r the row, q = r' A^-1 r (A the part before) is the variance that the others explain: 1 or more is the fault. Along
/// entry j alone q(t) = q + 2 g (t - r_j) + a (t - r_j)^2, g = (A^-1 r)_j, a = (A^-1)_jj > 0: the nearest root of q(t) = 1
/// between r_j and 0 mends it.
fn offence(whole: &DMatrix<f64>, row: usize, before: Option<&Cholesky<f64, Dyn>>) -> NotDefinite {
    let r = DVector::from_fn(row, |j, _| whole[(row, j)]);
    let mut best: Option<(f64, usize, f64)> = None;
    if let Some(before) = before {
        let solved = before.solve(&r);
        let q: f64 = (0..row).map(|j| r[j] * solved[j]).sum();
        for j in 0..row {
            let unit = DVector::from_fn(row, |i, _| f64::from(u8::from(i == j)));
            let (g, a) = (solved[j], before.solve(&unit)[j]);
            // Toward 0 is where r_j shrinks: a step of size x changes q by a x^2 - 2 g sign(r_j) x.
            let slope = g * r[j].signum();
            let inside = slope * slope - a * (q - 1.0);
            if r[j] == 0.0 || slope <= 0.0 || inside < 0.0 {
                continue;
            }
            let step = ((slope - inside.sqrt()) / a).max(0.0);
            if step < r[j].abs() && best.is_none_or(|(least, ..)| step < least) {
                best = Some((step, j, r[j] - step * r[j].signum()));
            }
        }
    }
    let largest = (0..row).fold(0, |most, j| if r[j].abs() > r[most].abs() { j } else { most });
    NotDefinite {
        row,
        column: best.map_or(largest, |(_, j, _)| j),
        edge: best.map(|(_, _, t)| rank_correlation(t)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ranks(rows: &[&[f64]]) -> Vec<Vec<f64>> {
        rows.iter().map(|row| row.to_vec()).collect()
    }

    #[test]
    fn ranks_and_normals_meet() {
        // 2 sin(pi / 12) = 0.517638..., the chord of 30 degrees.
        assert!((normal_correlation(0.5) - 0.517_638_090_205_041_5).abs() < 1e-15);
        assert!((normal_correlation(-1.0) + 1.0).abs() < 1e-15);
        for s in [-0.9, -0.3, 0.0, 0.6, 1.0] {
            assert!((rank_correlation(normal_correlation(s)) - s).abs() < 1e-15);
        }
    }

    /// R = L L' for sizes up to 12, and the bits are those of the textbook's loop, whatever the size.
    #[test]
    fn the_factor_has_the_bits_of_the_plain_loop() {
        for n in 1..=12_usize {
            let s = |i: usize, j: usize| {
                0.8 / (1.0 + i.abs_diff(j) as f64) - if (i + j).is_multiple_of(3) { 0.15 } else { 0.0 }
            };
            let table: Vec<Vec<f64>> = (0..n)
                .map(|i| (0..n).map(|j| if i == j { 1.0 } else { s(i, j) }).collect())
                .collect();
            let factor = Factor::of(&table).unwrap();
            assert_eq!(factor.members(), n);
            let mut plain = vec![vec![0.0; n]; n];
            for j in 0..n {
                for i in j..n {
                    let r = if i == j { 1.0 } else { normal_correlation(table[i][j]) };
                    let rest = (0..j).fold(r, |rest, k| rest - plain[j][k] * plain[i][k]);
                    plain[i][j] = if i == j { f64::sqrt(rest) } else { rest / plain[j][j] };
                }
            }
            for i in 0..n {
                for j in 0..=i {
                    assert_eq!(factor.row(i)[j].to_bits(), plain[i][j].to_bits(), "{n}: {i} {j}");
                    let product: f64 = (0..=j).map(|k| factor.row(i)[k] * factor.row(j)[k]).sum();
                    let r = if i == j { 1.0 } else { normal_correlation(table[i][j]) };
                    assert!((product - r).abs() < 1e-14);
                }
            }
        }
    }

    #[test]
    fn the_offending_pair_is_named() {
        // a goes with b and b with c, but c against a: the third row fails.
        let table = |ac: f64, bc: f64| ranks(&[&[1.0], &[0.9, 1.0], &[ac, bc, 1.0]]);
        let bad = Factor::of(&table(-0.1, 0.8)).unwrap_err();
        // By the determinant, with x of ab, y of ac, z of bc in normal scores: z lies within x y -+ sqrt((1 - x^2) (1 - y^2)),
        // -0.512 to 0.322, so moving bc mends it, at 0.3085 in ranks; y within 0.495 to 0.982, so moving ac to 0 does not.
        assert_eq!((bad.row, bad.column), (2, 1));
        let edge = bad.edge.unwrap();
        assert!((edge - 0.3085).abs() < 1e-4, "{edge}");
        assert!(Factor::of(&table(-0.1, edge + 1e-6)).is_err());
        assert!(Factor::of(&table(-0.1, edge - 1e-6)).is_ok());
        // Likewise mirrored in sign.
        let mirrored = Factor::of(&table(0.1, -0.8)).unwrap_err();
        assert!((mirrored.edge.unwrap() + edge).abs() < 1e-12);
        // With ac at -0.5 neither mends it alone: the larger.
        let bad = Factor::of(&table(-0.5, 0.8)).unwrap_err();
        assert_eq!((bad.row, bad.column, bad.edge), (2, 1, None));
    }

    #[test]
    fn a_pair_that_is_one_has_no_factor() {
        for s in [1.0, -1.0] {
            let bad = Factor::of(&ranks(&[&[1.0], &[s, 1.0]])).unwrap_err();
            assert_eq!((bad.row, bad.column), (1, 0));
            assert!((bad.edge.unwrap() - s).abs() < 1e-7);
        }
    }

    #[test]
    fn where_no_single_pair_mends_it_the_largest_is_named() {
        let table = ranks(&[
            &[1.0],
            &[0.0, 1.0],
            &[0.0, 0.0, 1.0],
            &[0.0, 0.0, 0.0, 1.0],
            &[0.8, 0.81, 0.8, 0.8, 1.0],
        ]);
        let bad = Factor::of(&table).unwrap_err();
        assert_eq!(
            bad,
            NotDefinite {
                row: 4,
                column: 1,
                edge: None
            }
        );
    }

    #[test]
    fn none_and_one_are_fine() {
        assert_eq!(Factor::of(&[]).unwrap().members(), 0);
        assert_eq!(Factor::of(&ranks(&[&[1.0]])).unwrap().row(0), [1.0]);
    }
}
