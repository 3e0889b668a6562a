//! A table as written to a spread: its shape, its truncation, how often it is drawn.
//!
//! A spread that is read becomes an input of the scenario. Whatever is wrong is reported; the caller gets nothing then.

use crate::spread::{Shape, Spread, Trials};
use crate::units::{Dimension, Quantity, Unit, figures};

use super::keys::Domain;
use super::num::Num;
use super::reader::Reader;
use super::value::{Number, Wanted, possible, quantity};
use super::{Input, Unsure, data};
use crate::text::{Entry, Node, Table, Value};

/// Mass that a spread may have outside the domain of its key; what is drawn there is moved to the domain's edge.
const STRAY_MASS: f64 = 1e-6;
/// Keys of a spread that name its shape.
const SHAPES: [&str; 10] = [
    "normal",
    "uniform",
    "triangular",
    "pert",
    "lognormal",
    "gamma",
    "exponential",
    "weibull",
    "choice",
    "data",
];
/// All keys of a spread.
const KEYS: [&str; 15] = [
    "normal",
    "uniform",
    "triangular",
    "pert",
    "lognormal",
    "gamma",
    "exponential",
    "weibull",
    "choice",
    "data",
    "within",
    "weights",
    "column",
    "draw",
    "trials",
];

/// Reads a spread.
pub(super) fn spread(r: &mut Reader<'_>, node: &Node, table: &Table, wanted: &Wanted<'_>) -> Option<Number> {
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
            r.texts.fault(
                &entry.key_spot,
                format!("unknown key `{}` in a spread", entry.key),
                help,
            );
            good = false;
        }
    }
    let shapes: Vec<&Entry> = table
        .entries
        .iter()
        .filter(|e| SHAPES.contains(&e.key.as_str()))
        .collect();
    let shape_entry = match shapes.as_slice() {
        [one] => *one,
        [] => {
            if good {
                let help = format!("a spread has one of {}", listed(&SHAPES));
                r.texts.fault(
                    &node.spot,
                    format!("`{name}` takes a number or a spread; this table is neither"),
                    help,
                );
            }
            return None;
        }
        [_, second, ..] => {
            r.texts
                .fault(&second.key_spot, "a spread has one shape only", "remove one of the two");
            return None;
        }
    };
    let (shape, unit) = shape_of(r, table, shape_entry, wanted)?;
    let resampled = matches!(shape, Shape::Choice { .. } | Shape::Data { .. });
    let within = match table.get("within") {
        None => None,
        Some(entry) if resampled => {
            r.texts.fault(
                &entry.key_spot,
                "`within` does not go with values that are listed",
                "remove the values instead",
            );
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
    let trials = match table.get("trials") {
        None => None,
        Some(entry) => Some(trials(r, entry, &spread)?),
    };
    if !good {
        return None;
    }
    let Domain { lo, hi } = wanted.domain;
    let stray = spread.mass_outside(lo, hi);
    if stray > STRAY_MASS || stray.is_nan() {
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
    let unsure = match trials {
        None => None,
        Some(trials) => Some(unsure(r, trials, wanted.path)?),
    };
    let input = r.inputs.len();
    r.inputs.push(Input {
        path: wanted.path.to_owned(),
        unit,
        spread,
        per_turn,
        unsure,
    });
    Some(Number {
        num: Num::Input { input, lo, hi },
        unit,
        median,
    })
}

/// How many trials the numbers of a spread come from.
fn trials(r: &mut Reader<'_>, entry: &Entry, spread: &Spread) -> Option<Trials> {
    let count = match entry.node.value {
        Value::Integer(n) => u32::try_from(n).unwrap_or(0),
        _ => 0,
    };
    match Trials::new(spread, count) {
        Ok(trials) => Some(trials),
        Err(error) => {
            let help = "trials = 6 says that the numbers are estimates from six observations; it may be left out";
            r.texts.fault(&entry.node.spot, error.to_string(), help);
            None
        }
    }
}

/// The inputs of what trials leave unsure: they come before that of the spread itself, which is drawn from them.
fn unsure(r: &mut Reader<'_>, trials: Trials, path: &str) -> Option<Unsure> {
    let [centre, width] = [("centre", trials.centre()), ("width", trials.width())].map(|(part, spread)| {
        let input = r.inputs.len();
        r.inputs.push(Input {
            path: format!("{path}.{part}"),
            unit: Dimension::Number.si_unit(),
            spread: spread.ok()?,
            per_turn: false,
            unsure: None,
        });
        Some(input)
    });
    Some(Unsure {
        trials,
        centre: centre?,
        width: width?,
    })
}

fn share(part: f64) -> String {
    format!("{} %", figures(100.0 * part, 2))
}

fn listed(words: &[&str]) -> String {
    words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", ")
}

/// Whether the spread is drawn anew in every turn.
fn draw(r: &mut Reader<'_>, table: &Table, wanted: &Wanted<'_>) -> Option<bool> {
    let Some(entry) = table.get("draw") else {
        return Some(wanted.per_turn);
    };
    match entry.node.text() {
        Some("once") if wanted.per_turn => Some(false),
        Some("once") => {
            r.texts.fault(
                &entry.key_spot,
                "`draw` is for the spreads of a task",
                "this spread is drawn once anyway; remove it",
            );
            None
        }
        _ => {
            r.texts.fault(
                &entry.node.spot,
                "the only word for `draw` is \"once\"",
                "without `draw`, every turn draws anew",
            );
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
            r.texts.fault(
                &stray.key_spot,
                format!("`{key}` goes with `{of}`"),
                format!("remove it, or use `{of}`"),
            );
            return None;
        }
    }
    let node = &entry.node;
    match entry.key.as_str() {
        "normal" => {
            let [mean, sd] = pair(r, node, "normal", dimension, differences(dimension))?;
            Some((
                Shape::Normal {
                    mean: mean.si,
                    sd: sd.si,
                },
                mean.unit,
            ))
        }
        "lognormal" => {
            let [median, cv] = pair(r, node, "lognormal", dimension, Dimension::Fraction)?;
            Some((
                Shape::Lognormal {
                    median: median.si,
                    cv: cv.si,
                },
                median.unit,
            ))
        }
        "uniform" => {
            let v = list(r, node, "uniform", dimension, Some(2))?;
            Some((
                Shape::Uniform {
                    lo: v[0].si,
                    hi: v[1].si,
                },
                v[0].unit,
            ))
        }
        "triangular" => {
            let v = list(r, node, "triangular", dimension, Some(3))?;
            Some((
                Shape::Triangular {
                    lo: v[0].si,
                    mode: v[1].si,
                    hi: v[2].si,
                },
                v[1].unit,
            ))
        }
        "pert" => {
            let v = list(r, node, "pert", dimension, Some(3))?;
            Some((
                Shape::Pert {
                    lo: v[0].si,
                    mode: v[1].si,
                    hi: v[2].si,
                },
                v[1].unit,
            ))
        }
        "gamma" => {
            let [mean, cv] = pair(r, node, "gamma", dimension, Dimension::Fraction)?;
            Some((
                Shape::Gamma {
                    mean: mean.si,
                    cv: cv.si,
                },
                mean.unit,
            ))
        }
        "exponential" => {
            let mean = quantity(r, node, "exponential", dimension)?;
            Some((Shape::Exponential { mean: mean.si }, mean.unit))
        }
        "weibull" => {
            let [scale, shape] = pair(r, node, "weibull", dimension, Dimension::Number)?;
            let (scale_si, shape) = (scale.si, shape.si);
            Some((Shape::Weibull { scale: scale_si, shape }, scale.unit))
        }
        "choice" => {
            let v = list(r, node, "choice", dimension, None)?;
            let weights = match table.get("weights") {
                None => vec![1.0; v.len()],
                Some(w) => list(r, &w.node, "weights", Dimension::Number, Some(v.len()))?
                    .into_iter()
                    .map(|q| q.si)
                    .collect(),
            };
            Some((
                Shape::Choice {
                    values: v.iter().map(|q| q.si).collect(),
                    weights,
                },
                v[0].unit,
            ))
        }
        _ => {
            let (values, unit) = data::column(r, node, table.get("column"), dimension)?;
            Some((Shape::Data { values }, unit))
        }
    }
}

/// The dimension of differences of values: a standard deviation has no zero point.
fn differences(dimension: Dimension) -> Dimension {
    if dimension == Dimension::Temperature {
        Dimension::TemperatureDifference
    } else {
        dimension
    }
}

fn pair(r: &mut Reader<'_>, node: &Node, shape: &str, first: Dimension, second: Dimension) -> Option<[Quantity; 2]> {
    let items = items(r, node, shape, Some(2))?;
    let a = quantity(r, &items[0], shape, first);
    let b = quantity(r, &items[1], shape, second);
    let (a, b) = (a?, b?);
    same_basis(r, &[a], if first == second { Some(b) } else { None }, node)?;
    Some([a, b])
}

fn list(
    r: &mut Reader<'_>,
    node: &Node,
    shape: &str,
    dimension: Dimension,
    count: Option<usize>,
) -> Option<Vec<Quantity>> {
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
    r.texts.fault(
        &node.spot,
        "`met` and W in one spread",
        "met goes with body surface: write all values in one of the two",
    );
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
        "gamma" => "gamma = [mean, \"15 %\"], the second the coefficient of variation",
        "weibull" => "weibull = [scale, shape], the second a plain number",
        "choice" => "choice = [a, b, c]",
        "weights" => "one weight for each value of `choice`",
        "within" => "within = [lo, hi]",
        _ => "",
    }
    .to_owned()
}
