//! `starts` and `ends` of tasks.

use crate::air::{Place, Species};
use crate::scenario::blueprint::{EffectNums, PaceNums, Parts};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{EFFECT, What};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::text::{Node, Spot};
use crate::timeline::Effect;
use crate::units::show;

use super::{fans, kilopascal, least, median, most, orders};

/// An effect with the place of its action in the file.
#[derive(Clone, Debug)]
pub(super) struct EffectRead {
    pub nums: EffectNums,
    pub spot: Spot,
}

/// The actions, and what goes with each: only that may stand beside it.
const ACTIONS: [(&str, &[&str]); 16] = [
    ("open", &[]),
    ("close", &[]),
    ("switch_on", &[]),
    ("switch_off", &[]),
    ("vent", &["to", "over", "area"]),
    ("fill", &["to", "over", "flow", "oxygen", "from"]),
    ("equalise", &["over", "area"]),
    ("change", &[]),
    ("recharge", &[]),
    ("swap", &["to"]),
    ("isolate", &[]),
    ("recall", &["within"]),
    ("wear", &["who"]),
    ("masks", &["who"]),
    ("ease", &["who"]),
    ("repair", &[]),
];

/// The family of devices whose canisters can be changed.
const SORBENT: &str = "sorbent";

/// Reads a list of effects.
pub(super) fn read(r: &mut Reader<'_>, fields: &Fields<'_>, name: &str, parts: &Parts) -> Vec<EffectRead> {
    let mut list = Vec::new();
    for (n, (node, table)) in fields.tables(r, name).into_iter().enumerate() {
        let path = format!("{}.{name}.{}", fields.path, n + 1);
        let before = r.texts.faults.len();
        let mut effect = Fields::new(r, &EFFECT, table, &path, &node.spot);
        effect.per_turn = fields.per_turn;
        let known = r.texts.faults.len() == before;
        let Some((action, goes)) = action(r, &effect, node, known) else {
            continue;
        };
        let with = effect.table.entries.iter().filter(|e| e.key != action);
        for entry in with.filter(|e| EFFECT.key(&e.key).is_some() && !goes.contains(&e.key.as_str())) {
            let message = format!("`{}` does not go with `{action}`", entry.key);
            r.texts.fault(&entry.key_spot, message, takes(action, goes));
        }
        let spot = effect.table.get(action).map_or(&node.spot, |e| &e.key_spot).clone();
        let found = match action {
            "swap" | "isolate" => orders::several(r, &effect, action, parts),
            _ => one(r, &effect, action, parts).into_iter().collect(),
        };
        // To switch a fan is to switch all that it feeds.
        let all = found.into_iter().flat_map(|nums| match nums {
            EffectNums::Plain(effect) => fans::expanded(r, effect).into_iter().map(EffectNums::Plain).collect(),
            other => vec![other],
        });
        list.extend(all.map(|nums| EffectRead {
            nums,
            spot: spot.clone(),
        }));
    }
    list
}

