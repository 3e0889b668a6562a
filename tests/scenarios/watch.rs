//! Labelled histories and the detector through the command line: labels against what is, bytes against threads, readings in and alarms out.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use parquet::file::reader::{FileReader as _, SerializedFileReader};
use parquet::record::Field;

use crate::command::{Job, Row, job};

/// Instruments that say what is, so that labels can be held against it.
const EXACT: &str = "[instruments.co2]\nwatches = \"cabin.co2\"\n[instruments.flow]\nwatches = \"scrubber.flow\"\n";
/// Instruments as they are bought.
const REAL: &str = "[instruments.co2]\nwatches = \"cabin.co2\"\nnoise = \"0.02 mmHg\"\nlag = \"195 s\"\nbias = \"0.05 mmHg\"\n\
                    [instruments.flow]\nwatches = \"scrubber.flow\"\nnoise = \"0.6 m3/h\"\nbias = \"0.6 m3/h\"\nrange = [\"0 m3/h\", \"300 m3/h\"]\n";
/// A small watch: a tenth of the usual runs, wide rows.
const SMALL: [&str; 12] = [
    "--every",
    "5 min",
    "--tune",
    "12",
    "--held-out",
    "10",
    "--runs",
    "5",
    "--severities",
    "50 %,75 %",
    "--false-alarms",
    "1 per 5 d",
];

fn scenario() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/degraded-scrubber.toml")
}

/// A file in a folder that is gone once this is dropped.
fn written(name: &str, content: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join(name);
    fs::write(&file, content).expect("written");
    let path = file.display().to_string();
    (folder, path)
}

fn traces(instruments: &str, more: &[&str]) -> Job {
    let (_folder, file) = written("instruments.toml", instruments);
    let all = [&["--instruments", &file, "--every", "5 min"], more].concat();
    let made = job("traces", &scenario(), &all);
    assert_eq!(made.code, 0, "{}", made.err);
    made
}

fn number(row: &Row, header: &str) -> f64 {
    row[header]
        .parse()
        .unwrap_or_else(|_| panic!("{header}: {:?}", row[header]))
}

/// A number is another to so much.
#[track_caller]
fn close(got: f64, expected: f64, apart: f64) {
    assert!((got - expected).abs() <= apart, "{got} is not {expected}");
}

const FAULTS: [&str; 10] = [
    "--runs",
    "3",
    "--severities",
    "50 %",
    "--fault",
    "scrubber.flow",
    "--fault",
    "co2.bias",
    "--fault",
    "fault.fan-stop",
];

/// Half of the flow is gone from the onset on, half of 2 mmHg is added from there, the file's fan stops; the label says which, and when.
#[test]
fn labels_say_what_was_put_in() {
    let made = traces(EXACT, &[&FAULTS[..], &["--truth"]].concat());
    let (runs, rows) = (made.table("runs.csv"), made.table("traces.csv"));
    let labels: Vec<&str> = runs.iter().map(|run| run["label"].as_str()).collect();
    let one = ["nominal", "scrubber.flow", "co2.bias", "fault.fan-stop"];
    assert_eq!(labels, [one, one, one].concat());
    let splits: Vec<&str> = runs.iter().step_by(4).map(|run| run["split"].as_str()).collect();
    assert_eq!(splits, ["tune", "tune", "held-out"]);
    for run in &runs {
        let own: Vec<&Row> = rows.iter().filter(|row| row["run"] == run["run"]).collect();
        assert_eq!(own.len() as f64, number(run, "rows"));
        let nominal = 4 * (number(run, "run") as usize / 4);
        let plain: Vec<&Row> = rows.iter().filter(|row| number(row, "run") == nominal as f64).collect();
        let onset = run["onset [s]"].parse::<f64>().unwrap_or(f64::INFINITY);
        for (row, plain) in own.iter().zip(&plain) {
            let after = number(row, "time [s]") >= onset;
            // A history is sampled before what happens at its instant.
            let at = number(row, "time [s]") == onset;
            let (read, is) = (number(row, "co2 [mmHg]"), number(row, "co2 true [mmHg]"));
            let (flow, was) = (number(row, "flow true [m3/h]"), number(plain, "flow true [m3/h]"));
            match run["label"].as_str() {
                "co2.bias" => close(read - is, if after { 1.0 } else { 0.0 }, 3e-6),
                _ => close(read - is, 0.0, 3e-6),
            }
            let left = match run["label"].as_str() {
                "scrubber.flow" if after && !at => 0.5,
                "fault.fan-stop" if after && !at => 0.0,
                _ => 1.0,
            };
            if !at {
                close(flow / was, left, 1e-5);
                assert_eq!(row["scrubber on"], if left == 0.0 { "0" } else { "1" });
            }
            if !after {
                assert_eq!(row["co2 true [mmHg]"], plain["co2 true [mmHg]"]);
            }
        }
    }
}

