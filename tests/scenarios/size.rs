//! Sizes through the command line, held against the gas law.
//!
//! Each scenario file says what it is, with its formula.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::command::{Job, job, near};

/// CO2 of two people at 1.00 kg a day each, mol/s times R T: Pa m3/s.
const LOAD: f64 = 2.0 / 44.0095e-3 / 86_400.0 * 8.314_462_618 * 294.261_11;
const MMHG: f64 = 133.322;

fn file(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/size");
    folder.join(name).with_extension("toml")
}

fn size(name: &str, more: &[&str]) -> Job {
    let job = job("size", &file(name), more);
    assert_eq!(job.code, 0, "{}", job.err);
    job
}

const VOLUME: [&str; 4] = ["--what", "compartments.cabin.free_volume", "--keep", "co2"];
const FLOW: [&str; 4] = ["--what", "removal.scrubber.flow", "--keep", "co2"];

/// 7.6 mmHg after 2 h: 9.145 m3.
#[test]
fn a_sealed_volume_is_that_of_the_gas_law() {
    let job = size("sealed", &VOLUME);
    let exact = LOAD * 7_200.0 / (7.6 * MMHG) / 0.028_316_8;
    let found = job.number("/sizes/0/value");
    near(found, exact, 1e-3);
    assert!(found >= exact, "the safe side");
    assert_eq!(job.summary["unit"], "ft3");
    assert_eq!(job.summary["exact"], true);
    assert_eq!(job.summary["sizes"][0]["proved"], true);
    let row = &job.table("boundary.csv")[0];
    assert_eq!(
        row["smallest compartments.cabin.free_volume [ft3]"]
            .parse::<f64>()
            .expect("a number"),
        found
    );
}

/// The longest stay in 235 ft3: 1.4554 h.
#[test]
fn a_time_to_a_limit_is_the_largest_duration() {
    let job = size("sealed", &["--what", "duration", "--keep", "co2", "--largest"]);
    let exact = 7.6 * MMHG * 235.0 * 0.028_316_8 / LOAD / 3_600.0;
    near(exact, 1.4554, 1e-4);
    let found = job.number("/sizes/0/value");
    near(found, exact, 1e-3);
    assert!(found <= exact, "the safe side");
}

/// 0.1704 m3/min at 85 %, and over the efficiency the boundary is that divided by it.
#[test]
fn the_flow_of_a_device_is_that_of_its_steady_state() {
    let exact = LOAD / (4.0 * MMHG) * 60.0;
    let job = size("steady", &FLOW);
    near(job.number("/sizes/0/value"), exact / 0.85, 1e-3);
    let over = [
        &FLOW[..],
        &["--over", "removal.scrubber.co2_efficiency=70 %,85 %,100 %"],
    ]
    .concat();
    let job = size("steady", &over);
    let rows = job.table("boundary.csv");
    assert_eq!(rows.len(), 3);
    for (row, efficiency) in rows.iter().zip([0.70, 0.85, 1.0]) {
        let flow: f64 = row["smallest removal.scrubber.flow [m3/min]"]
            .parse()
            .expect("a number");
        near(flow, exact / efficiency, 1e-3);
        assert_eq!(row["shown"], "yes");
    }
    assert_eq!(rows[0]["removal.scrubber.co2_efficiency"], "70 %");
}

/// The load of each uniform from 0.9 to 1.1 kg/d, drawn once for both: 95 % of variations have less than 1.09 kg/d.
#[test]
fn an_uncertain_load_takes_the_volume_of_its_quantile() {
    let load = ["--set", "efforts.load.co2={ uniform = [\"0.9 kg/d\", \"1.1 kg/d\"] }"];
    let asked = [
        &VOLUME[..],
        &load,
        &["--runs", "300", "--from", "200 ft3", "--to", "500 ft3"],
    ]
    .concat();
    let job = size("sealed", &asked);
    let exact = 1.09 * LOAD * 7_200.0 / (7.6 * MMHG) / 0.028_316_8;
    let ends = ["/sizes/0/interval_95/0", "/sizes/0/interval_95/1"].map(|end| job.number(end));
    assert!(ends[0] < exact && exact < ends[1], "{ends:?} {exact}");
    // The share below a quantile of 5 % is known to sqrt(0.05 * 0.95 / 300) = 0.0126, which is 0.0025 kg/d of the load: four of that are 0.9 %.
    assert!(ends[1] / ends[0] < 1.02, "{ends:?}");
    let value = job.number("/sizes/0/value");
    assert!(value >= exact, "{value} is shown, {exact} is true");
    near(value, exact, 0.015);
    // Proved on another seed, four times as many.
    let tries = job.summary["sizes"][0]["tries"].as_array().expect("tries");
    assert_eq!(tries[0]["runs"], 1_200);
    assert!(tries[0]["seed"] != 1);
    let proof = job.table("proof.csv");
    assert_eq!(proof.len(), tries.len());
    // The curve is what `vary` gives at a value: the same variations.
    let curve = job.table("size.csv");
    let point = &curve[curve.len() / 2];
    let set = format!(
        "compartments.cabin.free_volume={} ft3",
        point["compartments.cabin.free_volume [ft3]"]
    );
    let vary = crate::command::job(
        "vary",
        &file("sealed"),
        &[&load[..], &["--runs", "300", "--set", &set]].concat(),
    );
    let kept = vary.limit("co2", "tolerance_95_95").as_f64().expect("a bound");
    let point: f64 = point["margin kept [mmHg]"].parse().expect("a number");
    assert!((point - kept).abs() < 1e-9, "{point} {kept}");
}

