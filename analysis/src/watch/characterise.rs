//! What the detector is worth on a scenario: tuned on nominal runs, tried on others, and on every fault at every severity.
//!
//! ```text
//! variations 0 .. tune           nominal --> whitening, excess, scales, thresholds
//! variations tune .. + held-out  nominal --> false alarms          the same variations, each with each fault --> detections
//! ```
//!
//! A fault of a mode begins at the same time in a variation whatever its mode and severity, so modes are compared on the same luck. The time to the
//! limit is that of the run with the fault and without anybody responding, beside the nominal run of the same variation: what is crossed
//! there no later does not count. Variations are independent of each other and of those that thresholds come from.

use breathroom_sim::engine::RunError;
use breathroom_sim::units::Time;
use rayon::prelude::*;

use super::detector::{Detector, Method, Seen};
use super::lab::{Lab, Run, Which, Worker};
use super::modes::{Mode, Put};
use super::operating::{alarms, detected, reached, threshold};
use super::tuning::{NominalRun, Tuned, WatchJob, days, nominal_runs, residuals};
use super::whiten::Rows;
use crate::study::StudyError;
use crate::study::stress::usual::{Crossings, SOONER};

/// Alarms over all held-out runs, for the points of the operating curve.
const POINTS: [usize; 11] = [0, 1, 2, 3, 5, 8, 12, 18, 27, 40, 60];

/// A run with a fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// Index of the mode.
    pub mode: usize,
    /// Index of the severity; of a mode without one the last.
    pub severity: usize,
    /// Variation.
    pub variation: u64,
    /// When it began, s.
    pub onset_s: f64,
    /// From there to the first limit that is crossed because of it, s.
    pub to_limit_s: Option<f64>,
    /// From there to the end of the run, s.
    pub rest_s: f64,
    /// From there to each method's alarm, s.
    pub to_alarm_s: [Option<f64>; 6],
    /// What the bank names when its alarm comes: index of the mode, and its probability.
    pub named: Option<(usize, f64)>,
    /// What it names at the end of the run, if there was an alarm.
    pub named_last: Option<(usize, f64)>,
    /// The most that each statistic reaches from the onset on: with the fault, and without.
    pub reached: [[f64; 2]; 6],
    /// By point of the operating curve, whether each method has detected it.
    pub at_points: Vec<[bool; 6]>,
}

/// Nominal runs that nothing was tuned on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Nominal {
    /// Days watched.
    pub days: f64,
    /// Alarms of each method.
    pub alarms: [usize; 6],
    /// Alarms at the limits of tables.
    pub table_alarms: [usize; 6],
    /// Points of the operating curves: by point and method, threshold and alarms.
    pub points: Vec<[(f64, usize); 6]>,
}

/// A course to look at.
#[derive(Clone, Debug, PartialEq)]
pub struct Example {
    /// Index of the mode; none for a nominal run.
    pub mode: Option<usize>,
    /// Severity.
    pub severity: f64,
    /// When it began, s.
    pub onset_s: f64,
    /// When the first limit was crossed, s from the start.
    pub limit_s: Option<f64>,
    /// Index of the instrument that is shown.
    pub instrument: usize,
    /// Times, s.
    pub time_s: Vec<f64>,
    /// Residual of the instrument, SI.
    pub residual: Vec<f64>,
    /// By method, the statistic over its threshold.
    pub over: Vec<[f64; 6]>,
}

/// All of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Watched {
    /// The detector.
    pub detector: Detector,
    /// Days that it was tuned on.
    pub tuned_days: f64,
    /// Held-out nominal runs.
    pub nominal: Nominal,
    /// Runs with faults.
    pub trials: Vec<Trial>,
    /// Faults that did not begin within the run.
    pub not_begun: u64,
    /// Why runs could not be finished.
    pub failures: Vec<RunError>,
    /// A course of each mode.
    pub examples: Vec<Example>,
    /// Mean squares of the held-out innovations of each instrument, and the correlation of neighbours.
    pub whiteness: Vec<[f64; 2]>,
}

