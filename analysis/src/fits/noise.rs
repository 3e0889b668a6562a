//! Normal noise by key, for tests of fits: the same wherever it is asked for.

use breathroom_sim::scenario::Luck as _;

use crate::chance::Streams;

/// Noise of a seed.
pub struct Noise(u64);

impl Noise {
    /// That of a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A standard normal value, by name and number (sum of two keyed uniforms' Box and Muller form, libm alone).
    pub fn normal(&self, name: &str, index: u64) -> f64 {
        let (a, b) = (format!("{name}.a"), format!("{name}.b"));
        let streams = Streams::new(self.0, &[a, b]);
        let luck = streams.variation(index);
        let (u, v) = (luck.uniform(0, 0, 0), luck.uniform(1, 0, 0));
        libm::sqrt(-2.0 * libm::log(u)) * libm::cos(2.0 * core::f64::consts::PI * v)
    }
}
