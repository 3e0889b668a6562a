//! What is wrong with a file, where, and what would be right; and how that looks on paper.
//!
//! A diagnostic carries the line it is about, so that it can be shown without the file at hand.

use std::fmt::Write as _;
use std::ops::Range;

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// A line longer than this (in columns) is shown as the part around the fault.
const WIDEST_LINE: usize = 160;
/// Columns kept in front of the fault when a line is cut.
const KEPT_IN_FRONT: usize = 40;

/// One fault or warning of a scenario file, for the person who wrote it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Diagnostic {
    /// The file it is in, as the user named it (`--set` for an override).
    pub file: String,
    /// Byte range of the offending text in that file; empty if the fault is an absence.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The line it is about, without its end; empty if there is none to show.
    pub source_line: String,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: Option<String>,
}

impl Diagnostic {
    /// A fault of the file as a whole, with no line to show.
    #[must_use]
    pub fn of_file(file: &str, message: impl Into<String>, help: Option<String>) -> Self {
        Self {
            file: file.to_owned(),
            line: 1,
            column: 1,
            message: message.into(),
            help,
            ..Self::default()
        }
    }

    /// The diagnostic as an error: plain text, the offending text underlined, ending in a line break.
    #[must_use]
    pub fn render(&self) -> String {
        self.render_as("error")
    }

    /// The same under another heading ("warning"). A message of several lines keeps them; the layout is stable.
    #[must_use]
    pub fn render_as(&self, heading: &str) -> String {
        let mut out = format!("{heading}: {}\n", self.message);
        let number = self.line.to_string();
        let pad = " ".repeat(number.len());
        let _ = writeln!(out, "{pad}--> {}:{}:{}", self.file, self.line, self.column);
        if self.source_line.is_empty() {
            if let Some(help) = &self.help {
                let _ = writeln!(out, "{pad}  = {help}");
            }
            return out;
        }
        let (shown, before, width) = self.cut();
        let _ = writeln!(out, "{pad} |");
        let _ = writeln!(out, "{number} | {shown}");
        let _ = write!(out, "{pad} | {}{}", " ".repeat(before), "^".repeat(width));
        if let Some(help) = &self.help {
            let _ = write!(out, " {help}");
        }
        out.push('\n');
        out
    }

    /// The line as shown (tabs as four spaces, control characters as `?`, cut where too long), the columns in front of
    /// the fault and the columns underlined.
    fn cut(&self) -> (String, usize, usize) {
        let chars: Vec<char> = self.source_line.chars().collect();
        let start = (self.column.max(1) - 1).min(chars.len());
        let front = printable(&chars[..start]);
        let rest_bytes = front_bytes(&chars[..start])..self.source_line.len();
        let rest = &self.source_line[rest_bytes];
        let mut length = self.span.len().min(rest.len());
        while !rest.is_char_boundary(length) {
            length += 1;
        }
        let marked: Vec<char> = rest[..length].chars().collect();
        let underlined = printable(&marked);
        let tail = printable(&chars[(start + marked.len()).min(chars.len())..]);
        let before = front.width();
        let width = underlined.width().max(1);
        if before + width + tail.width() <= WIDEST_LINE {
            return (format!("{front}{underlined}{tail}"), before, width);
        }
        let (front, before) = if before > KEPT_IN_FRONT {
            let kept = last_columns(&front, KEPT_IN_FRONT);
            let text = format!("... {kept}");
            let columns = text.width();
            (text, columns)
        } else {
            (front, before)
        };
        let room = WIDEST_LINE.saturating_sub(before);
        let shown_mark = first_columns(&underlined, room);
        let shown_tail = first_columns(&tail, room.saturating_sub(shown_mark.width()));
        let dots = if shown_mark.len() + shown_tail.len() < underlined.len() + tail.len() {
            " ..."
        } else {
            ""
        };
        let width = shown_mark.width().max(1);
        (format!("{front}{shown_mark}{shown_tail}{dots}"), before, width)
    }
}

fn front_bytes(chars: &[char]) -> usize {
    chars.iter().map(|c| c.len_utf8()).sum()
}

fn printable(chars: &[char]) -> String {
    let mut out = String::new();
    for &c in chars {
        match c {
            '\t' => out.push_str("    "),
            c if c.is_control() => out.push('?'),
            c => out.push(c),
        }
    }
    out
}

fn first_columns(text: &str, columns: usize) -> &str {
    let mut used = 0;
    for (at, c) in text.char_indices() {
        used += c.width().unwrap_or(0);
        if used > columns {
            return &text[..at];
        }
    }
    text
}

fn last_columns(text: &str, columns: usize) -> &str {
    let mut used = 0;
    for (at, c) in text.char_indices().rev() {
        used += c.width().unwrap_or(0);
        if used > columns {
            return &text[at + c.len_utf8()..];
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(line: &str, span: Range<usize>) -> Diagnostic {
        Diagnostic {
            file: "a.toml".to_owned(),
            column: line[..span.start].chars().count() + 1,
            span,
            line: 12,
            source_line: line.to_owned(),
            message: "unknown key `free_volum`".to_owned(),
            help: Some("did you mean `free_volume`?".to_owned()),
        }
    }

    #[test]
    fn it_underlines_the_text() {
        assert_eq!(
            at("free_volum = \"11.5 m3\"", 0..10).render(),
            "error: unknown key `free_volum`\n  --> a.toml:12:1\n   |\n12 | free_volum = \"11.5 m3\"\n   | ^^^^^^^^^^ did you \
             mean `free_volume`?\n"
        );
    }

    #[test]
    fn wide_characters_and_tabs_keep_the_mark_in_place() {
        let shown = at("\t\"気圧\" = 1", 1..9).render();
        assert!(shown.contains("12 |     \"気圧\" = 1\n"), "{shown}");
        assert!(shown.contains("   |     ^^^^^^ did"), "{shown}");
    }

    #[test]
    fn a_long_line_is_cut_around_the_fault() {
        let line = format!("{}BAD{}", "x".repeat(5000), "y".repeat(5000));
        let shown = at(&line, 5000..5003).render();
        assert!(shown.lines().all(|l| l.width() < 200), "{shown}");
        assert!(shown.contains("BADy"), "{shown}");
    }

    #[test]
    fn a_span_that_ends_in_the_next_line_or_inside_a_character_is_survived() {
        assert!(at("aé", 1..2).render().contains('^'));
        assert!(at("ab", 1..900).render().contains('^'));
    }
}
