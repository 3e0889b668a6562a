//! `traces`: labelled histories as instruments would see them, as CSV and Parquet.

use std::path::PathBuf;
use std::sync::Arc;

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::Medians;
use breathroom_sim::units::Time;

use super::{instruments, named, step};
use crate::cli::console::{Console, Ended};
use crate::cli::drivers::ended;
use crate::cli::job::ScenarioJob;
use crate::cli::progress::Bar;
use crate::cli::{Code, book, deliver, scenario_file};
use crate::results::frame::Frame;
use crate::results::table::Table;
use crate::results::trace::{Of, TracesSummary};
use crate::results::{Export, FolderError, Texts, sheets, text};
use crate::study::{StudyError, pool};
use crate::watch::instruments::Instrument;
use crate::watch::lab::Lab;
use crate::watch::modes::{Mode, modes};
use crate::watch::traces::{Labelled, TracesJob, traces as study};

/// What is asked of traces.
#[derive(Clone, Debug, PartialEq)]
pub struct TracesAsked {
    /// Variations.
    pub runs: u64,
    /// The seed.
    pub seed: u64,
    /// A file of instruments.
    pub instruments: Option<PathBuf>,
    /// Severities.
    pub severities: Vec<f64>,
    /// Spacing of rows, s.
    pub every_s: Option<f64>,
    /// Faults; none: all.
    pub faults: Vec<String>,
    /// What is, beside what is read.
    pub truth: bool,
    /// Threads; 0 for as many as there are cores.
    pub threads: usize,
}

/// Why traces were not made.
enum Failed {
    Study(StudyError),
    Folder(FolderError),
}

impl From<StudyError> for Failed {
    fn from(error: StudyError) -> Self {
        Self::Study(error)
    }
}

impl From<FolderError> for Failed {
    fn from(error: FolderError) -> Self {
        Self::Folder(error)
    }
}

/// Everything that a thread of its own needs.
struct Work {
    read: Arc<scenario_file::Read>,
    instruments: Vec<Instrument>,
    modes: Vec<Mode>,
    job: TracesJob,
    step: Time,
    asked: TracesAsked,
}

/// Makes labelled histories. Exit code 1 if runs failed.
///
/// # Errors
/// If the scenario or the instruments are wrong, or the results cannot be written.
pub fn traces(job: &ScenarioJob, asked: &TracesAsked, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = Arc::new(scenario_file::read(job, console)?);
    let case: Case = read.scenario.draw(&Medians).case;
    let instruments = instruments(asked.instruments.as_ref(), &read.scenario, &case)?;
    let all = modes(&case, &read.scenario.names, &instruments);
    let meant = TracesJob {
        runs: asked.runs,
        severities: asked.severities.clone(),
        modes: if asked.faults.is_empty() {
            (0..all.len()).collect()
        } else {
            named(&all, &asked.faults)?
        },
    };
    let step = step(asked.every_s, &case)?;
    let stem = deliver::stem(&read, "traces");
    let target = deliver::target(&job.output, &stem)?;
    let bar = Bar::further("runs", console.progress && !job.output.quiet);
    let work = Work {
        read: Arc::clone(&read),
        instruments,
        modes: all,
        job: meant,
        step,
        asked: asked.clone(),
    };
    let work = Arc::new(work);
    let mut told = None;
    let mut names = Vec::new();
    let mut failed = None;
    let fill = |folder: &std::path::Path| {
        let export = Export::new(folder, &stem, &read.scenario.title);
        let (shared, count, stop) = (Arc::clone(&work), bar.counter(), console.stop);
        let provenance = read.provenance("traces", &job.overrides);
        let made = console.interruptible(move || shared.all(export, &|| count.count(), stop, provenance));
        match made {
            Ok(Ok((summary, written))) => {
                told = Some(summary);
                names = written;
                Ok(())
            }
            Ok(Err(Failed::Folder(error))) => Err(error),
            Ok(Err(Failed::Study(error))) => {
                failed = Some(ended(error));
                Err(FolderError::Stopped)
            }
            Err(error) => {
                failed = Some(error);
                Err(FolderError::Stopped)
            }
        }
    };
    let folder = target.publish(fill, || console.stopped());
    bar.clear();
    let folder = match (folder, failed) {
        (_, Some(why)) => return Err(why),
        (folder, None) => folder?,
    };
    let Some(summary) = told else {
        return Err(Ended::Interrupted);
    };
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let spoken = |place: &str| {
        let mut said = format!("{}: labelled histories\n\n", summary.scenario.heading());
        for sentence in &summary.answer {
            said.push_str(&format!("{}\n", text::wrap(sentence)));
        }
        for warning in &summary.warnings {
            said.push_str(&format!("\n{}\n", text::wrap(&format!("Warning: {warning}"))));
        }
        for paragraph in [place, summary.caution.as_str()] {
            said.push_str(&format!("\n{}\n", text::wrap(paragraph)));
        }
        said
    };
    deliver::said(console, &job.output, &json, &spoken, (&folder, &names))?;
    Ok(if summary.failed > 0 { Code::Failed } else { Code::Done })
}

