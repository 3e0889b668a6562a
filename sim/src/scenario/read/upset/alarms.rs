//! `[[alarms]]`.

use crate::limits::{Bound, Quantity};
use crate::scenario::blueprint::Parts;
use crate::scenario::fields::Fields;
use crate::scenario::keys::ALARM;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::upset::AlarmNums;
use crate::units::{figures, show};
use crate::upset::Grade;

use super::super::limits::domain_of;
use super::response::{self, ResponseRead};
use super::sensors;

/// Reads the alarms; back come their responses, each with its alarm.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts) -> Vec<(usize, ResponseRead)> {
    let mut responses = Vec::new();
    for (node, table) in root.tables(r, "alarms") {
        let id = table.get("id").and_then(|e| e.node.text()).unwrap_or("");
        let path = if id.is_empty() {
            "alarms".to_owned()
        } else {
            format!("alarms.{id}")
        };
        let fields = Fields::new(r, &ALARM, table, &path, &node.spot);
        fields.text(r, "id");
        let mut alarm = one(r, &fields, parts);
        if let Some(given) = fields.sub(r, "response") {
            let (nums, read) = response::read(r, given, parts);
            alarm.response = Some(nums);
            responses.push((parts.alarms.len(), read));
        }
        parts.alarms.push(alarm);
    }
    responses
}

fn one(r: &mut Reader<'_>, fields: &Fields<'_>, parts: &mut Parts) -> AlarmNums {
    let (sensors, quantity) = sensors_of(r, fields, parts);
    let votes = votes(r, fields, sensors.len());
    let bound = bound(r, fields);
    let mut set = Num::Fixed(f64::NAN);
    let mut clears = None;
    if let (Some((name, bound)), Some(quantity)) = (bound, quantity) {
        let number =
            |r: &mut Reader<'_>, name: &str| fields.number_in(r, name, quantity.dimension(), domain_of(quantity), true);
        let given = number(r, name);
        set = given.map_or(set, |n| n.num);
        let (right, wrong) = match bound {
            Bound::AtMost => ("clears_below", "clears_above"),
            Bound::AtLeast => ("clears_above", "clears_below"),
        };
        if fields.entry(wrong).is_some() {
            let message = format!("`{wrong}` does not go with `{name}`");
            r.texts.fault(&fields.spot_of(wrong), message, format!("use `{right}`"));
        }
        if fields.entry(right).is_some() {
            let read = number(r, right);
            clears = Some(read.map_or(Num::Fixed(f64::NAN), |n| n.num));
            if let (Some(at), Some(set)) = (read, given) {
                let beyond = match bound {
                    Bound::AtMost => at.median > set.median,
                    Bound::AtLeast => at.median < set.median,
                };
                if beyond {
                    let message = format!("it would clear at {}, where it is still on", show(at.median, at.unit));
                    let side = if bound == Bound::AtMost { "at most" } else { "at least" };
                    let help = format!("`{right}` is {side} the set point, {}", show(set.median, set.unit));
                    r.texts.fault(&fields.spot_of(right), message, help);
                }
            }
        }
    }
    let lasts = fields.number(r, "for");
    let grade = match fields.word(r, "level") {
        Some("caution") => Grade::Caution,
        _ => Grade::Warning,
    };
    AlarmNums {
        sensors,
        votes,
        bound: bound.map_or(Bound::AtMost, |(_, bound)| bound),
        set,
        lasts,
        clears,
        grade,
        response: None,
    }
}

