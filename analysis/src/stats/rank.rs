//! Rank correlation: how steadily one quantity rises or falls with another.
//!
//! Equation: the product-moment correlation of the ranks, sum((a - m)(b - m)) / sqrt(sum((a - m)^2) sum((b - m)^2)), with
//! m = (n + 1) / 2; equal values share the average of their ranks.
//! Symbols: a, b ranks from 1 to n; no units. 1: always rises with it; -1: always falls; 0: no steady relation.
//! Source: Spearman, "The proof and measurement of association between two things", Am. J. Psychol. 15 (1904) 72-101;
//! average ranks: Kendall, "The treatment of ties in ranking problems", Biometrika 33 (1945) 239-251.
//! Valid for any values; infinities rank at the ends. All NaN together rank below everything else, as one tie. If either
//! side is constant the correlation is 0: nothing varies with it.
//! Left out: relations that rise and then fall, and inputs that only act together.

use std::cmp::Ordering;

/// Ranks from 1, averages for ties.
#[must_use]
pub fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_unstable_by(|&i, &j| compare(values[i], values[j]).then(i.cmp(&j)));
    let mut ranks = vec![0.0; values.len()];
    let mut first = 0;
    while first < order.len() {
        let value = values[order[first]];
        let tied = order[first..]
            .iter()
            .take_while(|&&i| compare(values[i], value).is_eq())
            .count();
        // The mean of first + 1 ..= first + tied.
        let rank = first as f64 + 0.5 * (tied as f64 + 1.0);
        for &i in &order[first..first + tied] {
            ranks[i] = rank;
        }
        first += tied;
    }
    ranks
}

/// NaN below all, equal to itself; -0 equal to 0.
fn compare(a: f64, b: f64) -> Ordering {
    a.partial_cmp(&b).unwrap_or_else(|| b.is_nan().cmp(&a.is_nan()))
}

/// Product-moment correlation of two lists of [`ranks`] of the same length; 0 if either is constant or the lengths differ.
#[must_use]
pub fn correlation(a: &[f64], b: &[f64]) -> f64 {
    if a.len() != b.len() {
        return 0.0;
    }
    let mean = 0.5 * (a.len() as f64 + 1.0);
    let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
    for (&a, &b) in a.iter().zip(b) {
        let (a, b) = (a - mean, b - mean);
        ab += a * b;
        aa += a * a;
        bb += b * b;
    }
    if aa > 0.0 && bb > 0.0 {
        (ab / (aa.sqrt() * bb.sqrt())).clamp(-1.0, 1.0)
    } else {
        0.0
    }
}

/// Spearman's rank correlation of two lists of the same length; 0 if either is constant or the lengths differ.
#[must_use]
pub fn spearman(a: &[f64], b: &[f64]) -> f64 {
    correlation(&ranks(a), &ranks(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ties_share_their_ranks() {
        assert_eq!(ranks(&[3.0, 1.0, 3.0, 2.0]), [3.5, 1.0, 3.5, 2.0]);
        assert_eq!(ranks(&[0.0, -0.0]), [1.5, 1.5]);
        assert_eq!(
            ranks(&[f64::NAN, f64::NEG_INFINITY, 5.0, -f64::NAN]),
            [1.5, 3.0, 4.0, 1.5]
        );
        assert!(ranks(&[]).is_empty());
    }

    #[test]
    fn only_the_order_counts() {
        let x = [0.1, 0.7, 0.2, 0.9, 0.5];
        assert!((spearman(&x, &x.map(f64::exp)) - 1.0).abs() < 1e-15);
        assert!((spearman(&x, &x.map(|x| -x * x)) + 1.0).abs() < 1e-15);
    }

    /// A textbook case: intelligence and hours of television of ten people, rho = -29/165.
    #[test]
    fn it_gives_the_known_value() {
        let a = [106.0, 100.0, 86.0, 101.0, 99.0, 103.0, 97.0, 113.0, 112.0, 110.0];
        let b = [7.0, 27.0, 2.0, 50.0, 28.0, 29.0, 20.0, 12.0, 6.0, 17.0];
        assert!((spearman(&a, &b) + 29.0 / 165.0).abs() < 1e-15);
    }

    #[test]
    fn constants_and_nothing_give_zero() {
        assert_eq!(spearman(&[1.0, 2.0, 3.0], &[4.0, 4.0, 4.0]), 0.0);
        assert_eq!(spearman(&[], &[]), 0.0);
        assert_eq!(spearman(&[1.0], &[1.0]), 0.0);
        assert_eq!(spearman(&[1.0, 2.0], &[1.0]), 0.0);
    }
}
