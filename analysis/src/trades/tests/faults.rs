//! What is wrong with a trade file, and where it is told.

use super::*;

fn one(text: &str) -> String {
    let all = bad(text);
    assert_eq!(all.len(), 1, "{all:?}");
    all.into_iter().next().unwrap_or_default()
}

#[test]
fn a_level_that_is_refused_is_told_at_its_place() {
    assert_eq!(
        one(&format!("{VOLUME}levels = [\"9 m3\", \"9 kg\"]")),
        "kg: `kg` measures a mass"
    );
    assert!(one(&format!("{VOLUME}levels = [{{ normal = [\"9 m3\", \"1 m4\"] }}]")).starts_with("m4: "));
    assert_eq!(
        one("[factors.v]\npath = \"compartments.cabin.free_volum\"\nlevels = [\"9 m3\", \"8 m3\"]"),
        "free_volum: unknown key `free_volum` in `compartments.cabin`"
    );
    assert_eq!(
        one("[factors.v]\npath = \"removal.scruber.flow\"\nlevels = [\"9 m3/min\"]"),
        "scruber: there is no `removal.scruber` in the scenario"
    );
    assert!(
        one("[factors.s.options.a]\nset = { \"removal.backup.on\" = \"yes\" }")
            .starts_with("\"yes\": `on` takes true or false")
    );
    // What else the file then has wrong is told at the level too, with its place there.
    let others = bad("[factors.s]\npath = \"removal.scrubber.kind\"\nlevels = [\"condenser\"]");
    assert!(others.len() > 1, "{others:?}");
    for other in &others {
        assert!(
            other.starts_with("\"condenser\": ") && other.contains("(cabin.toml:"),
            "{other}"
        );
    }
}

#[test]
fn the_first_of_a_range_that_is_refused_is_told() {
    let text = format!("{VOLUME}levels = {{ from = \"0.0009 m3\", to = \"9 m3\", count = 100 }}");
    let told = bad(&text);
    assert!(told.len() <= 2 && told[0].contains("cannot be"), "{told:?}");
}

#[test]
fn ranges_that_lead_nowhere() {
    let range = |inner: &str| {
        one(&format!(
            "{VOLUME}levels = {{ from = \"9 m3\", to = \"11 m3\"{inner} }}"
        ))
    };
    assert!(range("").contains("has no `step`"));
    assert_eq!(range(", step = \"0 m3\""), "\"0 m3\": `step` is 0");
    assert_eq!(
        range(", step = \"-1 m3\""),
        "\"-1 m3\": steps of -1 m3 lead away from 11 m3"
    );
    assert_eq!(
        range(", step = \"3 m3\""),
        "\"3 m3\": a step of 3 m3 is longer than the range"
    );
    assert!(range(", step = \"0.00001 m3\"").ends_with("more than 10000 steps"));
    assert_eq!(range(", count = 1"), "1: `count` cannot be 1");
    assert_eq!(
        range(", count = 3, step = \"1 m3\""),
        "step: `step` and `count` in one range"
    );
    assert_eq!(
        one("[factors.w]\npath = \"tasks.work.effort\"\nlevels = { from = \"nominal\", to = \"rest\", count = 2 }"),
        "\"nominal\": there is no range of `tasks.work.effort` from here: it is not one number"
    );
}

#[test]
fn two_factors_cannot_set_the_same() {
    let told = one(&format!(
        "{VOLUME}levels = [\"9 m3\"]\n[factors.s.options.a]\nset = {{ \"compartments.\\\"cabin\\\".free_volume\" = \"9 m3\" }}"
    ));
    assert!(
        told.ends_with("`compartments.cabin.free_volume` is set by the factor `volume` too"),
        "{told}"
    );
}

#[test]
fn a_bare_path_would_be_a_whole_section() {
    let told = one("[factors.s.options.a]\nset = { removal.backup.on = true }");
    assert_eq!(told, "removal: `removal` alone would be all of it");
}

#[test]
fn spreads_that_cannot_be_kept() {
    assert_eq!(
        one("[factors.t]\npath = \"air.temperature\"\nlevels = [\"20 degC\"]\nspread = \"scaled\""),
        "\"scaled\": `air.temperature` is a temperature, which cannot be scaled"
    );
    let told = one("[factors.t]\npath = \"tasks.work.duration\"\nlevels = [\"3 h\", \"4 h\"]\nspread = \"shifted\"");
    assert!(
        told.ends_with("cannot be shifted: a lognormal spread starts at 0"),
        "{told}"
    );
    let told = one(&format!(
        "{VOLUME}levels = [{{ uniform = [\"8 m3\", \"9 m3\"] }}]\nspread = \"scaled\""
    ));
    assert!(
        told.ends_with("a level that is scaled is one value, not a table"),
        "{told}"
    );
}

