//! A table of results as a table in a page.

use super::page::{Head, Part, Sheet, SheetCell};
use crate::results::frame::Frame;
use crate::results::numbers::short;
use crate::results::table::{Cell, Kind, Mark};

/// Rows from which on a table can be sorted and filtered: of fewer the eye sees as much.
const SORTS_FROM: usize = 6;
/// Words longer than this are broken into lines.
const LONG: usize = 26;

/// Tables of a page by the names of their frames, with what is said of each and whether it is folded; those without rows are left out.
/// Each has the id `table-NAME`, since a figure may have the name.
#[must_use]
pub fn sheets(frames: &[(&str, Frame)], wanted: &[(&str, &str, bool)]) -> Vec<Part> {
    let one = |&(name, caption, closed): &(&str, &str, bool)| {
        let frame = frames
            .iter()
            .find(|(other, _)| *other == name)
            .map(|(_, frame)| frame)?;
        let sheet = sheet(&format!("table-{name}"), caption, frame)?;
        Some(Part::Table(Sheet { closed, ..sheet }))
    };
    wanted.iter().filter_map(one).collect()
}

/// A table, without the columns that are empty: what stands out in it does so here, numbers are sorted by all their digits, and columns of
/// detail are hidden until they are asked for. `None` if it has no rows.
#[must_use]
pub fn sheet(id: &str, caption: &str, frame: &Frame) -> Option<Sheet> {
    let has = |column: usize| {
        (0..frame.rows()).any(|row| frame.row(row).nth(column).is_some_and(|cell| !words(cell).is_empty()))
    };
    let kept: Vec<usize> = (0..frame.columns.len()).filter(|&column| has(column)).collect();
    if kept.is_empty() {
        return None;
    }
    let head = |&index: &usize| {
        let column = &frame.columns[index];
        Head {
            words: column.header(),
            number: column.kind != Kind::Text,
            detail: column.detail,
            meaning: column.meaning.clone(),
        }
    };
    let cell = |(index, cell): (usize, &Cell)| {
        let mark = frame.columns.get(index).map_or(Mark::None, |column| column.mark);
        let class = match (cell.stands_out(mark), mark) {
            (false, _) => "",
            (true, Mark::Front) => "chosen",
            (true, _) => "stands-out",
        };
        let text = words(cell);
        SheetCell {
            value: cell
                .number()
                .filter(|_| !matches!(cell, Cell::Integer(_)))
                .map(|number| number.to_string()),
            class: if class.is_empty() && text.chars().count() > LONG {
                "long"
            } else {
                class
            },
            words: text,
        }
    };
    let row = |row: usize| {
        frame
            .row(row)
            .enumerate()
            .filter(|(index, _)| kept.contains(index))
            .map(cell)
            .collect()
    };
    Some(Sheet {
        id: id.to_owned(),
        caption: caption.to_owned(),
        heads: kept.iter().map(head).collect(),
        rows: (0..frame.rows()).map(row).collect(),
        sorts: frame.rows() >= SORTS_FROM,
        closed: false,
    })
}

/// A cell in words: three digits of a number.
#[must_use]
pub fn words(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => text.clone(),
        Cell::Integer(number) => number.to_string(),
        other => other.number().map_or_else(String::new, short),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::results::table::{Column, Table};

    #[test]
    fn empty_columns_go_and_what_stands_out_does() {
        let columns = vec![
            Column::number("margin", "mmHg", "M.").marked(Mark::Margin),
            Column::text("nothing", "N."),
            Column::number("low", "", "L.").detail(),
        ];
        let table = Table::new("x", "X.", columns, 2, |row, cells| {
            cells.extend([Cell::Number(0.123_456 - row as f64), Cell::Empty, Cell::Number(1.0)]);
        });
        let sheet = sheet("x", "X.", &Frame::of(&table)).expect("rows");
        assert_eq!(
            sheet
                .heads
                .iter()
                .map(|head| (head.words.as_str(), head.detail))
                .collect::<Vec<_>>(),
            [("margin [mmHg]", false), ("low", true)]
        );
        let first = |row: usize| {
            (
                sheet.rows[row][0].words.as_str(),
                sheet.rows[row][0].class,
                sheet.rows[row][0].value.as_deref(),
            )
        };
        assert_eq!(first(0), ("0.123", "", Some("0.123456")));
        assert_eq!((first(1).0, first(1).1), ("-0.877", "stands-out"));
        assert!(!sheet.sorts);
        let none = Table::new("x", "X.", vec![Column::text("a", "A.")], 0, |_, _| {});
        assert!(super::sheet("x", "X.", &Frame::of(&none)).is_none());
    }
}
