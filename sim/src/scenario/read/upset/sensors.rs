//! `[sensors]`, and the sensors that alarms have of their own.

use crate::limits::Quantity;
use crate::scenario::blueprint::Parts;
use crate::scenario::fields::Fields;
use crate::scenario::keys::{Domain, SENSOR, What};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::upset::SensorNums;
use crate::scenario::value::{self, Wanted};
use crate::text::Value;
use crate::units::Dimension;

use super::super::limits::domain_of;
use super::super::median;

/// What a sensor can read.
const READ: [Quantity; 5] = [
    Quantity::Co2,
    Quantity::Humidity,
    Quantity::Oxygen,
    Quantity::Pressure,
    Quantity::Temperature,
];
/// Largest difference of temperatures that a sensor errs by, K.
const SPAN_K: f64 = 300.0;

/// Reads the sensors that have a table of their own.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts) {
    for (entry, table) in root.named(r, "sensors") {
        let path = format!("sensors.{}", entry.key);
        let fields = Fields::new(r, &SENSOR, table, &path, &entry.key_spot);
        let watched = watches(r, &fields);
        // Kept where it watches nothing too, so that indices and names stay in step.
        let (compartment, quantity) = watched.unwrap_or((0, Quantity::Co2));
        let nums = if watched.is_some() {
            numbers(r, &fields, compartment, quantity)
        } else {
            perfect(path, compartment, quantity)
        };
        parts.sensors.push(nums);
    }
}

/// What `watches` says: a compartment (or a suit) and a quantity.
pub(super) fn watches(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<(usize, Quantity)> {
    let text = fields.text(r, "watches")?;
    let spot = fields.spot_of("watches");
    let Some((place, word)) = text.rsplit_once('.') else {
        let first = r.known.compartments.list.first().map_or("cabin", String::as_str);
        let help = format!("write COMPARTMENT.QUANTITY, e.g. \"{first}.co2\"");
        r.texts
            .fault(&spot, format!("`{text}` does not say what is watched where"), help);
        return None;
    };
    let compartment = r.refer(What::Gas, place, &spot);
    let quantity = READ.into_iter().find(|quantity| quantity.name() == word);
    if quantity.is_none() {
        let help = r.texts.meant(word, READ.iter().map(|q| q.name()));
        r.texts
            .fault(&spot, format!("`{word}` is nothing that a sensor reads"), help);
    }
    Some((compartment?, quantity?))
}

/// A sensor that says what is.
pub(super) fn perfect(path: String, compartment: usize, quantity: Quantity) -> SensorNums {
    let nothing = Num::Fixed(0.0);
    SensorNums {
        path,
        quantity,
        compartment,
        gain: Num::Fixed(1.0),
        bias: nothing,
        drift: None,
        noise: nothing,
        lag: nothing,
        every_s: 30.0,
        range: [least(quantity), f64::INFINITY].map(Num::Fixed),
    }
}

/// The least reading of a sensor that says no range.
fn least(quantity: Quantity) -> f64 {
    if quantity == Quantity::Temperature {
        f64::NEG_INFINITY
    } else {
        0.0
    }
}

/// The dimension and domain of differences of a quantity.
pub(super) fn differences(quantity: Quantity) -> (Dimension, Domain) {
    let of = |hi: f64| Domain { lo: -hi, hi };
    match quantity {
        Quantity::Temperature => (Dimension::TemperatureDifference, of(SPAN_K)),
        _ => (quantity.dimension(), of(domain_of(quantity).hi)),
    }
}

/// The numbers of a sensor's table.
pub(super) fn numbers(r: &mut Reader<'_>, fields: &Fields<'_>, compartment: usize, quantity: Quantity) -> SensorNums {
    let (dimension, domain) = differences(quantity);
    let above = Domain { lo: 0.0, ..domain };
    let if_there = |r: &mut Reader<'_>, of: &Fields<'_>, name: &str, domain: Domain| {
        of.entry(name)?;
        let read = of.number_in(r, name, dimension, domain, true);
        Some(read.map_or(Num::Fixed(f64::NAN), |n| n.num))
    };
    let gain = fields.number(r, "gain");
    let bias = if_there(r, fields, "bias", domain);
    let drift = fields.sub(r, "drift").map(|drift| {
        if drift.entry("adds").is_none() {
            drift.missing(r, "adds");
        }
        let adds = if_there(r, &drift, "adds", domain);
        [adds.unwrap_or(Num::Fixed(f64::NAN)), drift.number(r, "over")]
    });
    let noise = if_there(r, fields, "noise", above);
    let lag = fields.number(r, "lag");
    let every_s = fields.number_full(r, "every").map_or(f64::NAN, |n| n.median);
    SensorNums {
        gain,
        bias: bias.unwrap_or(Num::Fixed(0.0)),
        drift,
        noise: noise.unwrap_or(Num::Fixed(0.0)),
        lag,
        every_s,
        range: range(r, fields, quantity),
        ..perfect(fields.path.clone(), compartment, quantity)
    }
}

/// Its least and its largest reading.
fn range(r: &mut Reader<'_>, fields: &Fields<'_>, quantity: Quantity) -> [Num; 2] {
    let open = [least(quantity), f64::INFINITY].map(Num::Fixed);
    let Some(entry) = fields.entry("range") else {
        return open;
    };
    let path = fields.path_of("range");
    let items = match &entry.node.value {
        Value::List(items) if items.len() == 2 => items,
        _ => {
            fields.wrong(r, "range", "its least and its largest reading");
            return open;
        }
    };
    let mut ends = open;
    for (n, item) in items.iter().enumerate() {
        let path = format!("{path}.{}", n + 1);
        let wanted = Wanted {
            path: &path,
            dimension: quantity.dimension(),
            domain: domain_of(quantity),
            spread: true,
            per_turn: false,
        };
        ends[n] = value::number(r, item, &wanted).map_or(Num::Fixed(f64::NAN), |n| n.num);
    }
    r.note(path, &entry.node, String::new(), None);
    if median(r, ends[0]) >= median(r, ends[1]) {
        let help = "first the least reading, then the largest";
        r.texts.fault(&entry.node.spot, "`range` has no readings in it", help);
    }
    ends
}
