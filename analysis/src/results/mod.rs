//! Results as tables and files: what was found, in units and with names, written whole or not at all.
//!
//! ```text
//! Outcome + Scenario --summarise--> Summary --> summary.json, summary.md, text
//! Trace --> history.csv, events.csv, sparkline        variations --> variations.csv      every table --> datapackage.json
//! Book (an answer in tables) --> workbook, Markdown, LaTeX, JSON, and every table as above
//! ```
//!
//! Numbers that do not exist are `null` in JSON and empty in CSV. Nothing written depends on threads, paths or the clock:
//! the same job gives the same bytes.

pub mod answer;
pub mod book;
pub mod caution;
mod cluster;
pub mod co2_course;
pub mod compare;
pub mod csv_file;
pub mod curves;
mod datapackage;
pub mod driven;
pub mod endings;
pub mod events;
mod export;
pub mod fans;
pub mod figures;
pub mod finish;
pub mod fitted;
mod folder;
pub mod frame;
pub mod history;
pub mod holds;
pub mod json;
pub mod judged;
pub mod markdown;
mod new_file;
mod notices;
pub mod numbers;
mod ordered;
pub mod parquet_file;
pub mod parts;
mod printed;
pub mod profiled;
mod provenance;
pub mod rarely;
#[cfg(test)]
pub(crate) mod sample;
pub mod sheets;
pub mod size;
pub mod sparkline;
pub mod standing;
pub mod stress;
pub mod summarise;
pub mod summary;
pub mod table;
pub mod text;
pub mod timed;
pub mod trace;
pub mod trade;
pub mod variations;
pub mod watch;
pub mod words;
pub mod wrong;
#[cfg(test)]
mod wrong_tests;

pub use book::{Book, BookError};
pub use caution::CAUTION;
pub use cluster::{ClusterFile, ClusterJob, quoted, write_cluster_files};
pub use datapackage::Package;
pub use endings::describe;
pub use export::{Export, ParquetStream, Stream, Texts};
pub use folder::{FolderError, MARK, PART_MARK, Target, reason};
pub use new_file::{new_file, replace_file, unsaved_file};
pub use ordered::Ordered;
pub use printed::{PDF, Printed, REPORT};
pub use provenance::{FileDigest, InputRecord, Provenance, ScenarioFile, sha256_hex};
pub use summarise::summarise;
