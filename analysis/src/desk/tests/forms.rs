//! Forms: values with their spreads, faults at their fields, sliders, steps back.

use serde_json::{Value, json};

use super::super::forms;
use super::super::state::{Action, Desk};
use super::super::work::Runner;
use super::support::{field, reads, shipped};
use breathroom_sim::scenario;
use std::path::PathBuf;
use std::sync::Arc;

fn desk(text: &str) -> Arc<Desk> {
    Desk::new(
        PathBuf::new(),
        Some("a.toml".to_owned()),
        text.to_owned(),
        reads,
        Runner::default(),
    )
}

fn sortie() -> Arc<Desk> {
    let all = shipped();
    desk(
        &all.iter()
            .find(|(name, _)| name == "two-crew-sortie.toml")
            .expect("it is shipped")
            .1,
    )
}

fn act(desk: &Arc<Desk>, action: Value) -> Value {
    let action: Action = serde_json::from_value(action).expect("an action");
    desk.act(action).expect("done");
    forms::json(&desk.lock())
}

const VOLUME: &str = "compartments.cabin.free_volume";

#[test]
fn a_field_has_its_meaning_its_unit_and_of_a_spread_the_range() {
    let state = forms::json(&sortie().lock());
    let volume = field(&state, VOLUME);
    assert_eq!(volume["takes"], "volume, at least 0.001 m3");
    let spread = volume["cells"][0]["spread"].as_str().expect("a spread");
    assert!(spread.starts_with("median 11.5, 5-95 % 10.84 to 12.16 m3"), "{spread}");
    let duration = field(&state, "tasks.don.duration")["cells"][0]["spread"]
        .as_str()
        .expect("a spread");
    assert!(duration.ends_with("anew in every turn"), "{duration}");
    assert_eq!(
        field(&state, "compartments.cabin.walls.area")["cells"][0]["text"],
        "26 m2"
    );
    let oxygen = field(&state, "control.cabin.oxygen.hold");
    assert!(
        oxygen["note"]
            .as_str()
            .expect("a note")
            .contains("where two people don")
    );
    let parts: Vec<&str> = state["parts"]
        .as_array()
        .expect("parts")
        .iter()
        .filter_map(|part| part["path"].as_str())
        .collect();
    assert_eq!(
        parts[..5],
        [
            "",
            "air",
            "compartments.cabin",
            "compartments.lock",
            "openings.inner_hatch"
        ]
    );
    assert!(
        state["parts"][0]["note"]
            .as_str()
            .expect("a note")
            .contains("all invented for this example")
    );
}

#[test]
fn a_fault_stands_at_its_field_with_the_words_of_check() {
    let desk = sortie();
    let wrong = "11.5 m4";
    let state = act(
        &desk,
        json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": wrong }),
    );
    let volume = field(&state, VOLUME);
    assert_eq!(volume["cells"][0]["text"], wrong);
    let text = desk.lock().variants[0].document.text.clone();
    let files = |_: &str| Err(String::new());
    let source = scenario::Source {
        name: "a.toml",
        text: &text,
        overrides: &[],
        files: &files,
    };
    let faults = scenario::read(&source).expect_err("a wrong unit");
    assert_eq!(faults.len(), 1);
    assert_eq!(volume["cells"][0]["faults"][0]["message"], faults[0].message);
    assert_eq!(
        volume["cells"][0]["faults"][0]["help"],
        faults[0].help.clone().unwrap_or_default()
    );
    assert_eq!(state["variants"][0]["faults"].as_array().map(Vec::len), Some(1));
    // A name that is gone is told where it is used; what is missing at its table; the rest on top.
    let state = act(&desk, json!({ "do": "remove", "variant": "A", "path": VOLUME }));
    let part = state["parts"]
        .as_array()
        .expect("parts")
        .iter()
        .find(|part| part["path"] == "compartments.cabin");
    let told = part.expect("the cabin")["faults"][0][0]["message"]
        .as_str()
        .expect("a fault")
        .to_owned();
    assert_eq!(told, "`compartments.cabin` has no `free_volume`");
    let state = act(
        &desk,
        json!({ "do": "edit", "variant": "A", "path": "tasks.out.effort", "text": "nothing" }),
    );
    let told = field(&state, "tasks.out.effort")["cells"][0]["faults"][0]["message"].clone();
    assert_eq!(told, "there is no effort `nothing`");
    let state = act(&desk, json!({ "do": "remove-table", "variant": "A", "path": "air" }));
    let nowhere: Vec<&Value> = state["variants"][0]["faults"]
        .as_array()
        .expect("faults")
        .iter()
        .filter(|fault| fault["at"].is_null())
        .collect();
    assert!(
        nowhere.iter().any(|fault| fault["message"] == "the file has no `air`"),
        "{nowhere:?}"
    );
}

#[test]
fn a_data_file_outside_of_the_folder_is_told_at_its_field() {
    let desk = sortie();
    let text = "{ data = \"../../etc/passwd\", column = \"x\" }";
    let state = act(
        &desk,
        json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": text }),
    );
    let fault = &field(&state, VOLUME)["cells"][0]["faults"][0];
    let told = format!("{} {}", fault["message"], fault["help"]);
    assert!(told.contains("does not lie below the folder"), "{told}");
}

