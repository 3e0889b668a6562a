//! Results of `fit device`: parameters with how sure they are, what was not identified, residuals, and another test foretold.

mod course;
mod spread;
mod summary;
mod tables;
mod words;

use breathroom_sim::units::Unit;

use crate::fits::device::DeviceFit;
use crate::fits::device::held_out::HeldOut;
use crate::fits::device::model::{Law, Model};
use crate::fits::device::part::{Held, Part};
use crate::fits::device::series::Series;

pub use course::course;
pub use spread::{Spread, groups, spread};
pub use summary::{FitSummary, build};
pub use tables::{correlations, held_out, parameters, residuals, sensor};
pub use words::{sentences, warnings};

/// Another test, and what was foretold of it.
#[derive(Clone, Debug)]
pub struct Foretold {
    /// Its file.
    pub file: String,
    /// What was measured.
    pub series: Series,
    /// One for each outlet that it has.
    pub outlets: Vec<HeldOut>,
}

/// A value that was written into a scenario.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Its field.
    pub path: String,
    /// Its line in the new file.
    pub line: usize,
    /// What stood there; empty for a key that was not there.
    pub before: String,
    /// What stands there now.
    pub after: String,
}

/// What is told.
#[derive(Clone, Debug)]
pub struct Told {
    /// The device's name.
    pub device: String,
    /// The data's file.
    pub data: String,
    /// The file that values were written into; none if they were not.
    pub into: Option<String>,
    /// The device's laws.
    pub model: Model,
    /// The test.
    pub series: Series,
    /// The fit.
    pub fit: DeviceFit,
    /// Half widths of the band of each outlet's readings, Pa, by part.
    pub bands_pa: Vec<Vec<f64>>,
    /// Other tests.
    pub held_out: Vec<Foretold>,
    /// What was written.
    pub written: Vec<Written>,
    /// What could not be, in words.
    pub left: Vec<String>,
    /// The size of the tested piece: 1 for a whole device.
    pub scale: f64,
}

impl Told {
    /// The law of an estimate.
    #[must_use]
    pub fn law(&self, index: usize) -> &Law {
        &self.model.laws[index]
    }

    /// The unit of an outlet.
    #[must_use]
    pub fn unit(&self, part: &Part) -> Unit {
        outlet_unit(&self.series, part.species)
    }
}

/// The unit that an outlet is told in: as its file has it, kPa for a dew point.
#[must_use]
pub fn outlet_unit(series: &Series, species: usize) -> Unit {
    match series.unit[species] {
        Some(unit) if unit.symbol != "Pa" => unit,
        _ => super::numbers::kpa(),
    }
}

/// The name of a species' outlet.
#[must_use]
pub fn outlet(species: usize) -> &'static str {
    ["co2 out", "water out"][species]
}

/// Why a parameter was held, in words.
#[must_use]
pub fn why(told: &Told, law: usize, held: &Held) -> String {
    let of = told.law(law);
    match held {
        Held::NoEffect => "it changes nothing that was measured".to_owned(),
        Held::Unsure(sd) => format!(
            "its standard deviation would be {}",
            super::numbers::with_unit(of.unit.difference_from_si(*sd), of.unit.symbol)
        ),
        Held::With(other, r) => format!(
            "it goes together with `{}` (correlation {})",
            told.law(*other).key,
            super::numbers::short(*r)
        ),
        Held::Ill => "with the others it makes the problem ill-conditioned".to_owned(),
    }
}
