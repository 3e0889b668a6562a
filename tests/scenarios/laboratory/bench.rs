//! The invented bench data of `scenarios/laboratory`: made here, by devices that are not the models that are fitted to them.
//!
//! ```text
//! scenario --run, profile--> set points of the bench --beds of cells, sensors--> scrubber.csv, scrubber-held-out.csv
//! steps of CO2 -----------------------------------------------------------------> canister.csv, canister-held-out.csv
//! ```
//!
//! With `BLESS=1` in the environment the files are written anew (and the test still fails, so that it cannot pass by that). Then the
//! walk-through of the README: from the profile over the bench data to a fitted device and another margin.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use breathroom_analysis::profile::{Bench, Point, deliver, demand};
use breathroom_sim::air::Species;
use breathroom_sim::engine::{Engine, Trace};
use breathroom_sim::scenario::{Medians, Source, read};
use breathroom_sim::units::Time;
use breathroom_tests::laboratory::{AminePair, Canister, Noise, Sensor};

use crate::command::{call, job, near};
use crate::wrong_files;

const MMHG: f64 = 133.322;
/// Step of the beds, s.
const STEP_S: f64 = 1.0;

fn scenarios() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios")
}

fn laboratory(name: &str) -> PathBuf {
    scenarios().join("laboratory").join(name)
}

/// What the bench of the laboratory delivers for a quarter of the scrubber, set point by set point.
fn profile() -> Vec<Point> {
    let text = |path: PathBuf| fs::read_to_string(path).expect("a shipped file");
    let (scenario, bench) = (
        text(scenarios().join("two-crew-sortie.toml")),
        text(laboratory("bench.toml")),
    );
    let source = Source {
        name: "two-crew-sortie.toml",
        text: &scenario,
        overrides: &[],
        files: &|name| Err(format!("no {name}")),
    };
    let scenario = read(&source).expect("a shipped scenario");
    let bench = Bench::read("bench.toml", &bench).expect("a shipped bench");
    let device = scenario
        .names
        .devices
        .iter()
        .position(|name| name == "scrubber")
        .expect("a scrubber");
    let mut case = scenario.draw(&Medians).case;
    case.history_every = Time::from_seconds(bench.step_s);
    let mut trace = Trace::default();
    Engine::new().run(&case, Some(&mut trace)).expect("a run");
    let demand = demand(&case, &trace, device, 0.25).expect("a flow");
    deliver(&bench, &demand).points
}

/// The set point at a time, in straight lines between.
fn at(points: &[Point], time_s: f64) -> Point {
    let next = points
        .partition_point(|point| point.time_s <= time_s)
        .clamp(1, points.len() - 1);
    let (a, b) = (&points[next - 1], &points[next]);
    let share = (time_s - a.time_s) / (b.time_s - a.time_s);
    let mixed = |a: f64, b: f64| a + share * (b - a);
    let mut point = *a;
    point.time_s = time_s;
    for of in 0..4 {
        point.flow_mol_s[of] = mixed(a.flow_mol_s[of], b.flow_mol_s[of]);
    }
    point.temperature_k = mixed(a.temperature_k, b.temperature_k);
    point.pressure_pa = mixed(a.pressure_pa, b.pressure_pa);
    point
}

