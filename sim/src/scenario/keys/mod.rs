//! The one table of keys: what a scenario file may say.
//!
//! It drives the reader (unknown keys, types, dimensions, domains, defaults), the list that `check` prints, the reference
//! page, the commented starter and the JSON Schema. A key that is not here cannot be read; tests hold the rest to it.

mod air;
mod alarms;
mod cabin;
mod crew;
mod effects;
mod fans;
mod faults;
mod heat;
mod limits;
mod removal;
mod root;
mod sensors;
mod sorbent;
mod suits;
mod swing_bed;
mod tanks;
mod tasks;
mod together;

pub use air::{AIR, COMPARTMENT_AIR, OUTSIDE};
pub use alarms::{ALARM, RESPONSE};
pub use cabin::{COMPARTMENT, OPENING, RELIEF, WALLS, WASHOUT};
pub use crew::{EFFORT, EQUIPMENT, MEASURED, PERSON, PERSON_LAGS, STAGE};
pub use effects::EFFECT;
pub use fans::FAN;
pub use faults::{BUS, FAULT, FAULT_AT, FAULT_ENDS, FAULT_SHAPE};
pub use heat::HEAT;
pub use limits::{LIMITS, RULE};
pub use removal::{CONDENSER, CURVE, CYCLE, FLOW_THROUGH};
pub use root::{HISTORY, LAGS, ROOT, SURVIVAL, TOWELS};
pub use sensors::{ALARM_SENSOR, DRIFT, SENSOR};
pub use sorbent::SORBENT;
pub use suits::SUIT;
pub use swing_bed::{DESORB, ISOTHERM, LOADED, RATES, SWING_BED};
pub use tanks::{CONTROL, HOLD_OXYGEN, HOLD_PRESSURE, TANK};
pub use tasks::{PRE_BREATHE, REPEAT, TASK};
pub use together::TOGETHER;

use crate::units::Dimension;

/// A table of the file: its place, what it is for, its keys.
#[derive(Debug)]
pub struct Section {
    /// Its path, an id written as `X`: "removal.X".
    pub path: &'static str,
    /// What it is, in a sentence or two.
    pub meaning: &'static str,
    /// Its keys, in the order in which they are listed and read.
    pub keys: &'static [Key],
}

/// A key of a section.
#[derive(Debug)]
pub struct Key {
    /// As written.
    pub name: &'static str,
    /// What stands behind it.
    pub kind: Kind,
    /// Whether it must be there, and what holds if it is not.
    pub need: Need,
    /// A value that could stand there, as TOML.
    pub example: &'static str,
    /// What it means, in a line.
    pub meaning: &'static str,
}

