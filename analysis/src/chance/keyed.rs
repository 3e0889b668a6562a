//! Keyed streams: one uniform for each value, as a function of its key alone.
//!
//! Equation: u = (m + 1/2) / 2^53, m the top 53 bits of the first output of PCG XSL-RR 128/64 started at
//! [`mix`](super::mix)(key) on the stream 0xa02bdbf7bb3c0a7ac28fa16a64abf96.
//! Symbols: m from 0 to 2^53 - 1; u in [2^-54, 1 - 2^-54]: never 0, never 1, symmetric about a half; no units.
//! (m + 1/2 needs 54 bits: for m of 2^52 and up it rounds to even, which at the very top would give 1: there u is held at
//! the largest number below 1.)
//! Source: O'Neill, "PCG: A Family of Simple Fast Space-Efficient Statistically Good Algorithms for Random Number
//! Generation", HMC-CS-2014-0905; the stream is that paper's default increment.
//! Valid for every key. A second number for the same input, turn and person is another `occurrence`.
//! Left out: designs of draws other than the plain one: [`super::Draws`] has them, on top of these.

use breathroom_sim::scenario::Luck;
use rand::Rng;
use rand_pcg::Pcg64;

use super::hash::path_hash;
use super::mix::{noise_key, value_part, variation_part};

/// The default stream of PCG.
pub(crate) const STREAM: u128 = 0x0a02_bdbf_7bb3_c0a7_ac28_fa16_a64a_bf96;
/// The largest number below 1.
pub(super) const BELOW_ONE: f64 = 1.0 - f64::EPSILON / 2.0;

/// The streams of one seed: the paths of a scenario's inputs, hashed once.
#[derive(Clone, Debug)]
pub struct Streams {
    seed: u64,
    paths: Vec<u128>,
}

impl Streams {
    /// Streams for the inputs with these paths, in the order of `Scenario::inputs`.
    #[must_use]
    pub fn new<S: AsRef<str>>(seed: u64, paths: &[S]) -> Self {
        Self {
            seed,
            paths: paths.iter().map(|path| path_hash(path.as_ref())).collect(),
        }
    }

    /// The hashes of the paths.
    pub(super) fn paths(&self) -> &[u128] {
        &self.paths
    }

    /// The luck of variation `k` (from 0). Cheap: nothing is allocated.
    #[must_use]
    pub fn variation(&self, k: u64) -> Keyed<'_> {
        Keyed {
            paths: &self.paths,
            shared: variation_part(self.seed, k),
        }
    }
}

/// The draws of one variation.
#[derive(Clone, Copy, Debug)]
pub struct Keyed<'a> {
    paths: &'a [u128],
    shared: u128,
}

impl Keyed<'_> {
    /// The uniform of one value; `occurrence` counts further numbers for the same input, turn and person, from 0.
    ///
    /// # Panics
    /// If `input` is not the index of a path given to [`Streams::new`]: a fault of the program, never of a file.
    #[must_use]
    pub fn uniform_at(&self, input: usize, turn: u32, person: u32, occurrence: u32) -> f64 {
        let state = value_part(self.shared, self.paths[input], turn, person, occurrence);
        to_unit(Pcg64::new(state, STREAM).next_u64())
    }
}

impl Luck for Keyed<'_> {
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64 {
        self.uniform_at(input, turn, person, 0)
    }

    fn stream(&self, path: &str) -> Option<u64> {
        Some(noise_key(self.shared, path_hash(path)))
    }
}

