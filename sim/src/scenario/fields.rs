//! A table of the file seen through its section of the table of keys.
//!
//! Asking for a key checks it, notes it for `check`, and falls back on its default. A fault gives a value that the rest of
//! the reading can go on with; nothing is built once there is one.

use crate::units::{Dimension, show};

use super::Amount;
use super::keys::{Domain, Key, Kind, Need, Section};
use super::num::Num;
use super::reader::Reader;
use super::value::{self, Number, Wanted};
use crate::text::Texts;
use crate::text::{Entry, Node, Spot, Table, Value, from_value};

/// Keys that belong elsewhere: section, key, where.
const ELSEWHERE: &[(&str, &str, &str)] = &[
    (
        "crew.X",
        "suit",
        "a suit has a table of its own, `[suits.NAME]`, by its person",
    ),
    (
        "openings.X",
        "equalise",
        "a task does that: ends = [{ equalise = \"hatch\", over = \"2 min\" }]",
    ),
];

/// A table with its section.
pub(super) struct Fields<'t> {
    pub section: &'static Section,
    pub table: &'t Table,
    /// Path of the table, ids filled in; empty for the top level.
    pub path: String,
    /// Where to report what is missing.
    pub spot: Spot,
    /// Whether its spreads are drawn anew in every turn of a task.
    pub per_turn: bool,
}

impl<'t> Fields<'t> {
    /// The table; keys that the section does not have are reported.
    pub fn new(r: &mut Reader<'_>, section: &'static Section, table: &'t Table, path: &str, spot: &Spot) -> Self {
        for entry in &table.entries {
            let key = entry.key.as_str();
            if section.key(key).is_some() {
                continue;
            }
            let elsewhere = ELSEWHERE.iter().find(|(s, k, _)| (*s, *k) == (section.path, key));
            let help = match elsewhere {
                Some((.., help)) => (*help).to_owned(),
                None => r.texts.meant(key, section.keys.iter().map(|k| k.name)),
            };
            let place = if path.is_empty() {
                "at the top level".to_owned()
            } else {
                format!("in `{path}`")
            };
            r.texts
                .fault(&entry.key_spot, format!("unknown key `{key}` {place}"), help);
        }
        Self {
            section,
            table,
            path: path.to_owned(),
            spot: spot.clone(),
            per_turn: false,
        }
    }

