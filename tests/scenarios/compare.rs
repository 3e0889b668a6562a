//! `compare` through the command line: by scenarios, by results folders, and what cannot be compared.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::command::call;

/// One person in a closed room with a scrubber; CO2 comes near its limit, and humidity has nothing to do with the scrubber.
const ROOM: &str = include_str!("../support/scrubbed-room.toml");

/// Files and results of one test.
struct Place(tempfile::TempDir);

/// What a comparison gave.
struct Said {
    code: u8,
    out: String,
    err: String,
    summary: Value,
}

impl Place {
    fn new() -> Self {
        Self(tempfile::tempdir().expect("a temporary folder"))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn word(&self, name: &str) -> String {
        self.path(name).display().to_string()
    }

    /// A scenario: the room with texts replaced, each of which is there once.
    fn room(&self, name: &str, replaced: &[(&str, &str)]) {
        let mut text = ROOM.to_owned();
        for (from, to) in replaced {
            assert_eq!(text.matches(from).count(), 1, "{from}");
            text = text.replace(from, to);
        }
        fs::write(self.path(name), text).expect("a file");
    }

    /// Results of a command in a folder.
    fn results(&self, command: &str, file: &str, out: &str, more: &[&str]) {
        let (file, out) = (self.word(file), self.word(out));
        let words = [&["breathroom", command, &file, "--out", &out, "--quiet"], more].concat();
        let (code, _, err) = call(&words);
        assert!(code == 0 || code == 3, "{err}");
    }

    fn compare(&self, a: &str, b: &str, out: &str, more: &[&str]) -> Said {
        let (a, b, folder) = (self.word(a), self.word(b), self.word(out));
        let words = [&["breathroom", "compare", &a, &b, "--out", &folder], more].concat();
        let (code, out, err) = call(&words);
        let text = fs::read_to_string(Path::new(&folder).join("summary.json")).unwrap_or_default();
        Said {
            code,
            out: out.split_whitespace().collect::<Vec<_>>().join(" "),
            err,
            summary: serde_json::from_str(&text).unwrap_or(Value::Null),
        }
    }
}

impl Said {
    /// A figure of a limit.
    fn figure(&self, limit: &str, figure: &str) -> &Value {
        let by = |list: &'_ Value, key: &str, name: &str| -> usize {
            let all = list.as_array().expect("a list");
            all.iter()
                .position(|one| one[key] == name)
                .unwrap_or_else(|| panic!("no {name} in {list:#}"))
        };
        let limits = &self.summary["limits"];
        let figures = &limits[by(limits, "id", limit)]["figures"];
        &figures[by(figures, "figure", figure)]
    }