#[test]
fn sliders_are_of_what_matters_and_keep_the_spread() {
    let desk = sortie();
    let state = forms::json(&desk.lock());
    let paths: Vec<&str> = state["sliders"]
        .as_array()
        .expect("sliders")
        .iter()
        .filter_map(|one| one["path"].as_str())
        .collect();
    assert_eq!(
        paths,
        [
            VOLUME,
            "compartments.lock.free_volume",
            "removal.scrubber.flow",
            "removal.scrubber.co2_efficiency",
            "removal.scrubber.water_efficiency",
            "removal.coil.flow",
            "crew.second.mass",
            "efforts.sampling.power",
        ]
    );
    let volume = &state["sliders"][0];
    assert_eq!(volume["cells"][0]["keeps"], "scaled");
    let ends = [&volume["range"][0], &volume["range"][1]].map(|end| end.as_f64().expect("a number"));
    assert!(
        ends[0] < 10.6 && ends[0] > 8.0 && ends[1] > 12.4 && ends[1] < 15.0,
        "{ends:?}"
    );
    let efficiency = &state["sliders"][3]["range"];
    assert!(efficiency[1].as_f64().expect("a number") <= 100.0, "{efficiency}");
    for value in [11.6, 12.0, 23.0] {
        act(
            &desk,
            json!({ "do": "slide", "variant": "A", "path": VOLUME, "value": value, "gesture": "one" }),
        );
    }
    let text = "{ normal = [\"23 m3\", \"0.8 m3\"], within = [\"20 m3\", \"26 m3\"] }";
    let state = forms::json(&desk.lock());
    assert_eq!(field(&state, VOLUME)["cells"][0]["text"], text);
    assert_eq!(state["variants"][0]["undo"], 1, "one movement is one step");
    let state = act(&desk, json!({ "do": "undo", "variant": "A" }));
    assert_eq!(state["variants"][0]["unsaved"], false);
    assert_eq!(
        (&state["variants"][0]["undo"], &state["variants"][0]["redo"]),
        (&json!(0), &json!(1))
    );
    let state = act(&desk, json!({ "do": "redo", "variant": "A" }));
    assert_eq!(field(&state, VOLUME)["cells"][0]["text"], text);
}

#[test]
fn any_number_can_be_put_at_hand_and_away_and_nothing_else() {
    let desk = sortie();
    let path = "compartments.cabin.walls.cold_spot";
    let state = act(&desk, json!({ "do": "pin", "path": path, "pinned": true }));
    assert_eq!(state["sliders"].as_array().map(Vec::len), Some(9));
    let state = act(
        &desk,
        json!({ "do": "slide", "variant": "A", "path": path, "value": 12.5, "gesture": "g" }),
    );
    assert_eq!(field(&state, path)["cells"][0]["text"], "12.5 degC");
    let state = act(&desk, json!({ "do": "pin", "path": path, "pinned": false }));
    assert_eq!(state["sliders"].as_array().map(Vec::len), Some(8));
    for path in ["title", "tasks.don.crew", "no.such.thing"] {
        let action = serde_json::from_value(json!({ "do": "pin", "path": path, "pinned": true })).expect("an action");
        assert!(desk.act(action).is_err(), "{path}");
        let slide = json!({ "do": "slide", "variant": "A", "path": path, "value": 1.0, "gesture": "g" });
        assert!(
            desk.act(serde_json::from_value(slide).expect("an action")).is_err(),
            "{path}"
        );
    }
    // Beyond what is possible: refused by the reader, as typed.
    let far = json!({ "do": "slide", "variant": "A", "path": "removal.scrubber.water_efficiency", "value": 140.0, "gesture": "h" });
    let state = act(&desk, far);
    assert_eq!(
        field(&state, "removal.scrubber.water_efficiency")["cells"][0]["faults"]
            .as_array()
            .map(Vec::len),
        Some(1)
    );
}

#[test]
fn two_variants_stand_side_by_side_and_differ_where_they_do() {
    let desk = sortie();
    act(&desk, json!({ "do": "copy" }));
    let edit = json!({ "do": "edit", "variant": "B", "path": VOLUME, "text": "13 m3" });
    let state = act(&desk, edit);
    let volume = field(&state, VOLUME);
    assert_eq!(
        (&volume["differs"], &volume["cells"][1]["text"]),
        (&json!(true), &json!("13 m3"))
    );
    assert_eq!(field(&state, "air.pressure")["differs"], false);
    let state = act(&desk, json!({ "do": "remove", "variant": "B", "path": "air.humidity" }));
    let humidity = field(&state, "air.humidity");
    assert!(humidity["differs"] == true && humidity["cells"][1].is_null() && humidity["cells"][0]["text"] == "45 %");
    let state = act(&desk, json!({ "do": "undo", "variant": "B" }));
    assert_eq!(field(&state, "air.humidity")["differs"], false);
    let state = act(&desk, json!({ "do": "promote" }));
    assert_eq!(state["variants"].as_array().map(Vec::len), Some(1));
    assert_eq!(field(&state, VOLUME)["cells"][0]["text"], "13 m3");
    let state = act(&desk, json!({ "do": "undo", "variant": "A" }));
    assert!(
        field(&state, VOLUME)["cells"][0]["text"]
            .as_str()
            .expect("text")
            .contains("11.5 m3")
    );
    let gone = serde_json::from_value(json!({ "do": "drop" })).expect("an action");
    assert!(desk.act(gone).is_err());
}
