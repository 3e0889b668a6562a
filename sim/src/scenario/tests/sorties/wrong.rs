//! Sorties that end badly, told before they are run.

use super::*;

#[test]
fn a_sortie_that_goes_right_reads() {
    let scenario = good(&sortie(), &[]);
    assert_eq!(scenario.names.tasks.len(), 5);
    // The second may stay in the cabin meanwhile: the hatch is closed.
    let alone = sortie().replace("\"lead\", \"second\"", "\"lead\"");
    good(&alone, &[]);
}

#[test]
fn whoever_is_where_gas_is_let_out_must_be_suited() {
    let off = sortie().replacen("suit = \"pressurised\"\nafter = [\"don\"]", "after = [\"don\"]", 1);
    assert_eq!(
        bad(&off, &[]),
        [
            "`lock` is vented to 0 kPa with `lead` in it with the suit off",
            "`lock` is vented to 0 kPa with `second` in it with the suit off"
        ]
    );
    let closed = sortie().replacen(
        "suit = \"pressurised\"\nafter = [\"don\"]",
        "suit = \"closed\"\nafter = [\"don\"]",
        1,
    );
    assert!(bad(&closed, &[])[0].ends_with("in a suit that is not pressurised"));
    // A hatch that stays open lets the cabin's air out too.
    let alone = sortie().replace("\"lead\", \"second\"", "\"lead\"");
    let open = alone.replace("{ close = \"inner\" }, { vent", "{ vent");
    assert_eq!(
        bad(&open, &[]),
        ["`lock` is vented to 0 kPa with `second` in `cabin`, which is joined to it, with the suit off"]
    );
    // Someone who comes in between vent and fill.
    let visit = format!(
        "{alone}{}",
        task("visit", "at = \"3 h 30 min\"").replace("[\"lead\", \"second\"]", "[\"second\"]")
    );
    assert_eq!(
        bad(&visit, &[]),
        ["`lock` is vented to 0 kPa with `second` in it with the suit off"]
    );
    good(&visit.replace("3 h 30 min", "5 h 30 min"), &[]);
    // Above what can be survived no one is asked for a suit.
    good(
        &off,
        &[
            "tasks.depress.ends=[]",
            "tasks.depress.starts=[{ vent = \"lock\", to = \"25 kPa\", over = \"10 min\" }]",
        ],
    );
}

/// Nobody is hurt by it, so it is a warning: the gas of the cabin goes with that of the lock.
#[test]
fn a_room_let_out_through_a_hatch_that_was_left_open_is_told() {
    let told = |text: &str| {
        let warnings = good(text, &[]).warnings;
        let told = warnings.iter().map(|w| w.message.clone());
        told.filter(|message| message.contains("let out")).collect::<Vec<_>>()
    };
    assert!(told(&sortie()).is_empty());
    let open = sortie().replace("{ close = \"inner\" }, { vent", "{ vent");
    assert_eq!(
        told(&open),
        ["`cabin` is let out with `lock`: the hatches between them are open"]
    );
}

#[test]
fn a_hatch_onto_the_vacuum_opens_only_on_a_vacuum() {
    let text = sortie();
    let never = text.replace(", { vent = \"lock\", to = \"0 kPa\", over = \"10 min\" }", "");
    assert_eq!(bad(&never, &[]), ["this opens onto the vacuum outside"]);
    let early = text.replace(
        "{ close = \"inner\" }, { vent",
        "{ close = \"inner\" }, { open = \"outer\" }, { vent",
    );
    assert_eq!(
        bad(&early, &[]),
        ["this opens onto the vacuum outside, and `lock` is not vented"]
    );
    let late = text.replace("to = \"0 kPa\", over = \"10 min\"", "to = \"0 kPa\", over = \"2 h\"");
    assert_eq!(
        bad(&late, &[]),
        ["this opens onto the vacuum outside, and `lock` is not vented"]
    );
    let gaping = text.replace("\nends = [{ close = \"outer\" }]", "");
    assert_eq!(
        bad(&gaping, &[]),
        ["gas is let in while `outer` is open onto the vacuum"]
    );
}

