//! The text of a scenario and its edits: each changes the bytes of one value, one line or one table, and nothing else.
//!
//! After each edit the new text is taken apart again; an edit that did not do what it was to do is refused, so whatever stands
//! oddly in a file is left as it is. What was typed and is no TOML is kept beside the text, until it is.

use std::collections::BTreeMap;
use std::ops::Range;

use breathroom_sim::scenario::keys::{Key, Kind, Need, ROOT, Section};
use breathroom_sim::text::{Texts, parse};

use super::outline::{Field, Outline, Part, line_end, line_start};
use super::typed::{Wrong, quoted, to_toml};

/// A scenario's text, with what was typed and could not go into it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Document {
    /// TOML.
    pub text: String,
    /// By the path of a field: what was typed there, and why it is no value.
    pub drafts: BTreeMap<String, (String, Wrong)>,
}

/// Why an edit was not made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Refused {
    /// There is no such field or table (any more).
    Gone(String),
    /// It cannot be done: why.
    Cannot(String),
}

impl Document {
    /// A document of a text.
    pub fn new(text: String) -> Self {
        Self {
            text,
            drafts: BTreeMap::new(),
        }
    }

    /// The document with what was typed into a field.
    pub fn typed(&self, path: &str, text: &str) -> Result<Self, Refused> {
        let outline = Outline::of(&self.text);
        let field = found(&outline, path)?;
        match to_toml(text, field.key.map(|key| key.kind)) {
            Ok(toml) => self.with(path, &toml),
            Err(wrong) => {
                let mut next = self.clone();
                next.drafts.insert(path.to_owned(), (text.to_owned(), wrong));
                Ok(next)
            }
        }
    }

    /// The document with a value of TOML in a field.
    pub fn with(&self, path: &str, toml: &str) -> Result<Self, Refused> {
        let outline = Outline::of(&self.text);
        let field = found(&outline, path)?;
        if !field.editable {
            return Err(Refused::Cannot(format!(
                "`{path}` is a table of its own: edit the file"
            )));
        }
        let mut next = self.clone();
        next.drafts.remove(path);
        next.text.replace_range(field.value.clone(), toml);
        let renamed = field.name == "id";
        next.checked(|after| {
            let same = |field: &Field| next.text.get(field.value.clone()) == Some(toml);
            renamed || after.field(path).is_some_and(same)
        })?;
        Ok(next)
    }

    /// The document without a field.
    pub fn without(&self, path: &str) -> Result<Self, Refused> {
        let outline = Outline::of(&self.text);
        let field = found(&outline, path)?;
        if !field.editable {
            return Err(Refused::Cannot(format!(
                "`{path}` is a table of its own: edit the file"
            )));
        }
        let range = match &field.braces {
            Some(braces) => among_braces(&self.text, &field.whole, braces),
            None => line_start(&self.text, field.whole.start)..line_end(&self.text, field.whole.end),
        };
        let mut next = self.clone();
        next.drafts.remove(path);
        next.text.replace_range(range, "");
        next.checked(|after| after.field(path).is_none())?;
        Ok(next)
    }

    /// The document with a key more in a part, with the key's example as its value.
    pub fn added(&self, part: &str, name: &str) -> Result<Self, Refused> {
        let outline = Outline::of(&self.text);
        let part = outline
            .part(part)
            .ok_or_else(|| Refused::Gone(format!("there is no `{part}` any more")))?;
        let addable = missing(part);
        let Some((_, key)) = addable.into_iter().find(|(known, _)| known == name) else {
            return Err(Refused::Gone(format!("`{name}` cannot be added to {}", part.header)));
        };
        let path = if part.path.is_empty() {
            name.to_owned()
        } else {
            format!("{}.{name}", part.path)
        };
        let value = starting(key);
        let mut next = self.clone();
        let table = name.rsplit_once('.').map(|(table, _)| table);
        let braces = table.and_then(|table| {
            let inside = format!("{table}.");
            let empty = part.fields.iter().find(|field| field.name == table);
            let other = part.fields.iter().find(|field| field.name.starts_with(&inside));
            let empty = empty.map(|field| field.value.clone());
            empty.or_else(|| other.and_then(|field| field.braces.clone()))
        });
        match (braces, &part.braces) {
            (Some(braces), _) => into_braces(&mut next.text, &braces, &format!("{} = {value}", key.name)),
            (None, Some(braces)) => into_braces(&mut next.text, braces, &format!("{name} = {value}")),
            (None, None) if part.lines => {
                let at = behind(&self.text, part);
                insert_lines(&mut next.text, at, &format!("{name} = {value}"));
            }
            _ => return Err(Refused::Cannot(format!("nothing can be added to {} here", part.header))),
        }
        next.checked(|after| {
            let inside = format!("{path}.");
            let shows = |field: &Field| field.path == path || field.path.starts_with(&inside);
            after.parts.iter().flat_map(|part| &part.fields).any(shows)
        })?;
        Ok(next)
    }

