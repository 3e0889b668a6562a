//! Exit codes, and what is said with them.

use std::fs;

use serde_json::Value;

use crate::calls::{Place, ROOM, call, hatch, names, set};

#[test]
fn wrong_usage_is_2_and_says_so_on_standard_error() {
    for words in [
        &[][..],
        &["fly"],
        &["run"],
        &["run", "x.toml", "--colour"],
        &["run", "x.toml", "--format", "xml"],
        &["run", "x.toml", "--threads", "0"],
        &["run", "x.toml", "--set", "no-value"],
        &["vary", "x.toml", "--runs", "0"],
        &["vary", "x.toml", "--seed", "-1"],
        &["vary", "x.toml", "--gate", "95"],
        &["vary", "x.toml", "--gate", "100/95"],
        &["vary", "x.toml", "--only", "1", "--gate", "99/95"],
        &["compare", "x.toml"],
        &["compare", "x.toml", "y.toml", "--set", "a.b=1"],
        &["compare", "x.toml", "y.toml", "--at", "95"],
        &["limits", "no-such-set"],
        &["completions", "no-such-shell"],
        &["man", "fly"],
    ] {
        let said = call(words);
        assert_eq!(said.code, 2, "{words:?}: {}", said.err);
        assert!(said.out.is_empty() && !said.err.is_empty(), "{words:?}");
    }
}

#[test]
fn a_run_whose_limits_are_met_is_0_and_gives_every_file() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    let said = place.job("run", &file, "out", &[]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(said.err, "");
    let expected = [
        "summary.json",
        "summary.md",
        "history.csv",
        "events.csv",
        "inputs.csv",
        "report.html",
        "datapackage.json",
    ];
    assert_eq!(names(&place.path("out")), set(&expected));
    assert_eq!(place.names(), set(&["room.toml", "out"]), "nothing else is left behind");
}

#[test]
fn a_limit_that_is_not_met_is_3() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM.replace("20 mmHg", "0.4 mmHg"));
    let said = place.job("run", &file, "out", &[]);
    assert_eq!(said.code, 3, "{}", said.err);
    assert!(said.out.contains("NOT MET"), "{}", said.out);
    assert_eq!(place.summary("out")["limits"][0]["met"], false);
    assert!(place.summary("out")["limits"][0]["first_crossing_h"].is_number());
    assert_eq!(place.job("vary", &file, "many", &["--runs", "60"]).code, 3);
}

#[test]
fn vary_needs_59_runs_for_its_gate_or_another_gate() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    let said = place.job("vary", &file, "few", &["--runs", "58"]);
    assert_eq!(said.code, 3, "{}", said.err);
    assert!(said.out.contains("too few"), "{}", said.out);
    assert_eq!(place.summary("few")["limits"][0]["tolerance_95_95"], Value::Null);
    assert_eq!(place.job("vary", &file, "enough", &["--runs", "59"]).code, 0);
    assert_eq!(
        place
            .job("vary", &file, "gated", &["--runs", "59", "--gate", "99/99"])
            .code,
        3
    );
    assert_eq!(place.summary("gated")["gate"]["coverage"], 0.99);
    assert_eq!(
        place
            .job("vary", &file, "loose", &["--runs", "1", "--gate", "50/50"])
            .code,
        0
    );
}

#[test]
fn a_run_that_fails_is_1_with_names_and_leaves_nothing() {
    let place = Place::new();
    let file = place.file("hatch.toml", hatch("\"60 kPa\""));
    let said = place.job("run", &file, "out", &[]);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.err.contains("`door`") && said.err.contains("kPa"), "{}", said.err);
    assert_eq!(place.names(), set(&["hatch.toml"]));
}

#[test]
fn variations_that_fail_are_1_which_beats_3_and_are_in_the_table() {
    let place = Place::new();
    let spread = "{ choice = [\"101.325 kPa\", \"60 kPa\"], weights = [3, 2] }";
    let file = place.file("hatch.toml", hatch(spread));
    let said = place.job("vary", &file, "out", &["--runs", "60"]);
    assert_eq!(said.code, 1, "{}", said.err);
    let summary = place.summary("out");
    let failed = summary["failed"].as_u64().expect("a count");
    assert!((1..60).contains(&failed), "{failed} failed");
    assert_eq!(summary["limits"][0]["violations"], failed);
    assert!(
        summary["failures"][0]["error"]
            .as_str()
            .expect("words")
            .contains("`door`")
    );
    let table = fs::read_to_string(place.path("out").join("variations.csv")).expect("a table");
    assert_eq!(
        table.lines().filter(|line| line.contains(",failed,")).count() as u64,
        failed
    );
}

