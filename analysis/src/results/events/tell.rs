//! One event in words: names in place of indices, and what was moved.

use breathroom_sim::air::{Species, SurfaceKind};
use breathroom_sim::engine::{Case, Event, Outcome, TransferKind};
use breathroom_sim::scenario::{Names, Scenario};
use breathroom_sim::timeline::{Effect, Pace, SuitUse};

use super::super::numbers::{self, kilograms, percent, short, with_unit};
use super::super::summary::Gas;
use super::super::{endings, words};
use super::order::Line;

/// What one event says in each column.
#[derive(Default)]
pub(super) struct Told {
    pub what: &'static str,
    pub task: String,
    pub person: String,
    pub effort: String,
    pub place: String,
    pub thing: String,
    pub limit: String,
    /// Pressure before and after, Pa, and gas, kg, of what moved gas.
    pub moved: Option<[f64; 3]>,
    pub detail: String,
}

/// What a log is told with.
#[derive(Clone, Copy)]
pub(super) struct Source<'a> {
    pub scenario: &'a Scenario,
    pub case: &'a Case,
    pub outcome: &'a Outcome,
}

/// What an event says.
pub(super) fn tell(line: Line, source: Source<'_>) -> Told {
    let names = &source.scenario.names;
    let of_task = |what, task| Told {
        what,
        task: words::task(names, task),
        ..Told::default()
    };
    let of_thing = |what, name: &str| Told {
        what,
        thing: name.to_owned(),
        ..Told::default()
    };
    match line.event {
        Event::TaskStarted(task) => of_task("task started", task),
        Event::TaskEnded(task) => of_task("task ended", task),
        Event::TaskWaits(task) => of_task("task waits", task),
        Event::Does { person, effort, place } => Told {
            what: "does",
            person: words::person(names, person).to_owned(),
            effort: words::effort(names, effort).to_owned(),
            place: words::place(names, place).to_owned(),
            ..Told::default()
        },
        Event::Effect { task, effect } => Told {
            task: words::task(names, task),
            ..effect_told(effect, source)
        },
        Event::LimitCrossed(rule) => {
            let info = source.scenario.limits.get(rule);
            Told {
                what: "limit crossed",
                limit: info.map_or_else(|| "?".to_owned(), |info| format!("{} {}", info.id, info.subject)),
                detail: info.map_or_else(String::new, |info| info.words.clone()),
                ..Told::default()
            }
        }
        Event::FilmBegan { compartment, surface } => surface_event("film began", source, compartment, surface),
        Event::FilmDried { compartment, surface } => surface_event("film dried", source, compartment, surface),
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
        Event::TransferEnded(index) => transfer_ended(index, source),
        Event::TankDry(tank) => Told {
            what: "tank ran dry",
            thing: words::tank(names, tank).to_owned(),
            ..Told::default()
        },
        Event::TankReserve(tank) => Told {
            what: "tank below its reserve",
            thing: words::tank(names, tank).to_owned(),
            detail: source.case.tanks.get(tank).map_or_else(String::new, |of| {
                let kg = of.reserve_mol * of.gas.molar_mass_kg_mol();
                format!("of {}", with_unit(kg, "kg"))
            }),
            ..Told::default()
        },
        Event::Relief { compartment, opened } => Told {
            what: if opened { "relief opened" } else { "relief closed" },
            place: words::compartment(names, compartment).to_owned(),
            ..Told::default()
        },
        Event::NoCanister(device) => Told {
            what: "no canister left",
            task: line.task.map_or_else(String::new, |task| words::task(names, task)),
            thing: words::device(names, device).to_owned(),
            detail: "the one in place stays".to_owned(),
            ..Told::default()
        },
        Event::FaultBegan(fault) => of_thing("fault began", words::fault(names, fault)),
        Event::FaultEnded(fault) => of_thing("fault ended", words::fault(names, fault)),
        Event::AlarmOn { alarm, is_false } => Told {
            detail: if is_false {
                "FALSE: the truth was not beyond its set point"
            } else {
                ""
            }
            .to_owned(),
            ..of_thing("alarm on", words::alarm(names, alarm))
        },
        Event::AlarmOff(alarm) => of_thing("alarm off", words::alarm(names, alarm)),
        Event::TaskInterrupted(task) => of_task("task interrupted", task),
        Event::TaskResumed(task) => of_task("task goes on", task),
        Event::TaskDropped(task) => of_task("task dropped", task),
        Event::TaskRecalled(task) => of_task("task recalled", task),
        Event::RepairFailed(fault) => of_thing("repair failed", words::fault(names, fault)),
        Event::Mask { person, on } => Told {
            what: if on { "mask on" } else { "mask off" },
            person: words::person(names, person).to_owned(),
            ..Told::default()
        },
        Event::NotSurvivable => Told {
            what: "not survivable",
            detail: endings::early_end(&source.outcome.end, names).map_or_else(String::new, |(_, cause)| cause),
            ..Told::default()
        },
    }
}

