//! Names and sentences for what the simulator says by index.

use breathroom_sim::air::{Place, Species};
use breathroom_sim::engine::{Transfer, TransferKind};
use breathroom_sim::scenario::{Names, TaskName};
use breathroom_sim::timeline::SuitUse;
use breathroom_sim::units::figures;

use super::numbers::with_unit;
use super::summary::Limit;

/// The name of an index, or a mark for one that names nothing (a fault of the program, not of the file).
fn name(names: &[String], index: usize) -> &str {
    names.get(index).map_or("?", String::as_str)
}

/// A compartment's name.
#[must_use]
pub fn compartment(names: &Names, index: usize) -> &str {
    name(&names.compartments, index)
}

/// A person's name.
#[must_use]
pub fn person(names: &Names, index: usize) -> &str {
    name(&names.people, index)
}

/// An effort's name.
#[must_use]
pub fn effort(names: &Names, index: usize) -> &str {
    name(&names.efforts, index)
}

/// An opening's name.
#[must_use]
pub fn opening(names: &Names, index: usize) -> &str {
    name(&names.openings, index)
}

/// A device's name.
#[must_use]
pub fn device(names: &Names, index: usize) -> &str {
    name(&names.devices, index)
}

/// A tank's name.
#[must_use]
pub fn tank(names: &Names, index: usize) -> &str {
    name(&names.tanks, index)
}

/// A fault's name.
#[must_use]
pub fn fault(names: &Names, index: usize) -> &str {
    name(&names.faults, index)
}

/// An alarm's name.
#[must_use]
pub fn alarm(names: &Names, index: usize) -> &str {
    name(&names.alarms, index)
}

/// The names of people given as bits, joined; "everyone" where every bit is set.
#[must_use]
pub fn people(names: &Names, bits: u64) -> String {
    if bits == u64::MAX {
        return "everyone".to_owned();
    }
    let of = |index: &usize| bits & (1 << index) != 0;
    let found: Vec<&str> = (0..names.people.len().min(64))
        .filter(of)
        .map(|index| person(names, index))
        .collect();
    found.join(", ")
}

/// What a transfer is about: its compartment; of an equalisation, its opening.
#[must_use]
pub fn transferred<'a>(names: &'a Names, transfer: &Transfer) -> &'a str {
    match transfer.kind {
        TransferKind::Vent | TransferKind::Fill => compartment(names, transfer.subject),
        TransferKind::Equalise => opening(names, transfer.subject),
    }
}

/// The pressure that a transfer came to, Pa. Of a difference that it evened out rounding may leave something.
pub fn come_to(transfer: &Transfer) -> f64 {
    const ROUNDING_PA: f64 = 1e-6;
    if transfer.to_pa.abs() < ROUNDING_PA {
        0.0
    } else {
        transfer.to_pa
    }
}

/// A place's name.
#[must_use]
pub fn place(names: &Names, place: Place) -> &str {
    match place {
        Place::Outside => "outside",
        Place::Compartment(index) => compartment(names, index),
    }
}

/// One turn of a task: "don", "sleep#2" of a repeated one, "wash#1:lead" of one that each person does alone.
#[must_use]
pub fn task_label(task: &TaskName) -> String {
    let mut label = task.id.clone();
    if task.turns > 1 {
        label.push_str(&format!("#{}", task.turn));
    }
    if let Some(person) = &task.person {
        label.push_str(&format!(":{person}"));
    }
    label
}

/// The label of the task of an index.
#[must_use]
pub fn task(names: &Names, index: usize) -> String {
    names.tasks.get(index).map_or_else(|| "?".to_owned(), task_label)
}

/// How a suit is worn.
#[must_use]
pub fn suit_use(suit: SuitUse) -> &'static str {
    match suit {
        SuitUse::Off => "off",
        SuitUse::Ventilated => "ventilated",
        SuitUse::Closed => "closed",
        SuitUse::Purged => "purged",
        SuitUse::Pressurised => "pressurised",
    }
}

/// A species, for people.
#[must_use]
pub fn species(species: Species) -> &'static str {
    match species {
        Species::Co2 => "CO2",
        Species::Water => "water vapour",
        Species::Oxygen => "oxygen",
        Species::Diluent => "diluent",
    }
}

/// "1 limit", "2 limits".
#[must_use]
pub fn count(number: usize, thing: &str) -> String {
    format!("{number} {thing}{}", if number == 1 { "" } else { "s" })
}

/// A margin with its unit and, where it means something, its share of the limit: "0.59 mmHg (20 % of the limit)".
#[must_use]
pub fn margin(value: f64, unit: &str, fraction: Option<f64>) -> String {
    let own = with_unit(value, unit);
    match fraction {
        Some(fraction) if fraction.is_finite() && unit != "%" => {
            format!("{own} ({} % of the limit)", figures(100.0 * fraction, 2))
        }
        _ => own,
    }
}

/// A limit with its unit: "103.4 kPa".
#[must_use]
pub fn limit_text(limit: &Limit) -> String {
    format!("{} {}", figures(limit.limit, 4), limit.unit)
        .trim_end()
        .to_owned()
}
