//! Parquet: the rows of a table column by column, for whoever reads many of them.
//!
//! Every column is optional and named as in CSV, unit and all: numbers are DOUBLE, whole numbers INT64, texts UTF-8; what CSV leaves empty is null.
//! Row groups have [`GROUP`] rows. No date, no name of a machine, no compression: the same table gives the same bytes.
//!
//! Source: Apache Parquet format, by the crate `parquet` without its default features (no Arrow, no compressors).

use std::io::{self, Write};
use std::sync::Arc;

use parquet::basic::{ConvertedType, Repetition, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;

use super::table::{Cell, Column, Kind};

/// Rows of a row group.
pub const GROUP: usize = 1 << 16;
/// Who wrote it, in place of the library's own version.
const CREATED_BY: &str = concat!("breathroom ", env!("CARGO_PKG_VERSION"));

/// Values of a column so far, nulls left out, and which rows have one.
enum Values {
    Numbers(Vec<f64>),
    Integers(Vec<i64>),
    Texts(Vec<ByteArray>),
}

struct Held {
    values: Values,
    is_there: Vec<i16>,
}

/// A Parquet file that is written row by row.
pub struct Rows<W: Write + Send> {
    writer: SerializedFileWriter<W>,
    held: Vec<Held>,
    rows: usize,
}

impl<W: Write + Send> Rows<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// If `out` cannot be written to.
    pub fn new(out: W, columns: &[Column]) -> io::Result<Self> {
        let field = |column: &Column| {
            let (physical, converted) = match column.kind {
                Kind::Number => (Physical::DOUBLE, ConvertedType::NONE),
                Kind::Integer => (Physical::INT64, ConvertedType::NONE),
                Kind::Text => (Physical::BYTE_ARRAY, ConvertedType::UTF8),
            };
            Type::primitive_type_builder(&column.header(), physical)
                .with_repetition(Repetition::OPTIONAL)
                .with_converted_type(converted)
                .build()
                .map(Arc::new)
        };
        let fields: Result<Vec<_>, ParquetError> = columns.iter().map(field).collect();
        let schema = Type::group_type_builder("table")
            .with_fields(fields.map_err(into_io)?)
            .build()
            .map_err(into_io)?;
        let properties = WriterProperties::builder()
            .set_created_by(CREATED_BY.to_owned())
            .set_statistics_enabled(EnabledStatistics::Chunk)
            .build();
        let writer = SerializedFileWriter::new(out, Arc::new(schema), Arc::new(properties)).map_err(into_io)?;
        let held = |column: &Column| Held {
            values: match column.kind {
                Kind::Number => Values::Numbers(Vec::new()),
                Kind::Integer => Values::Integers(Vec::new()),
                Kind::Text => Values::Texts(Vec::new()),
            },
            is_there: Vec::new(),
        };
        Ok(Self {
            writer,
            held: columns.iter().map(held).collect(),
            rows: 0,
        })
    }

    /// Writes a row: a cell of another kind than its column is null.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn write(&mut self, cells: &[Cell]) -> io::Result<()> {
        for (cell, held) in cells.iter().zip(&mut self.held) {
            let there = match (&mut held.values, cell) {
                (Values::Numbers(values), cell) => cell.number().map(|value| values.push(value)).is_some(),
                (Values::Integers(values), Cell::Integer(value)) => {
                    values.push(*value);
                    true
                }
                // CSV cannot tell an empty text from none.
                (Values::Texts(values), Cell::Text(text)) if !text.is_empty() => {
                    values.push(ByteArray::from(text.as_str()));
                    true
                }
                _ => false,
            };
            held.is_there.push(i16::from(there));
        }
        self.rows += 1;
        if self.rows == GROUP { self.flush() } else { Ok(()) }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.rows = 0;
        self.group().map_err(into_io)
    }

    fn group(&mut self) -> Result<(), ParquetError> {
        let mut group = self.writer.next_row_group()?;
        for held in &mut self.held {
            let Some(mut column) = group.next_column()? else {
                break;
            };
            let there = Some(held.is_there.as_slice());
            match &mut held.values {
                Values::Numbers(values) => {
                    column.typed::<DoubleType>().write_batch(values, there, None)?;
                    values.clear();
                }
                Values::Integers(values) => {
                    column.typed::<Int64Type>().write_batch(values, there, None)?;
                    values.clear();
                }
                Values::Texts(values) => {
                    column.typed::<ByteArrayType>().write_batch(values, there, None)?;
                    values.clear();
                }
            }
            column.close()?;
            held.is_there.clear();
        }
        group.close()?;
        Ok(())
    }

    /// Writes what is left and gives back what was written to.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn end(mut self) -> io::Result<W> {
        if self.rows > 0 {
            self.flush()?;
        }
        self.writer.into_inner().map_err(into_io)
    }
}

