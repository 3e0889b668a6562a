//! Names and sentences for what the simulator says by index.

use breathroom_sim::air::{Place, Species};
use breathroom_sim::engine::{End, RunError, Transfer, TransferKind};
use breathroom_sim::scenario::{Names, TaskName};
use breathroom_sim::timeline::SuitUse;
use breathroom_sim::units::{Time, figures};

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

/// What a transfer is about: its compartment; of an equalisation, its opening.
#[must_use]
pub fn transferred<'a>(names: &'a Names, transfer: &Transfer) -> &'a str {
    match transfer.kind {
        TransferKind::Vent | TransferKind::Fill => compartment(names, transfer.subject),
        TransferKind::Equalise => opening(names, transfer.subject),
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

/// Why a run ended early, if it did: when, and the cause.
#[must_use]
pub fn early_end(end: &End, names: &Names) -> Option<(Time, String)> {
    match *end {
        End::Completed => None,
        End::OxygenFloor {
            at,
            compartment: place,
            person: who,
        } => {
            let who = person(names, who);
            let place = compartment(names, place);
            Some((
                at,
                format!("the oxygen that {who} breathes in {place} fell below the floor for survival"),
            ))
        }
        End::Exhausted {
            at,
            compartment: place,
            species: what,
        } => Some((
            at,
            format!("the {} in {} ran out", species(what), compartment(names, place)),
        )),
    }
}

/// Why a run could not be finished, with names, and what may be done about it.
#[must_use]
pub fn describe(error: &RunError, names: &Names) -> String {
    match error {
        RunError::HatchAgainstPressure {
            at,
            opening: which,
            difference_pa,
        } => format!(
            "at {at}: `{}` cannot be opened against a pressure difference of {} (raise `opens_within` if it can, or bring \
             the pressures together first)",
            opening(names, *which),
            with_unit(difference_pa.abs() * 1e-3, "kPa"),
        ),
        RunError::Unsuited {
            at,
            compartment: place,
            person: who,
        } => format!(
            "at {at}: `{}` was to be vented while {} is in it without a pressurised suit",
            compartment(names, *place),
            person(names, *who),
        ),
        RunError::TooManyPasses { at, tasks } => {
            let who: Vec<String> = tasks
                .iter()
                .take(8)
                .map(|&index| format!("`{}`", task(names, index)))
                .collect();
            let more = if tasks.len() > 8 {
                format!(" and {} more", tasks.len() - 8)
            } else {
                String::new()
            };
            let who = if who.is_empty() {
                "no task".to_owned()
            } else {
                who.join(", ")
            };
            format!("at {at}: 1,000 rounds of effects at one instant without coming to rest; taking part: {who}{more}")
        }
        RunError::Restless { at, compartment: place } => format!(
            "at {at}: the air of `{}` changed its way of behaving more than 100 times in one second; look at the holds, \
             devices and surfaces of that compartment",
            compartment(names, *place)
        ),
        RunError::NotFinite { at, compartment: place } => format!(
            "at {at}: a number in `{}` stopped being finite; a value of the scenario is far outside what the model can \
             carry",
            compartment(names, *place)
        ),
        RunError::Invalid(what) => format!("the case is not valid ({what}): a fault of this program, not of the file"),
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

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> Names {
        Names {
            compartments: vec!["cabin".to_owned()],
            openings: vec!["inner_hatch".to_owned()],
            tasks: vec![
                TaskName {
                    id: "don".to_owned(),
                    turn: 1,
                    turns: 1,
                    person: None,
                },
                TaskName {
                    id: "wash".to_owned(),
                    turn: 2,
                    turns: 3,
                    person: Some("lead".to_owned()),
                },
            ],
            people: vec!["lead".to_owned()],
            ..Names::default()
        }
    }

    #[test]
    fn a_failed_run_is_told_with_names() {
        let at = Time::from_seconds(3600.0);
        let text = describe(
            &RunError::HatchAgainstPressure {
                at,
                opening: 0,
                difference_pa: -12_000.0,
            },
            &names(),
        );
        assert!(
            text.contains("`inner_hatch`") && text.contains("12 kPa") && text.contains("1 h 00 min"),
            "{text}"
        );
        let text = describe(&RunError::TooManyPasses { at, tasks: vec![0, 1] }, &names());
        assert!(text.contains("`don`, `wash#2:lead`"), "{text}");
    }

    #[test]
    fn an_index_that_names_nothing_is_no_panic() {
        let text = describe(
            &RunError::NotFinite {
                at: Time::ZERO,
                compartment: 7,
            },
            &names(),
        );
        assert!(text.contains("`?`"), "{text}");
    }

    #[test]
    fn the_cause_of_an_early_end_names_who_and_where() {
        let end = End::OxygenFloor {
            at: Time::ZERO,
            compartment: 0,
            person: 0,
        };
        let (_, cause) = early_end(&end, &names()).expect("early");
        assert!(cause.contains("lead") && cause.contains("cabin"), "{cause}");
        assert!(early_end(&End::Completed, &names()).is_none());
    }
}
