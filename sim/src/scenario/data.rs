//! Columns of measured values, for `{ data = "times.csv", column = "donning" }`.
//!
//! Comma-separated text with a header row; a column's unit stands in its header, "donning [min]". Cells may be quoted;
//! empty cells are left out. Nothing else of CSV is needed here.

use crate::air::Species;
use crate::units::{Dimension, Unit, parse};

use super::blueprint::SeriesKind;
use super::reader::Reader;
use crate::text::{Entry, Node, Spot, Value};

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
    let text = text(r, file, name)?;
    let mut rows = rows(&text);
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

/// A measured series.
#[derive(Clone, Debug)]
pub(super) struct Series {
    /// Times, s, rising.
    pub time_s: Vec<f64>,
    /// Values in SI: 1/s, mol/s, m3 STPD/kg/s or W.
    pub values: Vec<f64>,
    /// What they are, by the unit of their column.
    pub kind: SeriesKind,
}

/// Dimensions of a metabolic series, with what they are.
const KINDS: [(Dimension, SeriesKind); 4] = [
    (Dimension::PerTime, SeriesKind::HeartRate),
    (
        Dimension::GasRate(Species::Oxygen.molar_mass_kg_mol()),
        SeriesKind::Uptake,
    ),
    (Dimension::FitnessUptake, SeriesKind::UptakeForMass),
    (Dimension::Power, SeriesKind::Power),
];

/// A column of times and one of values of a file; rows without a value are left out. Reports what is wrong at the place that names the
/// file, or the column.
pub(super) fn series(r: &mut Reader<'_>, file: &Node, (time, value): (&str, &str), column: &Spot) -> Option<Series> {
    let Value::Text(name) = &file.value else {
        // Told by whoever reads the key.
        return None;
    };
    let text = text(r, file, name)?;
    let mut rows = rows(&text);
    let header: Vec<String> = rows.next().map(|(_, row)| cells(row)).unwrap_or_default();
    let heads: Vec<(&str, &str)> = header.iter().map(|head| split_unit(head)).collect();
    let mut place = |wanted: &str, spot: &Spot| {
        let found = heads.iter().position(|(title, _)| *title == wanted);
        if found.is_none() {
            let help = r.texts.meant(wanted, heads.iter().map(|(title, _)| *title));
            r.texts.fault(spot, format!("`{name}` has no column `{wanted}`"), help);
        }
        found
    };
    let (at_time, at_value) = (place(time, &file.spot), place(value, column));
    let (at_time, at_value) = (at_time?, at_value?);
    let unit = heads[at_value].1;
    let kind = KINDS
        .into_iter()
        .find(|(dimension, _)| !unit.is_empty() && parse(&format!("1 {unit}"), *dimension).is_ok());
    let Some((dimension, kind)) = kind else {
        let message =
            format!("the column `{value}` of `{name}` is in [{unit}], which is no heart rate, oxygen uptake or power");
        r.texts.fault(
            column,
            message,
            "its header says its unit: [1/min], [L/min STPD], [mL/kg/min] or [W]",
        );
        return None;
    };
    let mut series = Series {
        time_s: Vec::new(),
        values: Vec::new(),
        kind,
    };
    let wrong = |r: &mut Reader<'_>, line: usize, of: &str, message: &str, help: &str| {
        r.texts.fault(
            &file.spot,
            format!("`{name}`, line {}, column `{of}`: {message}", line + 1),
            help,
        );
    };
    for (line, row) in rows {
        let cells = cells(row);
        let [at, value_text] = [at_time, at_value].map(|at| cells.get(at).map_or("", |cell| cell.trim()));
        if value_text.is_empty() {
            continue;
        }
        let read = |text: &str, unit: &str, dimension| parse(format!("{text} {unit}").trim(), dimension);
        let (at, measured) = (
            read(at, heads[at_time].1, Dimension::Time),
            read(value_text, unit, dimension),
        );
        let (at, measured) = match (at, measured) {
            (Ok(at), Ok(measured)) => (at.si, measured.si),
            (Err(error), _) => {
                wrong(
                    r,
                    line,
                    time,
                    &error.message(),
                    &format!("{} (the unit stands in the header: \"{time} [s]\")", error.help()),
                );
                return None;
            }
            (_, Err(error)) => {
                wrong(r, line, value, &error.message(), error.help().as_str());
                return None;
            }
        };
        if series.time_s.last().is_some_and(|last| at <= *last) {
            wrong(
                r,
                line,
                time,
                "not later than the row before",
                "times rise from row to row",
            );
            return None;
        }
        if measured < 0.0 {
            wrong(
                r,
                line,
                value,
                "below 0",
                "leave the cell empty where nothing was measured",
            );
            return None;
        }
        series.time_s.push(at);
        series.values.push(measured);
    }
    if series.values.is_empty() {
        r.texts.fault(
            column,
            format!("column `{value}` of `{name}` is empty"),
            "it needs at least one value",
        );
        return None;
    }
    Some(series)
}

/// A data file as text; what is wrong is reported at the place that names it.
fn text(r: &mut Reader<'_>, file: &Node, name: &str) -> Option<String> {
    let bytes = match r.file(name) {
        Ok(bytes) => bytes,
        Err(why) => {
            let help = "the path goes from the scenario file's folder";
            r.texts
                .fault(&file.spot, format!("`{name}` cannot be read: {why}"), help);
            return None;
        }
    };
    let Ok(text) = String::from_utf8(bytes) else {
        r.texts
            .fault(&file.spot, format!("`{name}` is not UTF-8 text"), "save it as UTF-8");
        return None;
    };
    Some(text)
}

/// Rows that hold something, with their lines from 0.
fn rows(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let rows = text.trim_start_matches('\u{feff}').lines().enumerate();
    rows.filter(|(_, row)| !row.trim().is_empty() && !row.starts_with('#'))
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
