//! What is known of each quantity that a limit may name: its name in scenarios, its words, its dimension.
//!
//! Names are those of a scenario's `quantity` key. A quantity is linear when its value is a fixed sum over the gas
//! amounts of the compartment at its fixed temperature: only those have averages, because only their integral follows
//! from that of the amounts.

use super::Quantity;
use crate::units::Dimension;

impl Quantity {
    /// Every quantity, in the order in which they are listed to people.
    pub const ALL: [Self; 13] = [
        Self::Co2,
        Self::Humidity,
        Self::Oxygen,
        Self::OxygenFraction,
        Self::InspiredOxygen,
        Self::Pressure,
        Self::Temperature,
        Self::ApparentTemperature,
        Self::DewPointGap,
        Self::LiquidWater,
        Self::PressureRate,
        Self::TissueRatio,
        Self::Stock,
    ];

    /// Its name in scenarios.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Co2 => "co2",
            Self::Humidity => "humidity",
            Self::Oxygen => "oxygen",
            Self::OxygenFraction => "oxygen_fraction",
            Self::InspiredOxygen => "inspired_oxygen",
            Self::Pressure => "pressure",
            Self::Temperature => "temperature",
            Self::ApparentTemperature => "apparent_temperature",
            Self::DewPointGap => "dew_point_gap",
            Self::LiquidWater => "liquid_water",
            Self::PressureRate => "pressure_rate",
            Self::TissueRatio => "tissue_ratio",
            Self::Stock => "stock",
        }
    }

    /// The quantity of this name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|quantity| quantity.name() == name)
    }

    /// In words, for tables and reports.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Co2 => "CO2 partial pressure",
            Self::Humidity => "relative humidity",
            Self::Oxygen => "oxygen partial pressure",
            Self::OxygenFraction => "oxygen fraction of the dry gas",
            Self::InspiredOxygen => "inspired oxygen partial pressure",
            Self::Pressure => "total pressure",
            Self::Temperature => "air temperature",
            Self::ApparentTemperature => "apparent temperature",
            Self::DewPointGap => "coldest surface minus dew point",
            Self::LiquidWater => "liquid water on surfaces and in towels",
            Self::PressureRate => "rate of change of total pressure, either way",
            Self::TissueRatio => "diluent in tissue over breathed total pressure (a planning aid)",
            Self::Stock => "gas left in the tank",
        }
    }

    /// What its values measure.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Co2 | Self::Oxygen | Self::InspiredOxygen => Dimension::PartialPressure,
            Self::Humidity | Self::OxygenFraction => Dimension::Fraction,
            Self::Pressure => Dimension::Pressure,
            Self::Temperature | Self::ApparentTemperature => Dimension::Temperature,
            Self::DewPointGap => Dimension::TemperatureDifference,
            Self::LiquidWater | Self::Stock => Dimension::Mass,
            Self::PressureRate => Dimension::PressureRate,
            Self::TissueRatio => Dimension::Number,
        }
    }

    /// Whether it is linear in the gas amounts, so that averages of it can be kept.
    #[must_use]
    pub const fn is_linear(self) -> bool {
        matches!(
            self,
            Self::Co2 | Self::Humidity | Self::Oxygen | Self::Pressure | Self::Temperature
        )
    }

    /// Whether a margin as a fraction of the limit means anything: not where the unit's zero is arbitrary or zero is
    /// itself a usual limit.
    #[must_use]
    pub const fn fraction_means_something(self) -> bool {
        !matches!(self, Self::Temperature | Self::ApparentTemperature | Self::DewPointGap)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_lead_back() {
        for quantity in Quantity::ALL {
            assert_eq!(Quantity::from_name(quantity.name()), Some(quantity));
        }
        assert_eq!(Quantity::from_name("CO2"), None);
    }
}
