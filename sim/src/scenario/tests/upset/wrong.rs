//! What is wrong with faults, sensors, alarms and responses.

use super::*;

/// What is said of these sections beside those of the cabin.
fn said(more: &str) -> Vec<String> {
    bad(&with(&format!("{CABIN}{SENSORS}{more}")), &[])
}

/// What is said of a fault with these keys.
fn of_fault(keys: &str) -> Vec<String> {
    said(&format!("[[faults]]\nid = \"f\"\n{keys}\n"))
}

#[test]
fn paths_that_lead_to_nothing_are_told() {
    let text = with(&format!(
        "{CABIN}[[faults]]\nid = \"f\"\non = \"removal.scrubber.co2_eficiency\"\nfactor = 0.5\nonset = \"1 h\"\n"
    ));
    let faults = try_read(&text, &[]).expect_err("it reads");
    assert_eq!(
        faults[0].message,
        "`removal.scrubber.co2_eficiency` is nothing that a fault can change"
    );
    assert_eq!(
        faults[0].help.as_deref(),
        Some("did you mean `removal.scrubber.co2_efficiency`?")
    );
    for path in [
        "removal",
        "tasks.work.duration",
        "",
        "alarms.x.sensor",
        "compartments.cabin.relief",
    ] {
        let found = of_fault(&format!("on = \"{path}\"\nmode = \"off\"\nonset = \"1 h\""));
        assert_eq!(found.len(), 1, "{path}: {found:?}");
    }
}

