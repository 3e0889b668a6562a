//! Sobol's sequence, scrambled: points that fill every box of a kind evenly, random enough to judge their own error.
//!
//! Equation: with the binary digits i_0, i_1, ... of i from the least, point x = i_0 v_0 ^ i_1 v_1 ^ ... in 52 bits (first
//! after the point is the highest). v_j = m_(j+1) 2^(51-j) for j < s; beyond, v_j = v_(j-s) ^ (v_(j-s) >> s) ^ the sum (xor)
//! over k = 1 .. s - 1 of a_k v_(j-k). Dimension 1 has v_j = 2^(51-j): van der Corput's sequence.
//! Scrambled: bit b of x (b = 0 first) is flipped by the highest bit of `P(key ^ b:x_b)`, x_b the b bits of x before it, `P`
//! and the key (of seed, replicate and path) of [`super::mix`](mod@super). u = (m + 1/2) / 2^52 of the scrambled m.
//! Symbols: m_1 ... m_s initial numbers, odd, m_k < 2^k; s and a_k degree and inner coefficients of a primitive polynomial
//! over two elements; u in [2^-53, 1 - 2^-53], exact, symmetric about a half; no units.
//! Source: Sobol', USSR Comp. Math. Math. Phys. 7 (1967) 86; numbers: Joe and Kuo, SIAM J. Sci. Comput. 30 (2008) 2635, in
//! `joe_kuo.txt`; scrambling: Owen, "Randomly permuted (t,m,s)-nets and (t,s)-sequences" (1995), nested uniform, base 2.
//! Valid for i below 2^52 and dimensions 1 to 1,024. After scrambling each point is uniform by itself, and the points keep
//! the balance they had: the first 2^m (and any aligned 2^m) hold one in each of 2^m equal strata in every dimension.
//! Left out: bits beyond 52; orders of points other than the natural one (Gray's code permutes each aligned 2^m).

use super::mix::design_bits;

/// Dimensions in the table.
pub(super) const MOST_DIMENSIONS: u32 = 1024;
/// Bits of a point.
pub(super) const BITS: usize = 52;
/// The table; its header has source and licence.
const TABLE: &str = include_str!("joe_kuo.txt");

/// The direction numbers v_0 ... v_51 of one dimension.
pub(super) type Directions = [u64; BITS];

/// Direction numbers of dimensions 1 to `dimensions` (at most [`MOST_DIMENSIONS`]).
pub(super) fn directions(dimensions: u32) -> Vec<Directions> {
    let first = std::array::from_fn(|j| 1 << (BITS - 1 - j));
    let lines = TABLE.lines().filter(|line| !line.starts_with('#'));
    std::iter::once(first)
        .chain(lines.map(recurrence))
        .take(dimensions as usize)
        .collect()
}

/// Those of one line "d s a m_1 ... m_s".
fn recurrence(line: &str) -> Directions {
    let mut numbers = line
        .split_ascii_whitespace()
        .filter_map(|word| word.parse::<u64>().ok());
    let (degree, inner) = (numbers.nth(1).unwrap_or(0) as usize, numbers.next().unwrap_or(0));
    let mut v = [0; BITS];
    for (j, m) in numbers.enumerate() {
        v[j] = m << (BITS - 1 - j);
    }
    for j in degree..BITS {
        v[j] = v[j - degree] ^ (v[j - degree] >> degree);
        for k in 1..degree {
            if inner >> (degree - 1 - k) & 1 == 1 {
                v[j] ^= v[j - k];
            }
        }
    }
    v
}

/// Point `i`, not scrambled: 52 bits.
pub(super) fn point(directions: &Directions, i: u64) -> u64 {
    let (mut rest, mut x) = (i, 0);
    while rest != 0 {
        x ^= directions[rest.trailing_zeros() as usize];
        rest &= rest - 1;
    }
    x
}

