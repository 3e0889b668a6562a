//! `times.csv`: an invented timing session of three people in a mock-up of the cabin of `two-crew-sortie.toml`.
//!
//! Not what is fitted: a task is a sum of steps, each gamma distributed about its share; one person is quicker than another in all tasks; practice
//! wears off after some trials (`1 + a e^(-(trial - 1) / 2)`); now and then something snags, and that takes an exponential time
//! more. A stopwatch is read to 5 s. Starts are written down for the first trial of the day. All figures invented.

use breathroom_sim::spread::{Shape, Spread};

use super::{Luck, held_against};

/// A task: id, suited or not, minutes when practised, steps, what practice takes off at first, chance of a snag, its mean in min, trials of each.
type Made = (&'static str, &'static str, f64, u32, f64, f64, f64, u32);

const TASKS: [Made; 4] = [
    ("don", "suited", 46.0, 9, 0.22, 0.12, 14.0, 6),
    ("doff", "suited", 19.0, 6, 0.15, 0.08, 6.0, 6),
    ("stow", "none", 172.0, 14, 0.05, 0.15, 25.0, 3),
    ("maintain", "none", 118.0, 8, 0.0, 0.2, 30.0, 3),
];
/// People and how long they take beside others.
const PEOPLE: [(&str, f64); 3] = [("kestrel", 0.93), ("marten", 1.02), ("teal", 1.09)];
/// Coefficient of variation of one step.
const STEP_VARIATION: f64 = 0.3;

fn made() -> String {
    let luck = Luck::of("times");
    let mut text = String::from(
        "# Invented: a timing session of three people in a mock-up. tests/scenarios/laboratory/times.rs makes this file, from a fixed seed.\n\
         task,person,trial,seconds,suit,notes\n",
    );
    for (of_task, (task, suit, minutes, steps, gain, chance, snag, trials)) in (0_u32..).zip(TASKS) {
        let step = Spread::new(
            Shape::Gamma {
                mean: 60.0 * minutes / f64::from(steps),
                cv: STEP_VARIATION,
            },
            None,
        )
        .expect("a spread");
        for (of_person, (person, pace)) in (0_u32..).zip(PEOPLE) {
            for trial in 1..=trials {
                let key = |what: u32| [of_task * 100 + trial, of_person, what];
                let done: f64 = (0..steps).map(|n| step.quantile(luck.uniform(key(n)))).sum();
                let practice = 1.0 + gain * (-0.5 * f64::from(trial - 1)).exp();
                let snags = luck.uniform(key(100)) < chance;
                let late = if snags {
                    -60.0 * snag * luck.uniform(key(101)).ln()
                } else {
                    0.0
                };
                let seconds = 5.0 * ((done * pace * practice + late) / 5.0).round();
                let notes = if snags { "snag" } else { "" };
                text.push_str(&format!("{task},{person},{trial},{seconds},{suit},{notes}\n"));
            }
        }
    }
    text
}

#[test]
fn the_timing_session_is_what_its_script_makes() {
    held_against("times.csv", &made());
}
