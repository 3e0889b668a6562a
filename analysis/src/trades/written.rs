//! A value of a trade file as the text of an override: TOML on one line that knows where each of its parts stands.

use std::ops::Range;

use breathroom_sim::text::{Entry, Node, Spot, Texts, Value};

use super::sheet::inside;

/// A value as TOML.
#[derive(Clone, Debug, Default)]
pub(super) struct Written {
    pub text: String,
    /// Parts of the text and where they stand in the file, each before those that it holds.
    parts: Vec<(Range<usize>, Spot)>,
}

impl Written {
    /// A node on one line.
    pub fn of(node: &Node) -> Self {
        let mut written = Self::default();
        written.put(node);
        written
    }

    /// A text that was made, for whatever stands at a spot.
    pub fn made(text: String, spot: &Spot) -> Self {
        let parts = vec![(0..text.len(), spot.clone())];
        Self { text, parts }
    }

    /// Where a part of the text stands in the file.
    pub fn spot(&self, texts: &Texts, part: &Range<usize>) -> Spot {
        // Deeper parts come later: the last that holds it is the smallest.
        let holds = |(range, _): &&(Range<usize>, Spot)| range.start <= part.start && part.end <= range.end;
        let Some((range, spot)) = self.parts.iter().rev().find(holds) else {
            return self.parts.first().map(|(_, spot)| spot.clone()).unwrap_or_default();
        };
        let here = &self.text[range.clone()];
        let Some(bare) = here.strip_prefix('"').and_then(|t| t.strip_suffix('"')) else {
            return spot.clone();
        };
        let offset = range.start + 1;
        if part.start < offset || part.end > range.end - 1 {
            return spot.clone();
        }
        inside(texts, spot, bare, part.start - offset..part.end - offset)
    }

    fn put(&mut self, node: &Node) {
        let (part, start) = (self.parts.len(), self.text.len());
        self.parts.push((0..0, node.spot.clone()));
        match &node.value {
            Value::Text(text) => self.text.push_str(&quoted(text)),
            Value::Integer(n) => self.text.push_str(&n.to_string()),
            Value::Float(x) if x.is_nan() => self.text.push_str("nan"),
            Value::Float(x) => self.text.push_str(&format!("{x:?}")),
            Value::Flag(flag) => self.text.push_str(&flag.to_string()),
            // Told of before: see `strange`.
            Value::Other(_) => self.text.push_str("\"\""),
            Value::List(items) => {
                self.text.push('[');
                for (n, item) in items.iter().enumerate() {
                    self.text.push_str(if n == 0 { "" } else { ", " });
                    self.put(item);
                }
                self.text.push(']');
            }
            Value::Table(table) if table.entries.is_empty() => self.text.push_str("{}"),
            Value::Table(table) => {
                self.text.push_str("{ ");
                for (n, entry) in table.entries.iter().enumerate() {
                    self.text.push_str(if n == 0 { "" } else { ", " });
                    self.put_entry(entry);
                }
                self.text.push_str(" }");
            }
        }
        self.parts[part].0 = start..self.text.len();
    }

    fn put_entry(&mut self, entry: &Entry) {
        let start = self.text.len();
        let bare = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
        if !entry.key.is_empty() && entry.key.chars().all(bare) {
            self.text.push_str(&entry.key);
        } else {
            self.text.push_str(&quoted(&entry.key));
        }
        self.parts.push((start..self.text.len(), entry.key_spot.clone()));
        self.text.push_str(" = ");
        self.put(&entry.node);
    }
}

/// Tells of what no scenario can hold (a date, a number that does not fit), wherever in a value it is; true if there is such.
pub(super) fn strange(texts: &mut Texts, node: &Node) -> bool {
    let before = texts.faults.len();
    match &node.value {
        Value::Other(what) => texts.fault(&node.spot, format!("no value of a scenario is {what}"), ""),
        Value::List(items) => {
            for item in items {
                strange(texts, item);
            }
        }
        Value::Table(table) => {
            for entry in &table.entries {
                strange(texts, &entry.node);
            }
        }
        _ => {}
    }
    texts.faults.len() > before
}

/// A text as people read it: without the quotes of a text that stands alone.
pub(super) fn label(node: &Node) -> String {
    match &node.value {
        Value::Text(text) => text.clone(),
        _ => Written::of(node).text,
    }
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", c as u32)),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use breathroom_sim::text::parse;

    use super::*;

    fn read(text: &str) -> (Texts, Node) {
        let mut texts = Texts::new("a.toml", text, &[]);
        let tree = parse(&mut texts, text).tree;
        assert!(texts.faults.is_empty(), "{:?}", texts.faults);
        let node = tree.get("x").expect("a key x").node.clone();
        (texts, node)
    }

    #[test]
    fn every_kind_of_value_reads_back() {
        let text = "x = [1, -2.5, 1e300, true, 'say \"no\" \\', \"\\u0001\\n\", { \"a b\" = {}, c-1 = [\n 'm',\n ] }]";
        let (_, node) = read(text);
        let written = Written::of(&node).text;
        assert!(!written.contains('\n'), "{written}");
        let (_, again) = read(&format!("x = {written}"));
        assert_eq!(Written::of(&again).text, written);
        let items = |node: &Node| match &node.value {
            Value::List(items) => items.iter().map(|i| format!("{:?}", i.value)).collect::<Vec<_>>(),
            _ => Vec::new(),
        };
        assert_eq!(items(&node)[..6], items(&again)[..6]);
    }

    #[test]
    fn a_part_is_found_where_it_stands() {
        let (texts, node) = read("x = { kind = 'swing-bed', flow = [ \"1 m3/mn\" ] }");
        let written = Written::of(&node);
        assert_eq!(written.text, "{ kind = \"swing-bed\", flow = [\"1 m3/mn\"] }");
        let of = |part: &str| {
            let at = written.text.find(part).expect("a part");
            texts.slice(&written.spot(&texts, &(at..at + part.len()))).to_owned()
        };
        for part in ["m3/mn", "flow", "swing-bed", "kind"] {
            assert_eq!(of(part), part);
        }
        assert_eq!(of("[\"1 m3/mn\"]"), "[ \"1 m3/mn\" ]");
    }

    #[test]
    fn dates_and_numbers_too_large_are_told() {
        let (mut texts, node) = read("x = [1979-05-27, { a = 99999999999999999999 }]");
        assert!(strange(&mut texts, &node));
        assert_eq!(texts.faults.len(), 2);
    }
}
