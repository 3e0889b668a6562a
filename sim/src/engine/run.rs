//! The loop.

use super::{Case, Outcome, RunError, Trace};

/// Runs cases; keeps its buffers from one to the next, and nothing else.
#[derive(Debug, Default)]
pub struct Engine {}

impl Engine {
    /// An engine with empty buffers.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Runs one case to its end, or until it is not survivable.
    ///
    /// A trace, if given, is cleared and filled; it changes no bit of the outcome.
    ///
    /// # Errors
    /// If the case cannot be simulated: see [`RunError`].
    pub fn run(&mut self, _case: &Case, _trace: Option<&mut Trace>) -> Result<Outcome, RunError> {
        Err(RunError::Invalid("not written yet"))
    }
}
