//! A book as Markdown with tables (GitHub Flavored Markdown Spec 0.29, section 4.10), to paste into a page.
//!
//! Whatever a person wrote (titles, names) is escaped, so that it reads as it stands and breaks no table.

use std::fmt::Write as _;

use super::{Book, page};
use crate::results::table::Table;

/// The text, line break at the end.
#[must_use]
pub fn write(book: &Book<'_>) -> String {
    let mut out = format!("# {}\n", escaped(&book.title));
    for sentence in &book.answer {
        let _ = write!(out, "\n{}\n", escaped(sentence));
    }
    for table in &book.sheets {
        sheet(&mut out, table);
    }
    let _ = write!(out, "\n{}\n\n## Where this comes from\n\n", page::FIGURES);
    for (what, value) in &book.stamp {
        let _ = writeln!(out, "- {}: {}", escaped(what), escaped(value));
    }
    let _ = write!(out, "\n---\n\n{}\n", escaped(&book.caution));
    out
}

fn sheet(out: &mut String, table: &Table<'_>) {
    let columns = page::columns(table);
    let _ = write!(out, "\n## {}\n\n{}\n\n", escaped(table.name), escaped(&table.title));
    let headers = columns.iter().map(|(_, column)| escaped(&column.header()));
    let rules = columns.iter().map(|(_, column)| {
        let rule = if page::is_number(column) { "---:" } else { "---" };
        rule.to_owned()
    });
    line(out, headers);
    line(out, rules);
    for row in page::rows(table) {
        let cells = columns.iter().map(|&(at, column)| {
            let text = escaped(&page::text(&row[at]));
            if row[at].stands_out(column.mark) {
                format!("**{text}**")
            } else {
                text
            }
        });
        line(out, cells);
    }
    out.push('\n');
    for (_, column) in columns {
        let _ = writeln!(out, "- **{}**: {}", escaped(&column.header()), escaped(&column.meaning));
    }
}

fn line(out: &mut String, cells: impl Iterator<Item = String>) {
    out.push('|');
    for cell in cells {
        let _ = write!(out, " {cell} |");
    }
    out.push('\n');
}

/// Text that reads as it stands, on one line.
fn escaped(text: &str) -> String {
    let text = text.trim();
    let mut out = String::with_capacity(text.len());
    let mut before = None;
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        let inside_word =
            before.is_some_and(char::is_alphanumeric) && rest.peek().is_some_and(|after| after.is_alphanumeric());
        match c {
            '\r' if rest.peek() == Some(&'\n') => {}
            '\n' | '\r' => out.push_str("<br>"),
            '<' => out.push_str("&lt;"),
            // What would begin a character reference.
            '&' if rest
                .peek()
                .is_some_and(|after| after.is_ascii_alphanumeric() || *after == '#') =>
            {
                out.push_str("&amp;");
            }
            '|' | '*' | '`' | '\\' | '~' => out.extend(['\\', c]),
            // `co2_efficiency` is no emphasis, and is found by who looks for it.
            '_' if !inside_word => out.push_str("\\_"),
            // What would begin a list, a heading or a link.
            '#' | '-' | '+' if before.is_none() && rest.peek() == Some(&' ') => out.extend(['\\', c]),
            '!' if rest.peek() == Some(&'[') => out.push_str("\\!"),
            ']' if matches!(rest.peek(), Some('(' | '[')) => out.push_str("\\]"),
            _ => out.push(c),
        }
        before = Some(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::results::book::sample::book;

    #[test]
    fn what_people_wrote_reads_as_it_stands() {
        for (text, expected) in [
            ("a|b", "a\\|b"),
            ("co2_efficiency", "co2_efficiency"),
            ("_x_ *y* `z`", "\\_x\\_ \\*y\\* \\`z\\`"),
            ("a\r\nb\nc", "a<br>b<br>c"),
            ("<b> & \\ &lt;", "&lt;b> & \\\\ &amp;lt;"),
            ("- no list", "\\- no list"),
            ("-0.08", "-0.08"),
            ("[a](b)", "[a\\](b)"),
            ("margin [mmHg]", "margin [mmHg]"),
        ] {
            assert_eq!(escaped(text), expected, "{text:?}");
        }
    }

    #[test]
    fn tables_are_rounded_and_what_counts_is_bold() {
        let text = write(&book());
        let table: Vec<&str> = text.lines().filter(|line| line.starts_with('|')).collect();
        assert_eq!(
            table[..4],
            [
                "| option | fans | flow [m3/min] | margin [mmHg] | met | front |",
                "| --- | ---: | ---: | ---: | --- | --- |",
                "| =1+1 | 1 | 0.72 | **-0.080** | **NO** | no |",
                "| a\\|b & \"c\"<br>50 % | 2 | 1.235 | 2.4 | yes | **yes** |",
            ]
        );
        // Every row of a table has as many cells as its header.
        let cells = |line: &str| line.replace("\\|", "").matches('|').count();
        assert!(table[..7].iter().all(|line| cells(line) == 7), "{text}");
        assert!(!text.contains("half-width"), "a column of detail: {text}");
        for words in [
            "# A trade of T\\*",
            "Option 2 is",
            "- **met**: ",
            "- seed: 1",
            "design aid",
        ] {
            assert!(text.contains(words), "{words}: {text}");
        }
    }
}
