//! A book as JSON, every number to its last digit.
//!
//! ```text
//! {"format": 1, "title", "answer": [..], "stamp": {..}, "sheets": [{"name", "title", "columns": [{"name", "header", "unit", "type", "meaning",
//!  "half_width"?}], "rows": [{header: value, ..}]}], "caution"}
//! ```
//!
//! A row is an object by the headers of the CSV file. A measured cell is its value; its half-width is beside it under the key that
//! its column gives as `half_width` (the header and ", half-width"). What is not finite is `null`.

use serde::Serialize;

use super::{Book, page};
use crate::results::ordered::Ordered;
use crate::results::table::{Cell, Column, Kind, Table};

#[derive(Serialize)]
struct Whole<'b> {
    format: u32,
    title: &'b str,
    answer: &'b [String],
    stamp: Ordered<&'b str>,
    sheets: Vec<Sheet<'b>>,
    caution: &'b str,
}

#[derive(Serialize)]
struct Sheet<'b> {
    name: &'b str,
    title: &'b str,
    columns: Vec<Described<'b>>,
    rows: Vec<Ordered<Value>>,
}

#[derive(Serialize)]
struct Described<'b> {
    name: &'b str,
    header: String,
    unit: Option<&'b str>,
    #[serde(rename = "type")]
    kind: &'static str,
    meaning: &'b str,
    #[serde(skip_serializing_if = "Option::is_none")]
    half_width: Option<String>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum Value {
    Number(f64),
    Integer(i64),
    Text(String),
    Null,
}

/// The key of a half-width beside its value.
#[must_use]
pub fn half_width_key(column: &Column) -> String {
    format!("{}, half-width", column.header())
}

/// The text, line break at the end.
///
/// # Errors
/// Never for these types; the signature is that of the encoder.
pub fn write(book: &Book<'_>) -> Result<String, serde_json::Error> {
    let whole = Whole {
        format: 1,
        title: &book.title,
        answer: &book.answer,
        stamp: book
            .stamp
            .iter()
            .map(|(what, value)| (what.clone(), value.as_str()))
            .collect(),
        sheets: book.sheets.iter().map(sheet).collect(),
        caution: &book.caution,
    };
    let mut text = serde_json::to_string_pretty(&whole)?;
    text.push('\n');
    Ok(text)
}

fn sheet<'b>(table: &'b Table<'_>) -> Sheet<'b> {
    let mut measured = vec![false; table.columns.len()];
    let mut rows = Vec::with_capacity(table.rows());
    for cells in page::rows(table) {
        let mut row = Vec::with_capacity(cells.len());
        for ((cell, column), measured) in cells.into_iter().zip(&table.columns).zip(&mut measured) {
            let half_width = match cell {
                Cell::Measured { half_width, .. } => Some(half_width),
                _ => None,
            };
            row.push((column.header(), value(cell)));
            if let Some(half_width) = half_width {
                *measured = true;
                row.push((half_width_key(column), number(half_width)));
            }
        }
        rows.push(Ordered(row));
    }
    Sheet {
        name: table.name,
        title: &table.title,
        columns: table
            .columns
            .iter()
            .zip(measured)
            .map(|(column, measured)| described(column, measured))
            .collect(),
        rows,
    }
}

fn described(column: &Column, measured: bool) -> Described<'_> {
    Described {
        name: &column.name,
        header: column.header(),
        unit: column.unit.as_deref(),
        kind: match column.kind {
            Kind::Number => "number",
            Kind::Integer => "integer",
            Kind::Text => "string",
        },
        meaning: &column.meaning,
        half_width: measured.then(|| half_width_key(column)),
    }
}

fn value(cell: Cell) -> Value {
    match cell {
        Cell::Number(value) | Cell::Measured { value, .. } => number(value),
        Cell::Integer(value) => Value::Integer(value),
        Cell::Text(text) => Value::Text(text),
        Cell::Empty => Value::Null,
    }
}

fn number(value: f64) -> Value {
    if value.is_finite() {
        Value::Number(value)
    } else {
        Value::Null
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::results::book::sample::book;

    #[test]
    fn rows_are_objects_by_header_with_half_widths_beside() {
        let text = write(&book()).expect("json");
        let json: serde_json::Value = serde_json::from_str(&text).expect("json");
        assert_eq!((&json["format"], &json["stamp"]["seed"]), (&1.into(), &"1".into()));
        let sheet = &json["sheets"][0];
        let column = &sheet["columns"][3];
        let key = column["half_width"].as_str().expect("a key");
        assert_eq!(key, "margin [mmHg], half-width");
        assert_eq!(column["unit"], "mmHg");
        assert!(sheet["columns"][2].get("half_width").is_none());
        assert_eq!(sheet["rows"][0]["margin [mmHg]"], -0.0796);
        assert_eq!(sheet["rows"][0][key], 0.02);
        assert_eq!(sheet["rows"][3]["margin [mmHg]"], serde_json::Value::Null);
        assert_eq!(sheet["rows"][3]["fans"], 9_007_199_254_740_992_i64);
        // In the order of the columns, not of the alphabet.
        assert!(text.find("\"option\": ") < text.find("\"fans\": "), "{text}");
    }
}
