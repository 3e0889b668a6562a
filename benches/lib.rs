//! The arithmetic floor: the work that any engine must do for the same run, with nothing around it.
//!
//! Counted from a run's own counters, on a fixed list:
//!
//! | work | how often |
//! |---|---|
//! | queue operation (one push, one pop) | once an event |
//! | exponential (`libm::expm1`) | once for each mode of each of four species, in each segment |
//! | propagation (`n` by `n` times a vector, twice) | once for each species, in each segment |
//! | integral (`n` terms) | once for each species, in each segment |
//! | bound check (a sum of `n` ranges, compared) | once for each piece that the run ruled out or looked into |
//! | draw (a hash, a normal quantile) | once for each draw of the scenario |
//!
//! The bulk flow's correction, the steps of searches and the books are not on the list: they are what the ratio shows.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use breathroom_sim::engine::{Counters, Outcome};
use breathroom_sim::scenario::{Luck, Scenario, Source, read};
use breathroom_sim::spread::{Shape, Spread};

/// The reference week, as shipped.
pub const REFERENCE_WEEK: &str = include_str!("../scenarios/reference-week.toml");

/// Reads the reference week.
///
/// # Panics
/// If it does not pass its checks, which a test holds it to.
#[must_use]
pub fn reference_week() -> Scenario {
    read_text(REFERENCE_WEEK)
}

/// What takes the place of the reference week's device of constant efficiency: a pair of zeolite beds, which fill up.
const BEDS: &str = r#"[removal.beds]
kind = "swing-bed"
serves = "cabin"
flow = { normal = ["1.2 m3/min", "0.05 m3/min"], within = ["0.95 m3/min", "1.45 m3/min"] }
bed = "6 kg"
half_cycle = "390 s"
lost = "1 L"

"#;

/// The reference week with a pair of beds of real physics in place of its device of constant efficiency.
///
/// # Panics
/// As [`reference_week`], or if the week has no such device.
#[must_use]
pub fn week_with_beds() -> Scenario {
    let from = REFERENCE_WEEK.find("[removal.beds]").expect("the week's scrubber");
    let to = REFERENCE_WEEK.find("[removal.coil]").expect("the week's condenser");
    read_text(&format!("{}{BEDS}{}", &REFERENCE_WEEK[..from], &REFERENCE_WEEK[to..]))
}

/// Reads a scenario of the benches.
///
/// # Panics
/// If it does not pass its checks.
#[must_use]
pub fn read_text(text: &str) -> Scenario {
    let source = Source {
        name: "bench.toml",
        text,
        overrides: &[],
        files: &|name| Err(format!("{name} is not read here")),
    };
    read(&source).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// How often each item of the list is done.
#[derive(Clone, Copy, Debug)]
pub struct Work {
    events: u64,
    segments: u64,
    checks: u64,
    draws: u64,
    compartments: usize,
}

impl Work {
    /// The work of a run.
    #[must_use]
    pub fn of(outcome: &Outcome, draws: u64) -> Self {
        let counters: Counters = outcome.counters;
        Self {
            events: counters.events,
            segments: counters.segments,
            checks: counters.ruled_out + counters.looked_into,
            draws,
            compartments: outcome.state_end.len(),
        }
    }

    /// Does the work; the number keeps it from being left out.
    #[must_use]
    pub fn floor(&self) -> f64 {
        let n = self.compartments;
        let mut kept = 0.0;
        let mut queue = BinaryHeap::from_iter((0..64_u64).map(|k| Reverse((k, k))));
        for event in 0..self.events {
            queue.push(Reverse((64 + event, event)));
            if let Some(Reverse((at, _))) = queue.pop() {
                kept += at as f64;
            }
        }
        let mut z = [[1.0_f64; 8]; 4];
        let basis = [[0.3_f64; 8]; 8];
        for segment in 0..self.segments {
            let t = 390.0 + 1e-6 * segment as f64;
            for (i, species) in z.iter_mut().enumerate() {
                let mut decayed = [0.0; 8];
                for k in 0..n {
                    let lambda = 1e-3 * (1 + i + k) as f64;
                    let phi = -libm::expm1(-lambda * t) / lambda;
                    decayed[k] = species[k] * (1.0 - lambda * phi) + 0.01 * phi;
                    kept += species[k] * phi + 0.01 * (t - phi) / lambda;
                }
                for a in 0..n {
                    let p: f64 = (0..n).map(|k| basis[a][k] * decayed[k]).sum();
                    species[a] = (0..n).map(|k| basis[k][a] * p).sum::<f64>().rem_euclid(1.0);
                }
            }
        }
        for check in 0..self.checks {
            let mut range = (0.0, 0.0);
            for k in 0..n {
                let value = z[(check % 4) as usize][k] * basis[k][0];
                range = (range.0 + f64::min(value, 0.0), range.1 + f64::max(value, 0.0));
            }
            kept += f64::from(range.1 > 0.5);
        }
        let spread = Spread::new(Shape::Normal { mean: 1.0, sd: 0.1 }, None);
        for draw in 0..self.draws {
            if let Ok(spread) = &spread {
                kept += spread.quantile(Hashed(7).uniform(draw as usize, 1, 1));
            }
        }
        kept
    }
}

/// A quick source of uniforms, so that a bench of the engine need not build the command line's streams.
#[derive(Clone, Copy, Debug)]
pub struct Hashed(pub u64);

impl Luck for Hashed {
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64 {
        let mut x = self.0 ^ ((input as u64) << 40) ^ (u64::from(turn) << 20) ^ (u64::from(person) << 55);
        x = x.wrapping_add(0x9E37_79B9_7F4A_7C15);
        x = (x ^ (x >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        x = (x ^ (x >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        x ^= x >> 31;
        ((x >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
    }
}
