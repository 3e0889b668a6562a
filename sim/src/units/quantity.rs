//! Quantities: a number with its unit, read and written.

/// What a number measures. Every dimension has one SI unit in which values are kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Dimension {
    /// Pa. Gauge readings are not accepted.
    Pressure,
    /// Pa; also takes `ppm` and `%`, as parts of 101.325 kPa.
    PartialPressure,
    /// K; degC and degF with their zero points.
    Temperature,
    /// K; a degree C is a kelvin.
    TemperatureDifference,
    /// m3.
    Volume,
    /// m3/s, actual volume at the conditions of the place.
    VolumeFlow,
    /// m2.
    Area,
    /// m.
    Length,
    /// kg.
    Mass,
    /// kg/s.
    MassRate,
    /// mol/s of one species, whose molar mass (kg/mol) is given: takes mass rates, mol rates, and volume rates that state
    /// their reference ("0.31 L/min at 25 degC, 101.325 kPa", "0.25 L/min STPD").
    GasRate(f64),
    /// s.
    Time,
    /// W.
    Power,
    /// W/m2 of body surface or W: `met` (58.2 W/m2) is kept as it stands. See `Quantity::per_area`.
    MetabolicPower,
    /// A plain number between 0 and 1, written "34 %" or 0.34.
    Fraction,
    /// m/s2.
    Acceleration,
    /// W/m2/K.
    FilmCoefficient,
    /// Oxygen uptake for body mass, m3 STPD/kg/s ("38 mL/kg/min").
    FitnessUptake,
    /// A count or another plain number.
    Number,
}

/// A unit in which a quantity may be written and shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As written, "mmHg".
    pub symbol: &'static str,
    /// SI value of one, and of zero: `si = factor * x + offset`.
    pub factor: f64,
    /// See `factor`.
    pub offset: f64,
}

impl Unit {
    /// From this unit to SI.
    #[must_use]
    pub fn to_si(&self, value: f64) -> f64 {
        self.factor * value + self.offset
    }

    /// From SI to this unit.
    #[must_use]
    pub fn from_si(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }

    /// A difference from SI to this unit (no zero point).
    #[must_use]
    pub fn difference_from_si(&self, si: f64) -> f64 {
        si / self.factor
    }
}
