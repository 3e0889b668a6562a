//! Results into their folder, and what is said of them.

use std::path::{Path, PathBuf};

use super::console::{Console, Ended};
use super::job::Output;
use super::pdf::Browser;
use super::scenario_file::Read;
use crate::report::Page;
use crate::results::summary::Summary;
use crate::results::table::Table;
use crate::results::{Export, FolderError, PDF, Target, Texts, answer, markdown, text};

/// Where results go unless a folder is named.
const DEFAULT_PARENT: &str = "results";

/// The place for the results, tried before any simulation, as is whether there is something to print them with.
///
/// # Errors
/// If it is taken or cannot be written to, or there is no browser for a PDF that is asked for.
pub fn target(output: &Output, stem: &str) -> Result<Target, Ended> {
    if output.pdf {
        Browser::find()?;
    }
    Ok(match &output.out {
        Some(path) => Target::named(path, output.force)?,
        None => Target::numbered(Path::new(DEFAULT_PARENT), stem)?,
    })
}

/// Where a job's results are to go, whether something is there or not: for a default folder, the name without a number.
#[must_use]
pub fn place(output: &Output, stem: &str) -> PathBuf {
    match &output.out {
        Some(path) => path.clone(),
        None => Path::new(DEFAULT_PARENT).join(stem),
    }
}

/// The name of a job's default folder and data package: `week-run`.
#[must_use]
pub fn stem(read: &Read, command: &str) -> String {
    format!("{}-{command}", read.stem)
}

/// A fault of an encoder as words.
pub fn unencoded(error: &serde_json::Error) -> Ended {
    Ended::Wrong(format!("cannot write the summary: {error}"))
}

/// Writes a summary and its tables into their folder and says what they say; `course` is a sparkline, or nothing.
///
/// # Errors
/// If something cannot be written, or the job was interrupted; nothing is left half-written.
pub fn results(
    console: &mut Console<'_>,
    output: &Output,
    target: Target,
    package: &str,
    (summary, course): (&Summary, &str),
    (tables, page): (&[Table<'_>], &Page),
) -> Result<(), Ended> {
    let (json, markdown) = texts(summary)?;
    let mut names = Vec::new();
    let fill = |folder: &Path| {
        let mut export = Export::new(folder, package, &summary.scenario.title);
        for table in tables {
            export.table(table)?;
        }
        drawn(&mut export, page, output)?;
        names = export.finish(Texts {
            json: &json,
            markdown: &markdown,
        })?;
        Ok(())
    };
    let folder = target.publish(fill, || console.stopped())?;
    told(console, output, (summary, course), &json, &folder, &names)
}

/// Writes the report, and its figures as files if they are asked for.
///
/// # Errors
/// If one cannot be written.
pub fn drawn(export: &mut Export, page: &Page, output: &Output) -> Result<(), FolderError> {
    export.page(&page.html())?;
    if output.figures {
        export.figures(page.figures().map(|figure| (figure.id.clone(), figure.file())))?;
    }
    Ok(())
}

/// `summary.json` and `summary.md`.
///
/// # Errors
/// If the encoder is at fault.
pub fn texts(summary: &Summary) -> Result<(String, String), Ended> {
    let json = summary.to_json().map_err(|error| unencoded(&error))?;
    Ok((json, markdown::summary(summary)))
}

/// Says what results say, and where they are.
///
/// # Errors
/// If it cannot be said; a reader that has gone is no error.
pub fn told(
    console: &mut Console<'_>,
    output: &Output,
    (summary, course): (&Summary, &str),
    json: &str,
    folder: &Path,
    names: &[String],
) -> Result<(), Ended> {
    let spoken = |place: &str| spoken(summary, course, place);
    said(console, output, json, &spoken, (folder, names))
}

/// Says summary.json or a text that ends with where the results are, as asked for; then prints the report, if asked for.
///
/// # Errors
/// If it cannot be said (a reader that has gone is no error) or the report cannot be printed.
pub fn said(
    console: &mut Console<'_>,
    output: &Output,
    json: &str,
    spoken: &dyn Fn(&str) -> String,
    (folder, names): (&Path, &[String]),
) -> Result<(), Ended> {
    let place = format!("Results in {}: {}", folder.display(), names.join(", "));
    let said = if output.json {
        let said = console.say(json);
        if !output.quiet {
            console.tell(&format!("{place}\n"));
        }
        said
    } else if !output.quiet {
        console.say(&spoken(&place))
    } else {
        Ok(())
    };
    read_or_not(said)?;
    if !output.pdf {
        return Ok(());
    }
    Browser::find()?.print(folder, console)?;
    let said = format!("Printed to {}\n", folder.join(PDF).display());
    match (output.quiet, output.json) {
        (true, _) => {}
        (false, true) => console.tell(&said),
        (false, false) => read_or_not(console.say(&said))?,
    }
    Ok(())
}

/// A reader that has gone is no error: the results are there, and the exit code still says whether limits are met.
fn read_or_not(said: Result<(), Ended>) -> Result<(), Ended> {
    match said {
        Err(Ended::Unread) => Ok(()),
        other => other,
    }
}

/// The answer, the margins, the course of CO2, where the files are, and the caution.
fn spoken(summary: &Summary, course: &str, place: &str) -> String {
    let mut said = String::new();
    let title = if summary.scenario.title.is_empty() {
        &summary.scenario.file
    } else {
        &summary.scenario.title
    };
    said.push_str(&format!("{}\n\n", text::wrap(title)));
    for sentence in answer::sentences(summary) {
        said.push_str(&format!("{}\n", text::wrap(&sentence)));
    }
    let margins = text::margins(summary);
    if !margins.is_empty() {
        said.push_str(&format!("\n{margins}{}\n", text::wrap(&text::legend(summary))));
    }
    if !course.is_empty() {
        said.push_str(&format!("\n{course}"));
    }
    for warning in &summary.warnings {
        said.push_str(&format!("\n{}", text::wrap(&format!("Warning: {warning}"))));
    }
    if !summary.warnings.is_empty() {
        said.push('\n');
    }
    said.push_str(&format!(
        "\n{}\n\n{}\n",
        text::wrap(place),
        text::wrap(&summary.caution)
    ));
    said
}
