//! A value as written to a number or a spread in SI.
//!
//! Whatever is wrong is reported with the bytes it is wrong in; the caller gets nothing then.

use std::ops::Range;

use crate::spread::{Shape, Spread};
use crate::units::{Dimension, Quantity, Unit, figures, parse, show};

use super::keys::Domain;
use super::num::Num;
use super::reader::Reader;
use super::tree::{Entry, Node, Spot, Table, Value};
use super::{Input, Origin, data};

/// Mass that a spread may have outside the domain of its key; what is drawn there is moved to the domain's edge.
const STRAY_MASS: f64 = 1e-6;
/// Keys of a spread that name its shape.
const SHAPES: [&str; 7] = ["normal", "uniform", "triangular", "pert", "lognormal", "choice", "data"];
/// All keys of a spread.
const KEYS: [&str; 11] =
    ["normal", "uniform", "triangular", "pert", "lognormal", "choice", "data", "within", "weights", "column", "draw"];

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
    fn name(&self) -> &str {
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
    /// Whether it is W/m2 of body surface where W is wanted.
    pub fn is_per_body_area(&self) -> bool {
        Quantity { si: self.median, unit: self.unit }.is_per_body_area()
    }
}

/// Reads a number or a spread.
pub(super) fn number(r: &mut Reader<'_>, node: &Node, wanted: &Wanted<'_>) -> Option<Number> {
    if let Value::Table(table) = &node.value {
        return spread(r, node, table, wanted);
    }
    let Quantity { si, unit } = quantity(r, node, wanted.name(), wanted.dimension)?;
    inside(r, node, si, unit, wanted)?;
    Some(Number { num: Num::Fixed(si), unit, median: si })
}

/// Reads a plain quantity.
fn quantity(r: &mut Reader<'_>, node: &Node, name: &str, dimension: Dimension) -> Option<Quantity> {
    let plain = |value: f64| Quantity { si: value, unit: dimension.si_unit() };
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
            r.texts.fault(&node.spot, format!("`{written}` is not a finite number"), example(dimension));
            None
        }
        Value::Integer(_) | Value::Float(_) => {
            let written = r.texts.slice(&node.spot).to_owned();
            let help = format!("for {} write e.g. \"{}\"", dimension.with_article(), dimension.example());
            r.texts.fault(&node.spot, format!("`{written}` is a number without its unit"), help);
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
    let quote = if raw.starts_with("\"\"\"") || raw.starts_with("'''") { 3 } else { usize::from(raw.starts_with(['"', '\''])) };
    let within = raw.get(quote..raw.len().saturating_sub(quote));
    if within != Some(text) {
        return node.spot.clone();
    }
    let at = node.spot.span.start + quote;
    if part.is_empty() && text.is_empty() {
        return node.spot.clone();
    }
    Spot { source: node.spot.source, span: at + part.start..at + part.end }
}

/// Reports a value outside the domain of its key.
fn inside(r: &mut Reader<'_>, node: &Node, si: f64, unit: Unit, wanted: &Wanted<'_>) -> Option<()> {
    let Domain { lo, hi } = wanted.domain;
    if (lo..=hi).contains(&si) {
        return Some(());
    }
    let message = format!("`{}` cannot be {}", wanted.name(), show(si, unit));
    let help = if si < lo { format!("it is at least {}", shown(lo, unit)) } else { format!("it is at most {}", shown(hi, unit)) };
    r.texts.fault(&node.spot, message, help);
    None
}

fn possible(lo: f64, hi: f64, unit: Unit) -> String {
    format!("it lies between {} and {}", shown(lo, unit), shown(hi, unit))
}

fn shown(si: f64, unit: Unit) -> String {
    let number = figures(unit.from_si(si), 4);
    if unit.symbol.is_empty() { number } else { format!("{number} {}", unit.symbol) }
}

