//! Runs as a laboratory has them: the truth at each instrument, what was put in, and when the first limit is crossed.
//!
//! ```text
//! variation k --draw--> case, its own faults at rest, nobody listening to alarms --fault--> history on even rows --> truth, crossings
//! ```
//!
//! Nobody responds: what an alarm makes a crew do would hide what the fault does, and the time to the limit is wanted. Crew and timeline vary
//! by the scenario's own spreads; a scenario without spreads on its tasks has the same timeline in every run. Variation k is that of `vary` with
//! the same seed and plain draws.

use std::sync::atomic::{AtomicBool, Ordering};

use breathroom_sim::engine::{Case, Engine, Event, Outcome, RunError, Trace};
use breathroom_sim::scenario::{Luck, Medians, Scenario};
use breathroom_sim::units::Time;
use breathroom_sim::upset::Onset;

use super::instruments::Instrument;
use super::modes::{Mode, Put};
use super::noise::Normals;
use crate::chance::{Design, Draws, Variation};
use crate::study::stress::usual::Crossings;
use crate::study::{StudyError, draws, own_seed};

/// Where the onset of a fault may lie, as parts of the run: what comes later leaves no time to see it.
const ONSETS: [f64; 2] = [0.15, 0.6];

/// What runs are made of.
pub struct Lab<'a> {
    /// The scenario.
    pub scenario: &'a Scenario,
    /// What is read.
    pub instruments: &'a [Instrument],
    /// Spacing of rows.
    pub step: Time,
    /// The seed.
    pub seed: u64,
    draws: Draws,
    own_seed: u64,
    progress: &'a (dyn Fn() + Sync),
    stop: &'a AtomicBool,
    of_tasks: Vec<bool>,
}

/// What one thread keeps between runs; it changes no result.
#[derive(Default)]
pub struct Worker {
    engine: Engine,
    outcome: Outcome,
    trace: Trace,
}

/// A run.
#[derive(Clone, Debug)]
pub struct Run {
    /// What each instrument stands before, row by row, SI.
    pub truth: Vec<Vec<f64>>,
    /// Whether each device ran, row by row.
    pub runs: Vec<Vec<bool>>,
    /// What it crossed.
    pub crossings: Crossings,
    /// When the fault that was put in began; none if it did not.
    pub onset: Option<Time>,
    /// The case it was of.
    pub case: Case,
}

impl Run {
    /// How many rows it has.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.truth.first().map_or(0, Vec::len)
    }
}

/// Which case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// On the medians of all spreads.
    Medians,
    /// A variation.
    Variation(u64),
    /// On the medians, but with the tasks of a variation: what one knows who has seen them begin and end.
    Timeline(u64),
}

struct Known<'a> {
    variation: Variation<'a>,
    of_tasks: &'a [bool],
}

impl Luck for Known<'_> {
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64 {
        if self.of_tasks[input] {
            self.variation.uniform(input, turn, person)
        } else {
            0.5
        }
    }
}

impl<'a> Lab<'a> {
    /// A laboratory. `progress` is told of every run; once `stop` is set none begins.
    ///
    /// # Errors
    /// If inputs cannot go together as asked for.
    pub fn new(
        scenario: &'a Scenario,
        instruments: &'a [Instrument],
        (step, seed): (Time, u64),
        progress: &'a (dyn Fn() + Sync),
        stop: &'a AtomicBool,
    ) -> Result<Self, StudyError> {
        let of_task = |path: &str| path.starts_with("tasks.") && !path.ends_with("effort");
        Ok(Self {
            scenario,
            instruments,
            step,
            seed,
            draws: draws(scenario, seed, Design::Plain, 0)?,
            own_seed: own_seed(seed, "watch"),
            progress,
            stop,
            of_tasks: scenario.inputs.iter().map(|input| of_task(&input.path)).collect(),
        })
    }

    /// Whether the timeline varies at all.
    #[must_use]
    pub fn timeline_varies(&self) -> bool {
        self.of_tasks.contains(&true)
    }

    /// Whether any number of the crew varies.
    #[must_use]
    pub fn crew_varies(&self) -> bool {
        let of_crew = |path: &str| path.starts_with("crew.") || path.starts_with("efforts.");
        self.scenario.inputs.iter().any(|input| of_crew(&input.path))
    }