/// The one action of an effect. `known`: every key of it is one of an effect.
fn action(
    r: &mut Reader<'_>,
    effect: &Fields<'_>,
    node: &Node,
    known: bool,
) -> Option<(&'static str, &'static [&'static str])> {
    let mut found = ACTIONS.into_iter().filter(|(a, _)| effect.entry(a).is_some());
    match (found.next(), found.next()) {
        (Some(one), None) => Some(one),
        (Some((first, _)), Some((second, _))) => {
            let message = format!("an effect does one thing: this one has `{first}` and `{second}`");
            r.texts.fault(
                &node.spot,
                message,
                "write one table for each: [{ close = \"hatch\" }, { switch_on = \"backup\" }]",
            );
            None
        }
        _ => {
            if known {
                let words: Vec<String> = ACTIONS.iter().map(|(a, _)| format!("`{a}`")).collect();
                let message = "an effect that does nothing";
                r.texts
                    .fault(&node.spot, message, format!("it has one of {}", words.join(", ")));
            }
            None
        }
    }
}

fn takes(action: &str, goes: &[&str]) -> String {
    if goes.is_empty() {
        format!("`{action}` takes nothing beside it")
    } else {
        let words: Vec<String> = goes.iter().map(|g| format!("`{g}`")).collect();
        format!("beside `{action}` stand {}", words.join(", "))
    }
}

fn one(r: &mut Reader<'_>, effect: &Fields<'_>, action: &str, parts: &Parts) -> Option<EffectNums> {
    match action {
        "vent" => vent(r, effect, parts),
        "fill" => fill(r, effect, parts),
        "equalise" => {
            let opening = effect.name(r, "equalise");
            let pace = pace(r, effect, "equalise", "area");
            Some(EffectNums::Equalise {
                opening: opening?,
                pace: pace?,
            })
        }
        "recall" | "wear" | "masks" | "ease" => orders::to_people(r, effect, action, parts),
        _ => {
            let index = effect.name(r, action)?;
            Some(EffectNums::Plain(match action {
                "open" => Effect::Open(index),
                "close" => Effect::Close(index),
                "switch_on" => Effect::SwitchOn(index),
                "switch_off" => Effect::SwitchOff(index),
                "change" => change(r, effect, index)?,
                "repair" => Effect::Repair(index),
                _ => recharge(r, effect, index, parts)?,
            }))
        }
    }
}

/// Over a time, or by the other way that the action has.
fn pace(r: &mut Reader<'_>, effect: &Fields<'_>, action: &str, other: &str) -> Option<PaceNums> {
    match (effect.entry("over"), effect.entry(other)) {
        (Some(_), Some(_)) => {
            r.texts.fault(
                &effect.spot_of(other),
                format!("`{action}` has both `over` and `{other}`"),
                "how fast it goes follows from either: remove one of the two",
            );
            None
        }
        (Some(_), None) => Some(PaceNums::Over(effect.number(r, "over"))),
        (None, Some(_)) => {
            let number = effect.number(r, other);
            Some(if other == "flow" {
                PaceNums::At(number)
            } else {
                PaceNums::Through(number)
            })
        }
        (None, None) => {
            if !effect.misspelt("over") && !effect.misspelt(other) {
                let example = EFFECT.key(other).map_or("", |k| k.example);
                r.texts.fault(
                    &effect.spot_of(action),
                    format!("`{action}` does not say how fast"),
                    format!("add over = \"10 min\" or {other} = {example}"),
                );
            }
            None
        }
    }
}

/// The pressure at which it ends.
fn to(r: &mut Reader<'_>, effect: &Fields<'_>, action: &str) -> Option<Num> {
    if effect.entry("to").is_some() {
        return Some(effect.number(r, "to"));
    }
    if !effect.misspelt("to") {
        let example = if action == "vent" { "0 kPa" } else { "56.5 kPa" };
        r.texts.fault(
            &effect.spot_of(action),
            format!("`{action}` does not say to which pressure"),
            format!("add to = \"{example}\""),
        );
    }
    None
}

fn vent(r: &mut Reader<'_>, effect: &Fields<'_>, parts: &Parts) -> Option<EffectNums> {
    let compartment = effect.name(r, "vent");
    let to = to(r, effect, "vent");
    let pace = pace(r, effect, "vent", "area");
    if let (Some(to), Some(outside)) = (to, parts.outside) {
        let (to, around) = (median(r, to), median(r, outside.pressure));
        if to < around {
            let message = format!(
                "it cannot be vented to {}: outside is at {}",
                show(to, kilopascal()),
                show(around, kilopascal())
            );
            r.texts.fault(
                &effect.spot_of("to"),
                message,
                "gas flows to the lower pressure: `to` is at least the pressure of [outside]",
            );
        }
    }
    Some(EffectNums::Vent {
        compartment: compartment?,
        to: to?,
        pace: pace?,
    })
}

fn fill(r: &mut Reader<'_>, effect: &Fields<'_>, parts: &Parts) -> Option<EffectNums> {
    let compartment = effect.name(r, "fill");
    let to = to(r, effect, "fill");
    let pace = pace(r, effect, "fill", "flow");
    let own = effect.number_if(r, "oxygen");
    let oxygen = own.or(parts.air.map(|air| air.oxygen)).unwrap_or(Num::Fixed(f64::NAN));
    if own.is_none() {
        let path = effect.path_of("oxygen");
        r.assume(path, "that of [air]", String::new(), "assumption", false);
    }
    let (oxygen_from, diluent_from) = tanks(r, effect, oxygen, parts);
    if let Some(to) = to
        && median(r, to) < 100.0
    {
        r.texts.fault(
            &effect.spot_of("to"),
            "a fill to no pressure at all",
            "`to` is the pressure when it is done; `vent` lets gas out",
        );
    }
    Some(EffectNums::Fill {
        compartment: compartment?,
        to: to?,
        pace: pace?,
        oxygen,
        oxygen_from,
        diluent_from,
    })
}

/// The tanks of a fill, at most one of each gas; a gas that is needed must have one if any is named.
fn tanks(r: &mut Reader<'_>, effect: &Fields<'_>, oxygen: Num, parts: &Parts) -> (Option<usize>, Option<usize>) {
    if effect.entry("from").is_none() {
        return (None, None);
    }
    let before = r.texts.faults.len();
    let mut found: [Option<usize>; 2] = [None; 2];
    for (name, node) in effect.names(r, "from") {
        let Some(tank) = r.refer(What::Tank, name, &node.spot) else {
            continue;
        };
        let gas = parts.tanks.get(tank).map_or(Species::Oxygen, |t| t.gas);
        let place = &mut found[usize::from(gas == Species::Diluent)];
        if let Some(other) = place {
            let message = format!("`{}` and `{name}` hold the same gas", r.known.tanks.list[*other]);
            let help = "a fill takes each gas from one tank: name one of the two";
            r.texts.fault(&node.spot, message, help);
        }
        *place = Some(tank);
    }
    if r.texts.faults.len() == before {
        let needed = [most(r, oxygen) > 0.0, least(r, oxygen) < 1.0];
        for (n, gas) in ["oxygen", "diluent"].into_iter().enumerate() {
            if needed[n] && found[n].is_none() {
                let part = if n == 0 {
                    median(r, oxygen)
                } else {
                    1.0 - median(r, oxygen)
                };
                let message = format!(
                    "no tank of `from` holds {gas}, and {:.0} % of the gas is that",
                    100.0 * part
                );
                let help = format!("name a tank with gas = \"{gas}\" too, or leave `from` out for an unlimited supply");
                r.texts.fault(&effect.spot_of("from"), message, help);
            }
        }
    }
    (found[0], found[1])
}

/// Only a canister can be changed.
fn change(r: &mut Reader<'_>, effect: &Fields<'_>, device: usize) -> Option<Effect> {
    let kind = r.known.device_kinds.get(device).cloned().unwrap_or_default();
    if kind == SORBENT {
        return Some(Effect::ChangeCanister(device));
    }
    let message = format!("`{}` has no canister to change", r.known.devices.list[device]);
    let help = format!("it is of kind {kind}; canisters are those of kind {SORBENT}");
    r.texts.fault(&effect.spot_of("change"), message, help);
    None
}

/// Only a tank of its own can be recharged, from the tank behind the umbilical.
fn recharge(r: &mut Reader<'_>, effect: &Fields<'_>, suit: usize, parts: &Parts) -> Option<Effect> {
    let nums = parts.suits.get(suit)?;
    let name = r.known.suits.list[suit].clone();
    let what = match (nums.tank, nums.supply) {
        (None, _) => "no `tank` of its own",
        (_, None) => "no `supply`",
        (Some(tank), Some(supply)) if tank == supply => "its own tank for `supply`",
        _ => return Some(Effect::Recharge(suit)),
    };
    let message = format!("the suit of `{name}` cannot be recharged: it has {what}");
    let help = format!("[suits.{name}] names its `tank`, and as `supply` the tank it is filled from");
    r.texts.fault(&effect.spot_of("recharge"), message, help);
    None
}

/// Openings onto a vacuum may be opened only where something is vented to nothing first. Whether that comes first is found
/// out by going through the plan.
pub(super) fn onto_vacuum(r: &mut Reader<'_>, effects: &[&EffectRead], parts: &Parts) {
    let mut vented: Vec<usize> = Vec::new();
    for effect in effects {
        if let EffectNums::Vent { compartment, to, .. } = effect.nums
            && least(r, to) <= 0.0
        {
            vented.push(compartment);
        }
    }
    for effect in effects {
        let EffectNums::Plain(Effect::Open(opening)) = effect.nums else {
            continue;
        };
        if !r.known.vacuum_openings.contains(&opening) {
            continue;
        }
        let ends = parts.openings.get(opening).map(|o| o.between);
        let inside = ends.into_iter().flatten().find_map(|place| match place {
            Place::Compartment(c) => Some(c),
            Place::Outside => None,
        });
        let Some(inside) = inside else { continue };
        if !vented.contains(&inside) {
            let name = r.known.compartments.list[inside].clone();
            r.texts.fault(
                &effect.spot,
                "this opens onto the vacuum outside",
                format!("vent `{name}` first: {{ vent = \"{name}\", to = \"0 kPa\", over = \"10 min\" }}"),
            );
        }
    }
}
