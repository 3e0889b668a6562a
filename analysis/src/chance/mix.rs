//! The mix: a key of 384 bits to the 128 bits at which its generator starts.
//!
//! Equation: with the key as three blocks of 128 bits,
//! `state = P(P(P(v ^ seed:variation) ^ path) ^ 0:occurrence:person:turn)`, where `a:b` puts `a` in the high bits. `P` is a
//! bijection: four Feistel rounds on the halves (l, r) of its argument, round i = 1..4 being
//! `(l, r) <- (r, l ^ m(r + i g))` (mod 2^64) with `m` the finaliser of SplitMix64 and g = 2^64 / golden ratio.
//!
//! Symbols: `v` the first 128 bits of the fraction of pi (nothing up a sleeve); seed, variation: 64 bits each; path: 128
//! bits of [`super::path_hash`]; turn, person, occurrence: 32 bits each. No units.
//! Source: four rounds: Luby and Rackoff, SIAM J. Comput. 17 (1988) 373; m: Steele, Lea and Flood, OOPSLA 2014, with the
//! constants of Stafford's variant 13; blocks chained as in a cipher-block MAC.
//! Valid for every key: as `P` is a bijection, two keys that differ in one block only never meet; keys that differ in
//! more meet with a chance of about 2^-128.
//! The noise of a sensor follows from the low 64 bits of such a key with a purpose of its own, in place of the third block.
//! Designs of draws take their bits from the same `P`: a key for each (seed, replicate, path) with a purpose in the 32 bits
//! that are 0 above, then one more block for each number wanted; so no bits of a design are those of a plain draw.
//! Left out: any claim to secrecy. Why mix at all: generators seeded with neighbouring numbers begin alike.

/// First 128 bits of the fraction of pi.
const START: u128 = 0x243f_6a88_85a3_08d3_1319_8a2e_0370_7344;
/// 2^64 divided by the golden ratio, odd.
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

/// The finaliser of SplitMix64.
fn finalise(mut x: u64) -> u64 {
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// The bijection on 128 bits.
fn permute(x: u128) -> u128 {
    let (mut left, mut right) = ((x >> 64) as u64, x as u64);
    for round in 1..=4_u64 {
        let mixed = left ^ finalise(right.wrapping_add(GOLDEN.wrapping_mul(round)));
        (left, right) = (right, mixed);
    }
    (u128::from(left) << 64) | u128::from(right)
}

/// The first of the three blocks: what all values of a variation share.
pub(super) fn variation_part(seed: u64, variation: u64) -> u128 {
    permute(START ^ (u128::from(seed) << 64 | u128::from(variation)))
}

/// The second and third blocks.
pub(super) fn value_part(shared: u128, path: u128, turn: u32, person: u32, occurrence: u32) -> u128 {
    let place = u128::from(occurrence) << 64 | u128::from(person) << 32 | u128::from(turn);
    permute(permute(shared ^ path) ^ place)
}

/// What bits that are no plain draw are for: the high 32 bits of its third block.
#[derive(Clone, Copy, Debug)]
pub(super) enum Purpose {
    /// Order of the strata of a Latin hypercube.
    Order = 1,
    /// Scrambling of a Sobol point.
    Scramble = 2,
    /// Noise of a sensor in one variation.
    Noise = 3,
}

/// The key of an input's bits in one replicate of a design; `path` is the input's [`super::path_hash`].
pub(super) fn design_key(seed: u64, replicate: u64, path: u128, purpose: Purpose) -> u128 {
    permute(permute(variation_part(seed, replicate) ^ path) ^ ((purpose as u128) << 96))
}

/// The key of a sensor's noise, by what all values of a variation share and the [`super::path_hash`] of its path.
pub(super) fn noise_key(shared: u128, path: u128) -> u64 {
    permute(permute(shared ^ path) ^ ((Purpose::Noise as u128) << 96)) as u64
}

/// 128 bits for one place (step in the high 64 bits, a number in the low ones) under such a key.
pub(super) fn design_bits(key: u128, step: u32, number: u64) -> u128 {
    permute(key ^ (u128::from(step) << 64 | u128::from(number)))
}

/// The state of the stream of one value; `path` is the input's [`super::path_hash`].
#[must_use]
pub fn mix(seed: u64, variation: u64, path: u128, turn: u32, person: u32, occurrence: u32) -> u128 {
    value_part(variation_part(seed, variation), path, turn, person, occurrence)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First outputs of SplitMix64 from the state 0: published with its reference implementation (from memory).
    #[test]
    fn the_finaliser_is_splitmix() {
        assert_eq!(finalise(GOLDEN), 0xe220_a839_7b1d_cdaf);
        assert_eq!(finalise(GOLDEN.wrapping_mul(2)), 0x6e78_9e6a_a1b9_65f4);
    }

    /// Flipping any one bit of the key flips each bit of the state in about half of the cases.
    #[test]
    fn one_bit_of_the_key_moves_half_of_the_state() {
        let keys = 400_u64;
        for bit in 0..352_usize {
            let mut flips = [0_u32; 128];
            for k in 0..keys {
                let path = super::super::path_hash(&k.to_string());
                let mut key = [
                    k,
                    3 * k,
                    (path >> 64) as u64,
                    path as u64,
                    (k % 7) | ((k % 3) << 32),
                    k % 2,
                ];
                let state = |w: &[u64; 6]| {
                    let path = u128::from(w[2]) << 64 | u128::from(w[3]);
                    mix(w[0], w[1], path, w[4] as u32, (w[4] >> 32) as u32, w[5] as u32)
                };
                let before = state(&key);
                key[bit / 64] ^= 1 << (bit % 64);
                let changed = before ^ state(&key);
                for (place, count) in flips.iter_mut().enumerate() {
                    *count += (changed >> place & 1) as u32;
                }
            }
            // 352 x 128 counts of 400 tosses: six standard deviations (10 each) are passed by none in 1e4 such tests.
            assert!(flips.iter().all(|&n| n.abs_diff(200) < 60), "bit {bit}: {flips:?}");
        }
    }
}
