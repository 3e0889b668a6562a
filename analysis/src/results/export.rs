//! The files of one result, written into a folder that is about to be moved into place.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::book::{self, Book};
use super::csv_file::Rows;
use super::datapackage::Package;
use super::folder::{FolderError, MARK};
use super::parquet_file;
use super::provenance;
use super::table::{Cell, Column, Table};

/// The report.
const REPORT: &str = "report.html";
/// The folder of drawings.
const FIGURES: &str = "figures";

/// The files of a results folder as they are written: tables first, `summary.json` last.
pub struct Export {
    folder: PathBuf,
    package: Package,
    /// Files of books, beside the tables.
    of_books: Vec<String>,
    /// The report, and drawings.
    drawn: Vec<String>,
}

/// The texts of a result.
#[derive(Clone, Copy)]
pub struct Texts<'a> {
    /// `summary.json`.
    pub json: &'a str,
    /// `summary.md`.
    pub markdown: &'a str,
}

impl Export {
    /// Into a folder that is there and empty; `stem` names the data package (as its folder) and `title` says what it is of.
    #[must_use]
    pub fn new(folder: &Path, stem: &str, title: &str) -> Self {
        Self {
            folder: folder.to_owned(),
            package: Package::new(stem, title),
            of_books: Vec::new(),
            drawn: Vec::new(),
        }
    }

    /// Writes a table.
    ///
    /// # Errors
    /// If it cannot be written, with its name and why.
    pub fn table(&mut self, table: &Table<'_>) -> Result<(), FolderError> {
        let mut rows = self.begin(table.name, &table.title, &table.columns)?;
        let mut cells = Vec::with_capacity(table.columns.len());
        for index in 0..table.rows() {
            table.row_into(index, &mut cells);
            rows.write(&cells)?;
        }
        self.end(rows)
    }

    /// Begins a table that is written row by row.
    ///
    /// # Errors
    /// If the file cannot be made.
    pub fn begin(&self, name: &'static str, title: &str, columns: &[Column]) -> Result<Stream, FolderError> {
        let path = self.folder.join(format!("{name}.csv"));
        let begin = || Rows::new(Hashed::new(&path)?, columns);
        Ok(Stream {
            rows: begin().map_err(|error| failed(&format!("{name}.csv"), error))?,
            name,
            title: title.to_owned(),
            columns: columns.to_vec(),
        })
    }

    /// Ends such a table.
    ///
    /// # Errors
    /// If what is left cannot be written.
    pub fn end(&mut self, table: Stream) -> Result<(), FolderError> {
        let Stream {
            rows,
            name,
            title,
            columns,
        } = table;
        let written = rows.end().and_then(Hashed::end);
        let (bytes, hash) = written.map_err(|error| failed(&format!("{name}.csv"), error))?;
        self.package.add(name, &title, &columns, (bytes, &hash));
        Ok(())
    }

    /// Says where the tables come from, in what describes them.
    pub fn stamp(&mut self, pairs: &[(String, String)]) {
        self.package.stamp(pairs);
    }

    /// Begins the Parquet file of a table that is written as CSV too, row by row.
    ///
    /// # Errors
    /// If the file cannot be made.
    pub fn begin_parquet(&self, name: &'static str, columns: &[Column]) -> Result<ParquetStream, FolderError> {
        let path = format!("{name}.parquet");
        let begin = || parquet_file::Rows::new(Hashed::new(&self.folder.join(&path))?, columns);
        Ok(ParquetStream {
            rows: begin().map_err(|error| failed(&path, error))?,
            name,
        })
    }

    /// Ends such a file.
    ///
    /// # Errors
    /// If what is left cannot be written.
    pub fn end_parquet(&mut self, table: ParquetStream) -> Result<(), FolderError> {
        let path = format!("{}.parquet", table.name);
        let written = table.rows.end().and_then(Hashed::end);
        let (bytes, hash) = written.map_err(|error| failed(&path, error))?;
        self.package.copy(table.name, path, (bytes, &hash));
        Ok(())
    }

