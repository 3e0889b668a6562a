//! Designs of draws, inputs that go together, and studies that go on until they know enough, as a user asks for them.

use std::fs;

use breathroom_analysis::stats::rank::spearman;
use serde_json::Value;

use crate::calls::{Place, ROOM, Said, call, names, same};
use crate::parts::{killed, short};

const DESIGNS: [&str; 3] = ["plain", "latin-hypercube", "sobol"];

/// A room without a task, so that a variation takes next to nothing: two inputs drawn once.
fn still() -> String {
    let text = short();
    let (start, end) = (
        text.find("[[tasks]]").expect("tasks"),
        text.find("[[limits.rule]]").expect("limits"),
    );
    format!("{}{}", &text[..start], &text[end..])
}

fn vary(place: &Place, file: &str, out: &str, more: &[&str]) -> Said {
    let said = place.job("vary", file, out, more);
    assert!(said.code == 0 || said.code == 3, "{more:?}: {}", said.err);
    said
}

/// A column of a table, by the start of its header.
fn column(place: &Place, out: &str, table: &str, header: &str) -> Vec<String> {
    let mut table = csv::Reader::from_path(place.path(out).join(table)).expect("a table");
    let headers = table.headers().expect("headers").clone();
    let at = headers.iter().position(|name| name.starts_with(header));
    let at = at.unwrap_or_else(|| panic!("no {header} in {headers:?}"));
    table.records().map(|row| row.expect("whole")[at].to_owned()).collect()
}

fn numbers(place: &Place, out: &str, table: &str, header: &str) -> Vec<f64> {
    let cells = column(place, out, table, header);
    cells.iter().map(|cell| cell.parse().expect("a number")).collect()
}

#[test]
fn a_design_changes_the_draws_and_says_so() {
    let place = Place::new();
    let file = place.file("room.toml", short());
    let mut seen: Vec<Vec<f64>> = Vec::new();
    for design in DESIGNS {
        vary(&place, &file, design, &["--runs", "96", "--design", design]);
        let summary = place.summary(design);
        assert_eq!(
            (&summary["design"], &summary["provenance"]["design"]),
            (&design.into(), &design.into())
        );
        let method = summary["interval_method"].as_str().expect("a method");
        assert_eq!(method == "Clopper-Pearson", design == "plain", "{method}");
        let text = fs::read_to_string(place.path(design).join("summary.md")).expect("a text");
        assert_eq!(text.contains("does not hold here"), design != "plain", "{text}");
        // The table of dimensions: what is drawn once has one, what is drawn in every turn has none.
        let inputs = summary["provenance"]["inputs"].as_array().expect("inputs");
        let mut next = 1;
        for input in inputs {
            let own = design == "sobol" && input["per_turn"] == false;
            assert_eq!(
                input.get("dimension").and_then(Value::as_u64),
                own.then_some(next),
                "{input}"
            );
            next += u64::from(own);
        }
        let volumes = numbers(&place, design, "variations.csv", "compartments.room.free_volume");
        assert!(seen.iter().all(|other| other != &volumes), "{design}");
        seen.push(volumes);
        // A task's duration is drawn anew in every turn: the same in every design.
        assert_eq!(
            column(&place, design, "variations.csv", "tasks.work.duration"),
            column(&place, "plain", "variations.csv", "tasks.work.duration")
        );
    }
    // Every replicate of six has each of six strata once: the first 16 variations are not all in one half.
    let mean = |values: &[f64]| (values.iter().sum::<f64>() / values.len() as f64 - 30.0).abs();
    assert!(
        mean(&seen[2]) < mean(&seen[0]) && mean(&seen[1]) < mean(&seen[0]),
        "more even than plain draws"
    );
}

