//! A table of a trade file seen through the keys that it may have.
//!
//! What is wrong is told where it stands; the caller gets nothing then and goes on.

use std::ops::{Range, RangeInclusive};

use breathroom_sim::text::{Entry, Node, Spot, Table, Texts, Value};
use breathroom_sim::units::{Dimension, Quantity, parse};

/// A table with its keys.
pub(super) struct Sheet<'t> {
    pub table: &'t Table,
    /// "`factors.volume`", or "the file".
    name: String,
    /// Where to tell what is missing.
    pub spot: Spot,
    keys: &'static [&'static str],
}

impl<'t> Sheet<'t> {
    /// The table at a path (empty: the top level); keys that it may not have are told.
    pub fn new(texts: &mut Texts, table: &'t Table, path: &str, spot: &Spot, keys: &'static [&'static str]) -> Self {
        for entry in table.entries.iter().filter(|e| !keys.contains(&e.key.as_str())) {
            let place = if path.is_empty() {
                "at the top level".to_owned()
            } else {
                format!("in `{path}`")
            };
            let help = texts.meant(&entry.key, keys.iter().copied());
            texts.fault(&entry.key_spot, format!("unknown key `{}` {place}", entry.key), help);
        }
        let name = if path.is_empty() {
            "the file".to_owned()
        } else {
            format!("`{path}`")
        };
        Self {
            table,
            name,
            spot: spot.clone(),
            keys,
        }
    }

    /// A key that is there.
    pub fn get(&self, key: &str) -> Option<&'t Entry> {
        self.table.get(key)
    }

    /// Where a key's value stands, or the table if it does not.
    pub fn spot_of(&self, key: &str) -> Spot {
        self.get(key).map_or_else(|| self.spot.clone(), |e| e.node.spot.clone())
    }

    /// Tells of a key that must be there and is not, unless an unknown one may be meant for it.
    pub fn missing(&self, texts: &mut Texts, key: &str, help: &str) {
        let unknown = |e: &&Entry| !self.keys.contains(&e.key.as_str());
        if self
            .table
            .entries
            .iter()
            .filter(unknown)
            .any(|e| Texts::near(&e.key, key))
        {
            return;
        }
        texts.fault(&self.spot, format!("{} has no `{key}`", self.name), help);
    }

    /// A text that is not empty.
    pub fn text(&self, texts: &mut Texts, key: &str, example: &str) -> Option<&'t str> {
        let node = &self.get(key)?.node;
        match node.text() {
            Some(text) if !text.trim().is_empty() => Some(text),
            Some(_) => {
                texts.fault(
                    &node.spot,
                    format!("`{key}` is empty"),
                    format!("write e.g. {key} = {example}"),
                );
                None
            }
            None => wrong(texts, key, node, "text", example),
        }
    }

    /// A text that may be empty, or absent.
    pub fn text_or_empty(&self, texts: &mut Texts, key: &str) -> String {
        match self.get(key).map(|e| &e.node) {
            None => String::new(),
            Some(node) => match node.text() {
                Some(text) => text.to_owned(),
                None => wrong(texts, key, node, "text", "\"kg\"").unwrap_or_default(),
            },
        }
    }

    /// A whole number in a range.
    pub fn whole(&self, texts: &mut Texts, key: &str, range: RangeInclusive<i64>) -> Option<u64> {
        let node = &self.get(key)?.node;
        let (least, most) = (*range.start(), *range.end());
        match node.value {
            Value::Integer(n) if range.contains(&n) => u64::try_from(n).ok(),
            Value::Integer(n) => {
                let help = if least == most {
                    format!("it is {least}")
                } else {
                    format!("it lies between {least} and {most}")
                };
                texts.fault(&node.spot, format!("`{key}` cannot be {n}"), help);
                None
            }
            _ => wrong(texts, key, node, "a whole number", &least.max(1).to_string()),
        }
    }

    /// A list that is not empty.
    pub fn list(&self, texts: &mut Texts, key: &str, example: &str) -> Option<&'t [Node]> {
        let node = &self.get(key)?.node;
        match &node.value {
            Value::List(items) if items.is_empty() => {
                texts.fault(
                    &node.spot,
                    format!("`{key}` is an empty list"),
                    format!("write e.g. {key} = {example}"),
                );
                None
            }
            Value::List(items) => Some(items),
            _ => wrong(texts, key, node, "a list", example),
        }
    }

    /// The texts of a list.
    pub fn texts(&self, texts: &mut Texts, key: &str, example: &str) -> Option<Vec<(&'t str, &'t Node)>> {
        let mut list = Vec::new();
        for item in self.list(texts, key, example)? {
            match item.text() {
                Some(text) => list.push((text, item)),
                None => {
                    texts.fault(&item.spot, format!("`{key}` takes texts, not {}", item.kind()), "");
                    return None;
                }
            }
        }
        Some(list)
    }

    /// A table.
    pub fn sub(&self, texts: &mut Texts, key: &str, example: &str) -> Option<&'t Table> {
        let node = &self.get(key)?.node;
        match node.table() {
            Some(table) => Some(table),
            None => wrong(texts, key, node, "a table", example),
        }
    }
}

/// Tells of a value of the wrong kind.
pub(super) fn wrong<T>(texts: &mut Texts, key: &str, node: &Node, wanted: &str, example: &str) -> Option<T> {
    let message = format!("`{key}` takes {wanted}, not {}", node.kind());
    texts.fault(&node.spot, message, format!("write e.g. {key} = {example}"));
    None
}

/// Where a part of a text stands in its file; all of it if it is written with escapes.
pub(super) fn inside(texts: &Texts, spot: &Spot, text: &str, part: Range<usize>) -> Spot {
    let raw = texts.slice(spot);
    let quotes = if raw.starts_with("\"\"\"") || raw.starts_with("'''") {
        3
    } else {
        usize::from(raw.starts_with(['"', '\'']))
    };
    if raw.get(quotes..raw.len().saturating_sub(quotes)) != Some(text) || text.is_empty() {
        return spot.clone();
    }
    let at = spot.span.start + quotes;
    Spot {
        source: spot.source,
        span: at + part.start..at + part.end,
    }
}

/// A quantity of a dimension: text with its unit, or a plain number where that is complete.
pub(super) fn quantity(texts: &mut Texts, node: &Node, key: &str, dimension: Dimension) -> Option<Quantity> {
    let plain = |value: f64| Quantity {
        si: value,
        unit: dimension.si_unit(),
    };
    let example = format!("write e.g. \"{}\"", dimension.example());
    match &node.value {
        Value::Text(text) => match parse(text, dimension) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                let spot = inside(texts, &node.spot, text, error.span());
                texts.fault(&spot, error.message(), error.help());
                None
            }
        },
        Value::Integer(value) if dimension.is_plain() => Some(plain(*value as f64)),
        Value::Float(value) if dimension.is_plain() && value.is_finite() => Some(plain(*value)),
        Value::Integer(_) | Value::Float(_) => {
            let written = texts.slice(&node.spot).to_owned();
            texts.fault(&node.spot, format!("`{written}` is a number without its unit"), example);
            None
        }
        _ => {
            let message = format!("`{key}` takes {}, not {}", dimension.with_article(), node.kind());
            texts.fault(&node.spot, message, example);
            None
        }
    }
}
