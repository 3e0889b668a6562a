//! Columns of measured values, for `{ data = "times.csv", column = "donning" }`.
//!
//! Comma-separated text with a header row; a column's unit stands in its header, "donning [min]". Cells may be quoted;
//! empty cells are left out. Nothing else of CSV is needed here.

use crate::units::{Dimension, Unit, parse};

use super::reader::Reader;
use crate::text::{Entry, Node, Value};

/// Most values taken from a column.
const MOST_VALUES: usize = 1_000_000;

/// The values of a column in SI, and the unit of its header. Reports what is wrong at the place that names the file.
pub(super) fn column(
    r: &mut Reader<'_>,
    file: &Node,
    column: Option<&Entry>,
    dimension: Dimension,
) -> Option<(Vec<f64>, Unit)> {
    let Value::Text(name) = &file.value else {
        r.texts.fault(
            &file.spot,
            format!("`data` takes the name of a file, not {}", file.kind()),
            "data = \"times.csv\"",
        );
        return None;
    };
    let Some(column) = column else {
        r.texts.fault(
            &file.spot,
            "`data` without `column`",
            "say which column: column = \"donning\"",
        );
        return None;
    };
    let Value::Text(wanted) = &column.node.value else {
        r.texts.fault(
            &column.node.spot,
            "`column` takes the name of a column",
            "column = \"donning\"",
        );
        return None;
    };
    let bytes = match r.file(name) {
        Ok(bytes) => bytes,
        Err(why) => {
            r.texts.fault(
                &file.spot,
                format!("`{name}` cannot be read: {why}"),
                "the path goes from the scenario file's folder",
            );
            return None;
        }
    };
    let Ok(text) = std::str::from_utf8(&bytes) else {
        r.texts
            .fault(&file.spot, format!("`{name}` is not UTF-8 text"), "save it as UTF-8");
        return None;
    };
    let mut rows = text
        .trim_start_matches('\u{feff}')
        .lines()
        .enumerate()
        .filter(|(_, row)| !row.trim().is_empty());
    let header: Vec<String> = rows.next().map(|(_, row)| cells(row)).unwrap_or_default();
    let names: Vec<(&str, &str)> = header.iter().map(|h| split_unit(h)).collect();
    let Some(at) = names.iter().position(|(title, _)| title == wanted) else {
        let help = r.texts.meant(wanted, names.iter().map(|(title, _)| *title));
        r.texts
            .fault(&column.node.spot, format!("`{name}` has no column `{wanted}`"), help);
        return None;
    };
    let unit = names[at].1;
    let mut values = Vec::new();
    let mut shown = dimension.si_unit();
    for (line, row) in rows {
        let cells = cells(row);
        let cell = cells.get(at).map_or("", |c| c.trim());
        if cell.is_empty() {
            continue;
        }
        match parse(&format!("{cell} {unit}"), dimension) {
            Ok(quantity) => {
                values.push(quantity.si);
                shown = quantity.unit;
            }
            Err(error) => {
                let message = format!("`{name}`, line {}, column `{wanted}`: {}", line + 1, error.message());
                r.texts.fault(
                    &file.spot,
                    message,
                    format!("{} (the unit stands in the header: \"donning [min]\")", error.help()),
                );
                return None;
            }
        }
        if values.len() > MOST_VALUES {
            r.texts.fault(
                &file.spot,
                format!("`{name}` has more than {MOST_VALUES} values"),
                "take a sample of them",
            );
            return None;
        }
    }
    if values.is_empty() {
        r.texts.fault(
            &column.node.spot,
            format!("column `{wanted}` of `{name}` is empty"),
            "it needs at least one value",
        );
        return None;
    }
    // Spreads take them sorted.
    values.sort_by(f64::total_cmp);
    Some((values, shown))
}

/// "donning [min]" to ("donning", "min").
fn split_unit(header: &str) -> (&str, &str) {
    let header = header.trim();
    match header.rsplit_once('[') {
        Some((title, rest)) if rest.ends_with(']') => (title.trim(), rest[..rest.len() - 1].trim()),
        _ => (header, ""),
    }
}

/// The cells of a row.
fn cells(row: &str) -> Vec<String> {
    let mut list = vec![String::new()];
    let mut quoted = false;
    let mut chars = row.chars().peekable();
    while let Some(c) = chars.next() {
        let cell = list.last_mut();
        match (c, quoted) {
            ('"', true) if chars.peek() == Some(&'"') => {
                chars.next();
                cell.into_iter().for_each(|cell| cell.push('"'));
            }
            ('"', _) => quoted = !quoted,
            (',', false) => list.push(String::new()),
            _ => cell.into_iter().for_each(|cell| cell.push(c)),
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_and_headers() {
        assert_eq!(cells("a,\"b, \"\"c\"\"\",,d"), ["a", "b, \"c\"", "", "d"]);
        assert_eq!(split_unit(" donning [min]"), ("donning", "min"));
        assert_eq!(split_unit("count"), ("count", ""));
    }
}
