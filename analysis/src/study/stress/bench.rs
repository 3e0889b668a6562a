//! One variation set up for stress: its own faults at rest, a fault put in, runs with and without responses.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

use breathroom_sim::engine::{Case, Engine, Outcome, RunError, Trace};
use breathroom_sim::limits::EFFECT_LEVELS;
use breathroom_sim::scenario::{LimitInfo, Scenario};
use breathroom_sim::units::Time;
use breathroom_sim::upset::{By, Change, DeviceNumber, Ends, Fault, Onset, Shape, Target};

use super::look::{Groups, Look, Seen};
use super::singles::Fared;
use super::usual::{Crossings, Usual};
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
    limits: &'a [LimitInfo],
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

/// A case for looks, which is changed for each and put back after it: its own faults rest, where indices to them stay good, and the
/// published levels are judged behind its own rules.
#[derive(Clone, Debug, Default)]
pub struct Rested {
    case: Case,
    /// When its own faults would begin.
    own: Vec<Onset>,
    /// How many rules are its own.
    rules: usize,
}

impl Rested {
    /// A drawn case at rest.
    #[must_use]
    pub fn of(mut case: Case) -> Self {
        let rest = |fault: &mut Fault| std::mem::replace(&mut fault.onset, Onset::Never);
        let own = case.faults.iter_mut().map(rest).collect();
        let (rules, people) = (case.rules.len(), case.people.len());
        let levels = EFFECT_LEVELS.iter();
        case.rules
            .extend(levels.flat_map(|level| (0..people).map(|person| level.rule(person))));
        // The log is wanted, the history is not.
        case.history_every = case.duration;
        Self { case, own, rules }
    }

    /// The case, its faults at rest.
    #[must_use]
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// The buffers of the case, for another draw.
    #[must_use]
    pub fn into_buffers(self) -> Case {
        self.case
    }

    /// Whether anything is done after any alarm.
    #[must_use]
    pub fn responds(&self) -> bool {
        self.case.alarms.iter().any(|alarm| alarm.response.is_some())
    }
}

/// What the runs without any fault say.
#[derive(Clone, Debug, PartialEq)]
pub struct Unharmed {
    /// What they cross.
    pub usual: Usual,
    /// What is seen from the start.
    pub look: Look,
    /// How the one with responses went.
    pub fared: Fared,
}

impl<'a> Bench<'a> {
    /// For a scenario whose cases have so many people. `progress` is told of every run; once `stop` is set none begins.
    pub fn new(scenario: &'a Scenario, people: usize, progress: &'a (dyn Fn() + Sync), stop: &'a AtomicBool) -> Self {
        let ids = scenario.limit_ids();
        let group = |id: &str| ids.iter().position(|other| *other == id).unwrap_or(0);
        Self {
            groups: Groups {
                of_rule: scenario.limits.iter().map(|limit| group(&limit.id)).collect(),
                groups: ids.len(),
                levels: EFFECT_LEVELS.len(),
                people,
            },
            limits: &scenario.limits,
            workers: Mutex::new(Vec::new()),
            progress,
            stop,
        }
    }

    /// The runs without any fault.
    ///
    /// # Errors
    /// If it was stopped; inside, why a run could not be finished.
    pub fn unharmed(&self, rested: &mut Rested) -> Result<Result<Unharmed, RunError>, StudyError> {
        let limits = self.limits;
        self.both(&mut rested.case, |case, (without, with, log)| {
            let usual = Usual {
                with: Crossings::of(with),
                without: Crossings::of(without),
            };
            Unharmed {
                look: Look::of(Time::ZERO, case.duration, &self.groups, &usual, (without, with, log)),
                fared: Fared::of(limits, case, with, &[], None),
                usual,
            }
        })
    }

    /// What is seen of a device that degrades, beside what the same case does without any fault.
    ///
    /// # Errors
    /// If it was stopped. A run that fails is part of what is seen.
    pub fn look(&self, rested: &mut Rested, usual: &Usual, degraded: &Degraded) -> Result<Look, StudyError> {
        let (onset, length) = (degraded.onset, rested.case.duration);
        rested.case.faults.push(degraded.fault());
        let seen = self.both(&mut rested.case, |_, seen| {
            Look::of(onset, length, &self.groups, usual, seen)
        });
        rested.case.faults.pop();
        Ok(seen?.unwrap_or_else(|error| Look::failed(onset, length, error)))
    }

