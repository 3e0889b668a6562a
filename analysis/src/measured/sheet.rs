//! A table of cells that remembers where each of them stands.

use std::borrow::Cow;
use std::ops::Range;

use breathroom_sim::text::{Diagnostic, Spot, Texts, decode};
use breathroom_sim::units::{Dimension, Unit, parse};

/// Largest file that is read.
pub const MAX_BYTES: u64 = 256 << 20;
/// Cells that say that there is no value.
pub const GAPS: [&str; 7] = ["", "-", "NA", "N/A", "NaN", "nan", "null"];
/// Faults told of one file: more would hide the first.
const MOST_FAULTS: usize = 40;
/// What a file should hold.
const NEEDED: &str = "a header with a name and a unit to each column, then rows";

/// A column's header.
#[derive(Clone, Debug)]
struct Head {
    name: String,
    unit: String,
    spot: Spot,
}

/// A CSV file that was read, with what is wrong with it so far.
#[derive(Debug)]
pub struct Sheet {
    texts: Texts,
    heads: Vec<Head>,
    /// Bytes of the file, cell by cell, as many to a row as there are heads: texts are made when they are asked for, since a file
    /// may have millions of cells.
    cells: Vec<Cell>,
    more_faults: usize,
}

/// Where a cell's content stands, quotes included: a file has fewer bytes than 2^32.
#[derive(Clone, Copy, Debug)]
struct Cell {
    from: u32,
    to: u32,
}

impl Cell {
    fn spot(self) -> Spot {
        Spot {
            source: 0,
            span: self.from as usize..self.to as usize,
        }
    }
}

impl Sheet {
    /// Takes a file apart.
    ///
    /// # Errors
    /// If it is no table: not UTF-8, empty, without rows, a header with a name twice or none at all, rows with more or fewer cells than it.
    pub fn read(name: &str, bytes: &[u8]) -> Result<Self, Vec<Diagnostic>> {
        let text = decode(bytes, name, NEEDED).map_err(|fault| vec![*fault])?;
        let mut sheet = Self {
            texts: Texts::new(name, text, &[]),
            heads: Vec::new(),
            cells: Vec::new(),
            more_faults: 0,
        };
        sheet.take_apart(text);
        if sheet.texts.faults.is_empty() {
            Ok(sheet)
        } else {
            Err(sheet.faults())
        }
    }

    fn take_apart(&mut self, text: &str) {
        let from = if text.starts_with('\u{feff}') { 3 } else { 0 };
        let mut lines = lines(text, from);
        let Some(header) = lines.next() else {
            let whole = Spot { source: 0, span: 0..0 };
            self.texts.fault(&whole, "there is no table in this file", NEEDED);
            return;
        };
        let separator = separator(&text[header.clone()]);
        for cell in self.cells(text, &header, separator) {
            let (name, unit) = name_and_unit(&self.content(cell));
            if name.is_empty() {
                self.texts
                    .fault(&cell.spot(), "a column without a name", "a header such as \"time [s]\"");
            } else if self.heads.iter().any(|head| head.name == name) {
                self.texts.fault(
                    &cell.spot(),
                    format!("the column `{name}` is there twice"),
                    "each name once",
                );
            }
            self.heads.push(Head {
                name,
                unit,
                spot: cell.spot(),
            });
        }
        for line in lines {
            let cells = self.cells(text, &line, separator);
            if cells.len() != self.heads.len() {
                let spot = Spot { source: 0, span: line };
                let (had, wanted) = (cells.len(), self.heads.len());
                let help = if separator == ',' && had > wanted {
                    "decimals are written with a point; a text with commas stands in double quotes"
                } else {
                    "as many cells as the header has; what was not measured stays empty"
                };
                let cells = if had == 1 { "cell" } else { "cells" };
                self.fault_at(&spot, format!("{had} {cells} where the header has {wanted}"), help);
            } else {
                self.cells.extend(cells);
            }
        }
        if self.cells.is_empty() && self.texts.faults.is_empty() {
            let spot = self.heads[0].spot.clone();
            self.texts
                .fault(&spot, "a header and no rows", "one row to a measurement");
        }
    }