#[test]
fn what_does_not_go_together_is_told() {
    for (keys, messages) in [
        (
            "on = \"removal.beds\"",
            &[
                "`faults.f` has none of `factor`, `adds`, `to`, `mode`",
                "`faults.f` has none of `onset`, `at`, `turn`",
            ][..],
        ),
        (
            "on = \"removal.beds\"\nfactor = 0.5\nmode = \"off\"\nonset = \"1 h\"\nturn = 2",
            &[
                "`faults.f` has both `factor` and `mode`",
                "`faults.f` has both `onset` and `turn`",
            ],
        ),
        (
            "on = \"removal.beds\"\nto = 0.5\nonset = \"1 h\"",
            &["`to` does not go with `removal.beds`"],
        ),
        (
            "on = \"removal.coil.coil_temperature\"\nfactor = 0.5\nonset = \"1 h\"",
            &["`factor` does not go with `removal.coil.coil_temperature`"],
        ),
        (
            "on = \"removal.coil.power\"\nto = \"20 W\"\nonset = \"1 h\"",
            &["`to` does not go with `removal.coil.power`"],
        ),
        (
            "on = \"sensors.co2_a.drift\"\nfactor = 2\nonset = \"1 h\"",
            &["`factor` does not go with `sensors.co2_a.drift`"],
        ),
        (
            "on = \"openings.hatch\"\nfactor = 0.5\nonset = \"1 h\"",
            &["`openings.hatch` is no number"],
        ),
        (
            "on = \"removal.scrubber\"\nmode = \"stuck\"\nonset = \"1 h\"",
            &["`removal.scrubber` cannot be \"stuck\""],
        ),
        (
            "on = \"removal.beds.flow\"\nmode = \"off\"\nonset = \"1 h\"",
            &["`removal.beds.flow` cannot be \"off\""],
        ),
        (
            "on = \"removal.scrubber\"\nmode = \"off\"\nbed = 1\nreads = \"1 mmHg\"\nonset = \"1 h\"",
            &[
                "`bed` is of a pair of beds that is stuck",
                "`reads` is of a sensor that is stuck",
            ],
        ),
        (
            "on = [\"removal.beds.flow\", \"removal.beds.bed\"]\nto = \"0.1 m3/min\"\nonset = \"1 h\"",
            &["`removal.beds.bed` is a mass, the one before it a volume flow"],
        ),
        (
            "on = \"control.cabin.oxygen.hold\"\nadds = \"-1 kPa\"\nonset = \"1 h\"\nshape = { ramp = \"1 h\" }",
            &["`control.cabin.oxygen.hold` cannot change like that"],
        ),
        (
            "on = \"tanks.oxygen.amount\"\nfactor = 0.5\nonset = \"1 h\"\nshape = { on = \"1 h\", off = \"1 h\" }",
            &["`tanks.oxygen.amount` cannot change like that"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nonset = \"1 h\"\nshape = { decay = \"1 h\" }",
            &["what breaks does not break by degrees"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nturn = 3",
            &["`turn` without `running`"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nturn = 3\nrunning = \"coil\"",
            &["`coil` takes no turns"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nat = { start = \"work#4\" }",
            &["`work` has no turn 4"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nat = { start = \"wrok\" }",
            &["there is no task `wrok`"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nat = { plus = \"1 h\" }",
            &["`faults.f.at` has none of `start`, `end`"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nonset = \"1 h\"\nends = { fresh = \"beds\" }",
            &["`beds` gets no fresh canister"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nonset = \"1 h\"\nshape = { ramp = \"1 h\", decay = \"1 h\" }",
            &["a shape of two forms"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nonset = \"1 h\"\nshape = { on = \"1 h\" }",
            &["`faults.f.shape` has no `off`"],
        ),
        (
            "on = \"removal.beds\"\nmode = \"off\"\nonset = \"1 h\"\nshape = \"slow\"",
            &["`slow` is not a word for `shape`"],
        ),
        ("on = []\nmode = \"off\"\nonset = \"1 h\"", &["`on` is empty"]),
        (
            "on = 3\nmode = \"off\"\nonset = \"1 h\"",
            &["`on` takes text, not a whole number"],
        ),
    ] {
        assert_eq!(of_fault(keys), messages, "{keys}");
    }
}

#[test]
fn a_spread_that_leaves_the_domain_of_what_it_changes_is_told() {
    let keys = "on = \"sensors.co2_a.gain\"\nto = { normal = [1, 0.5] }\nonset = \"1 h\"";
    assert!(of_fault(keys)[0].contains("lies where `to` cannot be"));
    assert_eq!(
        of_fault("on = \"removal.beds.flow\"\nto = \"3 kg\"\nonset = \"1 h\"").len(),
        1
    );
}

#[test]
fn wrong_alarms_are_told() {
    for (keys, messages) in [
        ("watches = \"cabin.co2\"", &["`alarms.a` has no set point"][..]),
        ("above = \"4 mmHg\"", &["`alarms.a` watches nothing"]),
        (
            "watches = \"cabin.noise\"\nabove = \"4 mmHg\"",
            &["`noise` is nothing that a sensor reads"],
        ),
        (
            "watches = \"suit:lead.co2\"\nabove = \"4 mmHg\"",
            &["there is no compartment `suit:lead`"],
        ),
        (
            "watches = \"cabin.co2\"\nabove = \"4 mmHg\"\nclears_below = \"5 mmHg\"",
            &["it would clear at 5 mmHg, where it is still on"],
        ),
        (
            "watches = \"cabin.oxygen\"\nbelow = \"17 kPa\"\nclears_above = \"16 kPa\"",
            &["it would clear at 16 kPa, where it is still on"],
        ),
        (
            "watches = \"cabin.co2\"\nabove = \"4 mmHg\"\nclears_above = \"5 mmHg\"",
            &["`clears_above` does not go with `above`"],
        ),
        (
            "watches = \"cabin.temperature\"\nabove = \"4 mmHg\"",
            &["`mmHg` measures a pressure"],
        ),
        (
            "sensors = [\"co2_a\", \"co2_b\"]\nvotes = 3\nabove = \"4 mmHg\"",
            &["3 votes of 2 sensors"],
        ),
        ("sensors = []\nabove = \"4 mmHg\"", &["an alarm without sensors"]),
        (
            "sensors = [\"co2_c\"]\nabove = \"4 mmHg\"",
            &["there is no sensor `co2_c`"],
        ),
    ] {
        let found = said(&format!("[[alarms]]\nid = \"a\"\n{keys}\n"));
        assert_eq!(found, messages, "{keys}");
    }
    let more = "[sensors.slow]\nwatches = \"cabin.co2\"\nevery = \"1 min\"\n[[alarms]]\nid = \"a\"\nsensors = [\"co2_a\", \"slow\"]\nabove = \"4 mmHg\"\n";
    assert_eq!(said(more), ["`co2_a` is read every 30 s and `slow` every 60 s"]);
}

#[test]
fn wrong_responses_are_told() {
    let of = |keys: &str| {
        said(&format!(
            "[[alarms]]\nid = \"a\"\nwatches = \"cabin.co2\"\nabove = \"4 mmHg\"\nresponse = {{ {keys} }}\n"
        ))
    };
    for (keys, messages) in [
        ("by = \"any\"", &["`alarms.a.response` has no `reaction`"][..]),
        ("by = \"thrid\", reaction = \"1 min\"", &["there is no person `thrid`"]),
        ("by = [], reaction = \"1 min\"", &["`by` names no one"]),
        ("reaction = \"1 min\", in = \"outside\"", &["a response is done inside"]),
        (
            "reaction = \"1 min\", chance = \"50 %\"",
            &["`chance` is that of a repair, and nothing is repaired"],
        ),
        (
            "reaction = \"1 min\", does = [{ recall = \"all\" }]",
            &["`recall` does not say how long the way back takes"],
        ),
        (
            "reaction = \"1 min\", does = [{ repair = \"f\" }]",
            &["there is no fault `f`"],
        ),
        (
            "reaction = \"1 min\", does = [{ swap = \"beds\" }]",
            &["`swap` does not say to which device"],
        ),
        (
            "reaction = \"1 min\", does = [{ swap = \"beds\", to = \"beds\" }]",
            &["a device is swapped for itself"],
        ),
        (
            "reaction = \"1 min\", does = [{ wear = \"closed\" }]",
            &["no one has a suit"],
        ),
        (
            "reaction = \"1 min\", does = [{ masks = \"on\", who = [] }]",
            &["`who` names no one"],
        ),
        (
            "reaction = \"1 min\", does = [{ ease = \"rest\", within = \"1 min\" }]",
            &["`within` does not go with `ease`"],
        ),
    ] {
        assert_eq!(of(keys), messages, "{keys}");
    }
}

#[test]
fn a_leak_by_a_fault_is_a_choked_one() {
    let room = "[outside]\npressure = \"56.5 kPa\"\noxygen = \"21 %\"\nco2 = \"0.3 mmHg\"\n";
    let fault = |key: &str, value: &str| {
        format!("{room}[[faults]]\nid = \"f\"\non = \"compartments.cabin.{key}\"\nto = \"{value}\"\nonset = \"1 h\"\n")
    };
    assert_eq!(
        bad(&with(&fault("leak", "1 kg/d")), &[]),
        ["a leak against 56.5 kPa outside is not choked"]
    );
    good(&with(&fault("leak_area", "1 mm2")), &[]);
}

#[test]
fn ids_are_told_if_they_are_there_twice() {
    let fault = "[[faults]]\nid = \"f\"\non = \"removal.beds\"\nmode = \"off\"\nonset = \"1 h\"\n";
    assert_eq!(said(&format!("{fault}{fault}")), ["there is another fault `f`"]);
    let many: String = (0..101).map(|n| fault.replace("\"f\"", &format!("\"f{n}\""))).collect();
    assert_eq!(said(&many), ["101 faults: at most 100 can be simulated"]);
}
