//! What the commands print.

use std::fs;

use serde_json::Value;

use crate::calls::{Place, ROOM, call, set};

#[test]
fn help_version_limits_schema_completions_and_manual_come_on_standard_output() {
    for words in [
        &["--help"][..],
        &["--version"],
        &["run", "--help"],
        &["limits"],
        &["limits", "surface-sortie"],
        &["limits", "--format", "json"],
        &["schema"],
        &["completions", "bash"],
        &["completions", "zsh"],
        &["completions", "fish"],
        &["man"],
        &["man", "vary"],
    ] {
        let said = call(words);
        assert_eq!(said.code, 0, "{words:?}: {}", said.err);
        assert!(!said.out.is_empty() && said.err.is_empty(), "{words:?}");
        assert!(!said.out.contains('\u{1b}'), "{words:?}: colour");
    }
    let schema: Value = serde_json::from_str(&call(&["schema"]).out).expect("a JSON schema");
    assert!(schema.get("$schema").is_some());
    let limits: Value = serde_json::from_str(&call(&["limits", "--format", "json"]).out).expect("JSON");
    assert!(limits["sets"].as_array().expect("sets").len() >= 4);
}

#[test]
fn json_is_the_summary_alone_on_standard_output() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    for (command, out, more) in [
        ("run", "a", &[][..]),
        ("vary", "b", &["--runs", "59"]),
        ("check", "c", &[]),
    ] {
        let said = place.job(command, &file, out, &[more, &["--format", "json"]].concat());
        assert_eq!(said.code, 0, "{command}: {}", said.err);
        let written = fs::read_to_string(place.path(out).join("summary.json")).expect("a summary");
        assert!(said.out == written, "{command}: standard output is not summary.json");
        let json: Value = serde_json::from_str(&written).expect("JSON");
        assert_eq!(
            (&json["format"], &json["command"]),
            (&Value::from(1), &Value::from(command))
        );
    }
}

#[test]
fn quiet_says_nothing() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    for command in ["check", "run", "vary"] {
        let said = place.job(command, &file, command, &["--quiet"]);
        assert_eq!(
            (said.code, said.out.as_str(), said.err.as_str()),
            (0, "", ""),
            "{command}"
        );
    }
}

#[test]
fn what_is_said_fits_80_columns_leads_with_the_answer_and_carries_the_caution() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    for (command, answer) in [
        ("run", "On the medians the limit is met"),
        ("vary", "is met in 95 % of variations"),
    ] {
        let said = place.job(command, &file, command, &["--set", "title=\"T\""]);
        let lines: Vec<&str> = said.out.lines().collect();
        assert!(lines[2..].join(" ").contains(answer), "{}", said.out);
        let widest = lines
            .iter()
            .filter(|line| !line.contains('/'))
            .map(|line| line.chars().count())
            .max();
        assert!(widest.expect("lines") <= 80, "{}", said.out);
        let spoken = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
        let markdown = fs::read_to_string(place.path(command).join("summary.md")).expect("a text");
        for text in [&spoken, &markdown] {
            assert!(
                text.contains(breathroom_analysis::results::CAUTION),
                "{command}: no caution"
            );
        }
        assert_eq!(place.summary(command)["caution"], breathroom_analysis::results::CAUTION);
    }
    let run = call(&["run", &file, "--out", &place.word("again")]);
    assert!(
        run.out
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("Medians are optimistic")
    );
}

