//! What the command line promises: exit codes, folders, files, bytes.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

/// One person in a room with a device; the limit is far away.
const ROOM: &str = r#"format = 1
title = "One person in a closed room"
duration = "6 h"
history = { every = "10 min" }

[air]
pressure = "101.325 kPa"
oxygen = "20.9 %"
co2 = "0.3 mmHg"
humidity = "45 %"
temperature = "22 degC"

[compartments.room]
free_volume = { normal = ["30 m3", "1 m3"], within = ["25 m3", "35 m3"] }

[removal.scrubber]
kind = "flow-through"
serves = "room"
flow = "0.3 m3/min"
co2_efficiency = { triangular = ["70 %", "80 %", "90 %"] }
water_efficiency = "10 %"

[control.room]
oxygen = { hold = "20.5 kPa" }

[crew.lead]
mass = "75 kg"

[[tasks]]
id = "work"
crew = ["lead"]
effort = "nominal"
in = "room"
at = "0 h"
duration = { lognormal = ["4 h", "20 %"] }

[[limits.rule]]
id = "co2-ceiling"
quantity = "co2"
at_most = "20 mmHg"
source = "this test"
"#;

/// Two rooms at pressures between which a hatch cannot be opened: always, or in about half of the variations.
fn hatch(second: &str) -> String {
    let rooms = format!(
        "[compartments.room]\nfree_volume = \"30 m3\"\n\n[compartments.lock]\nfree_volume = \"5 m3\"\n\
         air = {{ pressure = {second} }}\n\n[openings.door]\nbetween = [\"room\", \"lock\"]\nexchange = \"1 m3/min\"\n\
         open = false\n"
    );
    let before =
        "[compartments.room]\nfree_volume = { normal = [\"30 m3\", \"1 m3\"], within = [\"25 m3\", \"35 m3\"] }\n";
    let text = ROOM.replace(before, &rooms);
    text.replace("at = \"0 h\"\n", "at = \"0 h\"\nstarts = [{ open = \"door\" }]\n")
}

struct Place {
    folder: TempDir,
}

struct Said {
    code: u8,
    out: String,
    err: String,
}

fn call<S: AsRef<str>>(words: &[S]) -> Said {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words: Vec<String> = std::iter::once("breathroom")
        .chain(words.iter().map(AsRef::as_ref))
        .map(str::to_owned)
        .collect();
    let code = breathroom_analysis::cli::main_with(words, &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).expect("text");
    Said {
        code,
        out: text(out),
        err: text(err),
    }
}

impl Place {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder"),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn word(&self, name: &str) -> String {
        self.path(name).display().to_string()
    }

    fn file(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        fs::write(self.path(name), content).expect("written");
        self.word(name)
    }

    /// Runs `COMMAND file --out out MORE`.
    fn job(&self, command: &str, file: &str, out: &str, more: &[&str]) -> Said {
        let out = self.word(out);
        call(&[&[command, file, "--out", &out], more].concat())
    }

    fn names(&self) -> BTreeSet<String> {
        names(self.folder.path())
    }

    fn summary(&self, out: &str) -> Value {
        let text = fs::read_to_string(self.path(out).join("summary.json")).expect("a summary");
        serde_json::from_str(&text).expect("JSON")
    }
}

fn names(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    entries
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect()
}

fn set(words: &[&str]) -> BTreeSet<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

/// Every file of two folders, to the byte.
fn same(one: &Path, other: &Path) {
    assert_eq!(names(one), names(other));
    for name in names(one) {
        assert!(
            fs::read(one.join(&name)).expect("a file") == fs::read(other.join(&name)).expect("a file"),
            "{name} differs"
        );
    }
}

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
        "/totals/leaked/co2_kg",
        "/totals/leaked/diluent_kg",
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
        "/balance/carbon",
        "/balance/oxygen",
        "/balance/water",
        "/balance/diluent",
        "/schedule/waits_h",
        "/schedule/space_exceeded_h",
        "/schedule/late_h",
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
        "/limits/0/violations",
        "/limits/0/probability",
        "/limits/0/probability_95/1",
        "/limits/0/met_95_95",
        "/limits/0/tolerance_95_95",
        "/limits/0/margin_quantiles/0.01",
        "/limits/0/margin_quantiles/0.05",
        "/limits/0/margin_quantiles/0.5",
        "/limits/0/margin_quantiles/0.95",
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
        assert_eq!(
            one["limits"][0][key].as_f64().expect("a number").to_bits(),
            value.to_bits(),
            "{key}"
        );
    }
}

#[test]
fn the_data_package_describes_every_column_of_every_table() {
    let place = Place::new();
    let file = place.file("room.toml", ROOM);
    place.job("run", &file, "run", &[]);
    place.job("vary", &file, "vary", &["--runs", "3"]);
    for (out, tables) in [("run", &["events", "history"][..]), ("vary", &["variations"])] {
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
    assert_eq!(call(&["check", &file]).code, 0, "{}", call(&["check", &file]).err);
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