fn effect_told(effect: Effect, source: Source<'_>) -> Told {
    let names = &source.scenario.names;
    let thing = |what, name: &str| Told {
        what,
        thing: name.to_owned(),
        ..Told::default()
    };
    let place = |what, compartment, detail| Told {
        what,
        place: words::compartment(names, compartment).to_owned(),
        detail,
        ..Told::default()
    };
    let to = |pa: f64, pace, oxygen| format!("to {} {}", numbers::kilopascals(pa), pace_told(pace, oxygen));
    match effect {
        Effect::Open(index) => thing("opened", words::opening(names, index)),
        Effect::Close(index) => thing("closed", words::opening(names, index)),
        Effect::SwitchOn(index) => thing("switched on", words::device(names, index)),
        Effect::SwitchOff(index) => thing("switched off", words::device(names, index)),
        Effect::ChangeCanister(index) => thing("canister change", words::device(names, index)),
        Effect::Vent {
            compartment,
            to_pa,
            pace,
        } => place("vent began", compartment, to(to_pa, pace, 0.0)),
        Effect::Fill {
            compartment,
            to_pa,
            pace,
            oxygen,
            oxygen_from,
            diluent_from,
        } => {
            let from: Vec<&str> = [oxygen_from, diluent_from]
                .iter()
                .flatten()
                .map(|&tank| words::tank(names, tank))
                .collect();
            let from = if from.is_empty() {
                String::new()
            } else {
                format!(", from {}", from.join(" and "))
            };
            let detail = format!("{}, {} oxygen{from}", to(to_pa, pace, oxygen), percent(oxygen));
            place("fill began", compartment, detail)
        }
        Effect::Equalise { opening, pace } => Told {
            detail: pace_told(pace, 0.0),
            ..thing("equalising began", words::opening(names, opening))
        },
        Effect::Recall { people, within } => Told {
            what: "recall",
            person: words::people(names, people),
            detail: format!("in {} min at most", short(within.seconds() / 60.0)),
            ..Told::default()
        },
        Effect::Wear { people, .. } => Told {
            what: "suits to be put on",
            person: words::people(names, people),
            ..Told::default()
        },
        Effect::Mask { people, on } => Told {
            what: if on {
                "masks to be put on"
            } else {
                "masks to be taken off"
            },
            person: words::people(names, people),
            ..Told::default()
        },
        Effect::Ease { people, effort } => Told {
            what: "goes easier",
            person: words::people(names, people),
            effort: words::effort(names, effort).to_owned(),
            ..Told::default()
        },
        Effect::Repair(fault) => thing("repair", words::fault(names, fault)),
        Effect::Recharge(index) => Told {
            what: "suit recharged",
            person: source
                .case
                .suits
                .get(index)
                .map_or_else(|| "?".to_owned(), |suit| words::person(names, suit.wearer).to_owned()),
            ..Told::default()
        },
    }
}

/// How fast; a flow is of a mixture with this part of oxygen.
fn pace_told(pace: Pace, oxygen: f64) -> String {
    match pace {
        Pace::Over(time) => format!("over {} min", short(time.seconds() / 60.0)),
        Pace::Through(area_m2) => format!("through {} cm2", short(area_m2 * 1e4)),
        Pace::At(mol_s) => {
            let of = |species: Species, part: f64| part * species.molar_mass_kg_mol();
            let kg_mol = of(Species::Oxygen, oxygen) + of(Species::Diluent, 1.0 - oxygen);
            format!("at {} kg/h", short(3600.0 * kg_mol * mol_s))
        }
    }
}

fn transfer_ended(index: usize, source: Source<'_>) -> Told {
    let names: &Names = &source.scenario.names;
    let Some(of) = source.outcome.transfers.get(index) else {
        return Told {
            what: "vent, fill or equalising ended",
            ..Told::default()
        };
    };
    let (what, moved) = match of.kind {
        TransferKind::Vent => ("vent ended", "lost"),
        TransferKind::Fill => ("fill ended", "let in"),
        TransferKind::Equalise => ("equalising ended", "moved"),
    };
    let name = words::transferred(names, of).to_owned();
    let (place, thing) = match of.kind {
        TransferKind::Equalise => (String::new(), name),
        TransferKind::Vent | TransferKind::Fill => (name, String::new()),
    };
    let gas = Gas::from(of.gas_kg);
    let took = of.ended.map_or_else(String::new, |ended| {
        format!(" in {} min", short((ended - of.began).seconds() / 60.0))
    });
    let short_of = if of.short { "; SHORT: a tank ran dry" } else { "" };
    Told {
        what,
        task: words::task(names, of.task),
        place,
        thing,
        moved: Some([of.from_pa, words::come_to(of), gas.total_kg()]),
        detail: format!(
            "{} oxygen, {} diluent, {} water vapour, {} CO2 {moved}{took}{short_of}",
            kilograms(gas.oxygen_kg),
            kilograms(gas.diluent_kg),
            kilograms(gas.water_kg),
            kilograms(gas.co2_kg),
        ),
        ..Told::default()
    }
}

fn surface_event(what: &'static str, source: Source<'_>, compartment: usize, surface: usize) -> Told {
    let found = source
        .case
        .compartments
        .get(compartment)
        .and_then(|place| place.surfaces.get(surface));
    let thing = found.map_or("?", |surface| match surface.kind {
        SurfaceKind::Wall => "walls",
        SurfaceKind::ColdSpot => "cold spot",
        SurfaceKind::Mist => "mist in the air",
    });
    let place = words::compartment(&source.scenario.names, compartment).to_owned();
    Told {
        what,
        place,
        thing: thing.to_owned(),
        ..Told::default()
    }
}
