//! Levels from one end to another: `{ from = "8 m3", to = "12 m3", step = "1 m3" }`, or `count = 5`, both ends included.
//!
//! Level k of n is from + (to - from) k / (n - 1), or from + k step while that is not beyond `to`, each rounded to 12 figures in
//! the unit of `from`, so that it reads as one would write it. In a sample a range without `step` and `count` is continuous: a point u
//! in (0, 1) is from + (to - from) u, rounded to 4 figures.

use breathroom_sim::text::{Node, Spot, Table, Texts, Value};
use breathroom_sim::units::{Dimension, Unit, figures};

use super::MOST_ROWS;
use super::apply::{Path, Reading, Setting, resolved};
use super::kept::FIGURES;
use super::sheet::{Sheet, quantity, wrong};
use super::written::{Written, strange};

const KEYS: &[&str] = &["from", "to", "step", "count"];
/// Figures that a point of a sample keeps.
const SAMPLE_FIGURES: usize = 4;
/// Part of a step that the last one may be short of `to` and still reach it.
const REACHES: f64 = 1e-9;

/// The ends of a range, for each of the paths that change together.
#[derive(Clone, Debug)]
pub(super) struct Ends {
    pub from: f64,
    pub to: f64,
    pub dimension: Dimension,
    pub unit: Unit,
}

/// A range: its ends, and its levels if it has steps.
#[derive(Clone, Debug)]
pub(super) struct Range {
    pub ends: Vec<Ends>,
    /// None: continuous.
    pub levels: Option<Vec<Vec<f64>>>,
    pub spot: Spot,
}

impl Range {
    /// The ends as levels, which a sample lies between.
    pub fn both_ends(&self) -> [Vec<f64>; 2] {
        let of = |end: fn(&Ends) -> f64| self.ends.iter().map(end).collect();
        [of(|e| e.from), of(|e| e.to)]
    }

    /// The point at u in (0, 1).
    pub fn at(&self, u: f64) -> Vec<f64> {
        let of = |e: &Ends| {
            let value = rounded(e.from + (e.to - e.from) * u, SAMPLE_FIGURES);
            value.clamp(e.from.min(e.to), e.from.max(e.to))
        };
        self.ends.iter().map(of).collect()
    }

    /// Values in the range's units, as nodes of the file.
    pub fn nodes(&self, values: &[f64]) -> Vec<Node> {
        let node = |(value, ends): (&f64, &Ends)| Node {
            value: if ends.unit.symbol.is_empty() {
                plain(*value)
            } else {
                Value::Text(format!("{} {}", figures(*value, FIGURES), ends.unit.symbol))
            },
            spot: self.spot.clone(),
        };
        values.iter().zip(&self.ends).map(node).collect()
    }
}

/// A number without a unit: whole where it is whole, since counts are.
fn plain(value: f64) -> Value {
    if value == libm::trunc(value) && value.abs() < 1e15 {
        Value::Integer(value as i64)
    } else {
        Value::Float(value)
    }
}

/// A number with so many figures.
fn rounded(value: f64, most: usize) -> f64 {
    figures(value, most).parse().unwrap_or(value)
}

/// Reads a range for the paths that change together. `sampled`: it may be continuous.
pub(super) fn read(
    reading: &mut Reading<'_>,
    paths: &[Path],
    table: &Table,
    place: &str,
    spot: &Spot,
    sampled: bool,
) -> Option<Range> {
    let sheet = Sheet::new(&mut reading.texts, table, place, spot, KEYS);
    let ends = [
        ends_of(reading, &sheet, "from", paths.len()),
        ends_of(reading, &sheet, "to", paths.len()),
    ];
    let stepped = (sheet.get("step"), sheet.get("count"));
    match stepped {
        (Some(step), Some(_)) => {
            let help = "the one follows from the other: remove one";
            reading
                .texts
                .fault(&step.key_spot, "`step` and `count` in one range", help);
            return None;
        }
        (Some(step), None) if paths.len() > 1 => {
            let help = "use `count` for values that change together";
            reading
                .texts
                .fault(&step.key_spot, "one `step` for several paths", help);
            return None;
        }
        (None, None) if !sampled => {
            sheet.missing(
                &mut reading.texts,
                "step",
                "add `step`, or `count`: how many levels, both ends included",
            );
            return None;
        }
        _ => {}
    }
    let count = match sheet.get("count") {
        Some(_) => Some(sheet.whole(&mut reading.texts, "count", 2..=MOST_ROWS as i64)? as usize),
        None => None,
    };
    let [from, to] = ends;
    let (from, to) = (from?, to?);
    let dimensions = dimensions(reading, paths, &from)?;
    let mut list = Vec::new();
    for (n, &(dimension, unit)) in dimensions.iter().enumerate() {
        let first = quantity(&mut reading.texts, from[n], "from", dimension);
        let last = quantity(&mut reading.texts, to[n], "to", dimension);
        let (Some(first), Some(last)) = (first, last) else {
            continue;
        };
        if first.si == last.si {
            let help = "a range goes from one value to another";
            reading.texts.fault(&to[n].spot, "`from` and `to` are the same", help);
            continue;
        }
        let of = |si: f64| rounded(unit.from_si(si), FIGURES);
        list.push(Ends {
            from: of(first.si),
            to: of(last.si),
            dimension,
            unit,
        });
    }
    if list.len() < paths.len() {
        return None;
    }
    let levels = match (sheet.get("step"), count) {
        (Some(step), _) => Some(steps(&mut reading.texts, &step.node, &list[0], dimensions[0].0)?),
        (_, Some(count)) => Some(counted(&list, count)),
        _ => None,
    };
    Some(Range {
        ends: list,
        levels,
        spot: spot.clone(),
    })
}

