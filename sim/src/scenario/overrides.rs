//! `--set PATH=VALUE`: one value of the file replaced before it is read.
//!
//! The value is TOML; a quantity or a word without quotes is taken as text. Paths go by names, never by positions:
//! `removal.scrubber.flow`, `tasks.don.duration`, `limits.rule.co2-1h.at_most`. A rule of a named set can be changed without
//! being in the file: it is then written out as a rule of the file first.

use toml::de::DeValue;

use crate::limits::{Bound, SetRule, SetStatistic, set};

use super::keys::{Kind, ROOT};
use super::reader::Reader;
use crate::text::{Entry, Node, Spot, Table, Value, from_value};

/// Lists of tables that are reached by the id of their tables.
const LISTS: [&[&str]; 4] = [&["tasks"], &["faults"], &["alarms"], &["limits", "rule"]];

/// Applies the overrides to the tree; what is wrong with them is reported.
pub(super) fn apply(r: &mut Reader<'_>, tree: &mut Table, overrides: &[String]) {
    for (n, text) in overrides.iter().enumerate() {
        one(r, tree, text, n + 1);
    }
}

/// A part of a path and where it stands.
struct Step {
    name: String,
    spot: Spot,
}

fn one(r: &mut Reader<'_>, tree: &mut Table, text: &str, source: usize) {
    let whole = Spot {
        source,
        span: 0..text.len(),
    };
    let Some((path, value)) = text.split_once('=') else {
        r.texts.fault(
            &whole,
            "an override without `=`",
            "write PATH=VALUE, e.g. removal.scrubber.flow=\"0.5 m3/min\"",
        );
        return;
    };
    let Some(steps) = steps(r, path, source) else { return };
    let Some(node) = value_of(r, value, path.len() + 1, source) else {
        return;
    };
    set_value(r, tree, &steps, node);
}

fn steps(r: &mut Reader<'_>, path: &str, source: usize) -> Option<Vec<Step>> {
    let mut list = Vec::new();
    let mut at = 0;
    for part in path.split('.') {
        let lead = part.len() - part.trim_start().len();
        let name = part.trim().trim_matches('"');
        let span = at + lead..at + lead + part.trim().len();
        let spot = Spot { source, span };
        if name.is_empty() {
            r.texts.fault(
                &spot,
                "a path with an empty part",
                "write PATH=VALUE, e.g. compartments.cabin.free_volume=\"12 m3\"",
            );
            return None;
        }
        list.push(Step {
            name: name.to_owned(),
            spot,
        });
        at += part.len() + 1;
    }
    Some(list)
}

/// The value: TOML, or bare text.
fn value_of(r: &mut Reader<'_>, value: &str, shift: usize, source: usize) -> Option<Node> {
    let trimmed = value.trim();
    let lead = shift + value.len() - value.trim_start().len();
    let spot = Spot {
        source,
        span: lead..lead + trimmed.len(),
    };
    if trimmed.is_empty() {
        r.texts.fault(&spot, "an override without a value", "write PATH=VALUE");
        return None;
    }
    let structured = trimmed.starts_with(['[', '{', '"', '\'']);
    match DeValue::parse(trimmed) {
        // A date is not meant anywhere: "1979-05-27" is text that will be refused as such.
        Ok(parsed) if !matches!(parsed.get_ref(), DeValue::Datetime(_)) => {
            Some(from_value(parsed.get_ref(), parsed.span(), source, lead))
        }
        Err(error) if structured => {
            let span = error.span().unwrap_or(0..trimmed.len());
            let spot = Spot {
                source,
                span: lead + span.start..lead + span.end,
            };
            let what = error.message().split(", expected").next().unwrap_or("").to_owned();
            r.texts.fault(&spot, format!("this value is not TOML: {what}"), "");
            None
        }
        _ => Some(Node {
            value: Value::Text(trimmed.to_owned()),
            spot,
        }),
    }
}