    /// A case, its own faults at rest and nobody listening.
    #[must_use]
    pub fn case(&self, which: Which) -> Case {
        let mut case = match which {
            Which::Medians => self.scenario.draw(&Medians).case,
            Which::Variation(k) => self.scenario.draw(&self.draws.variation(k)).case,
            Which::Timeline(k) => {
                let known = Known {
                    variation: self.draws.variation(k),
                    of_tasks: &self.of_tasks,
                };
                self.scenario.draw(&known).case
            }
        };
        case.alarms.clear();
        case.history_every = self.step;
        case
    }

    /// When the fault of a variation begins: the same for every mode, so that modes are compared on the same luck.
    #[must_use]
    pub fn onset(&self, variation: u64, duration: Time) -> Time {
        let u = Normals::new(self.own_seed, "onset", variation).uniform();
        let rows = duration.seconds() * (ONSETS[0] + u * (ONSETS[1] - ONSETS[0])) / self.step.seconds();
        Time(self.step.0 * libm::round(rows) as i64)
    }

    /// Runs a case with a fault.
    ///
    /// # Errors
    /// If it was stopped; inside, why the run could not be finished.
    pub fn run(&self, worker: &mut Worker, which: Which, put: &Put) -> Result<Result<Run, RunError>, StudyError> {
        if self.stop.load(Ordering::Relaxed) {
            return Err(StudyError::Stopped);
        }
        let mut case = self.case(which);
        let own: Vec<Onset> = case
            .faults
            .iter_mut()
            .map(|fault| std::mem::replace(&mut fault.onset, Onset::Never))
            .collect();
        let index = match put {
            Put::Case(fault) => {
                case.faults.push(fault.clone());
                Some(case.faults.len() - 1)
            }
            Put::Own(index) => {
                case.faults[*index].onset = own[*index];
                Some(*index)
            }
            Put::Nothing | Put::Instrument { .. } => None,
        };
        worker.trace.samples.clear();
        worker.trace.log.clear();
        let result = worker
            .engine
            .run_into(&case, Some(&mut worker.trace), &mut worker.outcome);
        (self.progress)();
        if let Err(error) = result {
            return Ok(Err(error));
        }
        let onset = match put {
            Put::Instrument { onset_s, .. } => Some(Time::from_seconds(*onset_s)),
            _ => worker.trace.log.iter().find_map(|entry| match entry.event {
                Event::FaultBegan(fault) if Some(fault) == index => Some(entry.at),
                _ => None,
            }),
        };
        // The sample at the end of a run may lie between rows.
        let even = |at: Time| at.0 % self.step.0 == 0;
        let mut samples: Vec<_> = worker.trace.samples.iter().filter(|sample| even(sample.at)).collect();
        samples.dedup_by_key(|sample| sample.at);
        let truth = |instrument: &Instrument| samples.iter().map(|sample| instrument.reads.truth(sample)).collect();
        let runs = |device: usize| {
            let of = |sample: &&breathroom_sim::engine::Sample| sample.runs.get(device).copied().unwrap_or(false);
            samples.iter().map(of).collect()
        };
        Ok(Ok(Run {
            truth: self.instruments.iter().map(truth).collect(),
            runs: (0..case.devices.len()).map(runs).collect(),
            crossings: Crossings::of(&worker.outcome),
            onset,
            case,
        }))
    }

    /// What the instruments say of a run; `noise` is its variation, whose noise and offsets they have. None: neither, as on the medians.
    #[must_use]
    pub fn readings(&self, run: &Run, put: &Put, noise: Option<u64>) -> Vec<Vec<f64>> {
        let step_s = self.step.seconds();
        let read = |(index, (instrument, truth)): (usize, (&Instrument, &Vec<f64>))| {
            let normals = noise.map(|k| Normals::new(self.own_seed, &instrument.name, k));
            let wrong = |t_s: f64| put.wrong(index, t_s);
            instrument.readings(truth, step_s, &run.case, &wrong, normals)
        };
        self.instruments.iter().zip(&run.truth).enumerate().map(read).collect()
    }

    /// The fault of a mode in a variation.
    #[must_use]
    pub fn put(&self, mode: &Mode, severity: f64, variation: u64, duration: Time) -> Put {
        mode.put(severity, self.onset(variation, duration))
    }
}
