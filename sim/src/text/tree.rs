//! The file as a tree that keeps where everything stands.
//!
//! The tables of the TOML reader are ordered by name; this tree is in file order, owns its text, and knows for every key
//! and value the source (the file or an override) and the byte range it came from.

use std::ops::Range;

use toml::de::{DeTable, DeValue};

/// Where something stands: which source (0 is the file, `n` the `n`th override) and which bytes of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Spot {
    /// 0 is the file, `n` the `n`th override.
    pub source: usize,
    /// Bytes of it.
    pub span: Range<usize>,
}

/// A value and where it stands.
#[derive(Clone, Debug)]
pub struct Node {
    /// What it is.
    pub value: Value,
    /// Where it stands.
    pub spot: Spot,
}

/// A value.
#[derive(Clone, Debug)]
pub enum Value {
    /// Text, without its quotes.
    Text(String),
    /// A whole number.
    Integer(i64),
    /// A number.
    Float(f64),
    /// `true` or `false`.
    Flag(bool),
    /// A date, or an integer or a float that does not fit: what it is, in words.
    Other(&'static str),
    /// A list.
    List(Vec<Node>),
    /// A table.
    Table(Table),
}

/// A table, in file order.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// Its keys.
    pub entries: Vec<Entry>,
}

/// A key and its value.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The key.
    pub key: String,
    /// Where the key stands.
    pub key_spot: Spot,
    /// The value.
    pub node: Node,
}

impl Node {
    /// What kind of thing it is, for messages.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match &self.value {
            Value::Text(_) => "text",
            Value::Integer(_) => "a whole number",
            Value::Float(_) => "a number",
            Value::Flag(_) => "true or false",
            Value::Other(what) => what,
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
        }
    }

    /// The table that it is, if it is one.
    #[must_use]
    pub fn table(&self) -> Option<&Table> {
        match &self.value {
            Value::Table(table) => Some(table),
            _ => None,
        }
    }

    /// The text that it is, if it is one.
    #[must_use]
    pub fn text(&self) -> Option<&str> {
        match &self.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }
}

impl Table {
    /// A key's entry.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|e| e.key == key)
    }

    /// The same, to be changed.
    pub fn get_mut(&mut self, key: &str) -> Option<&mut Entry> {
        self.entries.iter_mut().find(|e| e.key == key)
    }
}

/// The tree of a parsed table; `shift` is added to every byte range.
#[must_use]
pub fn from_table(table: &DeTable<'_>, source: usize, shift: usize) -> Table {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            key_spot: Spot {
                source,
                span: shifted(key.span(), shift),
            },
            node: from_value(value.get_ref(), value.span(), source, shift),
        })
        .collect();
    entries.sort_by_key(|e| (e.key_spot.span.start, e.key_spot.span.end));
    Table { entries }
}

/// The tree of a parsed value.
#[must_use]
pub fn from_value(value: &DeValue<'_>, span: Range<usize>, source: usize, shift: usize) -> Node {
    let value = match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(n) => {
            i64::from_str_radix(n.as_str(), n.radix()).map_or(Value::Other("a number too large"), Value::Integer)
        }
        DeValue::Float(n) => n.as_str().parse().map_or(Value::Other("not a number"), Value::Float),
        DeValue::Boolean(flag) => Value::Flag(*flag),
        DeValue::Datetime(_) => Value::Other("a date or time of day"),
        DeValue::Array(list) => Value::List(
            list.iter()
                .map(|v| from_value(v.get_ref(), v.span(), source, shift))
                .collect(),
        ),
        DeValue::Table(table) => Value::Table(from_table(table, source, shift)),
    };
    Node {
        value,
        spot: Spot {
            source,
            span: shifted(span, shift),
        },
    }
}

fn shifted(span: Range<usize>, by: usize) -> Range<usize> {
    span.start + by..span.end + by
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_in_file_order_with_spans() {
        let text = "b = 1\na = \"x\"\n[t]\nz = { q = true }\n";
        let (parsed, errors) = DeTable::parse_recoverable(text);
        assert!(errors.is_empty());
        let tree = from_table(parsed.get_ref(), 0, 0);
        let keys: Vec<&str> = tree.entries.iter().map(|e| e.key.as_str()).collect();
        assert_eq!(keys, ["b", "a", "t"]);
        assert_eq!(&text[tree.entries[1].node.spot.span.clone()], "\"x\"");
    }
}