/// The words of a text, one space between them.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_course_of_co2_against_its_tightest_limit_stands_below_the_margins() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    let heading =
        "CO2 breathed by lead [mmHg], limit co2-ceiling: CO2 partial pressure, at every instant, at most 20 mmHg";
    let run = place.job("run", &file, "run", &[]);
    assert!(flat(&run.out).contains(heading), "{}", run.out);
    // The peak is that of the history.
    let mut history = csv::Reader::from_path(place.path("run").join("history.csv")).expect("there");
    let headers = history.headers().expect("headers").clone();
    let column = headers
        .iter()
        .position(|name| name == "lead breathed co2 [mmHg]")
        .expect("a column");
    let values = history
        .records()
        .map(|row| row.expect("whole")[column].parse::<f64>().expect("a number"));
    let peak = values.fold(0.0, f64::max);
    let said = format!("Peak {} mmHg at ", breathroom_analysis::results::numbers::short(peak));
    assert!(run.out.contains(&said), "no {said} in {}", run.out);
    let vary = place.job("vary", &file, "vary", &[]);
    assert!(
        flat(&vary.out).contains(&format!("On the medians: {heading}")),
        "{}",
        vary.out
    );
    for said in [&run.out, &vary.out] {
        let lines: Vec<&str> = said.lines().collect();
        let at = |what: &str| {
            lines
                .iter()
                .position(|line| line.contains(what))
                .unwrap_or_else(|| panic!("no {what}: {said}"))
        };
        let limit = at("     20|- - - ");
        assert!(lines[limit].ends_with("-  limit") && lines[limit].len() == 78, "{said}");
        assert!(
            at("Negative is beyond the limit") < limit && limit < at("Results in"),
            "{said}"
        );
        assert!(lines[limit + 3].ends_with('#'), "{said}");
        assert!(lines[limit + 5].ends_with(" 6:00"), "{said}");
    }
}

#[test]
fn a_mean_and_no_limit_at_all_are_told_of_with_the_course_and_nobody_who_wants_json_sees_it() {
    let place = Place::new();
    let by_set = place.file(
        "set.toml",
        ROOM.replace(
            "[[limits.rule]]",
            "[limits]\nuse = [\"surface-sortie\"]\n\n[[limits.rule]]",
        ),
    );
    let run = place.job("run", &by_set, "set", &[]);
    let said = flat(&run.out);
    assert!(
        said.contains("The limit is on the mean over 1 h, the curve is the value at each moment."),
        "{}",
        run.out
    );
    let (before, _) = ROOM.split_once("[[limits.rule]]").expect("a limit");
    let without = place.file("without.toml", before);
    let run = place.job("run", &without, "without", &[]);
    assert!(
        run.out.contains("CO2 in room [mmHg]; no limit is set on CO2"),
        "{}",
        run.out
    );
    for (command, out) in [("run", "run"), ("vary", "vary")] {
        let said = place.job(command, &by_set, out, &["--format", "json"]);
        let summary = fs::read_to_string(place.path(out).join("summary.json")).expect("a summary");
        assert_eq!(said.out, summary);
        assert!(!said.err.contains("Peak"), "{}", said.err);
    }
}

#[test]
fn check_tells_every_value_its_source_and_its_spread() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    let said = call(&["check", &file]);
    assert_eq!(said.code, 0, "{}", said.err);
    let out = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in [
        "compartments.room.free_volume",
        "line 14",
        "median 30 m3",
        "5-95 % range",
        "default",
        "V/(e Q)",
        // The built-in effort in this person's rates (0.818 kg/d of oxygen for the reference person of 82 kg).
        "nominal: CO2",
        "1 task; if nobody waits for people, equipment or space the last, work, ends at",
    ] {
        assert!(out.contains(word), "no {word} in {}", said.out);
    }
    assert_eq!(place.names(), set(&["room.toml"]), "nothing is written");
}

#[test]
fn a_starter_is_written_once_and_can_be_checked_and_run() {
    let place = Place::new();
    let file = place.word("mine.toml");
    let said = call(&["new", &file]);
    assert_eq!(said.code, 0, "{}", said.err);
    let said = call(&["check", &file]);
    assert_eq!(said.code, 0, "{}", said.err);
    // The starter has a group of two spreads.
    let out = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let group = "removal.scrubber.co2_efficiency with compartments.cabin.free_volume: 0.6";
    assert!(out.contains(group), "no {group} in {}", said.out);
    let said = place.job("run", &file, "out", &[]);
    assert!(said.code == 0 || said.code == 3, "{}", said.err);
    fs::write(&file, "mine").expect("written");
    let said = call(&["new", &file]);
    assert_eq!(said.code, 1);
    assert_eq!(fs::read_to_string(&file).expect("a text"), "mine");
    assert_eq!(call(&["new", &file, "--force", "--quiet"]).code, 0);
    assert!(fs::read_to_string(&file).expect("a text").contains("format = 1"));
    assert_eq!(call(&["new", &place.word("no/such/folder.toml")]).code, 1);
}
