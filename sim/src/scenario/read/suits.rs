//! `[suits]`: each a body of gas after the named compartments, and what its wearer does with it.

use crate::scenario::blueprint::{AirNums, CompartmentNums, Parts, SuitNums};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{SUIT, What};
use crate::scenario::known::SUIT as PREFIX;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;

use super::cabin::{self, CabinSpots};
use super::tanks::oxygen_tank;

/// Reads the suits, and puts their compartments after the named ones.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts, spots: &mut CabinSpots) {
    let unknown = Num::Fixed(f64::NAN);
    for (entry, table) in root.named(r, "suits") {
        let path = format!("suits.{}", entry.key);
        let fields = Fields::new(r, &SUIT, table, &path, &entry.key_spot);
        let wearer = r.refer(What::Person, &entry.key, &entry.key_spot);
        let volume = fields.number(r, "volume");
        let pressure = fields.number(r, "pressure");
        let tank = oxygen_tank(r, &fields, "tank", parts);
        let supply = oxygen_tank(r, &fields, "supply", parts);
        for (name, index, without) in [
            ("tank", tank, "an unlimited supply that is counted"),
            ("supply", supply, "its own tank"),
        ] {
            if index.is_none() && fields.entry(name).is_none() {
                r.assume(fields.path_of(name), without, String::new(), "assumption", false);
            }
        }
        let ventilation = fields.number(r, "ventilation");
        let purge = fields.number(r, "purge");
        let leak = fields.number(r, "leak");
        let own = fields.number_if(r, "temperature");
        let common = parts.air.map_or(unknown, |air| air.temperature);
        if own.is_none() {
            let path = fields.path_of("temperature");
            r.assume(path, "that of [air]", String::new(), "assumption", false);
        }
        let temperature = own.unwrap_or(common);
        let washout = cabin::washout(r, &fields);
        let air = parts.air.map_or(
            AirNums {
                pressure: unknown,
                oxygen: unknown,
                co2: unknown,
                humidity: unknown,
                temperature,
            },
            |air| AirNums { temperature, ..air },
        );
        parts.compartments.push(CompartmentNums {
            volume,
            usable: volume,
            air,
            walls: None,
            leak: Num::Fixed(0.0),
            leak_area: None,
            relief: None,
            washout,
            heat: None,
        });
        spots.compartments.push(entry.key_spot.clone());
        spots.leaks.push(entry.key_spot.clone());
        parts.suits.push(SuitNums {
            wearer: wearer.unwrap_or(0),
            pressure,
            tank,
            supply,
            ventilation,
            purge,
            leak,
            temperature,
        });
    }
}

/// Names of all bodies of gas, suits last.
pub(super) fn names(r: &Reader<'_>) -> Vec<String> {
    let suits = r.known.suits.list.iter().map(|person| format!("{PREFIX}{person}"));
    r.known.compartments.list.iter().cloned().chain(suits).collect()
}
