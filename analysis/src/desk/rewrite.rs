//! Values written into the text of a scenario by a command: each edit replaces one value, adds one key or one `[[together]]`.
//!
//! ```text
//! text + edits --Document, edit by edit--> new text + what changed, with its line
//! ```
//!
//! Comments, order and line ends stay, as in the desk. A key that is not there is added to its table with that value. Spreads
//! that go together are a group of their own; where the file has a group of the very same values, its correlations are replaced, and where
//! it has one that shares only some of them nothing is written and that is said. Knows no files: the text is read again by the reader of
//! scenarios before it is put anywhere (`cli/into.rs`).

use super::document::{Document, Refused};
use super::outline::{Outline, Part};
use super::typed::quoted;

/// What is to be written.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Edits {
    /// Paths of fields, as in `--set`, each with a value in TOML.
    pub values: Vec<(String, String)>,
    /// Spreads that go together.
    pub together: Vec<Together>,
}

/// A group of spreads that go together.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// Their paths.
    pub inputs: Vec<String>,
    /// Their rank correlations, a row for each.
    pub rank_correlation: Vec<Vec<f64>>,
}

/// What an edit has changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The field.
    pub path: String,
    /// Its line in the new text, from 1.
    pub line: usize,
    /// What stood there, in TOML; empty for a key that was not there.
    pub before: String,
    /// What stands there now.
    pub after: String,
}

/// The new text, what changed, and what was left as it was, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rewritten {
    /// TOML.
    pub text: String,
    /// In the order of the edits.
    pub changes: Vec<Change>,
    /// Groups that could not be written, and why.
    pub left: Vec<String>,
}

/// A text with edits made.
///
/// # Errors
/// Every edit that cannot be made, and why.
pub fn rewritten(text: &str, edits: &Edits) -> Result<Rewritten, Vec<String>> {
    let mut document = Document::new(text.to_owned());
    let mut refused = Vec::new();
    let mut done: Vec<(String, String, String)> = Vec::new();
    for (path, toml) in &edits.values {
        match one(&document, path, toml) {
            Ok((next, before)) => {
                document = next;
                done.push((path.clone(), before, toml.clone()));
            }
            Err(why) => refused.push(why),
        }
    }
    let mut left = Vec::new();
    for group in &edits.together {
        match together(&document, group) {
            Ok((next, path, before)) => {
                document = next;
                done.push((path, before, ranks(group)));
            }
            Err(Refused::Gone(why)) => left.push(why),
            Err(Refused::Cannot(why)) => refused.push(why),
        }
    }
    if !refused.is_empty() {
        return Err(refused);
    }
    let outline = Outline::of(&document.text);
    let line = |path: &str| {
        let at = outline.field(path).map_or(0, |field| field.value.start);
        document.text[..at].matches('\n').count() + 1
    };
    Ok(Rewritten {
        changes: done
            .into_iter()
            .map(|(path, before, after)| Change {
                line: line(&path),
                path,
                before,
                after,
            })
            .collect(),
        text: document.text,
        left,
    })
}

/// One value put in its place; what stood there.
fn one(document: &Document, path: &str, toml: &str) -> Result<(Document, String), String> {
    let words = |refused: Refused| match refused {
        Refused::Gone(why) | Refused::Cannot(why) => why,
    };
    let outline = Outline::of(&document.text);
    if let Some(field) = outline.field(path) {
        let before = document.text[field.value.clone()].to_owned();
        return document.with(path, toml).map(|next| (next, before)).map_err(words);
    }
    let inside = |part: &&Part| path.strip_prefix(&*part.path).is_some_and(|rest| rest.starts_with('.'));
    let parts = outline.parts.iter().filter(inside);
    let Some(part) = parts.max_by_key(|part| part.path.len()) else {
        return Err(format!(
            "there is no `{path}` in this file, nor a table that could hold it"
        ));
    };
    let name = &path[part.path.len() + 1..];
    let next = document.added(&part.path, name).map_err(words)?;
    next.with(path, toml).map(|next| (next, String::new())).map_err(words)
}