/// The nodes of an end: one, or one for each of the paths.
fn ends_of<'t>(reading: &mut Reading<'_>, sheet: &Sheet<'t>, key: &str, paths: usize) -> Option<Vec<&'t Node>> {
    let texts = &mut reading.texts;
    let Some(entry) = sheet.get(key) else {
        sheet.missing(texts, key, "a range has `from` and `to`");
        return None;
    };
    if strange(texts, &entry.node) {
        return None;
    }
    if paths == 1 {
        return Some(vec![&entry.node]);
    }
    match &entry.node.value {
        Value::List(items) if items.len() == paths => Some(items.iter().collect()),
        _ => wrong(
            texts,
            key,
            &entry.node,
            &format!("a list of {paths} values, one for each path"),
            "[\"9 m3\", \"6.8 m3\"]",
        ),
    }
}

/// What the paths measure, and the units in which their levels are counted: found by setting them to the beginning.
fn dimensions(reading: &mut Reading<'_>, paths: &[Path], from: &[&Node]) -> Option<Vec<(Dimension, Unit)>> {
    let settings: Vec<Setting> = paths
        .iter()
        .zip(from)
        .map(|(path, node)| Setting {
            path: path.clone(),
            value: Written::of(node),
        })
        .collect();
    let scenario = reading.alone(&settings, &from[0].spot)?;
    let mut list = Vec::new();
    for (path, node) in paths.iter().zip(from) {
        match resolved(&scenario, &path.text).and_then(|value| value.amount) {
            Some(amount) if !super::kept::is_spread(node) => list.push((amount.dimension, amount.unit)),
            _ => {
                let message = format!("there is no range of `{}` from here: it is not one number", path.text);
                reading
                    .texts
                    .fault(&node.spot, message, "list the levels: levels = [..]");
            }
        }
    }
    (list.len() == paths.len()).then_some(list)
}

/// From one end by steps as far as the other.
fn steps(texts: &mut Texts, node: &Node, ends: &Ends, dimension: Dimension) -> Option<Vec<Vec<f64>>> {
    let of_step = if dimension == Dimension::Temperature {
        Dimension::TemperatureDifference
    } else {
        dimension
    };
    let step = ends.unit.difference_from_si(quantity(texts, node, "step", of_step)?.si);
    let way = ends.to - ends.from;
    let shown = |value: f64| {
        format!("{} {}", figures(value, FIGURES), ends.unit.symbol)
            .trim_end()
            .to_owned()
    };
    if step == 0.0 {
        texts.fault(&node.spot, "`step` is 0", "a step goes from one level to the next");
        return None;
    }
    if (step < 0.0) != (way < 0.0) {
        let message = format!("steps of {} lead away from {}", shown(step), shown(ends.to));
        texts.fault(&node.spot, message, format!("write {}", number_for(-step, ends)));
        return None;
    }
    let most = way / step + REACHES;
    if most < 1.0 {
        let message = format!("a step of {} is longer than the range", shown(step));
        texts.fault(&node.spot, message, format!("from `from` to `to` it is {}", shown(way)));
        return None;
    }
    if most >= MOST_ROWS as f64 {
        let message = format!("more than {MOST_ROWS} steps");
        texts.fault(&node.spot, message, "take longer ones");
        return None;
    }
    let last = libm::floor(most);
    if most - last > 2.0 * REACHES {
        let message = format!("the steps do not end at {}", shown(ends.to));
        texts.warn(
            &node.spot,
            message,
            format!("the last level is {}", shown(rounded(ends.from + last * step, FIGURES))),
        );
    }
    Some(
        (0..=last as usize)
            .map(|k| vec![rounded(ends.from + k as f64 * step, FIGURES)])
            .collect(),
    )
}

fn number_for(value: f64, ends: &Ends) -> String {
    super::kept::number(value, ends.unit)
}

/// So many levels, both ends included.
fn counted(ends: &[Ends], count: usize) -> Vec<Vec<f64>> {
    let part = |k: usize| k as f64 / (count - 1) as f64;
    (0..count)
        .map(|k| {
            ends.iter()
                .map(|e| rounded(e.from + (e.to - e.from) * part(k), FIGURES))
                .collect()
        })
        .collect()
}
