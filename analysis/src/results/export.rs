//! The files of one result, written into a folder that is about to be moved into place.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;

use sha2::{Digest, Sha256};

use super::datapackage::Package;
use super::folder::{FolderError, MARK};
use super::table::Table;
use super::{csv_file, provenance};

/// Everything that a results folder holds.
pub struct Export<'a> {
    /// `summary.json`.
    pub json: &'a str,
    /// `summary.md`.
    pub markdown: &'a str,
    /// The CSV files; with none, there is no `datapackage.json`.
    pub tables: &'a [Table<'a>],
    /// Name of the data package: the folder's stem.
    pub stem: &'a str,
    /// Title of the data package.
    pub title: &'a str,
}

impl Export<'_> {
    /// The names of the files, in the order in which they are written.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        let mut names = vec![MARK.to_owned(), "summary.md".to_owned()];
        names.extend(self.tables.iter().map(|table| format!("{}.csv", table.name)));
        if !self.tables.is_empty() {
            names.push("datapackage.json".to_owned());
        }
        names
    }

    /// Writes them.
    ///
    /// # Errors
    /// If one cannot be written, with its name and why.
    pub fn write_into(&self, folder: &Path) -> Result<(), FolderError> {
        let mut package = Package::new(self.stem, self.title);
        for table in self.tables {
            let (bytes, hash) = write_file(folder, &format!("{}.csv", table.name), |out| {
                csv_file::write(table, out)
            })?;
            package.add(table, bytes, &hash);
        }
        if !self.tables.is_empty() {
            let text = package
                .to_json()
                .map_err(|error| failed("datapackage.json", error.into()))?;
            write_file(folder, "datapackage.json", |out| out.write_all(text.as_bytes()))?;
        }
        write_file(folder, "summary.md", |out| out.write_all(self.markdown.as_bytes()))?;
        write_file(folder, MARK, |out| out.write_all(self.json.as_bytes()))?;
        Ok(())
    }
}

fn failed(name: &str, error: io::Error) -> FolderError {
    FolderError::Io {
        doing: "write",
        path: name.into(),
        error,
    }
}

/// Writes one file; returns its length and the SHA-256 of its bytes.
pub(super) fn write_file(
    folder: &Path,
    name: &str,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(u64, String), FolderError> {
    let write = || -> io::Result<(u64, String)> {
        let file = File::create_new(folder.join(name))?;
        let mut out = Hashed {
            inner: BufWriter::new(file),
            bytes: 0,
            digest: Sha256::new(),
        };
        fill(&mut out)?;
        out.flush()?;
        Ok((out.bytes, provenance::hex(&out.digest.finalize())))
    };
    write().map_err(|error| failed(name, error))
}

/// Counts and digests what passes through.
struct Hashed<W> {
    inner: W,
    bytes: u64,
    digest: Sha256,
}

impl<W: Write> Write for Hashed<W> {
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
    use super::super::table::{Cell, Column};
    use super::*;

    #[test]
    fn a_folder_describes_its_own_tables() {
        let folder = tempfile::tempdir().expect("a folder");
        let columns = vec![Column::number("time", "h", "Time.")];
        let tables = [Table::new("history", "H.", columns, 1, |_, cells| {
            cells.push(Cell::Number(1.5));
        })];
        let export = Export {
            json: "{}\n",
            markdown: "# x\n",
            tables: &tables,
            stem: "week-run",
            title: "Week",
        };
        export.write_into(folder.path()).expect("written");
        for name in export.names() {
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
