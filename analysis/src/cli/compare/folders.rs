//! Two results folders, of `run` or of `vary`.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;

use super::{CompareJob, Sides, both, name};
use crate::cli::console::{Console, Ended};
use crate::cli::input;
use crate::results::compare::folder::{self, Kind, Told};
use crate::results::compare::{InputOf, Of, Side};
use crate::results::{CAUTION, MARK, PART_MARK, reason};

/// Most bytes of a summary, and of a table of inputs.
const MOST_BYTES: u64 = 64 << 20;

/// Reads both.
///
/// # Errors
/// If one is no results folder that can be compared, is damaged, or the two are of different commands.
pub fn sides(job: &CompareJob, console: &mut Console<'_>) -> Result<Sides, Ended> {
    for (given, option) in [(job.runs.is_some(), "--runs"), (job.seed.is_some(), "--seed")] {
        if given {
            return Err(Ended::Usage(format!(
                "{option} goes with scenario files: results folders were run already"
            )));
        }
    }
    let (a, b) = both(told(&job.a, console), told(&job.b, console))?;
    if a.kind != b.kind {
        return Err(Ended::Usage(format!(
            "`{}` has results of `{}` and `{}` of `{}`: compare two of the same command",
            job.a.display(),
            a.kind.command(),
            job.b.display(),
            b.kind.command()
        )));
    }
    let of = match a.kind {
        Kind::Run => Of::Runs,
        Kind::Vary => Of::Variations,
    };
    let (a, b) = both(side(&job.a, a, console), side(&job.b, b, console))?;
    let old = [("A", &a), ("B", &b)]
        .into_iter()
        .filter(|(_, side)| side.inputs.is_none());
    let warnings = old
        .map(|(side, _)| format!("{side} has no inputs.csv, as results of an earlier version: inputs are not compared"))
        .collect();
    let stem = |side: &Side| match side.name.as_str() {
        name if name == side.file.file => Path::new(name)
            .file_stem()
            .map(|stem| stem.to_string_lossy().into_owned())
            .unwrap_or_default(),
        name => name.to_owned(),
    };
    Ok(Sides {
        of,
        stems: [stem(&a), stem(&b)],
        a,
        b,
        warnings,
        caution: CAUTION.to_owned(),
        target: None,
    })
}

/// Something wrong with a folder.
fn wrong(folder: &Path, what: &str) -> Ended {
    Ended::Wrong(format!("cannot compare `{}`: {what}", folder.display()))
}

fn told(folder: &Path, console: &Console<'_>) -> Result<Told, Ended> {
    let mark = folder.join(MARK);
    if !mark.exists() {
        return Err(wrong(
            folder,
            if folder.join(PART_MARK).exists() {
                "it is a part of a study, or a run that did not end; `breathroom merge` joins parts, --resume goes on with a run"
            } else {
                "it is no results folder: it has no summary.json"
            },
        ));
    }
    let of = folder.to_owned();
    console.interruptible(move || {
        let bytes = input::bytes(&mark, MOST_BYTES).map_err(Ended::Wrong)?;
        folder::summary(&bytes).map_err(|what| wrong(&of, &what))
    })?
}

fn side(folder: &Path, told: Told, console: &Console<'_>) -> Result<Side, Ended> {
    let (of, stop): (PathBuf, _) = (folder.to_owned(), console.stop);
    console.interruptible(move || {
        let table = of.join("inputs.csv");
        let inputs: Option<Vec<InputOf>> = if table.exists() {
            let bytes = input::bytes(&table, MOST_BYTES).map_err(Ended::Wrong)?;
            Some(folder::inputs(&bytes).map_err(|what| wrong(&of, &what))?)
        } else {
            None
        };
        let margins = if told.kind == Kind::Vary {
            let table = of.join("variations.csv");
            let file = File::open(&table)
                .map_err(|error| Ended::Wrong(format!("cannot read `{}`: {}", table.display(), reason(&error))))?;
            let stopped = || stop.load(Ordering::SeqCst);
            let margins = told.margins(&mut BufReader::new(file), &stopped);
            Some(margins.map_err(|what| wrong(&of, &what))?)
        } else {
            None
        };
        let own = match name(&of) {
            // Of "." the scenario's name says more.
            nothing if nothing.is_empty() => told.file().to_owned(),
            own => own,
        };
        Ok::<_, Ended>(told.side(own, inputs, margins))
    })?
}
