//! `fit tasks` through the command line: into a scenario, into a copy, and what is refused.

use std::fs;
use std::path::{Path, PathBuf};

use breathroom_analysis::cli::main_with;
use tempfile::TempDir;

/// One person, a room, two tasks; comments that must stay.
const SCENARIO: &str = "format = 1 # first\r
title = \"Small\"\r
duration = \"6 h\"\r
[air]\r
pressure = \"101.3 kPa\"\r
oxygen = \"21 %\"\r
co2 = \"0.5 mmHg\"\r
[compartments.cabin]\r
free_volume = \"9 m3\"\r
[control.cabin]\r
oxygen = { hold = \"21 kPa\" }\r
[crew.one]\r
[[tasks]]\r
id = \"climb\"\r
crew = [\"one\"]\r
effort = \"exercise\"\r
at = \"1 h\"\r
duration = \"20 min\" # a guess\r
[[tasks]]\r
id = \"work\"\r
crew = [\"one\"]\r
effort = \"nominal\"\r
after = [\"climb\"]\r
duration = \"1 h\"\r
[limits]\r
use = [\"surface-sortie\"]\r
";
const TIMES: &str = "task,person,trial,duration [min],start [min]\nclimb,a,1,18.5,61\nclimb,a,2,20.1,60\nclimb,b,1,24.9,60\nclimb,b,2,22.2,\nclimb,c,1,19.4,64\n";

struct Place(TempDir);

impl Place {
    fn new(times: &str) -> Self {
        let place = Self(tempfile::tempdir().expect("a folder"));
        fs::write(place.file("cabin.toml"), SCENARIO).expect("written");
        fs::write(place.file("times.csv"), times).expect("written");
        place
    }

    fn file(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn text(&self, name: &str) -> String {
        fs::read_to_string(self.file(name)).expect("a file")
    }

    /// Exit code and standard error of `fit tasks times.csv ...`; words that begin with @ are files of this place.
    fn fit(&self, words: &[&str]) -> (u8, String) {
        let word = |word: &&str| match word.strip_prefix('@') {
            Some(name) => self.file(name).display().to_string(),
            None => (*word).to_owned(),
        };
        let all = [
            "breathroom",
            "fit",
            "tasks",
            "@times.csv",
            "--out",
            "@out",
            "--runs",
            "8",
        ];
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let code = main_with(all.iter().chain(words).map(word), &mut out, &mut err);
        (code, String::from_utf8_lossy(&err).into_owned())
    }
}

fn rows(path: &Path) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_path(path).expect("a table");
    reader
        .records()
        .map(|row| row.expect("a row").iter().map(str::to_owned).collect())
        .collect()
}

#[test]
fn spreads_go_into_the_scenario_and_nothing_else_of_it_changes() {
    let place = Place::new(TIMES);
    let (code, err) = place.fit(&["--into", "@cabin.toml"]);
    assert_eq!(code, 0, "{err}");
    let text = place.text("cabin.toml");
    let line = text.lines().find(|line| line.contains("a guess")).expect("the line");
    assert!(line.starts_with("duration = { lognormal = [\"20."), "{line}");
    assert!(
        line.ends_with("trials = 3 } # a guess"),
        "three people who differ count as three: {line}"
    );
    let same = |(old, new): (&str, &str)| old == new || old.contains("a guess");
    assert!(SCENARIO.split('\n').zip(text.split('\n')).all(same), "{text}");
    // Observed against simulated: minutes of the list, starts among them.
    let timeline = rows(&place.file("out/timeline.csv"));
    assert_eq!(timeline[0][..5], ["climb", "5", "18.5", "20.1", "24.9"]);
    assert_eq!(timeline[0][6], "20", "the median that the scenario had");
    let summary: serde_json::Value = serde_json::from_str(&place.text("out/summary.json")).expect("JSON");
    assert_eq!(summary["changes"][0]["before"], "\"20 min\"");
    assert_eq!(summary["tasks"][0]["counts_as"], 3);
    assert_eq!(rows(&place.file("out/trials.csv")).len(), 5);
    assert_eq!(
        rows(&place.file("out/families.csv"))
            .iter()
            .filter(|row| row[2] == "yes")
            .count(),
        1
    );
    assert!(place.file("out/report.html").exists());
}

#[test]
fn a_copy_leaves_the_scenario_as_it_was_and_is_never_written_over() {
    let place = Place::new(TIMES);
    assert_eq!(place.fit(&["--into", "@cabin.toml", "--as", "@new.toml"]).0, 0);
    assert_eq!(place.text("cabin.toml"), SCENARIO);
    assert!(place.text("new.toml").contains("trials = 3"));
    let (code, err) = place.fit(&["--into", "@cabin.toml", "--as", "@new.toml", "--force"]);
    assert_eq!(code, 1);
    assert!(err.contains("already there"), "{err}");
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    let [one, two] = ["1", "2"].map(|threads| {
        let place = Place::new(TIMES);
        assert_eq!(place.fit(&["--into", "@cabin.toml", "--threads", threads]).0, 0);
        [
            "summary.json",
            "held.csv",
            "timeline.csv",
            "report.html",
            "families.csv",
        ]
        .map(|name| place.text(&format!("out/{name}")))
    });
    assert_eq!(one, two);
}

/// What is wrong is told with its place, and the scenario stays.
#[test]
fn what_is_wrong_is_told_and_nothing_is_written() {
    let cases: [(&str, &[&str], u8, &str); 12] = [
        ("", &[], 1, "the file is empty"),
        ("task,person,trial,seconds\n", &[], 1, "a header and no rows"),
        (
            "task,person,trial,seconds\nclmb,a,1,10\nclmb,a,2,11\nclmb,a,3,12\n",
            &[],
            1,
            "the scenario has no task `clmb` with a duration",
        ),
        (
            "task,person,trial,seconds\nclimb,a,1,10\nclimb,a,2,11\n",
            &[],
            1,
            "2 trials used, and a spread takes 3 at least",
        ),
        (
            "task,person,trial,seconds\nclimb,a,1,10\nclimb,a,2,10\nclimb,a,3,10\n",
            &[],
            1,
            "all its durations are the same",
        ),
        (
            "task,person,trial,seconds\nclimb,a,1,\"10,5\"\n",
            &[],
            1,
            "has a decimal comma",
        ),
        (
            "task,person,trial,seconds\nclimb,a,1,-10\n",
            &[],
            1,
            "a duration that is not above 0",
        ),
        (
            "task,person,trial,duration [mmHg]\nclimb,a,1,10\n",
            &[],
            1,
            "the column `duration`",
        ),
        (
            "task,person,trial,duration\nclimb,a,1,10\n",
            &[],
            1,
            "the column `duration`",
        ),
        ("task;person;trial\nclimb;a;1\n", &[], 1, "there is no column `seconds`"),
        (TIMES, &["--leave-out", "99"], 1, "no trial in line 99"),
        (TIMES, &["--family", "normal"], 2, "invalid value 'normal'"),
    ];
    for (times, words, code, message) in cases {
        let place = Place::new(times);
        let (ended, err) = place.fit(&[&["--into", "@cabin.toml"], words].concat());
        assert_eq!(ended, code, "{message}: {err}");
        assert!(err.contains(message), "{message}\n{err}");
        assert_eq!(place.text("cabin.toml"), SCENARIO, "{message}");
        assert!(!place.file("out").exists(), "{message}");
    }
    // A PERT needs more values than it has numbers.
    let place = Place::new("task,person,trial,seconds\nclimb,a,1,10\nclimb,a,2,11\nclimb,a,3,12\n");
    let (code, err) = place.fit(&["--family", "pert"]);
    assert!(
        code == 1 && err.contains("a pert cannot be fitted to its 3 trials"),
        "{err}"
    );
}
