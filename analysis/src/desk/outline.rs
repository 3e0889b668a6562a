//! The text of a scenario as parts and fields: what stands in it, where, and which keys of the one table it is.
//!
//! Parts are the tables with a header of their own, in the order of the file; fields are their keys. Tables in braces are taken
//! apart: `walls = { area = .. }` is the field `walls.area`. Every field knows its bytes, by which it is edited.

use std::ops::Range;

use breathroom_sim::scenario::keys::{Key, Kind, ROOT, Section};
use breathroom_sim::text::{Entry, Node, Table, Texts, Value, parse};

use super::typed;

/// A scenario's text, taken apart.
#[derive(Debug, Default)]
pub(super) struct Outline {
    /// In the order of the file; the top level first.
    pub parts: Vec<Part>,
}

/// A table with its keys.
#[derive(Debug)]
pub(super) struct Part {
    /// "compartments.cabin", "tasks.don"; empty at the top level.
    pub path: String,
    /// Its header as written: "[compartments.cabin]".
    pub header: String,
    /// What it may hold.
    pub section: &'static Section,
    /// Bytes of the header; of a table in braces its key.
    pub head: Range<usize>,
    /// The braces it stands in, if it does.
    pub braces: Option<Range<usize>>,
    /// Whether keys can be added as lines below the header.
    pub lines: bool,
    /// Comments above it.
    pub note: String,
    /// Its keys.
    pub fields: Vec<Field>,
}

/// A key and its value.
#[derive(Clone, Debug)]
pub(super) struct Field {
    /// "compartments.cabin.walls.area".
    pub path: String,
    /// As shown in its part: "walls.area".
    pub name: String,
    /// Its row of the table of keys; none of a key that is not known.
    pub key: Option<&'static Key>,
    /// Bytes of key and value.
    pub whole: Range<usize>,
    /// Bytes of the value.
    pub value: Range<usize>,
    /// The braces it stands in, if it does.
    pub braces: Option<Range<usize>>,
    /// The value as a person reads it.
    pub text: String,
    /// A comment at the end of the line or above it.
    pub note: String,
    /// Whether the value can be replaced by another text.
    pub editable: bool,
}

impl Outline {
    /// A text taken apart; of one that is not TOML what can be made out.
    pub fn of(text: &str) -> Self {
        let mut texts = Texts::new("", text, &[]);
        let parsed = parse(&mut texts, text);
        let mut walk = Walk {
            text,
            parts: vec![Part {
                path: String::new(),
                header: String::new(),
                section: &ROOT,
                head: 0..0,
                braces: None,
                lines: true,
                note: head_note(text),
                fields: Vec::new(),
            }],
        };
        let at = At {
            part: 0,
            prefix: String::new(),
            braces: None,
            from: None,
        };
        walk.table(&ROOT, &parsed.tree, "", &at);
        let mut parts = walk.parts;
        parts[1..].sort_by_key(|part| part.head.start);
        let mut outline = Self { parts };
        outline.tell_apart();
        outline
    }

    /// The field at a path.
    pub fn field(&self, path: &str) -> Option<&Field> {
        self.parts
            .iter()
            .flat_map(|part| &part.fields)
            .find(|field| field.path == path)
    }

    /// The part at a path.
    pub fn part(&self, path: &str) -> Option<&Part> {
        self.parts.iter().find(|part| part.path == path)
    }

    /// Makes every path one of its own: of two tables of one id the second is "tasks.don~2".
    fn tell_apart(&mut self) {
        let mut seen: Vec<String> = Vec::new();
        for part in &mut self.parts {
            let mut path = part.path.clone();
            let mut n = 1;
            while seen.contains(&path) {
                n += 1;
                path = format!("{}~{n}", part.path);
            }
            if path != part.path {
                for field in &mut part.fields {
                    field.path = format!("{path}{}", &field.path[part.path.len()..]);
                }
                part.path.clone_from(&path);
            }
            seen.push(path);
        }
    }
}

/// Where a table's keys belong.
struct At {
    part: usize,
    /// "walls." of a table in braces.
    prefix: String,
    braces: Option<Range<usize>>,
    /// Where the first key of a dotted one stands.
    from: Option<usize>,
}

struct Walk<'t> {
    text: &'t str,
    parts: Vec<Part>,
}

