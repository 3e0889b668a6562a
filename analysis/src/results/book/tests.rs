//! The same cells in every file: what was written is read again and held against the model.

use std::io::Cursor;

use calamine::{Data, Reader as _, Xlsx};

use super::sample::{book, columns, rows};
use super::*;
use crate::results::csv_file;
use crate::results::table::Cell;

fn workbook(bytes: Vec<u8>) -> Xlsx<Cursor<Vec<u8>>> {
    Xlsx::new(Cursor::new(bytes)).expect("a workbook")
}

#[test]
fn a_workbook_reads_back_cell_by_cell() {
    let mut read = workbook(xlsx(&book()).expect("written"));
    assert_eq!(
        read.sheet_names(),
        [
            "trade",
            "a-name-that-is-forty-characters",
            "History 2",
            "columns",
            "provenance"
        ]
    );
    let sheet = read.worksheet_range("trade").expect("a sheet");
    let cell = |row: usize, column: usize| {
        sheet
            .get_value((row as u32, column as u32))
            .cloned()
            .unwrap_or(Data::Empty)
    };
    assert_eq!(sheet.get_size(), (6, 7));
    for (at, column) in columns().iter().enumerate() {
        assert_eq!(cell(0, at), Data::String(column.header()));
    }
    for (row, cells) in rows().into_iter().enumerate() {
        for (at, expected) in cells.into_iter().enumerate() {
            let found = cell(row + 1, at);
            let place = format!("row {row}, column {at}: {expected:?} {found:?}");
            match expected {
                Cell::Number(value) | Cell::Measured { value, .. } if value.is_finite() => {
                    let Data::Float(found) = found else { panic!("{place}") };
                    assert_eq!(found.to_bits(), value.to_bits(), "{place}");
                }
                Cell::Integer(value) => assert_eq!(found, Data::Float(value as f64), "{place}"),
                Cell::Text(text) if !text.is_empty() => assert_eq!(found, Data::String(text), "{place}"),
                _ => assert_eq!(found, Data::Empty, "{place}"),
            }
        }
    }
    let provenance = read.worksheet_range("provenance").expect("a sheet");
    let told: Vec<String> = provenance.rows().map(|row| format!("{}: {}", row[0], row[1])).collect();
    for words in [
        "title: A trade of T*",
        "answer: Option 2 is the only",
        "seed: 1",
        "caution: Caution",
    ] {
        assert!(told.iter().any(|line| line.starts_with(words)), "{words}: {told:?}");
    }
    let meanings = read.worksheet_range("columns").expect("a sheet");
    // A header, seven columns of the first sheet, one each of the others.
    assert_eq!(meanings.height(), 1 + 7 + 2);
    let margin = meanings
        .rows()
        .nth(4)
        .expect("a row")
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>();
    assert_eq!(margin[..3], ["trade", "margin", "mmHg"]);
}

#[test]
fn nothing_in_a_workbook_is_a_formula() {
    let mut read = workbook(xlsx(&book()).expect("written"));
    for name in read.sheet_names() {
        let formulas = read.worksheet_formula(&name).expect("a sheet");
        assert!(formulas.used_cells().next().is_none(), "{name}");
    }
}

#[test]
fn csv_workbook_and_records_hold_the_same_values() {
    let book = book();
    let mut read = workbook(xlsx(&book).expect("written"));
    let json: serde_json::Value = serde_json::from_str(&records(&book).expect("json")).expect("json");
    let mut values = 0;
    for (at, (table, name)) in book.sheets.iter().zip(read.sheet_names()).enumerate() {
        let mut bytes = Vec::new();
        csv_file::write(table, &mut bytes).expect("written");
        let mut csv = csv::Reader::from_reader(bytes.as_slice());
        let headers = csv.headers().expect("a header").clone();
        let sheet = read.worksheet_range(&name).expect("a sheet");
        for (row, record) in csv.records().enumerate() {
            for (column, (text, header)) in record.expect("a row").iter().zip(&headers).enumerate() {
                let value = &json["sheets"][at]["rows"][row][header];
                let cell = sheet
                    .get_value((row as u32 + 1, column as u32))
                    .cloned()
                    .unwrap_or(Data::Empty);
                let place = format!("{name} {row} {header}: {text:?} {value} {cell:?}");
                match cell {
                    Data::Float(cell) => {
                        let text: f64 = text.parse().expect("a number");
                        let value = value.as_f64().expect("a number");
                        assert_eq!([text.to_bits(), value.to_bits()], [cell.to_bits(); 2], "{place}");
                    }
                    Data::String(cell) => assert_eq!([Some(text), value.as_str()], [Some(cell.as_str()); 2], "{place}"),
                    Data::Empty => assert!(text.is_empty() && (value.is_null() || value == ""), "{place}"),
                    _ => panic!("{place}"),
                }
                values += 1;
            }
        }
    }
    assert_eq!(values, 5 * 7 + 3 + 3);
}

#[test]
fn the_same_book_gives_the_same_bytes_whenever_it_is_written() {
    let all = || {
        let book = book();
        let json = records(&book).expect("json");
        [
            xlsx(&book).expect("written"),
            markdown(&book).into(),
            latex(&book).into(),
            json.into(),
        ]
    };
    let first = all();
    assert!(first == all(), "at once");
    // Archives keep times to two seconds.
    std::thread::sleep(std::time::Duration::from_millis(2_100));
    assert!(first == all(), "later");
}

#[test]
fn a_book_without_rows_or_sheets_is_a_book() {
    let mut book = book();
    book.sheets = vec![Table::new("none", "Nothing.", columns(), 0, |_, _| {})];
    let mut read = workbook(xlsx(&book).expect("written"));
    assert_eq!(read.worksheet_range("none").expect("a sheet").get_size(), (1, 7));
    book.sheets.clear();
    assert_eq!(
        workbook(xlsx(&book).expect("written")).sheet_names(),
        ["columns", "provenance"]
    );
    for text in [markdown(&book), latex(&book), records(&book).expect("json")] {
        assert!(text.contains("Option 2"), "{text}");
    }
}

#[test]
fn names_that_are_shared_are_seen() {
    let mut book = book();
    assert!(book.has_own_names());
    book.sheets[0].columns[1].name = "option".to_owned();
    assert!(!book.has_own_names());
}