/// A spread of the scenario kept about every value: the volume scaled with it, so 5 % of variations have 8 % less than the median.
#[test]
fn a_spread_is_kept_about_the_value_if_asked() {
    let spread = [
        "--set",
        "compartments.cabin.free_volume={ uniform = [\"212 ft3\", \"260 ft3\"] }",
    ];
    let asked = [
        &VOLUME[..],
        &spread,
        &[
            "--spread", "scaled", "--runs", "300", "--from", "236 ft3", "--to", "472 ft3",
        ],
    ]
    .concat();
    let job = size("sealed", &asked);
    let sealed = LOAD * 7_200.0 / (7.6 * MMHG) / 0.028_316_8;
    // Median 236, 5 % quantile 212 + 0.05 * 48 = 214.4.
    let exact = sealed * 236.0 / 214.4;
    let ends = ["/sizes/0/interval_95/0", "/sizes/0/interval_95/1"].map(|end| job.number(end));
    assert!(ends[0] < exact && exact < ends[1], "{ends:?} {exact}");
    assert_eq!(job.summary["spread"], "scaled");
    let none = crate::command::job(
        "size",
        &file("sealed"),
        &[&VOLUME[..], &["--spread", "scaled"]].concat(),
    );
    assert_eq!(none.code, 2);
    assert!(
        none.err.contains("has no spread in the scenario that could be scaled"),
        "{}",
        none.err
    );
}

fn answer(job: &Job) -> String {
    let sentences = job.summary["answer"].as_array().expect("sentences");
    sentences.iter().filter_map(Value::as_str).collect::<Vec<_>>().join(" ")
}

#[test]
fn where_there_is_no_value_it_says_why_and_the_exit_code_is_3() {
    for (more, why, says) in [
        (
            &["--from", "100 ft3", "--to", "200 ft3"][..],
            "never",
            "No compartments.cabin.free_volume from 100 ft3 to 200 ft3 will do",
        ),
        (
            &["--from", "400 ft3", "--to", "500 ft3"],
            "always",
            "will do: at each that was tried",
        ),
        (&["--largest"], "other end", "without --largest"),
    ] {
        let job = job("size", &file("sealed"), &[&VOLUME[..], more].concat());
        assert_eq!(job.code, 3, "{}", job.err);
        assert_eq!(job.summary["sizes"][0]["why_not"], why);
        assert!(job.summary["sizes"][0]["value"].is_null());
        assert!(answer(&job).contains(says), "{}", answer(&job));
        assert!(job.table("size.csv").len() >= 9);
    }
}

/// A limit that was not asked for and is broken at the value is told.
#[test]
fn what_else_is_not_met_at_the_value_is_told() {
    let more = ["--set", "limits.rule.start.at_least=1 mmHg"];
    let job = size("steady", &[&FLOW[..], &more].concat());
    assert_eq!(job.summary["sizes"][0]["not_met"][0], "start");
    assert!(
        answer(&job).contains("At that value NOT MET at the same gate: start."),
        "{}",
        answer(&job)
    );
}

#[test]
fn what_is_asked_wrongly_is_told_before_anything_is_run() {
    for (words, says) in [
        (
            &["--what", "compartments.cabin.free_volum", "--keep", "co2"][..],
            "did you mean `compartments.cabin.free_volume`?",
        ),
        (&["--what", "title", "--keep", "co2"], "`title` is no quantity"),
        (
            &["--what", "compartments.cabin.free_volume", "--keep", "co"],
            "there is no limit `co`; there are: co2",
        ),
        (&[&VOLUME[..], &["--from", "3 kg"]].concat(), "--from \"3 kg\""),
        (
            &[&VOLUME[..], &["--from", "9 m3", "--to", "8 m3"]].concat(),
            "the range is empty",
        ),
        (
            &["--what", "air.co2", "--keep", "co2"],
            "name the range with --from and --to",
        ),
    ] {
        let job = job("size", &file("sealed"), words);
        assert_eq!(job.code, 2, "{words:?}: {}", job.err);
        assert!(job.err.contains(says), "{}", job.err);
    }
    let few = [
        "--set",
        "efforts.load.co2={ uniform = [\"0.9 kg/d\", \"1.1 kg/d\"] }",
        "--runs",
        "40",
    ];
    let job = job("size", &file("sealed"), &[&VOLUME[..], &few].concat());
    assert_eq!(job.code, 2);
    assert!(job.err.contains("--runs 59 or more"), "{}", job.err);
}

#[test]
fn threads_change_nothing() {
    let load = [
        "--set",
        "efforts.load.co2={ uniform = [\"0.9 kg/d\", \"1.1 kg/d\"] }",
        "--runs",
        "100",
    ];
    let asked = [&VOLUME[..], &load].concat();
    let (one, two) = (
        size("sealed", &[&asked[..], &["--threads", "1"]].concat()),
        size("sealed", &[&asked[..], &["--threads", "2"]].concat()),
    );
    for name in [
        "summary.json",
        "summary.md",
        "size.csv",
        "boundary.csv",
        "sizes.xlsx",
        "sizes.tex",
        "datapackage.json",
    ] {
        let bytes = |job: &Job| std::fs::read(job.file(name)).expect(name);
        assert!(bytes(&one) == bytes(&two), "{name}");
    }
}
