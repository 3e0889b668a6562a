//! `[removal]`.

use crate::scenario::blueprint::{CycleNums, DeviceNums, Family, FlowNums, Parts};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{Domain, Kind, ROOT, Section};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::value::{self, Wanted};
use crate::text::{Entry, Spot, Table, Value};
use crate::units::Dimension;

use super::{fans, median, most, sorbent, swing_bed};

/// Where each device's points or efficiencies stand.
pub(super) type DeviceSpots = Vec<Spot>;

pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts) -> DeviceSpots {
    fans::read(r, root, parts);
    let mut spots = Vec::new();
    for (entry, table) in root.named(r, "removal") {
        spots.push(entry.key_spot.clone());
        let device = device(r, entry, table, parts);
        parts.devices.push(device);
    }
    fans::share(r, parts);
    spots
}

fn device(r: &mut Reader<'_>, entry: &Entry, table: &Table, parts: &Parts) -> DeviceNums {
    let unknown = Num::Fixed(f64::NAN);
    let nothing = Family::Curve {
        co2: Vec::new(),
        water: Vec::new(),
        flow: None,
    };
    let mut device = DeviceNums {
        serves: 0,
        on: true,
        family: nothing,
        power: unknown,
        fan_power: None,
        cycle: None,
    };
    let path = format!("removal.{}", entry.key);
    let Some((family, section)) = family(r, table, &path, &entry.key_spot) else {
        return device;
    };
    let fields = Fields::new(r, section, table, &path, &entry.key_spot);
    fields.word(r, "kind");
    device.serves = fields.name(r, "serves").unwrap_or(0);
    let fan = fans::of(r, &fields, parts, device.serves);
    device.fan_power = fan.power;
    device.family = match family {
        "flow-through" => flow_through(r, &fields, fan.flow),
        "curve" => curve(r, &fields, fan.flow),
        "condenser" => Family::Condenser {
            flow: fans::flow(r, &fields, fan.flow),
            bypass: fields.number(r, "bypass"),
            coil: fields.number(r, "coil_temperature"),
            carry_over: fields.number(r, "carry_over"),
        },
        "sorbent" => Family::Sorbent(sorbent::read(r, &fields, fan.flow)),
        _ => Family::SwingBed(Box::new(swing_bed::read(r, &fields, fan.flow, parts, device.serves))),
    };
    device.power = fields.number(r, "power");
    device.on = fields.flag(r, "on");
    if section.key("cycle").is_some() {
        device.cycle = cycle(r, &fields, &device.family);
    }
    device
}

/// The device's family with its section.
fn family(r: &mut Reader<'_>, table: &Table, path: &str, spot: &Spot) -> Option<(&'static str, &'static Section)> {
    let families = match ROOT.key("removal").map(|k| k.kind) {
        Some(Kind::Families(families)) => families,
        _ => return None,
    };
    let Some(kind) = table.get("kind") else {
        r.texts.fault(
            spot,
            format!("`{path}` has no `kind`"),
            "add kind = \"flow-through\", \"curve\", \"condenser\", \"sorbent\" or \"swing-bed\"",
        );
        return None;
    };
    let Some(word) = kind.node.text() else {
        r.texts.fault(
            &kind.node.spot,
            format!("`kind` takes a word, not {}", kind.node.kind()),
            "kind = \"flow-through\"",
        );
        return None;
    };
    let found = families.iter().find(|(name, _)| *name == word).copied();
    if found.is_none() {
        let help = r.texts.meant(word, families.iter().map(|(name, _)| *name));
        r.texts.fault(
            &kind.node.spot,
            format!("there is no kind \"{word}\" of removal device"),
            help,
        );
    }
    found
}

fn flow_through(r: &mut Reader<'_>, fields: &Fields<'_>, fan: Option<FlowNums>) -> Family {
    let flow = fans::flow(r, fields, fan);
    let co2 = fields.number(r, "co2_efficiency");
    let water = fields.number(r, "water_efficiency");
    let given = |name| fields.entry(name).is_some() || fields.misspelt(name);
    if !given("co2_efficiency") && !given("water_efficiency") {
        let message = format!("`{}` takes nothing out", fields.path);
        r.texts.fault(
            &fields.spot,
            message,
            "add `co2_efficiency`, `water_efficiency` or both",
        );
    }
    Family::FlowThrough { flow, co2, water }
}