fn rounded(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

/// A test of the scrubber between two times of the profile, a sample to a minute.
fn scrubber(points: &[Point], seed: u64, [from_h, to_h]: [f64; 2], sensor: [f64; 3]) -> String {
    let noise = Noise::new(seed);
    let mut pair = AminePair::new(1.6, 390.0);
    let mut out = Sensor::new("co2 out", 25.0, sensor);
    let mut inlet = Sensor::new("co2 in", 0.0, [0.0, 0.0, 0.006 * MMHG]);
    let mut wet = Sensor::new("water out", 10.0, [0.0, 0.0, 3.0]);
    let mut text = String::from(
        "# Invented: a quarter of the scrubber of two-crew-sortie.toml on a bench, fed by the profile of that scenario. Made by\n\
         # tests/scenarios/laboratory/bench.rs from two beds of 20 cells, with a sensor at the outlet that is late, drifts and rounds.\n\
         time [min],co2 in [mmHg],co2 out [mmHg],water in [kPa],water out [kPa],flow [L/min],temperature [degC],pressure [kPa]\n",
    );
    let (from, to) = (3600.0 * from_h, 3600.0 * to_h);
    let warm_up = 1800.0;
    let steps = ((to - from + warm_up) / STEP_S) as u64;
    for n in 0..=steps {
        let time = from - warm_up + STEP_S * n as f64;
        let point = at(points, time);
        let (p, vapour) = (point.partial_pa(Species::Co2), point.partial_pa(Species::Water));
        let g = point.total_mol_s() / point.pressure_pa;
        let left = pair.step(time, STEP_S, g, p);
        // The beds take water by a part that falls a little as it gets wetter.
        let dry = vapour * (1.0 - 0.27 / (1.0 + vapour / 12_000.0));
        out.sees(STEP_S, left);
        inlet.sees(STEP_S, p);
        wet.sees(STEP_S, dry);
        let since = time - from;
        if since < 0.0 || n % 60 != 0 {
            continue;
        }
        // An hour in which the logger of the outlet stood still.
        let gap = (since / 3600.0 - 5.0).abs() < 0.1;
        let [co2_in, co2_out] = [&inlet, &out].map(|sensor| rounded(sensor.reads(&noise, since, n) / MMHG, 0.01));
        let water_out = rounded(wet.reads(&noise, since, n) / 1e3, 0.005);
        let water_in = rounded(vapour / 1e3, 0.005);
        let cells = if gap {
            format!(",{water_in:.3},")
        } else {
            format!("{co2_out:.2},{water_in:.3},{water_out:.3}")
        };
        writeln!(
            text,
            "{:.0},{co2_in:.2},{cells},{:.1},{:.2},{:.2}",
            time / 60.0,
            point.flow_m3_s() * 6e4,
            point.temperature_k - 273.15,
            point.pressure_pa / 1e3
        )
        .expect("text");
    }
    text
}

/// A test of the backup canister of degraded-scrubber.toml: steps of CO2, a quarter of its sorbent.
fn canister(seed: u64, hours: f64, flow_l_min: f64, capacity_mol: f64, bypass: f64, levels: &[f64]) -> String {
    let noise = Noise::new(seed);
    let mut canister = Canister::new(capacity_mol, bypass);
    let mut out = Sensor::new("co2 out", 30.0, [0.01 * MMHG, 0.0, 0.01 * MMHG]);
    let mut inlet = Sensor::new("co2 in", 0.0, [0.0, 0.0, 0.01 * MMHG]);
    let mut text = String::from(
        "# Invented: a quarter of the canister `backup` of degraded-scrubber.toml on a bench, at steps of CO2 until it breaks through. Made\n\
         # by tests/scenarios/laboratory/bench.rs from a bed of 20 cells whose grains react from without to within.\n\
         time [s],co2 in [mmHg],co2 out [mmHg],flow [L/min],temperature [degC],pressure [kPa]\n",
    );
    let (temperature_k, pressure_pa): (f64, f64) = (295.15, 56.5e3);
    let steps = (3600.0 * hours / STEP_S) as u64;
    for n in 0..=steps {
        let time = STEP_S * n as f64;
        let level = levels[((time / 1800.0) as usize).min(levels.len() - 1)];
        let p = level * MMHG * (1.0 + 0.01 * libm::sin(time / 300.0));
        let g = flow_l_min / 6e4 / (8.314_462_618 * temperature_k);
        let left = canister.step(STEP_S, g, p);
        out.sees(STEP_S, left);
        inlet.sees(STEP_S, p);
        if n % 30 != 0 {
            continue;
        }
        let [co2_in, co2_out] = [&inlet, &out].map(|sensor| rounded(sensor.reads(&noise, time, n) / MMHG, 0.005));
        writeln!(
            text,
            "{time:.0},{co2_in:.3},{co2_out:.3},{flow_l_min:.1},{:.2},{:.2}",
            temperature_k - 273.15,
            pressure_pa / 1e3
        )
        .expect("text");
    }
    text
}

/// Every file with its content.
fn files() -> Vec<(&'static str, String)> {
    let points = profile();
    let drift = 0.004 * MMHG / 3600.0;
    // 0.6 kg of lithium hydroxide takes 12.53 mol in all.
    let all = 12.53;
    vec![
        (
            "scrubber.csv",
            scrubber(&points, 11, [8.0, 22.0], [0.03 * MMHG, drift, 0.008 * MMHG]),
        ),
        (
            "scrubber-held-out.csv",
            scrubber(&points, 12, [56.0, 70.0], [0.01 * MMHG, -drift, 0.008 * MMHG]),
        ),
        (
            "canister.csv",
            canister(21, 6.0, 225.0, 0.86 * all, 0.024, &[3.0, 5.0, 4.0, 6.0, 3.5, 5.0]),
        ),
        (
            "canister-held-out.csv",
            canister(22, 6.0, 225.0, 0.87 * all, 0.022, &[5.0, 4.0, 4.5, 3.0, 6.0, 4.0]),
        ),
    ]
}

#[test]
fn committed_bench_data_are_what_the_laboratory_makes() {
    let mut wrong = Vec::new();
    for (name, content) in files() {
        assert!(content.len() < 300_000, "{name} has {} bytes", content.len());
        if fs::read_to_string(laboratory(name)).unwrap_or_default() != content {
            if std::env::var_os("BLESS").is_some() {
                fs::write(laboratory(name), &content).expect("a file that can be written");
            }
            wrong.push(name);
        }
    }
    assert!(wrong.is_empty(), "not as made: {wrong:?}; BLESS=1 writes them");
}

/// Wrong files that must be there at least.
const AT_LEAST: usize = 24;

/// What is said of wrong data; how it is called stands in its first line.
fn said_of(path: &Path) -> String {
    let text = fs::read_to_string(path).expect("a file of the folder");
    let first = text.lines().next().expect("how it is called");
    let arguments = first
        .strip_prefix("# breathroom fit device ")
        .expect("how it is called");
    let folder = tempfile::tempdir().expect("a folder");
    let mut words = vec![
        "breathroom".to_owned(),
        "fit".to_owned(),
        "device".to_owned(),
        path.display().to_string(),
    ];
    for word in arguments.split(' ') {
        words.push(if word.ends_with(".toml") {
            scenarios().join(word).display().to_string()
        } else {
            word.to_owned()
        });
    }
    for (option, name) in [("--as", "new.toml"), ("--out", "out")] {
        words.extend([option.to_owned(), folder.path().join(name).display().to_string()]);
    }
    let (code, _, err) = call(&words.iter().map(String::as_str).collect::<Vec<_>>());
    let left = fs::read_dir(folder.path()).expect("a folder").count();
    assert_eq!(left, 0, "{} leaves something", path.display());
    if code == 0 {
        return String::new();
    }
    let here = path.parent().expect("a folder").display().to_string();
    err.replace(&format!("{here}/"), "")
}

#[test]
fn wrong_data_get_their_message_and_leave_nothing() {
    wrong_files::each_gets_its_message(&laboratory("broken"), &["csv"], AT_LEAST, said_of);
}

#[test]
fn a_device_kind_without_a_fit_or_a_flow_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("curve.toml");
    let text = fs::read_to_string(scenarios().join("two-crew-sortie.toml")).expect("shipped");
    let curve = "kind = \"curve\"\nserves = \"cabin\"\nco2 = [[\"2 mmHg\", \"1.1 kg/d\"]]\n\n[removal.coil]";
    let (before, rest) = text.split_once("kind = \"flow-through\"").expect("a scrubber");
    let (_, after) = rest.split_once("[removal.coil]").expect("a coil");
    fs::write(&file, format!("{before}{curve}{after}")).expect("written");
    let (file, data) = (
        file.display().to_string(),
        laboratory("scrubber.csv").display().to_string(),
    );
    let (code, _, err) = call(&[
        "breathroom",
        "fit",
        "device",
        &data,
        "--into",
        &file,
        "--device",
        "scrubber",
        "--no-write",
    ]);
    assert!(code == 1 && err.contains("is a curve"), "{err}");
    let (code, _, err) = call(&["breathroom", "profile", &file, "--device", "scrubber"]);
    assert!(
        code == 1 && err.contains("has no flow that a bench could deliver"),
        "{err}"
    );
}

