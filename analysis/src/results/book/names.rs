//! Names of worksheets, and texts, as short as a workbook can hold.

use super::Book;

/// Longest name of a worksheet, in UTF-16 units.
const LONGEST_NAME: usize = 31;

/// Names of worksheets: at most 31 characters, none that is forbidden or taken, told apart by a number where they were cut.
pub fn names(book: &Book<'_>) -> Vec<String> {
    let mut taken: Vec<String> = ["history", "columns", "provenance"].map(str::to_owned).to_vec();
    let mut names = Vec::with_capacity(book.sheets.len());
    for sheet in &book.sheets {
        let allowed = sheet.name.replace(['[', ']', ':', '*', '?', '/', '\\', '\''], "-");
        let first = cut(&allowed, LONGEST_NAME, "");
        let numbered = (2..).map(|k: u32| {
            let end = format!(" {k}");
            format!("{}{end}", cut(&allowed, LONGEST_NAME - end.len(), ""))
        });
        let free = |name: &String| !name.is_empty() && !taken.contains(&name.to_lowercase());
        let name = [first].into_iter().chain(numbered).find(free).unwrap_or_default();
        taken.push(name.to_lowercase());
        names.push(name);
    }
    names
}

/// A text cut to so many UTF-16 units, `end` among them where it was cut.
pub fn cut(text: &str, most: usize, end: &str) -> String {
    if text.encode_utf16().count() <= most {
        return text.to_owned();
    }
    let mut left = most - end.encode_utf16().count();
    let fits = |c: &char| {
        let fits = c.len_utf16() <= left;
        if fits {
            left -= c.len_utf16();
        }
        fits
    };
    let kept: String = text.chars().take_while(fits).collect();
    format!("{}{end}", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::results::table::{Column, Table};

    #[test]
    fn a_name_too_long_forbidden_or_taken_is_changed() {
        let long = "a-name-that-is-forty-characters-long-yes";
        let sheet = |name| Table::new(name, "T.", vec![Column::text("a", "A.")], 0, |_, _| {});
        let book = Book {
            name: "x",
            title: String::new(),
            answer: vec![],
            stamp: vec![],
            caution: String::new(),
            sheets: [
                long,
                "a-name-that-is-forty-characters-long-no",
                "History",
                "columns",
                "a/b",
                "A-B",
            ]
            .map(sheet)
            .into(),
        };
        assert_eq!(
            names(&book),
            [
                "a-name-that-is-forty-characters",
                "a-name-that-is-forty-characte 2",
                "History 2",
                "columns 2",
                "a-b",
                "A-B 2"
            ]
        );
        let bytes = crate::results::book::xlsx(&book).expect("the rules for names are kept");
        assert!(bytes.starts_with(b"PK"));
    }

    #[test]
    fn text_is_cut_by_what_a_cell_can_hold() {
        assert_eq!(cut("abc", 3, "\u{2026}"), "abc");
        assert_eq!(cut("abcd", 3, "\u{2026}"), "ab\u{2026}");
        // Two units each.
        assert_eq!(cut("\u{1f600}\u{1f600}", 3, ""), "\u{1f600}");
    }
}
