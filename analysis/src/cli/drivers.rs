//! `vary --drivers`: further runs, after the variations, that say what holds each margin.

use std::sync::Arc;

use super::console::{Console, Ended};
use super::job::Output;
use super::progress::Bar;
use super::scenario_file::Read;
use crate::study::{self, Drives, StudyError, VaryJob};

/// Refuses to look for what drives margins where nothing has a spread.
///
/// # Errors
/// If so.
pub fn can_be_asked(read: &Read, option: &str) -> Result<(), Ended> {
    if read.scenario.inputs.is_empty() {
        return Err(Ended::Usage(format!(
            "{option} asks what chance does, but no value of `{}` has a spread",
            read.file.file
        )));
    }
    Ok(())
}

/// Makes the rows, if any were asked for.
///
/// # Errors
/// If they do not fit into memory, or the job was interrupted.
pub fn drives(
    console: &Console<'_>,
    read: &Arc<Read>,
    vary: &VaryJob,
    rows: Option<u64>,
    output: &Output,
) -> Result<Option<Drives>, Ended> {
    let Some(rows) = rows else { return Ok(None) };
    let bar = Bar::further(
        "further runs: what drives the margins",
        console.progress && !output.quiet,
    );
    let (done, stop, shared, vary) = (bar.counter(), console.stop, Arc::clone(read), *vary);
    let result = console.interruptible(move || {
        let scenario = &shared.scenario;
        let draws = study::own_draws(scenario, vary.seed, "drives").map_err(Ended::Wrong)?;
        let (luck, groups) = (|k| draws.variation(k), study::joined(scenario));
        let pool = study::pool(vary.threads).map_err(ended)?;
        let progress = |_| done.count();
        pool.install(|| study::drives(scenario, &luck, &groups, rows, &progress, stop))
            .map_err(ended)
    });
    bar.clear();
    result?.map(Some)
}

/// A study without a result as the end of a job.
pub fn ended(error: StudyError) -> Ended {
    match error {
        StudyError::Stopped => Ended::Interrupted,
        other => Ended::Wrong(other.to_string()),
    }
}