#[test]
fn without_spread_every_design_gives_the_run_on_the_medians() {
    let place = Place::new();
    let text = short()
        .replace(
            "{ normal = [\"30 m3\", \"1 m3\"], within = [\"25 m3\", \"35 m3\"] }",
            "{ normal = [\"30 m3\", \"0 m3\"] }",
        )
        .replace("{ triangular = [\"70 %\", \"80 %\", \"90 %\"] }", "\"80 %\"")
        .replace("\"20 %\"] }", "\"0 %\"] }")
        .replace("[air]", "respiratory_quotient = { normal = [0.86, 0.0] }\n\n[air]");
    let file = place.file("room.toml", text);
    place.job("run", &file, "run", &[]);
    let margin = &place.summary("run")["limits"][0]["margin"];
    for design in DESIGNS {
        vary(&place, &file, design, &["--runs", "64", "--design", design]);
        let limit = &place.summary(design)["limits"][0];
        assert_eq!(
            (&limit["margin"], &limit["violations"]),
            (margin, &0.into()),
            "{design}"
        );
        for p in ["0.01", "0.5", "0.99"] {
            assert_eq!(&limit["margin_quantiles"][p], margin, "{design} {p}");
        }
        let margins = column(&place, design, "variations.csv", "co2-ceiling crew:lead margin");
        assert!(margins.iter().all(|cell| cell == &margins[0]), "{design}");
    }
}

#[test]
fn shards_of_a_design_are_merged_to_the_bytes_of_one_run() {
    let place = Place::new();
    let file = place.file("room.toml", still());
    for design in &DESIGNS[1..] {
        let one = format!("{design}-one");
        let wanted = ["--runs", "2100", "--design", design];
        vary(&place, &file, &one, &wanted);
        let parts = ["1/2", "2/2"].map(|share| {
            let out = format!("{design}-{}", &share[..1]);
            vary(&place, &file, &out, &[&wanted[..], &["--shard", share]].concat());
            place.word(&out)
        });
        let merged = format!("{design}-merged");
        let said = call(&["merge", &parts[1], &parts[0], "--out", &place.word(&merged)]);
        assert_eq!(said.code, 0, "{}", said.err);
        same(&place.path(&one), &place.path(&merged));
    }
    let said = call(&[
        "merge",
        &place.word("sobol-1"),
        &place.word("latin-hypercube-2"),
        "--out",
        &place.word("no"),
    ]);
    assert_eq!(said.code, 1);
    assert!(said.err.contains("the design differs: sobol in"), "{}", said.err);
}

#[test]
fn one_variation_of_a_design_is_the_row_of_the_table() {
    let place = Place::new();
    let file = place.file("room.toml", still());
    for (design, more) in [("sobol", &[][..]), ("latin-hypercube", &["--runs", "64"])] {
        vary(&place, &file, design, &["--runs", "64", "--design", design]);
        let one = format!("{design}-one");
        let said = place.job(
            "vary",
            &file,
            &one,
            &[&["--design", design, "--only", "37"], more].concat(),
        );
        assert_eq!(said.code, 0, "{}", said.err);
        let summary = place.summary(&one);
        assert_eq!(summary["design"], design);
        let told = summary["limits"][0]["margin"].as_f64().expect("a margin");
        let row = numbers(&place, design, "variations.csv", "co2-ceiling crew:lead margin")[37];
        assert!((told - row).abs() <= 1e-14 * row.abs(), "{design}: {told} {row}");
    }
}

/// Spearman's correlation of the two columns within four standard errors of what was asked for, (1 - s^2) sqrt(1.06 / n) for
/// normal scores (Fieller, Hartley and Pearson, Biometrika 44 (1957) 470, from memory); without a group within four of none.
#[test]
fn inputs_go_together_in_every_design() {
    let place = Place::new();
    let inputs = ["compartments.room.free_volume", "removal.scrubber.co2_efficiency"];
    let group = format!(
        "\n[[together]]\ninputs = [\"{}\", \"{}\"]\nrank_correlation = 0.7\n",
        inputs[0], inputs[1]
    );
    let files = [
        place.file("alone.toml", still()),
        place.file("together.toml", still() + &group),
    ];
    for design in DESIGNS {
        for (file, asked) in files.iter().zip([0.0, 0.7]) {
            let out = format!("{design}-{asked}");
            vary(&place, file, &out, &["--runs", "512", "--design", design]);
            let [a, b] = inputs.map(|input| numbers(&place, &out, "variations.csv", input));
            let (found, error) = (spearman(&a, &b), (1.0 - asked * asked) * (1.06_f64 / 512.0).sqrt());
            assert!((found - asked).abs() < 4.0 * error, "{design}: {found} for {asked}");
        }
        // The first of the group keeps its own draws, also when it is run alone.
        let first = |out: &str| column(&place, out, "variations.csv", inputs[0]);
        assert_eq!(first(&format!("{design}-0")), first(&format!("{design}-0.7")));
    }
    let only = place.job("vary", &files[1], "only", &["--only", "500"]);
    assert_eq!(only.code, 0, "{}", only.err);
    let row = numbers(&place, "plain-0.7", "variations.csv", "co2-ceiling crew:lead margin")[500];
    let told = place.summary("only")["limits"][0]["margin"].as_f64().expect("a margin");
    assert!((told - row).abs() <= 1e-14 * row.abs(), "{told} {row}");
}