/// The 52 bits scrambled.
pub(super) fn scramble(key: u128, x: u64) -> u64 {
    let mut flips = 0;
    for b in 0..BITS {
        let flip = (design_bits(key, b as u32, x >> (BITS - b)) >> 127) as u64;
        flips |= flip << (BITS - 1 - b);
    }
    x ^ flips
}

/// The number in (0, 1) of point `i`.
pub(super) fn uniform(directions: &Directions, key: u128, i: u64) -> f64 {
    to_unit(scramble(key, point(directions, i)))
}

/// (m + 1/2) / 2^52.
fn to_unit(m: u64) -> f64 {
    (m as f64 + 0.5) / 4_503_599_627_370_496.0
}

#[cfg(test)]
mod tests {
    use super::super::mix::{Purpose, design_key};
    use super::*;

    fn key(seed: u64) -> u128 {
        design_key(seed, 3, 77, Purpose::Scramble)
    }

    /// Point `i` of Gray's code order, as other programs count.
    fn gray(i: u64) -> u64 {
        i ^ (i >> 1)
    }

    /// First points in three dimensions, in Gray's code order: Bratley and Fox, ACM Trans. Math. Softw. 14 (1988) 88 and
    /// Joe and Kuo's notes print them (0; 1/2; 3/4, 1/4; ...); recalled, and computed anew with scipy 1.17.1,
    /// `scipy.stats.qmc.Sobol(6, scramble=False, bits=52)`.
    #[test]
    fn the_first_points_are_the_published_ones() {
        let eighths = [
            [0, 0, 0, 0, 0, 0],
            [4, 4, 4, 4, 4, 4],
            [6, 2, 2, 2, 6, 6],
            [2, 6, 6, 6, 2, 2],
            [3, 3, 5, 7, 3, 1],
            [7, 7, 1, 3, 7, 5],
            [5, 1, 7, 5, 5, 7],
            [1, 5, 3, 1, 1, 3],
        ];
        let v = directions(6);
        for (i, point_eighths) in eighths.iter().enumerate() {
            for (d, &eighth) in point_eighths.iter().enumerate() {
                assert_eq!(
                    point(&v[d], gray(i as u64)),
                    eighth << 49,
                    "point {i}, dimension {}",
                    d + 1
                );
            }
        }
    }

    /// Far points and dimensions, 52 bits, computed offline with scipy 1.17.1 as above with 1,024 dimensions; the last line
    /// folds points 1, 2, 4, 513, 20,000 and 32,767 of all of them (rotate left by 7, xor).
    #[test]
    fn far_points_are_those_of_another_program() {
        let v = directions(MOST_DIMENSIONS);
        assert_eq!(v.len(), 1024);
        let of = |d: usize, i: u64| point(&v[d - 1], gray(i));
        for (i, expected) in [
            (
                7,
                [
                    0x2000000000000,
                    0xa000000000000,
                    0x6000000000000,
                    0xe000000000000,
                    0xa000000000000,
                    0x6000000000000,
                    0xa000000000000,
                ],
            ),
            (
                100,
                [
                    0x6a00000000000,
                    0x4200000000000,
                    0xc600000000000,
                    0xb200000000000,
                    0xe200000000000,
                    0x7e00000000000,
                    0xf200000000000,
                ],
            ),
            (
                1000,
                [
                    0x3840000000000,
                    0x18c0000000000,
                    0x84c0000000000,
                    0x11c0000000000,
                    0x2fc0000000000,
                    0x4140000000000,
                    0xb6c0000000000,
                ],
            ),
            (
                20000,
                [
                    0xc96000000000,
                    0x5216000000000,
                    0x2962000000000,
                    0xf5fa000000000,
                    0x4f12000000000,
                    0xb912000000000,
                    0x63ca000000000,
                ],
            ),
            (
                32767,
                [
                    0x2000000000,
                    0xaaaa000000000,
                    0x60ee000000000,
                    0x5386000000000,
                    0xd266000000000,
                    0xfd46000000000,
                    0xbf6000000000,
                ],
            ),
        ] {
            let ours = [1, 2, 3, 10, 100, 500, 1024].map(|d| of(d, i));
            assert_eq!(ours, expected, "point {i}: {ours:#x?}");
        }
        let folded = (1..=1024).fold(0_u64, |fold, d| {
            [1, 2, 4, 513, 20_000, 32_767]
                .iter()
                .fold(fold, |fold, &i| fold.rotate_left(7) ^ of(d, i))
        });
        assert_eq!(folded, 0x4315984442c426fc, "{folded:#x}");
    }