    /// The cells of a line; quotes may hold separators, and twice a quote in them is one.
    fn cells(&mut self, text: &str, line: &Range<usize>, separator: char) -> Vec<Cell> {
        let mut cells = Vec::new();
        let mut from = line.start;
        let mut quoted = false;
        let ends = text[line.clone()]
            .char_indices()
            .map(|(at, c)| (line.start + at, c))
            .chain([(line.end, separator)]);
        for (at, c) in ends {
            if c == '"' {
                quoted = !quoted;
            } else if c == separator && (!quoted || at == line.end) {
                cells.push(cell(text, from..at));
                from = at + c.len_utf8();
            }
        }
        if quoted {
            let spot = Spot {
                source: 0,
                span: line.clone(),
            };
            self.fault_at(
                &spot,
                "a double quote that is not closed in its line".to_owned(),
                "\"...\", and twice a quote within for one",
            );
        }
        cells
    }

    /// Names of all columns, in the order of the file.
    pub fn names(&self) -> impl Iterator<Item = &str> + Clone {
        self.heads.iter().map(|head| head.name.as_str())
    }

    /// How many rows there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.cells.len() / self.heads.len().max(1)
    }

    /// Whether there are none; never so after [`Sheet::read`].
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }

    /// The column of a name, if there is one.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<usize> {
        self.heads.iter().position(|head| head.name == name)
    }

    /// The column of a name; that it is missing is a fault.
    pub fn need(&mut self, name: &str) -> Option<usize> {
        let found = self.find(name);
        if found.is_none() {
            let names: Vec<String> = self.names().map(str::to_owned).collect();
            let help = self.texts.meant(name, names.iter().map(String::as_str));
            let spot = self.heads[0].spot.clone();
            self.fault_at(&spot, format!("there is no column `{name}`"), &help);
        }
        found
    }

    /// The name of a column.
    #[must_use]
    pub fn name(&self, column: usize) -> &str {
        &self.heads[column].name
    }

    /// The unit of a column as written; empty if there is none.
    #[must_use]
    pub fn unit(&self, column: usize) -> &str {
        &self.heads[column].unit
    }

    /// What stands in a cell, without quotes and outer blanks.
    #[must_use]
    pub fn text(&self, row: usize, column: usize) -> Cow<'_, str> {
        self.content(self.cell(row, column))
    }

    fn cell(&self, row: usize, column: usize) -> Cell {
        self.cells[row * self.heads.len() + column]
    }

    fn content(&self, cell: Cell) -> Cow<'_, str> {
        let held = self.texts.slice(&cell.spot());
        match held.strip_prefix('"').and_then(|held| held.strip_suffix('"')) {
            Some(inner) => Cow::Owned(inner.replace("\"\"", "\"").trim().to_owned()),
            None => Cow::Borrowed(self.texts.slice(&cell.spot())),
        }
    }

    /// Whether a cell holds no value.
    #[must_use]
    pub fn is_gap(&self, row: usize, column: usize) -> bool {
        GAPS.contains(&&*self.text(row, column))
    }

    /// The line of a row in the file, from 1.
    #[must_use]
    pub fn line(&self, row: usize) -> usize {
        self.texts.line(&self.cell(row, 0).spot())
    }

    /// A column in SI, `None` at gaps; and the unit that it is written in. What is no number is a fault, as is a header without a
    /// unit that the dimension has; then nothing is given.
    pub fn quantities(&mut self, column: usize, dimension: Dimension) -> Option<(Vec<Option<f64>>, Unit)> {
        let unit = self.heads[column].unit.clone();
        // The unit is tried by itself first: that it is wrong is told once, at the header, and not in every row.
        let tried = match parse(format!("1 {unit}").trim(), dimension) {
            Ok(quantity) => quantity.unit,
            Err(error) => {
                let spot = self.heads[column].spot.clone();
                let name = &self.heads[column].name;
                let help = format!(
                    "{}; the unit stands behind the name: \"{name} [{}]\"",
                    error.help(),
                    dimension.si_unit().symbol
                );
                let message = format!("the column `{name}`: {}", error.message());
                self.fault_at(&spot, message, &help);
                return None;
            }
        };
        let before = self.texts.faults.len() + self.more_faults;
        let mut values = Vec::with_capacity(self.len());
        for row in 0..self.len() {
            if self.is_gap(row, column) {
                values.push(None);
                continue;
            }
            match parse(format!("{} {unit}", self.text(row, column)).trim(), dimension) {
                Ok(quantity) => values.push(Some(quantity.si)),
                Err(error) => {
                    let text = self.text(row, column).into_owned();
                    let (message, help) = if text.contains(',') && text.replace(',', ".").parse::<f64>().is_ok() {
                        (
                            format!("`{text}` has a decimal comma"),
                            format!("`{}`", text.replace(',', ".")),
                        )
                    } else {
                        (
                            error.message(),
                            "a number; the unit stands in the header; leave the cell empty where there is none"
                                .to_owned(),
                        )
                    };
                    self.fault(row, column, message, &help);
                }
            }
        }
        (self.texts.faults.len() + self.more_faults == before).then_some((values, tried))
    }

    /// Reports what is wrong with a cell; `help` says what would be right.
    pub fn fault(&mut self, row: usize, column: usize, message: impl Into<String>, help: &str) {
        let spot = self.cell(row, column).spot();
        self.fault_at(&spot, message.into(), help);
    }

    /// Reports what is wrong with a column as a whole.
    pub fn fault_of(&mut self, column: usize, message: impl Into<String>, help: &str) {
        let spot = self.heads[column].spot.clone();
        self.fault_at(&spot, message.into(), help);
    }

    /// Reports what deserves a look.
    pub fn warn(&mut self, row: usize, column: usize, message: impl Into<String>, help: &str) {
        let spot = self.cell(row, column).spot();
        if self.texts.warnings.len() < MOST_FAULTS {
            self.texts.warn(&spot, message, help);
        }
    }

    fn fault_at(&mut self, spot: &Spot, message: String, help: &str) {
        if self.texts.faults.len() < MOST_FAULTS {
            self.texts.fault(spot, message, help);
        } else {
            self.more_faults += 1;
        }
    }

    /// "did you mean ...?" for a word among candidates.
    pub fn meant<'c>(&mut self, word: &str, candidates: impl Iterator<Item = &'c str> + Clone) -> String {
        self.texts.meant(word, candidates)
    }

    /// Whether nothing is wrong so far.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.texts.faults.is_empty()
    }

    /// All that is wrong so far; empty if nothing is.
    #[must_use]
    pub fn faults(mut self) -> Vec<Diagnostic> {
        if self.more_faults > 0
            && let Some(last) = self.texts.faults.last_mut()
        {
            last.help = Some(format!("{} more such faults follow in this file", self.more_faults));
        }
        self.texts.faults
    }

    /// What deserves a look.
    #[must_use]
    pub fn warnings(&self) -> &[Diagnostic] {
        &self.texts.warnings
    }
}