    /// Writes a book: every sheet as a table, and all of it as `NAME.xlsx`, `NAME.md`, `NAME.tex` and `NAME.json`.
    ///
    /// # Errors
    /// If a sheet is larger than a workbook can hold, or a file cannot be written, with its name and why.
    pub fn book(&mut self, book: &Book<'_>) -> Result<(), FolderError> {
        // A CSV file cannot say where it comes from: what describes it does.
        self.package.stamp(&book.stamp);
        for sheet in &book.sheets {
            self.table(sheet)?;
        }
        let name = |extension: &str| format!("{}.{extension}", book.name);
        let workbook = book::xlsx(book).map_err(|error| failed(&name("xlsx"), io::Error::other(error)))?;
        let records = book::records(book).map_err(|error| failed(&name("json"), error.into()))?;
        for (extension, bytes) in [
            ("xlsx", workbook),
            ("md", book::markdown(book).into_bytes()),
            ("tex", book::latex(book).into_bytes()),
            ("json", records.into_bytes()),
        ] {
            self.bytes(&name(extension), &bytes)?;
            self.of_books.push(name(extension));
        }
        Ok(())
    }

    /// Writes the report, a page that stands for itself.
    ///
    /// # Errors
    /// If it cannot be written, with its name and why.
    pub fn page(&mut self, html: &str) -> Result<(), FolderError> {
        self.bytes(REPORT, html.as_bytes())?;
        self.drawn.push(REPORT.to_owned());
        Ok(())
    }

    /// Writes drawings as files of their own, each with its name without the ending.
    ///
    /// # Errors
    /// If one cannot be written, with its name and why.
    pub fn figures(&mut self, drawings: impl Iterator<Item = (String, String)>) -> Result<(), FolderError> {
        std::fs::create_dir(self.folder.join(FIGURES)).map_err(|error| failed(FIGURES, error))?;
        for (name, svg) in drawings {
            self.bytes(&format!("{FIGURES}/{name}.svg"), svg.as_bytes())?;
        }
        self.drawn.push(format!("{FIGURES}/"));
        Ok(())
    }

    /// Writes the rest; returns the names of all files.
    ///
    /// # Errors
    /// If one cannot be written, with its name and why.
    pub fn finish(self, texts: Texts<'_>) -> Result<Vec<String>, FolderError> {
        let mut names = vec![MARK.to_owned(), "summary.md".to_owned()];
        names.extend(self.drawn.iter().cloned());
        if !self.package.is_empty() {
            names.extend(self.package.paths().map(str::to_owned));
            names.extend(self.of_books.iter().cloned());
            names.push("datapackage.json".to_owned());
            let text = self
                .package
                .to_json()
                .map_err(|error| failed("datapackage.json", error.into()))?;
            self.bytes("datapackage.json", text.as_bytes())?;
        }
        self.bytes("summary.md", texts.markdown.as_bytes())?;
        self.bytes(MARK, texts.json.as_bytes())?;
        Ok(names)
    }

    fn bytes(&self, name: &str, bytes: &[u8]) -> Result<(), FolderError> {
        let write = || File::create_new(self.folder.join(name))?.write_all(bytes);
        write().map_err(|error| failed(name, error))
    }
}

/// A table that is being written.
pub struct Stream {
    rows: Rows<Hashed>,
    name: &'static str,
    title: String,
    columns: Vec<Column>,
}

impl Stream {
    /// Writes a row.
    ///
    /// # Errors
    /// If it cannot be written, with the file's name and why.
    pub fn write(&mut self, cells: &[Cell]) -> Result<(), FolderError> {
        debug_assert_eq!(
            cells.len(),
            self.columns.len(),
            "a cell for each column of {}",
            self.name
        );
        self.rows
            .write(cells)
            .map_err(|error| failed(&format!("{}.csv", self.name), error))
    }
}

/// The Parquet file of a table that is being written.
pub struct ParquetStream {
    rows: parquet_file::Rows<Hashed>,
    name: &'static str,
}

impl ParquetStream {
    /// Writes a row.
    ///
    /// # Errors
    /// If it cannot be written, with the file's name and why.
    pub fn write(&mut self, cells: &[Cell]) -> Result<(), FolderError> {
        self.rows
            .write(cells)
            .map_err(|error| failed(&format!("{}.parquet", self.name), error))
    }
}