#[test]
fn lasting_ends_keep_their_people() {
    // The task ends with its vent, whatever it takes; then the hatch is opened at once.
    let text = format!(
        "{BASE}{}{}",
        task(
            "depress",
            "suit = \"pressurised\"\nends = [{ close = \"inner\" }, { vent = \"lock\", to = \"0 kPa\", over = \"2 h\" }, { open = \"outer\" }]"
        ),
        task("out", "after = [\"depress\"]").replace("in = \"lock\"", "in = \"outside\"")
    );
    let scenario = good(&text, &[]);
    assert_eq!(scenario.draw(&Medians).case.plan.tasks[1].place, Place::Outside);
    assert_eq!(bad(&text, &["tasks.depress.suit=off"]).len(), 2);
}

#[test]
fn wrong_effects_are_told() {
    for (effect, messages) in [
        (
            "{ vent = \"lock\", open = \"inner\" }",
            &["an effect does one thing: this one has `open` and `vent`"][..],
        ),
        ("{ over = \"10 min\" }", &["an effect that does nothing"]),
        (
            "{ vent = \"lock\" }",
            &["`vent` does not say to which pressure", "`vent` does not say how fast"],
        ),
        (
            "{ vent = \"lock\", to = \"30 kPa\", over = \"10 min\", area = \"1 cm2\" }",
            &["`vent` has both `over` and `area`"],
        ),
        (
            "{ vent = \"lock\", to = \"30 kPa\", over = \"10 min\", oxygen = \"34 %\" }",
            &["`oxygen` does not go with `vent`"],
        ),
        (
            "{ open = \"inner\", to = \"30 kPa\" }",
            &["`to` does not go with `open`"],
        ),
        (
            "{ fill = \"loc\", to = \"57 kPa\", over = \"1 min\" }",
            &["there is no compartment `loc`"],
        ),
        (
            "{ fill = \"lock\", to = \"0 kPa\", over = \"1 min\" }",
            &["a fill to no pressure at all"],
        ),
        (
            "{ fill = \"lock\", to = \"57 kPa\", over = \"1 min\", from = [\"oxygen\", \"pack\"] }",
            &["`oxygen` and `pack` hold the same gas"],
        ),
        (
            "{ fill = \"lock\", to = \"57 kPa\", over = \"1 min\", from = [\"oxygen\"] }",
            &["no tank of `from` holds diluent, and 66 % of the gas is that"],
        ),
        (
            "{ fill = \"lock\", to = \"57 kPa\", over = \"1 min\", from = [\"nitrogn\"] }",
            &["there is no tank `nitrogn`"],
        ),
        ("{ recharge = \"third\" }", &["there is no suit `third`"]),
    ] {
        assert_eq!(bad(&doing(&format!("ends = [{effect}]")), &[]), messages, "{effect}");
    }
}

#[test]
fn what_is_assumed_of_a_sortie_is_told() {
    let text =
        doing("starts = [{ close = \"inner\" }]\nends = [{ fill = \"lock\", to = \"57 kPa\", over = \"1 min\" }]")
            .replace("duration = \"1 h\"", "duration = { tissue_ratio = 1.3 }");
    let scenario = good(&text, &[]);
    let told = |path: &str| {
        scenario
            .resolved
            .iter()
            .find(|r| r.path == path)
            .map(|r| (r.written.clone(), r.si.clone()))
    };
    let words = |path: &str| told(path).map(|(written, _)| written);
    assert_eq!(
        words("suits.second.tank").as_deref(),
        Some("an unlimited supply that is counted")
    );
    assert_eq!(words("suits.second.temperature").as_deref(), Some("that of [air]"));
    assert_eq!(words("crew.lead.tissue_diluent").as_deref(), Some("60 kPa"));
    assert_eq!(
        words("crew.second.tissue_diluent").as_deref(),
        Some("that of the air they start in")
    );
    assert_eq!(
        words("tanks.pack.supply_pressure").as_deref(),
        Some("all of it can be used")
    );
    assert_eq!(words("tasks.t.ends.1.oxygen").as_deref(), Some("that of [air]"));
    assert_eq!(words("tasks.t.ends.1.over").as_deref(), Some("1 min"));
    // The length that the medians come to.
    let length = scenario.draw(&Medians).case.plan.tasks[0].duration;
    assert_eq!(
        told("tasks.t.duration"),
        Some(("pre-breathe".to_owned(), length.to_string()))
    );
    let none = good(&text, &["crew.lead.tissue_diluent=30 kPa"]);
    assert!(none.warnings.iter().any(|w| w.message.contains("takes no time")));
}