/// (m + 1/2) / 2^53 of the top 53 bits.
pub(crate) fn to_unit(bits: u64) -> f64 {
    (((bits >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0).min(BELOW_ONE)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How many draws each check takes.
    const N: usize = 20_000;

    fn luck(seed: u64, path: &str, k: u64) -> f64 {
        Streams::new(seed, &[path]).variation(k).uniform(0, 0, 0)
    }

    /// Pearson correlation.
    fn correlation(pairs: &[(f64, f64)]) -> f64 {
        let n = pairs.len() as f64;
        let (mx, my) = pairs.iter().fold((0.0, 0.0), |(x, y), p| (x + p.0 / n, y + p.1 / n));
        let sum = |f: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(f).sum::<f64>();
        let (sxy, sxx) = (sum(&|p| (p.0 - mx) * (p.1 - my)), sum(&|p| (p.0 - mx).powi(2)));
        sxy / (sxx * sum(&|p| (p.1 - my).powi(2))).sqrt()
    }

    /// Neighbours along one part of the key, by what the draw depends on.
    fn check(what: &str, draw: &dyn Fn(usize) -> f64) {
        let u: Vec<f64> = (0..=N).map(draw).collect();
        // Standard deviation 1 / sqrt(n) where independent; four of them.
        let bound = 4.0 / (N as f64).sqrt();
        let near: Vec<_> = u.windows(2).map(|w| (w[0], w[1])).collect();
        assert!(correlation(&near).abs() < bound, "{what}: {}", correlation(&near));
        // Monotone but not linear relations, and dependence of the spread, would show here.
        let square: Vec<_> = near.iter().map(|&(a, b)| ((a - 0.5).abs(), (b - 0.5).abs())).collect();
        assert!(correlation(&square).abs() < bound, "{what}: {}", correlation(&square));
        // Kolmogorov-Smirnov: 1.95 / sqrt(n) is passed by chance once in 1,000 (Smirnov 1948).
        let mut sorted = u[..N].to_vec();
        sorted.sort_by(f64::total_cmp);
        let gap = sorted.iter().enumerate().fold(0.0_f64, |gap, (i, &x)| {
            gap.max((x - i as f64 / N as f64).abs())
                .max((x - (i + 1) as f64 / N as f64).abs())
        });
        assert!(gap < 1.95 / (N as f64).sqrt(), "{what}: {gap}");
    }

    #[test]
    fn neighbours_are_uniform_and_uncorrelated() {
        check("variations", &|i| luck(1, "removal.scrubber.flow", i as u64));
        check("far variations", &|i| {
            luck(1, "removal.scrubber.flow", (i as u64) << 40)
        });
        check("seeds", &|i| luck(i as u64, "removal.scrubber.flow", 0));
        check("paths", &|i| luck(1, &format!("tasks.t{i}.duration"), 0));
        let streams = Streams::new(1, &["tasks.don.duration"]);
        let first = streams.variation(0);
        check("turns", &|i| first.uniform(0, i as u32, 0));
        check("persons", &|i| first.uniform(0, 0, i as u32));
        check("occurrences", &|i| first.uniform_at(0, 1, 1, i as u32));
        check("turns with persons", &|i| {
            first.uniform(0, (i / 8) as u32, (i % 8) as u32)
        });
    }

    /// Inputs against each other over the variations: what a study of drivers rests on.
    #[test]
    fn inputs_are_uncorrelated_over_the_variations() {
        let paths = [
            "a",
            "b",
            "compartments.cabin.free_volume",
            "compartments.lock.free_volume",
        ];
        let streams = Streams::new(1, &paths);
        for (i, j) in [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)] {
            let pairs: Vec<_> = (0..N as u64)
                .map(|k| streams.variation(k))
                .map(|luck| (luck.uniform(i, 0, 0), luck.uniform(j, 0, 0)))
                .collect();
            assert!(correlation(&pairs).abs() < 4.0 / (N as f64).sqrt(), "{i} {j}");
        }
    }

    /// Why the key is mixed: seeded with the bare index, the multiplicative generator of the same family gives first draws
    /// that go together, with correlation 0.49 (its lowest bit of state is forced to 1).
    #[test]
    fn the_bare_index_would_not_do() {
        let first = |k: u64| to_unit(rand_pcg::Pcg64Mcg::new(u128::from(k)).next_u64());
        let pairs: Vec<_> = (0..N as u64).map(|k| (first(k), first(k + 1))).collect();
        assert!((correlation(&pairs) - 0.49).abs() < 0.02, "{}", correlation(&pairs));
    }

    #[test]
    fn other_inputs_change_no_draw() {
        let all = Streams::new(7, &["a", "b", "c"]);
        let fewer = Streams::new(7, &["c", "a"]);
        for k in 0..100 {
            for (turn, person) in [(0, 0), (1, 0), (2, 1)] {
                let (all, fewer) = (all.variation(k), fewer.variation(k));
                assert_eq!(
                    all.uniform(0, turn, person).to_bits(),
                    fewer.uniform(1, turn, person).to_bits()
                );
                assert_eq!(
                    all.uniform(2, turn, person).to_bits(),
                    fewer.uniform(0, turn, person).to_bits()
                );
            }
        }
    }

    #[test]
    fn every_part_of_the_key_counts() {
        let streams = Streams::new(1, &["a", "b"]);
        let luck = streams.variation(5);
        let draws = [
            luck.uniform_at(0, 0, 0, 0),
            luck.uniform_at(1, 0, 0, 0),
            luck.uniform_at(0, 1, 0, 0),
            luck.uniform_at(0, 0, 1, 0),
            luck.uniform_at(0, 0, 0, 1),
            streams.variation(6).uniform_at(0, 0, 0, 0),
            Streams::new(2, &["a"]).variation(5).uniform_at(0, 0, 0, 0),
        ];
        for i in 0..draws.len() {
            for j in 0..i {
                assert_ne!(draws[i], draws[j], "{i} {j}");
            }
        }
    }

    #[test]
    fn noise_follows_from_seed_variation_and_path_alone() {
        let key = |seed, k, path| {
            let streams = Streams::new(seed, &["sensors.a"]);
            streams.variation(k).stream(path).expect("a key")
        };
        let first = key(1, 5, "sensors.a");
        let others = [key(2, 5, "sensors.a"), key(1, 6, "sensors.a"), key(1, 5, "sensors.b")];
        assert!(others.iter().all(|other| *other != first), "{others:?}");
        let more = Streams::new(1, &["removal.scrubber.flow", "sensors.a"]);
        assert_eq!(more.variation(5).stream("sensors.a"), Some(first));
        // Neighbouring variations: each of 64 bits is set in half of 4,000, to six standard deviations (32 each).
        for bit in 0..64 {
            let set = (0..4000).filter(|k| key(1, *k, "sensors.a") >> bit & 1 == 1).count();
            assert!(set.abs_diff(2000) < 190, "bit {bit}: {set}");
        }
    }

    #[test]
    fn the_unit_is_open() {
        assert_eq!(to_unit(0), f64::powi(2.0, -54));
        assert!(to_unit(u64::MAX) < 1.0);
        assert_eq!(to_unit(1 << 63), 0.5 + f64::EPSILON / 4.0);
    }

    /// Pins the scheme: a change of any bit here changes every result ever made with a seed. The values were also computed
    /// from the module headers alone in another language (integers of any size in Python).
    #[test]
    fn the_draws_are_these() {
        let streams = Streams::new(1, &["removal.scrubber.flow", "tasks.don.duration"]);
        let bits = |k: u64, input, turn, person| streams.variation(k).uniform(input, turn, person).to_bits();
        let draws = [
            bits(0, 0, 0, 0),
            bits(1, 0, 0, 0),
            bits(0, 1, 1, 0),
            bits(0, 1, 2, 1),
            bits(u64::MAX, 1, 9, 8),
        ];
        let expected = [
            0x3fd7_1fec_aa16_552b,
            0x3f9d_800f_fc30_0970,
            0x3fe9_af64_6317_6638,
            0x3fd1_c8cd_e0b9_b4ab,
            0x3fb1_fcca_f188_5904,
        ];
        assert_eq!(draws, expected, "{draws:#x?}");
    }
}
