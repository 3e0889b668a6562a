//! What Markdown and LaTeX share: the columns that fit a page, and cells as they are read.

use crate::results::figures::rounded;
use crate::results::table::{Cell, Column, Kind, Table};

/// What is said of the figures wherever they are rounded.
pub const FIGURES: &str =
    "Numbers are shown to the figures that their confidence carries; the .csv, .json and .xlsx files have every digit.";

/// The columns that a page has, with their places in a row.
pub fn columns<'t>(table: &'t Table<'_>) -> Vec<(usize, &'t Column)> {
    let all = table.columns.iter().enumerate();
    all.filter(|(_, column)| !column.detail).collect()
}

/// Whether a column is set flush right.
pub fn is_number(column: &Column) -> bool {
    column.kind != Kind::Text
}

/// A cell as it is read: nothing for nothing, `-` for what is no number.
pub fn text(cell: &Cell) -> String {
    match cell {
        Cell::Number(value) => rounded(*value, 0.0).0,
        Cell::Measured { value, half_width } => rounded(*value, *half_width).0,
        Cell::Integer(value) => value.to_string(),
        Cell::Text(text) => text.clone(),
        Cell::Empty => String::new(),
    }
}

/// Every row of a table, one after the other.
pub fn rows<'t>(table: &'t Table<'_>) -> impl Iterator<Item = Vec<Cell>> + 't {
    (0..table.rows()).map(|index| {
        let mut cells = Vec::with_capacity(table.columns.len());
        table.row_into(index, &mut cells);
        cells
    })
}