fn failed(name: &str, error: io::Error) -> FolderError {
    FolderError::Io {
        doing: "write",
        path: name.into(),
        error,
    }
}

/// A file whose bytes are counted and digested as they pass.
struct Hashed {
    inner: BufWriter<File>,
    bytes: u64,
    digest: Sha256,
}

impl Hashed {
    fn new(path: &Path) -> io::Result<Self> {
        Ok(Self {
            inner: BufWriter::new(File::create_new(path)?),
            bytes: 0,
            digest: Sha256::new(),
        })
    }

    /// Its length, and the SHA-256 of its bytes.
    fn end(mut self) -> io::Result<(u64, String)> {
        self.inner.flush()?;
        Ok((self.bytes, provenance::hex(&self.digest.finalize())))
    }
}

impl Write for Hashed {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let taken = self.inner.write(bytes)?;
        self.bytes += taken as u64;
        self.digest.update(&bytes[..taken]);
        Ok(taken)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_describes_its_own_tables() {
        let folder = tempfile::tempdir().expect("a folder");
        let columns = vec![Column::number("time", "h", "Time.")];
        let table = Table::new("history", "H.", columns, 1, |_, cells| {
            cells.push(Cell::Number(1.5));
        });
        let mut export = Export::new(folder.path(), "week-run", "Week");
        export.table(&table).expect("written");
        let names = export.finish(Texts {
            json: "{}\n",
            markdown: "# x\n",
        });
        let names = names.expect("written");
        assert_eq!(names, ["summary.json", "summary.md", "history.csv", "datapackage.json"]);
        for name in names {
            assert!(folder.path().join(&name).is_file(), "{name}");
        }
        let csv = std::fs::read(folder.path().join("history.csv")).expect("csv");
        let text = std::fs::read_to_string(folder.path().join("datapackage.json")).expect("json");
        let json: serde_json::Value = serde_json::from_str(&text).expect("json");
        assert_eq!(
            json["resources"][0]["hash"],
            format!("sha256:{}", provenance::sha256_hex(&csv))
        );
        assert_eq!(json["resources"][0]["bytes"], csv.len());
    }

    #[test]
    fn a_book_is_its_tables_and_four_files_more() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut export = Export::new(folder.path(), "week-trade", "Week");
        let mut book = book::sample::book();
        book.sheets.truncate(1);
        export.book(&book).expect("written");
        let names = export.finish(Texts {
            json: "{}\n",
            markdown: "# x\n",
        });
        let names = names.expect("written");
        assert_eq!(
            names,
            [
                "summary.json",
                "summary.md",
                "trade.csv",
                "trade.xlsx",
                "trade.md",
                "trade.tex",
                "trade.json",
                "datapackage.json"
            ]
        );
        let read = |name: &str| std::fs::read(folder.path().join(name)).expect("a file");
        assert_eq!(read("trade.xlsx"), book::xlsx(&book).expect("written"));
        assert_eq!(read("trade.md"), book::markdown(&book).into_bytes());
        assert_eq!(read("trade.tex"), book::latex(&book).into_bytes());
        assert_eq!(read("trade.json"), book::records(&book).expect("json").into_bytes());
        let package: serde_json::Value = serde_json::from_slice(&read("datapackage.json")).expect("json");
        assert_eq!(package["resources"].as_array().map(Vec::len), Some(1));
    }

    #[test]
    fn a_sheet_that_no_workbook_can_hold_is_told_by_the_file() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut export = Export::new(folder.path(), "week-trade", "Week");
        let mut book = book::sample::book();
        let column = vec![Column::integer("k", "Which.")];
        book.sheets = vec![Table::new("rows", "R.", column, 1 << 20, |_, cells| {
            cells.push(Cell::Integer(1));
        })];
        let error = export.book(&book).expect_err("too large").to_string();
        assert!(
            error.starts_with("cannot write `trade.xlsx`: the table rows has"),
            "{error}"
        );
    }
}
