//! One level of a factor: what it sets, how it is shown, and the number that it is.

use std::sync::Arc;

use breathroom_sim::scenario::{Amount, Scenario};
use breathroom_sim::text::{Node, Spot, Value};
use breathroom_sim::units::{Unit, figures};

use super::apply::{Path, Reading, Setting, resolved};
use super::factor::Values;
use super::figure::Figure;
use super::kept::{self, FIGURES, Keep};
use super::range::Range;
use super::written::{Written, label, strange};

/// One level of a factor.
#[derive(Clone, Debug, Default)]
pub struct Level {
    /// As shown: the value as written, or the name.
    pub label: String,
    /// Overrides "PATH=VALUE".
    pub overrides: Vec<String>,
    /// Constants of an option.
    pub figures: Vec<Figure>,
    /// What it amounts to, if it is one number (of a spread the median).
    pub(super) amount: Option<Amount>,
    /// Without a spread of its own.
    pub(super) exact: bool,
    pub(super) paths: Vec<Path>,
    /// An option's scenario, for names that only it has.
    pub(super) scenario: Option<Arc<Scenario>>,
    /// It takes the spread of one of these paths away.
    pub(super) replaced: Option<Path>,
    pub(super) spot: Spot,
}

impl Level {
    /// Whether it is the same level: by its label, or by the number that it is.
    pub(super) fn is(&self, other: &Self) -> bool {
        if self.label == other.label {
            return true;
        }
        match (self.amount, other.amount) {
            (Some(a), Some(b)) if self.exact && other.exact => {
                (a.si - b.si).abs() <= 1e-9 * a.si.abs().max(b.si.abs())
                    && a.unit.symbol.eq("met") == b.unit.symbol.eq("met")
            }
            _ => false,
        }
    }

    /// Its number in a unit.
    pub(super) fn number(&self, unit: Unit) -> Option<f64> {
        let si = self.amount?.si;
        figures(unit.from_si(si), FIGURES).parse().ok()
    }
}

/// A level as a file has it: a value, or one for each of the paths.
pub(super) fn value(reading: &mut Reading<'_>, values: &Values, node: &Node) -> Option<Level> {
    if strange(&mut reading.texts, node) {
        return None;
    }
    let paths = values.paths.len();
    if paths == 1 {
        return level(reading, values, std::slice::from_ref(node), &node.spot);
    }
    match &node.value {
        Value::List(items) if items.len() == paths => level(reading, values, items, &node.spot),
        _ => {
            let message = format!("a level here is a list of {paths} values, one for each path");
            reading
                .texts
                .fault(&node.spot, message, "write e.g. [\"9 m3\", \"6.8 m3\"]");
            None
        }
    }
}

/// A level of given values; what the scenario says against it alone is told.
pub(super) fn level(reading: &mut Reading<'_>, values: &Values, nodes: &[Node], spot: &Spot) -> Option<Level> {
    let mut made = Level {
        label: nodes.iter().map(label).collect::<Vec<_>>().join(", "),
        exact: !nodes.iter().any(kept::is_spread),
        spot: spot.clone(),
        ..Level::default()
    };
    // Without a scenario there is nothing to try it on.
    if reading.base.is_none() {
        return Some(made);
    }
    let (settings, si) = settings(reading, values, nodes)?;
    let scenario = reading.alone(&settings, spot)?;
    made.overrides = settings.iter().map(Setting::text).collect();
    made.replaced = values
        .paths
        .iter()
        .find(|path| kept::replaced(reading, path, &scenario))
        .cloned();
    if let [path] = values.paths.as_slice() {
        made.amount = resolved(&scenario, &path.text).and_then(|value| value.amount);
        if let (Some(amount), Some(si)) = (&mut made.amount, si) {
            amount.si = si;
        }
    }
    Some(made)
}

/// A level between the ends of a range, at u in (0, 1). It is not tried alone: if it is refused, its row says so.
pub(super) fn between(reading: &mut Reading<'_>, values: &Values, range: &Range, u: f64) -> Option<Level> {
    let numbers = range.at(u);
    let nodes = range.nodes(&numbers);
    let (settings, _) = settings(reading, values, &nodes)?;
    let amount = match (numbers.as_slice(), range.ends.as_slice()) {
        ([number], [ends]) => Some(Amount {
            si: ends.unit.to_si(*number),
            dimension: ends.dimension,
            unit: ends.unit,
        }),
        _ => None,
    };
    Some(Level {
        label: nodes.iter().map(label).collect::<Vec<_>>().join(", "),
        overrides: settings.iter().map(Setting::text).collect(),
        amount,
        exact: true,
        spot: range.spot.clone(),
        ..Level::default()
    })
}

/// What a level sets; where it keeps the spread of its one path, also the level itself in SI.
fn settings(reading: &mut Reading<'_>, values: &Values, nodes: &[Node]) -> Option<(Vec<Setting>, Option<f64>)> {
    let (mut list, mut si) = (Vec::new(), None);
    for (path, node) in values.paths.iter().zip(nodes) {
        let value = if values.keep != Keep::Exact && kept::met(reading, path).is_some() {
            let (value, level_si) = kept::kept(reading, path, node, values.keep)?;
            si = Some(level_si);
            value
        } else {
            Written::of(node)
        };
        list.push(Setting {
            path: path.clone(),
            value,
        });
    }
    Some((list, si))
}
