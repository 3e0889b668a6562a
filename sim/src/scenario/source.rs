//! From bytes to a tree: encoding, TOML, overrides; and the reading as a whole.

use super::reader::Reader;
use super::texts::Texts;
use super::tree::{Spot, Table, from_table};
use super::{Diagnostic, Scenario, overrides, read as sections};

/// Largest file that is worth reading, bytes. A caller checks it before it reads.
pub const MAX_BYTES: u64 = 16 * 1024 * 1024;
/// Faults of TOML itself that are told of one file.
const MOST_SYNTAX: usize = 50;

/// What a scenario is read from.
pub struct Source<'s> {
    /// The file, as the user named it.
    pub name: &'s str,
    /// Its text.
    pub text: &'s str,
    /// Overrides "PATH=VALUE", in order.
    pub overrides: &'s [String],
    /// Reads a data file that the scenario names, as it is written there; the error is why it cannot be read.
    pub files: &'s dyn Fn(&str) -> Result<Vec<u8>, String>,
}

/// The text of a scenario file.
///
/// # Errors
/// If it is empty or not UTF-8: what and where.
pub fn decode<'b>(bytes: &'b [u8], name: &str) -> Result<&'b str, Box<Diagnostic>> {
    let help = "a scenario is a text of TOML; `breathroom new FILE` writes one to start from";
    match std::str::from_utf8(bytes) {
        Ok(text) if text.trim().is_empty() => Err(Box::new(Diagnostic::of_file(
            name,
            "the file is empty",
            Some(help.to_owned()),
        ))),
        Ok(text) => Ok(text),
        Err(error) => {
            let at = error.valid_up_to();
            let good = std::str::from_utf8(&bytes[..at]).unwrap_or("");
            let line_start = good.rfind('\n').map_or(0, |n| n + 1);
            let mut found = Diagnostic::of_file(
                name,
                format!(
                    "the file is not UTF-8 text: byte 0x{:02x} cannot stand here",
                    bytes.get(at).copied().unwrap_or(0)
                ),
                Some("save it as UTF-8".to_owned()),
            );
            found.line = good.bytes().filter(|b| *b == b'\n').count() + 1;
            found.column = good[line_start..].chars().count() + 1;
            found.span = at..at + error.error_len().unwrap_or(1);
            Err(Box::new(found))
        }
    }
}

/// Reads and checks a scenario.
///
/// # Errors
/// Everything that is wrong with it, all at once, in the order of the file; overrides last.
pub fn read(source: &Source<'_>) -> Result<Scenario, Vec<Diagnostic>> {
    if source.text.len() as u64 > MAX_BYTES {
        let message = format!("the file has {} bytes; at most {MAX_BYTES} are read", source.text.len());
        return Err(vec![Diagnostic::of_file(source.name, message, None)]);
    }
    let text = source.text;
    let mut r = Reader::new(Texts::new(source.name, text, source.overrides), source.files);
    if text.trim_start_matches('\u{feff}').trim().is_empty() {
        let help = "`breathroom new FILE` writes a scenario to start from";
        return Err(vec![Diagnostic::of_file(
            source.name,
            "the file is empty",
            Some(help.to_owned()),
        )]);
    }
    let (mut tree, broken, unclosed) = parse(&mut r, text);
    if broken.is_empty() {
        overrides::apply(&mut r, &mut tree, source.overrides);
    }
    let syntax = r.texts.faults.len();
    let scenario = sections::scenario(&mut r, &tree, source.name);
    let mut faults = std::mem::take(&mut r.texts.faults);
    if !broken.is_empty() {
        // What a broken line took with it is not missing, and what was made of it is not meant.
        let told = faults.split_off(syntax);
        let last = if unclosed { broken[0] } else { usize::MAX };
        faults.extend(told.into_iter().filter(|f| {
            let on_broken_line = broken.contains(&f.line) || f.line >= last;
            let of_absence = f.message.contains("has no `") || f.message.starts_with("there is no ");
            !on_broken_line && !of_absence
        }));
    }
    if faults.is_empty() {
        return scenario.ok_or_else(|| vec![Diagnostic::of_file(source.name, "the scenario cannot be read", None)]);
    }
    faults.sort_by(|a, b| {
        // Those of overrides stay in their own order.
        let order = |d: &Diagnostic| {
            if d.file == source.name {
                (false, d.span.start, d.span.end)
            } else {
                (true, 0, 0)
            }
        };
        order(a).cmp(&order(b))
    });
    faults.dedup();
    Err(faults)
}

/// The tree of a text, the lines that are not TOML (after reporting them), and whether a bracket is never closed.
fn parse(r: &mut Reader<'_>, text: &str) -> (Table, Vec<usize>, bool) {
    let (parsed, errors) = toml::de::DeTable::parse_recoverable(text);
    let mut found: Vec<(std::ops::Range<usize>, String)> = errors
        .iter()
        .map(|e| (e.span().unwrap_or(0..0), e.message().to_owned()))
        .collect();
    found.sort_by_key(|(span, _)| span.start);
    let mut lines: Vec<usize> = Vec::new();
    // An array or table that is never closed makes a fault of everything after it: the first is told.
    let unclosed = found.iter().any(|(_, message)| message.starts_with("unclosed"));
    for (span, message) in found {
        let spot = Spot { source: 0, span };
        let line = r.texts.line(&spot);
        if lines.contains(&line) {
            continue;
        }
        if lines.len() == MOST_SYNTAX {
            break;
        }
        lines.push(line);
        let (words, help) = if unclosed {
            (
                "this is not TOML: a bracket before this is not closed".to_owned(),
                String::new(),
            )
        } else {
            (plain(&message), advice(r.texts.slice(&spot), &message))
        };
        let spot = if spot.span.is_empty() {
            around(text, &spot)
        } else {
            spot
        };
        r.texts.fault(&spot, words, help);
        if unclosed {
            break;
        }
    }
    (from_table(parsed.get_ref(), 0, 0), lines, unclosed)
}

/// An empty span made to cover the character it stands at, where there is one on the line.
fn around(text: &str, spot: &Spot) -> Spot {
    let at = spot.span.start.min(text.len());
    let next = text
        .get(at..)
        .and_then(|rest| rest.chars().next())
        .filter(|c| *c != '\n' && *c != '\r');
    Spot {
        source: spot.source,
        span: at..at + next.map_or(0, char::len_utf8),
    }
}

/// The parser's words, without what only a parser wants to know.
fn plain(message: &str) -> String {
    let what = message.split(", expected").next().unwrap_or(message);
    match what {
        "string values must be quoted" => "text and numbers with units stand in quotes".to_owned(),
        "duplicate key" => "this key is there already".to_owned(),
        other => format!("this is not TOML: {other}"),
    }
}

fn advice(slice: &str, message: &str) -> String {
    match message.split(", expected").next().unwrap_or("") {
        "string values must be quoted" => format!("write \"{}\"", slice.trim()),
        "duplicate key" => "a key, or a table in brackets, may be there once".to_owned(),
        "invalid basic string" | "invalid literal string" if slice.is_empty() => {
            "is the closing quote missing?".to_owned()
        }
        _ => String::new(),
    }
}
