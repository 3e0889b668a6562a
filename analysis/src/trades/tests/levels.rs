//! Levels: lists, ranges, values that change together, options, spreads that are kept.

use super::*;

#[test]
fn ranges_have_round_numbers_and_both_ends() {
    for (range, wanted) in [
        (
            "{ from = \"9 m3\", to = \"10.5 m3\", step = \"0.5 m3\" }",
            "9 m3, 9.5 m3, 10 m3, 10.5 m3",
        ),
        (
            "{ from = \"10.3 m3\", to = \"10 m3\", step = \"-0.1 m3\" }",
            "10.3 m3, 10.2 m3, 10.1 m3, 10 m3",
        ),
        ("{ from = \"9 m3\", to = \"10 m3\", count = 3 }", "9 m3, 9.5 m3, 10 m3"),
        (
            "{ from = \"300 ft3\", to = \"9000 L\", count = 2 }",
            "300 ft3, 317.832523449 ft3",
        ),
    ] {
        let trade = good(&format!("{VOLUME}levels = {range}"));
        assert_eq!(labels(&trade).join(", "), wanted);
    }
    let trade = good("[factors.age]\npath = \"crew.second.age\"\nlevels = { from = 30, to = 50, step = 10 }");
    assert_eq!(
        overrides(&trade),
        ["crew.second.age=30", "crew.second.age=40", "crew.second.age=50"]
    );
    assert_eq!(trade.rows[1].numbers, [Some(40.0)]);
    let warm =
        "[factors.warm]\npath = \"air.temperature\"\nlevels = { from = \"20 degC\", to = \"24 degC\", step = \"2 K\" }";
    assert_eq!(labels(&good(warm)), ["20 degC", "22 degC", "24 degC"]);
}

#[test]
fn steps_that_miss_the_end_are_told() {
    let trade = good(&format!(
        "{VOLUME}levels = {{ from = \"9 m3\", to = \"10 m3\", step = \"0.4 m3\" }}\nspread = \"scaled\""
    ));
    assert_eq!(labels(&trade), ["9 m3", "9.4 m3", "9.8 m3"]);
    assert_eq!(trade.warnings.len(), 1);
    assert_eq!(trade.warnings[0].help.as_deref(), Some("the last level is 9.8 m3"));
}

#[test]
fn any_value_may_be_a_level() {
    let trade = good(&format!(
        "{VOLUME}levels = [\"9 m3\", {{ normal = ['10 m3', \"0.3 m3\"] }}]"
    ));
    assert_eq!(
        overrides(&trade),
        [
            "compartments.cabin.free_volume=\"9 m3\"",
            "compartments.cabin.free_volume={ normal = [\"10 m3\", \"0.3 m3\"] }"
        ]
    );
    assert_eq!(trade.rows[1].numbers, [Some(10.0)], "of a spread its median");
    assert_eq!(trade.factors[0].unit.map(|u| u.symbol), Some("m3"));
    let flags =
        good("[factors.spare]\npath = \"removal.backup.on\"\nlevels = [false, true]\nnames = [\"off\", \"on\"]");
    assert_eq!(labels(&flags), ["off", "on"]);
    assert_eq!(flags.factors[0].unit, None);
    let crew = good("[factors.who]\npath = \"tasks.work.crew\"\nlevels = [[\"lead\"], [\"lead\", \"second\"]]");
    assert_eq!(labels(&crew)[1], "[\"lead\", \"second\"]");
    let task = good(
        "[factors.task]\npath = \"tasks.change\"\nlevels = [{ crew = [\"lead\"], effort = \"nominal\", in = \"cabin\", at = \"3 h\", duration = \"10 min\" }]",
    );
    let scenario = task.rows[0].scenario.as_ref().expect("a scenario");
    assert!(scenario.names.tasks.iter().any(|t| t.id == "change"));
}