#[test]
fn traces_are_the_same_bytes_on_any_number_of_threads() {
    let [one, two] = ["1", "2"].map(|threads| traces(REAL, &[&FAULTS[..], &["--threads", threads]].concat()));
    for name in [
        "traces.csv",
        "traces.parquet",
        "runs.csv",
        "runs.parquet",
        "summary.json",
        "summary.md",
        "datapackage.json",
    ] {
        let [one, two] = [&one, &two].map(|job| fs::read(job.file(name)).expect("there"));
        assert!(one == two, "{name} differs");
    }
}

#[test]
fn the_parquet_files_hold_what_the_csv_files_hold() {
    let made = traces(REAL, &FAULTS);
    for name in ["traces", "runs"] {
        let reader = SerializedFileReader::new(File::open(made.file(&format!("{name}.parquet"))).expect("there"));
        let reader = reader.expect("a Parquet file");
        let csv = made.table(&format!("{name}.csv"));
        let mut count = 0;
        for (read, row) in reader.get_row_iter(None).expect("rows").zip(&csv) {
            for (header, field) in read.expect("a row").get_column_iter() {
                let text = &row[header];
                let same = match field {
                    Field::Null => text.is_empty(),
                    Field::Long(value) => text.parse() == Ok(*value),
                    Field::Double(value) => text.parse() == Ok(*value),
                    Field::Str(value) => value == text,
                    other => panic!("{other:?}"),
                };
                assert!(same, "{name} {header}: {field:?} {text}");
            }
            count += 1;
        }
        assert!(count == csv.len() && count > 10, "{name}: {count} of {}", csv.len());
    }
}

fn watch(more: &[&str]) -> Job {
    let (_folder, file) = written("instruments.toml", REAL);
    let all = [&["--instruments", &file], &SMALL[..], more].concat();
    job("watch", &scenario(), &all)
}

/// What holds whatever the detector is worth, and that a flow that is gone is seen where it is read.
#[test]
fn a_watch_says_what_a_detector_is_worth() {
    let only = [
        "--fault",
        "scrubber.flow",
        "--fault",
        "fault.bed-loss",
        "--fault",
        "co2.drift",
    ];
    let [one, two] = ["1", "2"].map(|threads| watch(&[&only[..], &["--threads", threads]].concat()));
    assert_eq!(one.code, 0, "{}", one.err);
    for name in [
        "summary.json",
        "detection.csv",
        "operating.csv",
        "examples.csv",
        "report.html",
    ] {
        let [one, two] = [&one, &two].map(|job| fs::read(job.file(name)).expect("there"));
        assert!(one == two, "{name} differs with the number of threads");
    }
    let methods = one.summary["methods"].as_array().expect("methods");
    assert_eq!(methods.len(), 6);
    for method in methods {
        let of = |key: &str| method[key].as_f64().unwrap_or_else(|| panic!("{key}: {method}"));
        close(of("per_day"), of("false_alarms") / of("days"), 1e-12);
        // Within the interval or said to be above it: the answer tells.
        let high = method["per_day_95"][1].as_f64().expect("an end");
        let low = method["per_day_95"][0].as_f64().expect("an end");
        assert!(low <= of("per_day") && of("per_day") <= high);
        assert_eq!(method["holds"], low <= 0.2 && 0.2 <= high);
        assert!(of("caught_before") <= of("cross_a_limit"));
    }
    let faults = one.summary["faults"].as_array().expect("faults");
    for fault in faults {
        let of = |key: &str| fault[key].as_u64().unwrap_or_else(|| panic!("{key}: {fault}"));
        assert!(of("caught_before") <= of("cross_a_limit") && of("cross_a_limit") <= of("runs"));
        assert!(of("detected") <= of("runs") && of("runs") <= 5);
        assert_eq!(fault["in_bank"], fault["fault"] != "fault.bed-loss");
    }
    let bank = faults
        .iter()
        .find(|fault| {
            fault["fault"] == "scrubber.flow" && fault["severity"] == 0.75 && fault["method"] == "bank of faults"
        })
        .expect("a row");
    assert_eq!(bank["detected"], 5, "{bank}");
    // Two rows of five minutes at the most.
    assert!(bank["to_alarm_h"].as_f64().expect("a time") <= 0.17, "{bank}");
    // At higher thresholds fewer false alarms and no more detections.
    let rows = one.table("operating.csv");
    for pair in rows.windows(2).filter(|pair| pair[0]["method"] == pair[1]["method"]) {
        assert!(number(&pair[0], "false alarms [1/d]") <= number(&pair[1], "false alarms [1/d]"));
    }
}

