//! `--set`.

use super::*;

const TEXT: &str = r#"
[removal.scrubber]
kind = "flow-through"
serves = "cabin"
flow = { uniform = ["0.5 m3/min", "0.9 m3/min"] }
co2_efficiency = "80 %"
[[tasks]]
id = "don"
crew = ["lead"]
effort = "suit-work"
duration = "50 min"
[limits]
use = ["surface-sortie"]
"#;

fn resolved(scenario: &Scenario, path: &str) -> String {
    scenario
        .resolved
        .iter()
        .find(|r| r.path == path)
        .map(|r| r.si.clone())
        .unwrap_or_default()
}

#[test]
fn a_quantity_needs_no_quotes() {
    for set in [
        "removal.scrubber.flow=0.6 m3/min",
        "removal.scrubber.flow = \"0.6 m3/min\" ",
        "removal.scrubber.flow='0.6 m3/min'",
    ] {
        let scenario = good(&with(TEXT), &[set]);
        assert_eq!(resolved(&scenario, "removal.scrubber.flow"), "0.01 m3/s", "{set}");
        assert!(scenario.inputs.is_empty());
    }
}

#[test]
fn words_flags_numbers_lists_and_tables_are_values_too() {
    let scenario = good(
        &with(TEXT),
        &[
            "removal.scrubber.on=false",
            "crew.lead.sex=female",
            "crew.lead.age=33",
            "tasks.don.crew=[\"lead\", \"second\"]",
            "tasks.don.duration={ lognormal = [\"50 min\", \"20 %\"] }",
            "crew.second.lags.gas=45 s",
            "compartments.cabin.air.co2=2 mmHg",
        ],
    );
    let case = scenario.draw(&Medians).case;
    assert!(!case.devices[0].on);
    assert_eq!(case.plan.tasks[0].people, [0, 1]);
    assert!((case.people[1].gas_lag_s - 45.0).abs() < 1e-12);
    assert!((case.compartments[0].partial_pa[0] - 2.0 * 133.322).abs() < 1e-9);
    assert_eq!(scenario.inputs.len(), 2);
    assert_eq!(resolved(&scenario, "crew.lead.age"), "33");
}

#[test]
fn the_last_override_of_a_value_holds() {
    let scenario = good(SMALL, &["duration=2 d", "duration=3 d"]);
    assert_eq!(resolved(&scenario, "duration"), "259200 s");
}

#[test]
fn a_part_of_a_spread_can_be_changed() {
    let scenario = good(
        &with(TEXT),
        &["removal.scrubber.flow.uniform=[\"0.6 m3/min\", \"0.7 m3/min\"]"],
    );
    assert_eq!(scenario.inputs[0].spread.support(), (0.01, 0.7 / 60.0));
}

/// A task is replaced where it stands, or added behind the others, as a whole table under the id of the path.
#[test]
fn a_whole_task_can_be_given() {
    let nap = "tasks.nap={ crew = [\"lead\"], effort = \"sleep\", at = \"14 h\", duration = \"1 h\" }";
    let scenario = good(&with(TEXT), &[nap, "tasks.nap.duration=2 h"]);
    let before = good(&with(TEXT), &[]).names.tasks.len();
    assert_eq!(scenario.names.tasks.len(), before + 1);
    assert_eq!(scenario.names.tasks[before].id, "nap");
    assert_eq!(resolved(&scenario, "tasks.nap.duration"), "7200 s");
    let again = good(&with(TEXT), &[nap, &nap.replace("1 h", "3 h")]);
    assert_eq!(resolved(&again, "tasks.nap.duration"), "10800 s");
    let other = bad(&with(TEXT), &["tasks.nap={ id = \"doze\", effort = \"sleep\" }"]);
    assert!(other[0].contains("another id than that of the path"), "{other:?}");
}

#[test]
fn a_rule_of_a_set_can_be_changed_alone() {
    let scenario = good(
        &with(TEXT),
        &[
            "limits.rule.co2-1h.at_most=2 mmHg",
            "limits.rule.humidity-above-75.allowed=12 h",
        ],
    );
    let find = |id: &str| {
        let n = scenario.limits.iter().position(|l| l.id == id).expect(id);
        (scenario.limits[n].clone(), scenario.draw(&Medians).case.rules[n])
    };
    let (info, rule) = find("co2-1h");
    assert_eq!(info.words, "CO2 partial pressure, mean over 1 h, at most 2 mmHg");
    assert!(info.source.ends_with("(changed by --set)"));
    assert!((rule.limit - 2.0 * 133.322).abs() < 1e-9);
    assert!((find("humidity-above-75").1.limit - 43_200.0).abs() < 1e-9);
    let all = good(&with(TEXT), &[]).limits.len();
    assert_eq!(scenario.limits.len(), all);
}

#[test]
fn what_is_wrong_is_told_under_its_own_name() {
    let faults = try_read(&with(TEXT), &["removal.scrubber.flow=0.6 kg"]).expect_err("a mass is no flow");
    assert_eq!(
        (faults[0].file.as_str(), faults[0].line, faults[0].column),
        ("--set", 1, 27)
    );
    assert_eq!(faults[0].source_line, "removal.scrubber.flow=0.6 kg");
    for (set, message) in [
        ("tasks.dn.duration=1 h", "there is no `tasks.dn` in the file"),
        ("tasks.don=1 h", "`tasks.don` is a whole table"),
        ("removal.spare.flow=1 m3/min", "there is no `removal.spare` in the file"),
        (
            "limits.rule.co2-9h.at_most=1 mmHg",
            "there is no `limits.rule.co2-9h` in the file",
        ),
        ("air.co2.x=1", "`air.co2` is text, not a table"),
        ("air..co2=1", "a path with an empty part"),
        ("ari.co2=1 mmHg", "unknown key `ari` at the top level"),
        ("air.co2=", "an override without a value"),
        ("air.co2", "an override without `=`"),
        ("duration=1979-05-27", "`1979-05-27` is not a number"),
        ("control.lock.oxygen.hold=18 kPa", "there is no compartment `lock`"),
    ] {
        assert_eq!(bad(&with(TEXT), &[set]), [message], "{set}");
    }
}

/// What is one number says what it amounts to, of a spread the median; what is not says nothing.
#[test]
fn numbers_say_what_they_amount_to() {
    let scenario = good(&with(TEXT), &["compartments.cabin.free_volume=400 ft3"]);
    let of = |path: &str| {
        let value = scenario.resolved.iter().find(|r| r.path == path).expect(path);
        value.amount.map(|a| (a.si, a.dimension, a.unit.symbol))
    };
    use crate::units::Dimension;
    assert_eq!(
        of("compartments.cabin.free_volume"),
        Some((400.0 * 0.028_316_8, Dimension::Volume, "ft3"))
    );
    let (si, dimension, unit) = of("removal.scrubber.flow").expect("a number");
    assert!((si - 0.7 / 60.0).abs() < 1e-15);
    assert_eq!((dimension, unit), (Dimension::VolumeFlow, "m3/min"));
    assert_eq!(of("format"), Some((1.0, Dimension::Number, "")));
    assert!(of("crew.lead.mass").is_some(), "a default");
    assert_eq!(of("removal.scrubber.kind"), None);
    assert_eq!(of("removal.scrubber.on"), None);
}
