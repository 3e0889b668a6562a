//! From bytes to a tree: encoding and TOML, with everything that is wrong told at once.

use super::tree::from_table;
use super::{Diagnostic, Spot, Table, Texts};

/// Faults of TOML itself that are told of one file.
const MOST_SYNTAX: usize = 50;

/// The text of a file; `help` says what it should be.
///
/// # Errors
/// If it is empty or not UTF-8: what and where.
pub fn decode<'b>(bytes: &'b [u8], name: &str, help: &str) -> Result<&'b str, Box<Diagnostic>> {
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

/// What came of a text.
pub struct Parsed {
    /// Its tree, without what could not be read.
    pub tree: Table,
    /// Lines, from 1, that are not TOML; each is reported.
    pub broken: Vec<usize>,
    /// A bracket is never closed.
    pub unclosed: bool,
}

/// Parses the text of source 0; what is not TOML is reported.
pub fn parse(texts: &mut Texts, text: &str) -> Parsed {
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
        let line = texts.line(&spot);
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
            (plain(&message), advice(texts.slice(&spot), &message))
        };
        let spot = if spot.span.is_empty() {
            around(text, &spot)
        } else {
            spot
        };
        texts.fault(&spot, words, help);
        if unclosed {
            break;
        }
    }
    Parsed {
        tree: from_table(parsed.get_ref(), 0, 0),
        broken: lines,
        unclosed,
    }
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