fn set_value(r: &mut Reader<'_>, tree: &mut Table, steps: &[Step], node: Node) {
    let mut table = tree;
    let mut n = 0;
    while n + 1 < steps.len() {
        let here: Vec<&str> = steps[..=n].iter().map(|s| s.name.as_str()).collect();
        if LISTS.contains(&here.as_slice()) {
            if here[0] == "limits" {
                write_out(table, &steps[n + 1], steps[n + 1].spot.source);
            }
            if n + 2 == steps.len() {
                whole(r, table, steps, node);
                return;
            }
            let Some(next) = in_list(r, table, steps, n) else {
                return;
            };
            table = next;
            n += 2;
            continue;
        }
        if !step(r, table, steps, n) {
            return;
        }
        let Some(Value::Table(next)) = table.get_mut(&steps[n].name).map(|e| &mut e.node.value) else {
            return;
        };
        table = next;
        n += 1;
    }
    let last = &steps[n];
    match table.get_mut(&last.name) {
        Some(entry) => {
            entry.key_spot = last.spot.clone();
            entry.node = node;
        }
        None => table.entries.push(Entry {
            key: last.name.clone(),
            key_spot: last.spot.clone(),
            node,
        }),
    }
}

/// Puts a whole table into a list, under the id that the path ends in: in the place of the one that has it, else behind the others.
fn whole(r: &mut Reader<'_>, parent: &mut Table, steps: &[Step], mut node: Node) {
    let (list, id) = (&steps[steps.len() - 2], &steps[steps.len() - 1]);
    let Value::Table(given) = &mut node.value else {
        let message = format!("`{}` is a whole table", dotted(steps));
        r.texts
            .fault(&id.spot, message, "name one of its keys, or give all of it: { ... }");
        return;
    };
    let text = Node {
        value: Value::Text(id.name.clone()),
        spot: id.spot.clone(),
    };
    match given.get_mut("id") {
        Some(entry) if entry.node.text() == Some(&id.name) => {}
        Some(entry) => {
            let spot = entry.node.spot.clone();
            let help = format!("leave it out: the path says `{}`", id.name);
            r.texts.fault(&spot, "another id than that of the path", help);
            return;
        }
        None => given.entries.push(Entry {
            key: "id".to_owned(),
            key_spot: id.spot.clone(),
            node: text,
        }),
    }
    let has_id = |item: &Node| item.table().and_then(|t| t.get("id")).and_then(|e| e.node.text()) == Some(&id.name);
    match parent.get_mut(&list.name).map(|entry| &mut entry.node.value) {
        Some(Value::List(items)) => match items.iter_mut().find(|item| has_id(item)) {
            Some(item) => *item = node,
            None => items.push(node),
        },
        Some(_) => {
            let message = format!("`{}` is no list", dotted(&steps[..steps.len() - 1]));
            r.texts.fault(&list.spot, message, "the path ends there");
        }
        None => parent.entries.push(Entry {
            key: list.name.clone(),
            key_spot: list.spot.clone(),
            node: Node {
                value: Value::List(vec![node]),
                spot: id.spot.clone(),
            },
        }),
    }
}

fn dotted(steps: &[Step]) -> String {
    steps.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(".")
}

/// Makes sure that a table stands at a step, so that the path can go on; false after a fault.
fn step(r: &mut Reader<'_>, table: &mut Table, steps: &[Step], n: usize) -> bool {
    let name = &steps[n].name;
    if let Some(entry) = table.get_mut(name) {
        if matches!(entry.node.value, Value::Table(_)) {
            return true;
        }
        let message = format!("`{}` is {}, not a table", dotted(&steps[..=n]), entry.node.kind());
        r.texts.fault(&steps[n].spot, message, "the path ends there");
        return false;
    }
    // Sections of names: only what is there can be changed.
    if n == 1
        && let Some(section) = ROOT.key(&steps[0].name)
        && matches!(section.kind, Kind::Named(_) | Kind::Families(_))
    {
        let names: Vec<String> = table.entries.iter().map(|e| e.key.clone()).collect();
        let help = r.texts.meant(name, names.iter().map(String::as_str));
        r.texts.fault(
            &steps[1].spot,
            format!("there is no `{}.{name}` in the file", steps[0].name),
            help,
        );
        return false;
    }
    if n == 0 && ROOT.key(name).is_none() {
        let help = r.texts.meant(name, ROOT.keys.iter().map(|k| k.name));
        r.texts
            .fault(&steps[0].spot, format!("unknown key `{name}` at the top level"), help);
        return false;
    }
    let spot = steps[n].spot.clone();
    let node = Node {
        value: Value::Table(Table::default()),
        spot: spot.clone(),
    };
    table.entries.push(Entry {
        key: name.clone(),
        key_spot: spot,
        node,
    });
    true
}