    /// The document with a table more, with what it must have: a name's of a section with names, or one of a list.
    pub fn with_part(&self, group: &str, name: &str) -> Result<Self, Refused> {
        let Some(group) = groups().into_iter().find(|known| known.path == group) else {
            return Err(Refused::Gone(format!("there is no table `{group}`")));
        };
        let name = name.trim();
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
        if group.named && (name.is_empty() || name.len() > 60 || !name.chars().all(plain)) {
            let message = "a name has letters of A to Z, digits, `_` and `-`, at least one and at most 60";
            return Err(Refused::Cannot(message.to_owned()));
        }
        let outline = Outline::of(&self.text);
        let inside = format!("{}.", group.path);
        let path = if group.named {
            format!("{}.{name}", group.path)
        } else if group.list {
            // Tables of a list without ids are told apart by their numbers.
            let there = outline.parts.iter().filter(|part| part.path.starts_with(&inside));
            format!("{}.{}", group.path, there.count() + 1)
        } else {
            group.path.to_owned()
        };
        if outline.part(&path).is_some() {
            return Err(Refused::Cannot(format!("`{path}` is there already")));
        }
        let mut lines = vec![if group.list {
            format!("[[{}]]", group.path)
        } else {
            format!("[{path}]")
        }];
        for key in group
            .section
            .keys
            .iter()
            .filter(|key| matches!(key.need, Need::Required))
        {
            let value = match (key.kind, key.name, group.family) {
                (Kind::Id, ..) => quoted(name),
                (_, "kind", Some(family)) => quoted(family),
                _ => starting(key),
            };
            lines.push(format!("{} = {value}", key.name));
        }
        let alike = outline
            .parts
            .iter()
            .rev()
            .find(|part| part.path.starts_with(&inside) && part.lines);
        let at = alike.map_or(self.text.len(), |part| behind(&self.text, part));
        let mut next = self.clone();
        lines.insert(0, String::new());
        insert_lines(&mut next.text, at, &lines.join(newline(&self.text)));
        next.checked(|after| after.part(&path).is_some() && after.parts.len() == outline.parts.len() + 1)?;
        Ok(next)
    }

    /// The document without a table and what is in it. Comments above it stay.
    pub fn without_part(&self, path: &str) -> Result<Self, Refused> {
        let outline = Outline::of(&self.text);
        let part = outline
            .part(path)
            .filter(|part| !part.path.is_empty())
            .ok_or_else(|| Refused::Gone(format!("there is no `{path}` any more")))?;
        let inside = format!("{path}.");
        let gone = |part: &&Part| part.path == path || part.path.starts_with(&inside);
        if !part.lines || !outline.parts.iter().filter(gone).all(|part| part.lines) {
            return Err(Refused::Cannot(format!(
                "{} cannot be taken out here: edit the file",
                part.header
            )));
        }
        let mut next = self.clone();
        for part in outline.parts.iter().rev().filter(gone) {
            let range = line_start(&self.text, part.head.start)..behind(&self.text, part);
            next.text.replace_range(range, "");
        }
        next.drafts.retain(|field, _| !field.starts_with(&inside));
        let taken = outline.parts.iter().filter(gone).count();
        next.checked(|after| after.parts.len() + taken == outline.parts.len())?;
        Ok(next)
    }

    /// The text as a file, what was typed and is no TOML as comments at its end.
    pub fn whole(&self) -> String {
        let mut text = self.text.clone();
        for (path, (typed, _)) in &self.drafts {
            let typed = typed.split_whitespace().collect::<Vec<_>>().join(" ");
            let at = text.len();
            insert_lines(
                &mut text,
                at,
                &format!("# typed and not taken, since it is no TOML: {path} = {typed}"),
            );
        }
        text
    }

    /// Whether the text is TOML and holds what it was to hold.
    fn checked(&self, holds: impl Fn(&Outline) -> bool) -> Result<(), Refused> {
        let mut texts = Texts::new("", &self.text, &[]);
        let parsed = parse(&mut texts, &self.text);
        if parsed.broken.is_empty() && holds(&Outline::of(&self.text)) {
            Ok(())
        } else {
            let message = "this place of the file cannot be edited here: edit the file itself";
            Err(Refused::Cannot(message.to_owned()))
        }
    }
}

fn found<'o>(outline: &'o Outline, path: &str) -> Result<&'o Field, Refused> {
    outline
        .field(path)
        .ok_or_else(|| Refused::Gone(format!("there is no `{path}` any more")))
}