#[test]
fn grids_have_an_end() {
    let many = |path: &str, unit: &str| {
        format!(
            "[factors.{path}]\npath = \"compartments.cabin.{path}\"\nlevels = {{ from = \"8 {unit}\", to = \"9 {unit}\", count = 101 }}\n"
        )
    };
    let told = one(&format!(
        "{}{}",
        many("free_volume", "m3"),
        "[factors.m]\npath = \"crew.lead.mass\"\nlevels = { from = \"60 kg\", to = \"80 kg\", count = 100 }"
    ));
    assert!(told.ends_with("the grid has 101 x 100 rows: more than 10000"), "{told}");
}

#[test]
fn formulas_are_told_in_their_place() {
    let of = |formula: &str| {
        one(&format!(
            "{VOLUME}levels = [\"9 m3\"]\n[columns]\nx = {{ formula = \"{formula}\" }}"
        ))
    };
    assert_eq!(of("2 * [volum in m3] + 1"), "volum in m3: there is no `volum`");
    assert_eq!(
        of("1 + [volume in kg]"),
        "volume in kg: `volume` is a volume, which is not measured in `kg`"
    );
    assert_eq!(of("[volume]"), "volume: `volume` without its unit: it is a volume");
    assert_eq!(
        of("[totals.oxygen_used_kg in kg]"),
        "totals.oxygen_used_kg in kg: `totals.oxygen_used_kg` is a result, whose unit is in its name"
    );
    assert_eq!(of("1 + "), ": the formula ends where a value is wanted");
    assert_eq!(
        of("[removal.scrubber.kind in kg]"),
        "removal.scrubber.kind in kg: `removal.scrubber.kind` is no number: it is flow-through"
    );
    let both = bad(&format!(
        "{VOLUME}levels = [\"9 m3\"]\n[columns]\nx = {{ formula = \"[a in kg] + [b in kg]\" }}"
    ));
    assert_eq!(both.len(), 2);
}

/// What rows and columns have wrong is told together; where a factor is not understood, nothing that it brings is missed.
#[test]
fn rows_and_columns_are_told_together() {
    let columns = "[columns]\nx = { formula = \"[volume in kg]\" }\ny = { beyond = \"co2-2h\" }";
    let rows = "[[rows]]\nvolume = \"9 kg\"\n";
    let told = bad(&format!("{VOLUME}levels = [\"9 m3\"]\n{rows}{columns}"));
    assert_eq!(told.len(), 3, "{told:?}");
    let told = bad(&format!(
        "{VOLUME}levels = [\"9 kg\"]\n{columns}\nz = {{ formula = \"1 +\" }}"
    ));
    assert_eq!(
        told,
        ["kg: `kg` measures a mass", ": the formula ends where a value is wanted"]
    );
}

#[test]
fn a_scenario_that_is_wrong_is_told_in_its_own_file() {
    let text = format!("{HEAD}{VOLUME}levels = [\"9 m3\"]\nlevls = 3");
    let refused = |_: &str| -> Result<ReadWith<'_>, String> {
        Ok(Box::new(|_| {
            Err(vec![Diagnostic::of_file("cabin.toml", "it is wrong", None)])
        }))
    };
    let told = read(&TradeSource {
        name: "trade.toml",
        text: &text,
        open: &refused,
    })
    .expect_err("it is wrong");
    let shown: Vec<(&str, &str)> = told.iter().map(|d| (d.file.as_str(), d.message.as_str())).collect();
    assert_eq!(
        shown,
        [
            ("trade.toml", "unknown key `levls` in `factors.volume`"),
            ("cabin.toml", "it is wrong")
        ]
    );
}

#[test]
fn an_empty_file_and_one_that_is_no_toml() {
    assert_eq!(try_read(" \n").expect_err("empty")[0].message, "the file is empty");
    let told = try_read("format = 1\nscenario = cabin\n[factors.volume]\n").expect_err("no TOML");
    assert_eq!(told[0].message, "text and numbers with units stand in quotes");
}
