//! A book of tables into its folder, and what is said of it: what `trade`, `size` and `compare` share.

use std::path::Path;

use super::console::{Console, Ended};
use super::deliver;
use super::job::Output;
use crate::report::Page;
use crate::results::book::{self, Book};
use crate::results::frame::Frame;
use crate::results::table::Table;
use crate::results::{Export, ScenarioFile, Target, Texts, text};

/// Where numbers come from, as a book tells it.
#[must_use]
pub fn stamp(files: &[&ScenarioFile], (seed, runs): (u64, u64), date: Option<&str>) -> Vec<(String, String)> {
    let mut stamp: Vec<(String, String)> = Vec::new();
    for file in files {
        let mut key = format!("SHA-256 of {}", file.file);
        // Two files of one name, in two folders.
        if stamp.iter().any(|(other, _)| *other == key) {
            key.push_str(" (the second)");
        }
        stamp.push((key, file.sha256.clone()));
    }
    stamp.push(("seed".to_owned(), seed.to_string()));
    stamp.push(("variations".to_owned(), runs.to_string()));
    stamp.push(("draws".to_owned(), "plain, the same luck everywhere".to_owned()));
    stamp.push((
        "version".to_owned(),
        format!("breathroom {}", env!("CARGO_PKG_VERSION")),
    ));
    stamp.extend(date.map(|date| ("date".to_owned(), date.to_owned())));
    stamp
}

/// The sheets of a book in memory, by name.
#[must_use]
pub fn frames<'a>(of: &Book<'a>) -> Vec<(&'a str, Frame)> {
    of.sheets.iter().map(|sheet| (sheet.name, Frame::of(sheet))).collect()
}

/// Writes the book, its report if it has one, further tables and `summary.json`, and says the answer and where they are.
///
/// # Errors
/// If something cannot be written, or the job was interrupted; nothing is left half-written.
pub fn deliver(
    console: &mut Console<'_>,
    output: &Output,
    (target, stem): (Target, &str),
    (of, more, page): (&Book<'_>, &[Table<'_>], Option<&Page>),
    (json, warnings): (&str, &[String]),
) -> Result<(), Ended> {
    let markdown = book::markdown(of);
    let mut names = Vec::new();
    let fill = |folder: &Path| {
        let mut export = Export::new(folder, stem, &of.title);
        export.book(of)?;
        for table in more {
            export.table(table)?;
        }
        if let Some(page) = page {
            deliver::drawn(&mut export, page, output)?;
        }
        names = export.finish(Texts {
            json,
            markdown: &markdown,
        })?;
        Ok(())
    };
    let folder = target.publish(fill, || console.stopped())?;
    let spoken = |place: &str| {
        let mut said = format!("{}\n\n", text::wrap(&of.title));
        for sentence in &of.answer {
            said.push_str(&format!("{}\n", text::wrap(sentence)));
        }
        for warning in warnings {
            said.push_str(&format!("\n{}\n", text::wrap(&format!("Warning: {warning}"))));
        }
        for paragraph in [place, of.caution.as_str()] {
            said.push_str(&format!("\n{}\n", text::wrap(paragraph)));
        }
        said
    };
    deliver::said(console, output, json, &spoken, (&folder, &names))
}