/// What the beds of the laboratory take of the CO2 that comes in the test, in all.
fn truth(points: &[Point], [from_h, to_h]: [f64; 2]) -> f64 {
    let mut pair = AminePair::new(1.6, 390.0);
    let (from, to) = (3600.0 * from_h, 3600.0 * to_h);
    let (mut came, mut left) = (0.0, 0.0);
    let mut time = from - 1800.0;
    while time <= to {
        let point = at(points, time);
        let p = point.partial_pa(Species::Co2);
        let g = point.total_mol_s() / point.pressure_pa;
        let out = pair.step(time, STEP_S, g, p);
        if time >= from {
            came += g * p;
            left += g * out;
        }
        time += STEP_S;
    }
    1.0 - left / came
}

/// From the profile over bench data of beds that are no constant efficiency to a fitted scrubber and another margin.
#[test]
fn from_the_profile_to_a_fitted_device_and_its_margin() {
    let scenario = scenarios().join("two-crew-sortie.toml");
    let bench = laboratory("bench.toml").display().to_string();
    let made = job(
        "profile",
        &scenario,
        &["--device", "scrubber", "--bench", &bench, "--scale", "25 %"],
    );
    assert_eq!(made.code, 0, "{}", made.err);
    let rows = made.table("profile.csv");
    assert_eq!(rows.len(), 2161);
    assert!(made.summary["misses"].as_array().expect("a list").len() >= 3);
    let points = profile();
    for (row, point) in rows.iter().zip(&points) {
        let number = |header: &str| row[header].parse::<f64>().expect("a number");
        near(number("co2 in [mmHg]"), point.partial_pa(Species::Co2) / MMHG, 1e-9);
        near(number("flow [L/min]"), point.flow_m3_s() * 6e4, 1e-9);
        // Standard volumes of the gases are the amounts: 22.413970 L/mol at 0 degC and 101.325 kPa.
        near(
            number("co2 standard [L/min]"),
            point.flow_mol_s[0] * 22.413_970 * 60.0,
            1e-6,
        );
    }

    let folder = tempfile::tempdir().expect("a folder");
    let new = folder.path().join("fitted.toml");
    let shown = |path: &Path| path.display().to_string();
    let out = folder.path().join("out");
    let words = [
        "breathroom",
        "fit",
        "device",
        &shown(&laboratory("scrubber.csv")),
        "--into",
        &shown(&scenario),
        "--device",
        "scrubber",
        "--as",
        &shown(&new),
        "--held-out",
        &shown(&laboratory("scrubber-held-out.csv")),
        "--out",
        &shown(&out),
        "--quiet",
    ];
    let (code, _, err) = call(&words);
    assert_eq!(code, 0, "{err}");
    let summary: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(out.join("summary.json")).expect("a summary")).expect("JSON");
    let of = |pointer: &str| {
        summary
            .pointer(pointer)
            .and_then(serde_json::Value::as_f64)
            .unwrap_or_else(|| panic!("{pointer}"))
    };
    // Turns at 100 % and 92 %: the mean of what is taken is 96 % of the efficiency.
    let mean = 0.96 * of("/parameters/0/fitted") / 100.0;
    near(mean, truth(&points, [8.0, 22.0]), 0.02);
    let [measured, foretold] = [of("/held_out/0/removed_kg/0"), of("/held_out/0/removed_kg/1")];
    near(foretold, measured, 0.03);
    // A model that misses something says so: more than noise is left, and the bands do not hold what they should.
    assert!(of("/outlets/0/residual") > 1.5 * of("/outlets/0/noise"));
    assert!(of("/held_out/0/inside") < 0.95);
    assert!(summary["warnings"].to_string().contains("the model misses something"));

    // Two lines of the scenario have changed, no other.
    let texts = [&scenario, &new].map(|path| fs::read_to_string(path).expect("text"));
    let differ = texts[0].lines().zip(texts[1].lines()).filter(|(a, b)| a != b).count();
    assert_eq!((differ, texts[0].lines().count()), (2, texts[1].lines().count()));

    // The margin to the CO2 limit of an hour, kept by 95 % with 95 % confidence, is another one.
    let kept = |file: &Path| {
        let vary = job("vary", file, &["--runs", "59"]);
        vary.limit("co2-1h", "tolerance_95_95").as_f64()
    };
    let (before, after) = (kept(&scenario), kept(&new));
    assert!(after > before, "{before:?} {after:?}");
}

