//! What holds each margin: `vary --drivers`, and the sentences that come without it.

use std::fs;

use serde_json::Value;

use breathroom_tests::rooms::SIX_TURNS;

use crate::calls::{Place, Said, call, names, same};

/// The rows: runs are four times as many, for two inputs.
const ROWS: &str = "128";

fn study(place: &Place, text: &str, out: &str, more: &[&str]) -> Said {
    let file = place.file("room.toml", text);
    place.job("vary", &file, out, &[&["--runs", "200"], more].concat())
}

fn markdown(place: &Place, out: &str) -> String {
    fs::read_to_string(place.path(out).join("summary.md")).expect("summary.md")
}

/// The driver of a limit by input and kind.
fn driver<'a>(summary: &'a Value, input: &str, kind: &str) -> &'a Value {
    let drivers = summary["limits"][0]["drivers"].as_array().expect("drivers");
    let found = drivers.iter().find(|of| of["input"] == input && of["kind"] == kind);
    found.unwrap_or_else(|| panic!("no {kind} of {input} in {drivers:#?}"))
}

/// The durations of six turns of work hold the margin of a sealed room, the volume what is left: the margin is nearly linear
/// in both, so first order and total agree and add up to 1.
#[test]
fn the_input_that_holds_a_margin_is_found_on_any_number_of_threads() {
    let place = Place::new();
    let said = study(&place, SIX_TURNS, "one", &["--drivers", ROWS, "--threads", "1"]);
    assert!(said.code == 0 || said.code == 3, "{}", said.err);
    study(&place, SIX_TURNS, "two", &["--drivers", ROWS, "--threads", "2"]);
    same(&place.path("one"), &place.path("two"));

    let summary = place.summary("one");
    assert_eq!(summary["drivers"]["rows"], 128);
    assert_eq!(summary["drivers"]["runs"], 512);
    assert_eq!(summary["drivers"]["failed"], 0);
    assert_eq!(summary["drivers"]["limits"][0]["used"], 128);
    assert_eq!(summary["drivers"]["limits"][0]["left_out"], 0);
    assert_eq!(summary["provenance"]["drivers"], 128);
    let index = |input, kind| driver(&summary, input, kind)["index"].as_f64().expect("a number");
    let (work, volume) = ("tasks.work.duration", "compartments.room.free_volume");
    for kind in ["first", "total"] {
        assert!(index(work, kind) > 0.8 && index(volume, kind) < 0.2, "{summary:#}");
        let interval = &driver(&summary, work, kind)["index_95"];
        let [low, high] = [0, 1].map(|end| interval[end].as_f64().expect("an end"));
        assert!(low < index(work, kind) && index(work, kind) < high, "{interval}");
    }
    assert!((index(work, "first") + index(volume, "first") - 1.0).abs() < 0.2);
    assert!(driver(&summary, work, "rank").get("index_95").is_none());

    let sentence = "The margin of co2-ceiling (crew:lead) is held by tasks.work.duration (";
    assert!(markdown(&place, "one").contains(&format!("- {sentence}")));
    let out = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains(sentence), "{out}");
}

#[test]
fn every_index_is_in_a_table_that_the_data_package_describes() {
    let place = Place::new();
    study(&place, SIX_TURNS, "out", &["--drivers", ROWS]);
    let text = fs::read_to_string(place.path("out").join("drivers.csv")).expect("drivers.csv");
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("limit,where,factor,kind,index,lower,upper"));
    assert_eq!(lines.clone().count(), 4, "two inputs, two kinds: {text}");
    let summary = place.summary("out");
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells[..2], ["co2-ceiling", "crew:lead"]);
        let of = driver(&summary, cells[2], cells[3]);
        let numbers: Vec<f64> = cells[4..].iter().map(|cell| cell.parse().expect("a number")).collect();
        let told =
            [&of["index"], &of["index_95"][0], &of["index_95"][1]].map(|value| value.as_f64().expect("a number"));
        for (number, told) in numbers.iter().zip(told) {
            // The summary has 15 digits.
            assert!((number - told).abs() <= 1e-14 * told.abs(), "{line}: {told}");
        }
    }
    let package = fs::read_to_string(place.path("out").join("datapackage.json")).expect("a package");
    let package: Value = serde_json::from_str(&package).expect("JSON");
    let resources = package["resources"].as_array().expect("resources");
    assert!(resources.iter().any(|of| of["path"] == "drivers.csv"), "{package:#}");
}

/// The further runs have draws of their own: the variations, and what is said of them, stay as they were.
#[test]
fn without_further_runs_the_sentence_comes_from_correlations_and_the_variations_are_the_same() {
    let place = Place::new();
    study(&place, SIX_TURNS, "with", &["--drivers", ROWS]);
    let said = study(&place, SIX_TURNS, "without", &[]);
    let text = markdown(&place, "without");
    let sentence = "The margin of co2-ceiling (crew:lead) goes most with tasks.work.duration (rank correlation -0.9";
    assert!(text.contains(&format!("- {sentence}")), "{text}");
    let out = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains(sentence), "{out}");
    assert!(!names(&place.path("without")).contains("drivers.csv"));
    let [with, without] = ["with", "without"].map(|out| place.summary(out));
    assert!(without.get("drivers").is_none() && without["provenance"].get("drivers").is_none());
    let work = "tasks.work.duration";
    assert_eq!(driver(&with, work, "rank"), driver(&without, work, "rank"));
    let csv = |out: &str| fs::read(place.path(out).join("variations.csv")).expect("a table");
    assert!(csv("with") == csv("without"));
}

/// Two inputs that are drawn together count once: three runs a row.
#[test]
fn inputs_that_go_together_are_one_factor() {
    let place = Place::new();
    let text = SIX_TURNS.replace(
        "oxygen = \"20.9 %\"\nco2 = \"0.3 mmHg\"\n",
        "oxygen = \"20.9 %\"\nco2 = { uniform = [\"0.2 mmHg\", \"0.4 mmHg\"] }\n",
    ) + "\n[[together]]\ninputs = [\"air.co2\", \"compartments.room.free_volume\"]\nrank_correlation = 0.8\n";
    let said = study(&place, &text, "out", &["--drivers", ROWS]);
    assert!(said.code == 0 || said.code == 3, "{}", said.err);
    let summary = place.summary("out");
    assert_eq!(summary["drivers"]["factors"], 2);
    assert_eq!(summary["drivers"]["runs"], 512);
    driver(&summary, "air.co2 with compartments.room.free_volume", "total");
}

#[test]
fn what_cannot_be_asked_is_refused() {
    for more in [
        &["--drivers", "99"][..],
        &["--drivers", "128", "--shard", "1/2"],
        &["--drivers", "128", "--only", "3"],
        &["--drivers", "128", "--rare", "co2-ceiling"],
    ] {
        let said = call(&[&["vary", "x.toml"], more].concat());
        assert_eq!(said.code, 2, "{more:?}: {}", said.err);
    }
    let place = Place::new();
    let fixed = SIX_TURNS
        .replace(
            "{ normal = [\"40 m3\", \"0.5 m3\"], within = [\"37 m3\", \"43 m3\"] }",
            "\"40 m3\"",
        )
        .replace("{ uniform = [\"10 min\", \"50 min\"] }", "\"30 min\"");
    let said = study(&place, &fixed, "out", &["--drivers", ROWS]);
    assert_eq!(said.code, 2, "{}", said.err);
    assert!(
        said.err.contains("no value of `room.toml` has a spread"),
        "{}",
        said.err
    );
    assert!(!place.path("out").exists());
}
