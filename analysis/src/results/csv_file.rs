//! CSV: a header with units, then one line a row (RFC 4180 quoting, `\n` line ends, UTF-8).

use std::io::{self, Write};

use super::numbers::exact;
use super::table::{Cell, Table};

/// Writes a table as CSV.
///
/// # Errors
/// If `out` cannot be written to.
pub fn write(table: &Table<'_>, out: &mut dyn Write) -> io::Result<()> {
    let mut writer = csv::WriterBuilder::new().from_writer(out);
    let headers: Vec<String> = table.columns.iter().map(super::table::Column::header).collect();
    writer.write_record(&headers).map_err(into_io)?;
    let mut cells = Vec::with_capacity(table.columns.len());
    for index in 0..table.rows() {
        table.row_into(index, &mut cells);
        for cell in &cells {
            match cell {
                Cell::Number(value) => writer.write_field(exact(*value)),
                Cell::Integer(value) => writer.write_field(value.to_string()),
                Cell::Text(text) => writer.write_field(text),
                Cell::Empty => writer.write_field(""),
            }
            .map_err(into_io)?;
        }
        writer.write_record(None::<&[u8]>).map_err(into_io)?;
    }
    writer.flush()
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
