//! Trades through the command line: rows, differences, front and failures, held against the variations themselves.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::command::{Job, Row, call, job};

/// The scenario: the sealed cabin of `size/sealed.toml` with an uncertain load.
fn place(trade: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let sealed = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/size/sealed.toml");
    let text = fs::read_to_string(sealed).expect("there").replace(
        "co2 = \"1.00 kg/d\"",
        "co2 = { uniform = [\"0.9 kg/d\", \"1.1 kg/d\"] }",
    );
    fs::write(folder.path().join("cabin.toml"), text).expect("written");
    let file = folder.path().join("trade.toml");
    fs::write(&file, trade).expect("written");
    (folder, file)
}

const TRADE: &str = r#"format = 1
title = "Cabins"
question = "How large must it be?"
scenario = "cabin.toml"
runs = 400
seed = 5

[factors.volume]
path = "compartments.cabin.free_volume"
levels = ["300 ft3", "300.001 ft3", "330 ft3", "400 ft3"]

[columns]
kept = { margin = "co2" }
median = { margin = "co2", at = "50 %" }
mean = { margin = "co2", at = "mean" }
beyond = { beyond = "co2" }
made = { result = "totals.co2_made_kg" }
shell = { formula = "2 + 0.1 * [volume in ft3] ^ 1", unit = "kg", meaning = "Its shell." }

[front]
most = ["kept"]
least = ["shell"]
"#;

fn trade(text: &str, more: &[&str]) -> Job {
    let (_folder, file) = place(text);
    job("trade", &file, more)
}

fn number(row: &Row, column: &str) -> f64 {
    let text = row.get(column).unwrap_or_else(|| panic!("no {column} in {row:?}"));
    text.parse().unwrap_or_else(|_| panic!("{column}: {text:?}"))
}

/// Rises to G R T t / V, so margins are 7.6 less a load over the volume: the differences are the load's mean times 1/V - 1/V'.
#[test]
fn rows_and_differences_are_those_of_the_gas_law() {
    let job = trade(TRADE, &[]);
    assert_eq!(job.code, 0, "{}", job.err);
    let rows = job.table("trade.csv");
    assert_eq!(rows.len(), 4);
    let rise = |load: f64, volume: f64| {
        let mol = 2.0 * load / 44.0095e-3 * 2.0 / 24.0;
        mol * 8.314_462_618 * 294.261_11 / (volume * 0.028_316_8) / 133.322
    };
    let runs = job.table("trade-runs.csv");
    assert_eq!(runs.len(), 1_600);
    let of = |name: &str| -> Vec<f64> {
        runs.iter()
            .filter(|run| run["row"] == name)
            .map(|run| number(run, "co2 [mmHg]"))
            .collect()
    };
    let base = of("r01");
    // The load of each variation, from the first row; it is that of every other.
    let loads: Vec<f64> = base.iter().map(|margin| (7.6 - margin) / rise(1.0, 300.0)).collect();
    assert!(loads.iter().all(|load| (0.9..1.1).contains(load)));
    let mean_load = loads.iter().sum::<f64>() / 400.0;
    let variance: f64 = loads.iter().map(|load| (load - mean_load).powi(2)).sum::<f64>() / 399.0;
    let differences = job.table("differences.csv");
    for (row, volume) in [(1, 300.001), (2, 330.0), (3, 400.0)] {
        let margins = of(&format!("r0{}", row + 1));
        for (margin, load) in margins.iter().zip(&loads) {
            assert!((margin - (7.6 - rise(*load, volume))).abs() < 1e-9, "the same luck");
        }
        let told = &differences[row];
        let slope = rise(1.0, 300.0) - rise(1.0, volume);
        let difference = number(told, "mean, difference [mmHg]");
        assert!((difference - slope * mean_load).abs() < 1e-9);
        // Paired t: half-width t(399) s / sqrt(400) with s = slope * that of the loads; t(399; 0.975) = 1.965 927.
        let half = 0.5 * (number(told, "mean, difference high [mmHg]") - number(told, "mean, difference low [mmHg]"));
        let exact = 1.965_927 * slope * variance.sqrt() / 20.0;
        assert!((half / exact - 1.0).abs() < 1e-5, "{half} {exact}");
        assert_eq!(told["mean, verdict"], "better");
        assert_eq!(told["made, verdict"], "none seen");
    }
    assert_eq!(differences[0]["mean, verdict"], "baseline");
    assert_eq!(number(&rows[3], "shell [kg]"), 42.0);
    // 400 ft3 is the only one that all keep; the shell grows with the margin, so each is on the front.
    let met: Vec<&str> = rows.iter().map(|row| row["limits met"].as_str()).collect();
    assert_eq!(met, ["NO", "NO", "NO", "yes"]);
    assert!(rows.iter().all(|row| ["yes", "knee"].contains(&row["front"].as_str())));
    assert_eq!(rows[0]["not met"], "co2");
    assert_eq!(job.summary["front_within_limits"], serde_json::json!(["r04"]));
    let answer = job.summary["answer"].to_string();
    assert!(
        answer.contains("Of the rows that keep every limit none beats r04 (400 ft3)."),
        "{answer}"
    );
    let beyond = base.iter().filter(|margin| **margin < 0.0).count() as f64 / 4.0;
    assert_eq!(number(&rows[0], "beyond [%]"), beyond);
}