/// An ideal bench: what the profile delivers, with the device's law as its outlet.
#[test]
fn the_profile_of_an_ideal_bench_gives_the_device_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let fitted = |scenario: &Path, device: &str, outlet: &dyn Fn(&[[f64; 4]]) -> Vec<f64>| {
        let made = job("profile", scenario, &["--device", device]);
        assert_eq!(made.code, 0, "{}", made.err);
        let rows = made.table("profile.csv");
        let number = |row: &crate::command::Row, header: &str| row[header].parse::<f64>().unwrap_or_default();
        let series: Vec<[f64; 4]> = rows
            .iter()
            .map(|row| {
                ["time [min]", "co2 in [mmHg]", "flow [L/min]", "temperature [degC]"].map(|header| number(row, header))
            })
            .collect();
        let mut text = String::from("time [min],co2 in [mmHg],flow [L/min],temperature [degC],co2 out [mmHg]\n");
        for ((row, of), out) in rows.iter().zip(&series).zip(outlet(&series)) {
            writeln!(text, "{},{},{},{},{out:?}", of[0], row["co2 in [mmHg]"], of[2], of[3]).expect("text");
        }
        let data = folder.path().join(format!("{device}.csv"));
        fs::write(&data, text).expect("written");
        let out = folder.path().join(device);
        let [data, into, results] = [&data, scenario, &out].map(|path| path.display().to_string());
        let words = [
            "breathroom",
            "fit",
            "device",
            &data,
            "--into",
            &into,
            "--device",
            device,
            "--no-write",
            "--out",
            &results,
            "--quiet",
        ];
        let (code, _, err) = call(&words);
        assert_eq!(code, 0, "{err}");
        let summary: serde_json::Value =
            serde_json::from_str(&fs::read_to_string(out.join("summary.json")).expect("a summary")).expect("JSON");
        summary["parameters"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|of| of["fitted"].as_f64())
            .collect::<Vec<_>>()
    };
    // Turns of 6.5 min at 100 % and 92 % of an efficiency of 81 %.
    let scrubber = |series: &[[f64; 4]]| {
        let factor = |t: f64| [1.0, 0.92][(t / 6.5 + 1e-9) as usize % 2];
        series
            .iter()
            .map(|of| of[1] * (1.0 - 0.81 * factor(of[0])))
            .collect::<Vec<_>>()
    };
    let found = fitted(&scenarios().join("two-crew-sortie.toml"), "scrubber", &scrubber);
    near(found[0].expect("an efficiency"), 81.0, 1e-7);
    assert_eq!(found[1], None);
    // 1.5 kg of lithium hydroxide, 30 % of it used, N 7, 3 % beside the bed: the law of loading in steps of a second. So little is left of
    // it at the end of the sortie that all three are seen.
    let canister = |series: &[[f64; 4]]| {
        let (capacity, n, beside) = (1.5 / (2.0 * 0.023_948) * 0.3, 7.0, 0.03);
        let mut held = 0.0_f64;
        let mut list = Vec::new();
        for (row, of) in series.iter().enumerate() {
            let passes = libm::exp(-n * (1.0 - held));
            list.push(of[1] * (beside + (1.0 - beside) * passes));
            let Some(next) = series.get(row + 1) else { break };
            let carried = |of: &[f64; 4]| of[1] * MMHG * of[2] / 6e4 / (8.314_462_618 * (of[3] + 273.15));
            for step in 0..60 {
                let share = (f64::from(step) + 0.5) / 60.0;
                let flux = carried(of) + share * (carried(next) - carried(of));
                held += flux * (1.0 - beside) * (1.0 - libm::exp(-n * (1.0 - held))) / capacity;
            }
        }
        list
    };
    let found = fitted(&scenarios().join("lock-sortie.toml"), "lead_canister", &canister);
    for (found, wanted) in found.iter().zip([3.0, 30.0, 7.0]) {
        near(found.expect("identified"), wanted, 2e-3);
    }
}
