//! `merge`: the parts of a study joined to the results that one machine would have given.

use std::sync::Arc;

use super::console::{Console, Ended};
use super::job::MergeJob;
use super::study::{self as finished, Studied};
use super::{Code, deliver, scenario_file, vary};
use crate::chance::Design;
use crate::results::parts::Parts;
use crate::study::{Shape, VaryJob};

/// Joins parts.
///
/// # Errors
/// If they are not of one job, are damaged, disagree or are not all there, or if the results cannot be written.
pub fn merge(job: &MergeJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let parts = Parts::read(&job.folders)?;
    let read = Arc::new(scenario_file::read_copies(&parts.files, &parts.job.overrides)?);
    let stem = deliver::stem(&read, "vary");
    let target = deliver::target(&job.output, &stem)?;
    let named = &parts.job.design;
    let wrong = || Ended::Wrong(format!("`{named}` is no design of draws: the parts are damaged"));
    let vary = VaryJob {
        design: Design::parse(named).ok_or_else(wrong)?,
        runs: parts.job.runs,
        seed: parts.job.seed,
        threads: job.threads,
        gate: job.gate,
    };
    let shape = Shape::of(&read.scenario);
    let overrides = parts.job.overrides.clone();
    let blocks = console.interruptible(move || parts.blocks(shape))??;
    let medians = vary::medians(&read, &vary, console)?;
    let of = Studied {
        read,
        overrides: &overrides,
        vary,
        medians,
        stopped: None,
        drives: None,
        stem: &stem,
        output: &job.output,
    };
    let folder = target.staging()?;
    let done = finished::results(console, of, blocks, folder.path())?;
    let placed = target.place(folder.path())?;
    let _moved_away = folder.keep();
    done.tell(console, &job.output, &placed)
}
