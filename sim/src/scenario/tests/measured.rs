//! Efforts that are driven by a measured series.

use super::*;
use crate::crew::{Body, LITRES_PER_MOL_STPD, Sex, gases_mol_s, iso_8996_w};
use crate::units::Time;

const HEART: &str = "# a climb\ntime [min],heart rate [1/min],uptake [L/min STPD],for mass [mL/kg/min],power [W],pulse\n\
    0,100,1.0,12,300,100\n1,120,1.5,18,450,120\n2,,,,,\n3,140,2.0,24,600,140\n4,140,2.0,24,600,140\n";

fn text(measured: &str) -> String {
    format!(
        "{SMALL}\n[efforts.climb]\nmeasured = {{ data = \"climb.csv\", {measured} }}\n[[tasks]]\nid = \"climb\"\ncrew = [\"lead\"]\neffort = \"climb\"\nduration = \"10 min\"\n"
    )
}

fn try_read(text: &str) -> Result<Scenario, Vec<Diagnostic>> {
    let files = |name: &str| match name {
        "climb.csv" => Ok(HEART.as_bytes().to_vec()),
        other => Err(format!("no file {other}")),
    };
    read(&Source {
        name: "a.toml",
        text,
        overrides: &[],
        files: &files,
    })
}

/// Stages of the one who climbs: length in s and oxygen in mol/s.
fn stages(measured: &str) -> Vec<(Option<f64>, f64)> {
    let scenario = try_read(&text(measured)).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let case = scenario.draw(&Medians).case;
    let effort = case.plan.tasks[0].effort;
    let profile = &case.people[0].profiles[effort];
    assert!(profile.sweat_lag);
    profile
        .stages
        .iter()
        .map(|stage| (stage.lasts.map(Time::seconds), stage.load.oxygen_mol_s))
        .collect()
}

/// The series holds each value until the next, so minute 2 has that of minute 1; then its mean goes on.
#[test]
fn a_heart_rate_becomes_power_by_the_relation_for_whoever_climbs() {
    let body = Body::reference();
    assert_eq!(body.sex, Sex::Male);
    let oxygen = |rate: f64| gases_mol_s(iso_8996_w(&body, rate, 64.0), 0.87).0;
    let found = stages("column = \"heart rate\", resting_rate = \"64 1/min\"");
    let wanted = [100.0, 120.0, 120.0, 140.0, 140.0].map(oxygen);
    assert_eq!(found.len(), 6);
    for ((lasts, found), wanted) in found.iter().zip(wanted) {
        assert!(lasts.is_some_and(|lasts| (lasts - 60.0).abs() < 1e-9));
        assert!((found / wanted - 1.0).abs() < 1e-12, "{found} {wanted}");
    }
    let mean = wanted.iter().sum::<f64>() / 5.0;
    assert!(found[5].0.is_none() && (found[5].1 / mean - 1.0).abs() < 1e-12);
    // Steps of two minutes average, by time; the last is what is left.
    let coarse = stages("column = \"heart rate\", resting_rate = \"64 1/min\", step = \"2 min\"");
    assert!(
        (coarse[0].1 / oxygen(110.0) - 1.0).abs() < 1e-12
            && coarse[2].0.is_some_and(|lasts| (lasts - 60.0).abs() < 1e-9)
    );
}

#[test]
fn oxygen_uptake_is_what_was_measured_and_a_line_is_ones_own() {
    let litres = |of: f64| of / 60.0 / LITRES_PER_MOL_STPD;
    let uptake = stages("column = \"uptake\"");
    assert!((uptake[0].1 / litres(1.0) - 1.0).abs() < 1e-12 && (uptake[4].1 / litres(2.0) - 1.0).abs() < 1e-12);
    let for_mass = stages("column = \"for mass\"");
    assert!((for_mass[1].1 / litres(18e-3 * 82.0) - 1.0).abs() < 1e-12);
    let own = "column = \"heart rate\", easy_rate = \"80 1/min\", easy_power = \"200 W\", hard_rate = \"140 1/min\", hard_power = \"600 W\"";
    let by_line = stages(own);
    assert!((by_line[3].1 / gases_mol_s(600.0, 0.87).0 - 1.0).abs() < 1e-12);
    assert!((by_line[0].1 / gases_mol_s(200.0 + 20.0 * 400.0 / 60.0, 0.87).0 - 1.0).abs() < 1e-12);
    let power = stages("column = \"power\"");
    assert!((power[0].1 / gases_mol_s(300.0, 0.87).0 - 1.0).abs() < 1e-12);
}

#[test]
fn its_stated_accuracy_is_drawn_as_a_factor() {
    let factor = |measured: &str| {
        let scenario = try_read(&text(measured)).expect("a scenario");
        let found = scenario
            .inputs
            .iter()
            .find(|input| input.path == "efforts.climb.measured.factor");
        found.map(|input| input.spread.quantile(0.841_344_746))
    };
    let near = |found: Option<f64>, wanted: f64| found.is_some_and(|found| (found - wanted).abs() < 2e-3);
    assert!(
        near(factor("column = \"heart rate\""), 1.05),
        "10 % of a heart rate are two deviations"
    );
    assert!(near(factor("column = \"uptake\""), 1.025));
    assert!(near(factor("column = \"heart rate\", accuracy = \"4 %\""), 1.02));
    assert_eq!(factor("column = \"power\""), None);
}

#[test]
fn series_that_drive_nothing_are_told() {
    let wrong = |measured: &str, message: &str| {
        let faults = try_read(&text(measured)).expect_err("faults");
        assert!(
            faults.iter().any(|fault| fault.message.contains(message)),
            "{message}: {faults:#?}"
        );
    };
    wrong("column = \"pulse\"", "is no heart rate, oxygen uptake or power");
    wrong("column = \"hart rate\"", "has no column `hart rate`");
    wrong("column = \"heart rate\", time = \"clock\"", "has no column `clock`");
    wrong(
        "column = \"heart rate\", easy_rate = \"80 1/min\"",
        "a line takes two points",
    );
    wrong(
        "column = \"uptake\", resting_rate = \"64 1/min\"",
        "`resting_rate` goes with a heart rate",
    );
    wrong(
        "column = \"heart rate\", easy_rate = \"140 1/min\", easy_power = \"200 W\", hard_rate = \"80 1/min\", hard_power = \"600 W\"",
        "no higher heart rate",
    );
    wrong("time = \"time\"", "`column`");
    let missing = text("column = \"heart rate\"").replace("climb.csv", "none.csv");
    assert!(
        try_read(&missing).expect_err("faults")[0]
            .message
            .contains("cannot be read")
    );
    let both = text("column = \"heart rate\"").replace("[efforts.climb]", "[efforts.climb]\npower = \"300 W\"");
    assert!(
        try_read(&both)
            .expect_err("faults")
            .iter()
            .any(|fault| fault.message.contains("in more than one way"))
    );
}
