//! What a study runs: something with inputs and limits that makes an outcome from luck.

use breathroom_sim::engine::{Engine, Outcome, RunError};
use breathroom_sim::scenario::{Drawn, Luck, Scenario};

/// Something that can be drawn and run many times. A [`Scenario`] is one; tests of the statistics bring their own.
pub trait Simulate: Sync {
    /// Buffers that one thread keeps from run to run; they change no result.
    type Worker: Send;

    /// Fresh buffers.
    fn worker(&self) -> Self::Worker;

    /// Paths of the uncertain inputs.
    fn paths(&self) -> Vec<&str>;

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

    /// Draws one variation, writes each input's value to `values` (as long as [`Simulate::paths`]), and runs it.
    ///
    /// # Errors
    /// If the run could not be finished; the values are written nevertheless.
    fn run(&self, luck: &dyn Luck, worker: &mut Self::Worker, values: &mut [f64]) -> Result<Outcome, RunError>;
}

impl Simulate for Scenario {
    type Worker = (Engine, Drawn);

    fn worker(&self) -> Self::Worker {
        (Engine::new(), Drawn::default())
    }

    fn paths(&self) -> Vec<&str> {
        self.inputs.iter().map(|input| input.path.as_str()).collect()
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

    fn run(&self, luck: &dyn Luck, worker: &mut Self::Worker, values: &mut [f64]) -> Result<Outcome, RunError> {
        let (engine, drawn) = worker;
        self.draw_into(luck, drawn);
        if drawn.values.len() != values.len() {
            return Err(RunError::Invalid("a draw without a value for each input"));
        }
        values.copy_from_slice(&drawn.values);
        engine.run(&drawn.case, None)
    }
}
