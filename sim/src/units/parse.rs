//! Text to quantity: `number unit`, the compounds of time, and what is said when it is neither.
//!
//! `si = factor * x + offset` of the unit found; numbers are decimal with a point, optional exponent, no separators.

use std::ops::Range;

use super::error::QuantityError;
use super::gas_rate::gas_rate;
use super::quantity::{Dimension, Quantity, Unit};
use super::scan::{Found, number, quoted, trimmed};
use super::table::{dimension_with, spelled_plainly, unit, units_of};

/// Reads a quantity of the wanted dimension.
///
/// # Errors
/// A [`QuantityError`] that names the offending bytes and what would be right: no number, no unit, an unknown unit or one of
/// another dimension, a gas flow without its reference, a value that is not finite in SI.
pub fn parse(text: &str, dimension: Dimension) -> Result<Quantity, QuantityError> {
    let whole = 0..text.len();
    match dimension {
        Dimension::Time => time(text),
        Dimension::GasRate(_) => gas_rate(text, dimension),
        _ => simple(text, whole, dimension),
    }
}

/// One number and one unit, over `range` of the text.
pub(super) fn simple(text: &str, range: Range<usize>, dimension: Dimension) -> Result<Quantity, QuantityError> {
    let found = number(text, range.clone(), dimension)?;
    let rest = trimmed(text, found.span.end..range.end);
    let unit = unit_at(text, &found, rest, dimension)?;
    finite(text, &found, unit.to_si(found.value), unit)
}

/// A quantity, unless its value left the range of a double on the way to SI.
pub(super) fn finite(text: &str, found: &Found, si: f64, unit: Unit) -> Result<Quantity, QuantityError> {
    if si.is_finite() {
        return Ok(Quantity { si, unit });
    }
    Err(QuantityError::NotFinite {
        text: quoted(&text[found.span.clone()]),
        span: found.span.clone(),
    })
}

/// The unit that stands at `rest`, which may be empty where a plain number is complete.
pub(super) fn unit_at(
    text: &str,
    found: &Found,
    rest: Range<usize>,
    dimension: Dimension,
) -> Result<Unit, QuantityError> {
    let written = &text[rest.clone()];
    if let Some(unit) = unit(written, dimension) {
        return Ok(unit);
    }
    if written.is_empty() {
        return Err(QuantityError::MissingUnit {
            span: found.span.clone(),
            dimension,
        });
    }
    if written.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',')) {
        let span = found.span.start..rest.end;
        return Err(QuantityError::NotANumber {
            text: quoted(&text[span.clone()]),
            span,
            dimension,
        });
    }
    Err(wrong_unit(written, rest, dimension))
}

/// The fault of a unit that the wanted dimension has not.
pub(super) fn wrong_unit(written: &str, span: Range<usize>, dimension: Dimension) -> QuantityError {
    let first = written.split_whitespace().next().unwrap_or(written);
    if dimension == Dimension::VolumeFlow && first.len() < written.len() && unit(first, dimension).is_some() {
        let why = "a volume flow is the actual volume at the conditions of the place and takes no reference";
        return QuantityError::BadReference {
            span: span.start + first.len() + 1..span.end,
            why,
        };
    }
    let pressure = matches!(dimension, Dimension::Pressure | Dimension::PartialPressure);
    if pressure && ["psig", "barg", "kPag", "bar(g)", "kPa(g)", "psi(g)"].contains(&written) {
        return QuantityError::Gauge {
            unit: written.to_owned(),
            span,
        };
    }
    if let Some(measures) = dimension_with(written) {
        return QuantityError::WrongDimension {
            unit: quoted(written),
            span,
            measures,
            dimension,
        };
    }
    let suggestion = suggestion(written, dimension);
    QuantityError::UnknownUnit {
        unit: quoted(written),
        span,
        dimension,
        suggestion,
    }
}

