//! Actions that responses have most use for: swap, isolate, and what is asked of people.

use crate::air::Place;
use crate::scenario::blueprint::{EffectNums, Parts};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{EFFECT, Kind, What};
use crate::scenario::reader::Reader;
use crate::text::Value;
use crate::timeline::{Effect, SuitUse};

/// Every person.
const EVERYONE: u64 = u64::MAX;

/// Who is meant: one of the words of the key, or people.
#[derive(Clone, Debug)]
pub(super) enum Who {
    Word(&'static str),
    People(Vec<usize>),
}

/// Reads whom a key means; it is there. None after a fault.
pub(super) fn who(r: &mut Reader<'_>, fields: &Fields<'_>, name: &str) -> Option<Who> {
    let Some(Kind::Who(words)) = fields.section.key(name).map(|k| k.kind) else {
        return None;
    };
    let entry = fields.entry(name)?;
    if let Value::List(items) = &entry.node.value {
        if items.is_empty() {
            let help = "name at least one person";
            r.texts.fault(&entry.node.spot, format!("`{name}` names no one"), help);
        }
        let before = r.texts.faults.len();
        let names = fields.names(r, name);
        let people: Vec<usize> = names
            .into_iter()
            .filter_map(|(text, node)| r.refer(What::Person, text, &node.spot))
            .collect();
        return (r.texts.faults.len() == before && !people.is_empty()).then_some(Who::People(people));
    }
    let text = fields.text(r, name)?;
    if let Some(word) = words.iter().find(|w| **w == text) {
        return Some(Who::Word(word));
    }
    if let Some(person) = r.known.people.get(text) {
        return Some(Who::People(vec![person]));
    }
    let mut right: Vec<String> = words.iter().map(|w| (*w).to_owned()).collect();
    right.extend(r.known.people.list.iter().cloned());
    let help = r.texts.meant(text, right.iter().map(String::as_str));
    r.texts
        .fault(&entry.node.spot, format!("there is no person `{text}`"), help);
    None
}

/// Actions that are several at once.
pub(super) fn several(r: &mut Reader<'_>, effect: &Fields<'_>, action: &str, parts: &Parts) -> Vec<EffectNums> {
    let plain = |list: Vec<Effect>| list.into_iter().map(EffectNums::Plain).collect();
    if action == "isolate" {
        let Some(compartment) = effect.name(r, "isolate") else {
            return Vec::new();
        };
        let place = Place::Compartment(compartment);
        let of = |(n, opening): (usize, &crate::scenario::blueprint::OpeningNums)| {
            opening.between.contains(&place).then_some(Effect::Close(n))
        };
        let closed: Vec<Effect> = parts.openings.iter().enumerate().filter_map(of).collect();
        if closed.is_empty() {
            let message = format!("`{}` has no opening to close", r.known.compartments.list[compartment]);
            let help = "`isolate` closes every opening of a compartment";
            r.texts.fault(&effect.spot_of("isolate"), message, help);
        }
        return plain(closed);
    }
    let from = effect.name(r, "swap");
    let to = if effect.entry("to").is_some() {
        effect.name(r, "to")
    } else {
        if !effect.misspelt("to") {
            let message = "`swap` does not say to which device";
            r.texts.fault(&effect.spot_of("swap"), message, "add to = \"backup\"");
        }
        None
    };
    let (Some(from), Some(to)) = (from, to) else {
        return Vec::new();
    };
    if from == to {
        let help = "name the device that takes over";
        r.texts
            .fault(&effect.spot_of("to"), "a device is swapped for itself", help);
    }
    plain(vec![Effect::SwitchOff(from), Effect::SwitchOn(to)])
}

/// What is asked of people.
pub(super) fn to_people(r: &mut Reader<'_>, effect: &Fields<'_>, action: &str, parts: &Parts) -> Option<EffectNums> {
    if action == "recall" {
        let people = who(r, effect, "recall").map(|who| match who {
            Who::Word(_) => EVERYONE,
            Who::People(list) => bits(&list),
        });
        if effect.entry("within").is_none() {
            if !effect.misspelt("within") {
                let example = EFFECT.key("within").map_or("", |k| k.example);
                let message = "`recall` does not say how long the way back takes";
                let help = format!("add within = {example}");
                r.texts.fault(&effect.spot_of("recall"), message, help);
            }
            return None;
        }
        let within = effect.number(r, "within");
        return Some(EffectNums::Recall {
            people: people?,
            within,
        });
    }
    let named = effect.entry("who").map(|_| effect.indices(r, "who"));
    let people = match &named {
        None => EVERYONE,
        Some(list) => bits(list),
    };
    if let (Some([]), Some(entry)) = (named.as_deref(), effect.entry("who"))
        && matches!(&entry.node.value, Value::List(items) if items.is_empty())
    {
        let help = "name at least one person, or leave it out for everyone";
        r.texts.fault(&entry.node.spot, "`who` names no one", help);
    }
    Some(EffectNums::Plain(match action {
        "wear" => {
            let suit = worn(effect.word(r, "wear")?);
            suited(r, effect, named.as_deref(), suit, parts);
            Effect::Wear { people, suit }
        }
        "masks" => Effect::Mask {
            people,
            on: effect.word(r, "masks")? == "on",
        },
        // By its index among all known efforts; the used ones are counted later.
        _ => Effect::Ease {
            people,
            effort: effect.name(r, "ease")?,
        },
    }))
}

/// How a suit is worn, by its word.
pub(super) fn worn(word: &str) -> SuitUse {
    match word {
        "ventilated" => SuitUse::Ventilated,
        "closed" => SuitUse::Closed,
        "purged" => SuitUse::Purged,
        "pressurised" => SuitUse::Pressurised,
        _ => SuitUse::Off,
    }
}

/// Whoever is named has a suit; of everyone, someone has.
fn suited(r: &mut Reader<'_>, effect: &Fields<'_>, named: Option<&[usize]>, suit: SuitUse, parts: &Parts) {
    let has = |person: &usize| parts.suits.iter().any(|s| s.wearer == *person);
    if suit == SuitUse::Off {
        return;
    }
    match named {
        Some(list) => {
            for person in list.iter().filter(|p| !has(p)) {
                let name = r.known.people.list[*person].clone();
                let help = format!("add a table `[suits.{name}]`, or leave them out");
                r.texts
                    .fault(&effect.spot_of("who"), format!("`{name}` has no suit"), help);
            }
        }
        None if parts.suits.is_empty() => {
            let help = "add a table `[suits.NAME]` for whoever has one";
            r.texts.fault(&effect.spot_of("wear"), "no one has a suit", help);
        }
        None => {}
    }
}

fn bits(people: &[usize]) -> u64 {
    people
        .iter()
        .fold(0, |bits, person| bits | 1_u64.checked_shl(*person as u32).unwrap_or(0))
}
