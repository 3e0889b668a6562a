//! Runs behind the page: the latest change wins, what is wrong keeps the old curves, a panic ends nothing.

use std::sync::Arc;
use std::time::Duration;

use breathroom_sim::scenario::Scenario;
use serde_json::{Value, json};

use super::super::work::{self, Nominal, Runner};
use super::support::{ROOM, Served, figures};

const VOLUME: &str = "compartments.room.free_volume";

fn quick() -> Runner {
    Runner {
        idle: Duration::from_millis(30),
        ..Runner::default()
    }
}

#[test]
fn a_change_gives_curves_margins_and_then_variations() {
    let desk = Served::with(ROOM, quick());
    desk.act(&json!({ "do": "runs", "runs": 60 }));
    let first = desk.results(|results| results["variants"][0]["study"]["fresh"] == true);
    assert!(figures(&first).contains("<svg"));
    assert!(first["variants"][0]["milliseconds"].as_f64().expect("a time") > 0.0);
    let study = &first["margins"][0]["cells"][0]["study"];
    assert!(
        study["beyond"].as_str().is_some_and(|share| share.ends_with('%')),
        "{study}"
    );
    assert!(study["low"].is_string() && study["middle"].is_string() && study["high"].is_string());
    assert_eq!(first["variants"][0]["study"]["runs"], 60);

    desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "12 m3" }));
    let second = desk.results(|results| results["variants"][0]["current"] == true);
    assert_ne!(
        first["margins"][0]["cells"][0]["margin"],
        second["margins"][0]["cells"][0]["margin"]
    );
    assert_ne!(first["figures"], second["figures"]);

    let state = desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "12 m4" }));
    assert_eq!(state["variants"][0]["faults"].as_array().map(Vec::len), Some(1));
    let third = desk.results(|_| true);
    assert_eq!(third["figures"], second["figures"], "the curves stay");
    let variant = &third["variants"][0];
    assert_eq!(
        (&variant["current"], variant["stays"].is_string()),
        (&json!(false), true)
    );
}

#[test]
fn two_variants_are_drawn_over_each_other_with_the_difference_of_their_margins() {
    let desk = Served::with(ROOM, quick());
    desk.act(&json!({ "do": "runs", "runs": 60 }));
    desk.act(&json!({ "do": "copy" }));
    desk.act(&json!({ "do": "edit", "variant": "B", "path": VOLUME, "text": "60 m3" }));
    let both = desk.results(|results| {
        let fresh = |at: usize| results["variants"][at]["study"]["fresh"] == true;
        fresh(0) && fresh(1)
    });
    let row = &both["margins"][0];
    assert!(
        row["difference"].as_str().is_some_and(|by| by.starts_with('+')),
        "{row}"
    );
    assert_eq!(row["cells"].as_array().map(Vec::len), Some(2));
    assert!(figures(&both).contains("plain second\""));
    desk.act(&json!({ "do": "drop" }));
    let one = desk.results(|results| results["variants"].as_array().map(Vec::len) == Some(1));
    assert!(!figures(&one).contains(" second\""));
}