    /// Every number of the table is odd and small enough, every degree fits: what a direction number must be.
    #[test]
    fn the_table_is_whole() {
        let lines: Vec<Vec<u64>> = TABLE
            .lines()
            .filter(|line| !line.starts_with('#'))
            .map(|line| line.split(' ').map(|word| word.parse().unwrap()).collect())
            .collect();
        assert_eq!(lines.len(), 1023);
        for (n, line) in lines.iter().enumerate() {
            assert_eq!(line[0], n as u64 + 2);
            assert_eq!(line.len() as u64, 3 + line[1]);
            assert!(line[2] < 1 << (line[1] - 1));
            assert!(line[3..].iter().zip(1..).all(|(&m, k)| m % 2 == 1 && m < 1 << k));
        }
    }

    /// Any aligned 2^m points have one in each of 2^m strata, in every dimension, scrambled.
    #[test]
    fn each_stratum_holds_one_point() {
        let v = directions(MOST_DIMENSIONS);
        for (d, v) in v.iter().enumerate().step_by(33) {
            for m in [1, 4, 9] {
                let n = 1_u64 << m;
                for first in [0, n, 5 * n] {
                    let mut seen = vec![false; n as usize];
                    for i in first..first + n {
                        let stratum = (uniform(v, key(d as u64), i) * n as f64) as usize;
                        assert!(!std::mem::replace(&mut seen[stratum], true), "dimension {}", d + 1);
                    }
                }
            }
        }
    }

    /// Dimensions 1 and 2 make a (0, m, 2)-net: one point in each box 2^-a by 2^-(m - a); scrambling keeps it.
    #[test]
    fn two_dimensions_make_a_net() {
        let (v, m) = (directions(2), 8);
        for first in [0, 3 << m] {
            let points: Vec<_> = (first..first + (1 << m))
                .map(|i| (uniform(&v[0], key(1), i), uniform(&v[1], key(2), i)))
                .collect();
            for a in 0..=m {
                let (wide, high) = (1_usize << a, 1_usize << (m - a));
                let mut seen = vec![false; wide * high];
                for &(x, y) in &points {
                    let at = (x * wide as f64) as usize * high + (y * high as f64) as usize;
                    assert!(!std::mem::replace(&mut seen[at], true), "boxes {wide} by {high}");
                }
            }
        }
    }

    /// Nested: two points part at the same bit before and after, and what follows is flipped on its own.
    #[test]
    fn points_part_where_they_did() {
        let mut flipped_alike = 0;
        for n in 0..2_000_u64 {
            let common = n % 52;
            let (a, b) = (n * 0x9_e377_9b97, (n * 0x9_e377_9b97) ^ (1 << common));
            let (p, q) = (scramble(key(n), a), scramble(key(n), b));
            assert_eq!((p ^ q).ilog2() as u64, common);
            // The bit after the one in which they part: alike in half of the cases.
            flipped_alike += u32::from(common > 0 && (p ^ q ^ a ^ b) >> (common - 1) & 1 == 0);
        }
        // 1,961 tosses, standard deviation 22.
        assert!(flipped_alike.abs_diff(980) < 100, "{flipped_alike}");
    }

    #[test]
    fn numbers_stay_inside() {
        assert_eq!(to_unit(0), f64::powi(2.0, -53));
        assert_eq!(1.0 - to_unit((1 << 52) - 1), f64::powi(2.0, -53));
    }
}