/// Its sensors by index, and what they read.
fn sensors_of(r: &mut Reader<'_>, fields: &Fields<'_>, parts: &mut Parts) -> (Vec<usize>, Option<Quantity>) {
    let nothing = (Vec::new(), None);
    match (fields.entry("watches"), fields.entry("sensors")) {
        (Some(_), Some(_)) => {
            let message = format!("`{}` has both `watches` and `sensors`", fields.path);
            let help = "`sensors` say what they watch: remove one of the two";
            r.texts.fault(&fields.spot_of("sensors"), message, help);
            nothing
        }
        (None, None) => {
            if !fields.misspelt("watches") && !fields.misspelt("sensors") {
                let message = format!("`{}` watches nothing", fields.path);
                let help = "add e.g. watches = \"cabin.co2\", or name `sensors`";
                r.texts.fault(&fields.spot, message, help);
            }
            nothing
        }
        (Some(_), None) => {
            let Some((compartment, quantity)) = sensors::watches(r, fields) else {
                return nothing;
            };
            let nums = match fields.sub(r, "sensor") {
                Some(own) => sensors::numbers(r, &own, compartment, quantity),
                None => {
                    let path = fields.path_of("sensor");
                    r.assume(
                        path.clone(),
                        "a perfect sensor, every 30 s",
                        String::new(),
                        "assumption",
                        false,
                    );
                    sensors::perfect(path, compartment, quantity)
                }
            };
            parts.sensors.push(nums);
            (vec![parts.sensors.len() - 1], Some(quantity))
        }
        (None, Some(entry)) => {
            if fields.entry("sensor").is_some() {
                let help = "each of the `sensors` has a table of its own, `[sensors.NAME]`";
                r.texts
                    .fault(&fields.spot_of("sensor"), "`sensor` does not go with `sensors`", help);
            }
            let before = r.texts.faults.len();
            let list = fields.indices(r, "sensors");
            if list.is_empty() && r.texts.faults.len() == before {
                r.texts
                    .fault(&entry.node.spot, "an alarm without sensors", "name at least one");
            }
            let quantity = alike(r, fields, parts, &list);
            (list, quantity)
        }
    }
}

/// Sensors that vote read the same quantity at the same times.
fn alike(r: &mut Reader<'_>, fields: &Fields<'_>, parts: &Parts, list: &[usize]) -> Option<Quantity> {
    let first = parts.sensors.get(*list.first()?)?;
    for index in &list[1..] {
        let Some(other) = parts.sensors.get(*index) else {
            continue;
        };
        let (a, b) = (&r.known.sensors.list[list[0]], &r.known.sensors.list[*index]);
        let message = if other.quantity != first.quantity {
            format!(
                "`{a}` reads {} and `{b}` reads {}",
                first.quantity.name(),
                other.quantity.name()
            )
        } else if other.every_s != first.every_s {
            format!(
                "`{a}` is read every {} s and `{b}` every {} s",
                figures(first.every_s, 4),
                figures(other.every_s, 4)
            )
        } else {
            continue;
        };
        let help = "sensors that vote read the same quantity at the same times";
        r.texts.fault(&fields.spot_of("sensors"), message, help);
    }
    Some(first.quantity)
}

fn votes(r: &mut Reader<'_>, fields: &Fields<'_>, sensors: usize) -> usize {
    let most = sensors / 2 + 1;
    if fields.entry("votes").is_none() {
        return most.min(sensors.max(1));
    }
    let votes = fields.whole(r, "votes").and_then(|n| usize::try_from(n).ok());
    let votes = votes.unwrap_or(1);
    if votes > sensors && sensors > 0 {
        let message = format!("{votes} votes of {sensors} sensors");
        let help = "it could never come on: name more `sensors`, or ask for fewer votes";
        r.texts.fault(&fields.spot_of("votes"), message, help);
    }
    votes
}

/// Which of `above` and `below` is there.
fn bound(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<(&'static str, Bound)> {
    match (fields.entry("above"), fields.entry("below")) {
        (Some(_), None) => Some(("above", Bound::AtMost)),
        (None, Some(_)) => Some(("below", Bound::AtLeast)),
        (Some(_), Some(_)) => {
            let message = format!("`{}` has both `above` and `below`", fields.path);
            r.texts
                .fault(&fields.spot_of("below"), message, "make an alarm of each");
            None
        }
        (None, None) => {
            if !fields.misspelt("above") && !fields.misspelt("below") {
                let message = format!("`{}` has no set point", fields.path);
                r.texts.fault(&fields.spot, message, "add `above` or `below`");
            }
            None
        }
    }
}
