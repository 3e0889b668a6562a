//! What `stress` promises: its bytes, its exit codes, its files, and that the file's own faults rest meanwhile.

use std::fs;

use serde_json::Value;

use crate::calls::{Place, ROOM, Said, call, hatch, names, same, set};

/// A fault, an alarm and what is then done; the limit can be crossed.
fn upset() -> String {
    let second = r#"
[removal.backup]
kind = "flow-through"
serves = "room"
flow = "0.3 m3/min"
co2_efficiency = "80 %"
on = false

[[faults]]
id = "fan-stop"
on = "removal.scrubber"
mode = "off"
onset = "1 h"

[[alarms]]
id = "co2_high"
watches = "room.co2"
above = "2 mmHg"
sensor = { every = "1 min" }
response = { by = "any", reaction = { lognormal = ["5 min", "50 %"] }, takes = "5 min", does = [{ swap = "scrubber", to = "backup" }] }
"#;
    let text = ROOM.replace("at_most = \"20 mmHg\"", "at_most = \"2.6 mmHg\"");
    text.replace("[control.room]", &format!("{}\n[control.room]", second.trim_start()))
}

fn stress(place: &Place, text: &str, out: &str, more: &[&str]) -> Said {
    let file = place.file("room.toml", text);
    place.job("stress", &file, out, more)
}

#[test]
fn it_gives_the_same_bytes_on_any_threads() {
    let place = Place::new();
    for (out, threads) in [("one", "1"), ("two", "2")] {
        let more = ["--runs", "70", "--onsets", "6", "--pairs", "--threads", threads];
        let said = stress(&place, &upset(), out, &more);
        assert_eq!(said.code, 0, "{}", said.err);
    }
    same(&place.path("one"), &place.path("two"));
    let summary = place.summary("one");
    assert!(
        summary["devices"][0]["left"][4]["medians"]["response_done_h"].is_number(),
        "{summary:#}"
    );
}

#[test]
fn its_folder_is_what_its_data_package_says() {
    let place = Place::new();
    assert_eq!(
        stress(&place, &upset(), "out", &["--runs", "2", "--onsets", "3"]).code,
        0
    );
    let text = fs::read_to_string(place.path("out").join("datapackage.json")).expect("there");
    let package: Value = serde_json::from_str(&text).expect("JSON");
    let mut listed = set(&["datapackage.json", "report.html", "summary.json", "summary.md"]);
    for resource in package["resources"].as_array().expect("resources") {
        let name = resource["path"].as_str().expect("a path");
        listed.insert(name.to_owned());
        if !name.ends_with(".csv") {
            continue;
        }
        let table = fs::read_to_string(place.path("out").join(name)).expect("there");
        let header: Vec<&str> = table.lines().next().expect("a header").split(',').collect();
        let fields = resource["schema"]["fields"].as_array().expect("fields");
        let fields: Vec<&str> = fields
            .iter()
            .map(|field| field["name"].as_str().expect("a name"))
            .collect();
        assert_eq!(header, fields, "{name}");
    }
    assert_eq!(names(&place.path("out")), listed);
    for name in ["stress.csv", "stress-runs.csv", "faults.csv"] {
        assert!(listed.contains(name), "{name}");
    }
    // Nothing varied: no table of variations.
    assert_eq!(stress(&place, &upset(), "medians", &["--onsets", "3"]).code, 0);
    assert!(!names(&place.path("medians")).contains("stress-runs.csv"));
}

#[test]
fn wrong_usage_is_2() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    for more in [
        &["--device", "coil"][..],
        &["--left", "0.5"],
        &["--left", "50 %,120 %"],
        &["--left", "-5 %"],
        &["--left", "half"],
        &["--left", ""],
        &["--onsets", "0"],
        &["--gate", "95/95"],
        &["--runs", "60", "--gate", "95"],
        &["--runs", "100000"],
    ] {
        let said = place.job("stress", &file, "out", more);
        assert_eq!(said.code, 2, "{more:?}: {}", said.err);
        assert!(said.out.is_empty() && !said.err.is_empty(), "{more:?}");
    }
    assert!(
        place
            .job("stress", &file, "out", &["--device", "coil"])
            .err
            .contains("scrubber")
    );
    assert_eq!(place.names(), set(&["room.toml"]), "nothing is left behind");
}

