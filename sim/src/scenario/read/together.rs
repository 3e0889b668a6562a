//! `[[together]]`: spreads that go together.

use crate::scenario::Together;
use crate::scenario::fields::Fields;
use crate::scenario::keys::TOGETHER;
use crate::scenario::reader::Reader;
use crate::scenario::value::quantity;
use crate::spread::{Factor, NotDefinite};
use crate::text::{Node, Spot, Table, Value};
use crate::units::{Dimension, figures};

/// Most inputs in one group: the work for a draw of all goes with the square of their number.
const MOST: usize = 64;

/// A rank correlation that was read, and where it stands.
struct Entry {
    value: f64,
    spot: Spot,
}

/// Reads the groups; after everything else, when all spreads are known.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>) -> Vec<Together> {
    let mut groups = Vec::new();
    // Every input that is named so far, with its line.
    let mut taken: Vec<(usize, usize)> = Vec::new();
    for (n, (node, table)) in root.tables(r, "together").into_iter().enumerate() {
        let path = format!("together.{}", n + 1);
        let fields = Fields::new(r, &TOGETHER, table, &path, &node.spot);
        let inputs = members(r, root, &fields, &mut taken);
        let names: Vec<&str> = match fields.entry("inputs").map(|e| &e.node.value) {
            // What is no path has had its fault: then no shape is asked for.
            Some(Value::List(items)) => items.iter().map(Node::text).collect::<Option<_>>().unwrap_or_default(),
            _ => Vec::new(),
        };
        if let (Some(inputs), Some(rank_correlation)) = (inputs, correlations(r, &fields, &names)) {
            groups.push(Together {
                inputs,
                rank_correlation,
            });
        }
    }
    groups
}

/// The inputs of a group; none after a fault.
fn members(
    r: &mut Reader<'_>,
    root: &Fields<'_>,
    fields: &Fields<'_>,
    taken: &mut Vec<(usize, usize)>,
) -> Option<Vec<usize>> {
    let before = r.texts.faults.len();
    let mut list = Vec::new();
    let named = fields.names(r, "inputs");
    let spot = fields.spot_of("inputs");
    if r.texts.faults.len() == before && named.len() < 2 {
        let message = format!(
            "`inputs` names {}",
            if named.is_empty() { "nothing" } else { "only one" }
        );
        r.texts.fault(&spot, message, "two or more go together");
    } else if named.len() > MOST {
        let message = format!("`inputs` names {} spreads", named.len());
        r.texts.fault(&spot, message, format!("at most {MOST} can go together"));
    }
    for (path, node) in named {
        let Some(input) = r.inputs.iter().position(|input| input.path == path) else {
            no_spread(r, root, path, node);
            continue;
        };
        if r.inputs[input].per_turn {
            let help = "add draw = \"once\" to its spread: what goes together is drawn once in a variation";
            r.texts
                .fault(&node.spot, format!("`{path}` is drawn anew in every turn"), help);
        } else if let Some((_, line)) = taken.iter().find(|(other, _)| *other == input) {
            let message = format!("`{path}` goes together with others already, in line {line}");
            r.texts
                .fault(&node.spot, message, "name all that go together in one [[together]]");
        } else {
            taken.push((input, r.texts.line(&node.spot)));
            list.push(input);
        }
    }
    (r.texts.faults.len() == before).then_some(list)
}

/// Reports a path that is no input: a value without a spread, or nothing at all.
fn no_spread(r: &mut Reader<'_>, root: &Fields<'_>, path: &str, node: &Node) {
    if let Some(value) = r.resolved.iter().find(|value| value.path == path) {
        let message = format!("`{path}` has no spread: it is {}", value.written);
        r.texts.fault(
            &node.spot,
            message,
            "give it a spread there, or take it out of `inputs`",
        );
        return;
    }
    // What stands in the file and was not understood has had its fault.
    if !r.texts.faults.is_empty() && stands(root.table, path) {
        return;
    }
    let inputs: Vec<String> = r.inputs.iter().map(|input| input.path.clone()).collect();
    let mut help = r.texts.meant(path, inputs.iter().map(String::as_str));
    if inputs.is_empty() {
        "the file has no spread at all".clone_into(&mut help);
    }
    r.texts
        .fault(&node.spot, format!("there is no value `{path}` with a spread"), help);
}

/// Whether something stands in the file at a path; lists go by the ids of their tables.
fn stands(table: &Table, path: &str) -> bool {
    let (first, rest) = path.split_once('.').map_or((path, None), |(a, b)| (a, Some(b)));
    let Some(entry) = table.get(first) else { return false };
    let Some(rest) = rest else { return true };
    match &entry.node.value {
        Value::Table(inner) => stands(inner, rest),
        Value::List(items) => {
            let (id, rest) = rest.split_once('.').unwrap_or((rest, ""));
            let of = |item: &Node| item.table().and_then(|t| t.get("id")).and_then(|e| e.node.text()) == Some(id);
            let found = items.iter().find(|item| of(item)).and_then(Node::table);
            found.is_some_and(|inner| stands(inner, rest))
        }
        _ => false,
    }
}

