//! `[air]`, `[outside]`, `[compartments]`, `[openings]`.

use crate::air::Place;
use crate::scenario::blueprint::{AirNums, CompartmentNums, OpeningNums, Parts, WallNums};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{COMPARTMENT, OPENING, What};
use crate::scenario::known::SUIT;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::text::{Entry, Spot, Table, Value};
use crate::units::show;

use super::{air, heat, median};

/// Where things stand, for checks that come later.
#[derive(Debug, Default)]
pub(in crate::scenario) struct CabinSpots {
    pub compartments: Vec<Spot>,
    pub leaks: Vec<Spot>,
    pub openings: Vec<Spot>,
    pub holds: Vec<[Spot; 2]>,
}

/// Reads the cabin.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts) -> CabinSpots {
    let common = root.sub(r, "air").map(|fields| air::whole(r, &fields));
    parts.air = common;
    parts.outside = root.sub(r, "outside").map(|fields| air::whole(r, &fields));
    let mut spots = CabinSpots::default();
    let unknown = Num::Fixed(f64::NAN);
    let nothing = AirNums {
        pressure: unknown,
        oxygen: unknown,
        co2: unknown,
        humidity: unknown,
        temperature: unknown,
    };
    let named = root.named(r, "compartments");
    if named.is_empty() && root.entry("compartments").is_some() {
        r.texts.fault(
            &root.spot_of("compartments"),
            "there is no compartment",
            "add a table `[compartments.cabin]`",
        );
    }
    for (entry, table) in named {
        let path = format!("compartments.{}", entry.key);
        let fields = Fields::new(r, &COMPARTMENT, table, &path, &entry.key_spot);
        spots.compartments.push(entry.key_spot.clone());
        spots.leaks.push(fields.spot_of("leak"));
        let nums = compartment(r, &fields, common.as_ref().unwrap_or(&nothing));
        parts.compartments.push(nums);
    }
    openings(r, root, parts, &mut spots);
    if let Some(table) = root.entry("control").and_then(|e| e.node.table()) {
        let of = |e: &Entry, what| hold_spot(&e.node.value, what, &e.key_spot);
        spots.holds = table
            .entries
            .iter()
            .map(|e| [of(e, "oxygen"), of(e, "pressure")])
            .collect();
    }
    spots
}

/// Where the value of a hold stands.
fn hold_spot(value: &Value, what: &str, otherwise: &Spot) -> Spot {
    let Value::Table(table) = value else {
        return otherwise.clone();
    };
    let hold = |t: &Table| t.get("hold").map(|e| e.node.spot.clone());
    table
        .get(what)
        .and_then(|e| e.node.table().and_then(hold))
        .unwrap_or_else(|| otherwise.clone())
}

fn compartment(r: &mut Reader<'_>, fields: &Fields<'_>, common: &AirNums) -> CompartmentNums {
    let volume = fields.number_full(r, "free_volume");
    let free = volume.map_or(Num::Fixed(f64::NAN), |n| n.num);
    let usable = fields.number_if(r, "usable_volume").unwrap_or_else(|| {
        let shown = volume.map_or_else(String::new, |n| {
            show(n.median, crate::units::Dimension::Volume.si_unit())
        });
        r.assume(
            fields.path_of("usable_volume"),
            "the free volume",
            shown,
            "assumption: nothing is out of bounds",
            false,
        );
        free
    });
    let air = match fields.sub(r, "air") {
        Some(own) => air::own(r, &own, common),
        None => *common,
    };
    let walls = fields.sub(r, "walls").map(|walls| wall(r, &walls));
    CompartmentNums {
        volume: free,
        usable,
        air,
        walls,
        leak: fields.number(r, "leak"),
        leak_area: fields.number_if(r, "leak_area"),
        relief: relief(r, fields),
        washout: washout(r, fields),
        heat: heat::read(r, fields, walls.as_ref()),
    }
}

