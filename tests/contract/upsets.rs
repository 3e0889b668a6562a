//! Faults, alarms and responses over variations: kept through shards, merges and kills to the byte, told in every file, and
//! refused where they cannot be drawn.

use std::fs;

use crate::calls::{Place, call, same};
use crate::parts::short;

/// Three blocks, the last of them short.
const RUNS: &str = "2100";

/// A device that may stop, a sensor with noise that now and then says so in vain, and someone who puts it right.
fn upset() -> String {
    short()
        + r#"
[[faults]]
id = "stop"
on = "removal.scrubber"
mode = "off"
onset = { uniform = ["1 min", "40 min"] }

[[alarms]]
id = "co2_high"
watches = "room.co2"
above = "0.36 mmHg"
for = "1 min"
clears_below = "0.34 mmHg"
sensor = { bias = { normal = ["0 mmHg", "0.03 mmHg"] }, noise = "0.01 mmHg" }

[alarms.response]
by = "any"
reaction = { lognormal = ["3 min", "50 %"] }
takes = "2 min"
does = [{ repair = "stop" }]
chance = "80 %"
"#
}

fn merge(place: &Place, parts: &[&str], out: &str) -> crate::calls::Said {
    let mut words = vec!["merge".to_owned()];
    words.extend(parts.iter().map(|part| place.word(part)));
    words.extend(["--out".to_owned(), place.word(out)]);
    call(&words)
}

#[test]
fn shards_and_threads_change_no_byte_and_every_file_tells_of_alarms() {
    let place = Place::new();
    let file = place.file("room.toml", upset());
    let said = place.job("vary", &file, "one", &["--runs", RUNS, "--threads", "1"]);
    assert_eq!(said.code, 0, "{}", said.err);
    for (share, out) in [("1/2", "a"), ("2/2", "b")] {
        let said = place.job(
            "vary",
            &file,
            out,
            &["--runs", RUNS, "--shard", share, "--threads", "2"],
        );
        assert_eq!(said.code, 0, "{}", said.err);
    }
    let merged = merge(&place, &["b", "a"], "merged");
    assert_eq!(merged.code, 0, "{}", merged.err);
    same(&place.path("one"), &place.path("merged"));

    // What the table has of each variation is what the summary counts.
    let table = fs::read_to_string(place.path("one").join("variations.csv")).expect("a table");
    let mut lines = table.lines();
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    let column = |name: &str| header.iter().position(|cell| *cell == name).expect(name);
    let (on, done) = (column("alarm co2_high [h]"), column("response co2_high [h]"));
    let mut counts = [0_u64; 2];
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        counts[0] += u64::from(!cells[on].is_empty());
        counts[1] += u64::from(!cells[done].is_empty());
    }
    let summary = place.summary("one");
    let alarm = &summary["alarms"][0];
    assert_eq!(alarm["came_on_in"]["variations"], counts[0]);
    assert!(counts[0] > 0 && counts[0] < 2100, "{counts:?}");
    let response = &summary["responses_in_variations"][0];
    assert_eq!(response["times"], counts[1]);
    assert!(counts[1] > 0 && counts[1] < counts[0], "{counts:?}");
    let began = summary["faults"][0]["began_in"]["variations"]
        .as_u64()
        .expect("a count");
    assert!(began > 1_000 && began < 2_100, "{began}");
    let interval = alarm["missed_in"]["probability_95"].as_array().expect("an interval");
    assert_eq!(interval.len(), 2);

    let package = fs::read_to_string(place.path("one").join("datapackage.json")).expect("a package");
    assert!(package.contains("\"alarm co2_high [h]\"") && package.contains("\"response co2_high [h]\""));
    let markdown = fs::read_to_string(place.path("one").join("summary.md")).expect("summary.md");
    assert!(markdown.contains("## What went wrong"), "{markdown}");
}

#[test]
fn parts_of_an_older_layout_are_refused() {
    let place = Place::new();
    let file = place.file("room.toml", upset());
    let said = place.job("vary", &file, "a", &["--runs", RUNS, "--shard", "1/1"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let path = place.path("a").join("job.json");
    let job = fs::read_to_string(&path).expect("a job");
    assert!(job.contains("\"format\": 3"), "{job}");
    fs::write(&path, job.replace("\"format\": 3", "\"format\": 2")).expect("written");
    let said = merge(&place, &["a"], "merged");
    assert!(said.code == 1 && said.err.contains("layout"), "{}", said.err);
    assert!(!place.path("merged").exists());
}

#[test]
fn a_climb_refuses_noise_and_says_what_to_do() {
    let place = Place::new();
    let file = place.file("room.toml", upset());
    let rare = |more: &[&str]| {
        let words = [&["--rare", "co2-ceiling", "--rare-runs", "100"], more].concat();
        place.job("vary", &file, &format!("rare-{}", more.len()), &words)
    };
    let said = rare(&[]);
    assert_eq!(said.code, 2, "{}", said.err);
    let way_out = "alarms.co2_high.sensor.noise=\"0 mmHg\"";
    assert!(said.err.contains(&format!("--set '{way_out}'")), "{}", said.err);
    let said = rare(&["--set", way_out]);
    assert_eq!(said.code, 0, "{}", said.err);
}
