//! CSV: a header with units, then one line a row (RFC 4180 quoting, `\n` line ends, UTF-8).

use std::fmt::Write as _;
use std::io::{self, Write};

use super::numbers::exact_into;
use super::table::{Cell, Column, Table};

/// Writes a table as CSV.
///
/// # Errors
/// If `out` cannot be written to.
pub fn write(table: &Table<'_>, out: &mut dyn Write) -> io::Result<()> {
    let mut rows = Rows::new(out, &table.columns)?;
    let mut cells = Vec::with_capacity(table.columns.len());
    for index in 0..table.rows() {
        table.row_into(index, &mut cells);
        rows.write(&cells)?;
    }
    rows.end().map(drop)
}

/// A CSV file that is written row by row.
pub struct Rows<W: Write> {
    writer: csv::Writer<W>,
    text: String,
}

impl<W: Write> Rows<W> {
    /// Writes the header.
    ///
    /// # Errors
    /// If `out` cannot be written to.
    pub fn new(out: W, columns: &[Column]) -> io::Result<Self> {
        let mut writer = csv::WriterBuilder::new().from_writer(out);
        writer
            .write_record(columns.iter().map(Column::header))
            .map_err(into_io)?;
        Ok(Self {
            writer,
            text: String::new(),
        })
    }

    /// Writes a row.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn write(&mut self, cells: &[Cell]) -> io::Result<()> {
        for cell in cells {
            self.text.clear();
            let text = match cell {
                Cell::Text(text) => text,
                Cell::Empty => "",
                Cell::Number(value) | Cell::Measured { value, .. } => {
                    exact_into(*value, &mut self.text);
                    &self.text
                }
                Cell::Integer(value) => {
                    let _ = write!(self.text, "{value}");
                    &self.text
                }
            };
            self.writer.write_field(text).map_err(into_io)?;
        }
        self.writer.write_record(None::<&[u8]>).map_err(into_io)
    }

    /// Writes what is left and gives back what was written to.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn end(self) -> io::Result<W> {
        self.writer.into_inner().map_err(|error| {
            let error = error.into_error();
            io::Error::new(error.kind(), error)
        })
    }
}

/// Keeps the kind of an input or output error, so that a full disk is still called one.
fn into_io(error: csv::Error) -> io::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(inner) => inner,
        other => io::Error::other(format!("{other:?}")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::table::Column;
    use super::*;

    #[test]
    fn headers_carry_units_and_missing_numbers_are_empty() {
        let columns = vec![Column::number("time", "h", "Time."), Column::text("note", "A note.")];
        let table = Table::new("t", "T", columns, 2, |index, cells| {
            cells.push(if index == 0 {
                Cell::Number(0.5)
            } else {
                Cell::Number(f64::NAN)
            });
            cells.push(Cell::Text("a, \"b\"".to_owned()));
        });
        let mut bytes = Vec::new();
        write(&table, &mut bytes).expect("written");
        assert_eq!(
            String::from_utf8(bytes).expect("text"),
            "time [h],note\n0.5,\"a, \"\"b\"\"\"\n,\"a, \"\"b\"\"\"\n"
        );
    }

    #[test]
    fn a_full_disk_is_reported_as_one() {
        struct Full;
        impl Write for Full {
            fn write(&mut self, _: &[u8]) -> io::Result<usize> {
                Err(io::ErrorKind::StorageFull.into())
            }
            fn flush(&mut self) -> io::Result<()> {
                Ok(())
            }
        }
        let table = Table::new("t", "T", vec![Column::text("a", "A.")], 0, |_, _| {});
        let error = write(&table, &mut Full).expect_err("full");
        assert_eq!(error.kind(), io::ErrorKind::StorageFull);
    }
}