    fn verdicts(&self) -> BTreeSet<String> {
        let limits = self.summary["limits"].as_array().expect("limits");
        let figures = limits
            .iter()
            .flat_map(|limit| limit["figures"].as_array().expect("figures"));
        figures
            .map(|figure| figure["verdict"].as_str().expect("a verdict").to_owned())
            .collect()
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

const MORE_FLOW: (&str, &str) = ("flow = \"0.3 m3/min\"", "flow = \"0.33 m3/min\"");

#[test]
fn one_value_changed_moves_what_it_is_to_move_and_nothing_else() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.room("b.toml", &[MORE_FLOW]);
    let said = place.compare("a.toml", "b.toml", "out", &["--runs", "200"]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    let changed = said.summary["inputs_changed"].as_array().expect("inputs");
    assert_eq!(changed.len(), 1, "{changed:#?}");
    assert_eq!(changed[0]["path"], "removal.scrubber.flow");
    assert_eq!(changed[0]["a"]["written"], "0.3 m3/min");
    for figure in ["kept", "mean"] {
        let of = said.figure("co2", figure);
        assert_eq!(of["verdict"], "better", "{of:#}");
        assert!(number(&of["difference_interval"][0]) > 0.0);
        // Humidity is not the scrubber's business.
        assert_eq!(said.figure("damp", figure)["verdict"], "the same");
    }
    let mean = said.figure("co2", "mean");
    let difference = number(&mean["b"]) - number(&mean["a"]);
    assert!((difference - number(&mean["difference"])).abs() < 1e-12);
    // What moves is told first, and how many comparisons there were is part of it.
    assert!(
        said.out
            .contains("1 input differs: removal.scrubber.flow (0.3 m3/min in A, 0.33 m3/min in B)"),
        "{}",
        said.out
    );
    assert!(
        said.out
            .contains("Of 2 limits 1 has moved. The other 1 shows no difference in 200 variations"),
        "{}",
        said.out
    );
    assert!(said.summary["comparisons"].as_u64() > Some(6));
    // Nothing that the person gives off has changed.
    let totals = said.summary["totals"].as_array().expect("totals");
    let total = |name: &str| totals.iter().find(|total| total["name"] == name).expect(name);
    assert_eq!(total("totals.co2_made_kg")["verdict"], "the same");
    assert_eq!(total("totals.co2_removed_kg")["verdict"], "more");
    for file in [
        "compare.xlsx",
        "compare.md",
        "compare.tex",
        "compare.json",
        "margins.csv",
        "changed.csv",
        "limits.csv",
        "totals.csv",
    ] {
        assert!(place.path("out").join(file).is_file(), "{file}");
    }
}

#[test]
fn a_limit_that_is_met_no_longer_comes_before_what_has_moved() {
    let place = Place::new();
    place.room("a.toml", &[("at_most = \"2.2 mmHg\"", "at_most = \"4 mmHg\"")]);
    place.room(
        "b.toml",
        &[
            ("at_most = \"2.2 mmHg\"", "at_most = \"4 mmHg\""),
            ("flow = \"0.3 m3/min\"", "flow = \"0.08 m3/min\""),
        ],
    );
    let lost = place.compare("a.toml", "b.toml", "lost", &["--runs", "60"]);
    let back = place.compare("b.toml", "a.toml", "back", &["--runs", "60"]);
    let answer = |said: &Said, at: usize| said.summary["answer"][at].as_str().unwrap_or_default().to_owned();
    assert!(
        answer(&lost, 1).starts_with("NOT MET in B and met in A at 95/95: co2,"),
        "{}",
        lost.out
    );
    assert!(
        answer(&back, 1).starts_with("Met in B and NOT MET in A at 95/95: co2,"),
        "{}",
        back.out
    );
    assert_eq!(lost.code, 0, "a comparison asks no limit");
    let turned = |said: &Said| number(&said.figure("co2", "mean")["difference"]);
    assert_eq!(turned(&lost), -turned(&back));
    // Too few lie beyond the 5 % quantile for an interval of the kept margin's difference.
    assert_eq!(lost.figure("co2", "kept")["verdict"], "not judged");
    assert!(
        lost.out.contains("not judged with fewer than 200 variations"),
        "{}",
        lost.out
    );
}

#[test]
fn limits_that_came_went_or_changed_are_told() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.room(
        "b.toml",
        &[
            ("id = \"damp\"", "id = \"moist\""),
            ("at_most = \"2.2 mmHg\"", "at_most = \"0.3 kPa\""),
        ],
    );
    let said = place.compare("a.toml", "b.toml", "out", &["--runs", "60"]);
    let changed = said.summary["limits_changed"].as_array().expect("limits");
    let how: Vec<(&str, &str)> = changed
        .iter()
        .map(|one| (one["id"].as_str().expect("id"), one["how"].as_str().expect("how")))
        .collect();
    assert_eq!(how, [("co2", "changed"), ("damp", "only in A"), ("moist", "only in B")]);
    assert_eq!(said.figure("moist", "mean")["verdict"], "only in B");
    // 0.3 kPa is 300 / 133.322 = 2.250 191 mmHg, so every margin in mmHg is 0.050 191 more.
    let of = said.figure("co2", "mean");
    assert_eq!(of["unit"], "mmHg");
    assert!((number(&of["difference"]) - 0.050_191).abs() < 1e-6, "{of:#}");
}

#[test]
fn folders_of_the_same_luck_say_what_the_scenarios_say() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.room("b.toml", &[MORE_FLOW]);
    let study = ["--runs", "220", "--seed", "5"];
    place.results("vary", "a.toml", "of-a", &study);
    place.results("vary", "b.toml", "of-b", &study);
    let by_scenarios = place.compare("a.toml", "b.toml", "one", &study);
    let by_folders = place.compare("of-a", "of-b", "two", &[]);
    assert_eq!((by_folders.code, by_folders.err.as_str()), (0, ""));
    assert_eq!(by_folders.summary["luck"], "same luck");
    for limit in ["co2", "damp"] {
        for figure in ["kept", "mean", "beyond"] {
            let (one, two) = (by_scenarios.figure(limit, figure), by_folders.figure(limit, figure));
            for key in [
                "a",
                "b",
                "a_interval",
                "b_interval",
                "difference",
                "difference_interval",
            ] {
                assert_eq!(one[key], two[key], "{limit} {figure} {key}");
            }
        }
    }
    let changed = &by_folders.summary["inputs_changed"];
    assert_eq!(changed.as_array().map(Vec::len), Some(1), "{changed:#}");
    assert_eq!(changed[0]["path"], "removal.scrubber.flow");
    let provenance = by_folders.summary["provenance_changed"].as_array().expect("provenance");
    let what: Vec<&str> = provenance.iter().filter_map(|one| one["what"].as_str()).collect();
    assert_eq!(what, ["scenario file"]);
}