/// The table of a list that has the id of the next step.
fn in_list<'t>(r: &mut Reader<'_>, table: &'t mut Table, steps: &[Step], n: usize) -> Option<&'t mut Table> {
    let id = &steps[n + 1];
    let items = match table.get_mut(&steps[n].name).map(|e| &mut e.node.value) {
        Some(Value::List(items)) => items.as_mut_slice(),
        _ => &mut [],
    };
    let id_of = |item: &Node| {
        item.table()
            .and_then(|t| t.get("id"))
            .and_then(|e| e.node.text())
            .map(str::to_owned)
    };
    let ids: Vec<String> = items.iter().filter_map(id_of).collect();
    let found = items
        .iter_mut()
        .find(|item| id_of(item).as_deref() == Some(id.name.as_str()));
    if let Some(Node {
        value: Value::Table(table),
        ..
    }) = found
    {
        return Some(table);
    }
    let help = if id.name.chars().all(|c| c.is_ascii_digit()) {
        "paths go by ids, not by positions".to_owned()
    } else {
        r.texts.meant(&id.name, ids.iter().map(String::as_str))
    };
    r.texts.fault(
        &id.spot,
        format!("there is no `{}` in the file", dotted(&steps[..n + 2])),
        help,
    );
    None
}

/// Writes a rule of a named set out as a rule of the file, if it is one and the file has none of that id. `limits` is the
/// table that holds `rule`.
fn write_out(limits: &mut Table, id: &Step, source: usize) {
    let own = |limits: &Table| match limits.get("rule").map(|e| &e.node.value) {
        Some(Value::List(items)) => items
            .iter()
            .any(|i| i.table().and_then(|t| t.get("id")).and_then(|e| e.node.text()) == Some(&id.name)),
        _ => false,
    };
    if own(limits) {
        return;
    }
    let used: Vec<String> = match limits.get("use").map(|e| &e.node.value) {
        Some(Value::List(items)) => items.iter().filter_map(|i| i.text().map(str::to_owned)).collect(),
        _ => return,
    };
    let rule = used
        .iter()
        .filter_map(|name| set(name))
        .flat_map(|s| s.rules)
        .find(|rule| rule.id == id.name);
    let Some(rule) = rule else { return };
    let spot = Spot {
        source,
        span: id.spot.span.clone(),
    };
    let entries = written(rule)
        .into_iter()
        .map(|(key, text)| Entry {
            key: key.to_owned(),
            key_spot: spot.clone(),
            node: Node {
                value: Value::Text(text),
                spot: spot.clone(),
            },
        })
        .collect();
    let node = Node {
        value: Value::Table(Table { entries }),
        spot: spot.clone(),
    };
    match limits.get_mut("rule").map(|e| &mut e.node.value) {
        Some(Value::List(items)) => items.push(node),
        _ => {
            let list = Node {
                value: Value::List(vec![node]),
                spot: spot.clone(),
            };
            limits.entries.push(Entry {
                key: "rule".to_owned(),
                key_spot: spot,
                node: list,
            });
        }
    }
}

/// The keys of a set's rule as a file would have them.
fn written(rule: &SetRule) -> Vec<(&'static str, String)> {
    let bound = match rule.bound {
        Bound::AtMost => "at_most",
        Bound::AtLeast => "at_least",
    };
    let mut list = vec![
        ("id", rule.id.to_owned()),
        ("quantity", rule.quantity.name().to_owned()),
        ("source", format!("{} (changed by --set)", rule.source)),
    ];
    if rule.scope == crate::limits::Scope::EachCompartment {
        list.push(("where", "compartments".to_owned()));
    }
    match rule.statistic {
        SetStatistic::Instant => {}
        SetStatistic::Moving { window } => list.push(("average", window.to_owned())),
        SetStatistic::Shift { length } => list.push(("shift", length.to_owned())),
        SetStatistic::Mission => list.push(("mean", "mission".to_owned())),
        SetStatistic::Allowance { threshold, each } => {
            list.push((bound, threshold.to_owned()));
            list.push(("allowed", rule.value.to_owned()));
            if each {
                list.push(("over", "each".to_owned()));
            }
            return list;
        }
    }
    list.push((bound, rule.value.to_owned()));
    list
}