    /// A table that is not in the file, so that every default holds.
    pub fn entry(&self, name: &str) -> Option<&'t Entry> {
        self.table.get(name)
    }

    /// Path of a key.
    pub fn path_of(&self, name: &str) -> String {
        if self.path.is_empty() {
            name.to_owned()
        } else {
            format!("{}.{name}", self.path)
        }
    }

    /// Where a key's value stands, or the table if it does not.
    pub fn spot_of(&self, name: &str) -> Spot {
        self.table
            .get(name)
            .map_or_else(|| self.spot.clone(), |e| e.node.spot.clone())
    }

    fn key(&self, name: &str) -> &'static Key {
        self.section
            .key(name)
            .expect("every key that is asked for is in the table of keys")
    }

    /// Whether an unknown key of the table may be meant for this one: it was reported as such.
    pub fn misspelt(&self, name: &str) -> bool {
        self.table
            .entries
            .iter()
            .any(|e| self.section.key(&e.key).is_none() && Texts::near(&e.key, name))
    }

    /// Reports a key that must be there and is not.
    pub fn missing(&self, r: &mut Reader<'_>, name: &str) {
        if self.misspelt(name) {
            return;
        }
        let place = if self.path.is_empty() {
            "the file".to_owned()
        } else {
            format!("`{}`", self.path)
        };
        let key = self.key(name);
        let help = match key.kind {
            Kind::Table(_) => format!("add a table `[{}]`", self.path_of(name)),
            Kind::Named(_) | Kind::ForCompartments(_) | Kind::ForPeople(_) | Kind::Families(_) => {
                format!("add a table `[{name}.some_name]`")
            }
            _ => format!("add e.g. {name} = {}", key.example),
        };
        r.texts.fault(&self.spot, format!("{place} has no `{name}`"), help);
    }

    /// A number that is required or has a default; NaN after a fault.
    pub fn number(&self, r: &mut Reader<'_>, name: &str) -> Num {
        self.number_full(r, name).map_or(Num::Fixed(f64::NAN), |n| n.num)
    }

    /// A number that need not be there.
    pub fn number_if(&self, r: &mut Reader<'_>, name: &str) -> Option<Num> {
        self.entry(name)?;
        Some(self.number(r, name))
    }

    /// A number with its unit and median; none if it is absent or faulty.
    pub fn number_full(&self, r: &mut Reader<'_>, name: &str) -> Option<Number> {
        let (dimension, domain, spread) = match self.key(name).kind {
            Kind::Number(dimension, domain)
            | Kind::NumberOrTable(dimension, domain, _)
            | Kind::NumberOrName(dimension, domain, _) => (dimension, domain, true),
            Kind::Fixed(dimension, domain) => (dimension, domain, false),
            _ => return None,
        };
        self.number_in(r, name, dimension, domain, spread)
    }

    /// The same, in a dimension that depends on other keys.
    pub fn number_in(
        &self,
        r: &mut Reader<'_>,
        name: &str,
        dimension: Dimension,
        domain: Domain,
        spread: bool,
    ) -> Option<Number> {
        let path = self.path_of(name);
        let wanted = Wanted {
            path: &path,
            dimension,
            domain,
            spread,
            per_turn: self.per_turn,
        };
        if let Some(entry) = self.entry(name) {
            let number = value::number(r, &entry.node, &wanted)?;
            let input = number.num.input();
            let unit = if number.is_per_body_area() {
                number.unit
            } else {
                dimension.si_unit()
            };
            r.note(path.clone(), &entry.node, show(number.median, unit), input);
            r.amounts(number.amount(dimension));
            return Some(number);
        }
        match self.key(name).need {
            Need::Required => {
                self.missing(r, name);
                None
            }
            Need::Absent(_) => None,
            Need::Default(text, source, from_memory) => {
                let node = default_node(text)?;
                let number = value::number(r, &node, &wanted)?;
                let written = text.trim_matches('"');
                r.assume(
                    path.clone(),
                    written,
                    show(number.median, dimension.si_unit()),
                    source,
                    from_memory,
                );
                r.amounts(number.amount(dimension));
                if let (Some(input), Some(last)) = (number.num.input(), r.resolved.last_mut()) {
                    last.input = Some(input);
                }
                Some(number)
            }
        }
    }

    /// true or false, by its default if it is not there.
    pub fn flag(&self, r: &mut Reader<'_>, name: &str) -> bool {
        let Some(entry) = self.entry(name) else {
            let Need::Default(text, source, memory) = self.key(name).need else {
                return false;
            };
            r.assume(self.path_of(name), text, text.to_owned(), source, memory);
            return text == "true";
        };
        if let Value::Flag(flag) = entry.node.value {
            r.note(self.path_of(name), &entry.node, flag.to_string(), None);
            return flag;
        }
        self.wrong(r, name, "true or false");
        false
    }

    /// A whole number, by its default if it is not there; none after a fault.
    pub fn whole(&self, r: &mut Reader<'_>, name: &str) -> Option<i64> {
        let Kind::Whole(least, most) = self.key(name).kind else {
            return None;
        };
        let Some(entry) = self.entry(name) else {
            return match self.key(name).need {
                Need::Default(text, source, memory) => {
                    r.assume(self.path_of(name), text, text.to_owned(), source, memory);
                    let value = text.parse().ok()?;
                    r.amounts(Amount::count(value));
                    Some(value)
                }
                _ => {
                    self.missing(r, name);
                    None
                }
            };
        };
        match entry.node.value {
            Value::Integer(value) if (least..=most).contains(&value) => {
                r.note(self.path_of(name), &entry.node, value.to_string(), None);
                r.amounts(Amount::count(value));
                Some(value)
            }
            Value::Integer(value) => {
                let help = if least == most {
                    format!("it is {least}")
                } else {
                    format!("it lies between {least} and {most}")
                };
                r.texts
                    .fault(&entry.node.spot, format!("`{name}` cannot be {value}"), help);
                None
            }
            Value::Table(_) => {
                let help = "it decides the shape of the run: give one value";
                r.texts
                    .fault(&entry.node.spot, format!("`{name}` cannot be a spread"), help);
                None
            }
            _ => {
                self.wrong(r, name, "a whole number");
                None
            }
        }
    }

    /// Any text, by its default if it is not there; none if absent or faulty.
    pub fn text(&self, r: &mut Reader<'_>, name: &str) -> Option<&'t str> {
        let Some(entry) = self.entry(name) else {
            if matches!(self.key(name).need, Need::Required) {
                self.missing(r, name);
            }
            return None;
        };
        match entry.node.text() {
            Some(text) if !text.trim().is_empty() => {
                r.note(self.path_of(name), &entry.node, text.to_owned(), None);
                Some(text)
            }
            Some(_) => {
                r.texts.fault(
                    &entry.node.spot,
                    format!("`{name}` is empty"),
                    format!("write e.g. {}", self.key(name).example),
                );
                None
            }
            None => {
                self.wrong(r, name, "text");
                None
            }
        }
    }

    /// One of the words of the key, by its default if it is not there; none if absent or faulty.
    pub fn word(&self, r: &mut Reader<'_>, name: &str) -> Option<&'static str> {
        let (Kind::Word(words) | Kind::WordOrTable(words, _)) = self.key(name).kind else {
            return None;
        };
        if self.entry(name).is_none()
            && let Need::Default(text, source, memory) = self.key(name).need
        {
            let text = text.trim_matches('"');
            r.assume(self.path_of(name), text, text.to_owned(), source, memory);
            return words.iter().find(|w| **w == text).copied();
        }
        let text = self.text(r, name)?;
        let found = words.iter().find(|w| **w == text).copied();
        if found.is_none() {
            let help = r.texts.meant(text, words.iter().copied());
            r.resolved.pop();
            r.texts.fault(
                &self.spot_of(name),
                format!("`{text}` is not a word for `{name}`"),
                help,
            );
        }
        found
    }

    /// The index of a name, by its default if it is not there; none if absent or faulty.
    pub fn name(&self, r: &mut Reader<'_>, name: &str) -> Option<usize> {
        let (Kind::Name(what) | Kind::NumberOrName(_, _, what)) = self.key(name).kind else {
            return None;
        };
        if self.entry(name).is_none()
            && let Need::Default(text, source, memory) = self.key(name).need
        {
            let text = text.trim_matches('"');
            r.assume(self.path_of(name), text, text.to_owned(), source, memory);
            return r.known.index(what, text);
        }
        let text = self.text(r, name)?;
        r.refer(what, text, &self.spot_of(name))
    }

    /// The texts of a list of names with their spots; what is not text is reported.
    pub fn names(&self, r: &mut Reader<'_>, name: &str) -> Vec<(&'t str, &'t Node)> {
        let Some(entry) = self.entry(name) else {
            if matches!(self.key(name).need, Need::Required) {
                self.missing(r, name);
            }
            return Vec::new();
        };
        let Value::List(items) = &entry.node.value else {
            self.wrong(r, name, "a list of names");
            return Vec::new();
        };
        r.note(self.path_of(name), &entry.node, String::new(), None);
        let mut list: Vec<(&str, &Node)> = Vec::new();
        for item in items {
            match item.text() {
                Some(text) if list.iter().any(|(other, _)| *other == text) => {
                    r.texts.fault(
                        &item.spot,
                        format!("`{text}` is named twice in `{name}`"),
                        "once is enough",
                    );
                }
                Some(text) => list.push((text, item)),
                None => r
                    .texts
                    .fault(&item.spot, format!("`{name}` takes names, not {}", item.kind()), ""),
            }
        }
        let joined: Vec<&str> = list.iter().map(|(text, _)| *text).collect();
        let joined = joined.join(", ");
        if let Some(last) = r.resolved.last_mut() {
            last.written.clone_from(&joined);
            last.si = joined;
        }
        list
    }

    /// The indices of a list of names.
    pub fn indices(&self, r: &mut Reader<'_>, name: &str) -> Vec<usize> {
        let Kind::Names(what) = self.key(name).kind else {
            return Vec::new();
        };
        let names = self.names(r, name);
        names
            .into_iter()
            .filter_map(|(text, node)| r.refer(what, text, &node.spot))
            .collect()
    }

    /// A sub-table seen through its section; none if absent or no table.
    pub fn sub(&self, r: &mut Reader<'_>, name: &str) -> Option<Fields<'t>> {
        let (Kind::Table(section) | Kind::NumberOrTable(.., section) | Kind::WordOrTable(_, section)) =
            self.key(name).kind
        else {
            return None;
        };
        let Some(entry) = self.entry(name) else {
            if matches!(self.key(name).need, Need::Required) {
                self.missing(r, name);
            }
            return None;
        };
        let Some(table) = entry.node.table() else {
            self.wrong(r, name, "a table");
            return None;
        };
        let mut fields = Fields::new(r, section, table, &self.path_of(name), &entry.key_spot);
        fields.per_turn = self.per_turn;
        Some(fields)
    }

    /// The entries of a table of named tables, each with its table.
    pub fn named(&self, r: &mut Reader<'_>, name: &str) -> Vec<(&'t Entry, &'t Table)> {
        let Some(entry) = self.entry(name) else {
            if matches!(self.key(name).need, Need::Required) {
                self.missing(r, name);
            }
            return Vec::new();
        };
        let Some(table) = entry.node.table() else {
            self.wrong(r, name, &format!("tables: `[{name}.some_name]`"));
            return Vec::new();
        };
        let mut list = Vec::new();
        for item in &table.entries {
            match item.node.table() {
                Some(table) => list.push((item, table)),
                None => {
                    let path = format!("{name}.{}", item.key);
                    let message = format!("`{path}` is {}, not a table", item.node.kind());
                    r.texts.fault(
                        &item.key_spot,
                        message,
                        format!("`[{name}]` holds one table for each name: `[{name}.some_name]`"),
                    );
                }
            }
        }
        list
    }

    /// The tables of a list of tables.
    pub fn tables(&self, r: &mut Reader<'_>, name: &str) -> Vec<(&'t Node, &'t Table)> {
        let Some(entry) = self.entry(name) else {
            return Vec::new();
        };
        let Value::List(items) = &entry.node.value else {
            self.wrong(r, name, "a list of tables");
            return Vec::new();
        };
        let mut list = Vec::new();
        for item in items {
            match item.table() {
                Some(table) => list.push((item, table)),
                None => r
                    .texts
                    .fault(&item.spot, format!("`{name}` takes tables, not {}", item.kind()), ""),
            }
        }
        list
    }

    /// Reports a value of the wrong type.
    pub fn wrong(&self, r: &mut Reader<'_>, name: &str, wanted: &str) {
        let Some(entry) = self.entry(name) else { return };
        let message = format!("`{name}` takes {wanted}, not {}", entry.node.kind());
        let help = match self.key(name).kind {
            Kind::Table(_)
            | Kind::Named(_)
            | Kind::ForCompartments(_)
            | Kind::ForPeople(_)
            | Kind::Families(_)
            | Kind::Tables(_) => String::new(),
            _ => format!("write e.g. {name} = {}", self.key(name).example),
        };
        r.texts.fault(&entry.node.spot, message, help);
    }
}

/// The tree of a default.
pub(super) fn default_node(text: &str) -> Option<Node> {
    let parsed = toml::de::DeValue::parse(text).ok()?;
    Some(from_value(parsed.get_ref(), 0..0, 0, 0))
}