#[test]
fn other_seeds_of_the_same_scenario_show_no_difference() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.results("vary", "a.toml", "one", &["--runs", "200", "--seed", "1"]);
    place.results("vary", "a.toml", "two", &["--runs", "300", "--seed", "2"]);
    let said = place.compare("one", "two", "out", &[]);
    assert_eq!(said.summary["luck"], "independent");
    for limit in ["co2", "damp"] {
        assert_eq!(said.figure(limit, "mean")["verdict"], "no difference seen");
        assert_eq!(said.figure(limit, "kept")["verdict"], "not judged");
    }
    assert!(said.out.contains("No input differs"), "{}", said.out);
    assert!(said.out.contains("200 and 300 variations"), "{}", said.out);
    // The same seed and more runs: those that both have are the same.
    place.results("vary", "a.toml", "more", &["--runs", "300", "--seed", "1"]);
    let said = place.compare("one", "more", "longer", &[]);
    assert_eq!(said.summary["b"]["compared"], 200);
    assert_eq!(said.verdicts(), BTreeSet::from(["the same".to_owned()]));
}

#[test]
fn draws_that_are_not_plain_are_shown_without_a_verdict() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.room("b.toml", &[MORE_FLOW]);
    let study = ["--runs", "96", "--design", "sobol"];
    place.results("vary", "a.toml", "of-a", &study);
    place.results("vary", "b.toml", "of-b", &study);
    let said = place.compare("of-a", "of-b", "out", &[]);
    assert_eq!(said.verdicts(), BTreeSet::from(["not judged".to_owned()]));
    let mean = said.figure("co2", "mean");
    assert!(number(&mean["difference"]) > 0.0 && mean["difference_interval"].is_null() && mean["a_interval"].is_null());
    assert!(said.out.contains("not plain"), "{}", said.out);
}

#[test]
fn runs_on_the_medians_differ_exactly() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.room("b.toml", &[MORE_FLOW]);
    place.results("run", "a.toml", "of-a", &[]);
    place.results("run", "b.toml", "of-b", &[]);
    let said = place.compare("of-a", "of-b", "out", &[]);
    assert_eq!(said.code, 0, "{}", said.err);
    let of = said.figure("co2", "on the medians");
    assert_eq!(of["verdict"], "better");
    assert!((number(&of["b"]) - number(&of["a"]) - number(&of["difference"])).abs() < 1e-12);
    assert_eq!(said.figure("damp", "on the medians")["verdict"], "the same");
    assert!(said.summary["luck"].is_null() && said.summary["gate"].is_null());
    assert!(said.out.contains("no chance is involved"), "{}", said.out);
}

#[test]
fn the_same_twice_is_nothing() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.results("vary", "a.toml", "of-a", &["--runs", "60"]);
    place.results("run", "a.toml", "run-a", &[]);
    for (side, out, more) in [
        ("a.toml", "one", &["--runs", "60"][..]),
        ("of-a", "two", &[]),
        ("run-a", "three", &[]),
    ] {
        let said = place.compare(side, side, out, more);
        assert_eq!(said.code, 0, "{}", said.err);
        assert_eq!(said.summary["same"], true, "{side}: {}", said.out);
        assert!(said.out.contains("Nothing differs"), "{}", said.out);
        assert_eq!(said.verdicts(), BTreeSet::from(["the same".to_owned()]));
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.room("b.toml", &[MORE_FLOW]);
    for threads in ["1", "2"] {
        let said = place.compare(
            "a.toml",
            "b.toml",
            threads,
            &["--runs", "70", "--threads", threads, "--date", "today"],
        );
        assert_eq!(said.code, 0, "{}", said.err);
    }
    let mut names: Vec<_> = fs::read_dir(place.path("1"))
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name())
        .collect();
    names.sort();
    assert!(names.len() >= 11, "{names:?}");
    for name in names {
        let read = |folder: &str| fs::read(place.path(folder).join(&name)).expect("a file");
        assert_eq!(read("1"), read("2"), "{name:?}");
    }
}

