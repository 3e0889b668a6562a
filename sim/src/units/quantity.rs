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
    /// W; also takes `met` (58.2 W/m2 of body surface), which only a person's body area turns into W: see
    /// [`Quantity::is_per_body_area`].
    MetabolicPower,
    /// A plain number between 0 and 1, written "34 %" or 0.34.
    Fraction,
    /// m/s2.
    Acceleration,
    /// Pa/s.
    PressureRate,
    /// J/K.
    HeatCapacity,
    /// W/K.
    Conductance,
    /// kg/kg.
    MassForMass,
    /// mol/kg.
    Loading,
    /// 1/s.
    PerTime,
    /// J/kg.
    EnergyForMass,
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
        match self.divisor() {
            Some(divisor) => value / divisor + self.offset,
            None => self.factor * value + self.offset,
        }
    }

    /// From SI to this unit.
    #[must_use]
    pub fn from_si(&self, si: f64) -> f64 {
        self.difference_from_si(si - self.offset)
    }

    /// A difference from SI to this unit (no zero point).
    #[must_use]
    pub fn difference_from_si(&self, si: f64) -> f64 {
        match self.divisor() {
            Some(divisor) => si * divisor,
            None => si / self.factor,
        }
    }

    /// The whole number that this unit's factor is one over, if it is: dividing by 100 makes "35 %" the same bits as
    /// 0.35, which multiplying by 0.01 does not.
    fn divisor(&self) -> Option<f64> {
        let divisor = libm::round(1.0 / self.factor);
        // Bit equality is meant: either the factor is this quotient or it is not.
        (self.factor < 1.0 && 1.0 / divisor == self.factor).then_some(divisor)
    }
}

/// A value that was read, in SI, with the unit it was written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// In the dimension's SI unit; for `met`, W/m2 of body surface.
    pub si: f64,
    /// As written. For "1 h 30 min" the smaller unit; for a gas rate at a stated reference, the same flow unit at STPD.
    pub unit: Unit,
}

impl Quantity {
    /// Whether `si` is W/m2 of body surface (written in `met`) where W is wanted: multiply by the DuBois area.
    #[must_use]
    pub fn is_per_body_area(&self) -> bool {
        self.unit.symbol == MET
    }
}

/// The symbol of the metabolic unit, 58.2 W/m2 of body surface.
pub(super) const MET: &str = "met";
