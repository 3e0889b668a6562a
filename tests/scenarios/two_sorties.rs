//! Two sorties from tanks: what they cost, what is left, and that spreads of no width and more threads change nothing.

use std::path::{Path, PathBuf};

use crate::command::{Job, Row, job};

/// Molar gas constant, J/mol/K (CODATA 2018), and molar masses, kg/mol.
const R: f64 = 8.314462618;
const M_OXYGEN: f64 = 31.9988e-3;
const M_NITROGEN: f64 = 28.0134e-3;
/// 22 degC, K.
const T: f64 = 295.15;

fn file() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/hardware/two-sorties.toml")
}

fn run() -> Job {
    let job = job("run", &file(), &[]);
    assert_eq!(job.code, 3, "the lock's oxygen is not within its limit: {}", job.err);
    job
}

#[track_caller]
fn near(what: &str, got: f64, expected: f64, relative: f64) {
    let off = (got - expected).abs() / expected.abs();
    assert!(
        off <= relative,
        "{what}: {got} is {off:.2e} off {expected}, allowed {relative:.0e}"
    );
}

/// The sample of a time.
#[track_caller]
fn at(history: &[Row], hours: f64) -> impl Fn(&str) -> f64 {
    let number = |row: &Row, name: &str| row[name].parse().unwrap_or(f64::NAN);
    let row = history
        .iter()
        .find(|row| (number(row, "time [h]") - hours).abs() < 1e-9)
        .expect("a sample")
        .clone();
    move |name| number(&row, name)
}

#[test]
fn purging_raises_the_oxygen_of_the_lock() {
    let job = run();
    let history = job.table("history.csv");
    let (before, after) = (at(&history, 8.75), at(&history, 8.75 + 1.0 / 6.0));
    // In mol, over the lock and both suits: 4 m3 and twice 60 L.
    let held = |of: &dyn Fn(&str) -> f64, gas: &str| -> f64 {
        let places = [("lock", 4.0), ("suit:lead", 0.06), ("suit:second", 0.06)];
        let each = places.map(|(place, m3)| 1000.0 * of(&format!("{place} {gas} [kPa]")) * m3 / (R * T));
        each.iter().sum()
    };
    near("diluent stays", held(&after, "diluent"), held(&before, "diluent"), 1e-9);
    // Twice 1.5 kg/h for 10 min, less what both breathed: from the effort before, with a lag of a minute.
    let (first, last) = (before("lead oxygen use [kg/d]"), after("lead oxygen use [kg/d]"));
    let lag_d = 60.0 / 86_400.0;
    let breathed = 2.0 * (last * (10.0 / 1440.0) + (first - last) * lag_d);
    let gained = (2.0 * 1.5 / 6.0 - breathed) / M_OXYGEN;
    near("oxygen", held(&after, "oxygen") - held(&before, "oxygen"), gained, 1e-5);
    // So the lock leaves its limit during the purge, and the cabin, behind the hatch, keeps within it.
    let crossed = job.limit("lock-oxygen", "first_crossing_h").as_f64().expect("crossed");
    assert!((8.75..8.92).contains(&crossed), "{crossed}");
    assert!(job.number("/extremes/lock/oxygen_fraction_max") > 0.45);
    assert!(job.number("/extremes/cabin/oxygen_fraction_max") < 0.36);
}

/// t = 360 min / ln 2 x ln((p0 - pb) / (r P - pb)), at 5 % diluent in what is breathed.
#[test]
fn a_pre_breathe_is_as_long_as_its_tissue_ratio_asks() {
    let job = run();
    let tissue = at(&job.table("history.csv"), 0.0)("cabin diluent [kPa]");
    let breathed = 0.05 * 56.5;
    let minutes = 360.0 / 2.0_f64.ln() * ((tissue - breathed) / (1.2 * 29.6 - breathed)).ln();
    let breathe = job.summary["schedule"]["tasks"].as_array().expect("tasks");
    let breathe = breathe.iter().find(|task| task["task"] == "breathe#1").expect("there");
    let took = breathe["end_h"].as_f64().expect("ended") - breathe["start_h"].as_f64().expect("started");
    near("pre-breathe", 60.0 * took, minutes, 1e-6);
    // More oxygen is breathed before the lock is empty, so the ratio asked for is kept.
    let worst = job.limit("tissue", "worst").as_f64().expect("a number");
    assert!((1.1..1.2).contains(&worst), "{worst}");
    assert_eq!(job.limit("tissue", "met"), true);
}