#[test]
fn tables_of_crossings_and_of_settling_agree_with_the_variations() {
    let place = Place::new();
    let file = place.file("first.toml", ROOM);
    place.job("run", &file, "run", &[]);
    let worst = place.summary("run")["limits"][0]["worst"].as_f64().expect("a number");
    // About half of the variations are beyond the worst value of the medians.
    let file = place.file("room.toml", ROOM.replace("20 mmHg", &format!("{worst} mmHg")));
    for design in ["plain", "sobol"] {
        vary(&place, &file, design, &["--runs", "200", "--design", design]);
        let limit = &place.summary(design)["limits"][0];
        let crossings = column(&place, design, "variations.csv", "co2-ceiling crew:lead first crossing");
        let times: Vec<f64> = crossings.iter().filter_map(|cell| cell.parse().ok()).collect();
        assert!(times.len() > 50 && limit["violations"] == times.len() as u64, "{limit}");
        let crossed = numbers(&place, design, "survival.csv", "crossed");
        assert_eq!(crossed.iter().sum::<f64>() as usize, times.len());
        // No one ends before the last crossing, so the curve ends at the share that has not crossed.
        let last = numbers(&place, design, "survival.csv", "survival")
            .pop()
            .expect("a row");
        assert!((last - (1.0 - times.len() as f64 / 200.0)).abs() < 1e-12, "{last}");
        let mut sorted = times.clone();
        sorted.sort_by(f64::total_cmp);
        // 5 % of 200 have crossed with the tenth, whose time is rounded up to its minute.
        let early = limit["crossing_h"]["0.05"]["time_h"].as_f64().expect("a time");
        assert!(
            early >= sorted[9] && early < sorted[9] + 1.0 / 60.0,
            "{early} {}",
            sorted[9]
        );
        let interval = &limit["crossing_h"]["0.05"]["interval_95"];
        assert_eq!(interval.is_array(), design == "plain");
        let lower = column(&place, design, "survival.csv", "lower");
        assert_eq!(lower.iter().all(String::is_empty), design == "sobol");
        // Rows up to all runs, of which the last is what the summary says.
        assert_eq!(
            numbers(&place, design, "convergence.csv", "runs"),
            [16.0, 32.0, 64.0, 128.0, 200.0]
        );
        let ends = |end: &str| numbers(&place, design, "convergence.csv", end);
        let told = |key: &str| limit.pointer(key).and_then(Value::as_f64).expect("a number");
        for (header, key) in [
            ("probability", "/probability"),
            ("lower", "/probability_95/0"),
            ("upper", "/probability_95/1"),
        ] {
            assert!((ends(header)[4] - told(key)).abs() < 1e-13, "{design} {header}");
        }
        let low = told("/margin_quantiles/0.05");
        assert!((ends("margin 5 %")[4] - low).abs() < 1e-12 * low.abs().max(1.0));
        let within = [told("/margin_quantiles_95/0.5/0"), told("/margin_quantiles_95/0.5/1")];
        let median = told("/margin_quantiles/0.5");
        assert!(within[0] < median && median < within[1], "{within:?}");
        let text = fs::read_to_string(place.path(design).join("summary.md")).expect("a text");
        assert!(text.contains("### When limits are crossed") && text.contains("### How sure the quantiles are"));
    }
    let joint = &place.summary("plain")["joint_95_95"];
    assert_eq!(
        (&joint["met"], &joint["limits"], &joint["bounds"]["runs_needed"]),
        (&false.into(), &1.into(), &59.into())
    );
}

