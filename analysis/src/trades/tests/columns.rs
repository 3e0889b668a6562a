//! Columns and the front: what they refer to, and what formulas come to.

use super::*;
use crate::study::measure::Measure;

const OPTIONS: &str = "[factors.scrubber.options.a]\nfigures = { mass = \"34 kg\", parts = 3 }\n\
                       [factors.scrubber.options.b]\nfigures = { mass = \"1000 g\", parts = 5 }\nset = { \"removal.backup.on\" = true }\n\
                       [factors.volume]\npath = \"compartments.cabin.free_volume\"\nlevels = [\"9 m3\"]\n";

fn formula(text: &str) -> Trade {
    good(&format!("{OPTIONS}[columns]\nx = {{ formula = \"{text}\" }}"))
}

#[test]
fn formulas_read_levels_figures_and_values() {
    for (text, a, b) in [
        ("[volume in m3]", 9.0, 9.0),
        ("[volume in L] / 1000", 9.0, 9.0),
        ("[scrubber.mass in kg] + 18 * [volume in m3]", 196.0, 163.0),
        ("[scrubber.parts] ^ 2", 9.0, 25.0),
        ("[crew.lead.mass in kg]", 71.0, 71.0),
        ("[crew.second.age] - 1", 40.0, 40.0),
        ("[air.oxygen in %]", 34.0, 34.0),
        ("[ removal.scrubber.flow in L/min ]", 600.0, 600.0),
        ("max([scrubber.mass in kg], 10)", 34.0, 10.0),
    ] {
        let trade = formula(text);
        for (row, wanted) in [(0, a), (1, b)] {
            let found = value(&trade, row).expect(text);
            assert!((found - wanted).abs() < 1e-9 * wanted, "{text}: {found}");
        }
    }
    // Of a spread the median: triangular(78, 86, 91) has it where the left part, (x - 78)^2 / (13 * 8), is a half.
    let median = 78.0 + 52_f64.sqrt();
    assert!((value(&formula("[removal.scrubber.co2_efficiency in %]"), 0).expect("a value") - median).abs() < 1e-9);
}

#[test]
fn formulas_read_means_of_results() {
    let trade = good(&format!(
        "{OPTIONS}[columns]\nx = {{ formula = \"2 * [totals.oxygen_used_kg] + [tanks.oxygen.left_kg]\", unit = \"kg\" }}\n\
         y = {{ formula = \"[totals.oxygen_used_kg]\" }}\nz = {{ margin = \"co2-1h\" }}\nw = {{ beyond = \"any\" }}"
    ));
    let total = |name: &str| Measure::Total(name.to_owned());
    assert_eq!(
        trade.measures(),
        [
            total("totals.oxygen_used_kg"),
            total("tanks.oxygen.left_kg"),
            Measure::margin("co2-1h"),
            Measure::Broken
        ]
    );
    let mean = |m: &Measure| (*m == total("totals.oxygen_used_kg")).then_some(1.5);
    assert_eq!(trade.formula_value(0, 0, &mean), None, "a result that is not there");
    assert_eq!(trade.formula_value(1, 0, &mean), Some(1.5));
    assert_eq!(trade.formula_value(2, 0, &mean), None, "no formula");
    assert_eq!(trade.formula_value(9, 0, &mean), None);
    assert_eq!(trade.formula_value(0, 0, &|_| Some(3.0)), Some(9.0));
}

#[test]
fn columns_say_which_value_they_show() {
    let trade = good(&format!(
        "{OPTIONS}[columns]\na = {{ margin = \"co2-1h@crew:lead\" }}\nb = {{ margin = \"co2-1h\", at = \"5 %\" }}\n\
         c = {{ result = \"schedule.last_end_h\" }}\nd = {{ result = \"schedule.last_end_h\", at = \"95 %\" }}\n\
         e = {{ beyond = \"co2-1h\" }}\n[front]\nmost = [\"a\"]\nleast = [\"e\", \"d\"]"
    ));
    let shown: Vec<String> = trade.columns.iter().map(|c| format!("{:?}", c.what)).collect();
    assert!(
        shown[0].contains("at: Gate") && shown[0].contains("Some(\"crew:lead\")"),
        "{}",
        shown[0]
    );
    assert!(shown[1].contains("at: Quantile(0.05)"));
    assert!(shown[2].contains("at: Mean") && shown[3].contains("at: Quantile(0.95)"));
    let front = Front {
        most: vec![0],
        least: vec![4, 3],
    };
    assert_eq!(trade.front, Some(front));
}

#[test]
fn without_columns_every_limit_is_shown() {
    let trade = good(OPTIONS);
    let names: Vec<&str> = trade.columns.iter().map(|c| c.name.as_str()).collect();
    let ids = trade.base.limit_ids();
    let wanted: Vec<String> = ["margin", "beyond"]
        .iter()
        .flat_map(|word| ids.iter().map(move |id| format!("{word} {id}")))
        .chain(["beyond any".to_owned()])
        .collect();
    assert!(ids.contains(&"co2-1h"));
    assert_eq!(names, wanted);
}

/// What only an option has may be named: rows without it have no value.
#[test]
fn a_value_of_one_option_only_is_empty_elsewhere() {
    let trade = good(
        "[factors.s.options.a]\n[factors.s.options.b]\nset = { \"removal.scrubber\" = { kind = \"condenser\", serves = \"cabin\", \
         flow = \"1 m3/min\", bypass = \"20 %\", coil_temperature = \"7 degC\" } }\n\
         [columns]\nx = { formula = \"[removal.scrubber.bypass in %]\" }",
    );
    assert_eq!(value(&trade, 0), None);
    assert!((value(&trade, 1).expect("a value") - 20.0).abs() < 1e-9);
}