#[test]
fn values_that_change_together_have_one_level() {
    let paths = "[factors.size]\npaths = [\"compartments.cabin.free_volume\", \"compartments.cabin.usable_volume\"]\n";
    let listed = good(&format!(
        "{paths}levels = [[\"9 m3\", \"5 m3\"], [\"11 m3\", \"7 m3\"]]\nnames = [\"small\", \"large\"]"
    ));
    assert_eq!(labels(&listed), ["small", "large"]);
    assert_eq!(
        listed.rows[1].overrides,
        [
            "compartments.cabin.free_volume=\"11 m3\"",
            "compartments.cabin.usable_volume=\"7 m3\""
        ]
    );
    let ranged = good(&format!(
        "{paths}levels = {{ from = [\"9 m3\", \"5 m3\"], to = [\"11 m3\", \"8 m3\"], count = 3 }}"
    ));
    assert_eq!(labels(&ranged), ["9 m3, 5 m3", "10 m3, 6.5 m3", "11 m3, 8 m3"]);
    assert_eq!(ranged.rows[0].numbers, [None]);
}

#[test]
fn options_are_patches_with_figures() {
    let trade = good(
        "[factors.scrubber.options.\"as designed\"]\nfigures = { mass = \"34 kg\", parts = 3 }\n\
         [factors.scrubber.options.both]\nfigures = { mass = \"50 kg\", parts = 6 }\n\
         set = { \"removal.backup.on\" = true, \"removal.scrubber.flow\" = \"0.7 m3/min\" }",
    );
    assert_eq!(labels(&trade), ["as designed", "both"]);
    assert!(trade.rows[0].overrides.is_empty());
    assert_eq!(
        trade.rows[1].overrides,
        ["removal.backup.on=true", "removal.scrubber.flow=\"0.7 m3/min\""]
    );
    let figures: Vec<(&str, &str)> = trade.rows[1]
        .figures
        .iter()
        .map(|(a, b)| (a.as_str(), b.as_str()))
        .collect();
    assert_eq!(figures, [("scrubber.mass", "50 kg"), ("scrubber.parts", "6")]);
}

/// normal(10, 0.4) within 8 to 12, median 10: to 9 by the factor 0.9 is normal(9, 0.36) within 7.2 to 10.8, by -1 it is
/// normal(9, 0.4) within 7 to 11.
#[test]
fn a_spread_is_scaled_or_shifted_with_its_level() {
    for (word, wanted, quarter) in [
        (
            "scaled",
            "{ normal = [\"9 m3\", \"0.36 m3\"], within = [\"7.2 m3\", \"10.8 m3\"] }",
            0.36,
        ),
        (
            "shifted",
            "{ normal = [\"9 m3\", \"0.4 m3\"], within = [\"7 m3\", \"11 m3\"] }",
            0.4,
        ),
    ] {
        let trade = good(&format!("{VOLUME}levels = [\"9 m3\"]\nspread = \"{word}\""));
        assert_eq!(overrides(&trade), [format!("compartments.cabin.free_volume={wanted}")]);
        assert_eq!(trade.rows[0].numbers, [Some(9.0)]);
        assert!(trade.warnings.is_empty());
        let scenario = trade.rows[0].scenario.as_ref().expect("a scenario");
        let input = scenario
            .inputs
            .iter()
            .find(|i| i.path == "compartments.cabin.free_volume")
            .expect("a spread");
        // The quartile of a normal distribution is 0.67449 deviations off; five deviations of truncation do not move it.
        assert!((input.spread.quantile(0.25) - (9.0 - 0.674_49 * quarter)).abs() < 1e-5);
    }
}

#[test]
fn a_spread_that_goes_is_told_once() {
    let trade = good(&format!("{VOLUME}levels = [\"9 m3\", \"10 m3\"]"));
    let messages: Vec<&str> = trade.warnings.iter().map(|w| w.message.as_str()).collect();
    assert_eq!(
        messages,
        ["the spread of `compartments.cabin.free_volume` is gone where the factor `volume` sets an exact value"]
    );
    let flow = good("[factors.flow]\npath = \"removal.scrubber.flow\"\nlevels = [\"0.5 m3/min\"]\nspread = \"scaled\"");
    assert_eq!(
        flow.warnings[0].message,
        "`removal.scrubber.flow` has no spread in the scenario: there is nothing to keep"
    );
    assert_eq!(overrides(&flow), ["removal.scrubber.flow=\"0.5 m3/min\""]);
}