/// The keys that a part may have and has not, by the name under which they are added: "walls.cold_spot" of a table that is
/// there in braces.
pub(super) fn missing(part: &Part) -> Vec<(String, &'static Key)> {
    let mut list = Vec::new();
    lacking(part, part.section, "", &mut list);
    list
}

fn lacking(part: &Part, section: &'static Section, prefix: &str, list: &mut Vec<(String, &'static Key)>) {
    for key in section.keys {
        let name = format!("{prefix}{}", key.name);
        let inside = format!("{name}.");
        let there = part.fields.iter().find(|field| field.name == name);
        let empty = there.is_some_and(|field| field.text.starts_with('{') && !field.text.contains('='));
        match key.kind {
            Kind::Table(inner) if empty || part.fields.iter().any(|field| field.name.starts_with(&inside)) => {
                lacking(part, inner, &inside, list);
            }
            _ if there.is_some() => {}
            // Tables with a header are parts, not keys.
            Kind::Named(_) | Kind::ForCompartments(_) | Kind::ForPeople(_) | Kind::Families(_) => {}
            Kind::Tables(_) | Kind::Table(_) if part.path.is_empty() || part.path == "limits" => {}
            _ => list.push((name, key)),
        }
    }
}

/// What stands in a field that was just added: its default, else its example.
pub(super) fn starting(key: &Key) -> String {
    match (key.need, key.kind) {
        (Need::Default(value, ..), _) => value.to_owned(),
        (_, Kind::Table(_)) if key.example == "{}" => "{ }".to_owned(),
        _ => key.example.to_owned(),
    }
}

/// A kind of table that can be added.
#[derive(Clone, Debug)]
pub(super) struct Group {
    /// "crew", "removal", "tasks", "limits.rule".
    pub path: &'static str,
    /// Its section; of a family the first one.
    pub section: &'static Section,
    /// The family of a device.
    pub family: Option<&'static str>,
    /// A list of tables.
    pub list: bool,
    /// It has a name or an id.
    pub named: bool,
}

/// Every kind of table that a file may have at its top.
pub(super) fn groups() -> Vec<Group> {
    let mut list = Vec::new();
    for key in ROOT.keys {
        let (section, family, is_list, named) = match key.kind {
            Kind::Table(section) => (section, None, false, false),
            Kind::Named(section) | Kind::ForCompartments(section) | Kind::ForPeople(section) => {
                (section, None, false, true)
            }
            Kind::Families(families) => (families[0].1, Some(families[0].0), false, true),
            Kind::Tables(section) => (section, None, true, section.key("id").is_some()),
            _ => continue,
        };
        list.push(Group {
            path: key.name,
            section,
            family,
            list: is_list,
            named,
        });
    }
    list
}

/// A key with its value and one comma.
fn among_braces(text: &str, whole: &Range<usize>, braces: &Range<usize>) -> Range<usize> {
    let rest = &text[whole.end..braces.end];
    let blank = rest.len() - rest.trim_start().len();
    if rest[blank..].starts_with(',') {
        let after = &rest[blank + 1..];
        let more = after.len() - after.trim_start_matches([' ', '\t']).len();
        return whole.start..whole.end + blank + 1 + more;
    }
    let front = &text[braces.start..whole.start];
    let trimmed = front.trim_end();
    if trimmed.ends_with(',') {
        braces.start + trimmed.len() - 1..whole.end
    } else {
        // The only key: with the blanks in front of it.
        braces.start + trimmed.len()..whole.end
    }
}

fn into_braces(text: &mut String, braces: &Range<usize>, what: &str) {
    let inner = &text[braces.start + 1..braces.end - 1];
    let kept = inner.trim_end();
    let at = braces.start + 1 + kept.len();
    let tail = if inner.len() == kept.len() { " " } else { "" };
    let joint = match kept.trim().chars().last() {
        None | Some(',') => " ",
        Some(_) => ", ",
    };
    let piece = format!("{joint}{what}{tail}");
    text.insert_str(at, &piece);
}

/// Behind the last line of a part's own keys, its break included.
fn behind(text: &str, part: &Part) -> usize {
    let ends = part.fields.iter().filter(|field| field.editable).map(|field| {
        let inside = field.braces.as_ref().map_or(0, |braces| braces.end);
        field.value.end.max(inside)
    });
    let last = ends.max().unwrap_or(part.head.end);
    if part.path.is_empty() && part.fields.is_empty() {
        return if text.starts_with('\u{feff}') { 3 } else { 0 };
    }
    line_end(text, last)
}

fn newline(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

fn insert_lines(text: &mut String, at: usize, lines: &str) {
    let end = newline(text);
    let lead = if at > 0 && !text[..at].ends_with(['\n', '\u{feff}']) {
        end
    } else {
        ""
    };
    let piece = format!("{lead}{lines}{end}");
    text.insert_str(at, &piece);
}