/// The same folder but for what says how it stopped.
fn same_but_for_until(place: &Place, with: &str, without: &str) {
    assert_eq!(names(&place.path(with)), names(&place.path(without)));
    for name in [
        "variations.csv",
        "fans.csv",
        "inputs.csv",
        "convergence.csv",
        "survival.csv",
        "datapackage.json",
    ] {
        let bytes = |out: &str| fs::read(place.path(out).join(name)).expect("a file");
        assert!(bytes(with) == bytes(without), "{name}");
    }
    let mut summary = place.summary(with);
    assert!(summary.as_object_mut().expect("keys").remove("until").is_some());
    assert_eq!(summary, place.summary(without));
}

#[test]
fn until_stops_at_a_look_and_is_the_study_of_so_many_runs() {
    let place = Place::new();
    let file = place.file("room.toml", still());
    // No violation at all: 1,024 runs leave (0.05 / 3 / 2)^(1 / 1024) at most, so 0.0024 as half of the interval.
    for (design, target, cap, looks, reached) in [
        ("plain", "probability within 0.3 %", "2100", &[1_024_u64][..], true),
        ("plain", "probability within 0.0013", "2100", &[1_024, 2_048], true),
        ("plain", "probability within 0.0001", "1100", &[1_024, 1_100], false),
        ("sobol", "probability within 0.05", "2100", &[1_024], true),
    ] {
        let runs = looks.last().expect("a look").to_string();
        let (with, without) = (format!("{design}-{runs}-until"), format!("{design}-{runs}"));
        let said = vary(
            &place,
            &file,
            &with,
            &["--until", target, "--cap", cap, "--design", design],
        );
        vary(&place, &file, &without, &["--runs", &runs, "--design", design]);
        same_but_for_until(&place, &with, &without);
        let until = &place.summary(&with)["until"];
        assert_eq!(until["looks"], Value::from(looks.to_vec()), "{until}");
        assert_eq!(
            (&until["reached"], until["cap"].to_string().as_str()),
            (&reached.into(), cap)
        );
        assert_eq!(said.out.contains("Stopped at the cap"), !reached, "{}", said.out);
    }
    // The number of runs is the cap unless one is given.
    vary(
        &place,
        &file,
        "runs",
        &["--until", "probability within 0.0001", "--runs", "1100"],
    );
    same(&place.path("runs"), &place.path("plain-1100-until"));
}

#[test]
fn until_goes_on_with_what_a_kill_has_left() {
    let place = Place::new();
    let file = place.file("room.toml", short());
    let wanted = ["--until", "probability within 0.0013", "--cap", "2100"];
    vary(&place, &file, "one", &wanted);
    for (index, most) in [100, 1_500].into_iter().enumerate() {
        let out = format!("resumed-{index}");
        let left = killed(&place, &out, most);
        vary(&place, &file, &out, &[&wanted[..], &["--resume"]].concat());
        same(&place.path("one"), &place.path(&out));
        assert!(!left.exists(), "the work is done");
    }
}

#[test]
fn what_a_design_cannot_have_is_wrong_usage() {
    let place = Place::new();
    let file = place.file("room.toml", still());
    for (words, said) in [
        (&["--design", "sobol", "--runs", "31"][..], "at least 32 runs"),
        (&["--design", "latin-hypercube", "--runs", "5"], "at least 32 runs"),
        (&["--design", "Sobol"], "plain, latin-hypercube, sobol"),
        (&["--design", "latin-hypercube", "--only", "3"], "say with --runs"),
        (
            &["--design", "latin-hypercube", "--only", "64", "--runs", "64"],
            "the last is 63",
        ),
        (
            &["--design", "latin-hypercube", "--until", "probability within 1 %"],
            "must be known beforehand",
        ),
        (&["--until", "margin within 1 %"], "cannot be waited for"),
        (
            &["--until", "probability within 1 %", "--shard", "1/2"],
            "cannot be used with",
        ),
        (
            &["--until", "probability within 1 %", "--only", "2"],
            "cannot be used with",
        ),
        (&["--cap", "100"], "--until"),
    ] {
        let done = place.job("vary", &file, "out", words);
        assert_eq!(done.code, 2, "{words:?}: {}", done.err);
        assert!(done.err.contains(said), "{words:?}: {}", done.err);
        assert!(!place.path("out").exists());
    }
}
