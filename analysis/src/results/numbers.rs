//! Numbers and times for people: short where they are read, exact where they are computed with.

use std::fmt::Write as _;

use breathroom_sim::units::{Dimension, Unit, figures, unit};

/// Millimetres of mercury.
#[must_use]
pub fn mmhg() -> Unit {
    known("mmHg", Dimension::Pressure)
}

/// Kilopascals.
#[must_use]
pub fn kpa() -> Unit {
    known("kPa", Dimension::Pressure)
}

/// Degrees Celsius.
#[must_use]
pub fn deg_c() -> Unit {
    known("degC", Dimension::Temperature)
}

/// Percent.
#[must_use]
pub fn percent_unit() -> Unit {
    known("%", Dimension::Fraction)
}

/// Kilograms a day.
#[must_use]
pub fn kg_d() -> Unit {
    known("kg/d", Dimension::MassRate)
}

/// A unit of the simulator's table; the SI unit if the table should ever lose it (a test holds that it does not).
fn known(symbol: &str, dimension: Dimension) -> Unit {
    unit(symbol, dimension).unwrap_or_else(|| dimension.si_unit())
}

/// Three significant digits without trailing zeros, for text: `2.41`, `-0.08`, `1230`, `1.2e-7`; `-` for no number.
#[must_use]
pub fn short(value: f64) -> String {
    if value.is_nan() {
        "-".to_owned()
    } else {
        figures(value, 3)
    }
}

/// A number in its unit: `2.41 mmHg`; `-` for no number.
#[must_use]
pub fn with_unit(value: f64, unit: &str) -> String {
    if unit.is_empty() || value.is_nan() {
        short(value)
    } else {
        format!("{} {unit}", short(value))
    }
}

/// A mass; less than a microgram is what rounding left of nothing.
#[must_use]
pub fn kilograms(value: f64) -> String {
    with_unit(if value.abs() < 1e-9 { 0.0 } else { value }, "kg")
}

/// A pressure given in Pa; less than a millionth of one is what rounding left of nothing.
#[must_use]
pub fn kilopascals(value_pa: f64) -> String {
    let value_pa = if value_pa.abs() < 1e-6 { 0.0 } else { value_pa };
    with_unit(kpa().from_si(value_pa), "kPa")
}

/// Hours as a clock: `31 h 12 min`.
#[must_use]
pub fn clock(hours: f64) -> String {
    if !hours.is_finite() {
        return "-".to_owned();
    }
    // Nothing has no sign.
    let minutes = (hours * 60.0).round() + 0.0;
    format!("{:.0} h {:02.0} min", (minutes / 60.0).trunc(), (minutes % 60.0).abs())
}

/// Hours as a clock for narrow columns: `31:12`.
#[must_use]
pub fn narrow_clock(hours: f64) -> String {
    if !hours.is_finite() {
        return "-".to_owned();
    }
    let minutes = (hours * 60.0).round() + 0.0;
    format!("{:.0}:{:02.0}", (minutes / 60.0).trunc(), (minutes % 60.0).abs())
}

/// The shortest text that reads back as the same bits, for CSV; nothing for what is not a number.
#[must_use]
pub fn exact(value: f64) -> String {
    let mut text = String::new();
    exact_into(value, &mut text);
    text
}

/// Appends [`exact`] to a text.
pub fn exact_into(value: f64, text: &mut String) {
    let size = value.abs();
    // Writing to a text cannot fail.
    let _ = if !value.is_finite() {
        Ok(())
    } else if value == 0.0 || (1e-5..1e16).contains(&size) {
        write!(text, "{value}")
    } else {
        write!(text, "{value:e}")
    };
}

/// The share `part` of the whole in percent, with enough digits near 0.
#[must_use]
pub fn percent(fraction: f64) -> String {
    with_unit(100.0 * fraction, "%")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_digits_are_enough_for_people() {
        for (value, text) in [
            (2.4149, "2.41"),
            (3.0, "3"),
            (-0.0800, "-0.08"),
            (1234.5, "1230"),
            (31.2, "31.2"),
            (0.0, "0"),
            (-0.000_41, "-0.00041"),
            (1.234e-9, "1.23e-9"),
            (100.0, "100"),
            (f64::NAN, "-"),
            (f64::NEG_INFINITY, "-inf"),
        ] {
            assert_eq!(short(value), text);
        }
    }

    #[test]
    fn the_units_that_tables_use_are_known() {
        let symbols = [mmhg(), kpa(), deg_c(), percent_unit(), kg_d()].map(|unit| unit.symbol);
        assert_eq!(symbols, ["mmHg", "kPa", "degC", "%", "kg/d"]);
    }

    #[test]
    fn csv_numbers_read_back_as_the_same_bits() {
        for value in [0.1 + 0.2, 1e-300, -1.7e308, 5e-324, 123_456_789.123_456_78, -0.0] {
            let back: f64 = exact(value).parse().expect("a number");
            assert_eq!(back.to_bits(), value.to_bits());
        }
        assert_eq!(exact(f64::NAN), "");
        assert_eq!(exact(f64::INFINITY), "");
    }

    #[test]
    fn what_is_no_number_has_no_unit_and_what_rounding_left_is_nothing() {
        assert_eq!([with_unit(f64::NAN, "kPa"), percent(f64::NAN)], ["-", "-"]);
        assert_eq!([kilograms(-4e-14), kilograms(-0.25)], ["0 kg", "-0.25 kg"]);
        assert_eq!([kilopascals(-1.7e-10), kilopascals(56_500.0)], ["0 kPa", "56.5 kPa"]);
    }

    #[test]
    fn hours_read_as_a_clock() {
        assert_eq!([clock(-0.0), clock(-0.001)], ["0 h 00 min", "0 h 00 min"]);
        assert_eq!(clock(31.2), "31 h 12 min");
        assert_eq!(clock(0.999_99), "1 h 00 min");
        assert_eq!(narrow_clock(114.6), "114:36");
        assert_eq!(narrow_clock(f64::NAN), "-");
    }
}
