//! The draws of a further study of a scenario: plain, with the inputs that go together, and none of the variations'.

use breathroom_sim::scenario::Scenario;

use super::own_seed;
use crate::chance::{Design, Draws, Group, InputKey};

/// Plain draws of a scenario for the study of this name ("drives" or "rare"), which share nothing with the variations of
/// `seed` nor with each other.
///
/// # Errors
/// Why the scenario's groups cannot be drawn. What is read from a file can be.
pub fn own_draws(scenario: &Scenario, seed: u64, study: &str) -> Result<Draws, String> {
    let inputs: Vec<InputKey<'_>> = scenario
        .inputs
        .iter()
        .map(|input| InputKey {
            path: &input.path,
            once: !input.per_turn,
        })
        .collect();
    let mut groups = Vec::with_capacity(scenario.together.len());
    for together in &scenario.together {
        let group = Group::new(&together.inputs, &together.rank_correlation);
        groups
            .push(group.map_err(|pair| format!("inputs that do not go together were read as if they did: {pair:?}"))?);
    }
    // Plain draws do not depend on how many there are.
    Draws::new(own_seed(seed, study), Design::Plain, 0, &inputs, &groups).map_err(|error| error.to_string())
}

/// The inputs that are drawn together, group by group, as [`super::drives`] takes them.
#[must_use]
pub fn joined(scenario: &Scenario) -> Vec<Vec<usize>> {
    scenario.together.iter().map(|group| group.inputs.clone()).collect()
}
