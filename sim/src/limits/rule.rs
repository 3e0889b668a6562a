//! A rule as the engine judges it: one quantity, one subject, one statistic, one number.

use crate::units::Time;

/// What is judged, with the SI unit of its values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Partial pressure of CO2, Pa.
    Co2,
    /// Relative humidity over water at the air temperature, a fraction.
    Humidity,
    /// Partial pressure of oxygen, Pa.
    Oxygen,
    /// Oxygen as a fraction of the dry gas.
    OxygenFraction,
    /// Oxygen partial pressure of inspired gas saturated at body temperature: (P - 47 mmHg) times the dry fraction, Pa.
    InspiredOxygen,
    /// Total pressure, Pa.
    Pressure,
    /// Air temperature, K.
    Temperature,
    /// Apparent temperature (heat index of temperature and humidity), K.
    ApparentTemperature,
    /// Temperature of the coldest surface minus the dew point, K.
    DewPointGap,
    /// Liquid water on surfaces and in towels, kg.
    LiquidWater,
    /// How fast the total pressure changes, either way, Pa/s.
    PressureRate,
    /// Diluent in a person's tissue over the total pressure of what they breathe. A planning aid.
    TissueRatio,
    /// What a tank still holds, kg.
    Stock,
}

/// Whom or what a rule is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// The air that this person breathes, wherever they are; outside the cabin the rule rests.
    Person(usize),
    /// The air of this compartment, occupied or not.
    Compartment(usize),
    /// This tank.
    Tank(usize),
}

/// Which side of the limit is good.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// The value must not be above.
    AtMost,
    /// The value must not be below.
    AtLeast,
}

/// What of the quantity's course is held against the limit.
///
/// A person's clock for averages and allowances rests while they are outside (their suit's air is a stated assumption).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Statistic {
    /// Every instant.
    Instant,
    /// The mean over the last `window`, with the air before the start at its initial value.
    Moving {
        /// Length of the window.
        window: Time,
    },
    /// The integral over each 24 h from the start, divided by `length` (an occupational shift).
    Shift {
        /// The shift by which the sum is divided.
        length: Time,
    },
    /// The mean over the run, judged at its end.
    Mission,
    /// Time beyond `threshold` (on the bad side by the rule's bound) against the rule's limit, in seconds.
    Allowance {
        /// Value beyond which time counts, in the quantity's unit.
        threshold: f64,
        /// Each stretch beyond is judged alone; else all of the run adds up.
        each: bool,
    },
}

/// A rule on one person or one compartment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// What is judged. Averages are kept of quantities linear in the gas amounts only (CO2, humidity, oxygen, pressure,
    /// temperature).
    pub quantity: Quantity,
    /// Whose.
    pub subject: Subject,
    /// Over which time.
    pub statistic: Statistic,
    /// Which side is good. An allowance's own limit is always "at most".
    pub bound: Bound,
    /// The number: in the quantity's unit, or seconds for an allowance.
    pub limit: f64,
}