/// Words that people use for units, beside the symbols that are taken.
const WORDS: [(&str, &str); 34] = [
    ("c", "degC"),
    ("celsius", "degC"),
    ("f", "degF"),
    ("fahrenheit", "degF"),
    ("kelvin", "K"),
    ("cfm", "ft3/min"),
    ("lpm", "L/min"),
    ("l/m", "L/min"),
    ("cmh", "m3/h"),
    ("cu ft", "ft3"),
    ("cubic feet", "ft3"),
    ("liter", "L"),
    ("litre", "L"),
    ("liters", "L"),
    ("litres", "L"),
    ("cc", "mL"),
    ("sec", "s"),
    ("secs", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("mins", "min"),
    ("minute", "min"),
    ("minutes", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("day", "d"),
    ("days", "d"),
    ("lbs", "lb"),
    ("percent", "%"),
    ("pct", "%"),
    ("kcal/day", "kcal/d"),
    ("kg/day", "kg/d"),
];

/// How alike (Jaro-Winkler, 0 to 1) two symbols must be to be suggested: below it "oz" would suggest anything.
const ALIKE: f64 = 0.8;

/// The unit of the wanted dimension that a wrong one most resembles.
fn suggestion(written: &str, dimension: Dimension) -> Option<&'static str> {
    if written.len() > 24 {
        return None;
    }
    let plain = spelled_plainly(written).to_lowercase();
    let symbols = || {
        units_of(dimension)
            .map(|unit| unit.symbol)
            .filter(|symbol| !symbol.is_empty())
    };
    if let Some(symbol) = symbols().find(|symbol| symbol.to_lowercase() == plain) {
        return Some(symbol);
    }
    if let Some((_, meant)) = WORDS.iter().find(|(word, _)| *word == plain) {
        return symbols().find(|symbol| symbol == meant);
    }
    let likeness = |symbol: &str| strsim::jaro_winkler(&plain, &symbol.to_lowercase());
    let mut best: Option<(f64, &'static str)> = None;
    for symbol in symbols() {
        let alike = likeness(symbol);
        if alike >= ALIKE && best.is_none_or(|(so_far, _)| alike > so_far) {
            best = Some((alike, symbol));
        }
    }
    best.map(|(_, symbol)| symbol)
}

/// A time: one part, or several from large to small ("1 h 30 min", "2 d 4 h"), with one sign in front.
fn time(text: &str) -> Result<Quantity, QuantityError> {
    let mut at = 0;
    let mut total_s = 0.0;
    let mut sign = 1.0;
    let mut last: Option<(Found, Unit)> = None;
    loop {
        let found = number(text, at..text.len(), Dimension::Time)?;
        let after = trimmed(text, found.span.end..text.len());
        let word = text[after.clone()]
            .find(|c: char| c.is_whitespace() || c.is_ascii_digit() || matches!(c, '+' | '-'))
            .unwrap_or(after.len());
        let unit = unit_at(text, &found, after.start..after.start + word, Dimension::Time)
            .map_err(|error| bare_or_grouped(text, error, &found, after.clone()))?;
        let signed = text[found.span.clone()].starts_with(['+', '-']);
        match &last {
            None => {
                sign = if text[found.span.clone()].starts_with('-') {
                    -1.0
                } else {
                    1.0
                }
            }
            Some((_, before)) if signed || unit.factor >= before.factor => {
                return Err(QuantityError::UnorderedTime {
                    span: found.span.start..after.start + word,
                });
            }
            Some(_) => {}
        }
        total_s += unit.to_si(found.value.abs());
        at = after.start + word;
        let more = !text[at..].trim().is_empty();
        let quantity = finite(text, &found, sign * total_s, unit)?;
        last = Some((found, unit));
        if !more {
            return Ok(quantity);
        }
    }
}

/// A time whose unit is missing because a digit follows: "1 000 s" is a grouped number, not a missing unit.
fn bare_or_grouped(text: &str, error: QuantityError, found: &Found, after: Range<usize>) -> QuantityError {
    match error {
        QuantityError::MissingUnit { dimension, .. } if !after.is_empty() => {
            let span = found.span.start..after.end;
            QuantityError::NotANumber {
                text: quoted(&text[span.clone()]),
                span,
                dimension,
            }
        }
        other => other,
    }
}

#[cfg(test)]
#[path = "parse_tests.rs"]
mod tests;