/// The table of rank correlations of so many inputs; none after a fault.
fn correlations(r: &mut Reader<'_>, fields: &Fields<'_>, names: &[&str]) -> Option<Vec<Vec<f64>>> {
    let name = "rank_correlation";
    let Some(entry) = fields.entry(name) else {
        fields.missing(r, name);
        return None;
    };
    let node = &entry.node;
    r.note(fields.path_of(name), node, String::new(), None);
    if !(2..=MOST).contains(&names.len()) {
        return None;
    }
    let before = r.texts.faults.len();
    let table = match &node.value {
        Value::List(rows) => square(r, node, rows, names.len())?,
        _ if names.len() > 2 => {
            let message = format!("one rank correlation for {} inputs", names.len());
            let help = "a row for each input, 1 where it meets itself: [[1, 0.6, 0.2], [0.6, 1, 0], [0.2, 0, 1]]";
            r.texts.fault(&node.spot, message, help);
            return None;
        }
        _ => pair(one(r, node)?, &node.spot),
    };
    like(r, &table, names);
    if r.texts.faults.len() > before {
        return None;
    }
    let ranks: Vec<Vec<f64>> = table
        .iter()
        .map(|row| row.iter().map(|entry| entry.value).collect())
        .collect();
    match Factor::of(&ranks) {
        Ok(_) => Some(ranks),
        Err(pair) => {
            offends(r, &table, names, pair);
            None
        }
    }
}

/// The table of one number.
fn pair(value: f64, spot: &Spot) -> Vec<Vec<Entry>> {
    let entry = |value| Entry {
        value,
        spot: spot.clone(),
    };
    vec![vec![entry(1.0), entry(value)], vec![entry(value), entry(1.0)]]
}

/// One number from -1 to 1.
fn one(r: &mut Reader<'_>, node: &Node) -> Option<f64> {
    let value = quantity(r, node, "rank_correlation", Dimension::Number)?.si;
    if (-1.0..=1.0).contains(&value) {
        return Some(value);
    }
    let message = format!("a rank correlation cannot be {}", figures(value, 6));
    r.texts.fault(&node.spot, message, "it lies between -1 and 1");
    None
}

/// `n` rows of `n` numbers.
fn square(r: &mut Reader<'_>, node: &Node, rows: &[Node], n: usize) -> Option<Vec<Vec<Entry>>> {
    let help = format!("`inputs` names {n}: {n} rows of {n} numbers");
    if rows.len() != n {
        let message = format!("`rank_correlation` has {} rows", rows.len());
        r.texts.fault(&node.spot, message, help);
        return None;
    }
    let mut table = Vec::new();
    for row in rows {
        let Value::List(items) = &row.value else {
            let message = format!("a row of `rank_correlation` is a list, not {}", row.kind());
            r.texts.fault(&row.spot, message, &*help);
            continue;
        };
        if items.len() != n {
            let message = format!("this row of `rank_correlation` has {} numbers", items.len());
            r.texts.fault(&row.spot, message, &*help);
            continue;
        }
        // Every entry is read, so that every fault is reported.
        let read: Vec<Option<Entry>> = items
            .iter()
            .map(|item| {
                let spot = item.spot.clone();
                one(r, item).map(|value| Entry { value, spot })
            })
            .collect();
        table.extend(read.into_iter().collect::<Option<Vec<Entry>>>());
    }
    (table.len() == n).then_some(table)
}

/// Each input goes with itself wholly, and with another as that with it.
fn like(r: &mut Reader<'_>, table: &[Vec<Entry>], names: &[&str]) {
    for (i, row) in table.iter().enumerate() {
        for (j, entry) in row.iter().enumerate().take(i + 1) {
            let other = table[j][i].value;
            if i == j && entry.value != 1.0 {
                let message = format!("`{}` with itself is {} here", names[i], figures(entry.value, 6));
                r.texts
                    .fault(&entry.spot, message, "it is 1: the diagonal of the table");
            } else if entry.value != other {
                let message = format!(
                    "`{}` with `{}` is {} here, but {} in row {}",
                    names[i],
                    names[j],
                    figures(entry.value, 6),
                    figures(other, 6),
                    j + 1
                );
                r.texts
                    .fault(&entry.spot, message, "both are the same: the table is symmetric");
            }
        }
    }
}

/// Reports the pair for which no draws can have these rank correlations.
fn offends(r: &mut Reader<'_>, table: &[Vec<Entry>], names: &[&str], NotDefinite { row, column, edge }: NotDefinite) {
    let entry = &table[row][column];
    let (a, b) = (names[column], names[row]);
    let value = figures(entry.value, 6);
    // Toward 0, so that the number said is one that passes.
    let up_to = edge.map(|edge| (edge * 100.0).trunc() / 100.0);
    let (message, help) = if entry.value.abs() == 1.0 {
        let message = format!("`{a}` and `{b}` cannot have a rank correlation of {value}");
        (
            message,
            "less than 1 in size: of two that wholly go together, one is no spread of its own".to_owned(),
        )
    } else {
        let message = format!(
            "no draws can have these rank correlations: {value} between `{a}` and `{b}` contradicts the others (the table \
             is not positive definite)"
        );
        let help = match up_to {
            Some(edge) if edge > 0.0 => format!("at most {} would go", figures(edge, 2)),
            Some(edge) if edge < 0.0 => format!("no less than {} would go", figures(edge, 2)),
            Some(_) => "0 would go".to_owned(),
            None => format!("smaller rank correlations of `{b}` would go"),
        };
        (message, help)
    };
    r.texts.fault(&entry.spot, message, help);
}
