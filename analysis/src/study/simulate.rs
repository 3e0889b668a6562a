//! What a study runs: something with inputs and limits that makes an outcome from luck.

use breathroom_sim::engine::{Engine, Outcome, RunError, Trace};
use breathroom_sim::scenario::{Drawn, Luck, Scenario, Together};
use breathroom_sim::spread::NotDefinite;
use breathroom_sim::units::Time;

use super::courses::{self, Quantity};
use crate::chance::Group;

/// Something that can be drawn and run many times. A [`Scenario`] is one; tests of the statistics bring their own.
pub trait Simulate: Sync {
    /// Buffers that one thread keeps from run to run; they change no result.
    type Worker: Send;

    /// Fresh buffers.
    fn worker(&self) -> Self::Worker;

    /// Paths of the uncertain inputs.
    fn paths(&self) -> Vec<&str>;

    /// Whether an input is drawn once in a variation, and not anew for every turn; all are unless it says so.
    fn once(&self, _input: usize) -> bool {
        true
    }

    /// Inputs that go together; none unless it says so.
    ///
    /// # Errors
    /// If no draws can have the correlations asked for.
    fn groups(&self) -> Result<Vec<Group>, NotDefinite> {
        Ok(Vec::new())
    }

    /// How many limits are judged: the rules of every outcome.
    fn limits(&self) -> usize;

    /// How many tanks an outcome tells of; none unless it says so.
    fn tanks(&self) -> usize {
        0
    }

    /// How many removal devices an outcome tells of; none unless it says so.
    fn devices(&self) -> usize {
        0
    }

    /// How many faults an outcome tells of; none unless it says so.
    fn faults(&self) -> usize {
        0
    }

    /// How many alarms an outcome tells of; none unless it says so.
    fn alarms(&self) -> usize {
        0
    }

    /// How many courses are kept of each of the first variations; none unless it says so.
    fn series(&self) -> usize {
        0
    }

    /// How long the variation drawn last with these buffers goes on, if nothing ends it early; at once unless it says so.
    fn duration(&self, _worker: &Self::Worker) -> Time {
        Time::ZERO
    }

    /// Draws one variation, writes each input's value to `values` (as long as [`Simulate::paths`]), and runs it.
    ///
    /// # Errors
    /// If the run could not be finished; the values are written nevertheless.
    fn run(&self, luck: &dyn Luck, worker: &mut Self::Worker, values: &mut [f64]) -> Result<Outcome, RunError>;

    /// The same into an outcome whose storage is used again; after an error it holds nothing that means anything.
    ///
    /// # Errors
    /// As [`Simulate::run`].
    fn run_into(
        &self,
        luck: &dyn Luck,
        worker: &mut Self::Worker,
        values: &mut [f64],
        outcome: &mut Outcome,
    ) -> Result<(), RunError> {
        *outcome = self.run(luck, worker, values)?;
        Ok(())
    }

    /// The same, to the bit, with the courses of [`Simulate::series`] written to `course`, one after the other on the grid of
    /// [`super::courses`]; NaN stays where there is no value.
    ///
    /// # Errors
    /// As [`Simulate::run`]; the courses up to the failure are written nevertheless.
    fn run_traced(
        &self,
        luck: &dyn Luck,
        worker: &mut Self::Worker,
        values: &mut [f64],
        _course: &mut [f32],
        outcome: &mut Outcome,
    ) -> Result<(), RunError> {
        self.run_into(luck, worker, values, outcome)
    }
}

/// What one thread keeps between runs of a scenario.
#[derive(Default)]
pub struct Bench {
    engine: Engine,
    drawn: Drawn,
    /// What is kept of the first variations, and the spacing of their grid: found when it is first asked for.
    traced: Option<(Vec<Quantity>, Time)>,
    trace: Trace,
}

impl Simulate for Scenario {
    type Worker = Bench;

    fn worker(&self) -> Self::Worker {
        Bench::default()
    }

    fn paths(&self) -> Vec<&str> {
        self.inputs.iter().map(|input| input.path.as_str()).collect()
    }

    fn once(&self, input: usize) -> bool {
        !self.inputs[input].per_turn
    }

    fn groups(&self) -> Result<Vec<Group>, NotDefinite> {
        let group = |together: &Together| Group::new(&together.inputs, &together.rank_correlation);
        self.together.iter().map(group).collect()
    }

    fn duration(&self, worker: &Bench) -> Time {
        worker.drawn.case.duration
    }

    fn limits(&self) -> usize {
        self.limits.len()
    }

    fn tanks(&self) -> usize {
        self.names.tanks.len()
    }

    fn devices(&self) -> usize {
        self.names.devices.len()
    }

    fn faults(&self) -> usize {
        self.names.faults.len()
    }

    fn alarms(&self) -> usize {
        self.names.alarms.len()
    }

    fn series(&self) -> usize {
        courses::series(&self.names).len()
    }

    fn run(&self, luck: &dyn Luck, worker: &mut Self::Worker, values: &mut [f64]) -> Result<Outcome, RunError> {
        let mut outcome = Outcome::default();
        self.run_into(luck, worker, values, &mut outcome)?;
        Ok(outcome)
    }

    fn run_into(
        &self,
        luck: &dyn Luck,
        worker: &mut Self::Worker,
        values: &mut [f64],
        outcome: &mut Outcome,
    ) -> Result<(), RunError> {
        draw(self, luck, &mut worker.drawn, values)?;
        worker.engine.run_into(&worker.drawn.case, None, outcome)
    }

    fn run_traced(
        &self,
        luck: &dyn Luck,
        worker: &mut Self::Worker,
        values: &mut [f64],
        course: &mut [f32],
        outcome: &mut Outcome,
    ) -> Result<(), RunError> {
        let Bench {
            engine,
            drawn,
            traced,
            trace,
        } = worker;
        draw(self, luck, drawn, values)?;
        let (series, spacing) = traced.get_or_insert_with(|| (courses::series(&self.names), courses::spacing(self)));
        trace.samples.clear();
        trace.log.clear();
        drawn.case.history_every = *spacing;
        let result = engine.run_into(&drawn.case, Some(trace), outcome);
        courses::lay(trace, *spacing, series, course);
        result
    }
}

fn draw(scenario: &Scenario, luck: &dyn Luck, drawn: &mut Drawn, values: &mut [f64]) -> Result<(), RunError> {
    scenario.draw_into(luck, drawn);
    if drawn.values.len() != values.len() {
        return Err(RunError::Invalid("a draw without a value for each input"));
    }
    values.copy_from_slice(&drawn.values);
    Ok(())
}