/// How a table is written.
#[derive(Clone, Copy, PartialEq)]
enum Written {
    Header,
    Braces,
    /// By dots, or by the headers of what is in it.
    Implied,
}

impl Walk<'_> {
    fn written(&self, node: &Node) -> Written {
        match self.text.as_bytes().get(node.spot.span.start) {
            Some(b'[') => Written::Header,
            Some(b'{') => Written::Braces,
            _ => Written::Implied,
        }
    }

    fn table(&mut self, section: &'static Section, table: &Table, path: &str, at: &At) {
        for entry in &table.entries {
            let key = section.key(&entry.key);
            let own = join(path, &entry.key);
            match (key.map(|key| key.kind), &entry.node.value) {
                (
                    Some(Kind::Table(inner) | Kind::WordOrTable(_, inner) | Kind::NumberOrTable(_, _, inner)),
                    Value::Table(inside),
                ) if self.written(&entry.node) == Written::Header => {
                    self.part(inner, inside, &own, entry, false);
                }
                // An empty table says something by being there.
                (Some(Kind::Table(inner)), Value::Table(inside)) if !inside.entries.is_empty() => {
                    self.flat(inner, inside, &own, entry, at);
                }
                (
                    Some(Kind::Named(inner) | Kind::ForCompartments(inner) | Kind::ForPeople(inner)),
                    Value::Table(names),
                ) => self.named(names, &own, at, |_| inner),
                (Some(Kind::Families(families)), Value::Table(names)) => {
                    self.named(names, &own, at, |table| family(families, table));
                }
                (Some(Kind::Tables(inner)), Value::List(items))
                    if items.iter().any(|item| item.table().is_some())
                        && self.written(&items[0]) == Written::Header
                        && self.text[items[0].spot.span.clone()].starts_with("[[") =>
                {
                    for (n, item) in items.iter().enumerate() {
                        let Value::Table(inside) = &item.value else { continue };
                        let id = inside.get("id").and_then(|id| id.node.text()).map(str::to_owned);
                        let name = id.unwrap_or_else(|| format!("{}", n + 1));
                        let entry = Entry {
                            key: entry.key.clone(),
                            key_spot: item.spot.clone(),
                            node: item.clone(),
                        };
                        self.part(inner, inside, &join(&own, &name), &entry, true);
                    }
                }
                _ => self.field(key, entry, own, at),
            }
        }
    }

    /// One table for each name.
    fn named(&mut self, names: &Table, path: &str, at: &At, section: impl Fn(&Table) -> &'static Section) {
        for entry in &names.entries {
            let own = join(path, &entry.key);
            match &entry.node.value {
                Value::Table(inside) => self.part(section(inside), inside, &own, entry, false),
                _ => self.field(None, entry, own, at),
            }
        }
    }

    fn part(&mut self, section: &'static Section, table: &Table, path: &str, entry: &Entry, list: bool) {
        let written = self.written(&entry.node);
        let head = match written {
            Written::Header => entry.node.spot.span.clone(),
            _ => entry.key_spot.span.clone(),
        };
        let header = match written {
            Written::Header => self.text[head.clone()].to_owned(),
            _ if list => format!("[[{path}]]"),
            _ => format!("[{path}]"),
        };
        let braces = (written == Written::Braces).then(|| entry.node.spot.span.clone());
        let note = without(&above(self.text, head.start, true), section.meaning);
        self.parts.push(Part {
            path: path.to_owned(),
            header,
            section,
            head,
            braces: braces.clone(),
            lines: written == Written::Header,
            note,
            fields: Vec::new(),
        });
        let at = At {
            part: self.parts.len() - 1,
            prefix: String::new(),
            braces,
            from: None,
        };
        self.table(section, table, path, &at);
    }

    /// A table in braces or by dots: its keys as fields of the part it stands in.
    fn flat(&mut self, section: &'static Section, table: &Table, path: &str, entry: &Entry, at: &At) {
        let braces = self.written(&entry.node) == Written::Braces;
        let inside = At {
            part: at.part,
            prefix: format!("{}{}.", at.prefix, entry.key),
            braces: if braces {
                Some(entry.node.spot.span.clone())
            } else {
                at.braces.clone()
            },
            from: (!braces).then(|| at.from.unwrap_or(entry.key_spot.span.start)),
        };
        let first = self.parts[at.part].fields.len();
        self.table(section, table, path, &inside);
        let note = trailing(self.text, entry.node.spot.span.end);
        if braces
            && at.braces.is_none()
            && let Some(field) = self.parts[at.part].fields.get_mut(first)
        {
            field.note = note;
        }
    }

    fn field(&mut self, key: Option<&'static Key>, entry: &Entry, path: String, at: &At) {
        let value = entry.node.spot.span.clone();
        let is_table = matches!(entry.node.value, Value::Table(_));
        let raw = self.text.get(value.clone()).unwrap_or_default();
        let listed = matches!(&entry.node.value, Value::List(items)
            if items.iter().any(|item| item.table().is_some()) && raw.starts_with("[["));
        let editable = (!is_table || raw.starts_with('{')) && !listed;
        let start = at.from.unwrap_or(entry.key_spot.span.start);
        let note = if at.braces.is_some() {
            String::new()
        } else {
            let (over, behind) = (above(self.text, start, false), trailing(self.text, value.end));
            let both = [over, behind].into_iter().filter(|note| !note.is_empty());
            both.collect::<Vec<_>>().join(" ")
        };
        self.parts[at.part].fields.push(Field {
            name: format!("{}{}", at.prefix, entry.key),
            whole: start..value.end,
            braces: at.braces.clone(),
            text: if editable {
                typed::shown(raw, &entry.node.value)
            } else {
                "(a table of its own)".to_owned()
            },
            note: key.map_or_else(|| note.clone(), |key| without(&note, key.meaning)),
            editable,
            path,
            key,
            value,
        });
    }
}

