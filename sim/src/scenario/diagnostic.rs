//! What is wrong with a file, where, and what would be right.

use std::ops::Range;

/// One fault or warning of a scenario file, for the person who wrote it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// The file it is in, as the user named it (`--set` for an override).
    pub file: String,
    /// Byte range of the offending text in that file; empty if the fault is an absence.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: Option<String>,
}
