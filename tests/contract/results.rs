//! Result folders: their files, keys, columns and bytes.

use std::collections::BTreeSet;
use std::fs;

use serde_json::Value;

use crate::calls::{Place, ROOM, hatch, same, set};

#[test]
fn every_key_of_a_summary_is_there_and_run_has_no_statistics() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    place.job("run", &file, "run", &[]);
    place.job("vary", &file, "vary", &["--runs", "60"]);
    let (run, vary) = (place.summary("run"), place.summary("vary"));
    let of_all = [
        "/format",
        "/command",
        "/scenario/title",
        "/scenario/file",
        "/scenario/sha256",
        "/limits/0/id",
        "/limits/0/where",
        "/limits/0/quantity",
        "/limits/0/unit",
        "/limits/0/limit",
        "/limits/0/worst",
        "/limits/0/at_h",
        "/limits/0/margin",
        "/limits/0/margin_fraction",
        "/limits/0/met",
        "/limits/0/first_crossing_h",
        "/limits/0/time_beyond_h",
        "/totals/co2_made_kg",
        "/totals/co2_removed_kg",
        "/totals/water_made_kg",
        "/totals/runoff_kg",
        "/totals/water_removed_kg",
        "/totals/water_condensed_kg",
        "/totals/oxygen_used_kg",
        "/totals/oxygen_supplied_kg",
        "/totals/diluent_supplied_kg",
        "/totals/sensible_mj",
        "/totals/latent_mj",
        "/totals/oxygen_filled_kg",
        "/totals/diluent_filled_kg",
        "/totals/oxygen_to_suits_kg",
        "/totals/sorbent_water_kg",
        "/totals/water_collected_kg",
        "/totals/water_overboard_kg",
        "/totals/leaked/co2_kg",
        "/totals/leaked/diluent_kg",
        "/totals/vented/water_kg",
        "/totals/relieved/oxygen_kg",
        "/totals/turn_lost/co2_kg",
        "/per_day/days",
        "/per_day/oxygen_kg",
        "/per_day/diluent_kg",
        "/per_day/canisters",
        "/per_day/water_collected_kg",
        "/per_day/water_overboard_kg",
        "/tanks",
        "/devices",
        "/suits",
        "/transfers",
        "/sorties",
        "/per_sortie",
        "/state_end/room/co2_pa",
        "/state_end/room/water_pa",
        "/state_end/room/oxygen_pa",
        "/state_end/room/diluent_pa",
        "/state_end/room/pressure_pa",
        "/state_end/room/humidity",
        "/state_end/room/temperature_k",
        "/state_end/room/liquid_water_kg",
        "/extremes/room/co2_pa_max",
        "/extremes/room/co2_pa_max_at_h",
        "/extremes/room/humidity_max",
        "/extremes/room/humidity_min",
        "/extremes/room/oxygen_fraction_max",
        "/extremes/room/oxygen_fraction_max_at_h",
        "/extremes/room/temperature_k_min",
        "/extremes/room/temperature_k_max",
        "/extremes/room/temperature_k_max_at_h",
        "/balance/carbon",
        "/balance/oxygen",
        "/balance/water",
        "/balance/diluent",
        "/schedule/waits_h",
        "/schedule/space_exceeded_h",
        "/schedule/late_h",
        "/schedule/tasks/0/task",
        "/schedule/tasks/0/planned_start_h",
        "/schedule/tasks/0/planned_end_h",
        "/schedule/tasks/0/start_h",
        "/schedule/tasks/0/end_h",
        "/schedule/tasks/0/late_h",
        "/schedule/tasks/0/end_late_h",
        "/schedule/tasks/0/waited_h",
        "/schedule/tightest/room/0/from_h",
        "/schedule/tightest/room/0/to_h",
        "/schedule/tightest/room/0/claimed_m3",
        "/schedule/tightest/room/0/usable_m3",
        "/schedule/tightest/room/0/who/0/person",
        "/schedule/tightest/room/0/who/0/effort",
        "/counters/events",
        "/counters/segments",
        "/counters/crossings",
        "/provenance/version",
        "/provenance/files/0/sha256",
        "/caution",
    ];
    let of_vary = [
        "/seed",
        "/runs",
        "/failed",
        "/design",
        "/interval_method",
        "/joint_95_95/met",
        "/joint_95_95/limits",
        "/joint_95_95/violations",
        "/joint_95_95/probability_95",
        "/joint_95_95/bounds/met",
        "/joint_95_95/bounds/order",
        "/joint_95_95/bounds/runs_needed",
        "/survival/not_survivable",
        "/driver_runs",
        "/driver_noise",
        "/quantiles",
        "/quantile_error",
        "/limits/0/violations",
        "/limits/0/probability",
        "/limits/0/probability_95/1",
        "/limits/0/met_95_95",
        "/limits/0/tolerance_95_95",
        "/limits/0/margin_quantiles/0.01",
        "/limits/0/margin_quantiles/0.05",
        "/limits/0/margin_quantiles/0.5",
        "/limits/0/margin_quantiles/0.95",
        "/limits/0/margin_quantiles_95/0.5/0",
        "/limits/0/crossing_h",
        "/limits/0/drivers/0/input",
        "/limits/0/drivers/0/kind",
        "/limits/0/drivers/0/index",
        "/provenance/seed",
        "/provenance/runs",
        "/provenance/design",
    ];
    for key in of_all {
        assert!(run.pointer(key).is_some(), "run: no {key}");
        assert!(vary.pointer(key).is_some(), "vary: no {key}");
    }
    for key in of_vary {
        assert!(vary.pointer(key).is_some(), "vary: no {key}");
        assert!(run.pointer(key).is_none(), "run: {key}");
    }
}