fn curve(r: &mut Reader<'_>, fields: &Fields<'_>, fan: Option<FlowNums>) -> Family {
    let co2 = points(r, fields, "co2");
    let water = points(r, fields, "water");
    let flow = fans::flow_if(r, fields, fan);
    if fields.entry("co2").is_none() && fields.entry("water").is_none() {
        r.texts.fault(
            &fields.spot,
            format!("`{}` takes nothing out", fields.path),
            "add points: co2 = [[\"2 mmHg\", \"1.1 kg/d\"]]",
        );
    }
    Family::Curve { co2, water, flow }
}

/// The points of a curve.
fn points(r: &mut Reader<'_>, fields: &Fields<'_>, name: &str) -> Vec<(Num, Num)> {
    let Some(entry) = fields.entry(name) else {
        return Vec::new();
    };
    let Kind::Points(molar_mass) = fields.section.key(name).map_or(Kind::Flag, |k| k.kind) else {
        return Vec::new();
    };
    let form = format!("{name} = [[\"2 mmHg\", \"1.1 kg/d\"], [\"4 mmHg\", \"1.6 kg/d\"]]");
    let Value::List(items) = &entry.node.value else {
        fields.wrong(r, name, "a list of pairs");
        return Vec::new();
    };
    if items.is_empty() {
        r.texts.fault(&entry.node.spot, format!("`{name}` has no points"), form);
        return Vec::new();
    }
    r.note(
        fields.path_of(name),
        &entry.node,
        format!("{} points", items.len()),
        None,
    );
    let path = fields.path_of(name);
    let mut list: Vec<(Num, Num)> = Vec::new();
    for (n, item) in items.iter().enumerate() {
        let pair = match &item.value {
            Value::List(pair) if pair.len() == 2 => pair,
            _ => {
                r.texts.fault(
                    &item.spot,
                    format!("a point of `{name}` is a pair of pressure and rate"),
                    form.clone(),
                );
                continue;
            }
        };
        let number = |r: &mut Reader<'_>, of: usize, dimension, domain, what: &str| {
            let path = format!("{path}.{}.{what}", n + 1);
            let wanted = Wanted {
                path: &path,
                dimension,
                domain,
                spread: true,
                per_turn: false,
            };
            value::number(r, &pair[of], &wanted).map_or(Num::Fixed(f64::NAN), |n| n.num)
        };
        let pressure = number(
            r,
            0,
            Dimension::PartialPressure,
            Domain { lo: 1e-3, hi: 1e7 },
            "pressure",
        );
        let rate = number(
            r,
            1,
            Dimension::GasRate(molar_mass),
            Domain { lo: 0.0, hi: 10.0 },
            "rate",
        );
        if let Some((before, _)) = list.last()
            && median(r, pressure) <= median(r, *before)
        {
            r.texts.fault(
                &pair[0].spot,
                format!("the pressures of `{name}` do not rise here"),
                "order the points by pressure",
            );
        }
        list.push((pressure, rate));
    }
    list
}

fn cycle(r: &mut Reader<'_>, fields: &Fields<'_>, family: &Family) -> Option<CycleNums> {
    let cycle = fields.sub(r, "cycle")?;
    let every = cycle.number(r, "every");
    let Some(entry) = cycle.entry("factors") else {
        cycle.missing(r, "factors");
        return None;
    };
    let (Value::List(items), Kind::Numbers(dimension, domain)) = (
        &entry.node.value,
        cycle.section.key("factors").map_or(Kind::Flag, |k| k.kind),
    ) else {
        cycle.wrong(r, "factors", "a list of factors");
        return None;
    };
    if items.is_empty() || items.len() > 1000 {
        r.texts.fault(
            &entry.node.spot,
            format!("`factors` cannot have {} values", items.len()),
            "one for each turn, at most 1000",
        );
        return None;
    }
    let highest = match family {
        Family::FlowThrough { co2, water, .. } => most(r, *co2).max(most(r, *water)),
        _ => 0.0,
    };
    let path = cycle.path_of("factors");
    let mut factors = Vec::new();
    for (n, item) in items.iter().enumerate() {
        let path = format!("{path}.{}", n + 1);
        let wanted = Wanted {
            path: &path,
            dimension,
            domain,
            spread: true,
            per_turn: false,
        };
        let Some(number) = value::number(r, item, &wanted) else {
            continue;
        };
        if number.num.input().is_none() && number.median * highest > 1.0 + 1e-9 {
            let message = "this factor times the efficiency is more than 1";
            r.texts
                .fault(&item.spot, message, "no device takes more than all of what meets it");
        }
        factors.push(number.num);
    }
    r.note(path, &entry.node, String::new(), None);
    Some(CycleNums { every, factors })
}