/// What a hand on a slider waits for: one answer brings the curves that are in view, and all else can follow.
#[test]
fn the_answer_to_a_change_brings_the_curves_in_view() {
    let patient = Runner {
        moment: Duration::from_secs(60),
        ..quick()
    };
    let desk = Served::with(ROOM, patient);
    let first = desk.results(|results| results["variants"][0]["current"] == true);
    let change = |action: Value| {
        let body = json!({ "action": action, "in_view": ["co2", "no-such-figure"] });
        desk.post("do", &body).json()
    };
    let answer = change(json!({ "do": "slide", "variant": "A", "path": VOLUME, "value": 12.0, "gesture": "g" }));
    assert!(answer["state"].is_null(), "{answer}");
    let results = &answer["results"];
    assert_eq!(
        (&results["variants"][0]["current"], &results["in_view"]),
        (&json!(true), &json!(true))
    );
    let list = results["figures"].as_array().expect("figures");
    assert_eq!(list.iter().map(|figure| &figure["id"]).collect::<Vec<_>>(), ["co2"]);
    // Asked for all afterwards, the desk gives the same, and more.
    let all = desk.get("api/results").json();
    let drawn = all["figures"].as_array().expect("figures");
    assert!(drawn.len() > 5 && drawn.contains(&list[0]));
    assert!(!first["figures"].as_array().expect("figures").contains(&list[0]));
    assert_eq!(all["margins"], results["margins"]);
    // Who has these needs them no more.
    let has = all["drawn"].as_str().expect("a key");
    assert!(
        desk.get(&format!("api/results?drawn={has}")).json()["figures"].is_null(),
        "{has}"
    );
    // What is wrong is not waited for: the old curves, and why they stay.
    let answer = change(json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "12 m4" }));
    assert_eq!(
        answer["state"]["variants"][0]["faults"].as_array().map(Vec::len),
        Some(1)
    );
    assert_eq!(answer["results"]["figures"][0], list[0]);
    assert!(answer["results"]["variants"][0]["stays"].is_string());
    // A page that names no figures is not kept waiting.
    let undo = desk.change(&json!({ "do": "undo", "variant": "A" })).json();
    assert!(undo["results"].is_null());
}

/// A run that takes longer than a moment: its curves come when it has ended.
#[test]
fn an_answer_does_not_wait_for_a_slow_run() {
    let desk = odd_room();
    let slide = json!({ "do": "slide", "variant": "A", "path": VOLUME, "value": 14.0, "gesture": "g" });
    let answer = desk.post("do", &json!({ "action": slide, "in_view": ["co2"] })).json();
    assert!(answer["results"].is_null(), "{answer}");
    desk.results(|results| results["variants"][0]["current"] == true);
}

/// A run that panics where the room has 13 m3, and takes its time where it has 14.
fn odd(scenario: Arc<Scenario>) -> Result<Nominal, String> {
    let volume = scenario
        .resolved
        .iter()
        .find(|value| value.path == VOLUME)
        .expect("a volume");
    let m3 = volume.amount.expect("a number").si;
    assert!((m3 - 13.0).abs() > 1e-9, "this run panics on purpose");
    if (m3 - 14.0).abs() < 1e-9 {
        std::thread::sleep(Duration::from_millis(900));
    }
    work::nominal(scenario)
}

/// A desk with such runs, once the first has ended.
fn odd_room() -> Served {
    let runner = Runner {
        nominal: odd,
        ..quick()
    };
    let desk = Served::with(ROOM, runner);
    desk.results(|results| results["variants"][0]["current"] == true);
    desk
}

#[test]
fn a_run_that_panics_is_told_and_the_desk_lives_on() {
    let desk = odd_room();
    desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "13 m3" }));
    let told = desk.results(|results| results["variants"][0]["stays"].is_string());
    let why = told["variants"][0]["stays"].as_str().expect("why");
    assert!(why.contains("broke off"), "{why}");
    desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "15 m3" }));
    desk.results(|results| results["variants"][0]["current"] == true);
}

#[test]
fn what_ends_too_late_is_dropped_and_holds_nothing_up() {
    let desk = odd_room();
    for text in ["14 m3", "16 m3"] {
        desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": text }));
        std::thread::sleep(Duration::from_millis(60));
    }
    let began = std::time::Instant::now();
    let now = desk.results(|results| results["variants"][0]["current"] == true);
    assert!(
        began.elapsed() < Duration::from_millis(800),
        "it waited for a run that no one wants"
    );
    std::thread::sleep(Duration::from_millis(1000));
    let later = desk.results(|_| true);
    assert_eq!(
        later["margins"][0]["cells"][0]["margin"],
        now["margins"][0]["cells"][0]["margin"]
    );
}