#[test]
fn files_that_cannot_be_a_scenario_are_1_with_a_plain_word() {
    let place = Place::new();
    place.file("empty.toml", "");
    place.file("latin.toml", b"format = 1\ntitle = \"caf\xe9\"\n");
    place.file("noise.toml", [0_u8, 159, 146, 150, 255, 254]);
    fs::create_dir(place.path("folder.toml")).expect("made");
    let large = fs::File::create(place.path("large.toml")).expect("made");
    large.set_len(200 << 20).expect("200 MB, most of it a hole");
    for (name, word) in [
        ("empty.toml", "empty"),
        ("latin.toml", "UTF-8"),
        ("noise.toml", "UTF-8"),
        ("folder.toml", "folder"),
        ("large.toml", "16 MiB"),
        ("missing.toml", "no such file"),
    ] {
        for command in ["check", "run", "vary"] {
            let said = place.job(command, &place.word(name), "out", &[]);
            assert_eq!(said.code, 1, "{command} {name}: {}", said.err);
            assert!(said.err.contains(word), "{command} {name}: {}", said.err);
            assert!(said.out.is_empty() && !place.path("out").exists(), "{command} {name}");
        }
    }
}

#[test]
fn every_fault_of_a_file_is_told_in_one_go_and_nothing_is_run() {
    let place = Place::new();
    let text = ROOM
        .replace("free_volume", "fre_volume")
        .replace("\"0.3 m3/min\"", "\"0.3 kg\"");
    let file = place.file("room.toml", text.replace("quantity = \"co2\"", "quantity = \"carbon\""));
    let said = place.job("run", &file, "out", &[]);
    assert_eq!(said.code, 1);
    for word in [
        "`fre_volume`",
        "0.3 kg",
        "`carbon`",
        "room.toml:14:1",
        "room.toml:19:13",
        "room.toml:39:12",
    ] {
        assert!(said.err.contains(word), "no {word} in {}", said.err);
    }
    assert_eq!(place.names(), set(&["room.toml"]));
    let said = place.job(
        "run",
        &place.file("good.toml", ROOM),
        "out",
        &["--set", "removal.scrubber.flo=1"],
    );
    assert_eq!(said.code, 1);
    assert!(said.err.contains("--set"), "{}", said.err);
}

/// A room in which nothing happens: whatever stands at its limit meets it, to the last rounding of units and averages.
#[test]
fn a_value_on_its_limit_meets_it() {
    let mut text = String::from(
        "format = 1\nduration = \"7 h\"\n[air]\npressure = \"70 kPa\"\noxygen = \"30 %\"\nco2 = \"1 kPa\"\n\
         temperature = \"18 degC\"\n[compartments.room]\nfree_volume = \"12 m3\"\n",
    );
    let over = ["", "average = \"1 h\"\n", "mean = \"mission\"\n"];
    for (n, over) in over.into_iter().enumerate() {
        for (quantity, value) in [("co2", "1 kPa"), ("temperature", "18 degC"), ("pressure", "70 kPa")] {
            for bound in ["at_most", "at_least"] {
                text += &format!(
                    "[[limits.rule]]\nid = \"{quantity}-{bound}-{n}\"\nquantity = \"{quantity}\"\nwhere = \"room\"\n\
                     {over}{bound} = \"{value}\"\nsource = \"this test\"\n"
                );
            }
        }
    }
    let place = Place::new();
    let file = place.file("still.toml", text);
    let said = place.job("run", &file, "still", &[]);
    assert_eq!(said.code, 0, "{}{}", said.out, said.err);
    let summary = place.summary("still");
    let limits = summary["limits"].as_array().expect("limits");
    assert_eq!(limits.len(), 18);
    for limit in limits {
        assert!(limit["margin"] == 0.0 && limit["met"] == true, "{limit}");
        assert!(
            limit["first_crossing_h"].is_null() && limit["time_beyond_h"] == 0.0,
            "{limit}"
        );
    }
    // And a hair beyond is beyond.
    let beyond = place.job("run", &file, "beyond", &["--set", "air.co2=1.00001 kPa"]);
    assert_eq!(beyond.code, 3, "{}", beyond.err);
}