#[test]
fn what_cannot_be_compared_is_refused_with_words() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.room("wrong.toml", &[("humidity = \"40 %\"", "humidity = \"140 %\"")]);
    place.room("worse.toml", &[("flow = \"0.3 m3/min\"", "flow = \"0.3 kg\"")]);
    place.results("vary", "a.toml", "vary", &["--runs", "60"]);
    place.results("vary", "a.toml", "only", &["--only", "3"]);
    place.results("run", "a.toml", "run", &[]);
    place.results("stress", "a.toml", "stress", &["--onsets", "2", "--left", "0 %"]);
    place.results("vary", "a.toml", "part", &["--runs", "60", "--shard", "1/1"]);
    fs::create_dir(place.path("empty")).expect("a folder");
    // Copies of good results, each with one file that is damaged.
    let damaged = |name: &str, file: &str, damage: &dyn Fn(String) -> String| {
        fs::create_dir(place.path(name)).expect("a folder");
        for kept in ["summary.json", "inputs.csv", "variations.csv"] {
            let mut text = fs::read_to_string(place.path("vary").join(kept)).expect("a file");
            if kept == file {
                let damaged = damage(text.clone());
                assert_ne!(damaged, text, "{name}");
                text = damaged;
            }
            fs::write(place.path(name).join(kept), text).expect("a file");
        }
    };
    damaged("no-json", "summary.json", &|text| text[..text.len() / 2].to_owned());
    damaged("format", "summary.json", &|text| {
        text.replacen("\"format\": 1", "\"format\": 7", 1)
    });
    damaged("short", "variations.csv", &|text| {
        text.lines().take(50).map(|line| line.to_owned() + "\n").collect()
    });
    damaged("column", "variations.csv", &|text| {
        text.replacen("co2 room margin", "co2 room", 1)
            .replacen("co2 crew:one margin", "co2 crew:one", 1)
    });
    damaged("cell", "variations.csv", &|text| {
        text.replacen("\n0,completed,,", "\n0,completed,,x", 1)
    });
    damaged("inputs", "inputs.csv", &|text| {
        text.replacen("as written", "as it was", 1)
    });
    for (a, b, more, code, words) in [
        (
            "a.toml",
            "vary",
            &[][..],
            2,
            "compare two scenario files, or two results folders",
        ),
        ("vary", "run", &[], 2, "compare two of the same command"),
        ("vary", "vary", &["--runs", "70"], 2, "--runs goes with scenario files"),
        ("run", "run", &["--seed", "7"], 2, "--seed goes with scenario files"),
        (
            "a.toml",
            "a.toml",
            &["--runs", "58"],
            2,
            "takes 59 variations at the least",
        ),
        (
            "a.toml",
            "missing.toml",
            &["--runs", "60"],
            1,
            "there is no such file or folder",
        ),
        ("vary", "empty", &[], 1, "it has no summary.json"),
        ("part", "vary", &[], 1, "`breathroom merge` joins parts"),
        ("stress", "vary", &[], 1, "these are results of `stress`"),
        ("only", "vary", &[], 1, "variation 3 alone"),
        ("no-json", "vary", &[], 1, "summary.json is damaged"),
        (
            "format",
            "vary",
            &[],
            1,
            "has format 7, and this version reads format 1",
        ),
        (
            "vary",
            "short",
            &[],
            1,
            "it has 49 variations, and summary.json says 60",
        ),
        ("vary", "column", &[], 1, "it has no column `co2"),
        ("vary", "cell", &[], 1, "variations.csv is damaged: variation 0 has `x"),
        ("vary", "inputs", &[], 1, "inputs.csv is damaged"),
    ] {
        let said = place.compare(a, b, "out", more);
        assert_eq!(said.code, code, "{a} {b}: {}", said.err);
        assert!(said.err.contains(words), "{a} {b}: {}", said.err);
        assert!(!place.path("out").exists(), "{a} {b}");
    }
    // Faults of both files in one go, each under its name.
    let said = place.compare("wrong.toml", "worse.toml", "out", &["--runs", "60"]);
    assert_eq!(said.code, 1);
    for words in [
        "1 error in ",
        "wrong.toml: nothing was run",
        "worse.toml: nothing was run",
    ] {
        assert!(said.err.contains(words), "{words}: {}", said.err);
    }
}

#[test]
fn inputs_are_not_compared_where_earlier_results_have_none() {
    let place = Place::new();
    place.room("a.toml", &[]);
    place.results("run", "a.toml", "new", &[]);
    place.results("run", "a.toml", "old", &[]);
    fs::remove_file(place.path("old").join("inputs.csv")).expect("there");
    let said = place.compare("old", "new", "out", &[]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.summary["inputs_changed"].is_null());
    assert!(said.out.contains("A has no inputs.csv"), "{}", said.out);
    assert_eq!(said.summary["same"], false, "nobody knows");
}