/// A valve to the outside.
fn relief(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<[Num; 3]> {
    let valve = fields.sub(r, "relief")?;
    let [opens, closes, area] = ["opens", "closes", "area"].map(|name| valve.number(r, name));
    if median(r, closes) >= median(r, opens) {
        r.texts.fault(
            &valve.spot_of("closes"),
            format!("the valve of `{}` closes where it has not opened yet", valve.path),
            "`closes` is a pressure below `opens`",
        );
    }
    Some([opens, closes, area])
}

/// What a person's own breath adds to what they breathe.
pub(super) fn washout(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<[Num; 2]> {
    let given = fields.sub(r, "washout")?;
    Some(["adds", "at"].map(|name| given.number(r, name)))
}

fn wall(r: &mut Reader<'_>, fields: &Fields<'_>) -> WallNums {
    let temperature = fields.number_if(r, "temperature");
    let area = fields.number(r, "area");
    let cold_spot = fields.number_if(r, "cold_spot");
    let cold_spot_area = fields.number_if(r, "cold_spot_area");
    let film = fields.number_if(r, "film");
    let optimistic = fields.word(r, "equilibrium") == Some("optimistic");
    if temperature.is_none() {
        r.assume(
            fields.path_of("temperature"),
            "the air temperature",
            String::new(),
            "assumption",
            false,
        );
    }
    if cold_spot.is_some() && cold_spot_area.is_none() {
        let shown = show(0.02 * median(r, area), crate::units::Dimension::Area.si_unit());
        r.assume(
            fields.path_of("cold_spot_area"),
            "2 % of the area",
            shown,
            "assumption",
            false,
        );
    }
    if film.is_none() && !optimistic {
        let source = "turbulent free convection, McAdams 1954";
        r.assume(
            fields.path_of("film"),
            "natural convection",
            String::new(),
            source,
            true,
        );
    }
    if cold_spot.is_none() && cold_spot_area.is_some() {
        r.texts.fault(
            &fields.spot_of("cold_spot_area"),
            "an area for a cold spot that is not there",
            "add its temperature: cold_spot = \"14 degC\"",
        );
    }
    if let Some(spot_area) = cold_spot_area
        && median(r, spot_area) >= median(r, area)
    {
        r.texts.fault(
            &fields.spot_of("cold_spot_area"),
            "the cold spot is not smaller than all of the walls",
            "`area` includes the cold spot",
        );
    }
    if optimistic && film.is_some() {
        r.texts.fault(
            &fields.spot_of("film"),
            "`film` means nothing with equilibrium = \"optimistic\"",
            "remove one of the two",
        );
    }
    WallNums {
        temperature,
        area,
        cold_spot,
        cold_spot_area,
        film,
        optimistic,
    }
}

fn openings(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts, spots: &mut CabinSpots) {
    for (entry, table) in root.named(r, "openings") {
        let path = format!("openings.{}", entry.key);
        let fields = Fields::new(r, &OPENING, table, &path, &entry.key_spot);
        spots.openings.push(entry.key_spot.clone());
        let between = between(r, &fields);
        let nums = OpeningNums {
            between: between.unwrap_or([Place::Outside; 2]),
            exchange: fields.number(r, "exchange"),
            open: fields.flag(r, "open"),
            opens_within: fields.number(r, "opens_within"),
        };
        let onto_vacuum = between.is_some_and(|b| b.contains(&Place::Outside)) && root.entry("outside").is_none();
        if onto_vacuum && nums.open {
            let message = format!("`{}` is open onto the vacuum outside", entry.key);
            r.texts.fault(
                &entry.key_spot,
                message,
                "write `open = false`, or give the gas around the cabin in `[outside]`",
            );
        }
        if onto_vacuum {
            r.known.vacuum_openings.push(parts.openings.len());
        }
        parts.openings.push(nums);
    }
}

fn between(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<[Place; 2]> {
    let entry = match fields.entry("between") {
        Some(entry) => entry,
        None => {
            fields.missing(r, "between");
            return None;
        }
    };
    let Value::List(items) = &entry.node.value else {
        fields.wrong(r, "between", "two places");
        return None;
    };
    if items.len() != 2 {
        r.texts.fault(
            &entry.node.spot,
            format!("`between` takes two places, not {}", items.len()),
            "between = [\"cabin\", \"lock\"]",
        );
        return None;
    }
    r.note(fields.path_of("between"), &entry.node, String::new(), None);
    let mut ends = Vec::new();
    for item in items {
        match item.text() {
            Some(name) => ends.push(place(r, name, &item.spot)),
            None => {
                r.texts
                    .fault(&item.spot, format!("`between` takes places, not {}", item.kind()), "");
                return None;
            }
        }
    }
    let joined: Vec<&str> = items.iter().filter_map(|i| i.text()).collect();
    if let Some(last) = r.resolved.last_mut() {
        last.written = joined.join(" - ");
        last.si.clone_from(&last.written);
    }
    let (a, b) = (ends[0]?, ends[1]?);
    if a == b {
        r.texts.fault(
            &entry.node.spot,
            "an opening leads from a place to itself",
            "name two different places",
        );
        return None;
    }
    Some([a, b])
}

/// A place by its name.
pub(super) fn place(r: &mut Reader<'_>, name: &str, spot: &Spot) -> Option<Place> {
    if name == "outside" {
        return Some(Place::Outside);
    }
    if name.starts_with(SUIT) {
        let message = format!("`{name}` is a suit, not a place");
        let help = "people wear it wherever they are: suit = \"pressurised\" in a task";
        r.texts.fault(spot, message, help);
        return None;
    }
    r.refer(What::Place, name, spot).map(Place::Compartment)
}
