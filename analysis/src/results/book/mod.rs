//! A book: an answer in tables that a design team can use as they are, and where it comes from.
//!
//! One model, [`Book`], written five ways, each from the same cells:
//!
//! ```text
//! table.csv    every sheet, every digit; described in datapackage.json      (results::csv_file)
//! NAME.json    all of it as records, every digit, half-widths beside         (records)
//! NAME.xlsx    a worksheet to a sheet, real numbers shown as far as they are known   (xlsx)
//! NAME.md      to paste into a page: rounded, without columns of detail      (markdown)
//! NAME.tex     to print: the same, compiles alone                            (latex)
//! ```
//!
//! Numbers that do not exist are empty in CSV and XLSX, `null` in JSON and `-` in text. What stands out ([`Mark`]) does so by a
//! sign or a word and by weight, in colour only besides. No writer reads the clock: the same book gives the same bytes.

mod latex;
mod markdown;
mod names;
mod page;
mod records;
#[cfg(test)]
pub(super) mod sample;
#[cfg(test)]
mod tests;
mod xlsx;

use std::fmt;

#[cfg(doc)]
use super::table::Mark;
use super::table::Table;

pub use latex::write as latex;
pub use markdown::write as markdown;
pub use records::{half_width_key, write as records};
pub use xlsx::write as xlsx;

/// Rows of a worksheet, its header among them.
const MOST_ROWS: usize = 1 << 20;
/// Columns of a worksheet.
const MOST_COLUMNS: usize = 1 << 14;

/// An answer, its tables, and where they come from.
pub struct Book<'a> {
    /// Its name: "trade" becomes `trade.xlsx`.
    pub name: &'static str,
    /// What it is of.
    pub title: String,
    /// The answer, in sentences; the first says it.
    pub answer: Vec<String>,
    /// Where it comes from, as pairs of words and values: scenario, digest, seed, runs, version.
    pub stamp: Vec<(String, String)>,
    /// What a result of this model is not.
    pub caution: String,
    /// Its tables; the first is the one that people want. Names and, within each, headers differ.
    pub sheets: Vec<Table<'a>>,
}

/// Why a book cannot be a workbook.
#[derive(Debug)]
pub enum BookError {
    /// A table has more rows or columns than a worksheet can have.
    TooLarge {
        /// Which.
        table: String,
        /// Its rows.
        rows: usize,
        /// Its columns.
        columns: usize,
    },
    /// The writer of workbooks refused.
    Workbook(rust_xlsxwriter::XlsxError),
}

impl fmt::Display for BookError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLarge { table, rows, columns } => write!(
                f,
                "the table {table} has {rows} rows and {columns} columns, and a worksheet has room for {} and {MOST_COLUMNS}; \
                 {table}.csv can hold it",
                MOST_ROWS - 1
            ),
            Self::Workbook(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for BookError {}

impl From<rust_xlsxwriter::XlsxError> for BookError {
    fn from(error: rust_xlsxwriter::XlsxError) -> Self {
        Self::Workbook(error)
    }
}

impl Book<'_> {
    /// Whether no two sheets share a name and no two columns of a sheet a header, so that every writer keeps them apart.
    fn has_own_names(&self) -> bool {
        let differ = |mut names: Vec<String>| {
            names.sort();
            names.windows(2).all(|pair| pair[0] != pair[1])
        };
        let sheets = self.sheets.iter().map(|sheet| sheet.name.to_owned()).collect();
        let headers = |sheet: &Table<'_>| sheet.columns.iter().map(super::table::Column::header).collect();
        differ(sheets) && self.sheets.iter().all(|sheet| differ(headers(sheet)))
    }
}
