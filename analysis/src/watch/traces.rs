//! Labelled histories: what instruments would see in nominal runs and with each fault, beside what a laboratory would know.
//!
//! Each variation gives a nominal run, then one with each fault at each severity, all on the same crew, timeline, noise and offsets. The first
//! half of the variations is for tuning, the rest is held out: no run of the one shares a draw with any of the other. Nobody responds to
//! alarms, so that what is seen is the fault.

use breathroom_sim::engine::RunError;
use breathroom_sim::units::Time;
use rayon::prelude::*;

use super::characterise::to_limit_s;
use super::lab::{Lab, Run, Which, Worker};
use super::modes::{Mode, Put};
use super::whiten::Rows;
use crate::study::StudyError;

/// Variations that are made side by side before they are handed on.
const BATCH: u64 = 4;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct TracesJob {
    /// Variations.
    pub runs: u64,
    /// Severities, 0 to 1.
    pub severities: Vec<f64>,
    /// Modes by index.
    pub modes: Vec<usize>,
}

/// A labelled run.
#[derive(Clone, Debug, PartialEq)]
pub struct Labelled {
    /// Its number, from 0.
    pub run: u64,
    /// Variation.
    pub variation: u64,
    /// For tuning; else held out.
    pub tune: bool,
    /// Index of the mode; none for a nominal run.
    pub mode: Option<usize>,
    /// Severity; 0 for a nominal run, 1 for a fault of the file.
    pub severity: f64,
    /// When the fault began, s; none if there is none, or it did not begin.
    pub onset_s: Option<f64>,
    /// From there to the first limit that is crossed because of it, s.
    pub to_limit_s: Option<f64>,
    /// What instruments say, instrument by instrument, row by row, SI.
    pub readings: Rows,
    /// What is, likewise.
    pub truth: Rows,
    /// Whether each device runs.
    pub runs: Vec<Vec<bool>>,
    /// Why it could not be finished: there are no rows.
    pub failure: Option<RunError>,
}

impl Labelled {
    /// How many rows it has.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.readings.first().map_or(0, Vec::len)
    }
}

impl TracesJob {
    /// What is run in each variation: nothing, then each mode at each severity.
    #[must_use]
    pub fn each(&self, modes: &[Mode]) -> Vec<(Option<usize>, f64)> {
        let graded = |&mode: &usize| {
            let all: Vec<(Option<usize>, f64)> = if modes[mode].graded {
                self.severities.iter().map(|severity| (Some(mode), *severity)).collect()
            } else {
                vec![(Some(mode), 1.0)]
            };
            all
        };
        std::iter::once((None, 0.0))
            .chain(self.modes.iter().flat_map(graded))
            .collect()
    }

    /// Variations for tuning: the first half, the larger one.
    #[must_use]
    pub fn tuning(&self) -> u64 {
        self.runs.div_ceil(2)
    }
}

/// Makes labelled runs, handed on one after the other. Runs on the threads of the pool that this is called in.
///
/// # Errors
/// If it was stopped; what `take` says.
pub fn traces<E: From<StudyError>>(
    lab: &Lab<'_>,
    job: &TracesJob,
    modes: &[Mode],
    mut take: impl FnMut(&Labelled) -> Result<(), E>,
) -> Result<(), E> {
    let mut from = 0;
    while from < job.runs {
        let batch: Vec<u64> = (from..(from + BATCH).min(job.runs)).collect();
        let one = |worker: &mut Worker, k: &u64| variation(lab, job, modes, (worker, *k));
        let made: Result<Vec<Vec<Labelled>>, StudyError> = batch.par_iter().map_init(Worker::default, one).collect();
        for labelled in made?.iter().flatten() {
            take(labelled)?;
        }
        from += BATCH;
    }
    Ok(())
}

fn variation(
    lab: &Lab<'_>,
    job: &TracesJob,
    modes: &[Mode],
    (worker, k): (&mut Worker, u64),
) -> Result<Vec<Labelled>, StudyError> {
    let each = job.each(modes);
    let duration = lab.case(Which::Variation(k)).duration;
    let nominal = lab.run(worker, Which::Variation(k), &Put::Nothing)?;
    let mut all = Vec::with_capacity(each.len());
    for (index, (mode, severity)) in each.iter().copied().enumerate() {
        let put = mode.map_or(Put::Nothing, |mode| lab.put(&modes[mode], severity, k, duration));
        let run = match (&put, &nominal) {
            (Put::Nothing, run) => run.clone(),
            // The air is that of the nominal run.
            (Put::Instrument { onset_s, .. }, Ok(run)) => Ok(Run {
                onset: Some(Time::from_seconds(*onset_s)),
                ..run.clone()
            }),
            _ => lab.run(worker, Which::Variation(k), &put)?,
        };
        let mut labelled = Labelled {
            run: k * each.len() as u64 + index as u64,
            variation: k,
            tune: k < job.tuning(),
            mode,
            severity,
            onset_s: None,
            to_limit_s: None,
            readings: Vec::new(),
            truth: Vec::new(),
            runs: Vec::new(),
            failure: run.as_ref().err().cloned(),
        };
        if let Ok(run) = run {
            labelled.onset_s = run.onset.map(Time::seconds);
            if let (Some(onset), Ok(nominal)) = (run.onset, &nominal) {
                labelled.to_limit_s = to_limit_s(&run.crossings, &nominal.crossings, onset);
            }
            labelled.readings = lab.readings(&run, &put, Some(k));
            labelled.truth = run.truth;
            labelled.runs = run.runs;
        }
        all.push(labelled);
    }
    Ok(all)
}
