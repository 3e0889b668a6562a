//! Curves of one run are those of history.csv, every sample of it.

use super::drawn::{drawing, goes_through, line_is};
use super::made::{self, Made, Table};
use super::svg::Figure;

/// Names of those that have a column: "cabin" of "cabin co2 [mmHg]".
fn owners(history: &Table, column: &str) -> Vec<String> {
    let end = format!(" {column}");
    let owner = |header: &String| header.strip_suffix(&end).map(str::to_owned);
    // "lead breathed co2" is none of "co2".
    history
        .headers()
        .iter()
        .filter_map(owner)
        .filter(|name| !name.contains(' '))
        .collect()
}

/// Every line of a figure that has the name of a compartment or a person is their column.
fn are_columns(made: &Made, figure: &str, column: &str, least: usize) {
    let browser = made.opened();
    let history = made.table("history.csv");
    let read = Figure::read(&browser, &drawing(figure));
    let panel = &read.panels[0];
    let mut compared = 0;
    for name in owners(&history, column) {
        let samples = history.points("time [h]", &format!("{name} {column}"));
        let Some(path) = panel.all("line").into_iter().find(|path| path.name == name) else {
            continue;
        };
        line_is(&read, panel, path, &samples, &format!("{figure}, {name}"));
        compared += 1;
    }
    assert!(compared >= least, "{figure}: only {compared} lines");
    let of_others = panel
        .all("line")
        .into_iter()
        .filter(|path| !path.name.contains(", mean over "))
        .count();
    assert_eq!(of_others, compared, "{figure} has lines of its own");
}

#[test]
fn co2_humidity_and_pressure_by_compartment() {
    let made = made::sortie();
    are_columns(&made, "co2", "co2 [mmHg]", 2);
    are_columns(&made, "humidity", "humidity [%]", 2);
    are_columns(&made, "pressure", "pressure [kPa]", 2);
}

#[test]
fn co2_breathed_by_person() {
    are_columns(&made::sortie(), "breathed-co2", "breathed co2 [mmHg]", 2);
}

/// With suits, vents and a lock; lines are broken where there is no modelled air.
#[test]
fn a_sortie_with_its_hardware() {
    let made = made::lock();
    are_columns(&made, "breathed-co2", "breathed co2 [mmHg]", 2);
    are_columns(&made, "pressure", "pressure [kPa]", 2);
}

/// Heavy lines are the means that the limits are on: of samples joined by straight lines, over a window that ends at each.
#[test]
fn means_are_those_of_the_samples() {
    for made in [made::sortie(), made::lock()] {
        let browser = made.opened();
        let history = made.table("history.csv");
        let read = Figure::read(&browser, &drawing("breathed-co2"));
        let panel = &read.panels[0];
        let heavy = panel.all("heavy");
        assert!(heavy.len() >= 2, "a mean for each of two people");
        for path in heavy {
            let (name, window) = path.name.split_once(", mean over ").expect("a mean");
            let hours = match window.split_once(' ').expect("a number and a unit") {
                (number, "h") => number.parse::<f64>().expect("a number"),
                (number, unit) => {
                    assert_eq!(unit, "min");
                    number.parse::<f64>().expect("a number") / 60.0
                }
            };
            let samples = history.points("time [h]", &format!("{name} breathed co2 [mmHg]"));
            let means: Vec<(f64, f64)> = (0..samples.len())
                .map(|at| (samples[at].0, mean(&samples, at, hours)))
                .collect();
            goes_through(&read, panel, &path.stretches, &means, &path.name);
        }
    }
}

/// The mean over a window that ends at a sample; before the first sample counts its value. None where a sample of it is missing.
fn mean(samples: &[(f64, f64)], at: usize, window: f64) -> f64 {
    let from = samples[at].0 - window;
    let before = (samples[0].0 - from).max(0.0);
    let mut sum = if before > 0.0 { before * samples[0].1 } else { 0.0 };
    for pair in samples[..=at].windows(2) {
        let ((t0, v0), (t1, v1)) = (pair[0], pair[1]);
        let begin = t0.max(from);
        if t1 > begin {
            let value = v0 + (v1 - v0) * (begin - t0) / (t1 - t0);
            sum += 0.5 * (value + v1) * (t1 - begin);
        }
    }
    sum / window
}

#[test]
fn the_mean_here_is_right() {
    let ramp: Vec<(f64, f64)> = (0..9).map(|k| (f64::from(k) * 0.5, f64::from(k))).collect();
    // At 3 h it is 6; over 1.25 h its mean is the value 0.625 h ago.
    assert!((mean(&ramp, 6, 1.25) - (6.0 - 1.25)).abs() < 1e-12);
    // At 0.5 h: half an hour of 0, and a ramp to 1.
    assert!((mean(&ramp, 1, 1.0) - 0.25).abs() < 1e-12);
}
