//! Draws: which uniform goes where, and that buffers do not matter.

use std::cell::RefCell;

use super::*;
use crate::scenario::person_key;
use crate::units::Time;

/// The same uniform for everything.
pub(super) struct Constant(pub f64);

impl Luck for Constant {
    fn uniform(&self, _input: usize, _turn: u32, _person: u32) -> f64 {
        self.0
    }
}

/// A uniform of its own for each key, and a record of what was asked for.
#[derive(Default)]
pub(super) struct Keyed(RefCell<Vec<(usize, u32, u32)>>);

impl Luck for Keyed {
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64 {
        self.0.borrow_mut().push((input, turn, person));
        keyed(input, turn, person)
    }
}

fn keyed(input: usize, turn: u32, person: u32) -> f64 {
    let mixed = 0.37 * f64::from(turn) + 0.618 * f64::from(person % 1000) + 0.011 * (input as f64 + 1.0);
    0.01 + 0.98 * mixed.fract()
}

const TASKS: &str = r#"
[[tasks]]
id = "watch"
crew = ["lead", "second"]
each = true
effort = "nominal"
at = { uniform = ["0 h", "1 h"] }
duration = { uniform = ["0 s", "1000 s"], within = ["1 s", "1000 s"] }
repeat = { every = "6 h", times = 2 }
[[tasks]]
id = "meal"
crew = ["lead", "second"]
effort = "meal"
after = ["watch"]
duration = { uniform = ["0 s", "1000 s"], within = ["1 s", "1000 s"], draw = "once" }
repeat = { every = "6 h", times = 2 }
"#;

#[test]
fn a_turn_and_a_person_have_uniforms_of_their_own() {
    let scenario = good(
        &with(TASKS),
        &["compartments.cabin.free_volume={ uniform = [\"10 m3\", \"12 m3\"] }"],
    );
    let luck = Keyed::default();
    let drawn = scenario.draw(&luck);
    let paths: Vec<(&str, bool)> = scenario.inputs.iter().map(|i| (i.path.as_str(), i.per_turn)).collect();
    assert_eq!(
        paths,
        [
            ("compartments.cabin.free_volume", false),
            ("tasks.watch.at", true),
            ("tasks.watch.duration", true),
            ("tasks.meal.duration", false)
        ]
    );
    let asked = luck.0.borrow();
    assert_eq!(asked[..2], [(0, 0, 0), (3, 0, 0)]);
    // Turn, then person; a person's key is that of their name.
    let (lead, second) = (person_key("lead"), person_key("second"));
    let watch: Vec<(u32, u32)> = asked[2..]
        .iter()
        .filter(|(input, ..)| *input == 1)
        .map(|(_, t, p)| (*t, *p))
        .collect();
    assert_eq!(watch, [(1, lead), (1, second), (2, lead), (2, second)]);
    assert_eq!(asked.len(), 2 + 8);
    let tasks = &drawn.case.plan.tasks;
    let earliest = Time::from_seconds(3600.0 * keyed(1, 2, lead) + 6.0 * 3600.0);
    assert_eq!(tasks[2].earliest, earliest);
    let spread = &scenario.inputs[2].spread;
    assert_eq!(
        tasks[3].duration,
        Time::from_seconds(spread.quantile(keyed(2, 2, second)))
    );
    assert_eq!(tasks[4].duration, tasks[5].duration);
    let mean: f64 = [(1, lead), (1, second), (2, lead), (2, second)]
        .iter()
        .map(|(t, p)| spread.quantile(keyed(2, *t, *p)))
        .sum::<f64>()
        / 4.0;
    assert!((drawn.values[2] - mean).abs() < 1e-9);
    assert!((drawn.values[0] - (10.0 + 2.0 * keyed(0, 0, 0))).abs() < 1e-12);
    assert!((drawn.case.compartments[0].volume_m3 - drawn.values[0]).abs() < 1e-12);
}

#[test]
fn a_person_added_in_front_takes_no_ones_luck() {
    let durations = |crew: &str| -> Vec<(String, i64)> {
        let text = with(TASKS).replacen("[crew.lead]", &format!("{crew}[crew.lead]"), 1);
        let scenario = good(&text, &[]);
        let drawn = scenario.draw(&Keyed::default());
        let tasks = scenario.names.tasks.iter().zip(&drawn.case.plan.tasks);
        tasks
            .map(|(name, task)| (format!("{} {} {:?}", name.id, name.turn, name.person), task.duration.0))
            .collect()
    };
    let without = durations("");
    assert!(without.iter().any(|(name, _)| name.contains("second")));
    assert_eq!(durations("[crew.early]\n\n"), without);
}

#[test]
fn used_buffers_change_nothing() {
    let rich = good(&starter(), &[]);
    let plain = good(&with(TASKS), &[]);
    let mut drawn = Drawn::default();
    for (scenario, u) in [(&rich, 0.3), (&plain, 0.7), (&rich, 0.7), (&plain, 0.2), (&rich, 0.3)] {
        scenario.draw_into(&Constant(u), &mut drawn);
        let fresh = scenario.draw(&Constant(u));
        assert_eq!(shown(&drawn), shown(&fresh));
        assert_eq!(drawn.values, fresh.values);
        // What a caller does to a drawn case is gone with the next draw.
        drawn.case.devices.clear();
        drawn.case.compartments.truncate(0);
        drawn.case.plan.tasks.truncate(1);
    }
}

#[test]
fn medians_are_the_template() {
    let scenario = good(&starter(), &[]);
    let drawn = scenario.draw(&Medians);
    assert_eq!(shown(&drawn), format!("{:?}", scenario.blueprint.template));
    for (value, input) in drawn.values.iter().zip(&scenario.inputs) {
        assert!(
            (value - input.spread.median()).abs() <= 1e-12 * value.abs(),
            "{}",
            input.path
        );
    }
}

#[test]
fn a_spread_reaches_what_hangs_on_it() {
    let scenario = good(
        SMALL,
        &[
            "air.temperature={ uniform = [\"20 degC\", \"24 degC\"] }",
            "crew.lead.mass={ uniform = [\"60 kg\", \"90 kg\"] }",
            "compartments.cabin.leak={ uniform = [\"0.1 kg/d\", \"0.2 kg/d\"] }",
            "compartments.cabin.walls={ area = \"20 m2\", temperature = \"15 degC\" }",
        ],
    );
    let (low, high) = (scenario.draw(&Constant(0.1)).case, scenario.draw(&Constant(0.9)).case);
    let (a, b) = (&low.compartments[0], &high.compartments[0]);
    assert!(a.saturation_pa < b.saturation_pa && a.partial_pa[1] < b.partial_pa[1]);
    assert!(a.surfaces[0].conductance_mol_s_pa < b.surfaces[0].conductance_mol_s_pa);
    assert!(a.leak_m3_s < b.leak_m3_s);
    let resting =
        |case: &crate::engine::Case, n: usize| case.people[n].profiles[case.people[n].idle].stages[0].load.co2_mol_s;
    assert!(resting(&low, 0) < resting(&high, 0));
    assert_eq!(resting(&low, 1).to_bits(), resting(&high, 1).to_bits());
}