/// Tries a tuned detector.
///
/// # Errors
/// If it was stopped.
pub fn characterise(tuned: &Tuned<'_>, job: &WatchJob, modes: &[Mode]) -> Result<Watched, StudyError> {
    let (lab, detector) = (tuned.lab, &tuned.detector);
    let step_s = lab.step.seconds();
    let variations: Vec<u64> = (job.tune..job.tune + job.held_out.max(job.runs)).collect();
    let nominal = nominal_runs(lab, job, &tuned.reference, &variations)?;
    let see = |run: &NominalRun| run.as_ref().ok().map(|(_, rows)| detector.see(rows));
    let seen: Vec<Option<Seen>> = nominal.par_iter().map(see).collect();
    let held_out: Vec<Rows> = nominal
        .iter()
        .take(job.held_out as usize)
        .flatten()
        .map(|(_, rows)| rows.clone())
        .collect();
    let told = of_nominal(
        detector,
        &seen[..job.held_out as usize],
        &held_out,
        days(&held_out, lab),
        step_s,
    );
    let last = job.severities.len().saturating_sub(1);
    let graded = |mode: usize| {
        if modes[mode].graded {
            0..job.severities.len()
        } else {
            last..job.severities.len()
        }
    };
    let each: Vec<(usize, usize, usize)> = job
        .tried
        .iter()
        .flat_map(|&mode| graded(mode).map(move |severity| (mode, severity)))
        .flat_map(|(mode, severity)| (0..job.runs as usize).map(move |of| (mode, severity, of)))
        .collect();
    let middle = job.severities.len() / 2;
    let one = |worker: &mut Worker, &(mode, severity, of): &(usize, usize, usize)| -> Result<Tried, StudyError> {
        let ((without, rows), quiet) = match (&nominal[of], &seen[of]) {
            (Ok(run), Some(quiet)) => (run, quiet),
            (Err(error), _) => return Ok(Tried::Failed(error.clone())),
            (Ok(_), None) => return Ok(Tried::NotBegun),
        };
        let k = variations[of];
        let put = lab.put(&modes[mode], job.severities[severity], k, tuned.duration);
        let run = if modes[mode].is_of_instrument() {
            // The air is that of the nominal run.
            Ok(Run {
                onset: Some(lab.onset(k, tuned.duration)),
                ..without.clone()
            })
        } else {
            lab.run(worker, Which::Variation(k), &put)?
        };
        let run = match run {
            Ok(run) => run,
            Err(error) => return Ok(Tried::Failed(error)),
        };
        let Some(onset) = run.onset else {
            return Ok(Tried::NotBegun);
        };
        // What is expected is that of the nominal run: its readings less its residuals.
        let readings = lab.readings(&run, &put, Some(k));
        let plain = lab.readings(without, &Put::Nothing, Some(k));
        let expected = residuals(&plain, rows);
        let rows = residuals(&readings, &expected);
        let seen = detector.see(&rows);
        let show = of == 0 && (severity == middle || !modes[mode].graded);
        let trial = trial(
            lab,
            job,
            &told,
            (detector, &seen, quiet),
            (&run, &without.crossings, onset),
        );
        let trial = Trial {
            mode,
            severity,
            variation: k,
            ..trial
        };
        let example = show.then(|| {
            let of = (Some(mode), job.severities[severity], trial.onset_s);
            let limit_s = trial.to_limit_s.map(|to| to + trial.onset_s);
            example(detector, (&rows, &seen), of, limit_s, step_s)
        });
        Ok(Tried::Trial(Box::new((trial, example))))
    };
    let tried: Result<Vec<Tried>, StudyError> = each.par_iter().map_init(Worker::default, one).collect();
    let mut watched = Watched {
        whiteness: whiteness(detector, &held_out),
        tuned_days: tuned.days,
        nominal: told,
        trials: Vec::new(),
        not_begun: 0,
        failures: tuned.failures.clone(),
        examples: Vec::new(),
        detector: tuned.detector.clone(),
    };
    if let (Some(Ok((_, rows))), Some(Some(seen))) = (nominal.first(), seen.first()) {
        let nothing = (None, 0.0, 0.0);
        watched
            .examples
            .push(example(&tuned.detector, (rows, seen), nothing, None, step_s));
    }
    if job.runs == 0 {
        let errors = nominal.iter().filter_map(|run| run.as_ref().err());
        watched.failures.extend(errors.cloned());
    }
    for one in tried? {
        match one {
            Tried::Failed(error) => watched.failures.push(error),
            Tried::NotBegun => watched.not_begun += 1,
            Tried::Trial(of) => {
                watched.trials.push(of.0);
                watched.examples.extend(of.1);
            }
        }
    }
    Ok(watched)
}

enum Tried {
    Failed(RunError),
    NotBegun,
    Trial(Box<(Trial, Option<Example>)>),
}

fn of_nominal(detector: &Detector, seen: &[Option<Seen>], rows: &[Rows], days: f64, step_s: f64) -> Nominal {
    let mut told = Nominal {
        days,
        ..Nominal::default()
    };
    let courses: Vec<Vec<&[f32]>> = (0..6)
        .map(|method| {
            seen.iter()
                .flatten()
                .map(|seen| seen.courses[method].statistic.as_slice())
                .collect()
        })
        .collect();
    for method in 0..6 {
        let found = detector.thresholds[method];
        told.alarms[method] = courses[method]
            .iter()
            .map(|course| alarms(course, found, step_s).len())
            .sum();
        told.table_alarms[method] = rows
            .iter()
            .map(|rows| detector.table_alarms(Method::ALL[method], rows))
            .sum();
    }
    told.points = POINTS
        .par_iter()
        .map(|&most| {
            std::array::from_fn(|method| {
                let found = threshold(&courses[method], most, step_s);
                let count = courses[method]
                    .iter()
                    .map(|course| alarms(course, found, step_s).len())
                    .sum();
                (found, count)
            })
        })
        .collect();
    told
}

