//! Which rows a trade has: the full grid, those listed, or a sample; and which of them is the baseline.

use breathroom_sim::text::{Entry, Node, Spot, Table, Value};

use super::MOST_ROWS;
use super::apply::Reading;
use super::factor::{Factor, Kind};
use super::level::{self, Level};
use super::sample;
use super::sheet::wrong;

/// Digits of a row's number, at least: r01.
const LEAST_DIGITS: usize = 2;
/// Name of the row that is added because the baseline is none of the others.
const BASELINE: &str = "baseline";

/// A row before its scenario is read.
#[derive(Clone, Debug)]
pub(super) struct Draft {
    pub name: String,
    /// One for each factor.
    pub levels: Vec<Level>,
}

/// What decides which rows there are.
pub(super) enum Plan<'t> {
    Grid,
    Listed(&'t Entry),
    Sample(&'t Entry),
}

/// Rows in order, and the index of the baseline; none after a fault.
pub(super) fn read(
    reading: &mut Reading<'_>,
    factors: &[Factor],
    plan: &Plan<'_>,
    baseline: Option<&Entry>,
    factors_spot: &Spot,
) -> Option<(Vec<Draft>, usize)> {
    let before = reading.texts.faults.len();
    let (named, given) = match baseline.map(|entry| &entry.node) {
        None => (None, None),
        Some(node) => match &node.value {
            Value::Text(name) => (Some((name.as_str(), node)), None),
            Value::Table(table) => (None, Some((picks(reading, factors, table, "baseline", &[]), node))),
            _ => {
                let texts = &mut reading.texts;
                wrong::<()>(
                    texts,
                    "baseline",
                    node,
                    "a level for each factor, or a row's name",
                    "{ volume = \"11 m3\" }",
                );
                (None, None)
            }
        },
    };
    let base = given.as_ref().map(|(picks, _)| picks.as_slice());
    let mut drafts = match plan {
        Plan::Grid => grid(reading, factors, factors_spot)?,
        Plan::Listed(entry) => listed(reading, factors, entry, base)?,
        Plan::Sample(entry) => sample::read(reading, factors, entry)?,
    };
    if reading.texts.faults.len() > before {
        return None;
    }
    let index = match (named, given) {
        (Some((name, node)), _) => match drafts.iter().position(|draft| draft.name == name) {
            Some(index) => index,
            None => {
                let help = reading
                    .texts
                    .meant(name, drafts.iter().map(|draft| draft.name.as_str()));
                reading
                    .texts
                    .fault(&node.spot, format!("there is no row `{name}`"), help);
                return None;
            }
        },
        (None, Some((picks, node))) => {
            let levels = complete(reading, factors, picks, drafts.first(), plan, &node.spot)?;
            found_or_added(reading, &mut drafts, levels, &node.spot)?
        }
        (None, None) => 0,
    };
    Some((drafts, index))
}

/// The row of these levels; if there is none, it becomes the first.
fn found_or_added(
    reading: &mut Reading<'_>,
    drafts: &mut Vec<Draft>,
    levels: Vec<Level>,
    spot: &Spot,
) -> Option<usize> {
    let is = |draft: &Draft| draft.levels.iter().zip(&levels).all(|(a, b)| a.is(b));
    if let Some(index) = drafts.iter().position(is) {
        return Some(index);
    }
    if drafts.iter().any(|draft| draft.name == BASELINE) {
        let message = format!("the row `{BASELINE}` has other levels than these");
        reading.texts.fault(
            spot,
            message,
            "name the row otherwise, or write baseline = \"baseline\"",
        );
        return None;
    }
    if drafts.len() == MOST_ROWS {
        let message = format!("with the baseline there are more than {MOST_ROWS} rows");
        reading.texts.fault(spot, message, "take a row as the baseline");
        return None;
    }
    drafts.insert(
        0,
        Draft {
            name: BASELINE.to_owned(),
            levels,
        },
    );
    Some(0)
}

/// All levels of a baseline: what it does not name is the first level of its factor.
fn complete(
    reading: &mut Reading<'_>,
    factors: &[Factor],
    picks: Vec<Option<Level>>,
    first: Option<&Draft>,
    plan: &Plan<'_>,
    spot: &Spot,
) -> Option<Vec<Level>> {
    let mut levels = Vec::new();
    for (n, (factor, pick)) in factors.iter().zip(picks).enumerate() {
        let of_row = || {
            matches!(plan, Plan::Listed(_))
                .then(|| first.map(|draft| draft.levels[n].clone()))
                .flatten()
        };
        match pick.or_else(|| factor.levels.first().cloned()).or_else(of_row) {
            Some(level) => levels.push(level),
            None => lacks(reading, "the baseline", factor, spot),
        }
    }
    (levels.len() == factors.len()).then_some(levels)
}

fn lacks(reading: &mut Reading<'_>, who: &str, factor: &Factor, spot: &Spot) {
    let message = format!("{who} has no `{}`, and there is no level to take", factor.name);
    reading.texts.fault(spot, message, format!("add {} = ..", factor.name));
}

/// Every combination, the last factor fastest.
fn grid(reading: &mut Reading<'_>, factors: &[Factor], spot: &Spot) -> Option<Vec<Draft>> {
    let sizes = factors.iter().map(|factor| factor.levels.len());
    let rows = sizes.clone().fold(1_usize, usize::saturating_mul);
    if rows > MOST_ROWS {
        let each: Vec<String> = sizes.map(|n| n.to_string()).collect();
        let message = format!("the grid has {} rows: more than {MOST_ROWS}", each.join(" x "));
        reading
            .texts
            .fault(spot, message, "take fewer levels, list [[rows]], or take a `sample`");
        return None;
    }
    if rows == 0 {
        return None;
    }
    let digits = digits(rows);
    let of = |row: usize| {
        let mut rest = row;
        let mut levels: Vec<Level> = Vec::with_capacity(factors.len());
        for factor in factors.iter().rev() {
            levels.push(factor.levels[rest % factor.levels.len()].clone());
            rest /= factor.levels.len();
        }
        levels.reverse();
        Draft {
            name: name(row, digits),
            levels,
        }
    };
    Some((0..rows).map(of).collect())
}

/// The rows as listed.
fn listed(
    reading: &mut Reading<'_>,
    factors: &[Factor],
    entry: &Entry,
    baseline: Option<&[Option<Level>]>,
) -> Option<Vec<Draft>> {
    let Value::List(items) = &entry.node.value else {
        return wrong(
            &mut reading.texts,
            "rows",
            &entry.node,
            "tables",
            "a table `[[rows]]` for each",
        );
    };
    if items.is_empty() || items.len() > MOST_ROWS {
        let message = format!("there are {} rows", items.len());
        let help = format!("1 to {MOST_ROWS} can be listed; without `rows` every combination is one");
        reading.texts.fault(&entry.node.spot, message, help);
        return None;
    }
    let digits = digits(items.len());
    let mut drafts: Vec<Draft> = Vec::new();
    for (n, item) in items.iter().enumerate() {
        let Some(table) = item.table() else {
            reading.texts.fault(
                &item.spot,
                format!("a row is a table, not {}", item.kind()),
                "write `[[rows]]`",
            );
            continue;
        };
        let own = table.get("name").map(|e| &e.node);
        let given = own.and_then(|node| given_name(reading, node));
        let name = given.unwrap_or_else(|| name(n, digits));
        if drafts.iter().any(|draft| draft.name == name) {
            let spot = own.map_or(&item.spot, |node| &node.spot);
            reading.texts.fault(
                spot,
                format!("another row is named `{name}`"),
                "give each row a name of its own",
            );
        }
        let picked = picks(reading, factors, table, "rows", &["name"]);
        let mut levels = Vec::new();
        for (f, (factor, pick)) in factors.iter().zip(picked).enumerate() {
            let of_baseline = || baseline.and_then(|b| b[f].clone());
            let of_first = || {
                drafts
                    .first()
                    .filter(|_| baseline.is_none())
                    .and_then(|d| d.levels.get(f).cloned())
            };
            let level = pick
                .or_else(of_baseline)
                .or_else(of_first)
                .or_else(|| factor.levels.first().cloned());
            match level {
                Some(level) => levels.push(level),
                None if table.get(&factor.name).is_none() && reading.base.is_some() => {
                    lacks(reading, "this row", factor, &item.spot);
                }
                None => {}
            }
        }
        if levels.len() == factors.len() {
            if let Some(other) = drafts
                .iter()
                .find(|d| d.levels.iter().zip(&levels).all(|(a, b)| a.is(b)))
            {
                let message = format!("the row `{name}` has the levels of the row `{}`", other.name);
                reading.texts.warn(&item.spot, message, "it says nothing more");
            }
            drafts.push(Draft { name, levels });
        }
    }
    (drafts.len() == items.len()).then_some(drafts)
}

fn given_name(reading: &mut Reading<'_>, node: &Node) -> Option<String> {
    match node.text() {
        Some(text) if !text.trim().is_empty() => Some(text.to_owned()),
        _ => wrong(&mut reading.texts, "name", node, "a word", "\"tight\""),
    }
}

/// The levels that a table names, one place for each factor.
fn picks(
    reading: &mut Reading<'_>,
    factors: &[Factor],
    table: &Table,
    place: &str,
    more: &[&str],
) -> Vec<Option<Level>> {
    for entry in &table.entries {
        if more.contains(&entry.key.as_str()) || factors.iter().any(|factor| factor.name == entry.key) {
            continue;
        }
        let known = factors
            .iter()
            .map(|factor| factor.name.as_str())
            .chain(more.iter().copied());
        let help = reading.texts.meant(&entry.key, known);
        let message = format!("`{}` in `{place}` is no factor", entry.key);
        reading.texts.fault(&entry.key_spot, message, help);
    }
    let of = |factor: &Factor| {
        table
            .get(&factor.name)
            .and_then(|entry| pick(reading, factor, &entry.node))
    };
    factors.iter().map(of).collect()
}

/// The level that a value means: one of the factor's, by name or value, or another value.
fn pick(reading: &mut Reading<'_>, factor: &Factor, node: &Node) -> Option<Level> {
    let by_name = node
        .text()
        .and_then(|text| factor.levels.iter().find(|level| level.label == text));
    if let Some(level) = by_name {
        return Some(level.clone());
    }
    match &factor.kind {
        Kind::Options => {
            let texts = &mut reading.texts;
            let Some(text) = node.text() else {
                return wrong(texts, &factor.name, node, "the name of an option", "\"as designed\"");
            };
            let help = texts.meant(text, factor.levels.iter().map(|level| level.label.as_str()));
            texts.fault(&node.spot, format!("`{}` has no option `{text}`", factor.name), help);
            None
        }
        Kind::Values(values) => {
            let level = level::value(reading, values, node)?;
            let known = factor.levels.iter().find(|known| known.is(&level));
            Some(known.cloned().unwrap_or(level))
        }
    }
}

/// Digits of the number of the last row.
pub(super) fn digits(rows: usize) -> usize {
    rows.to_string().len().max(LEAST_DIGITS)
}

/// The name of a row (from 0) that has none of its own.
pub(super) fn name(row: usize, digits: usize) -> String {
    format!("r{:0digits$}", row + 1)
}
