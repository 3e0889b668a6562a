//! Spreads that go together.

use super::*;

const SPREADS: &str = r#"
[removal.scrubber]
kind = "flow-through"
serves = "cabin"
flow = { uniform = ["0.6 m3/min", "0.8 m3/min"] }
co2_efficiency = { triangular = ["78 %", "86 %", "91 %"] }
[lags]
gas = { uniform = ["50 s", "70 s"] }
[[tasks]]
id = "don"
crew = ["lead"]
effort = "nominal"
in = "cabin"
at = "2 h"
duration = { lognormal = ["1 h", "15 %"], draw = "once" }
"#;

fn together(lists: &str) -> String {
    with(&format!("{SPREADS}[[together]]\n{lists}"))
}

#[test]
fn a_number_is_a_table_of_two() {
    let inputs = "inputs = [\"tasks.don.duration\", \"removal.scrubber.flow\"]\n";
    let one = good(&together(&format!("{inputs}rank_correlation = 0.6")), &[]);
    let table = good(
        &together(&format!("{inputs}rank_correlation = [[1, 0.6], [0.6, 1]]")),
        &[],
    );
    assert_eq!(one.together, table.together);
    let [group] = one.together.as_slice() else {
        panic!("one group")
    };
    let paths: Vec<&str> = group.inputs.iter().map(|&n| one.inputs[n].path.as_str()).collect();
    assert_eq!(paths, ["tasks.don.duration", "removal.scrubber.flow"]);
    assert_eq!(group.rank_correlation, [[1.0, 0.6], [0.6, 1.0]]);
    let noted = one.resolved.iter().find(|v| v.path == "together.1.rank_correlation");
    assert_eq!(noted.map(|v| v.written.as_str()), Some("0.6"));
}

/// A group changes nothing of a run on the medians.
#[test]
fn medians_know_no_groups() {
    let text = "inputs = [\"lags.gas\", \"removal.scrubber.flow\"]\nrank_correlation = -0.4";
    assert_eq!(
        shown(&good(&together(text), &[]).draw(&Medians)),
        shown(&good(&with(SPREADS), &[]).draw(&Medians))
    );
}

#[test]
fn without_a_section_there_is_no_group() {
    assert!(good(&with(SPREADS), &[]).together.is_empty());
}

/// A spread that was not understood is told of once, not as one that is missing as well.
#[test]
fn what_was_not_understood_is_told_once() {
    let text = "inputs = [\"lags.gas\", \"tasks.don.duration\"]\nrank_correlation = 0.4";
    let wrong = together(text).replace("{ uniform = [\"50 s\", \"70 s\"] }", "{ uniform = [\"50 s\"] }");
    assert_eq!(bad(&wrong, &[]).len(), 1, "{:?}", bad(&wrong, &[]));
    let wrong = together(text).replace("[\"1 h\", \"15 %\"]", "[\"1 h\"]");
    assert_eq!(bad(&wrong, &[]).len(), 1, "{:?}", bad(&wrong, &[]));
}

#[test]
fn an_override_that_fixes_a_member_is_told() {
    let text = "inputs = [\"lags.gas\", \"removal.scrubber.flow\"]\nrank_correlation = 0.4";
    assert_eq!(
        bad(&together(text), &["lags.gas=60 s"]),
        ["`lags.gas` has no spread: it is 60 s"]
    );
}

/// What a fault says would go, goes, and a little more does not.
#[test]
fn the_number_that_is_said_to_go_goes() {
    let of = |s: f64| {
        together(&format!(
            "inputs = [\"lags.gas\", \"removal.scrubber.flow\", \"removal.scrubber.co2_efficiency\"]\n\
             rank_correlation = [[1, 0.9, 0.2], [0.9, 1, {s}], [0.2, {s}, 1]]"
        ))
    };
    let help = match try_read(&of(0.8), &[]) {
        Err(faults) => faults[0].help.clone().unwrap_or_default(),
        Ok(_) => panic!("it reads"),
    };
    // In normal scores 0.908 and 0.209 leave 0.190 - 0.410 to 0.190 + 0.410 for the third: 0.58 in ranks.
    assert_eq!(help, "at most 0.58 would go");
    assert_eq!(good(&of(0.58), &[]).together.len(), 1);
    assert!(try_read(&of(0.59), &[]).is_err());
}
