//! Results of `profile`: what a bench is to deliver, where it cannot follow, and what that changes.

mod summary;
mod tables;
mod words;

use breathroom_sim::units::{Dimension, Unit, unit};

use crate::profile::{Bench, Channel, Delivered, Demand, Effect};

pub use summary::{ProfileSummary, build};
pub use tables::{delivered, misses, wanted};
pub use words::{sentences, warnings};

/// What is told.
#[derive(Clone, Debug)]
pub struct Profile {
    /// The device's name.
    pub device: String,
    /// Its family, for what is said of similarity.
    pub family: &'static str,
    /// CO2 and water sorbent of the whole device, kg; none of one without.
    pub sorbent_kg: Option<f64>,
    /// It takes turns of its own.
    pub takes_turns: bool,
    /// It serves a suit.
    pub in_suit: bool,
    /// The bench, and whether a file said what it is.
    pub bench: Bench,
    /// A file said it.
    pub is_given: bool,
    /// The size of the tested piece.
    pub scale: f64,
    /// "the medians" or "variation 7 of seed 1".
    pub run: String,
    /// What is wanted.
    pub demand: Demand,
    /// What is delivered.
    pub delivered: Delivered,
    /// What misses change.
    pub effect: Effect,
    /// Names of faults that are not followed.
    pub faults: Vec<String>,
}

/// A unit of the simulator's table.
fn known(symbol: &str, dimension: Dimension) -> Unit {
    unit(symbol, dimension).unwrap_or_else(|| dimension.si_unit())
}

impl Profile {
    /// A channel's value for people, and its unit; of a flow as standard volume.
    #[must_use]
    pub fn shown(&self, channel: Channel, si: f64) -> (f64, &'static str) {
        match channel {
            Channel::Temperature | Channel::DewPoint => (known("degC", Dimension::Temperature).from_si(si), "degC"),
            Channel::Pressure => (si / 1e3, "kPa"),
            _ => (self.standard_l_min(si), "L/min"),
        }
    }

    /// A flow as standard volume, L/min.
    #[must_use]
    pub fn standard_l_min(&self, mol_s: f64) -> f64 {
        mol_s * self.bench.standard_m3_mol() * 6e4
    }

    /// The condition that volumes are stated for.
    #[must_use]
    pub fn reference(&self) -> String {
        let celsius = known("degC", Dimension::Temperature).from_si(self.bench.reference_k);
        format!(
            "{} degC and {} kPa",
            breathroom_sim::units::figures(celsius, 5),
            breathroom_sim::units::figures(self.bench.reference_pa / 1e3, 6)
        )
    }
}

/// A channel in words.
#[must_use]
pub fn channel_words(channel: Channel) -> &'static str {
    match channel {
        Channel::Co2 => "CO2 flow",
        Channel::Water => "water flow",
        Channel::Oxygen => "oxygen flow",
        Channel::Diluent => "diluent flow",
        Channel::Total => "total flow",
        Channel::Temperature => "temperature",
        Channel::DewPoint => "dew point",
        Channel::Pressure => "pressure",
    }
}
