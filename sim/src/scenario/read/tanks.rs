//! `[tanks]`, and what is held from them: `[control]`.

use crate::air::Species;
use crate::scenario::blueprint::{ByNums, HoldNums, Parts, SideNums, TankNums};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{CONTROL, Domain, Kind, TANK, What};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::text::Spot;
use crate::units::{Dimension, show};

use super::{kilopascal, median};

/// `[tanks]`.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts) {
    for (entry, table) in root.named(r, "tanks") {
        let path = format!("tanks.{}", entry.key);
        let fields = Fields::new(r, &TANK, table, &path, &entry.key_spot);
        let gas = if fields.word(r, "gas") == Some("diluent") {
            Species::Diluent
        } else {
            Species::Oxygen
        };
        let amount = fields.number(r, "amount");
        let supply_pressure = fields.number_if(r, "supply_pressure");
        if supply_pressure.is_none() {
            let path = fields.path_of("supply_pressure");
            r.assume(path, "all of it can be used", String::new(), "assumption", false);
        }
        let reserve = fields.number(r, "reserve");
        if median(r, reserve) > median(r, amount) {
            let message = format!("the reserve of `{path}` is more than there is in it");
            r.texts
                .fault(&fields.spot_of("reserve"), message, "a reserve is a part of `amount`");
        }
        let air = parts.air.map_or(f64::NAN, |air| median(r, air.pressure));
        if let Some(pressure) = supply_pressure
            && median(r, pressure) <= air
        {
            let message = format!(
                "nothing comes out of `{path}`: its pressure is not above the {} of [air]",
                show(air, kilopascal())
            );
            r.texts.fault(
                &fields.spot_of("supply_pressure"),
                message,
                "give the pressure of the full tank, or leave it out where all of the gas can be used",
            );
        }
        parts.tanks.push(TankNums {
            gas,
            amount,
            supply_pressure,
            reserve,
        });
    }
}

/// The index of a tank that must hold oxygen; `what` needs it.
pub(super) fn oxygen_tank(r: &mut Reader<'_>, fields: &Fields<'_>, name: &str, parts: &Parts) -> Option<usize> {
    fields.entry(name)?;
    let tank = fields.name(r, name)?;
    if parts.tanks.get(tank).is_some_and(|t| t.gas != Species::Oxygen) {
        let other: Vec<String> = oxygen_tanks(r, parts);
        let message = format!("`{}` holds diluent, where oxygen is needed", r.known.tanks.list[tank]);
        let help = if other.is_empty() {
            "name a tank with gas = \"oxygen\"; the file has none".to_owned()
        } else {
            format!("tanks with oxygen: {}", other.join(", "))
        };
        r.texts.fault(&fields.spot_of(name), message, help);
    }
    Some(tank)
}

fn oxygen_tanks(r: &Reader<'_>, parts: &Parts) -> Vec<String> {
    let list = r.known.tanks.list.iter().zip(&parts.tanks);
    list.filter(|(_, t)| t.gas == Species::Oxygen)
        .map(|(name, _)| format!("`{name}`"))
        .collect()
}

/// `[control]`.
pub(super) fn control(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts) {
    for (entry, table) in root.named(r, "control") {
        let path = format!("control.{}", entry.key);
        let fields = Fields::new(r, &CONTROL, table, &path, &entry.key_spot);
        let compartment = held_in(r, &entry.key, &entry.key_spot);
        let oxygen = fields.sub(r, "oxygen").map(|held| {
            let hold = held.number(r, "hold");
            let from = oxygen_tank(r, &held, "from", parts);
            let by = regulation(r, &held, hold, Species::Oxygen);
            SideNums { hold, by, from }
        });
        let pressure = fields.sub(r, "pressure").map(|held| {
            let hold = held.number(r, "hold");
            let from = held.entry("from").and_then(|_| held.name(r, "from"));
            let gas = from
                .and_then(|t| parts.tanks.get(t))
                .map_or(Species::Diluent, |t| t.gas);
            let by = regulation(r, &held, hold, gas);
            SideNums { hold, by, from }
        });
        if table.entries.is_empty() {
            r.texts.fault(
                &entry.key_spot,
                format!("`{path}` holds nothing"),
                "add e.g. oxygen = { hold = \"18.8 kPa\" }",
            );
        }
        if let (Some(o), Some(p)) = (oxygen, pressure)
            && median(r, o.hold) > median(r, p.hold)
        {
            let spot = fields.spot_of("oxygen");
            r.texts.fault(
                &spot,
                "oxygen is held above the total pressure",
                "the total pressure includes the oxygen",
            );
        }
        // Kept for an unknown compartment too, so that spots and holds stay in step.
        parts.holds.push(HoldNums {
            compartment: compartment.unwrap_or(0),
            oxygen,
            pressure,
        });
    }
}

/// The compartment that a table of `[control]` is about.
fn held_in(r: &mut Reader<'_>, name: &str, spot: &Spot) -> Option<usize> {
    if r.known.index(What::Compartment, name).is_none() && r.known.suits.get(name).is_some() {
        let message = format!("`{name}` is a person, and their suit keeps its pressure by itself");
        let help = format!("`[control]` is for compartments; a suit's own is `pressure` in `[suits.{name}]`");
        r.texts.fault(spot, message, help);
        return None;
    }
    r.refer(What::Compartment, name, spot)
}

/// How gas is let in.
fn regulation(r: &mut Reader<'_>, held: &Fields<'_>, hold: Num, gas: Species) -> ByNums {
    let dimension = Dimension::GasRate(gas.molar_mass_kg_mol());
    let domain = match held.section.key("flow").map(|k| k.kind) {
        Some(Kind::Number(_, domain)) => domain,
        _ => Domain { lo: 0.0, hi: 0.0 },
    };
    let flow = held.entry("flow").map(|_| {
        let read = held.number_in(r, "flow", dimension, domain, true);
        read.map_or(Num::Fixed(f64::NAN), |n| n.num)
    });
    let width = held.number_if(r, "band");
    let full_at = held.number_if(r, "full_at");
    for (name, given) in [("band", width), ("full_at", full_at)] {
        if given.is_some() && flow.is_none() && !held.misspelt("flow") {
            let message = format!("`{}` has `{name}` without `flow`", held.path);
            r.texts.fault(
                &held.spot_of(name),
                message,
                "say how much is let in: flow = \"0.5 kg/h\"",
            );
        }
    }
    for (name, given) in [("band", width), ("full_at", full_at)] {
        if let Some(given) = given
            && median(r, given) >= median(r, hold)
        {
            let message = format!("`{name}` is not smaller than what is held");
            r.texts.fault(
                &held.spot_of(name),
                message,
                "it is a difference from `hold`, not a pressure of its own",
            );
        }
    }
    match (flow, width, full_at) {
        (_, Some(_), Some(_)) => {
            let message = format!("`{}` has both `band` and `full_at`", held.path);
            r.texts.fault(
                &held.spot_of("full_at"),
                message,
                "`band` is on and off, `full_at` in proportion: remove one of the two",
            );
            ByNums::Ideal
        }
        (Some(flow), Some(width), None) => ByNums::Band { width, flow },
        (Some(flow), None, Some(full_at)) => ByNums::Proportional { full_at, flow },
        (Some(flow), None, None) => ByNums::Limited { flow },
        (None, ..) => ByNums::Ideal,
    }
}
