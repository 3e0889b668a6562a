//! Rates of one gas: by mass, by amount, or by volume at a stated temperature and pressure.
//!
//! `n' = Q p / (R T)`, or `n' = Q / 22.414 L/mol` at STPD.
//! n' mol/s, Q m3/s, p Pa, T K, R J/mol/K. Ideal gas law; STPD: 0 degC, 101.325 kPa, dry, as respiratory physiology uses it.
//! Valid for any positive temperature and pressure. Left out: moist references (BTPS, ATPS): state the dry conditions.

use std::ops::Range;

use super::error::QuantityError;
use super::parse::{finite, simple, unit_at, wrong_unit};
use super::quantity::{Dimension, Quantity, Unit};
use super::scan::{number, trimmed};
use super::table::unit;

/// Molar gas constant, J/mol/K (CODATA 2018, exact since the 2019 revision of the SI). Typed here because nothing stands
/// below this module.
const GAS_CONSTANT_J_MOL_K: f64 = 8.314_462_618;

/// Reads a gas rate in mol/s.
pub(super) fn gas_rate(text: &str, dimension: Dimension) -> Result<Quantity, QuantityError> {
    let found = number(text, 0..text.len(), dimension)?;
    let rest = trimmed(text, found.span.end..text.len());
    if let Some((flow, reference)) = at_reference(text, rest.clone()) {
        let Some(flow_unit) = unit(&text[flow.clone()], Dimension::VolumeFlow) else {
            let why = "only a volume rate takes a reference";
            let known = unit(&text[flow.clone()], dimension).is_some();
            return Err(if known {
                QuantityError::BadReference { span: reference, why }
            } else {
                wrong_unit(&text[flow.clone()], flow, dimension)
            });
        };
        let (temperature_k, pressure_pa) = conditions(text, reference)?;
        let flow_m3_s = flow_unit.to_si(found.value);
        let rate_mol_s = flow_m3_s * pressure_pa / (GAS_CONSTANT_J_MOL_K * temperature_k);
        return finite(text, &found, rate_mol_s, at_stpd(flow_unit, dimension));
    }
    let written = &text[rest.clone()];
    // "L/min  STPD" and "L/min stpd" are the table's "L/min STPD".
    let words: Vec<&str> = written.split_whitespace().filter(|word| *word != "at").collect();
    if let [flow, stpd] = words[..]
        && stpd.eq_ignore_ascii_case("STPD")
        && let Some(flow_unit) = unit(flow, Dimension::VolumeFlow)
    {
        let unit = at_stpd(flow_unit, dimension);
        return finite(text, &found, unit.to_si(found.value), unit);
    }
    if let Some(first) = words.first()
        && unit(first, Dimension::VolumeFlow).is_some()
    {
        let after = trimmed(text, rest.start + first.len()..rest.end);
        return Err(QuantityError::MissingReference {
            span: if after.is_empty() { rest } else { after },
        });
    }
    let unit = unit_at(text, &found, rest, dimension)?;
    finite(text, &found, unit.to_si(found.value), unit)
}

/// The same flow unit at STPD, in which a rate at any other reference is shown.
fn at_stpd(flow: Unit, dimension: Dimension) -> Unit {
    let symbol = format!("{} STPD", flow.symbol);
    unit(&symbol, dimension).unwrap_or_else(|| dimension.si_unit())
}

/// Splits "L/min at 25 degC, 101.325 kPa" at the word "at"; not where STPD follows it.
fn at_reference(text: &str, range: Range<usize>) -> Option<(Range<usize>, Range<usize>)> {
    let split = text[range.clone()].find(" at ")? + range.start;
    let reference = trimmed(text, split + 4..range.end);
    let stpd = text[reference.clone()].eq_ignore_ascii_case("STPD");
    (!stpd).then(|| (trimmed(text, range.start..split), reference))
}

/// Temperature (K) and pressure (Pa) of a reference, in either order.
fn conditions(text: &str, range: Range<usize>) -> Result<(f64, f64), QuantityError> {
    let (mut temperature_k, mut pressure_pa) = (None, None);
    let mut at = range.start;
    for part in text[range.clone()].split(',') {
        let span = trimmed(text, at..at + part.len());
        at += part.len() + 1;
        let bad = |why| QuantityError::BadReference {
            span: span.clone(),
            why,
        };
        let whose = number(text, span.clone(), Dimension::Temperature)?;
        let symbol = text[whose.span.end..span.end].trim();
        let is_pressure = unit(symbol, Dimension::Pressure).is_some();
        let (slot, dimension) = if is_pressure {
            (&mut pressure_pa, Dimension::Pressure)
        } else if unit(symbol, Dimension::Temperature).is_some() {
            (&mut temperature_k, Dimension::Temperature)
        } else {
            return Err(bad("a reference is a temperature and a pressure, each with its unit"));
        };
        let value = simple(text, span.clone(), dimension)?.si;
        if value <= 0.0 {
            return Err(bad("a reference temperature and pressure are above zero"));
        }
        if slot.replace(value).is_some() {
            return Err(bad("a reference is one temperature and one pressure"));
        }
    }
    match (temperature_k, pressure_pa) {
        (Some(temperature_k), Some(pressure_pa)) => Ok((temperature_k, pressure_pa)),
        (None, _) => Err(QuantityError::BadReference {
            span: range,
            why: "the reference lacks a temperature",
        }),
        (_, None) => Err(QuantityError::BadReference {
            span: range,
            why: "the reference lacks a pressure",
        }),
    }
}
