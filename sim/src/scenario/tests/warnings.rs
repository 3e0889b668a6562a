//! Warnings: what is legal but deserves a look.

use super::*;

fn warned(text: &str, overrides: &[&str], words: &str) -> bool {
    good(text, overrides).warnings.iter().any(|w| w.message.contains(words))
}

#[test]
fn a_start_off_a_set_point() {
    assert!(!warned(SMALL, &[], "off its set point"));
    assert!(warned(
        SMALL,
        &["control.cabin.oxygen.hold=20 kPa"],
        "oxygen in `cabin` starts at"
    ));
    assert!(warned(
        SMALL,
        &["control.cabin.pressure.hold=60 kPa"],
        "pressure in `cabin` starts at 56.5 kPa, off its set point of 60 kPa"
    ));
}

#[test]
fn oxygen_that_runs_out() {
    let text = SMALL.replace("[control.cabin]\noxygen = { hold = \"18.8 kPa\" }\n", "");
    assert!(warned(&text, &["duration=3 d"], "no oxygen is supplied"));
    assert!(!warned(&text, &["duration=2 h"], "no oxygen is supplied"));
    assert!(!warned(SMALL, &["duration=3 d"], "no oxygen is supplied"));
    // Two at rest use about 1.1 kg a day.
    let tank = with("[tanks.oxygen]\ngas = \"oxygen\"\namount = \"24 kg\"\n");
    let from = "control.cabin.oxygen.from=oxygen";
    assert!(!warned(&tank, &[from, "duration=10 d"], "the oxygen does not last"));
    assert!(warned(&tank, &[from, "duration=40 d"], "the oxygen does not last"));
    assert!(!warned(&tank, &["duration=40 d"], "the oxygen does not last"));
}

#[test]
fn a_coil_below_freezing_and_walls_without_convection() {
    let coil = with(
        "[removal.coil]\nkind = \"condenser\"\nserves = \"cabin\"\nflow = \"1 m3/min\"\ncoil_temperature = \"-2 degC\"\n",
    );
    assert!(warned(&coil, &[], "below freezing"));
    assert!(!warned(
        &coil,
        &["removal.coil.coil_temperature=2 degC"],
        "below freezing"
    ));
    let walls = "compartments.cabin.walls={ area = \"20 m2\" }";
    assert!(warned(SMALL, &[walls, "gravity=0 m/s2"], "no convection"));
    assert!(!warned(SMALL, &[walls], "no convection"));
}

#[test]
fn turns_after_the_end() {
    let text = with(
        "[[tasks]]\nid = \"t\"\ncrew = [\"lead\"]\neffort = \"rest\"\nduration = \"1 h\"\nrepeat = { every = \"8 h\", times = 3 }\n",
    );
    assert!(!warned(&text, &[], "are due in the run"));
    assert!(warned(
        &text,
        &["tasks.t.repeat.times=5"],
        "only 3 of the 5 turns of `t` are due in the run"
    ));
}

#[test]
fn more_room_than_gas_and_values_from_memory() {
    assert!(warned(
        SMALL,
        &["compartments.cabin.usable_volume=20 m3"],
        "occupy more of `cabin`"
    ));
    let scenario = good(SMALL, &[]);
    let memory = scenario
        .warnings
        .iter()
        .find(|w| w.message.contains("recalled"))
        .expect("the reference person is from memory");
    assert!(memory.help.as_deref().unwrap_or("").contains("crew.lead.mass"));
    assert!(memory.render_as("warning").starts_with("warning: "));
}
