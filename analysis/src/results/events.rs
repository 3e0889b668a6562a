//! `events.csv`: what happened in one run, in order, with names in place of indices.

use breathroom_sim::air::SurfaceKind;
use breathroom_sim::engine::{Case, Event, Trace};
use breathroom_sim::scenario::Scenario;
use breathroom_sim::timeline::{Effect, SuitUse};

use super::table::{Cell, Column, Table};
use super::words;

/// What one event says in each column.
#[derive(Default)]
struct Told {
    what: &'static str,
    task: String,
    person: String,
    effort: String,
    place: String,
    thing: String,
    limit: String,
}

/// The log of a run as a table.
#[must_use]
pub fn table<'a>(trace: &'a Trace, scenario: &'a Scenario, case: &'a Case) -> Table<'a> {
    let columns = vec![
        Column::number("time", "h", "Time since the start of the run."),
        Column::text("clock", "The same as hours, minutes and seconds."),
        Column::text("event", "What happened."),
        Column::text(
            "task",
            "The task it is about: its id, #turn of a repeated one, :person of one that each does alone.",
        ),
        Column::text("person", "The person it is about."),
        Column::text("effort", "The effort taken up."),
        Column::text("place", "Where."),
        Column::text("thing", "The opening, device or surface it is about."),
        Column::text("limit", "The limit that was crossed, and whose it is."),
    ];
    Table::new(
        "events",
        "What happened, in order.",
        columns,
        trace.log.len(),
        move |index, cells| {
            let entry = trace.log[index];
            let told = tell(entry.event, scenario, case);
            cells.push(entry.at.hours().into());
            cells.push(entry.at.to_string().into());
            cells.push(told.what.into());
            cells.extend([told.task, told.person, told.effort, told.place, told.thing, told.limit].map(Cell::Text));
        },
    )
}

fn tell(event: Event, scenario: &Scenario, case: &Case) -> Told {
    let names = &scenario.names;
    match event {
        Event::TaskStarted(task) => Told {
            what: "task started",
            task: words::task(names, task),
            ..Told::default()
        },
        Event::TaskEnded(task) => Told {
            what: "task ended",
            task: words::task(names, task),
            ..Told::default()
        },
        Event::TaskWaits(task) => Told {
            what: "task waits",
            task: words::task(names, task),
            ..Told::default()
        },
        Event::Does { person, effort, place } => Told {
            what: "does",
            person: words::person(names, person).to_owned(),
            effort: words::effort(names, effort).to_owned(),
            place: words::place(names, place).to_owned(),
            ..Told::default()
        },
        Event::Effect { task, effect } => {
            let (what, thing) = match effect {
                Effect::Open(index) => ("opened", words::opening(names, index)),
                Effect::Close(index) => ("closed", words::opening(names, index)),
                Effect::SwitchOn(index) => ("switched on", words::device(names, index)),
                Effect::SwitchOff(index) => ("switched off", words::device(names, index)),
                Effect::Vent { compartment, .. } => ("vent began", words::compartment(names, compartment)),
                Effect::Fill { compartment, .. } => ("fill began", words::compartment(names, compartment)),
                Effect::Equalise { opening, .. } => ("equalising began", words::opening(names, opening)),
                Effect::ChangeCanister(index) => ("canister changed", words::device(names, index)),
                Effect::Recharge(index) => ("suit recharged", words::person(names, case.suits[index].wearer)),
            };
            Told {
                what,
                task: words::task(names, task),
                thing: thing.to_owned(),
                ..Told::default()
            }
        }
        Event::LimitCrossed(rule) => Told {
            what: "limit crossed",
            limit: scenario
                .limits
                .get(rule)
                .map_or_else(|| "?".to_owned(), |info| format!("{} {}", info.id, info.subject)),
            ..Told::default()
        },
        Event::FilmBegan { compartment, surface } => surface_event("film began", scenario, case, compartment, surface),
        Event::FilmDried { compartment, surface } => surface_event("film dried", scenario, case, compartment, surface),
        Event::SuitWorn { person, suit } => Told {
            what: match suit {
                SuitUse::Off => "suit off",
                SuitUse::Ventilated => "suit ventilated",
                SuitUse::Closed => "suit closed",
                SuitUse::Purged => "suit purged",
                SuitUse::Pressurised => "suit pressurised",
            },
            person: words::person(names, person).to_owned(),
            ..Told::default()
        },
        Event::TransferEnded(_) => Told {
            what: "vent, fill or equalising ended",
            ..Told::default()
        },
        Event::TankDry(tank) => Told {
            what: "tank ran dry",
            thing: words::tank(names, tank).to_owned(),
            ..Told::default()
        },
        Event::TankReserve(tank) => Told {
            what: "tank below its reserve",
            thing: words::tank(names, tank).to_owned(),
            ..Told::default()
        },
        Event::Relief { compartment, opened } => Told {
            what: if opened { "relief opened" } else { "relief closed" },
            place: words::compartment(names, compartment).to_owned(),
            ..Told::default()
        },
        Event::NoCanister(device) => Told {
            what: "no canister left",
            thing: words::device(names, device).to_owned(),
            ..Told::default()
        },
        Event::NotSurvivable => Told {
            what: "not survivable",
            ..Told::default()
        },
    }
}

fn surface_event(what: &'static str, scenario: &Scenario, case: &Case, compartment: usize, surface: usize) -> Told {
    let found = case
        .compartments
        .get(compartment)
        .and_then(|place| place.surfaces.get(surface));
    let thing = found.map_or("?", |surface| match surface.kind {
        SurfaceKind::Wall => "walls",
        SurfaceKind::ColdSpot => "cold spot",
        SurfaceKind::Mist => "mist in the air",
    });
    let place = words::compartment(&scenario.names, compartment).to_owned();
    Told {
        what,
        place,
        thing: thing.to_owned(),
        ..Told::default()
    }
}