/// Keeps the kind of an input or output error, so that a full disk is still called one.
fn into_io(error: ParquetError) -> io::Error {
    match error {
        ParquetError::External(inner) => match inner.downcast::<io::Error>() {
            Ok(inner) => *inner,
            Err(other) => io::Error::other(other),
        },
        other => io::Error::other(other),
    }
}

#[cfg(test)]
mod tests {
    use bytes::Bytes;
    use parquet::file::reader::{FileReader as _, SerializedFileReader};
    use parquet::record::Field;

    use super::*;
    use crate::results::csv_file;
    use crate::results::table::Table;

    fn table() -> Table<'static> {
        let columns = vec![
            Column::integer("run", "R."),
            Column::number("cabin co2", "mmHg", "C."),
            Column::text("label", "L."),
        ];
        Table::new("traces", "T.", columns, GROUP + 100, |row, cells| {
            let number = if row % 7 == 0 { f64::NAN } else { row as f64 / 3.0 };
            cells.extend([
                if row % 5 == 0 {
                    Cell::Empty
                } else {
                    Cell::Integer(row as i64)
                },
                Cell::Number(number),
                ["nominal", "", "leak, \"slow\""][row % 3].into(),
            ]);
        })
    }

    fn bytes(table: &Table<'_>) -> Vec<u8> {
        let mut rows = Rows::new(Vec::new(), &table.columns).expect("begun");
        let mut cells = Vec::new();
        for row in 0..table.rows() {
            table.row_into(row, &mut cells);
            rows.write(&cells).expect("written");
        }
        rows.end().expect("ended")
    }

    /// Read back, every cell is that of the CSV file, to the bit.
    #[test]
    fn it_holds_what_the_csv_file_holds() {
        let table = table();
        let file = bytes(&table);
        assert_eq!(file, bytes(&table), "the same table gives the same bytes");
        let reader = SerializedFileReader::new(Bytes::from(file)).expect("a Parquet file");
        assert_eq!(reader.num_row_groups(), 2);
        assert_eq!(reader.metadata().file_metadata().created_by(), Some(CREATED_BY));
        let mut csv = Vec::new();
        csv_file::write(&table, &mut csv).expect("written");
        let mut records = csv::Reader::from_reader(csv.as_slice());
        let headers: Vec<String> = records.headers().expect("headers").iter().map(str::to_owned).collect();
        let mut read = reader.get_row_iter(None).expect("rows");
        for record in records.records() {
            let record = record.expect("a record");
            let row = read.next().expect("as many rows").expect("a row");
            for ((name, field), (header, text)) in row.get_column_iter().zip(headers.iter().zip(&record)) {
                assert_eq!(name, header);
                let same = match field {
                    Field::Null => text.is_empty(),
                    Field::Long(value) => text.parse() == Ok(*value),
                    Field::Double(value) => text.parse::<f64>().is_ok_and(|text| text.to_bits() == value.to_bits()),
                    Field::Str(value) => value == text,
                    other => panic!("{other:?}"),
                };
                assert!(same, "{header}: {field:?} {text}");
            }
        }
        assert!(read.next().is_none());
    }
}