/// A task that has nothing to wait for is on its plan, and what is outside is a sortie.
#[test]
fn the_plan_and_the_sorties_are_told() {
    let place = Place::new();
    let outside = ROOM.replace("in = \"room\"", "in = \"outside\"");
    let file = place.file("outside.toml", outside);
    place.job("run", &file, "run", &[]);
    let summary = place.summary("run");
    let task = &summary["schedule"]["tasks"][0];
    assert_eq!(
        (&task["task"], &task["late_h"]),
        (&Value::from("work"), &Value::from(0.0))
    );
    assert_eq!(task["planned_end_h"], task["end_h"]);
    let sortie = &summary["sorties"][0];
    assert_eq!(
        (&sortie["people"][0], &sortie["tasks"][0]),
        (&Value::from("lead"), &Value::from("work"))
    );
    assert_eq!(sortie["end_h"], task["end_h"]);
    assert_eq!(summary["per_sortie"]["sorties"], 1);
    let text = fs::read_to_string(place.path("run").join("summary.md")).expect("a text");
    assert!(
        text.contains("## Sorties") && text.contains("No task was later than planned."),
        "{text}"
    );
}

#[test]
fn the_same_job_gives_the_same_bytes_whatever_the_folder_and_the_threads() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    fs::create_dir(place.path("elsewhere")).expect("made");
    let moved = place.file("elsewhere/room.toml", ROOM);
    place.job("run", &file, "run-1", &[]);
    place.job("run", &moved, "run-2", &["--threads", "2", "--quiet"]);
    same(&place.path("run-1"), &place.path("run-2"));
    for threads in ["1", "2", "3"] {
        place.job(
            "vary",
            &file,
            threads,
            &["--runs", "100", "--seed", "7", "--threads", threads],
        );
    }
    same(&place.path("1"), &place.path("2"));
    same(&place.path("1"), &place.path("3"));
}

#[test]
fn a_named_folder_that_exists_is_refused_and_unharmed_unless_forced() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    place.job("run", &file, "out", &[]);
    let before = fs::read(place.path("out").join("summary.json")).expect("a summary");
    let other = place.file("other.toml", ROOM.replace("One person", "A person"));
    let said = place.job("run", &other, "out", &[]);
    assert_eq!(said.code, 1);
    assert!(
        said.err.contains("already there") && said.err.contains("--force"),
        "{}",
        said.err
    );
    assert_eq!(
        fs::read(place.path("out").join("summary.json")).expect("a summary"),
        before
    );
    // A run that fails does not harm what it was to replace.
    let failing = place.file("hatch.toml", hatch("\"60 kPa\""));
    assert_eq!(place.job("run", &failing, "out", &["--force"]).code, 1);
    assert_eq!(
        fs::read(place.path("out").join("summary.json")).expect("a summary"),
        before
    );
    assert_eq!(place.job("run", &other, "out", &["--force"]).code, 0);
    assert_eq!(place.summary("out")["scenario"]["title"], "A person in a closed room");
    assert_eq!(place.names(), set(&["room.toml", "other.toml", "hatch.toml", "out"]));
}

#[test]
fn a_place_that_cannot_be_written_to_is_1_before_any_simulation() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    // So many variations would take minutes: the place is tried first.
    let said = place.job("vary", &file, "room.toml/out", &["--runs", "5000000"]);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.err.starts_with("error: cannot"), "{}", said.err);
    assert_eq!(place.names(), set(&["room.toml"]));
}

#[test]
fn an_override_changes_the_answer_and_is_in_the_provenance() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    place.job("run", &file, "plain", &[]);
    let said = place.job("run", &file, "set", &["--set", "removal.scrubber.flow=\"0.6 m3/min\""]);
    assert_eq!(said.code, 0, "{}", said.err);
    let (plain, set) = (place.summary("plain"), place.summary("set"));
    let worst = |summary: &Value| summary["limits"][0]["worst"].as_f64().expect("a number");
    assert!(worst(&set) < worst(&plain));
    assert_eq!(
        set["provenance"]["overrides"][0],
        "removal.scrubber.flow=\"0.6 m3/min\""
    );
    assert_eq!(set["scenario"]["sha256"], plain["scenario"]["sha256"]);
}

