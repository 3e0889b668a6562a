//! Tuning: what a detector learns from nominal runs, and what instruments are expected to say.
//!
//! Variations 0 .. tune, without a fault, give the whitening, the excess of the bank, the scales of charts and every threshold. What is expected is the run
//! on the medians through the instruments, or, where the timeline is known, the medians with the tasks of each variation.

use breathroom_sim::engine::RunError;
use breathroom_sim::units::Time;
use rayon::prelude::*;

use super::bank::Bank;
use super::detector::Detector;
use super::lab::{Lab, Run, Which, Worker};
use super::modes::{Mode, Put, full_error};
use super::whiten::{Rows, Whitener};
use crate::study::StudyError;

/// Onsets of the bank over the run.
pub const ONSETS: usize = 24;
/// Severity at which signatures are made.
const HALF: f64 = 0.5;
/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct WatchJob {
    /// Nominal runs to tune on.
    pub tune: u64,
    /// Nominal runs to try on.
    pub held_out: u64,
    /// Runs of each mode at each severity; 0: none.
    pub runs: u64,
    /// Severities, 0 to 1.
    pub severities: Vec<f64>,
    /// False alarms a day that thresholds are set for.
    pub per_day: f64,
    /// Tasks begin and end as those know who watch; else as on the medians.
    pub known_timeline: bool,
    /// Modes that the bank knows, by index.
    pub bank: Vec<usize>,
    /// Modes that are tried, by index.
    pub tried: Vec<usize>,
}

/// A tuned detector and what it is compared with.
pub struct Tuned<'a> {
    /// Where runs are made.
    pub lab: &'a Lab<'a>,
    /// The detector.
    pub detector: Detector,
    /// What instruments would say on the medians.
    pub reference: Rows,
    /// Days that it was tuned on.
    pub days: f64,
    /// Why runs could not be finished.
    pub failures: Vec<RunError>,
    /// Length of the run on the medians.
    pub duration: Time,
}

/// What differs between readings and their reference, as far as both go.
#[must_use]
pub fn residuals(readings: &[Vec<f64>], reference: &[Vec<f64>]) -> Rows {
    let of = |(a, b): (&Vec<f64>, &Vec<f64>)| a.iter().zip(b).map(|(a, b)| a - b).collect();
    readings.iter().zip(reference).map(of).collect()
}

/// The run on the medians, and what instruments would say of it.
///
/// # Errors
/// If it was stopped or could not be finished.
pub fn expected(lab: &Lab<'_>) -> Result<(Run, Rows), StudyError> {
    let medians = lab
        .run(&mut Worker::default(), Which::Medians, &Put::Nothing)?
        .map_err(StudyError::Medians)?;
    let reference = lab.readings(&medians, &Put::Nothing, None);
    Ok((medians, reference))
}

/// Tunes a detector on the threads of the pool that this is called in.
///
/// # Errors
/// If it was stopped, or the run on the medians or every nominal run could not be finished.
pub fn tune<'a>(lab: &'a Lab<'a>, job: &WatchJob, modes: &[Mode]) -> Result<Tuned<'a>, StudyError> {
    let (medians, reference) = expected(lab)?;
    let duration = medians.case.duration;
    let variations: Vec<u64> = (0..job.tune).collect();
    let nominal = nominal_runs(lab, job, &reference, &variations)?;
    let rows: Vec<Rows> = nominal.iter().flatten().map(|(_, rows)| rows.clone()).collect();
    if rows.is_empty() {
        return Err(StudyError::NoRuns);
    }
    let days = days(&rows, lab);
    let signatures = signatures(lab, job, modes, (&medians, &reference))?;
    let stride: Vec<usize> = lab
        .instruments
        .iter()
        .map(|instrument| instrument.stride(&medians.case, lab.step.seconds()))
        .collect();
    let floor: Vec<f64> = lab
        .instruments
        .iter()
        .map(|instrument| 1e-3 * full_error(instrument.reads, &medians.case))
        .collect();
    let both_ways: Vec<bool> = job.bank.iter().map(|&mode| modes[mode].both_ways()).collect();
    let make = |whitener: &Whitener| {
        let whitened = signatures
            .par_iter()
            .map(|(mode, onset, change)| Bank::signature(*mode, *onset, &whitener.signature(change)))
            .collect();
        Bank::new(both_ways, whitened, lab.instruments.len(), lab.step.seconds())
    };
    let detector = Detector::tune(&rows, (&stride, &floor), (job.per_day * days, lab.step.seconds()), make);
    Ok(Tuned {
        lab,
        detector,
        reference,
        days,
        failures: nominal.into_iter().filter_map(Result::err).collect(),
        duration,
    })
}