/// Reads a spread.
fn spread(r: &mut Reader<'_>, node: &Node, table: &Table, wanted: &Wanted<'_>) -> Option<Number> {
    let name = wanted.name();
    if !wanted.spread {
        let help = "it decides the shape of the run or of its results: give one value";
        r.texts.fault(&node.spot, format!("`{name}` cannot be a spread"), help);
        return None;
    }
    let mut good = true;
    for entry in &table.entries {
        if !KEYS.contains(&entry.key.as_str()) {
            let help = r.texts.meant(&entry.key, KEYS.into_iter());
            r.texts.fault(&entry.key_spot, format!("unknown key `{}` in a spread", entry.key), help);
            good = false;
        }
    }
    let shapes: Vec<&Entry> = table.entries.iter().filter(|e| SHAPES.contains(&e.key.as_str())).collect();
    let shape_entry = match shapes.as_slice() {
        [one] => *one,
        [] => {
            if good {
                let help = format!("a spread has one of {}", listed(&SHAPES));
                r.texts.fault(&node.spot, format!("`{name}` takes a number or a spread; this table is neither"), help);
            }
            return None;
        }
        [_, second, ..] => {
            r.texts.fault(&second.key_spot, "a spread has one shape only", "remove one of the two");
            return None;
        }
    };
    let (shape, unit) = shape_of(r, table, shape_entry, wanted)?;
    let resampled = matches!(shape, Shape::Choice { .. } | Shape::Data { .. });
    let within = match table.get("within") {
        None => None,
        Some(entry) if resampled => {
            r.texts.fault(&entry.key_spot, "`within` does not go with values that are listed", "remove the values instead");
            return None;
        }
        Some(entry) => {
            let ends = list(r, &entry.node, "within", wanted.dimension, Some(2))?;
            Some((ends[0].si, ends[1].si))
        }
    };
    let per_turn = draw(r, table, wanted)?;
    let spread = match Spread::new(shape, within) {
        Ok(spread) => spread,
        Err(error) => {
            r.texts.fault(&shape_entry.node.spot, error.to_string(), "");
            return None;
        }
    };
    if !good {
        return None;
    }
    let Domain { lo, hi } = wanted.domain;
    let stray = spread.mass_outside(lo, hi);
    if !(stray <= STRAY_MASS) {
        let message = format!("{} of this spread lies where `{name}` cannot be", share(stray));
        let help = if resampled {
            possible(lo, hi, unit)
        } else {
            format!("{}; add `within = [lo, hi]`", possible(lo, hi, unit))
        };
        r.texts.fault(&node.spot, message, help);
        return None;
    }
    let median = spread.median().clamp(lo, hi);
    let input = r.inputs.len();
    r.inputs.push(Input { path: wanted.path.to_owned(), unit, spread, per_turn });
    Some(Number { num: Num::Input { input, lo, hi }, unit, median })
}

fn share(part: f64) -> String {
    format!("{} %", figures(100.0 * part, 2))
}

fn listed(words: &[&str]) -> String {
    words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", ")
}

/// Whether the spread is drawn anew in every turn.
fn draw(r: &mut Reader<'_>, table: &Table, wanted: &Wanted<'_>) -> Option<bool> {
    let Some(entry) = table.get("draw") else { return Some(wanted.per_turn) };
    match entry.node.text() {
        Some("once") if wanted.per_turn => Some(false),
        Some("once") => {
            r.texts.fault(&entry.key_spot, "`draw` is for the spreads of a task", "this spread is drawn once anyway; remove it");
            None
        }
        _ => {
            r.texts.fault(&entry.node.spot, "the only word for `draw` is \"once\"", "without `draw`, every turn draws anew");
            None
        }
    }
}

/// The shape with its values in SI, and the unit they are shown in.
fn shape_of(r: &mut Reader<'_>, table: &Table, entry: &Entry, wanted: &Wanted<'_>) -> Option<(Shape, Unit)> {
    let dimension = wanted.dimension;
    for (key, of) in [("weights", "choice"), ("column", "data")] {
        if let Some(stray) = table.get(key)
            && entry.key != of
        {
            r.texts.fault(&stray.key_spot, format!("`{key}` goes with `{of}`"), format!("remove it, or use `{of}`"));
            return None;
        }
    }
    let node = &entry.node;
    match entry.key.as_str() {
        "normal" => {
            let [mean, sd] = pair(r, node, "normal", dimension, differences(dimension))?;
            Some((Shape::Normal { mean: mean.si, sd: sd.si }, mean.unit))
        }
        "lognormal" => {
            let [median, cv] = pair(r, node, "lognormal", dimension, Dimension::Fraction)?;
            Some((Shape::Lognormal { median: median.si, cv: cv.si }, median.unit))
        }
        "uniform" => {
            let v = list(r, node, "uniform", dimension, Some(2))?;
            Some((Shape::Uniform { lo: v[0].si, hi: v[1].si }, v[0].unit))
        }
        "triangular" => {
            let v = list(r, node, "triangular", dimension, Some(3))?;
            Some((Shape::Triangular { lo: v[0].si, mode: v[1].si, hi: v[2].si }, v[1].unit))
        }
        "pert" => {
            let v = list(r, node, "pert", dimension, Some(3))?;
            Some((Shape::Pert { lo: v[0].si, mode: v[1].si, hi: v[2].si }, v[1].unit))
        }
        "choice" => {
            let v = list(r, node, "choice", dimension, None)?;
            let weights = match table.get("weights") {
                None => vec![1.0; v.len()],
                Some(w) => {
                    list(r, &w.node, "weights", Dimension::Number, Some(v.len()))?.into_iter().map(|q| q.si).collect()
                }
            };
            Some((Shape::Choice { values: v.iter().map(|q| q.si).collect(), weights }, v[0].unit))
        }
        _ => {
            let (values, unit) = data::column(r, node, table.get("column"), dimension)?;
            Some((Shape::Data { values }, unit))
        }
    }
}