#[test]
fn one_variation_alone_is_the_row_of_the_table() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    place.job("vary", &file, "all", &["--runs", "12", "--seed", "5"]);
    let said = place.job("vary", &file, "one", &["--seed", "5", "--only", "11"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let one = place.summary("one");
    assert_eq!(one["variation"], 11);
    assert!(place.path("one").join("history.csv").is_file());
    let mut table = csv::Reader::from_path(place.path("all").join("variations.csv")).expect("a table");
    let headers = table.headers().expect("headers").clone();
    let row = table.records().last().expect("a row").expect("whole");
    for (key, column) in [("margin", "margin [mmHg]"), ("worst", "worst [mmHg]")] {
        let at = headers
            .iter()
            .position(|name| name.starts_with("co2-ceiling") && name.ends_with(column));
        let value: f64 = row[at.expect("a column")].parse().expect("a number");
        // The table has every digit, the summary 15.
        let short: f64 = format!("{value:.14e}").parse().expect("a number");
        let told = one["limits"][0][key].as_f64().expect("a number");
        assert_eq!(told.to_bits(), short.to_bits(), "{key}");
    }
}

/// The fans are quantiles of what a rerun of each variation alone samples on the same grid.
#[test]
fn fans_are_quantiles_of_the_variations_courses() {
    let place = Place::new();
    // Six hours in 240 steps of 90 s.
    let file = place.file("room.toml", ROOM.replace("\"10 min\"", "\"90 s\""));
    place.job("vary", &file, "all", &["--runs", "3", "--seed", "5"]);
    let column = |out: &str, file: &str, header: &str| -> Vec<f64> {
        let mut table = csv::Reader::from_path(place.path(out).join(file)).expect("a table");
        let headers = table.headers().expect("headers").clone();
        let at = headers.iter().position(|name| name == header);
        let at = at.unwrap_or_else(|| panic!("no {header}"));
        let cell = |row: csv::StringRecord| row[at].parse().expect("a number");
        table.records().map(|row| cell(row.expect("whole"))).collect()
    };
    for (name, unit) in [
        ("room co2", "mmHg"),
        ("room temperature", "degC"),
        ("lead breathed co2", "mmHg"),
    ] {
        let mut courses = Vec::new();
        for k in ["0", "1", "2"] {
            if !place.path(k).exists() {
                place.job("vary", &file, k, &["--seed", "5", "--only", k]);
            }
            courses.push(column(k, "history.csv", &format!("{name} [{unit}]")));
        }
        let medians = column("all", "fans.csv", &format!("{name} 50 % [{unit}]"));
        let lows = column("all", "fans.csv", &format!("{name} 5 % [{unit}]"));
        assert_eq!((medians.len(), courses[0].len()), (241, 241));
        for point in 0..241 {
            let mut values = [courses[0][point], courses[1][point], courses[2][point]];
            values.sort_by(f64::total_cmp);
            // Courses are kept in single precision; a temperature in K.
            let close = |a: f64, b: f64| (a - b).abs() < 1e-6 * b.abs() + 2e-5;
            assert!(
                close(medians[point], values[1]),
                "{name} at {point}: {} {values:?}",
                medians[point]
            );
            assert!(
                close(lows[point], values[0] + 0.1 * (values[1] - values[0])),
                "{name} at {point}"
            );
        }
    }
}

#[test]
fn the_data_package_describes_every_column_of_every_table() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    place.job("run", &file, "run", &[]);
    place.job("vary", &file, "vary", &["--runs", "3"]);
    for (out, tables) in [
        ("run", &["events", "history", "inputs"][..]),
        (
            "vary",
            &[
                "convergence",
                "distribution",
                "fans",
                "inputs",
                "survival",
                "variations",
                "worst",
            ],
        ),
    ] {
        let text = fs::read_to_string(place.path(out).join("datapackage.json")).expect("a package");
        let package: Value = serde_json::from_str(&text).expect("JSON");
        let resources = package["resources"].as_array().expect("resources");
        let found: BTreeSet<&str> = resources
            .iter()
            .map(|resource| resource["name"].as_str().expect("a name"))
            .collect();
        assert_eq!(found, tables.iter().copied().collect());
        for resource in resources {
            let path = place.path(out).join(resource["path"].as_str().expect("a path"));
            let mut table = csv::Reader::from_path(path).expect("a table");
            let headers: Vec<String> = table.headers().expect("headers").iter().map(str::to_owned).collect();
            let fields = resource["schema"]["fields"].as_array().expect("fields");
            let described: Vec<&str> = fields
                .iter()
                .map(|field| field["name"].as_str().expect("a name"))
                .collect();
            assert_eq!(described, headers);
            for (index, field) in fields.iter().enumerate() {
                assert!(!field["description"].as_str().expect("a meaning").is_empty());
                let unit = field.get("unit").and_then(Value::as_str);
                assert_eq!(unit.is_some(), headers[index].ends_with(']'), "{}", headers[index]);
            }
            assert!(
                table.records().all(|row| row.is_ok()),
                "every row has a cell for each column"
            );
        }
    }
    let history = fs::read_to_string(place.path("run").join("history.csv")).expect("a table");
    assert!(history.starts_with("time [h],room co2 [mmHg],"), "{history}");
    assert_eq!(history.lines().count(), 1 + 37, "6 h every 10 min, both ends");
}