    /// How a case with these of its own faults goes, beside the run without any.
    ///
    /// # Errors
    /// If it was stopped. A run that fails is part of the result.
    pub fn fare(&self, rested: &mut Rested, without: &Unharmed, faults: &[usize]) -> Result<Fared, StudyError> {
        let Rested { case, own, rules } = rested;
        let levels = case.rules.split_off(*rules);
        let put = |case: &mut Case, onset: &dyn Fn(usize) -> Onset| {
            for &fault in faults {
                case.faults[fault].onset = onset(fault);
            }
        };
        put(case, &|fault| own[fault]);
        let result: Result<Result<Fared, RunError>, StudyError> = self.with(|worker| {
            let Worker { engine, with, .. } = worker;
            let result = self.run(|| engine.run_into(case, None, with))?;
            Ok(result.map(|()| Fared::of(self.limits, case, with, faults, Some(without))))
        });
        put(case, &|_| Onset::Never);
        case.rules.extend(levels);
        Ok(result?.unwrap_or_else(|error| Fared {
            failed: Some(error),
            ..Fared::default()
        }))
    }

    /// Runs a case with its responses and without, and gives what `take` makes of the two and of the log of the first. Where no
    /// alarm with a response has come on the two are the same run.
    fn both<T>(
        &self,
        case: &mut Case,
        take: impl FnOnce(&Case, Seen<'_>) -> T,
    ) -> Result<Result<T, RunError>, StudyError> {
        self.with(|worker| {
            let Worker {
                engine,
                with,
                without,
                trace,
            } = worker;
            trace.log.clear();
            let traced = (!case.alarms.is_empty()).then_some(&mut *trace);
            let mut result = self.run(|| engine.run_into(case, traced, with))?;
            let responded = result.is_ok() && !with.responses.is_empty();
            if responded {
                // What nobody listens to need not be read.
                let alarms = std::mem::take(&mut case.alarms);
                let ran = self.run(|| engine.run_into(case, None, without));
                case.alarms = alarms;
                result = ran?;
            }
            let without = if responded { &*without } else { &*with };
            Ok(result.map(|()| take(case, (without, with, &trace.log))))
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
        // The lock is not held while it works.
        let worker = take().pop();
        let mut worker = worker.unwrap_or_default();
        let result = work(&mut worker);
        take().push(worker);
        result
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

    fn stopped(work: impl FnOnce(&Bench<'_>, &mut Rested) -> bool) -> bool {
        let (scenario, stop) = (Scenario::default(), AtomicBool::new(true));
        let bench = Bench::new(&scenario, 0, &|| panic!("a run"), &stop);
        let case = Case {
            faults: vec![fault(1), fault(2), fault(3)],
            ..Case::default()
        };
        let mut rested = Rested::of(case);
        let stopped = work(&bench, &mut rested);
        let faults = &rested.case().faults;
        assert!(faults.len() == 3 && faults.iter().all(|fault| fault.onset == Onset::Never));
        assert_eq!(rested.own, [1, 2, 3].map(|at| Onset::At(Time(at))));
        stopped
    }

    #[test]
    fn faults_rest_in_their_places_and_once_stopped_nothing_runs() {
        let degraded = Degraded {
            device: 0,
            left: 0.5,
            onset: Time::ZERO,
        };
        assert!(stopped(|bench, rested| {
            bench.look(rested, &Usual::default(), &degraded) == Err(StudyError::Stopped)
        }));
        let none = Unharmed {
            usual: Usual::default(),
            look: Look::default(),
            fared: Fared::default(),
        };
        assert!(stopped(|bench, rested| {
            bench.fare(rested, &none, &[1]) == Err(StudyError::Stopped)
        }));
        assert!(stopped(|bench, rested| {
            bench.unharmed(rested).is_err_and(|error| error == StudyError::Stopped)
        }));
    }
}