/// Lines that hold something, without their ends and without remarks.
fn lines(text: &str, from: usize) -> impl Iterator<Item = Range<usize>> + '_ {
    let mut start = from;
    std::iter::from_fn(move || {
        while start < text.len() {
            let end = text[start..].find('\n').map_or(text.len(), |at| start + at);
            let line = start..start + text[start..end].trim_end_matches('\r').len();
            start = end + 1;
            let held = text[line.clone()].trim();
            if !held.is_empty() && !held.starts_with('#') {
                return Some(line);
            }
        }
        None
    })
}

/// What parts the cells of a header: a tab, else a semicolon, else a comma.
fn separator(header: &str) -> char {
    ['\t', ';'].into_iter().find(|c| header.contains(*c)).unwrap_or(',')
}

fn cell(text: &str, range: Range<usize>) -> Cell {
    let raw = &text[range.clone()];
    let from = range.start + raw.len() - raw.trim_start().len();
    let held = raw.trim();
    let span = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    Cell {
        from: span(from),
        to: span(from + held.len()),
    }
}

/// "co2 in [mmHg]" as its two parts.
fn name_and_unit(header: &str) -> (String, String) {
    match header
        .rsplit_once('[')
        .map(|(name, rest)| (name.trim(), rest.trim_end().strip_suffix(']')))
    {
        Some((name, Some(unit))) => (name.to_owned(), unit.trim().to_owned()),
        _ => (header.to_owned(), String::new()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Sheet {
        Sheet::read("a.csv", text.as_bytes()).unwrap_or_else(|faults| panic!("{faults:#?}"))
    }

    fn wrong(text: &str) -> Vec<(usize, usize, String)> {
        let faults = match Sheet::read("a.csv", text.as_bytes()) {
            Ok(mut sheet) => {
                let _ = sheet.quantities(0, Dimension::Time);
                sheet.faults()
            }
            Err(faults) => faults,
        };
        faults
            .into_iter()
            .map(|fault| (fault.line, fault.column, fault.message))
            .collect()
    }

    #[test]
    fn columns_come_in_si_with_their_gaps() {
        let text = "\u{feff}# from the bench\r\ntime [min],\"co2, in [mmHg]\",note\r\n0,1,\"a, b\"\r\n\r\n2, NA ,\"say \"\"so\"\"\"\r\n";
        let mut sheet = read(text);
        assert_eq!(sheet.names().collect::<Vec<_>>(), ["time", "co2, in", "note"]);
        assert_eq!(
            sheet.quantities(0, Dimension::Time).expect("times").0,
            [Some(0.0), Some(120.0)]
        );
        let (values, unit) = sheet.quantities(1, Dimension::PartialPressure).expect("pressures");
        assert_eq!((values, unit.symbol), (vec![Some(133.322), None], "mmHg"));
        assert_eq!(
            (&*sheet.text(0, 2), &*sheet.text(1, 2), sheet.line(1)),
            ("a, b", "say \"so\"", 5)
        );
    }

    #[test]
    fn semicolons_and_tabs_part_cells_too() {
        for (text, wanted) in [("a [s];b\n1;x,y\n", "x,y"), ("a [s]\tb\n1\tx;y\n", "x;y")] {
            assert_eq!(read(text).text(0, 1), wanted);
        }
    }

    #[test]
    fn all_that_is_wrong_is_told_where_it_stands() {
        assert_eq!(wrong(""), [(1, 1, "the file is empty".to_owned())]);
        assert_eq!(wrong("t [s],t [s],\n").len(), 2);
        assert_eq!(wrong("t [s]\n"), [(1, 1, "a header and no rows".to_owned())]);
        let faults = wrong("t [s],x\n1,2,3\n4\n");
        assert_eq!(faults[0], (2, 1, "3 cells where the header has 2".to_owned()));
        assert_eq!(faults[1], (3, 1, "1 cell where the header has 2".to_owned()));
        let faults = wrong("t [s];x\n1,5;2\nsoon;3\n");
        assert_eq!(faults[0], (2, 1, "`1,5` has a decimal comma".to_owned()));
        assert_eq!((faults[1].0, faults[1].1), (3, 1));
        assert!(wrong("t,x\n1,2\n")[0].2.contains("the column `t`"));
        assert!(wrong("t [mmHg],x\n1,2\n")[0].2.contains("the column `t`"));
        assert!(wrong("t [s],x\n\"1,2\n")[0].2.contains("not closed"));
        assert_eq!(Sheet::read("a.csv", b"t\xff\n").expect_err("not UTF-8").len(), 1);
    }

    #[test]
    fn a_missing_column_is_named_with_what_may_be_meant() {
        let mut sheet = read("time [s],co2 im\n1,2\n");
        assert_eq!(sheet.need("co2 in"), None);
        assert_eq!(sheet.faults()[0].help.as_deref(), Some("did you mean `co2 im`?"));
    }

    #[test]
    fn a_file_full_of_faults_tells_the_first_and_how_many_more() {
        let text: String = std::iter::once("t [s]\n".to_owned())
            .chain((0..100).map(|_| "x\n".to_owned()))
            .collect();
        let mut sheet = read(&text);
        assert!(sheet.quantities(0, Dimension::Time).is_none());
        let faults = sheet.faults();
        assert_eq!(faults.len(), MOST_FAULTS);
        assert!(
            faults[MOST_FAULTS - 1]
                .help
                .as_ref()
                .is_some_and(|help| help.starts_with("60 more"))
        );
    }
}