fn trial(
    lab: &Lab<'_>,
    job: &WatchJob,
    told: &Nominal,
    (detector, seen, quiet): (&Detector, &Seen, &Seen),
    (run, usual, onset): (&Run, &Crossings, Time),
) -> Trial {
    let step_s = lab.step.seconds();
    let row = libm::ceil(onset.seconds() / step_s - 1e-9) as usize;
    let at = |threshold: f64, method: usize| detected(&seen.courses[method].statistic, threshold, row);
    // To the millisecond: onsets are whole nanoseconds.
    let whole = |s: f64| (libm::round(1e3 * s) / 1e3).max(0.0);
    let after = |found: Option<usize>| found.map(|row| whole(row as f64 * step_s - onset.seconds()));
    let bank = at(detector.thresholds[5], 5);
    let named = |row: usize| {
        let named = seen.said.named.get(row).map(|mode| usize::from(*mode))?;
        Some((*job.bank.get(named)?, f64::from(seen.said.probability[row])))
    };
    Trial {
        mode: 0,
        severity: 0,
        variation: 0,
        onset_s: onset.seconds(),
        to_limit_s: to_limit_s(&run.crossings, usual, onset),
        rest_s: (run.case.duration - onset).seconds(),
        to_alarm_s: std::array::from_fn(|method| after(at(detector.thresholds[method], method))),
        named: bank.and_then(named),
        named_last: bank.and_then(|_| named(seen.said.named.len().saturating_sub(1))),
        reached: std::array::from_fn(|method| {
            [
                reached(&seen.courses[method].statistic, row),
                reached(&quiet.courses[method].statistic, row),
            ]
        }),
        at_points: told
            .points
            .iter()
            .map(|point| std::array::from_fn(|method| at(point[method].0, method).is_some()))
            .collect(),
    }
}

/// From the onset to the first limit that is crossed and would not be without the fault, or more than a second later, s.
pub(super) fn to_limit_s(with: &Crossings, usual: &Crossings, onset: Time) -> Option<f64> {
    let counts = |at: Option<Time>, usual: Option<Time>| {
        at.filter(|at| *at > onset && usual.is_none_or(|usual| *at + SOONER < usual))
    };
    let rules = with
        .rules
        .iter()
        .zip(&usual.rules)
        .filter_map(|(at, usual)| counts(*at, *usual));
    rules
        .chain(counts(with.end, usual.end))
        .min()
        .map(|at| (at - onset).seconds())
}

fn example(
    detector: &Detector,
    (rows, seen): (&Rows, &Seen),
    (mode, severity, onset_s): (Option<usize>, f64, f64),
    limit_s: Option<f64>,
    step_s: f64,
) -> Example {
    let standard = detector.whitener.standard(rows);
    let from = (onset_s / step_s) as usize;
    let moved = |series: &Vec<f64>| {
        let of = series.get(from..).unwrap_or_default().iter().filter(|x| x.is_finite());
        of.fold(0.0, |most: f64, x| most.max(x.abs()))
    };
    let instrument = (0..standard.len())
        .max_by(|&a, &b| moved(&standard[a]).total_cmp(&moved(&standard[b])).then(b.cmp(&a)))
        .unwrap_or(0);
    let length = rows.first().map_or(0, Vec::len);
    let each = length.div_ceil(300).max(1);
    let shown: Vec<usize> = (0..length).step_by(each).collect();
    Example {
        mode,
        severity,
        onset_s,
        limit_s,
        instrument,
        time_s: shown.iter().map(|&row| row as f64 * step_s).collect(),
        residual: shown.iter().map(|&row| rows[instrument][row]).collect(),
        over: shown
            .iter()
            .map(|&row| {
                let of = |method: usize| f64::from(seen.courses[method].statistic[row]) / detector.thresholds[method];
                std::array::from_fn(of)
            })
            .collect(),
    }
}

/// Mean square of held-out innovations, and the correlation of neighbours: 1 and 0 if they were white.
fn whiteness(detector: &Detector, rows: &[Rows]) -> Vec<[f64; 2]> {
    let white: Vec<Rows> = rows.iter().map(|rows| detector.innovations(rows)).collect();
    let of = |i: usize| {
        let (mut square, mut n, mut next, mut pairs) = (0.0, 0.0, 0.0, 0.0);
        for run in &white {
            let there: Vec<f64> = run[i].iter().copied().filter(|z| z.is_finite()).collect();
            for z in &there {
                square += z * z;
                n += 1.0;
            }
            for pair in there.windows(2) {
                next += pair[0] * pair[1];
                pairs += 1.0;
            }
        }
        let square = square / f64::max(n, 1.0);
        [square, next / f64::max(pairs, 1.0) / square.max(1e-12)]
    };
    (0..detector.whitener.mean.len()).map(of).collect()
}
