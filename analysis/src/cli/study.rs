//! From the kept variations of a study to its results: what `vary` and `merge` share.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use breathroom_sim::engine::Outcome;
use breathroom_sim::scenario::Medians;

use super::console::{Console, Ended};
use super::job::Output;
use super::scenario_file::Read;
use super::{Code, course, deliver, run};
use crate::results::parts::Blocks;
use crate::results::summary::Summary;
use crate::results::{Export, FolderError, Texts, curves, finish, holds, judged, sheets};
use crate::study::{Drives, Stopped, Vary, VaryJob, pool};

/// What was studied.
pub struct Studied<'a> {
    /// The scenario.
    pub read: Arc<Read>,
    /// How it was changed.
    pub overrides: &'a [String],
    /// The job.
    pub vary: VaryJob,
    /// The run on the medians.
    pub medians: Outcome,
    /// Why it stopped, if it was to go on until its shares are known well enough.
    pub stopped: Option<Stopped>,
    /// The further runs that were asked for.
    pub drives: Option<Drives>,
    /// Name of the data package.
    pub stem: &'a str,
}

/// Results that are written, but not in their place.
pub struct Done {
    read: Arc<Read>,
    summary: Summary,
    json: String,
    names: Vec<String>,
    code: Code,
}

/// Writes all files of the results into a folder.
///
/// # Errors
/// If a part cannot be read or a file not written, or the job was interrupted.
pub fn results(console: &Console<'_>, of: Studied<'_>, mut blocks: Blocks, folder: &Path) -> Result<Done, Ended> {
    let Studied {
        read,
        overrides,
        vary,
        medians,
        stopped,
        drives,
        stem,
    } = of;
    let mut export = Export::new(folder, stem, &read.scenario.title);
    let (shared, stop) = (Arc::clone(&read), console.stop);
    let case = read.scenario.draw(&Medians).case;
    let (mut export, case, varied) = console.interruptible(move || {
        let of = (&shared.scenario, &case);
        let interrupted = || stop.load(Ordering::SeqCst);
        let tally = finish::tables(&mut export, &mut blocks, of, (vary.runs, vary.design), &interrupted)?;
        let pool = pool(vary.threads).map_err(|error| Ended::Wrong(error.to_string()))?;
        let varied = pool.install(|| Vary::of(tally, blocks.shape(), &vary, medians));
        Ok::<_, Ended>((export, case, varied))
    })??;
    let mut summary = run::summary("vary", overrides, &read, &case, &varied.medians);
    judged::add(&mut summary, &varied, (&read.scenario, &case));
    if let Some(stopped) = &stopped {
        judged::stopped(&mut summary, stopped);
    }
    export.table(&curves::convergence(&varied, &read.scenario))?;
    export.table(&curves::survival(&varied, &read.scenario))?;
    export.table(&sheets::inputs(&read.scenario))?;
    let draws = crate::study::draws(&read.scenario, vary.seed, vary.design, vary.runs)?;
    summary.provenance.drawn_by(&draws);
    if let Some(drives) = &drives {
        holds::add(&mut summary, drives, &read.scenario);
        export.table(&holds::table(drives, &read.scenario))?;
    }
    let (json, markdown) = deliver::texts(&summary)?;
    let texts = Texts {
        json: &json,
        markdown: &markdown,
    };
    let names = export.finish(texts)?;
    if console.stopped() {
        return Err(FolderError::Stopped.into());
    }
    let code = if varied.survival.failed > 0 {
        Code::Failed
    } else if varied.gate_met() {
        Code::Done
    } else {
        Code::NotMet
    };
    Ok(Done {
        read,
        summary,
        json,
        names,
        code,
    })
}

impl Done {
    /// Says what was found, and where it was put.
    ///
    /// # Errors
    /// If it cannot be said.
    pub fn tell(self, console: &mut Console<'_>, output: &Output, placed: &Path) -> Result<Code, Ended> {
        let course = course::of_medians(console, output, &self.summary, &self.read);
        let told = (&self.summary, course.as_str());
        deliver::told(console, output, told, &self.json, placed, &self.names)?;
        Ok(self.code)
    }
}
