//! The command line in-process: arguments in; exit code, summary and files out.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde_json::Value;

/// A row of a table by the headers of its columns.
pub type Row = BTreeMap<String, String>;

/// What a job gave.
pub struct Job {
    /// Exit code.
    pub code: u8,
    /// What it printed, progress and messages included.
    pub err: String,
    /// `summary.json`; null if there is none.
    pub summary: Value,
    /// The folder of its results; gone once this is dropped.
    pub results: tempfile::TempDir,
}

impl Job {
    /// A number of the summary by its path, `/state_end/cabin/co2_pa`; fails if it is not there.
    pub fn number(&self, pointer: &str) -> f64 {
        let value = self
            .summary
            .pointer(pointer)
            .unwrap_or_else(|| panic!("no {pointer} in {:#}", self.summary));
        value
            .as_f64()
            .unwrap_or_else(|| panic!("{pointer} is not a number: {value}"))
    }

    /// A key of a limit's entry, by the limit's id (its first subject).
    pub fn limit(&self, id: &str, key: &str) -> &Value {
        let limits = self.summary["limits"].as_array().expect("a list of limits");
        let limit = limits
            .iter()
            .find(|limit| limit["id"] == id)
            .unwrap_or_else(|| panic!("no limit {id}"));
        limit.get(key).unwrap_or_else(|| panic!("no {key} in {limit:#}"))
    }

    /// A CSV table of the results.
    pub fn table(&self, name: &str) -> Vec<Row> {
        let mut reader = csv::Reader::from_path(self.file(name)).expect("there");
        reader.deserialize().map(|row| row.expect("whole")).collect()
    }

    /// A file of the results.
    pub fn file(&self, name: &str) -> PathBuf {
        self.results.path().join("out").join(name)
    }
}

/// Runs `breathroom COMMAND FILE ARGUMENTS --quiet --out (a temporary folder)`.
pub fn job(command: &str, file: &Path, arguments: &[&str]) -> Job {
    let results = tempfile::tempdir().expect("a temporary folder");
    let out_folder = results.path().join("out");
    let mut words = vec!["breathroom".to_owned(), command.to_owned(), file.display().to_string()];
    words.extend(arguments.iter().map(|&argument| argument.to_owned()));
    words.extend([
        "--quiet".to_owned(),
        "--out".to_owned(),
        out_folder.display().to_string(),
    ]);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = breathroom_analysis::cli::main_with(words, &mut out, &mut err);
    let text = std::fs::read_to_string(out_folder.join("summary.json")).unwrap_or_default();
    let summary = serde_json::from_str(&text).unwrap_or(Value::Null);
    Job {
        code,
        err: String::from_utf8_lossy(&err).into_owned(),
        summary,
        results,
    }
}

/// Calls the command line as it is; gives exit code, standard output and standard error.
pub fn call(words: &[&str]) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = breathroom_analysis::cli::main_with(words.iter().copied(), &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).expect("text");
    (code, text(out), text(err))
}

/// A number is another to a relative tolerance.
#[track_caller]
pub fn near(got: f64, expected: f64, relative: f64) {
    let off = (got / expected - 1.0).abs();
    assert!(
        off <= relative,
        "{got} is {off:.2e} off {expected}, allowed {relative:.0e}"
    );
}
