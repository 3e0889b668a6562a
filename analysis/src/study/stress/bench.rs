//! One variation set up for stress: its own faults at rest, a fault put in, runs with and without responses.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

use breathroom_sim::engine::{Case, Engine, Outcome, RunError, Trace};
use breathroom_sim::limits::EFFECT_LEVELS;
use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::Time;
use breathroom_sim::upset::{By, Change, DeviceNumber, Ends, Fault, Onset, Shape, Target};

use super::look::{Groups, Look};
use crate::study::StudyError;

/// What one thread keeps between runs; it changes no result.
#[derive(Default)]
struct Worker {
    engine: Engine,
    with: Outcome,
    without: Outcome,
    trace: Trace,
}

/// Where runs are made, from several threads.
pub struct Bench<'a> {
    /// How rules go together.
    pub groups: Groups,
    workers: Mutex<Vec<Worker>>,
    progress: &'a (dyn Fn() + Sync),
    stop: &'a AtomicBool,
}

/// A device of which a part is left from an onset on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Degraded {
    /// Index of the device.
    pub device: usize,
    /// The part of what it would take that it still takes, 0 to 1.
    pub left: f64,
    /// From when on.
    pub onset: Time,
}

impl Degraded {
    /// As a fault.
    #[must_use]
    pub fn fault(&self) -> Fault {
        let target = Target::Device {
            device: self.device,
            number: DeviceNumber::Capacity,
        };
        Fault {
            changes: vec![Change::Number {
                target,
                by: By::Factor(self.left),
                domain: [0.0, 1.0],
            }],
            onset: Onset::At(self.onset),
            shape: Shape::Step,
            ends: Ends::Never,
        }
    }
}

impl<'a> Bench<'a> {
    /// For a scenario whose cases have so many people. `progress` is told of every run; once `stop` is set none begins.
    pub fn new(scenario: &Scenario, people: usize, progress: &'a (dyn Fn() + Sync), stop: &'a AtomicBool) -> Self {
        let ids = ids(scenario);
        let group = |id: &str| ids.iter().position(|other| *other == id).unwrap_or(0);
        Self {
            groups: Groups {
                of_rule: scenario.limits.iter().map(|limit| group(&limit.id)).collect(),
                groups: ids.len(),
                levels: EFFECT_LEVELS.len(),
                people,
            },
            workers: Mutex::new(Vec::new()),
            progress,
            stop,
        }
    }

    /// What is seen of a device that degrades, in a case made by [`at_rest`]; with all of it left, of the case itself from its onset.
    ///
    /// # Errors
    /// If it was stopped. A run that fails is part of what is seen.
    pub fn look(&self, rested: &Case, degraded: &Degraded) -> Result<Look, StudyError> {
        let mut case = rested.clone();
        if degraded.left < 1.0 {
            case.faults.push(degraded.fault());
        }
        let responses = has_response(&case);
        self.with(|worker| {
            let Worker {
                engine,
                with,
                without,
                trace,
            } = worker;
            trace.log.clear();
            trace.samples.clear();
            let traced = (!case.alarms.is_empty()).then_some(&mut *trace);
            let mut result = self.run(|| engine.run_into(&case, traced, with))?;
            if responses && result.is_ok() {
                case.alarms.iter_mut().for_each(|alarm| alarm.response = None);
                result = self.run(|| engine.run_into(&case, None, without))?;
            }
            let without = if responses { &*without } else { &*with };
            Ok(match result {
                Ok(()) => Look::of(degraded.onset, case.duration, &self.groups, without, (with, &trace.log)),
                Err(error) => Look::failed(degraded.onset, case.duration, error),
            })
        })
    }

    /// Runs a case once and gives what `take` makes of its outcome.
    ///
    /// # Errors
    /// If it was stopped; inside, why the run could not be finished.
    pub fn once<T>(&self, case: &Case, take: impl FnOnce(&Outcome) -> T) -> Result<Result<T, RunError>, StudyError> {
        self.with(|worker| {
            let Worker { engine, with, .. } = worker;
            let result = self.run(|| engine.run_into(case, None, with))?;
            Ok(result.map(|()| take(with)))
        })
    }

    fn run(&self, run: impl FnOnce() -> Result<(), RunError>) -> Result<Result<(), RunError>, StudyError> {
        if self.stop.load(Ordering::Relaxed) {
            return Err(StudyError::Stopped);
        }
        let result = run();
        (self.progress)();
        Ok(result)
    }

    fn with<T>(&self, work: impl FnOnce(&mut Worker) -> T) -> T {
        let take = || self.workers.lock().unwrap_or_else(PoisonError::into_inner);
        let mut worker = take().pop().unwrap_or_default();
        let result = work(&mut worker);
        take().push(worker);
        result
    }
}

/// The ids of a scenario's rules, each once, in order.
#[must_use]
pub fn ids(scenario: &Scenario) -> Vec<&str> {
    let mut ids: Vec<&str> = Vec::new();
    for limit in &scenario.limits {
        if !ids.contains(&limit.id.as_str()) {
            ids.push(&limit.id);
        }
    }
    ids
}

/// Whether anything is done after any alarm.
#[must_use]
pub fn has_response(case: &Case) -> bool {
    case.alarms.iter().any(|alarm| alarm.response.is_some())
}

/// A drawn case for looks: its own faults at rest, where indices to them stay good; the published levels judged too.
#[must_use]
pub fn at_rest(drawn: &Case) -> Case {
    let mut case = drawn.clone();
    only_faults(&mut case, &[]);
    let people = case.people.len();
    let levels = EFFECT_LEVELS.iter();
    case.rules
        .extend(levels.flat_map(|level| (0..people).map(|person| level.rule(person))));
    // The log is wanted, the history is not.
    case.history_every = case.duration;
    case
}

/// Lets only these faults of a case begin.
pub fn only_faults(case: &mut Case, faults: &[usize]) {
    for (index, fault) in case.faults.iter_mut().enumerate() {
        if !faults.contains(&index) {
            fault.onset = Onset::Never;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(onset: i64) -> Fault {
        Degraded {
            device: 0,
            left: 0.5,
            onset: Time(onset),
        }
        .fault()
    }

    #[test]
    fn faults_rest_in_their_places() {
        let mut case = Case {
            faults: vec![fault(1), fault(2), fault(3)],
            ..Case::default()
        };
        let rested = at_rest(&case);
        assert!(rested.faults.iter().all(|fault| fault.onset == Onset::Never));
        only_faults(&mut case, &[1]);
        let onsets: Vec<Onset> = case.faults.iter().map(|fault| fault.onset).collect();
        assert_eq!(onsets, [Onset::Never, Onset::At(Time(2)), Onset::Never]);
    }

    #[test]
    fn once_stopped_nothing_runs() {
        let stop = AtomicBool::new(true);
        let bench = Bench::new(&Scenario::default(), 0, &|| panic!("a run"), &stop);
        let degraded = Degraded {
            device: 0,
            left: 0.5,
            onset: Time::ZERO,
        };
        assert_eq!(bench.look(&Case::default(), &degraded), Err(StudyError::Stopped));
    }
}
