//! Latin hypercube: in each input every one of n equal strata holds exactly one of n points, in an order of its own.
//!
//! Equation: u_i = (p(i) + v_i) / n. `p` is a keyed permutation of 0 .. n: a Feistel network on the b = ceil(log2 n) bits of
//! i (h the upper ceil(b/2), l the others), whose rounds in turn make `h <- h ^ F_j(l)` and `l <- l ^ F_j(h)` (each cut to
//! its width), walked on (`p <- network(p)`) while it is not below n. `F_j(x) = P(key ^ j:x)` with `P` and the key of
//! [`super::mix`](mod@super).
//! Symbols: i point of the sample; n its size; v_i the plain draw of the same value, in (0, 1); u in (0, 1); no units.
//! Source: McKay, Beckman and Conover, Technometrics 21 (1979) 239 (the sample); Luby and Rackoff, SIAM J. Comput. 17
//! (1988) 373 (the network); Black and Rogaway, "Ciphers with arbitrary finite domains", CT-RSA 2002, LNCS 2271, 114, method
//! 2 (the walk: at most 2 steps in the mean, as 2^b < 2 n). Four rounds would do for wide halves; ours are down to a bit
//! wide: with 12 rounds the 720 orders of six are not equally likely (chi-square 38 standard deviations high, of 288,000
//! keys), nor with 24 the 5,040 of seven (8); with 32 both are (0.1 and 0.7). So there are 32 up to b = 4; from b = 5 there
//! are 16, where 8 show no fault in pairs of neighbours (n of 20 and of 62, 400,000 keys). All measured here.
//! Valid for n from 1 to 2^63. For a mean of U(0, 1) the variance is 1 / (12 n^3).
//! Left out: anything stored. Points of one sample are not independent of each other.

use super::keyed::BELOW_ONE;
use super::mix::design_bits;

/// Rounds of the network on so many bits.
fn rounds(bits: u32) -> u32 {
    if bits <= 4 { 32 } else { 16 }
}

/// Where `i` of 0 .. n stands in the order that belongs to `key`.
pub(super) fn place(key: u128, i: u64, n: u64) -> u64 {
    debug_assert!(i < n, "point {i} of a sample of {n}");
    // Bits of n - 1: 0 for n = 1, whose only order needs no network.
    let bits = 64 - (n - 1).leading_zeros();
    let low = bits / 2;
    let (low_mask, high_mask) = ((1 << low) - 1, (1 << (bits - low)) - 1);
    let mut at = i;
    loop {
        let (mut high, mut rest) = (at >> low, at & low_mask);
        for round in (0..rounds(bits)).step_by(2) {
            high ^= design_bits(key, round, rest) as u64 & high_mask;
            rest ^= design_bits(key, round + 1, high) as u64 & low_mask;
        }
        at = high << low | rest;
        if at < n {
            return at;
        }
    }
}

/// The number in (0, 1) of point `i` of `n`; `within` in (0, 1) is its place within the stratum.
pub(super) fn uniform(key: u128, i: u64, n: u64, within: f64) -> f64 {
    ((place(key, i, n) as f64 + within) / n as f64).min(BELOW_ONE)
}

#[cfg(test)]
mod tests {
    use super::super::mix::{Purpose, design_key};
    use super::*;

    fn key(seed: u64) -> u128 {
        design_key(seed, 3, 77, Purpose::Order)
    }

    /// Whatever n is, an order has everyone once.
    #[test]
    fn an_order_is_a_permutation() {
        for n in (1..70).chain([127, 128, 129, 1000, 4096]) {
            let mut seen = vec![false; n as usize];
            for i in 0..n {
                let at = place(key(n), i, n) as usize;
                assert!(!std::mem::replace(&mut seen[at], true), "{n}: {at} twice");
            }
        }
    }

    /// All 720 orders of six, and those of fewer, are equally likely over the keys.
    #[test]
    fn all_orders_are_equally_likely() {
        for (n, orders) in [(2, 2_u32), (3, 6), (5, 120), (6, 720)] {
            let each = 200;
            let mut counts = std::collections::BTreeMap::new();
            for seed in 0..u64::from(orders * each) {
                let order: Vec<_> = (0..n).map(|i| place(key(seed), i, n)).collect();
                *counts.entry(order).or_insert(0_u32) += 1;
            }
            assert_eq!(counts.len() as u32, orders);
            let expected = f64::from(each);
            let square: f64 = counts
                .values()
                .map(|&c| (f64::from(c) - expected).powi(2) / expected)
                .sum();
            // Chi-square with m degrees of freedom: mean m, variance 2 m; four standard deviations, and 4 for the skew of
            // few (of one degree 10.7 is passed once in 1,000).
            let freedom = f64::from(orders - 1);
            assert!(
                square < freedom + 4.0 * (2.0 * freedom).sqrt() + 4.0,
                "{n}: {square} on {freedom}"
            );
        }
    }

    /// In an order of 62 (62 or 63 points are what a replicate has of 1,000 runs) a pair of neighbours is anywhere.
    #[test]
    fn neighbours_are_anywhere() {
        let (n, keys) = (62_u64, 40_000_u64);
        let mut counts = vec![0_u32; (n * n) as usize];
        for seed in 0..keys {
            let (a, b) = (place(key(seed), 20, n), place(key(seed), 21, n));
            counts[(a * n + b) as usize] += 1;
        }
        let expected = keys as f64 / (n * (n - 1)) as f64;
        let off = (0..n * n).filter(|at| at / n != at % n);
        let square: f64 = off
            .map(|at| (f64::from(counts[at as usize]) - expected).powi(2) / expected)
            .sum();
        let freedom = (n * (n - 1) - 1) as f64;
        assert!(
            (square - freedom).abs() < 4.0 * (2.0 * freedom).sqrt(),
            "{square} on {freedom}"
        );
        assert!((0..n).all(|a| counts[(a * n + a) as usize] == 0));
    }

    /// Also at the ends of strata and of the range.
    #[test]
    fn numbers_stay_inside() {
        for n in [1, 2, 3, 62, 1 << 40] {
            for within in [f64::powi(2.0, -54), 0.5, BELOW_ONE] {
                for i in 0..n.min(64) {
                    let u = uniform(key(1), i, n, within);
                    assert!(u > 0.0 && u < 1.0, "{n} {i} {within}: {u}");
                }
            }
        }
    }
}