impl Work {
    fn all(
        &self,
        mut export: Export,
        progress: &(dyn Fn() + Sync),
        stop: &'static std::sync::atomic::AtomicBool,
        provenance: crate::results::Provenance,
    ) -> Result<(TracesSummary, Vec<String>), Failed> {
        let lab = Lab::new(
            &self.read.scenario,
            &self.instruments,
            (self.step, self.asked.seed),
            progress,
            stop,
        )?;
        let of = Of {
            scenario: &self.read.scenario,
            instruments: &self.instruments,
            modes: &self.modes,
            job: &self.job,
            step_s: self.step.seconds(),
            truth: self.asked.truth,
        };
        let columns = of.row_columns();
        let mut csv = export.begin("traces", "What instruments would see, row by row.", &columns)?;
        let mut parquet = export.begin_parquet("traces", &columns)?;
        let (mut labels, mut rows): (Vec<Labelled>, u64) = (Vec::new(), 0);
        let mut cells = Vec::new();
        let pool = pool(self.asked.threads)?;
        pool.install(|| {
            study(
                &lab,
                &self.job,
                &self.modes,
                |labelled: &Labelled| -> Result<(), Failed> {
                    for row in 0..labelled.rows() {
                        of.row_into(labelled, row, &mut cells);
                        csv.write(&cells)?;
                        parquet.write(&cells)?;
                        rows += 1;
                    }
                    // The label is kept, and of the truth how many rows there are.
                    labels.push(Labelled {
                        readings: Vec::new(),
                        truth: labelled.truth.first().cloned().into_iter().collect(),
                        runs: Vec::new(),
                        ..labelled.clone()
                    });
                    Ok(())
                },
            )
        })?;
        export.end(csv)?;
        export.end_parquet(parquet)?;
        let stamp = book::stamp(&[&self.read.file], (self.asked.seed, self.job.runs), None);
        export.stamp(&stamp);
        let runs = of.runs(&labels);
        export.table(&runs)?;
        copy(&mut export, &runs)?;
        export.table(&sheets::inputs(&self.read.scenario))?;
        export.table(&sheets::assumptions(&self.read.scenario))?;
        let summary = TracesSummary::of(
            &of,
            (&labels, rows, self.asked.seed),
            [lab.crew_varies(), lab.timeline_varies()],
            (self.read.file.clone(), provenance),
        );
        let json = summary.to_json().map_err(|error| FolderError::Io {
            doing: "write",
            path: "summary.json".into(),
            error: error.into(),
        })?;
        let names = export.finish(Texts {
            json: &json,
            markdown: &summary.markdown(),
        })?;
        Ok((summary, names))
    }
}

/// The Parquet file of a table that is written as CSV too.
fn copy(export: &mut Export, table: &Table<'_>) -> Result<(), FolderError> {
    let mut parquet = export.begin_parquet(table.name, &table.columns)?;
    let frame = Frame::of(table);
    for row in 0..frame.rows() {
        let cells: Vec<_> = frame.row(row).cloned().collect();
        parquet.write(&cells)?;
    }
    export.end_parquet(parquet)
}