/// What 0.001 ft3 is to 400 variations: a difference of the mean that pairs see, none in the share beyond.
#[test]
fn a_row_is_not_called_different_where_nothing_is_seen() {
    let job = trade(TRADE, &[]);
    let differences = job.table("differences.csv");
    assert_eq!(differences[1]["beyond, verdict"], "none seen");
    assert_eq!(differences[2]["beyond, verdict"], "better");
    let answer = job.summary["answer"].to_string();
    assert!(
        answer.contains("no difference seen in 1 row at 400 variations"),
        "{answer}"
    );
}

/// The same figures as `vary` gives for that design.
#[test]
fn a_row_is_what_vary_gives() {
    let (folder, file) = place(TRADE);
    let rows = job("trade", &file, &[]).table("trade.csv");
    let set = [
        "--set",
        "compartments.cabin.free_volume=330 ft3",
        "--runs",
        "400",
        "--seed",
        "5",
    ];
    let vary = job("vary", &folder.path().join("cabin.toml"), &set);
    for (column, key) in [("kept [mmHg]", "tolerance_95_95"), ("beyond [%]", "probability")] {
        let scale = if key == "probability" { 100.0 } else { 1.0 };
        let expected = scale * vary.limit("co2", key).as_f64().expect("a number");
        assert!((number(&rows[2], column) - expected).abs() < 1e-9, "{column}");
    }
    let median = vary.limit("co2", "margin_quantiles")["0.5"].as_f64().expect("a number");
    assert!((number(&rows[2], "median [mmHg]") - median).abs() < 1e-9);
}

/// A combination that is no design, and one that fails in some variations, say so in their rows; the others are as without them.
#[test]
fn a_row_that_fails_says_why_and_stops_no_other() {
    let text = TRADE.replace(
        "[columns]",
        "[factors.humidity]\npath = \"air.humidity\"\nlevels = [\"0 %\", \"90 %\"]\n\n[columns]",
    );
    let text = text.replace(
        "path = \"compartments.cabin.free_volume\"\nlevels = [\"300 ft3\", \"300.001 ft3\", \"330 ft3\", \"400 ft3\"]",
        "path = \"air.pressure\"\nlevels = [\"5 psi\", \"4 psi\", \"0.3 psi\"]",
    );
    // 90 % at 70 degF are 0.33 psi of vapour.
    let (_folder, file) = place(&text.replace("[volume in ft3]", "[volume in psi]"));
    let job = job("trade", &file, &[]);
    assert_eq!(job.code, 1, "{}", job.err);
    let rows = job.table("trade.csv");
    let states: Vec<bool> = rows.iter().map(|row| row["state"] == "ran").collect();
    assert_eq!(states, [true, true, true, true, true, false]);
    assert_eq!(rows[5]["state"], "no such design");
    assert!(rows[5]["why"].contains("pressure"), "{}", rows[5]["why"]);
    assert_eq!(
        (rows[5]["kept [mmHg]"].as_str(), rows[5]["limits met"].as_str()),
        ("", "n/a")
    );
    assert_eq!(job.summary["rows"][5]["state"], "refused");
    // At 0.3 psi nobody lives: no limit is crossed before that, and the row is not called good for it.
    assert_eq!(
        (rows[4]["limits met"].as_str(), rows[4]["not met"].as_str()),
        ("NO", "survival")
    );
    let answer = job.summary["answer"].to_string();
    assert!(
        answer.contains("There is no such design as r06 (0.3 psi, 90 %)"),
        "{answer}"
    );
}

#[test]
fn threads_change_nothing_and_the_file_may_be_overruled() {
    let (_folder, file) = place(TRADE);
    let small = |threads: &str| {
        job(
            "trade",
            &file,
            &[
                "--runs",
                "80",
                "--seed",
                "9",
                "--threads",
                threads,
                "--date",
                "2001-02-03",
            ],
        )
    };
    let (one, two) = (small("1"), small("2"));
    assert_eq!(
        (&one.summary["runs"], &one.summary["seed"]),
        (&Value::from(80), &Value::from(9))
    );
    assert_eq!(one.summary["date"], "2001-02-03");
    let mut names: Vec<String> = fs::read_dir(one.file(""))
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    for name in [
        "trade.csv",
        "trade.xlsx",
        "trade.tex",
        "trade.json",
        "datapackage.json",
        "summary.json",
        "summary.md",
    ] {
        assert!(names.iter().any(|there| there == name), "{name} of {names:?}");
    }
    for name in names {
        let bytes = |job: &Job| fs::read(job.file(&name)).expect("a file");
        assert!(bytes(&one) == bytes(&two), "{name}");
    }
    let text = fs::read_to_string(one.file("summary.md")).expect("text");
    for word in [
        "How large must it be?",
        "2001-02-03",
        "design aid",
        "SHA-256 of cabin.toml",
    ] {
        assert!(text.contains(word), "{word} in {text}");
    }
}

/// Nothing is left half done: a wrong file, a missing scenario, a folder that is there.
#[test]
fn what_is_wrong_is_told_before_anything_is_run() {
    let (folder, file) = place(&TRADE.replace("cabin.toml", "cabi.toml"));
    let words = ["breathroom", "trade", file.to_str().expect("text")];
    let (code, _, err) = call(&words);
    assert_eq!(code, 1);
    assert!(err.contains("cabi.toml") && err.contains("trade.toml:"), "{err}");
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 2);
    let (code, _, err) = call(&["breathroom", "trade", "no-such.toml"]);
    assert_eq!(code, 1);
    assert!(err.contains("there is no such file or folder"), "{err}");
}
