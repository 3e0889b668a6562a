//! Constants of an option: "34 kg", or a plain number.

use breathroom_sim::units::{Dimension, Quantity, parse, unit};

/// What a figure may measure; the first that fits its text and the unit it is asked in.
const DIMENSIONS: [Dimension; 23] = [
    Dimension::Mass,
    Dimension::Power,
    Dimension::Volume,
    Dimension::Area,
    Dimension::Length,
    Dimension::Time,
    Dimension::Pressure,
    Dimension::PartialPressure,
    Dimension::Temperature,
    Dimension::TemperatureDifference,
    Dimension::VolumeFlow,
    Dimension::MassRate,
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
    Dimension::Number,
];

/// A constant of an option, for formulas.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Its name.
    pub name: String,
    /// As written.
    pub written: String,
}

impl Figure {
    /// Whether its text is a quantity in one of the units.
    pub(super) fn is_quantity(&self) -> bool {
        DIMENSIONS
            .into_iter()
            .any(|dimension| parse(&self.written, dimension).is_ok())
    }

    /// Its value in a unit; none if the unit does not measure it.
    #[must_use]
    pub fn value_in(&self, symbol: &str) -> Option<f64> {
        let of = |dimension| -> Option<(Quantity, f64)> {
            let quantity = parse(&self.written, dimension).ok()?;
            let asked = unit(symbol, dimension)?;
            Some((quantity, asked.from_si(quantity.si)))
        };
        DIMENSIONS.into_iter().find_map(of).map(|(_, value)| value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_is_asked_in_any_unit_of_what_it_measures() {
        let figure = |written: &str| Figure {
            name: "x".to_owned(),
            written: written.to_owned(),
        };
        assert_eq!(figure("34 kg").value_in("g"), Some(34_000.0));
        assert_eq!(figure("2 h").value_in("min"), Some(120.0));
        assert_eq!(figure("22 degC").value_in("K"), Some(295.15));
        assert_eq!(figure("35 %").value_in(""), Some(0.35));
        assert_eq!(figure("3").value_in(""), Some(3.0));
        assert_eq!(figure("34 kg").value_in("m3"), None);
        assert_eq!(figure("34 kg").value_in(""), None);
        assert!(!figure("34 kgg").is_quantity());
    }
}