/// The dimension of differences of values: a standard deviation has no zero point.
fn differences(dimension: Dimension) -> Dimension {
    if dimension == Dimension::Temperature { Dimension::TemperatureDifference } else { dimension }
}

fn pair(r: &mut Reader<'_>, node: &Node, shape: &str, first: Dimension, second: Dimension) -> Option<[Quantity; 2]> {
    let items = items(r, node, shape, Some(2))?;
    let a = quantity(r, &items[0], shape, first);
    let b = quantity(r, &items[1], shape, second);
    let (a, b) = (a?, b?);
    same_basis(r, &[a], if first == second { Some(b) } else { None }, node)?;
    Some([a, b])
}

fn list(r: &mut Reader<'_>, node: &Node, shape: &str, dimension: Dimension, count: Option<usize>) -> Option<Vec<Quantity>> {
    let items = items(r, node, shape, count)?;
    // Every item is read, so that every fault in it is reported.
    let read: Vec<Option<Quantity>> = items.iter().map(|item| quantity(r, item, shape, dimension)).collect();
    let list: Vec<Quantity> = read.into_iter().collect::<Option<_>>()?;
    same_basis(r, &list, None, node)?;
    Some(list)
}

/// Power in met (for body surface) and in W do not mix within a spread.
fn same_basis(r: &mut Reader<'_>, list: &[Quantity], more: Option<Quantity>, node: &Node) -> Option<()> {
    let mut all = list.iter().chain(more.iter()).map(Quantity::is_per_body_area);
    let first = all.next().unwrap_or(false);
    if all.all(|other| other == first) {
        return Some(());
    }
    r.texts.fault(&node.spot, "`met` and W in one spread", "met goes with body surface: write all values in one of the two");
    None
}

fn items<'n>(r: &mut Reader<'_>, node: &'n Node, shape: &str, count: Option<usize>) -> Option<&'n [Node]> {
    let Value::List(items) = &node.value else {
        let message = format!("`{shape}` takes a list, not {}", node.kind());
        r.texts.fault(&node.spot, message, form(shape));
        return None;
    };
    let right = count.map_or(!items.is_empty(), |n| items.len() == n);
    if right {
        return Some(items);
    }
    let message = match (count, items.len()) {
        (_, 0) => format!("`{shape}` has an empty list"),
        (Some(n), len) => format!("`{shape}` takes {n} values, not {len}"),
        (None, len) => format!("`{shape}` cannot take {len} values"),
    };
    r.texts.fault(&node.spot, message, form(shape));
    None
}

fn form(shape: &str) -> String {
    match shape {
        "normal" => "normal = [mean, sd]",
        "uniform" => "uniform = [lo, hi]",
        "triangular" => "triangular = [lo, mode, hi]",
        "pert" => "pert = [lo, mode, hi]",
        "lognormal" => "lognormal = [median, \"15 %\"], the second the coefficient of variation",
        "choice" => "choice = [a, b, c]",
        "weights" => "one weight for each value of `choice`",
        "within" => "within = [lo, hi]",
        _ => "",
    }
    .to_owned()
}

/// Where a value that stands at this spot comes from.
pub(super) fn origin(r: &Reader<'_>, spot: &Spot) -> Origin {
    if spot.source == 0 { Origin::File { line: r.texts.line(spot) } } else { Origin::Override }
}
