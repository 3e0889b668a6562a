//! `profile.csv`: set points that the bench can follow; `wanted.csv`: what is wanted, in the same columns; `misses.csv`.

use breathroom_sim::air::{Species, dew_point_k};

use super::{Profile, channel_words};
use crate::profile::{Channel, Point};
use crate::results::numbers::{deg_c, kpa, mmhg};
use crate::results::table::{Cell, Column, Table};

/// Below this vapour pressure, Pa, no dew point is told.
const THIN_PA: f64 = 1e-2;

/// What the bench is to deliver.
#[must_use]
pub fn delivered(profile: &Profile) -> Table<'_> {
    table(
        profile,
        "profile",
        "Set points of the bench, within its own limits, over time.",
        &profile.delivered.points,
    )
}

/// What is wanted.
#[must_use]
pub fn wanted(profile: &Profile) -> Table<'_> {
    table(
        profile,
        "wanted",
        "What the device's inlet asks for, whatever the bench can do.",
        &profile.demand.points,
    )
}

fn table<'a>(profile: &'a Profile, name: &'static str, title: &str, points: &'a [Point]) -> Table<'a> {
    let standard = format!("as standard volume, stated for {}", profile.reference());
    let mut columns = vec![
        Column::number("time", "min", "Time since the start of the run."),
        Column::number(
            "co2 in",
            "mmHg",
            "Partial pressure of CO2 at the inlet; empty without flow.",
        ),
        Column::number(
            "water in",
            "kPa",
            "Partial pressure of water vapour at the inlet; empty without flow.",
        ),
        Column::number("dew point in", "degC", "Dew point at the inlet; empty without flow."),
        Column::number("temperature", "degC", "Temperature at the inlet."),
        Column::number("pressure", "kPa", "Total pressure at the inlet."),
        Column::number(
            "flow",
            "L/min",
            "Actual volume at the inlet; 0 while the device has no flow.",
        ),
    ];
    for (gas, words) in [
        ("co2", "CO2"),
        ("water", "Water vapour"),
        ("oxygen", "Oxygen"),
        ("diluent", "Diluent (nitrogen)"),
    ] {
        columns.push(Column::number(
            format!("{gas} standard"),
            "L/min",
            format!("{words} flow, {standard}."),
        ));
    }
    columns.push(Column::number(
        "standard flow",
        "L/min",
        format!("Flow of all gas, {standard}."),
    ));
    for (gas, words) in [
        ("co2", "CO2"),
        ("water", "Water"),
        ("oxygen", "Oxygen"),
        ("diluent", "Diluent (nitrogen)"),
    ] {
        columns.push(Column::number(format!("{gas} mass"), "g/h", format!("{words} as mass rate.")).detail());
    }
    Table::new(name, title, columns, points.len(), move |row, cells| {
        let point = &points[row];
        let flows = point.total_mol_s() > 0.0;
        let only = |value: f64| if flows { Cell::Number(value) } else { Cell::Empty };
        let vapour = point.partial_pa(Species::Water);
        cells.extend([
            Cell::Number(point.time_s / 60.0),
            only(mmhg().from_si(point.partial_pa(Species::Co2))),
            only(kpa().from_si(vapour)),
            if vapour > THIN_PA {
                Cell::Number(deg_c().from_si(dew_point_k(vapour)))
            } else {
                Cell::Empty
            },
            Cell::Number(deg_c().from_si(point.temperature_k)),
            Cell::Number(kpa().from_si(point.pressure_pa)),
            Cell::Number(point.flow_m3_s() * 6e4),
        ]);
        cells.extend(point.flow_mol_s.map(|flow| Cell::Number(profile.standard_l_min(flow))));
        cells.push(Cell::Number(profile.standard_l_min(point.total_mol_s())));
        for species in Species::ALL {
            let mass = point.flow_mol_s[species as usize] * species.molar_mass_kg_mol() * 3.6e6;
            cells.push(Cell::Number(mass));
        }
    })
}

/// Where the bench cannot follow.
#[must_use]
pub fn misses(profile: &Profile) -> Table<'_> {
    Table::new(
        "misses",
        "Where the bench cannot follow.",
        vec![
            Column::text("channel", "Which."),
            Column::text("why", "Beyond its range, or faster than it can."),
            Column::number("from", "h", "First time."),
            Column::number("to", "h", "Last time."),
            Column::number("at", "h", "When the miss is largest."),
            Column::number("wanted", "", "Then."),
            Column::number("delivered", "", "Then."),
            Column::number("largest miss", "", "Delivered less wanted."),
            Column::text("unit", "The unit of these; flows as standard volume."),
        ],
        profile.delivered.misses.len(),
        move |row, cells| {
            let miss = &profile.delivered.misses[row];
            let (wanted, unit) = profile.shown(miss.channel, miss.wanted);
            let (delivered, _) = profile.shown(miss.channel, miss.delivered);
            cells.extend([
                channel_words(miss.channel).into(),
                if miss.is_range { "range" } else { "slew" }.into(),
                (miss.from_s / 3600.0).into(),
                (miss.to_s / 3600.0).into(),
                (miss.at_s / 3600.0).into(),
                wanted.into(),
                delivered.into(),
                (delivered - wanted).into(),
                unit.into(),
            ]);
        },
    )
}

/// Channels that are limited and that miss something.
#[must_use]
pub fn missing_channels(profile: &Profile) -> Vec<Channel> {
    let has = |channel: &Channel| profile.delivered.misses.iter().any(|miss| miss.channel == *channel);
    Channel::ALL.into_iter().filter(has).collect()
}
