//! `[fans]`, and what they give to devices.

use crate::scenario::blueprint::{FanNums, FlowNums, Parts};
use crate::scenario::fields::Fields;
use crate::scenario::keys::FAN;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::timeline::Effect;

/// What a device has of a fan.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct OfFan {
    pub flow: Option<FlowNums>,
    /// Its power, with the part that counts with the device: 1 until [`share`].
    pub power: Option<(Num, f64)>,
}

/// Reads the fans. They come before the devices.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts) {
    for (entry, table) in root.named(r, "fans") {
        let path = format!("fans.{}", entry.key);
        let fields = Fields::new(r, &FAN, table, &path, &entry.key_spot);
        parts.fans.push(FanNums {
            flow: fields.number(r, "flow"),
            power: fields.number(r, "power"),
        });
        r.known.fed.push(Vec::new());
    }
}

/// The fan of a device, which serves this compartment and comes after those in `parts`.
pub(super) fn of(r: &mut Reader<'_>, fields: &Fields<'_>, parts: &Parts, serves: usize) -> OfFan {
    let none = OfFan::default();
    if fields.entry("fan").is_none() {
        if fields.entry("fan_part").is_some() && !fields.misspelt("fan") {
            r.texts.fault(
                &fields.spot_of("fan_part"),
                "a part of a fan's flow without the fan",
                "add fan = \"main\", or give the device's own `flow`",
            );
        }
        return none;
    }
    let Some(fan) = fields.name(r, "fan") else { return none };
    let part = fields.number_if(r, "fan_part");
    if fields.entry("flow").is_some() {
        r.texts.fault(
            &fields.spot_of("flow"),
            format!("`{}` has both a `flow` and a `fan`", fields.path),
            "its flow follows from either: remove one of the two",
        );
    }
    let Some(nums) = parts.fans.get(fan).copied() else {
        return none;
    };
    let before = r.known.fed[fan].first().copied();
    if let Some(other) = before
        && parts.devices[other].serves != serves
    {
        let message = format!(
            "the fan also feeds `{}`, which serves another compartment",
            r.known.devices.list[other]
        );
        r.texts.fault(
            &fields.spot_of("fan"),
            message,
            "one stream of air has one inlet: give each compartment a fan of its own",
        );
    }
    r.known.fed[fan].push(parts.devices.len());
    OfFan {
        flow: Some(FlowNums {
            volume: nums.flow,
            part,
        }),
        power: Some((nums.power, 1.0)),
    }
}

/// The flow of a device: its fan's, or its own.
pub(super) fn flow(r: &mut Reader<'_>, fields: &Fields<'_>, fan: Option<FlowNums>) -> FlowNums {
    let own = flow_if(r, fields, fan);
    if own.is_none() && fields.entry("fan").is_none() && !fields.misspelt("fan") {
        fields.missing(r, "flow");
    }
    own.unwrap_or(FlowNums {
        volume: Num::Fixed(f64::NAN),
        part: None,
    })
}

/// The same where there need be none.
pub(super) fn flow_if(r: &mut Reader<'_>, fields: &Fields<'_>, fan: Option<FlowNums>) -> Option<FlowNums> {
    let own = fields
        .number_if(r, "flow")
        .map(|volume| FlowNums { volume, part: None });
    fan.or(own)
}

/// Shares the power of each fan among the devices that it feeds.
pub(super) fn share(r: &Reader<'_>, parts: &mut Parts) {
    for fed in &r.known.fed {
        for device in fed {
            if let Some((_, part)) = &mut parts.devices[*device].fan_power {
                *part = 1.0 / fed.len() as f64;
            }
        }
    }
}

/// To switch a fan is to switch the devices that it feeds.
pub(super) fn expanded(r: &Reader<'_>, effect: Effect) -> Vec<Effect> {
    let fed = |index: usize| {
        let fan = index.checked_sub(r.known.devices.list.len())?;
        r.known.fed.get(fan)
    };
    let switch = |index: usize, to: fn(usize) -> Effect| match fed(index) {
        Some(fed) => fed.iter().map(|device| to(*device)).collect(),
        None => vec![to(index)],
    };
    match effect {
        Effect::SwitchOn(index) => switch(index, Effect::SwitchOn),
        Effect::SwitchOff(index) => switch(index, Effect::SwitchOff),
        _ => vec![effect],
    }
}