/// A group put in its place: its path, and the correlations that stood there.
///
/// `Refused::Gone` says that a group of the file is in the way.
fn together(document: &Document, group: &Together) -> Result<(Document, String, String), Refused> {
    let outline = Outline::of(&document.text);
    let groups = outline.parts.iter().filter(|part| part.path.starts_with("together."));
    let mut count = 0;
    for part in groups {
        count += 1;
        let value = |name: &str| {
            let field = part.fields.iter().find(|field| field.name == name);
            field.map_or("", |field| &document.text[field.value.clone()])
        };
        let inputs = value("inputs");
        let shared = group
            .inputs
            .iter()
            .filter(|input| inputs.contains(&quoted(input)))
            .count();
        if shared == 0 {
            continue;
        }
        let named = inputs.matches('"').count() / 2;
        if shared < group.inputs.len() || shared < named {
            let line = document.text[..part.head.start].matches('\n').count() + 1;
            return Err(Refused::Gone(format!(
                "the correlation of {} was not written: the `[[together]]` in line {line} names some of them with others",
                group.inputs.join(" and ")
            )));
        }
        let before = value("rank_correlation").to_owned();
        let path = format!("{}.rank_correlation", part.path);
        let next = document.with(&format!("{}.inputs", part.path), &names(group))?;
        return Ok((next.with(&path, &ranks(group))?, path, before));
    }
    let next = document.with_part("together", "")?;
    let part = format!("together.{}", count + 1);
    let path = format!("{part}.rank_correlation");
    let next = next.with(&format!("{part}.inputs"), &names(group))?;
    Ok((next.with(&path, &ranks(group))?, path, String::new()))
}

fn names(group: &Together) -> String {
    let names: Vec<String> = group.inputs.iter().map(|input| quoted(input)).collect();
    format!("[{}]", names.join(", "))
}

/// The correlations in TOML: one number for two.
fn ranks(group: &Together) -> String {
    if let [first, _] = &group.rank_correlation[..]
        && let [_, r] = first[..]
    {
        return format!("{r:?}");
    }
    let rows: Vec<String> = group.rank_correlation.iter().map(|row| format!("{row:?}")).collect();
    format!("[{}]", rows.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# mine\nformat = 1\n\n[removal.s]\nkind = \"sorbent\" # a canister\nserves = \"cabin\"\nflow = \"1 m3/min\"\n\n\
                        [[tasks]]\nid = \"don\"\nduration = \"1 h\" # by the plan\n";

    fn edits(values: &[(&str, &str)]) -> Edits {
        Edits {
            values: values.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect(),
            together: Vec::new(),
        }
    }

    fn group(inputs: &[&str], r: f64) -> Together {
        Together {
            inputs: inputs.iter().map(|&input| input.to_owned()).collect(),
            rank_correlation: vec![vec![1.0, r], vec![r, 1.0]],
        }
    }

    #[test]
    fn a_value_is_replaced_and_a_key_is_added_with_all_else_as_it_was() {
        let spread = "{ normal = [\"2 %\", \"0.1 %\"], within = [\"0 %\", \"100 %\"] }";
        let new = rewritten(
            TEXT,
            &edits(&[("tasks.don.duration", "\"50 min\""), ("removal.s.bypass", spread)]),
        )
        .expect("written");
        let wanted = TEXT
            .replace("\"1 h\"", "\"50 min\"")
            .replace("m3/min\"\n", &format!("m3/min\"\nbypass = {spread}\n"));
        assert_eq!(new.text, wanted);
        let told: Vec<(usize, &str)> = new
            .changes
            .iter()
            .map(|change| (change.line, &*change.before))
            .collect();
        assert_eq!(told, [(12, "\"1 h\""), (8, "")]);
    }

    #[test]
    fn what_has_no_place_is_refused_all_of_it() {
        let refused = rewritten(
            TEXT,
            &edits(&[
                ("removal.x.flow", "1"),
                ("removal.s.colour", "1"),
                ("tasks.don.id", "\"a"),
            ]),
        )
        .expect_err("no place");
        assert_eq!(refused.len(), 3, "{refused:?}");
    }

    #[test]
    fn groups_are_added_replaced_or_left() {
        let mut wanted = edits(&[]);
        wanted.together = vec![group(&["a.b", "c.d"], 0.5)];
        let first = rewritten(TEXT, &wanted).expect("added");
        assert!(
            first
                .text
                .ends_with("\n[[together]]\ninputs = [\"a.b\", \"c.d\"]\nrank_correlation = 0.5\n"),
            "{}",
            first.text
        );
        wanted.together = vec![group(&["c.d", "a.b"], -0.25)];
        let second = rewritten(&first.text, &wanted).expect("replaced");
        assert!(
            second
                .text
                .ends_with("inputs = [\"c.d\", \"a.b\"]\nrank_correlation = -0.25\n")
        );
        assert_eq!(second.changes[0].before, "0.5");
        wanted.together = vec![group(&["a.b", "e.f"], 0.5)];
        let third = rewritten(&second.text, &wanted).expect("left");
        assert_eq!((third.text, third.left.len()), (second.text, 1));
    }
}
