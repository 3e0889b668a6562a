//! What people read about a dimension: its name, its SI unit, an example.

use super::quantity::{Dimension, Unit};
use super::table::units_of;

impl Dimension {
    /// In words, without an article: "partial pressure".
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Pressure => "pressure",
            Self::PartialPressure => "partial pressure",
            Self::Temperature => "temperature",
            Self::TemperatureDifference => "temperature difference",
            Self::Volume => "volume",
            Self::VolumeFlow => "volume flow",
            Self::Area => "area",
            Self::Length => "length",
            Self::Mass => "mass",
            Self::MassRate => "mass rate",
            Self::GasRate(_) => "gas rate",
            Self::Time => "time",
            Self::Power => "power",
            Self::MetabolicPower => "metabolic power",
            Self::Fraction => "fraction",
            Self::Acceleration => "acceleration",
            Self::PressureRate => "pressure rate",
            Self::HeatCapacity => "heat capacity",
            Self::Conductance => "heat conductance",
            Self::MassForMass => "mass for mass",
            Self::Loading => "loading",
            Self::PerTime => "rate",
            Self::EnergyForMass => "energy for mass",
            Self::FilmCoefficient => "film coefficient",
            Self::FitnessUptake => "oxygen uptake for body mass",
            Self::Number => "plain number",
        }
    }

    /// In words, with its article: "an area".
    #[must_use]
    pub fn with_article(self) -> String {
        let article = if self.name().starts_with(['a', 'e', 'i', 'o', 'u']) {
            "an"
        } else {
            "a"
        };
        format!("{article} {}", self.name())
    }

    /// A value as one would write it: "56.5 kPa".
    #[must_use]
    pub fn example(self) -> &'static str {
        match self {
            Self::Pressure => "56.5 kPa",
            Self::PartialPressure => "3 mmHg",
            Self::Temperature => "22 degC",
            Self::TemperatureDifference => "4 K",
            Self::Volume => "11.5 m3",
            Self::VolumeFlow => "0.72 m3/min",
            Self::Area => "26 m2",
            Self::Length => "1.72 m",
            Self::Mass => "71 kg",
            Self::MassRate => "0.05 kg/d",
            Self::GasRate(_) => "1.00 kg/d",
            Self::Time => "1 h 30 min",
            Self::Power => "120 W",
            Self::MetabolicPower => "310 W",
            Self::Fraction => "34 %",
            Self::Acceleration => "1.62 m/s2",
            Self::PressureRate => "2 kPa/min",
            Self::HeatCapacity => "120 kJ/K",
            Self::Conductance => "25 W/K",
            Self::MassForMass => "0.919 kg/kg",
            Self::Loading => "1.2 mol/kg",
            Self::PerTime => "0.005 1/s",
            Self::EnergyForMass => "2029 kJ/kg",
            Self::FilmCoefficient => "3 W/m2/K",
            Self::FitnessUptake => "38 mL/kg/min",
            Self::Number => "2",
        }
    }

    /// The unit in which values are kept; a fraction's and a number's has the empty symbol.
    #[must_use]
    pub fn si_unit(self) -> Unit {
        let symbol = match self {
            Self::Pressure | Self::PartialPressure => "Pa",
            Self::Temperature | Self::TemperatureDifference => "K",
            Self::Volume => "m3",
            Self::VolumeFlow => "m3/s",
            Self::Area => "m2",
            Self::Length => "m",
            Self::Mass => "kg",
            Self::MassRate => "kg/s",
            Self::GasRate(_) => "mol/s",
            Self::Time => "s",
            Self::Power | Self::MetabolicPower => "W",
            Self::Acceleration => "m/s2",
            Self::PressureRate => "Pa/s",
            Self::HeatCapacity => "J/K",
            Self::Conductance => "W/K",
            Self::MassForMass => "kg/kg",
            Self::Loading => "mol/kg",
            Self::PerTime => "1/s",
            Self::EnergyForMass => "J/kg",
            Self::FilmCoefficient => "W/m2/K",
            Self::FitnessUptake => "m3/kg/s",
            Self::Fraction | Self::Number => "",
        };
        Unit {
            symbol,
            factor: 1.0,
            offset: 0.0,
        }
    }

    /// Every unit it may be written in, the likeliest first.
    ///
    /// The factors of a gas rate's mass units follow from its molar mass.
    pub fn units(self) -> impl Iterator<Item = Unit> {
        units_of(self)
    }

    /// Whether a number without a unit is complete.
    #[must_use]
    pub fn is_plain(self) -> bool {
        matches!(self, Self::Fraction | Self::Number)
    }

    /// The first `most` units in backquotes, for messages: "`m3`, `ft3`, `L`".
    pub(super) fn listed(self, most: usize) -> String {
        let quoted = self.units().filter(|unit| !unit.symbol.is_empty()).take(most);
        quoted
            .map(|unit| format!("`{}`", unit.symbol))
            .collect::<Vec<_>>()
            .join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::super::{parse, unit};
    use super::*;

    #[test]
    fn every_dimension_explains_itself() {
        for dimension in [
            Dimension::Pressure,
            Dimension::PartialPressure,
            Dimension::Temperature,
            Dimension::TemperatureDifference,
            Dimension::Volume,
            Dimension::VolumeFlow,
            Dimension::Area,
            Dimension::Length,
            Dimension::Mass,
            Dimension::MassRate,
            Dimension::GasRate(0.032),
            Dimension::Time,
            Dimension::Power,
            Dimension::MetabolicPower,
            Dimension::Fraction,
            Dimension::Acceleration,
            Dimension::PressureRate,
            Dimension::HeatCapacity,
            Dimension::Conductance,
            Dimension::MassForMass,
            Dimension::Loading,
            Dimension::PerTime,
            Dimension::EnergyForMass,
            Dimension::FilmCoefficient,
            Dimension::FitnessUptake,
            Dimension::Number,
        ] {
            assert!(parse(dimension.example(), dimension).is_ok(), "{dimension:?}");
            let si = dimension.si_unit();
            assert_eq!(unit(si.symbol, dimension), Some(si), "{dimension:?}");
        }
        assert_eq!(Dimension::Area.with_article(), "an area");
        assert_eq!(Dimension::Volume.listed(3), "`m3`, `ft3`, `L`");
    }
}
