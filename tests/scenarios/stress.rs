//! Stress through the command line, held against arithmetic and against `run`.
//!
//! Cabin: 235 ft3, 5.0 psi, 70 degF (Apollo lunar module environmental control, quick reference, Apollo Lunar Surface Journal); the rest is the
//! ideal gas law. Each scenario file says what it is.

use std::path::{Path, PathBuf};

use crate::command::{Job, Row, job, near};

/// mmHg of CO2 an hour from two people at 1.00 kg a day each: G R T / V.
const RISE: f64 = 2.0 / 44.0095e-3 / 24.0 * 8.314_462_618 * 294.261_11 / CABIN_M3 / 133.322;
const CABIN_M3: f64 = 235.0 * 0.028_316_8;
/// Air that the device takes in an hour, in volumes of the cabin: 0.3 m3/min.
const TURNS: f64 = 0.3 * 60.0 / CABIN_M3;
/// What the device holds it at, mmHg.
const STEADY: f64 = RISE / TURNS;
const START: f64 = 2.0;
const LIMIT: f64 = 7.6;

fn file(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/stress");
    folder.join(name).with_extension("toml")
}

fn stress(name: &str, more: &[&str]) -> Job {
    let job = job("stress", &file(name), more);
    assert_eq!(job.code, 0, "{}", job.err);
    job
}

fn number(row: &Row, column: &str) -> f64 {
    let text = &row[column];
    text.parse().unwrap_or_else(|_| panic!("{column}: {text:?} of {row:?}"))
}

/// CO2 `hours` after it was `from` mmHg, with a part of the device left and the people giving off so many times their CO2.
fn after(from: f64, hours: f64, left: f64, times: f64) -> f64 {
    let steady = times * STEADY / left;
    steady + (from - steady) * (-left * TURNS * hours).exp()
}

/// 5.222 mmHg/h: the worst moment of a total loss is the start, since CO2 is highest then.
#[test]
fn a_total_loss_leaves_the_time_of_the_gas_law_from_every_onset() {
    near(RISE, 5.222, 1e-3);
    let job = stress("loss", &["--left", "0 %", "--onsets", "12"]);
    let part = "/devices/0/left/0";
    assert_eq!(job.number(&format!("{part}/worst_onset_h")), 0.0);
    let found = job.number(&format!("{part}/medians/without/after_h"));
    near(found, (LIMIT - START) / RISE, 1e-3);
    assert!(
        job.summary
            .pointer(&format!("{part}/medians/margin"))
            .expect("a key")
            .is_null()
    );
    let mut seen = 0;
    for row in job.table("stress.csv") {
        let onset = number(&row, "onset [h]");
        let expected = (LIMIT - after(START, onset, 1.0, 1.0)) / RISE;
        if onset + expected < 12.0 {
            near(number(&row, "to limit [h]"), expected, 1e-3);
            seen += 1;
        } else {
            assert_eq!(row["to limit [h]"], "", "the run ends before");
        }
    }
    assert!(seen >= 10, "{seen}");
}

#[test]
fn a_partial_loss_goes_exponentially_to_its_steady_value() {
    let job = stress("loss", &["--left", "50 %,20 %"]);
    // Half of it holds CO2 at 3.9 mmHg.
    let half = job.summary.pointer("/devices/0/left/0").expect("half");
    assert_eq!(
        (&half["harmless"], &half["medians"]["without"]["limit"]),
        (&true.into(), &().into())
    );
    let steady = STEADY / 0.2;
    let expected = ((steady - START) / (steady - LIMIT)).ln() / (0.2 * TURNS);
    near(job.number("/devices/0/left/1/medians/without/after_h"), expected, 1e-3);
}

#[test]
fn more_capacity_left_never_gives_less_time() {
    let job = stress("loss", &["--left", "0 %,10 %,15 %,20 %,24 %,26 %,60 %", "--runs", "60"]);
    let parts = job
        .summary
        .pointer("/devices/0/left")
        .and_then(|parts| parts.as_array())
        .expect("parts");
    let never = f64::INFINITY;
    let time = |at: &serde_json::Value| at.as_f64().unwrap_or(never);
    let times: Vec<f64> = parts
        .iter()
        .map(|part| time(&part["medians"]["without"]["after_h"]))
        .collect();
    assert!(times.is_sorted() && times[4] < never && times[5] == never, "{times:?}");
    let low: Vec<f64> = parts
        .iter()
        .map(|part| time(&part["variations"]["to_limit_quantiles"]["0.05"]["h"]))
        .collect();
    assert!(low.is_sorted() && low[0] < low[4], "{low:?}");
}

/// When a total loss leaves the least time: as the work ends the limit is reached. By bisection, h.
fn worst_moment() -> f64 {
    let (begin, end) = (3.0 + 7.0 / 60.0, 3.0 + 37.0 / 60.0);
    let before = after(START, begin, 1.0, 1.0);
    let is_short = |onset: f64| LIMIT - after(before, onset - begin, 1.0, 4.0) - 4.0 * RISE * (end - onset) < 0.0;
    assert!(is_short(begin) && !is_short(end));
    let (mut low, mut high) = (begin, end);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        *(if is_short(middle) { &mut low } else { &mut high }) = middle;
    }
    low
}

/// The grid of onsets has half hours; the dip around the worst moment is some minutes wide.
#[test]
fn the_worst_onset_is_found_to_the_stated_minute() {
    let job = stress("worst", &["--left", "0 %"]);
    let finest_min = job.number("/finest_min");
    let (found, expected) = (job.number("/devices/0/left/0/worst_onset_h"), worst_moment());
    assert!(
        60.0 * (found - expected).abs() <= finest_min && finest_min <= 1.0,
        "{found} h, {expected} h"
    );
    // A minute beside it not more than a minute more is left; the persons' lag of 1 s is left out here.
    let least_min = 60.0 * (3.0 + 37.0 / 60.0 - expected);
    let found_min = 60.0 * job.number("/devices/0/left/0/medians/without/after_h");
    assert!(
        found_min > least_min - 0.1 && found_min < least_min + 1.0,
        "{found_min} {least_min}"
    );
}

/// Variations under stress are runs of the file with its values and its own fault put in by hand.
#[test]
fn variations_agree_with_runs_of_the_same_values() {
    let found = stress("loss", &["--left", "20 %", "--runs", "3", "--seed", "5"]);
    let onset = found.number("/devices/0/left/0/worst_onset_h");
    let drawn = job("vary", &file("loss"), &["--runs", "3", "--seed", "5"]);
    let drawn = drawn.table("variations.csv");
    let looks = found.table("stress-runs.csv");
    assert_eq!((looks.len(), drawn.len()), (3, 3));
    for (look, drawn) in looks.iter().zip(&drawn) {
        let flow = format!(
            "removal.scrubber.flow=\"{} m3/min\"",
            drawn["removal.scrubber.flow [m3/min]"]
        );
        let begins = format!("faults.loss.onset=\"{onset} h\"");
        let run = job("run", &file("loss"), &["--set", &flow, "--set", &begins]);
        assert_eq!(run.code, 3, "{}", run.err);
        let crossed = run.limit("co2", "first_crossing_h").as_f64().expect("crossed");
        near(number(look, "to limit [h]"), crossed - onset, 1e-6);
    }
}