/// Readings of one labelled run as a bench would hand them over; `late` is how far their clock is behind, min.
fn measured(made: &Job, run: &str, late_min: f64) -> String {
    let mut text = "# from the bench\ntime [h],co2 [kPa],flow [L/min],note\n".to_owned();
    for (index, row) in made
        .table("traces.csv")
        .iter()
        .filter(|row| row["run"] == run)
        .enumerate()
    {
        let hours = number(row, "time [s]") / 3600.0 - late_min / 60.0;
        if index % 17 == 5 {
            text.push_str(&format!("{hours},NA,,gap\n"));
        } else {
            let kpa = number(row, "co2 [mmHg]") * 0.133_322;
            text.push_str(&format!("{hours},{kpa},{},\n", number(row, "flow [m3/h]") / 0.06));
        }
    }
    text
}

#[test]
fn measured_readings_raise_the_alarm_that_they_should() {
    // Variations that the detector is not tuned on.
    let made = traces(
        REAL,
        &["--runs", "14", "--severities", "75 %", "--fault", "scrubber.flow"],
    );
    let runs = made.table("runs.csv");
    let faulty = runs.iter().rfind(|run| run["label"] == "scrubber.flow").expect("a run");
    let onset_h = number(faulty, "onset [s]") / 3600.0;
    let (_folder, file) = written("bench.csv", &measured(&made, &faulty["run"], 0.0));
    let found = watch(&[&file, "--gate"]);
    assert_eq!(found.code, 3, "{}", found.err);
    let alarms = found.summary["measured"]["alarms"].as_array().expect("alarms");
    let bank = alarms
        .iter()
        .find(|alarm| alarm["method"] == "bank of faults")
        .expect("an alarm");
    let at_h = bank["at_h"].as_f64().expect("a time");
    assert!((0.0..0.6).contains(&(at_h - onset_h)), "{at_h} {onset_h}");
    let likely = bank["likely"][0]["fault"].as_str().expect("a fault");
    assert!(["scrubber.flow", "flow.bias"].contains(&likely), "{bank}");
    assert!(found.summary["warnings"].to_string().contains("left out: note"));
    // A clock that is 30 min behind, put right, tells the same.
    let (_folder, file) = written("bench.csv", &measured(&made, &faulty["run"], 30.0));
    let moved = watch(&[&file, "--clock", "30 min"]);
    assert_eq!(moved.code, 0, "{}", moved.err);
    let times = |job: &Job| -> Vec<String> {
        let alarms = job.summary["measured"]["alarms"].as_array().expect("alarms").clone();
        alarms.iter().map(|alarm| alarm["at_h"].to_string()).collect()
    };
    assert_eq!(times(&moved), times(&found));
    // What is expected, measured, is no alarm to any method.
    let mut text = "time [h],co2 [mmHg],flow [m3/h]\n".to_owned();
    for row in found.table("residuals.csv") {
        let of = |header: &str| row[header].clone();
        let (co2, flow) = (of("co2 expected [mmHg]"), of("flow expected [m3/h]"));
        text.push_str(&format!("{},{co2},{flow}\n", of("time [h]")));
    }
    let (_folder, file) = written("bench.csv", &text);
    let quiet = watch(&[&file, "--gate"]);
    assert_eq!(quiet.code, 0, "{:#}", quiet.summary["measured"]["alarms"]);
    assert_eq!(quiet.summary["measured"]["alarms"], serde_json::json!([]));
}