/// Days of so many rows.
pub(super) fn days(rows: &[Rows], lab: &Lab<'_>) -> f64 {
    let rows: usize = rows.iter().map(|run| run.first().map_or(0, Vec::len)).sum();
    rows as f64 * lab.step.seconds() / 86_400.0
}

/// A nominal run and its residuals, or why it could not be finished.
pub(super) type NominalRun = Result<(Run, Rows), RunError>;

/// Nominal runs of these variations.
pub(super) fn nominal_runs(
    lab: &Lab<'_>,
    job: &WatchJob,
    reference: &Rows,
    variations: &[u64],
) -> Result<Vec<NominalRun>, StudyError> {
    let one = |worker: &mut Worker, &k: &u64| -> Result<NominalRun, StudyError> {
        let run = match lab.run(worker, Which::Variation(k), &Put::Nothing)? {
            Ok(run) => run,
            Err(error) => return Ok(Err(error)),
        };
        let readings = lab.readings(&run, &Put::Nothing, Some(k));
        let reference = of_timeline(lab, job, worker, reference, k)?;
        let rows = residuals(&readings, reference.as_ref());
        Ok(Ok((run, rows)))
    };
    variations.par_iter().map_init(Worker::default, one).collect()
}

/// What is expected of a variation: the medians, or the medians with its own timeline.
fn of_timeline<'r>(
    lab: &Lab<'_>,
    job: &WatchJob,
    worker: &mut Worker,
    medians: &'r Rows,
    k: u64,
) -> Result<std::borrow::Cow<'r, Rows>, StudyError> {
    if !(job.known_timeline && lab.timeline_varies()) {
        return Ok(std::borrow::Cow::Borrowed(medians));
    }
    Ok(match lab.run(worker, Which::Timeline(k), &Put::Nothing)? {
        Ok(run) => std::borrow::Cow::Owned(lab.readings(&run, &Put::Nothing, None)),
        Err(_) => std::borrow::Cow::Borrowed(medians),
    })
}

/// What each mode of the bank changes of the readings on the medians, at full severity in proportion: mode, row of the onset, change.
fn signatures(
    lab: &Lab<'_>,
    job: &WatchJob,
    modes: &[Mode],
    (medians, reference): (&Run, &Rows),
) -> Result<Vec<(usize, usize, Rows)>, StudyError> {
    let rows = medians.rows();
    let each: Vec<(usize, usize)> = (0..job.bank.len())
        .flat_map(|mode| (0..ONSETS).map(move |j| (mode, j * rows / ONSETS)))
        .collect();
    let one = |worker: &mut Worker, &(mode, onset): &(usize, usize)| {
        let put = modes[job.bank[mode]].put(HALF, Time(lab.step.0 * onset as i64));
        let readings = if modes[job.bank[mode]].is_of_instrument() {
            lab.readings(medians, &put, None)
        } else {
            match lab.run(worker, Which::Medians, &put)? {
                Ok(run) => lab.readings(&run, &put, None),
                Err(_) => return Ok(None),
            }
        };
        let mut change = residuals(&readings, reference);
        for x in change.iter_mut().flatten() {
            *x /= HALF;
        }
        Ok(Some((mode, onset, change)))
    };
    let found: Result<Vec<_>, StudyError> = each.par_iter().map_init(Worker::default, one).collect();
    Ok(found?.into_iter().flatten().collect())
}