/// The section of a family, by the table's `kind`; the first where that is not known.
fn family(families: &'static [(&'static str, &'static Section)], table: &Table) -> &'static Section {
    let kind = table.get("kind").and_then(|kind| kind.node.text()).unwrap_or_default();
    let found = families.iter().find(|(name, _)| *name == kind);
    found.unwrap_or(&families[0]).1
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

/// Where the line begins that holds a byte.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |n| n + 1)
}

/// Where the line ends that holds a byte, its break included.
pub(super) fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |n| at + n + 1)
}

/// A line's comment, if it is nothing else and no key that was taken out.
fn comment(line: &str) -> Option<&str> {
    let rest = line.trim().strip_prefix('#')?;
    if rest.is_empty() {
        return Some("");
    }
    rest.strip_prefix([' ', '\t']).map(str::trim)
}

/// The comments above a key or (across blank lines) a header.
fn above(text: &str, at: usize, header: bool) -> String {
    let mut lines: Vec<&str> = Vec::new();
    for line in text[..line_start(text, at)].lines().rev() {
        match comment(line) {
            Some(words) => lines.push(words),
            None if header && lines.is_empty() && line.trim().is_empty() => {}
            None => break,
        }
    }
    // What the file begins with is told of the whole file.
    let from_start = !header
        && text[..line_start(text, at)]
            .trim_start_matches('\u{feff}')
            .lines()
            .count()
            == lines.len();
    if from_start {
        return String::new();
    }
    lines.reverse();
    lines.join(" ").trim().to_owned()
}

/// The comment that the file begins with.
fn head_note(text: &str) -> String {
    let lines = text.trim_start_matches('\u{feff}').lines();
    let words: Vec<&str> = lines.map_while(comment).collect();
    let paragraphs = words.split(|line| line.is_empty()).map(|lines| lines.join(" "));
    paragraphs
        .filter(|text| !text.is_empty())
        .collect::<Vec<_>>()
        .join("\n")
}

/// The comment behind a value.
fn trailing(text: &str, end: usize) -> String {
    let rest = text[end..].lines().next().unwrap_or_default();
    rest.trim()
        .strip_prefix('#')
        .map_or_else(String::new, |words| words.trim().to_owned())
}

/// A note without what the page says anyway.
fn without(note: &str, meaning: &str) -> String {
    let mut said = String::new();
    for word in meaning.split_whitespace() {
        said.push_str(word);
        said.push(' ');
    }
    if note.contains(said.trim()) {
        String::new()
    } else {
        note.to_owned()
    }
}
