//! `[[faults]]`: what changes, and how.

use crate::scenario::blueprint::Parts;
use crate::scenario::fields::Fields;
use crate::scenario::keys::{Domain, FAULT};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::upset::{ChangeBy, ChangeNums, FaultNums, ShapeNums};
use crate::text::Node;
use crate::units::Dimension;
use crate::upset::Broken;

use super::super::limits::domain_of;
use super::super::tasks::TaskRead;
use super::buses::paths;
use super::targets::{Changeable, Grows, NumberOf, Ways, find};
use super::when;

/// What a fault says of what it acts on; one of these.
const KINDS: [&str; 4] = ["factor", "adds", "to", "mode"];

/// Something that a fault acts on, and where the file says so.
type On<'t> = (&'t Changeable, &'t Node);

/// Reads the faults.
pub(super) fn read(
    r: &mut Reader<'_>,
    root: &Fields<'_>,
    parts: &mut Parts,
    tasks: &[TaskRead],
    targets: &[Changeable],
) {
    for (node, table) in root.tables(r, "faults") {
        let id = table.get("id").and_then(|e| e.node.text()).unwrap_or("");
        let path = if id.is_empty() {
            "faults".to_owned()
        } else {
            format!("faults.{id}")
        };
        let fields = Fields::new(r, &FAULT, table, &path, &node.spot);
        fields.text(r, "id");
        let mut on: Vec<On<'_>> = Vec::new();
        for (path, node) in paths(r, &fields, "on") {
            if let Some(found) = find(r, targets, path, &node.spot) {
                on.push((found, node));
            }
        }
        let kind = one_of(r, &fields, &KINDS);
        let changes = match kind {
            Some("mode") => broken(r, &fields, &on),
            Some(kind) => numbers(r, &fields, kind, &on),
            None => Vec::new(),
        };
        strays(r, &fields, kind, &on);
        let onset = when::onset(r, &fields, parts, tasks);
        let shape = when::shape(r, &fields);
        grows(r, &fields, kind, &on, &shape);
        let ends = when::ends(r, &fields);
        parts.faults.push(FaultNums {
            changes,
            onset,
            shape,
            ends,
        });
    }
}

/// The one of these keys that is there.
pub(super) fn one_of<'k>(r: &mut Reader<'_>, fields: &Fields<'_>, keys: &[&'k str]) -> Option<&'k str> {
    let there: Vec<&str> = keys.iter().copied().filter(|k| fields.entry(k).is_some()).collect();
    match there[..] {
        [one] => Some(one),
        [] => {
            if !keys.iter().any(|k| fields.misspelt(k)) {
                let list: Vec<String> = keys.iter().map(|k| format!("`{k}`")).collect();
                let message = format!("`{}` has none of {}", fields.path, list.join(", "));
                r.texts.fault(&fields.spot, message, "it has one of them");
            }
            None
        }
        [first, second, ..] => {
            let message = format!("`{}` has both `{first}` and `{second}`", fields.path);
            r.texts
                .fault(&fields.spot_of(second), message, "it has one of them: remove the other");
            None
        }
    }
}

