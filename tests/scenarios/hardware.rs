//! Tanks, valves, transfers, beds, canisters, suits and heat through the command line, against arithmetic from each file's own
//! inputs: ideal gas and amounts that are kept.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::command::{Job, Row, call, job};

/// Molar gas constant, J/mol/K (CODATA 2018), and molar masses, kg/mol.
const R: f64 = 8.314462618;
const M_CO2: f64 = 44.0095e-3;
const M_WATER: f64 = 18.01528e-3;
const M_OXYGEN: f64 = 31.9988e-3;
const M_NITROGEN: f64 = 28.0134e-3;
/// The temperature of most of these cabins, K: 22 degC.
const T: f64 = 295.15;

fn file(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/hardware");
    folder.join(name).with_extension("toml")
}

/// A run that comes to its end with this exit code.
#[track_caller]
fn run(name: &str, code: u8) -> Job {
    let job = job("run", &file(name), &[]);
    assert_eq!(job.code, code, "{name}: {}", job.err);
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

/// mol of a partial pressure, Pa, in a volume, m3.
fn mol(pa: f64, volume_m3: f64) -> f64 {
    pa * volume_m3 / (R * T)
}

fn events(job: &Job, what: &str) -> Vec<Row> {
    let mut rows = job.table("events.csv");
    rows.retain(|row| row["event"] == what);
    rows
}

/// The number of a cell.
#[track_caller]
fn number(row: &Row, name: &str) -> f64 {
    row[name].parse().expect("a number")
}

fn summary_md(job: &Job) -> String {
    std::fs::read_to_string(job.file("summary.md")).expect("written")
}

#[test]
fn a_tank_runs_dry_and_the_cabin_lives_on_its_own_oxygen() {
    let job = run("tank-runs-dry", 3);
    near("dry", job.number("/tanks/oxygen/dry_at_h"), 3.0, 1e-9);
    near("reserve", job.number("/tanks/oxygen/reserve_at_h"), 2.0, 1e-9);
    assert!(job.number("/tanks/oxygen/left_kg").abs() < 1e-12);
    let crossed = job.limit("oxygen-kept", "first_crossing_h").as_f64();
    near("limit", crossed.expect("a crossing"), 2.5, 1e-9);
    near("supplied", job.number("/totals/oxygen_supplied_kg"), 0.105, 1e-9);
    // An hour of use is missing at the end.
    let missing_pa = 0.035 / M_OXYGEN * R * T / 10.0;
    near(
        "oxygen",
        job.number("/state_end/cabin/oxygen_pa"),
        21_000.0 - missing_pa,
        1e-9,
    );
    let dry = events(&job, "tank ran dry");
    assert_eq!(dry.len(), 1);
    near("event", number(&dry[0], "time [h]"), 3.0, 1e-9);
    assert_eq!(events(&job, "tank below its reserve").len(), 1);
    let text = summary_md(&job);
    for said in [
        "Tank oxygen RAN DRY at 3 h 00 min, after giving 0.105 kg of oxygen.",
        "| oxygen | oxygen | 0.105 kg | 0.105 kg (100 %) | 0.63 kg | 0 kg | 0.035 kg | **2 h 00 min** | **3 h 00 min** |",
    ] {
        assert!(text.contains(said), "no {said} in {text}");
    }
}

#[test]
fn a_regulator_lets_oxygen_in_on_and_off() {
    let job = run("band", 0);
    let band_kg = mol(500.0, 10.0) * M_OXYGEN;
    let (falls_h, rises_h) = (band_kg / 0.035, band_kg / (0.36 - 0.035));
    let turns = ((10.0 - falls_h) / (falls_h + rises_h)).ceil();
    assert!(turns * (falls_h + rises_h) < 10.0, "no turn is cut off");
    near(
        "supplied",
        job.number("/totals/oxygen_supplied_kg"),
        turns * rises_h * 0.36,
        1e-6,
    );
    near("least", job.number("/extremes/cabin/oxygen_pa_min"), 20_500.0, 1e-6);
    near("most", job.number("/extremes/cabin/oxygen_pa_max"), 21_000.0, 1e-6);
    assert!(job.summary["tanks"]["oxygen"]["reserve_at_h"].is_null());
}

/// Choked: n' = A P sqrt(g (2 / (g + 1))^((g + 1) / (g - 1)) / (R T M)), at the air's own composition, which is also that of
/// the fill: the pressure tends exponentially to where as much leaves as comes in.
#[test]
fn a_relief_valve_opens_and_closes_against_a_fill() {
    let job = run("relief", 0);
    let molar_mass = 0.21 * M_OXYGEN + 0.79 * M_NITROGEN;
    let fill_mol_h = 0.3 / molar_mass;
    let opens_h = mol(2000.0, 10.0) / fill_mol_h;
    let cp = 0.21 * 29.4 + 0.79 * 29.1;
    let g = cp / (cp - R);
    let critical = (2.0 / (g + 1.0)).powf((g + 1.0) / (g - 1.0));
    let mol_h_pa = 3600.0 * 1e-6 * (g * critical / (R * T * molar_mass)).sqrt();
    let steady_pa = fill_mol_h / mol_h_pa;
    let closes_h = 10.0 / (R * T) / mol_h_pa * ((102e3 - steady_pa) / (101e3 - steady_pa)).ln();
    let period_h = closes_h + mol(1000.0, 10.0) / fill_mol_h;
    let (opened, closed) = (events(&job, "relief opened"), events(&job, "relief closed"));
    assert_eq!((opened.len(), closed.len()), (4, 4));
    for (k, (open, close)) in opened.iter().zip(&closed).enumerate() {
        let at = opens_h + k as f64 * period_h;
        near("opens", number(open, "time [h]"), at, 1e-6);
        near("closes", number(close, "time [h]"), at + closes_h, 1e-6);
    }
    // What came in is in the cabin, or went out.
    let relieved = job.number("/totals/relieved/oxygen_kg") + job.number("/totals/relieved/diluent_kg");
    let gained = mol(job.number("/state_end/cabin/pressure_pa") - 100e3, 10.0) * molar_mass;
    near("relieved", relieved, 3.0 * 0.3 - gained, 1e-8);
    assert!(job.summary["transfers"][0]["ended_h"].is_null());
    let text = summary_md(&job);
    assert!(
        text.contains("| 100 kPa | - | 0.9 kg (0.21 oxygen, 0.69 diluent) | **NO**: the run ended |"),
        "{text}"
    );
    assert_eq!(
        events(&job, "fill began")[0]["detail"],
        "to 103 kPa at 0.3 kg/h, 21 % oxygen, from oxygen and nitrogen"
    );
}

#[test]
fn two_beds_turn_and_lose_a_litre_each_time() {
    let job = run("beds", 0);
    let turns = (24.0_f64 * 60.0 / 6.5).floor();
    assert_eq!(job.number("/devices/beds/turns"), turns);
    let left = (1.0_f64 - 1e-4).powf(turns);
    near(
        "diluent",
        job.number("/state_end/cabin/diluent_pa"),
        79_000.0 * left,
        1e-9,
    );
    let lost = mol(79_000.0 * (1.0 - left), 10.0) * M_NITROGEN;
    near("lost", job.number("/totals/turn_lost/diluent_kg"), lost, 1e-7);
    let cabin = mol(job.number("/state_end/cabin/co2_pa"), 10.0) * M_CO2;
    let gone = job.number("/devices/beds/co2_removed_kg") + job.number("/totals/turn_lost/co2_kg");
    near("CO2", gone + cabin, 1.0, 1e-9);
    let vapour = mol(job.number("/state_end/cabin/water_pa"), 10.0) * M_WATER;
    let removed = job.number("/devices/beds/water_removed_kg");
    near(
        "water",
        removed + job.number("/totals/turn_lost/water_kg") + vapour,
        1.2,
        1e-9,
    );
    // Overboard is what was taken and is not held any more, and what was lost in turns.
    let overboard = removed - job.number("/devices/beds/water_held_kg") + job.number("/totals/turn_lost/water_kg");
    near("overboard", job.number("/totals/water_overboard_kg"), overboard, 1e-9);
}

#[test]
fn a_canister_is_changed_and_then_there_is_none() {
    let job = run("canisters", 0);
    let of = "/devices/canister";
    assert_eq!(job.number(&format!("{of}/canisters_spent")), 1.0);
    assert_eq!(job.number(&format!("{of}/canisters_left")), 0.0);
    // Both are full at the end: 0.2 kg of CO2 that met 0.4093 kg of water and 2029 kJ each kilogram.
    near("CO2", job.number(&format!("{of}/co2_removed_kg")), 0.2, 1e-5);
    near(
        "water",
        -job.number(&format!("{of}/water_removed_kg")),
        0.4093 * 0.2,
        1e-3,
    );
    near("heat", job.number(&format!("{of}/heat_mj")), 2.029 * 0.2, 1e-3);
    let left_pa = 0.1 / M_CO2 * R * T / 10.0;
    near("left over", job.number("/state_end/cabin/co2_pa"), left_pa, 1e-4);
    let tasks = |what| -> Vec<String> {
        let rows = events(&job, what);
        rows.iter().map(|row| row["task"].clone()).collect()
    };
    assert_eq!(tasks("canister change"), ["change#1"]);
    assert_eq!(tasks("no canister left"), ["change#2"]);
    assert_eq!(job.number("/per_day/canisters"), 4.0);
    assert!(summary_md(&job).contains("| canister | 0.2 kg | 0.0819 kg given off |"));
}

#[test]
fn a_fill_ends_short_when_a_tank_is_dry() {
    let job = run("short-tank", 0);
    let fill = &job.summary["transfers"][1];
    assert_eq!(fill["short"], Value::Bool(true));
    let reached_pa = 20e3 + 50.0 * R * T / 4.0;
    near("reached", job.number("/transfers/1/to_pa"), reached_pa, 1e-8);
    near(
        "oxygen",
        job.number("/transfers/1/gas/oxygen_kg"),
        20.0 * M_OXYGEN,
        1e-8,
    );
    near(
        "diluent",
        job.number("/transfers/1/gas/diluent_kg"),
        30.0 * M_NITROGEN,
        1e-8,
    );
    // The ramp of 80 kPa in 20 min is left where it is; the vent before it was complete.
    let took_h = job.number("/transfers/1/ended_h") - job.number("/transfers/1/began_h");
    near("took", took_h, (reached_pa - 20e3) / 80e3 / 3.0, 1e-8);
    near(
        "vented",
        job.number("/transfers/0/gas/diluent_kg"),
        0.79 * mol(80e3, 4.0) * M_NITROGEN,
        1e-8,
    );
    assert!(job.number("/tanks/oxygen/left_kg").abs() < 1e-9);
    let text = summary_md(&job);
    assert!(
        text.contains("The fill of lock by task fill, begun at 0 h 50 min, ended SHORT at 50.7 kPa: a tank ran dry."),
        "{text}"
    );
    assert!(events(&job, "tank below its reserve").is_empty(), "none is kept");
}

#[test]
fn pressures_become_equal_and_the_hatch_opens() {
    let job = run("equalise", 0);
    let equal_pa = (10.0 * 100e3 + 4.0 * 40e3) / 14.0;
    for place in ["cabin", "lock"] {
        near(
            place,
            job.number(&format!("/state_end/{place}/pressure_pa")),
            equal_pa,
            1e-12,
        );
    }
    let moved = mol(equal_pa - 40e3, 4.0);
    near(
        "oxygen",
        job.number("/transfers/0/gas/oxygen_kg"),
        0.21 * moved * M_OXYGEN,
        1e-9,
    );
    let order: Vec<String> = job
        .table("events.csv")
        .iter()
        .map(|row| row["event"].clone())
        .filter(|event| event != "does")
        .collect();
    assert_eq!(
        order,
        [
            "task started",
            "equalising began",
            "equalising ended",
            "opened",
            "task ended"
        ]
    );
    assert!(summary_md(&job).contains("| 60 kPa | 0 kPa | 2.02 kg"));
}

#[test]
fn a_hatch_against_a_pressure_and_people_without_suits_are_errors() {
    let job = run("opened-against-pressure", 1);
    let said =
        "at 0 h 35 min 00.0 s: `hatch` (by task `enter`) cannot be opened against a pressure difference of 60 kPa";
    assert!(job.err.contains(said), "{}", job.err);
    assert!(!job.file("summary.json").exists());
    for command in ["check", "run", "vary"] {
        let file = file("unsuited");
        let (code, _, err) = call(&["breathroom", command, &file.display().to_string()]);
        assert_eq!(code, 1, "{command}");
        assert!(
            err.contains("`lock` is vented to 0 kPa with `lead` in it without a suit"),
            "{err}"
        );
        assert!(
            err.contains("unsuited.toml:32:34") && err.contains("nothing was run"),
            "{err}"
        );
    }
}

/// What one task ends with is done before the next begins, though both are at one instant.
#[test]
fn a_suit_comes_off_after_the_hatch_was_opened() {
    let job = run("suit-off-after-the-hatch", 0);
    let ended_h = job.number("/transfers/0/ended_h") - job.number("/transfers/0/began_h");
    near("a minute, whatever the difference", ended_h, 1.0 / 60.0, 1e-9);
    // The suit's gas mixes with the lock's, and the lock's excess goes through the hatch; the suit, shut again, keeps its part.
    let raised_pa = 30e3 * 0.1 / 4.1 * 4.0 / 14.0;
    near(
        "cabin",
        job.number("/state_end/cabin/pressure_pa"),
        60e3 + raised_pa,
        1e-6,
    );
}

#[test]
fn a_regulator_at_its_set_point_does_not_waver() {
    let job = run("equal-at-the-set-point", 0);
    assert_eq!(events(&job, "equalising ended").len(), 1);
}

#[test]
fn walls_below_the_dew_point_collect_what_is_made() {
    let job = run("cold-wall", 0);
    // Through the film 3 W/m2/K x 20 m2, and with the water's latent heat of 2.43 MJ/kg through 20 W/K to -5 degC.
    let sensible_w = 200.0 + 70.0;
    let latent_w = 1.2 * 2.43e6 / 86_400.0;
    let wall_c = -5.0 + (sensible_w + latent_w) / 20.0;
    let air_k = 273.15 + wall_c + sensible_w / 60.0;
    near("air", job.number("/state_end/cabin/temperature_k"), air_k, 1e-7);
    let vapour_kg = |pa: f64, kelvin: f64| pa * 10.0 / (R * kelvin) * M_WATER;
    let first_pa = 1000.0 * number(&job.table("history.csv")[0], "cabin water vapour [kPa]");
    let gained = vapour_kg(job.number("/state_end/cabin/water_pa"), air_k) - vapour_kg(first_pa, T);
    let liquid = job.number("/state_end/cabin/liquid_water_kg");
    near("liquid", liquid, 12.0 - gained, 1e-8);
    near("condensed", job.number("/totals/water_condensed_kg"), liquid, 1e-9);
    assert_eq!(events(&job, "film began").len(), 1);
}
