//! Plain variations of a scenario, each looked at once it has ended: what was drawn, and what came of it.
//!
//! Variation k draws what `vary` draws with the same seed, so that two texts of one scenario are looked at on the same luck. Looks come in the
//! order of the variations, whatever thread made them.

use std::sync::atomic::{AtomicBool, Ordering};

use breathroom_sim::engine::{Engine, Outcome, RunError};
use breathroom_sim::scenario::{Drawn, Scenario};
use rayon::prelude::*;

use super::{StudyError, draws};
use crate::chance::Design;

/// Looks at `runs` variations of a seed; `progress` is told of each. On the threads of the pool that this is called in.
///
/// # Errors
/// If the draws cannot be made, or it was stopped; inside, why a variation could not be finished.
pub fn observe<T: Send>(
    scenario: &Scenario,
    (runs, seed): (u64, u64),
    look: &(dyn Fn(&Drawn, &Outcome) -> T + Sync),
    (progress, stop): (&(dyn Fn() + Sync), &AtomicBool),
) -> Result<Vec<Result<T, RunError>>, StudyError> {
    let draws = draws(scenario, seed, Design::Plain, runs)?;
    let one = |(engine, drawn, outcome): &mut (Engine, Drawn, Outcome), k: u64| {
        if stop.load(Ordering::Relaxed) {
            return Err(StudyError::Stopped);
        }
        scenario.draw_into(&draws.variation(k), drawn);
        let ran = engine.run_into(&drawn.case, None, outcome);
        progress();
        Ok(ran.map(|()| look(drawn, outcome)))
    };
    (0..runs).into_par_iter().map_init(Default::default, one).collect()
}

#[cfg(test)]
mod tests {
    use breathroom_sim::scenario::{Source, read, starter};

    use super::*;

    #[test]
    fn looks_are_those_of_the_same_variations_on_any_number_of_threads() {
        let text = starter();
        let overrides = [
            "duration=12 h".to_owned(),
            "compartments.cabin.free_volume={ uniform = [\"9 m3\", \"12 m3\"] }".to_owned(),
        ];
        let source = Source {
            name: "a.toml",
            text: &text,
            overrides: &overrides,
            files: &|_| Err(String::new()),
        };
        let scenario = read(&source).expect("a scenario");
        let look = |drawn: &Drawn, outcome: &Outcome| (drawn.values.clone(), outcome.totals.co2_made_kg);
        let go = AtomicBool::new(false);
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .expect("a pool");
            let looks = pool
                .install(|| observe(&scenario, (12, 3), &look, (&|| (), &go)))
                .expect("looks");
            looks.into_iter().map(|look| look.expect("ran")).collect::<Vec<_>>()
        };
        let one = on(1);
        assert_eq!(one, on(3));
        assert!(one.windows(2).any(|pair| pair[0] != pair[1]), "nothing varies");
        let stop = AtomicBool::new(true);
        assert!(observe(&scenario, (2, 3), &look, (&|| (), &stop)).is_err());
    }
}
