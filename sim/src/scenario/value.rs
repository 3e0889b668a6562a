//! A value as written to a number in SI.
//!
//! Whatever is wrong is reported with the bytes it is wrong in; the caller gets nothing then.

use std::ops::Range;

use crate::units::{Dimension, Quantity, Unit, figures, parse, show};

use super::keys::Domain;
use super::num::Num;
use super::reader::Reader;
use super::{Amount, Origin, spread};
use crate::text::{Node, Spot, Value};

/// What a number's place asks of it.
#[derive(Clone, Debug)]
pub(super) struct Wanted<'p> {
    pub path: &'p str,
    pub dimension: Dimension,
    pub domain: Domain,
    /// Whether a spread may stand there.
    pub spread: bool,
    /// Whether a spread there is drawn anew in every turn of a task.
    pub per_turn: bool,
}

impl Wanted<'_> {
    /// The last part of the path.
    pub fn name(&self) -> &str {
        self.path.rsplit('.').next().unwrap_or(self.path)
    }
}

/// A number that was read, with the unit it was written in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Number {
    pub num: Num,
    pub unit: Unit,
    /// The fixed value, or the spread's median.
    pub median: f64,
}

impl Number {
    /// What it amounts to.
    pub fn amount(&self, dimension: Dimension) -> Amount {
        Amount {
            si: self.median,
            dimension,
            unit: self.unit,
        }
    }

    /// Whether it is W/m2 of body surface where W is wanted.
    pub fn is_per_body_area(&self) -> bool {
        Quantity {
            si: self.median,
            unit: self.unit,
        }
        .is_per_body_area()
    }
}

/// Reads a number or a spread.
pub(super) fn number(r: &mut Reader<'_>, node: &Node, wanted: &Wanted<'_>) -> Option<Number> {
    if let Value::Table(table) = &node.value {
        return spread::spread(r, node, table, wanted);
    }
    let Quantity { si, unit } = quantity(r, node, wanted.name(), wanted.dimension)?;
    inside(r, node, si, unit, wanted)?;
    Some(Number {
        num: Num::Fixed(si),
        unit,
        median: si,
    })
}

/// Reads a plain quantity.
pub(super) fn quantity(r: &mut Reader<'_>, node: &Node, name: &str, dimension: Dimension) -> Option<Quantity> {
    let plain = |value: f64| Quantity {
        si: value,
        unit: dimension.si_unit(),
    };
    match &node.value {
        Value::Text(text) => match parse(text, dimension) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                let spot = inside_text(r, node, text, error.span());
                r.texts.fault(&spot, error.message(), error.help());
                None
            }
        },
        Value::Integer(value) if dimension.is_plain() => Some(plain(*value as f64)),
        Value::Float(value) if dimension.is_plain() && value.is_finite() => Some(plain(*value)),
        Value::Float(value) if !value.is_finite() => {
            let written = r.texts.slice(&node.spot).to_owned();
            r.texts.fault(
                &node.spot,
                format!("`{written}` is not a finite number"),
                example(dimension),
            );
            None
        }
        Value::Integer(_) | Value::Float(_) => {
            let written = r.texts.slice(&node.spot).to_owned();
            let help = format!(
                "for {} write e.g. \"{}\"",
                dimension.with_article(),
                dimension.example()
            );
            r.texts
                .fault(&node.spot, format!("`{written}` is a number without its unit"), help);
            None
        }
        _ => {
            let message = format!("`{name}` takes {}, not {}", dimension.with_article(), node.kind());
            r.texts.fault(&node.spot, message, example(dimension));
            None
        }
    }
}

fn example(dimension: Dimension) -> String {
    if dimension == Dimension::Fraction {
        "write e.g. \"34 %\" or 0.34".to_owned()
    } else if dimension.is_plain() {
        format!("write e.g. {}", dimension.example())
    } else {
        format!("write e.g. \"{}\"", dimension.example())
    }
}

/// Where a part of a text stands in its source; all of it if it is written with escapes.
fn inside_text(r: &Reader<'_>, node: &Node, text: &str, part: Range<usize>) -> Spot {
    let raw = r.texts.slice(&node.spot);
    let quote = if raw.starts_with("\"\"\"") || raw.starts_with("'''") {
        3
    } else {
        usize::from(raw.starts_with(['"', '\'']))
    };
    let within = raw.get(quote..raw.len().saturating_sub(quote));
    if within != Some(text) {
        return node.spot.clone();
    }
    let at = node.spot.span.start + quote;
    if part.is_empty() && text.is_empty() {
        return node.spot.clone();
    }
    Spot {
        source: node.spot.source,
        span: at + part.start..at + part.end,
    }
}

/// Reports a value outside the domain of its key.
fn inside(r: &mut Reader<'_>, node: &Node, si: f64, unit: Unit, wanted: &Wanted<'_>) -> Option<()> {
    let Domain { lo, hi } = wanted.domain;
    if (lo..=hi).contains(&si) {
        return Some(());
    }
    let message = format!("`{}` cannot be {}", wanted.name(), show(si, unit));
    let help = if si < lo {
        format!("it is at least {}", shown(lo, unit))
    } else if hi == 1.0 && unit.symbol.is_empty() && si <= 100.0 {
        // The likeliest slip: a percentage without its sign.
        format!("it is at most 1; a percentage is written \"{} %\"", figures(si, 4))
    } else {
        format!("it is at most {}", shown(hi, unit))
    };
    r.texts.fault(&node.spot, message, help);
    None
}

pub(super) fn possible(lo: f64, hi: f64, unit: Unit) -> String {
    format!("it lies between {} and {}", shown(lo, unit), shown(hi, unit))
}

/// A bound in the unit of what was written; a time that is no round number there, in seconds: "1 s", not "0.01667 min".
fn shown(si: f64, unit: Unit) -> String {
    let seconds = Dimension::Time.si_unit();
    let is_time = Dimension::Time.units().any(|u| u.symbol == unit.symbol);
    let round = figures(unit.from_si(si), 4).parse() == Ok(unit.from_si(si));
    let unit = if is_time && !round { seconds } else { unit };
    let number = figures(unit.from_si(si), 4);
    if unit.symbol.is_empty() {
        number
    } else {
        format!("{number} {}", unit.symbol)
    }
}

/// Where a value that stands at this spot comes from.
pub(super) fn origin(r: &Reader<'_>, spot: &Spot) -> Origin {
    if spot.source == 0 {
        Origin::File {
            line: r.texts.line(spot),
        }
    } else {
        Origin::Override
    }
}
