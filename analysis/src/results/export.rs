//! The files of one result, written into a folder that is about to be moved into place.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::csv_file::Rows;
use super::datapackage::Package;
use super::folder::{FolderError, MARK};
use super::provenance;
use super::table::{Cell, Column, Table};

/// The files of a results folder as they are written: tables first, `summary.json` last.
pub struct Export {
    folder: PathBuf,
    package: Package,
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

    /// Writes the rest; returns the names of all files.
    ///
    /// # Errors
    /// If one cannot be written, with its name and why.
    pub fn finish(self, texts: Texts<'_>) -> Result<Vec<String>, FolderError> {
        let mut names = vec![MARK.to_owned(), "summary.md".to_owned()];
        if !self.package.is_empty() {
            names.extend(self.package.paths().map(str::to_owned));
            names.push("datapackage.json".to_owned());
            let text = self
                .package
                .to_json()
                .map_err(|error| failed("datapackage.json", error.into()))?;
            self.text("datapackage.json", &text)?;
        }
        self.text("summary.md", texts.markdown)?;
        self.text(MARK, texts.json)?;
        Ok(names)
    }

    fn text(&self, name: &str, text: &str) -> Result<(), FolderError> {
        let write = || File::create_new(self.folder.join(name))?.write_all(text.as_bytes());
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
}
