//! Quantity to text: as many figures as mean something, and no noise.

use super::quantity::Unit;

/// Significant figures that [`show`] keeps at most.
const FIGURES: usize = 6;

/// Writes an SI value in a unit: `show(56500.0, kPa)` is "56.5 kPa". Up to 6 significant figures, no trailing zeros.
#[must_use]
pub fn show(si: f64, unit: Unit) -> String {
    joined(unit.from_si(si), unit)
}

/// Writes a difference of SI values in a unit, without its zero point: a margin of 4 K is "4 degC".
#[must_use]
pub fn show_difference(si: f64, unit: Unit) -> String {
    joined(unit.difference_from_si(si), unit)
}

fn joined(value: f64, unit: Unit) -> String {
    let number = figures(value, FIGURES);
    if unit.symbol.is_empty() {
        number
    } else {
        format!("{number} {}", unit.symbol)
    }
}

/// Writes a number with at most `most` significant figures (1 to 17) and no trailing zeros; very large and very small
/// ones with an exponent. What is written reads back with the parser.
#[must_use]
pub fn figures(value: f64, most: usize) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !value.is_finite() {
        return value.to_string();
    }
    let most = most.clamp(1, 17);
    let scientific = format!("{value:.*e}", most - 1);
    let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    if !(-4..most.max(6) as i32).contains(&exponent) {
        return format!("{}e{exponent}", without_zeros(mantissa));
    }
    let decimals = (most as i32 - 1 - exponent).max(0) as usize;
    // Through the rounded text, so that a value is rounded once.
    let rounded: f64 = scientific.parse().unwrap_or(value);
    without_zeros(&format!("{rounded:.decimals$}")).to_owned()
}

/// Without the zeros, and the point, that a decimal fraction ends in.
fn without_zeros(text: &str) -> &str {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Dimension, parse, unit};
    use super::*;

    #[test]
    fn numbers_carry_no_noise() {
        for (value, text) in [
            (0.1 + 0.2, "0.3"),
            (56.5, "56.5"),
            (-22.0, "-22"),
            (100_000.0, "100000"),
            (123_456.7, "123457"),
            (1_234_567.0, "1.23457e6"),
            (0.000_123_456_78, "0.000123457"),
            (0.000_012, "1.2e-5"),
            (999_999.9, "1e6"),
            (9.999_999_9, "10"),
            (-0.0, "0"),
            (f64::NAN, "NaN"),
        ] {
            assert_eq!(figures(value, 6), text);
        }
        assert_eq!(figures(1234.5, 2), "1200");
        assert_eq!(figures(2.0 / 3.0, 3), "0.667");
    }

    #[test]
    fn a_quantity_shows_as_it_was_written() {
        for (text, dimension) in [
            ("56.5 kPa", Dimension::Pressure),
            ("3 mmHg", Dimension::PartialPressure),
            ("4000 ppm", Dimension::PartialPressure),
            ("22 degC", Dimension::Temperature),
            ("71.6 degF", Dimension::Temperature),
            ("38 mL/kg/min", Dimension::FitnessUptake),
            ("0.25 L/min STPD", Dimension::GasRate(0.044)),
            ("0.34", Dimension::Fraction),
            ("34 %", Dimension::Fraction),
            ("1.2 met", Dimension::MetabolicPower),
        ] {
            let read = parse(text, dimension).unwrap();
            assert_eq!(show(read.si, read.unit), text);
        }
        let degree_f = unit("degF", Dimension::Temperature).unwrap();
        assert_eq!(show_difference(5.0, degree_f), "9 degF");
    }

    #[test]
    fn what_is_shown_reads_back() {
        for dimension in [
            Dimension::PartialPressure,
            Dimension::Temperature,
            Dimension::TemperatureDifference,
            Dimension::Volume,
            Dimension::VolumeFlow,
            Dimension::Area,
            Dimension::Length,
            Dimension::Mass,
            Dimension::MassRate,
            Dimension::GasRate(0.031_998_8),
            Dimension::Time,
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
            for unit in dimension.units() {
                for step in 0..200_i32 {
                    // Over 24 decades, both signs.
                    let value =
                        libm::pow(10.0, f64::from(step % 100) * 0.24 - 12.0) * if step < 100 { 1.0 } else { -1.0 };
                    let text = joined(value, unit);
                    let read = parse(&text, dimension).unwrap_or_else(|error| panic!("{text}: {error}"));
                    assert_eq!(read.unit, unit, "{text}");
                    let again = read.unit.from_si(read.si);
                    // Six figures of the value; a zero point takes its own rounding with it.
                    let tolerance = 5e-6 * value.abs() + 1e-13 * unit.offset;
                    assert!((again - value).abs() <= tolerance, "{text}: {again} for {value}");
                }
            }
        }
    }
}
