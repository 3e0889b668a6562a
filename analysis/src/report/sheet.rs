//! A table of results as a table in a page.

use super::page::Sheet;
use crate::results::frame::Frame;
use crate::results::numbers::short;
use crate::results::table::{Cell, Kind, Mark};

/// A table: what stands out in it does so here, and numbers are sorted by all their digits.
#[must_use]
pub fn sheet(id: &str, caption: &str, frame: &Frame) -> Sheet {
    let headers = frame
        .columns
        .iter()
        .map(|column| (column.header(), column.kind != Kind::Text, column.meaning.clone()));
    let cell = |(index, cell): (usize, &Cell)| {
        let mark = frame.columns.get(index).map_or(Mark::None, |column| column.mark);
        let class = match (cell.stands_out(mark), mark) {
            (false, _) => "",
            (true, Mark::Front) => "chosen",
            (true, _) => "stands-out",
        };
        match cell {
            Cell::Text(text) => (text.clone(), None, class),
            Cell::Integer(number) => (number.to_string(), None, class),
            other => match other.number() {
                Some(number) => (short(number), Some(number.to_string()), class),
                None => (String::new(), None, class),
            },
        }
    };
    Sheet {
        id: id.to_owned(),
        caption: caption.to_owned(),
        headers: headers.collect(),
        rows: (0..frame.rows())
            .map(|row| frame.row(row).enumerate().map(cell).collect())
            .collect(),
        sorts: true,
        closed: false,
    }
}
