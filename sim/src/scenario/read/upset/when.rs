//! When a fault begins, how it grows, when it ends.

use crate::scenario::blueprint::Parts;
use crate::scenario::fields::Fields;
use crate::scenario::keys::What;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::upset::{EndsNums, OnsetNums, ShapeNums};
use crate::text::Value;
use crate::units::Time;

use super::super::median;
use super::super::tasks::{TaskRead, turn_of};
use super::faults::one_of;

/// The family of devices that get fresh canisters.
const SORBENT: &str = "sorbent";
/// The family of devices whose beds turn.
const SWING_BED: &str = "swing-bed";

const NOWHEN: OnsetNums = OnsetNums::At(Num::Fixed(f64::NAN));

/// When it begins.
pub(super) fn onset(r: &mut Reader<'_>, fields: &Fields<'_>, parts: &Parts, tasks: &[TaskRead]) -> OnsetNums {
    let device = fields.entry("running").map(|_| fields.name(r, "running"));
    let kind = one_of(r, fields, &["onset", "at", "turn"]);
    if kind == Some("at") && device.is_some() {
        let help = "a task starts and ends by the time of the run: remove it, or use `onset`";
        r.texts
            .fault(&fields.spot_of("running"), "`running` does not go with `at`", help);
    }
    match kind {
        Some("onset") => {
            let time = fields.number(r, "onset");
            match device {
                None => {
                    late(r, fields, parts, time);
                    OnsetNums::At(time)
                }
                Some(device) => OnsetNums::Ran {
                    device: device.unwrap_or(0),
                    time,
                },
            }
        }
        Some("at") => by_task(r, fields, tasks),
        Some("turn") => {
            let turn = fields.number(r, "turn");
            let Some(device) = device else {
                let help = "say whose turns count: running = \"beds\"";
                r.texts.fault(&fields.spot_of("turn"), "`turn` without `running`", help);
                return NOWHEN;
            };
            let Some(device) = device else { return NOWHEN };
            let beds = r.known.device_kinds.get(device).is_some_and(|k| k == SWING_BED);
            let cycle = parts.devices.get(device).is_some_and(|d| d.cycle.is_some());
            if !beds && !cycle {
                let message = format!("`{}` takes no turns", r.known.devices.list[device]);
                let help = "beds of kind swing-bed do, and a device with a `cycle`; use `onset` for operating time";
                r.texts.fault(&fields.spot_of("running"), message, help);
            }
            OnsetNums::Turn { device, turn }
        }
        _ => NOWHEN,
    }
}

/// Warns of one that begins after the end.
fn late(r: &mut Reader<'_>, fields: &Fields<'_>, parts: &Parts, onset: Num) {
    let Some(duration) = parts.duration else { return };
    let (onset, end) = (median(r, onset), median(r, duration));
    if onset >= end {
        let message = format!("on its median `{}` begins after the end of the run", fields.path);
        let help = format!(
            "that is at {}, and the run ends at {}",
            Time::from_seconds(onset),
            Time::from_seconds(end)
        );
        r.texts.warn(&fields.spot_of("onset"), message, help);
    }
}

/// At the start or the end of a task.
fn by_task(r: &mut Reader<'_>, fields: &Fields<'_>, tasks: &[TaskRead]) -> OnsetNums {
    let Some(at) = fields.sub(r, "at") else { return NOWHEN };
    let which = one_of(r, &at, &["start", "end"]);
    let plus = at.number(r, "plus");
    let Some(which) = which else { return NOWHEN };
    let Some(text) = at.text(r, which) else { return NOWHEN };
    let spot = at.spot_of(which);
    let Some((name, turn)) = turn_of(r, text, &spot) else {
        return NOWHEN;
    };
    if r.refer(What::Task, name, &spot).is_none() {
        return NOWHEN;
    }
    let Some(entry) = tasks.iter().position(|t| t.id == name) else {
        return NOWHEN;
    };
    let (task, turn) = (&tasks[entry], turn.unwrap_or(1));
    if turn > task.times {
        let help = match task.times {
            1 => "it is done once".to_owned(),
            n => format!("it has {n} turns; \"{name}#{n}\" names the last"),
        };
        r.texts.fault(&spot, format!("`{name}` has no turn {turn}"), help);
        return NOWHEN;
    }
    let before: usize = tasks[..entry].iter().map(|t| t.times as usize * t.copies()).sum();
    OnsetNums::Task {
        task: before + (turn as usize - 1) * task.copies(),
        start: which == "start",
        plus,
    }
}

/// How it grows.
pub(super) fn shape(r: &mut Reader<'_>, fields: &Fields<'_>) -> ShapeNums {
    let table = matches!(fields.entry("shape").map(|e| &e.node.value), Some(Value::Table(_)));
    if !table {
        fields.word(r, "shape");
        return ShapeNums::Step;
    }
    let Some(mut given) = fields.sub(r, "shape") else {
        return ShapeNums::Step;
    };
    let there = |name: &str| given.entry(name).is_some();
    let forms: [&[&str]; 4] = [&["ramp"], &["decay"], &["on", "off"], &["period", "duty"]];
    let found: Vec<&[&str]> = forms.into_iter().filter(|keys| keys.iter().any(|k| there(k))).collect();
    let [form] = found[..] else {
        let slips = forms.iter().any(|keys| keys.iter().any(|k| given.misspelt(k)));
        if !(found.is_empty() && slips) {
            let message = if found.is_empty() {
                "a shape without numbers"
            } else {
                "a shape of two forms"
            };
            let help = "it is \"step\", or has `ramp`, `decay`, `on` and `off`, or `period` and `duty`";
            r.texts.fault(&fields.spot_of("shape"), message, help);
        }
        return ShapeNums::Step;
    };
    for key in form {
        if given.entry(key).is_none() {
            given.missing(r, key);
        }
    }
    given.per_turn = form[0] == "on";
    let number = |r: &mut Reader<'_>, name: &str| given.number_if(r, name).unwrap_or(Num::Fixed(f64::NAN));
    match form[0] {
        "ramp" => ShapeNums::Ramp(number(r, "ramp")),
        "decay" => ShapeNums::Decay(number(r, "decay")),
        "on" => ShapeNums::Turns {
            on: number(r, "on"),
            off: number(r, "off"),
        },
        _ => ShapeNums::Rhythm {
            period: number(r, "period"),
            duty: number(r, "duty"),
        },
    }
}

/// When it ends of itself.
pub(super) fn ends(r: &mut Reader<'_>, fields: &Fields<'_>) -> EndsNums {
    let Some(given) = fields.sub(r, "ends") else {
        return EndsNums::Never;
    };
    match one_of(r, &given, &["after", "fresh"]) {
        Some("after") => EndsNums::After(given.number(r, "after")),
        Some(_) => {
            let Some(device) = given.name(r, "fresh") else {
                return EndsNums::Never;
            };
            let kind = r.known.device_kinds.get(device).cloned().unwrap_or_default();
            if kind != SORBENT {
                let message = format!("`{}` gets no fresh canister", r.known.devices.list[device]);
                let help = format!("it is of kind {kind}; canisters are those of kind {SORBENT}");
                r.texts.fault(&given.spot_of("fresh"), message, help);
            }
            EndsNums::Fresh(device)
        }
        None => EndsNums::Never,
    }
}
