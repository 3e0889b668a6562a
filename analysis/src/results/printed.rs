//! `report.pdf`: printed by a browser into a scratch folder beside the results, then moved in.
//!
//! It is not part of what the same job gives the same bytes of: a browser writes its own version and the date into a PDF.

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::folder::{FolderError, reason};

/// The report that is printed.
pub const REPORT: &str = "report.html";

/// What it is printed to.
pub const PDF: &str = "report.pdf";

/// What every PDF begins with.
const HEAD: &[u8] = b"%PDF-";

/// Most of a browser's words that are looked at for what went wrong, bytes.
const MOST_WORDS: u64 = 1 << 20;

/// A place to print in, gone when it is dropped.
pub struct Printed {
    scratch: TempDir,
    folder: PathBuf,
}

impl Printed {
    /// Beside a results folder that is in place: on the same file system, and where the browser may write if we may.
    ///
    /// # Errors
    /// If there is no report in the results folder, or nothing can be written beside it.
    pub fn beside(folder: &Path) -> Result<Self, FolderError> {
        let failed = |doing, path: &Path, error| FolderError::Io {
            doing,
            path: path.to_owned(),
            error,
        };
        let report = folder.join(REPORT);
        fs::metadata(&report).map_err(|error| failed("read", &report, error))?;
        // The browser has another working folder.
        let folder = fs::canonicalize(folder).map_err(|error| failed("look at", folder, error))?;
        let parent = folder.parent().unwrap_or(&folder);
        let mut builder = tempfile::Builder::new();
        builder.prefix(".breathroom-pdf-");
        let scratch = builder
            .tempdir_in(parent)
            .map_err(|error| failed("write into", parent, error))?;
        Ok(Self { scratch, folder })
    }

    /// The report.
    #[must_use]
    pub fn report(&self) -> PathBuf {
        self.folder.join(REPORT)
    }

    /// A folder that the browser may have for itself; it makes it.
    #[must_use]
    pub fn profile(&self) -> PathBuf {
        self.scratch.path().join("profile")
    }

    /// Where it is to print to.
    #[must_use]
    pub fn pdf(&self) -> PathBuf {
        self.scratch.path().join("printed.pdf")
    }

    /// The scratch folder, which belongs to whoever runs this.
    #[must_use]
    pub fn scratch(&self) -> &Path {
        self.scratch.path()
    }

    /// A file for what the browser says.
    ///
    /// # Errors
    /// If it cannot be made.
    pub fn log(&self) -> io::Result<File> {
        File::create(self.log_path())
    }

    /// The last line that the browser said; empty if it said nothing.
    #[must_use]
    pub fn last_words(&self) -> String {
        let mut said = Vec::new();
        // What cannot be read is as good as nothing.
        let _as_far_as_it_goes =
            File::open(self.log_path()).and_then(|file| file.take(MOST_WORDS).read_to_end(&mut said));
        let said = String::from_utf8_lossy(&said).into_owned();
        let last = said.lines().rev().find(|line| !line.trim().is_empty());
        last.unwrap_or_default().trim().to_owned()
    }

    /// Moves what was printed into the results folder. Returns where it is.
    ///
    /// # Errors
    /// In words, if there is no PDF or it cannot be moved.
    pub fn put(self) -> Result<PathBuf, String> {
        let mut head = [0; HEAD.len()];
        let read = File::open(self.pdf()).and_then(|mut file| file.read_exact(&mut head));
        match read {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Err("it printed nothing".to_owned()),
            Ok(()) if head == HEAD => {}
            _ => return Err("what it printed is no PDF".to_owned()),
        }
        let place = self.folder.join(PDF);
        fs::rename(self.pdf(), &place)
            .map_err(|error| format!("cannot write `{}`: {}", place.display(), reason(&error)))?;
        Ok(place)
    }

    fn log_path(&self) -> PathBuf {
        self.scratch.path().join("said")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A results folder in a folder of its own.
    fn results(report: bool) -> (TempDir, PathBuf) {
        let outer = tempfile::tempdir().expect("a folder");
        let folder = outer.path().join("out");
        fs::create_dir(&folder).expect("made");
        if report {
            fs::write(folder.join(REPORT), "<!doctype html>").expect("written");
        }
        (outer, folder)
    }

    fn entries(folder: &Path) -> usize {
        fs::read_dir(folder).expect("a folder").count()
    }

    #[test]
    fn a_pdf_is_moved_in_and_nothing_else_is_left() {
        let (outer, folder) = results(true);
        let printed = Printed::beside(&folder).expect("a place");
        fs::write(printed.pdf(), b"%PDF-1.7\n").expect("written");
        fs::create_dir(printed.profile()).expect("made");
        let place = printed.put().expect("moved");
        assert_eq!(fs::read(&place).expect("a file"), b"%PDF-1.7\n");
        assert_eq!(place.file_name().expect("a name"), PDF);
        assert_eq!((entries(outer.path()), entries(&folder)), (1, 2));
    }

    #[test]
    fn what_is_no_pdf_stays_out() {
        for (content, said) in [
            (None, "it printed nothing"),
            (Some("%PD"), "what it printed is no PDF"),
            (Some("<html></html>"), "what it printed is no PDF"),
        ] {
            let (outer, folder) = results(true);
            let printed = Printed::beside(&folder).expect("a place");
            if let Some(content) = content {
                fs::write(printed.pdf(), content).expect("written");
            }
            assert_eq!(printed.put().expect_err("no PDF"), said);
            assert_eq!((entries(outer.path()), entries(&folder)), (1, 1));
        }
    }

    #[test]
    fn without_a_report_there_is_nothing_to_print() {
        let (outer, folder) = results(false);
        let error = Printed::beside(&folder).err().expect("an error").to_string();
        assert!(
            error.contains("report.html") && error.contains("no such file"),
            "{error}"
        );
        assert_eq!(entries(outer.path()), 1);
    }

    #[test]
    fn the_last_line_that_says_something_is_what_went_wrong() {
        use std::io::Write as _;
        let (_outer, folder) = results(true);
        let printed = Printed::beside(&folder).expect("a place");
        assert_eq!(printed.last_words(), "");
        printed
            .log()
            .expect("a file")
            .write_all(b"one\n two \n\n")
            .expect("written");
        assert_eq!(printed.last_words(), "two");
    }
}
