//! From the kept variations of a study to its results: what `vary` and `merge` share.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use breathroom_sim::engine::{Engine, Outcome, Trace};
use breathroom_sim::scenario::Medians;

use super::console::{Console, Ended};
use super::job::Output;
use super::scenario_file::Read;
use super::{Code, course, deliver, run};
use crate::report::Ran;
use crate::report::chances::Tables;
use crate::report::variations::{self, Drawn};
use crate::results::frame::Frame;
use crate::results::parts::Blocks;
use crate::results::standing::standings;
use crate::results::summary::Summary;
use crate::results::table::Table;
use crate::results::{Export, FolderError, Texts, curves, fans, finish, holds, judged, sheets};
use crate::study::{self, Drives, Stopped, StudyError, Vary, VaryJob, pool};

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
    /// What is wanted of the results.
    pub output: &'a Output,
}

/// Of so many variations the courses are drawn one by one: those with the least margin to the tightest limits.
const MOST_WORST: usize = 4;

/// Results that are written, but not in their place.
pub struct Done {
    summary: Summary,
    course: String,
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
        output,
    } = of;
    let mut export = Export::new(folder, stem, &read.scenario.title);
    let (shared, stop) = (Arc::clone(&read), console.stop);
    let case = read.scenario.draw(&Medians).case;
    let (mut export, case, varied, fans) = console.interruptible(move || {
        let of = (&shared.scenario, &case);
        let interrupted = || stop.load(Ordering::SeqCst);
        let (tally, fans) = finish::tables(&mut export, &mut blocks, of, (vary.runs, vary.design), &interrupted)?;
        let pool = pool(vary.threads).map_err(|error| Ended::Wrong(error.to_string()))?;
        let varied = pool.install(|| Vary::of(tally, blocks.shape(), &vary, medians));
        Ok::<_, Ended>((export, case, varied, fans))
    })??;
    let mut summary = run::summary("vary", overrides, &read, &case, &varied.medians);
    judged::add(&mut summary, &varied, (&read.scenario, &case));
    if let Some(stopped) = &stopped {
        judged::stopped(&mut summary, stopped);
    }
    let mut kept = |table: Table<'_>| export.table(&table).map(|()| Frame::of(&table));
    let tables = Tables {
        distribution: kept(curves::distribution(&varied, &read.scenario))?,
        convergence: kept(curves::convergence(&varied, &read.scenario))?,
        survival: kept(curves::survival(&varied, &read.scenario))?,
    };
    export.table(&sheets::inputs(&read.scenario))?;
    let draws = study::draws(&read.scenario, vary.seed, vary.design, vary.runs)?;
    summary.provenance.drawn_by(&draws);
    if let Some(drives) = &drives {
        holds::add(&mut summary, drives, &read.scenario);
        export.table(&holds::table(drives, &read.scenario))?;
    }
    let (worst, trace) = courses(console, &read, &summary, &vary)?;
    let worst = (!worst.is_empty()).then(|| fans::worst(&read.scenario, &worst));
    if let Some(table) = &worst {
        export.table(table)?;
    }
    let worst = worst.as_ref().map(Frame::of);
    let medians = Ran::new(&read.scenario, &case, &varied.medians, &trace);
    let evidence = Drawn {
        tables: &tables,
        fans: fans.as_ref(),
        worst: worst.as_ref(),
    };
    let met = varied.survival.failed == 0 && varied.gate_met();
    deliver::drawn(
        &mut export,
        &variations::page(&summary, &medians, &evidence, met),
        output,
    )?;
    let course = course::told(
        console,
        output,
        &summary,
        (&read.scenario, &case, &trace),
        "On the medians",
    );
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
        summary,
        course,
        json,
        names,
        code,
    })
}

/// The worst variations run again, and the run on the medians with its course.
fn courses(
    console: &Console<'_>,
    read: &Arc<Read>,
    summary: &Summary,
    vary: &VaryJob,
) -> Result<(Vec<(u64, Trace)>, Trace), Ended> {
    let mut which: Vec<u64> = Vec::new();
    for standing in standings(summary) {
        let Some(statistics) = &standing.limit.statistics else {
            continue;
        };
        if which.len() < MOST_WORST && !which.contains(&statistics.worst_variation) {
            which.push(statistics.worst_variation);
        }
    }
    let (shared, vary) = (Arc::clone(read), *vary);
    let made = console.interruptible(move || {
        let worst = study::again(&shared.scenario, &vary, &which)?;
        let mut trace = Trace::default();
        // It ended before: the same case gives the same run.
        let _as_before = Engine::new().run(&shared.scenario.draw(&Medians).case, Some(&mut trace));
        Ok::<_, StudyError>((worst, trace))
    });
    Ok(made??)
}

impl Done {
    /// Says what was found, and where it was put.
    ///
    /// # Errors
    /// If it cannot be said.
    pub fn tell(self, console: &mut Console<'_>, output: &Output, placed: &Path) -> Result<Code, Ended> {
        let told = (&self.summary, self.course.as_str());
        deliver::told(console, output, told, &self.json, placed, &self.names)?;
        Ok(self.code)
    }
}