/// Each with its exit code and what is said of it; nothing is left behind.
#[test]
fn what_is_wrong_is_told_before_anything_long_is_run() {
    let instruments = [
        ("[instruments.a]\nwatches = \"cabn.co2\"\n", "did you mean `cabin`?"),
        (
            "[instruments.a]\nwatches = \"cabin.smell\"\n",
            "no instrument reads `smell`",
        ),
        (
            "[instruments.a]\nwatches = \"cabin.co2\"\nnoise = \"1 kg\"\n",
            "instruments.toml:3",
        ),
        (
            "[instrument.a]\nwatches = \"cabin.co2\"\n",
            "did you mean `instruments`?",
        ),
        ("[instruments]\n", "there are no instruments"),
        ("\n", "the file is empty"),
    ];
    for (text, said) in instruments {
        let (_folder, file) = written("instruments.toml", text);
        for command in ["watch", "traces"] {
            let wrong = job(command, &scenario(), &["--instruments", &file]);
            assert!(
                wrong.code == 1 && wrong.err.contains(said),
                "{text}: {} {}",
                wrong.code,
                wrong.err
            );
            assert!(!wrong.file("summary.json").exists());
        }
    }
    let readings = [
        ("co2 [mmHg]\n1\n2\n", "there is no column `time`"),
        (
            "time [h],smell [mmHg]\n0,1\n1,2\n",
            "no column is that of an instrument",
        ),
        ("time [h],co2 [kg]\n0,1\n1,2\n", "the column `co2`"),
        ("time [h],co2 [mmHg]\n0,NA\n1,\n", "only gaps"),
        ("time [h],co2 [mmHg]\n0,1\n0.1,1\n", "2 rows with a reading"),
        ("time [h],co2 [mmHg]\n1,1\n0,1\n", "earlier than the row before"),
        ("time [d],co2 [mmHg]\n50,1\n51,1\n", "lies within the run"),
        ("time [h],co2 [mmHg]\n0,1,2\n", "3 cells where the header has 2"),
    ];
    let (_folder, real) = written("instruments.toml", REAL);
    for (text, said) in readings {
        let (_folder, file) = written("bench.csv", text);
        let wrong = job("watch", &scenario(), &[&file, "--instruments", &real]);
        assert!(
            wrong.code == 1 && wrong.err.contains(said),
            "{text}: {} {}",
            wrong.code,
            wrong.err
        );
    }
    let arguments: [(&[&str], &str); 7] = [
        (&["--severities", "120 %"], "above 0 up to 100"),
        (&["--false-alarms", "never"], "a rate above 0"),
        (&["--fault", "scruber.flow"], "did you mean `scrubber.flow`?"),
        (&["--leave-out", "scruber.flow"], "did you mean `scrubber.flow`?"),
        (&["--every", "9 h"], "rows of a run"),
        (&["--clock", "2 min"], "MEASURED.csv"),
        (&["--every", "soon"], "--every"),
    ];
    for (more, said) in arguments {
        let wrong = job("watch", &scenario(), more);
        assert!(
            wrong.code == 2 && wrong.err.contains(said),
            "{more:?}: {} {}",
            wrong.code,
            wrong.err
        );
    }
    let missing = job("watch", &scenario(), &["nowhere.csv"]);
    assert!(
        missing.code == 1 && missing.err.contains("nowhere.csv"),
        "{}",
        missing.err
    );
}
