//! A table as columns by their headers: what figures are drawn from is what its CSV file has, cell by cell.

use super::table::{Cell, Column, Table};

/// A table in memory, column by column.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    /// The columns.
    pub columns: Vec<Column>,
    headers: Vec<String>,
    cells: Vec<Vec<Cell>>,
    rows: usize,
}

impl Frame {
    /// All cells of a table.
    #[must_use]
    pub fn of(table: &Table<'_>) -> Self {
        let mut cells = vec![Vec::with_capacity(table.rows()); table.columns.len()];
        let mut row = Vec::new();
        for index in 0..table.rows() {
            table.row_into(index, &mut row);
            for (column, cell) in cells.iter_mut().zip(row.drain(..)) {
                column.push(cell);
            }
        }
        Self {
            columns: table.columns.clone(),
            headers: table.columns.iter().map(Column::header).collect(),
            cells,
            rows: table.rows(),
        }
    }

    /// How many rows it has.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// The cells of a column by its header (`cabin co2 [mmHg]`).
    #[must_use]
    pub fn column(&self, header: &str) -> Option<&[Cell]> {
        let index = self.headers.iter().position(|known| known == header)?;
        self.cells.get(index).map(Vec::as_slice)
    }

    /// The numbers of a column; what is missing is not a number. `None` if there is no such column or it has no number.
    #[must_use]
    pub fn numbers(&self, header: &str) -> Option<Vec<f64>> {
        let cells = self.column(header)?;
        let numbers: Vec<f64> = cells.iter().map(|cell| cell.number().unwrap_or(f64::NAN)).collect();
        numbers.iter().any(|value| value.is_finite()).then_some(numbers)
    }

    /// The words of a column; empty where there are none.
    #[must_use]
    pub fn words(&self, header: &str) -> Option<Vec<&str>> {
        let words = self.column(header)?.iter().map(|cell| match cell {
            Cell::Text(text) => text.as_str(),
            _ => "",
        });
        Some(words.collect())
    }

    /// One row's cells.
    pub fn row(&self, index: usize) -> impl Iterator<Item = &Cell> {
        self.cells.iter().filter_map(move |column| column.get(index))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_found_by_their_headers() {
        let columns = vec![
            Column::number("a", "h", "A."),
            Column::text("b", "B."),
            Column::number("c", "", "C."),
        ];
        let table = Table::new("x", "X.", columns, 2, |row, cells| {
            cells.extend([Cell::Number(row as f64), "w".into(), Cell::Empty]);
        });
        let frame = Frame::of(&table);
        assert_eq!(frame.numbers("a [h]"), Some(vec![0.0, 1.0]));
        assert_eq!(frame.words("b"), Some(vec!["w", "w"]));
        assert_eq!((frame.numbers("c"), frame.numbers("a")), (None, None));
        assert_eq!((frame.rows(), frame.row(1).count()), (2, 3));
    }
}