#[test]
fn a_wrong_file_and_runs_that_fail_are_1() {
    let place = Place::new();
    let said = stress(&place, &ROOM.replace("80 %", "180 %"), "wrong", &[]);
    assert_eq!(said.code, 1, "{}", said.err);
    // Not even the medians can be run.
    let said = stress(&place, &hatch("\"60 kPa\""), "never", &["--onsets", "3"]);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.err.contains("`door`"), "{}", said.err);
    assert_eq!(place.names(), set(&["room.toml"]));
    // Some of the variations cannot: there are results, and they count as broken.
    let some = "{ choice = [\"101.325 kPa\", \"60 kPa\"], weights = [3, 2] }";
    let more = ["--left", "0 %", "--onsets", "3", "--runs", "60", "--gate", "95/95"];
    let said = stress(&place, &hatch(some), "some", &more);
    assert_eq!(said.code, 1, "1 beats 3: {}", said.err);
    let runs = &place.summary("some")["devices"][0]["left"][0]["variations"];
    let failed = runs["failed"].as_u64().expect("a count");
    assert!(
        (1..60).contains(&failed) && runs["crossed_with"]["count"] == failed,
        "{runs:#}"
    );
}

#[test]
fn only_a_gate_that_is_not_passed_is_3() {
    let place = Place::new();
    let more = ["--left", "0 %", "--onsets", "3", "--runs", "60"];
    // Without the backup's air the limit is crossed in every variation.
    let tight = ROOM.replace("20 mmHg", "1.6 mmHg");
    assert_eq!(stress(&place, &tight, "asked", &more).code, 0);
    let gated = [&more[..], &["--gate", "95/95"]].concat();
    assert_eq!(stress(&place, &tight, "gated", &gated).code, 3);
    assert_eq!(place.summary("gated")["gate_met"], false);
    assert_eq!(stress(&place, ROOM, "wide", &gated).code, 0);
    assert_eq!(place.summary("wide")["gate_met"], true);
}

#[test]
fn json_is_alone_on_standard_output_and_set_is_heard() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    let words = [
        "stress", &file, "--onsets", "3", "--left", "0 %", "--format", "json", "--out",
    ];
    let said = call(&[&words[..], &[&place.word("plain")]].concat());
    assert_eq!(said.code, 0, "{}", said.err);
    let plain: Value = serde_json::from_str(&said.out).expect("JSON alone");
    assert_eq!(plain, place.summary("plain"));
    assert_eq!(
        (plain["command"].as_str(), plain["format"].as_u64()),
        (Some("stress"), Some(1))
    );
    let part = |summary: &Value| summary["devices"][0]["left"][0].clone();
    assert_eq!(part(&plain)["harmless"], true);
    let set = ["--set", "compartments.room.free_volume=\"3 m3\""];
    let said = call(&[&words[..], &[&place.word("small")], &set[..]].concat());
    assert_eq!(said.code, 0, "{}", said.err);
    let small: Value = serde_json::from_str(&said.out).expect("JSON alone");
    assert_eq!(part(&small)["medians"]["without"]["limit"], "co2-ceiling");
}

/// With all of the device left nothing happens, though the file's own fault would stop it; alone it is told of by itself.
#[test]
fn the_files_own_faults_rest() {
    let place = Place::new();
    let more = ["--onsets", "3", "--left", "100 %,0 %"];
    assert_eq!(stress(&place, &upset(), "out", &more).code, 0);
    let summary = place.summary("out");
    assert_eq!(summary["faults_at_rest"], serde_json::json!(["fan-stop"]));
    let [whole, none] = [0, 1].map(|part| summary["devices"][0]["left"][part]["medians"].clone());
    assert!(
        whole["alarm"].is_null() && whole["without"]["limit"].is_null(),
        "{whole:#}"
    );
    assert!(
        none["alarm"]["id"] == "co2_high" && none["without"]["limit"] == "co2-ceiling",
        "{none:#}"
    );
    let rows = summary["single_faults"].as_array().expect("rows");
    assert_eq!(rows[0]["faults"], serde_json::json!([]));
    assert_eq!(rows[1]["faults"], serde_json::json!(["fan-stop"]));
}

/// A limit that is crossed at the start anyhow is none that a fault has crossed.
#[test]
fn what_is_crossed_without_any_fault_is_told_once_and_does_not_count() {
    let place = Place::new();
    let text = ROOM.replace("20 mmHg", "0.25 mmHg");
    let more = ["--onsets", "3", "--left", "0 %", "--runs", "60", "--gate", "95/95"];
    let said = stress(&place, &text, "out", &more);
    assert_eq!(said.code, 0, "{}{}", said.out, said.err);
    let summary = place.summary("out");
    let before = &summary["no_fault"]["limits"]["co2-ceiling"];
    assert!(
        before["with_h"] == 0.0 && before["variations"]["with"] == 60,
        "{before:#}"
    );
    assert_eq!(
        summary["devices"][0]["left"][0]["variations"]["crossed_without"]["count"],
        0
    );
    let words = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(
        words
            .matches("Without any fault limits are crossed already: co2-ceiling in 100 % of")
            .count(),
        1,
        "{words}"
    );
}