/// What breaks.
fn broken(r: &mut Reader<'_>, fields: &Fields<'_>, on: &[On<'_>]) -> Vec<ChangeNums> {
    let Some(word) = fields.word(r, "mode") else {
        return Vec::new();
    };
    let bed = fields
        .entry("bed")
        .and_then(|_| fields.whole(r, "bed"))
        .map(|bed| usize::from(bed == 2));
    let says = says(r, fields, on);
    let mut list = Vec::new();
    for (found, node) in on {
        let Some((_, changes)) = found.modes.iter().find(|(w, _)| *w == word) else {
            let help = can(found);
            let message = format!("`{}` cannot be \"{word}\"", found.path);
            r.texts.fault(&node.spot, message, help);
            continue;
        };
        list.extend(changes.iter().map(|change| match (*change, says) {
            (ChangeNums::Broken(Broken::BedsStuck { device, .. }), _) => {
                ChangeNums::Broken(Broken::BedsStuck { device, bed })
            }
            (ChangeNums::Broken(Broken::SensorStuck { sensor, .. }), Some(at)) => ChangeNums::Says { sensor, at },
            (other, _) => other,
        }));
    }
    list
}

/// What a stuck sensor says.
fn says(r: &mut Reader<'_>, fields: &Fields<'_>, on: &[On<'_>]) -> Option<Num> {
    fields.entry("reads")?;
    let quantity = on.iter().find_map(|(found, _)| found.reads)?;
    let read = fields.number_in(r, "reads", quantity.dimension(), domain_of(quantity), true);
    for (found, node) in on {
        if found.reads.is_some_and(|other| other != quantity) {
            let message = format!("`{}` reads something else than `{}`", found.path, on[0].0.path);
            r.texts.fault(
                &node.spot,
                message,
                "what they say cannot be one number: make a fault of each",
            );
        }
    }
    Some(read.map_or(Num::Fixed(f64::NAN), |n| n.num))
}

/// `bed` and `reads` beside what they do not go with.
fn strays(r: &mut Reader<'_>, fields: &Fields<'_>, kind: Option<&str>, on: &[On<'_>]) {
    let stuck = kind == Some("mode") && fields.entry("mode").and_then(|e| e.node.text()) == Some("stuck");
    let stuck_beds = |c: &Changeable| {
        let changes = c.modes.iter().flat_map(|(_, changes)| changes);
        changes
            .into_iter()
            .any(|c| matches!(c, ChangeNums::Broken(Broken::BedsStuck { .. })))
    };
    let right = [
        ("bed", stuck && on.iter().any(|(c, _)| stuck_beds(c)), "a pair of beds"),
        ("reads", stuck && on.iter().any(|(c, _)| c.reads.is_some()), "a sensor"),
    ];
    for (name, right, of) in right {
        if fields.entry(name).is_some() && !right && !on.is_empty() {
            let message = format!("`{name}` is of {of} that is stuck");
            let help = "it goes with mode = \"stuck\"; remove it";
            r.texts.fault(&fields.spot_of(name), message, help);
        }
    }
}

/// What can be said of something, in words.
fn can(found: &Changeable) -> String {
    let words: Vec<String> = found.modes.iter().map(|(w, _)| format!("\"{w}\"")).collect();
    let modes = format!("it can be {}", words.join(" or "));
    match (&found.number, words.is_empty()) {
        (Some(_), true) => "it is a number: use `factor`, `adds` or `to`".to_owned(),
        (Some(_), false) => format!("{modes}, or take a `factor`"),
        (None, _) => modes,
    }
}

/// What numbers become.
fn numbers(r: &mut Reader<'_>, fields: &Fields<'_>, kind: &str, on: &[On<'_>]) -> Vec<ChangeNums> {
    let mut found: Vec<&NumberOf> = Vec::new();
    for (changeable, node) in on {
        let Some(number) = &changeable.number else {
            let message = format!("`{}` is no number", changeable.path);
            r.texts
                .fault(&node.spot, message, format!("{}: use `mode`", can(changeable)));
            continue;
        };
        let why = match number.ways {
            Ways::Factor(why) if kind != "factor" => Some(why),
            Ways::Adds(why) if kind != "adds" => Some(why),
            Ways::NoFactor(why) if kind == "factor" => Some(why),
            _ => None,
        };
        if let Some(why) = why {
            let message = format!("`{kind}` does not go with `{}`", changeable.path);
            r.texts.fault(
                &fields.table.get(kind).map_or(&node.spot, |e| &e.key_spot).clone(),
                message,
                why,
            );
            continue;
        }
        if let Some(first) = found.first()
            && kind != "factor"
            && first.dimension != number.dimension
        {
            let message = format!(
                "`{}` is {}, the one before it {}",
                changeable.path,
                number.dimension.with_article(),
                first.dimension.with_article()
            );
            let help = "one value cannot be both: make a fault of each, or use `factor`";
            r.texts.fault(&node.spot, message, help);
            continue;
        }
        found.push(number);
    }
    let Some(first) = found.first() else {
        return Vec::new();
    };
    let by = match kind {
        "factor" => ChangeBy::Factor(fields.number(r, "factor")),
        "adds" => {
            let (dimension, domain) = difference(first);
            let read = fields.number_in(r, "adds", dimension, domain, true);
            ChangeBy::Add(read.map_or(Num::Fixed(f64::NAN), |n| n.num))
        }
        _ => {
            let read = fields.number_in(r, "to", first.dimension, first.domain, true);
            ChangeBy::To(read.map_or(Num::Fixed(f64::NAN), |n| n.num))
        }
    };
    let places = found
        .iter()
        .flat_map(|n| n.places.iter().map(|place| (*place, n.domain)));
    places
        .map(|((target, scale), Domain { lo, hi })| ChangeNums::Number {
            target,
            by,
            scale,
            domain: [lo, hi],
        })
        .collect()
}

/// What a difference of a number is measured in, and how large it can be.
fn difference(number: &NumberOf) -> (Dimension, Domain) {
    let Domain { lo, hi } = number.domain;
    match number.dimension {
        Dimension::Temperature => (
            Dimension::TemperatureDifference,
            Domain {
                lo: lo - hi,
                hi: hi - lo,
            },
        ),
        dimension => {
            let most = lo.abs().max(hi.abs());
            (dimension, Domain { lo: -most, hi: most })
        }
    }
}

/// What cannot grow in time does not.
fn grows(r: &mut Reader<'_>, fields: &Fields<'_>, kind: Option<&str>, on: &[On<'_>], shape: &ShapeNums) {
    let in_time = matches!(shape, ShapeNums::Ramp(_) | ShapeNums::Decay(_));
    let by_turns = matches!(shape, ShapeNums::Turns { .. } | ShapeNums::Rhythm { .. });
    let spot = fields.spot_of("shape");
    if kind == Some("mode") {
        if in_time {
            let message = "what breaks does not break by degrees";
            let help = "`ramp` and `decay` are for numbers: shape = \"step\", or there and gone by turns";
            r.texts.fault(&spot, message, help);
        }
        return;
    }
    for (found, _) in on {
        let why = match found.number.as_ref().map(|n| n.grows) {
            Some(Grows::AtOnce(why)) if in_time => why,
            Some(Grows::Once(why)) if in_time || by_turns => why,
            _ => continue,
        };
        let message = format!("`{}` cannot change like that", found.path);
        r.texts.fault(&spot, message, why);
    }
}