/// What stands behind a key.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// A number, or a spread in its place.
    Number(Dimension, Domain),
    /// A number or a spread, or a table from which it is worked out.
    NumberOrTable(Dimension, Domain, &'static Section),
    /// A number or a spread; of another action, a name.
    NumberOrName(Dimension, Domain, What),
    /// A number that decides the shape of the run or of its results, so that no spread may stand there.
    Fixed(Dimension, Domain),
    /// A list of numbers (or spreads).
    Numbers(Dimension, Domain),
    /// A list of pairs: inlet pressure and removal rate of a species of this molar mass, kg/mol.
    Points(f64),
    /// A whole number from, to.
    Whole(i64, i64),
    /// true or false.
    Flag,
    /// Any text.
    Text,
    /// A name that this entry gives itself.
    Id,
    /// One of these words.
    Word(&'static [&'static str]),
    /// One of these words, or a table.
    WordOrTable(&'static [&'static str], &'static Section),
    /// One of these words, a person, or a list of people.
    Who(&'static [&'static str]),
    /// A name of something else in the file.
    Name(What),
    /// A list of names.
    Names(What),
    /// Two different places.
    TwoPlaces,
    /// A list of paths of spreads.
    Paths,
    /// A path of the file, or a list of them.
    PathOrPaths,
    /// Rank correlations: one number, or a table of them.
    Correlations,
    /// A table.
    Table(&'static Section),
    /// One table for each name that the user chooses.
    Named(&'static Section),
    /// One table for each compartment that is named.
    ForCompartments(&'static Section),
    /// One table for each of the crew that is named.
    ForPeople(&'static Section),
    /// One table for each name, with a `kind` that decides its keys.
    Families(&'static [(&'static str, &'static Section)]),
    /// A list of tables.
    Tables(&'static Section),
}

/// What a name refers to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A compartment.
    Compartment,
    /// A compartment or "outside".
    Place,
    /// A compartment, or the inside of a suit ("suit:lead").
    Gas,
    /// An opening.
    Opening,
    /// A removal device.
    Device,
    /// A tank.
    Tank,
    /// The suit of the person of this name.
    Suit,
    /// A fan.
    Fan,
    /// A removal device or a fan.
    Switched,
    /// One of the crew.
    Person,
    /// An effort of the file, or a built-in one.
    Effort,
    /// Equipment.
    Equipment,
    /// A task, or one turn of it ("sleep#2").
    Task,
    /// A fault.
    Fault,
    /// A sensor with a table of its own.
    Sensor,
    /// A named set of limits.
    LimitSet,
}

impl What {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Compartment => "compartment",
            Self::Place => "place",
            Self::Gas => "compartment or suit",
            Self::Opening => "opening",
            Self::Device => "removal device",
            Self::Tank => "tank",
            Self::Suit => "suit",
            Self::Fan => "fan",
            Self::Switched => "removal device or fan",
            Self::Person => "person",
            Self::Effort => "effort",
            Self::Equipment => "equipment",
            Self::Task => "task",
            Self::Fault => "fault",
            Self::Sensor => "sensor",
            Self::LimitSet => "set of limits",
        }
    }
}

/// Whether a key must be there.
#[derive(Clone, Copy, Debug)]
pub enum Need {
    /// It must.
    Required,
    /// It need not; what then holds, in words.
    Absent(&'static str),
    /// It need not; the value that then stands there (as TOML), whose it is, and whether it is recalled, not re-read.
    Default(&'static str, &'static str, bool),
}

/// The physical domain of a number, in SI, ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Domain {
    /// Least value.
    pub lo: f64,
    /// Largest value.
    pub hi: f64,
}

const fn domain(lo: f64, hi: f64) -> Domain {
    Domain { lo, hi }
}

const fn key(name: &'static str, kind: Kind, need: Need, example: &'static str, meaning: &'static str) -> Key {
    Key {
        name,
        kind,
        need,
        example,
        meaning,
    }
}

/// The fraction of a whole.
const PART: Domain = domain(0.0, 1.0);
/// A length of time that something takes: a second to ten years.
const SPAN_S: Domain = domain(1.0, 3.2e8);
/// An instant of the run.
const INSTANT_S: Domain = domain(0.0, 3.2e8);
/// Total pressure of a gas that is there: a tenth of a kPa to 100 bar.
const PRESSURE_PA: Domain = domain(100.0, 1e7);
/// Partial pressure.
const PARTIAL_PA: Domain = domain(0.0, 1e7);
/// Temperatures for which saturation pressures are good.
const TEMPERATURE_K: Domain = domain(223.15, 373.15);
/// Volume of a room.
const VOLUME_M3: Domain = domain(1e-3, 1e6);
/// Actual volume per time.
const FLOW_M3_S: Domain = domain(0.0, 1e3);
/// Electric power of a device.
const POWER_W: Domain = domain(0.0, 1e5);
/// Mass per time.
const MASS_RATE_KG_S: Domain = domain(0.0, 1.0);
/// Amount of a gas per time.
const GAS_RATE_MOL_S: Domain = domain(0.0, 10.0);
/// Effective area of a hole, a valve or a vent, none at all included.
const HOLE_M2: Domain = domain(0.0, 1.0);
/// CO2 given off for oxygen used, by volume: beyond the range from fasting to hard exercise.
const QUOTIENT: Domain = domain(0.5, 1.5);

impl Section {
    /// The key of this name.
    #[must_use]
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|k| k.name == name)
    }
}

/// Every section with its keys, in the order of the table: each section is followed by its sub-sections.
#[must_use]
pub fn sections() -> Vec<&'static Section> {
    let mut list = Vec::new();
    collect(&ROOT, &mut list);
    list
}

fn collect(section: &'static Section, into: &mut Vec<&'static Section>) {
    // A section that stands in two places is listed once.
    if into.iter().any(|s| std::ptr::eq(*s, section)) {
        return;
    }
    into.push(section);
    for key in section.keys {
        match key.kind {
            Kind::Table(s)
            | Kind::Named(s)
            | Kind::ForCompartments(s)
            | Kind::ForPeople(s)
            | Kind::Tables(s)
            | Kind::WordOrTable(_, s)
            | Kind::NumberOrTable(_, _, s) => collect(s, into),
            Kind::Families(families) => {
                for (_, s) in families {
                    collect(s, into);
                }
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_section_lists_a_key_twice() {
        for section in sections() {
            for (n, key) in section.keys.iter().enumerate() {
                assert!(
                    section.keys[..n].iter().all(|k| k.name != key.name),
                    "{}.{}",
                    section.path,
                    key.name
                );
                assert!(
                    !key.meaning.is_empty() && !key.example.is_empty(),
                    "{}.{}",
                    section.path,
                    key.name
                );
            }
        }
    }
}