#[test]
fn each_sortie_costs_a_lock_of_gas_and_the_tanks_know_it() {
    let job = run();
    // Both suits leak into the lock as it fills, at 30 to 86 kPa: 3 g/h at 29.6 kPa.
    let leak_mol = 2.0 * 0.003 / 15.0 / M_OXYGEN * (29.6 + 56.5 / 2.0) / 29.6;
    let lock_mol = 56_500.0 * 4.0 / (R * T) - leak_mol;
    for sortie in 0..2 {
        let filled = |gas: &str| job.number(&format!("/sorties/{sortie}/filled/{gas}_kg"));
        near("oxygen filled", filled("oxygen"), 0.34 * lock_mol * M_OXYGEN, 1e-6);
        near("diluent filled", filled("diluent"), 0.66 * lock_mol * M_NITROGEN, 1e-6);
        // What went overboard is what both of its vents let out.
        let vents = [4 * sortie, 4 * sortie + 1];
        for gas in ["oxygen", "diluent", "water", "co2"] {
            let each = vents.map(|vent| job.number(&format!("/transfers/{vent}/gas/{gas}_kg")));
            let vented = job.number(&format!("/sorties/{sortie}/vented/{gas}_kg"));
            near(gas, vented, each[0] + each[1], 1e-9);
        }
        let people = &job.summary["sorties"][sortie]["people"];
        assert_eq!(people, &serde_json::json!(["lead", "second"]));
    }
    let total = |key: &str| job.number(&format!("/totals/{key}"));
    let oxygen = total("oxygen_supplied_kg") + total("oxygen_filled_kg") + total("oxygen_to_suits_kg");
    let diluent = total("diluent_supplied_kg") + total("diluent_filled_kg");
    // Both packs are full again at the end, so the tank in the cabin gave it all.
    near("oxygen", job.number("/tanks/oxygen/used_kg"), oxygen, 1e-9);
    near("diluent", job.number("/tanks/nitrogen/used_kg"), diluent, 1e-9);
    near("a pack", job.number("/tanks/lead_pack/left_kg"), 0.6, 1e-12);
    near("a day", job.number("/per_day/oxygen_kg"), oxygen / 2.0, 1e-9);
    near("a day", job.number("/per_day/diluent_kg"), diluent / 2.0, 1e-9);
    assert_eq!(job.number("/per_day/canisters"), 2.0);
    assert_eq!(job.number("/per_sortie/suit_canisters"), 2.0);
    near(
        "into suits",
        job.number("/per_sortie/oxygen_to_suits_kg"),
        total("oxygen_to_suits_kg") / 2.0,
        1e-9,
    );
    // Days left at this rate: of all that can be had, down to the reserve, and of the reserve. 20 MPa down to 56.5 kPa.
    let residue = 12.0 * 56.5e3 / 20e6;
    let left = 12.0 - oxygen;
    let days = |key: &str| job.number(&format!("/tanks/oxygen/{key}"));
    near("left", days("days_left"), (left - residue) / (oxygen / 2.0), 1e-9);
    near(
        "to the reserve",
        days("days_to_reserve"),
        (left - 2.0) / (oxygen / 2.0),
        1e-9,
    );
    near(
        "contingency",
        days("contingency_days"),
        (2.0 - residue) / (oxygen / 2.0),
        1e-9,
    );
}

