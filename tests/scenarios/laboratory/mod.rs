//! The invented measurements of `scenarios/laboratory/`: made here, from a fixed seed, by models that are not those that are fitted.
//!
//! Each file must be what its script makes, to the byte; `BLESS=1` writes them anew (and the test still fails).

mod bench;
mod climb;
mod times;

use std::path::Path;

use breathroom_analysis::chance::Streams;

/// Seed of everything that is invented here.
const SEED: u64 = 20_411;

/// Uniforms of one purpose, one for each key.
pub struct Luck(Streams);

impl Luck {
    /// For a purpose.
    pub fn of(purpose: &str) -> Self {
        Self(Streams::new(SEED, &[format!("laboratory.{purpose}")]))
    }

    /// The uniform of a key.
    pub fn uniform(&self, key: [u32; 3]) -> f64 {
        self.0.variation(u64::from(key[0])).uniform_at(0, key[1], key[2], 0)
    }

    /// A standard normal number of a key.
    pub fn normal(&self, key: [u32; 3]) -> f64 {
        breathroom_sim::spread::standard_quantile(self.uniform(key))
    }
}

/// Holds a committed file against what its script makes.
pub fn held_against(name: &str, made: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../scenarios/laboratory")
        .join(name);
    let there = std::fs::read_to_string(&path).unwrap_or_default();
    if there != made {
        if std::env::var_os("BLESS").is_some() {
            std::fs::write(&path, made).expect("written");
        }
        panic!("scenarios/laboratory/{name} is not what its script makes; BLESS=1 writes it");
    }
}