#[test]
fn water_is_collected_or_goes_overboard_and_gas_is_lost_where_it_is_said_to_be() {
    let job = run();
    let total = |key: &str| job.number(&format!("/totals/{key}"));
    let coils = ["coil", "lead_sublimator", "second_sublimator"];
    let collected: f64 = coils
        .iter()
        .map(|coil| job.number(&format!("/devices/{coil}/water_removed_kg")))
        .sum();
    near("collected", total("water_collected_kg"), collected, 1e-9);
    near(
        "overboard",
        total("water_overboard_kg"),
        total("vented/water_kg") + total("leaked/water_kg"),
        1e-9,
    );
    let transfers = job.summary["transfers"].as_array().expect("a list");
    let vented: f64 = transfers
        .iter()
        .filter(|transfer| transfer["kind"] == "vent")
        .map(|transfer| transfer["gas"]["oxygen_kg"].as_f64().expect("a number"))
        .sum();
    // Between vent and fill what suits let go of is lost from the lock; here they are outside by then.
    near("vented", total("vented/oxygen_kg"), vented, 2e-3);
    for balance in ["carbon", "oxygen", "water", "diluent"] {
        assert!(job.number(&format!("/balance/{balance}")).abs() < 1e-9, "{balance}");
    }
    let suit = |key: &str| job.number(&format!("/extremes/suit:lead/{key}"));
    near("in a vacuum", suit("pressure_pa_min"), 29_600.0, 1e-6);
    let text = std::fs::read_to_string(job.file("summary.md")).expect("written");
    for said in [
        "| oxygen from tanks and supplies in all | ",
        "On average a sortie cost ",
        "A tank that was recharged may have given more than it held at the start.",
        "| 2 | lead, second | out#2 | 33 h 21 min | 38 h 25 min | 5 h 04 min |",
    ] {
        assert!(text.contains(said), "no {said} in {text}");
    }
    let rows = || text.lines().filter(|line| line.starts_with('|'));
    assert!(
        !rows().any(|row| row.contains("e-1")),
        "what rounding left is nothing: {text}"
    );
}

/// Nothing has a spread, or spreads have no width: every variation is the run on the medians.
#[test]
fn variations_without_width_are_the_run() {
    let fixed = [
        "--set",
        "tasks.out.duration={ uniform = [\"5 h\", \"5 h\"] }",
        "--set",
        "respiratory_quotient=0.87",
        "--set",
        "tanks.oxygen.amount={ uniform = [\"12 kg\", \"12 kg\"] }",
    ];
    let one = job("run", &file(), &fixed);
    let many = job("vary", &file(), &[&fixed[..], &["--runs", "3"]].concat());
    assert_eq!((one.code, many.code), (3, 3), "{}{}", one.err, many.err);
    let limits = |job: &Job| job.summary["limits"].as_array().expect("a list").clone();
    let (one, many) = (limits(&one), limits(&many));
    assert_eq!(one.len(), many.len());
    for (alone, all) in one.iter().zip(&many) {
        assert_eq!(alone["margin"], all["margin"], "{}", alone["id"]);
        for quantile in ["0.01", "0.5", "0.95"] {
            assert_eq!(alone["margin"], all["margin_quantiles"][quantile], "{}", alone["id"]);
        }
    }
}

#[test]
fn threads_change_no_byte() {
    let vary = |threads| {
        let job = job("vary", &file(), &["--runs", "6", "--seed", "7", "--threads", threads]);
        assert_eq!(job.code, 3, "{}", job.err);
        job
    };
    let (one, two) = (vary("1"), vary("2"));
    for name in ["summary.json", "summary.md", "variations.csv", "datapackage.json"] {
        let bytes = |job: &Job| std::fs::read(job.file(name)).expect("written");
        assert!(bytes(&one) == bytes(&two), "{name}");
    }
    // The stocks of every variation are kept.
    let rows = one.table("variations.csv");
    assert_eq!(rows.len(), 6);
    assert!(rows.iter().all(|row| row.keys().any(|name| name.contains("oxygen"))));
}
