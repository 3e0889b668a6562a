//! `events.csv`: what happened in one run, in order, with names in place of indices.

mod order;
mod tell;

use breathroom_sim::engine::{Case, Outcome, Trace};
use breathroom_sim::scenario::Scenario;

use super::numbers;
use super::table::{Cell, Column, Table};
use tell::{Source, tell};

/// The log of a run as a table.
#[must_use]
pub fn table<'a>(trace: &'a Trace, scenario: &'a Scenario, case: &'a Case, outcome: &'a Outcome) -> Table<'a> {
    let source = Source {
        scenario,
        case,
        outcome,
    };
    let kpa = numbers::kpa();
    let lines = order::lines(&trace.log, case);
    Table::new(
        "events",
        "What happened, in order.",
        columns(),
        lines.len(),
        move |index, cells| {
            let line = lines[index];
            let told = tell(line, source);
            cells.push(line.at.hours().into());
            cells.push(line.at.to_string().into());
            cells.push(told.what.into());
            cells.extend([told.task, told.person, told.effort, told.place, told.thing, told.limit].map(Cell::Text));
            match told.moved {
                Some([from_pa, to_pa, kg]) => {
                    cells.extend([kpa.from_si(from_pa), kpa.from_si(to_pa), kg].map(Cell::Number));
                }
                None => cells.extend([Cell::Empty, Cell::Empty, Cell::Empty]),
            }
            cells.push(told.detail.into());
        },
    )
}

fn columns() -> Vec<Column> {
    vec![
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
        Column::text("thing", "The opening, device, tank or surface it is about."),
        Column::text("limit", "The limit that was crossed, and whose it is."),
        Column::number(
            "pressure before",
            "kPa",
            "Total pressure before a vent or fill that ended; of an equalisation, the difference.",
        ),
        Column::number("pressure after", "kPa", "The same at its end."),
        Column::number(
            "gas moved",
            "kg",
            "Gas lost in a vent, let in by a fill, or moved by an equalisation.",
        ),
        Column::text("detail", "More of it in words."),
    ]
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::{Species, Tank};
    use breathroom_sim::engine::{End, Entry, Event, Transfer, TransferKind};
    use breathroom_sim::scenario::TaskName;
    use breathroom_sim::timeline::{Effect, Pace, SuitUse};
    use breathroom_sim::units::Time;

    use super::super::csv_file;
    use super::*;

    fn scenario() -> Scenario {
        let mut scenario = Scenario::default();
        let names = &mut scenario.names;
        names.compartments = vec!["lock".to_owned()];
        names.openings = vec!["hatch".to_owned()];
        names.tanks = vec!["oxygen".to_owned(), "nitrogen".to_owned()];
        names.people = vec!["lead".to_owned()];
        names.devices = vec!["scrubber".to_owned()];
        names.tasks = vec![TaskName {
            id: "out".to_owned(),
            turn: 1,
            turns: 1,
            person: None,
        }];
        scenario
    }

    /// The cells of each event after its clock, empty ones left out.
    fn rows(events: &[Event], outcome: &Outcome, case: &Case) -> Vec<Vec<String>> {
        let entry = |&event: &Event| Entry { at: Time::ZERO, event };
        let trace = Trace {
            samples: Vec::new(),
            log: events.iter().map(entry).collect(),
        };
        let scenario = scenario();
        let mut bytes = Vec::new();
        csv_file::write(&table(&trace, &scenario, case, outcome), &mut bytes).expect("written");
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let told = |row: &csv::StringRecord| -> Vec<String> {
            let cells = row.iter().skip(2).filter(|cell| !cell.is_empty());
            cells.map(str::to_owned).collect()
        };
        reader.records().map(|row| told(&row.expect("whole"))).collect()
    }

    fn transfer(kind: TransferKind, short: bool) -> Transfer {
        Transfer {
            kind,
            ended: Some(Time::from_seconds(600.0)),
            from_pa: 56_500.0,
            gas_kg: [0.25, 0.125, 0.5, 1.5],
            short,
            ..Transfer::default()
        }
    }

    #[test]
    fn what_ends_says_where_from_what_to_what_and_with_how_much_gas() {
        let outcome = Outcome {
            transfers: vec![
                transfer(TransferKind::Vent, false),
                transfer(TransferKind::Fill, true),
                transfer(TransferKind::Equalise, false),
            ],
            ..Outcome::default()
        };
        let events = [0, 1, 2, 3].map(Event::TransferEnded);
        let rows = rows(&events, &outcome, &Case::default());
        let gas = "0.5 kg oxygen, 1.5 kg diluent, 0.125 kg water vapour, 0.25 kg CO2";
        assert_eq!(rows[0][..4], ["vent ended", "out", "lock", "56.5"]);
        assert_eq!(rows[0][4..], ["0", "2.375", &format!("{gas} lost in 10 min")]);
        assert_eq!(
            rows[1].last(),
            Some(&format!("{gas} let in in 10 min; SHORT: a tank ran dry"))
        );
        assert_eq!(rows[2][..3], ["equalising ended", "out", "hatch"]);
        // An index that names nothing is no panic.
        assert_eq!(rows[3], ["vent, fill or equalising ended"]);
    }

    #[test]
    fn what_begins_says_how_it_is_done() {
        let effect = |effect| Event::Effect { task: 0, effect };
        let vent = Effect::Vent {
            compartment: 0,
            to_pa: 0.0,
            pace: Pace::Through(3e-4),
        };
        let fill = Effect::Fill {
            compartment: 0,
            to_pa: 56_500.0,
            pace: Pace::Over(Time::from_seconds(240.0)),
            oxygen: 0.34,
            oxygen_from: Some(0),
            diluent_from: Some(1),
        };
        let equalise = Effect::Equalise {
            opening: 0,
            pace: Pace::Over(Time::from_seconds(60.0)),
        };
        let events = [vent, fill, equalise, Effect::ChangeCanister(0), Effect::Recharge(7)].map(effect);
        assert_eq!(
            rows(&events, &Outcome::default(), &Case::default()),
            [
                vec!["vent began", "out", "lock", "to 0 kPa through 3 cm2"],
                vec![
                    "fill began",
                    "out",
                    "lock",
                    "to 56.5 kPa over 4 min, 34 % oxygen, from oxygen and nitrogen"
                ],
                vec!["equalising began", "out", "hatch", "over 1 min"],
                vec!["canister change", "out", "scrubber"],
                vec!["suit recharged", "out", "?"],
            ]
        );
    }

    #[test]
    fn stocks_suits_and_the_end_are_told() {
        let case = Case {
            tanks: vec![Tank {
                gas: Species::Oxygen,
                amount_mol: 1000.0,
                residue_mol: 0.0,
                reserve_mol: 125.0,
            }],
            ..Case::default()
        };
        let outcome = Outcome {
            end: End::Exhausted {
                at: Time::ZERO,
                compartment: 0,
                species: Species::Oxygen,
            },
            ..Outcome::default()
        };
        let worn = Event::SuitWorn {
            person: 0,
            suit: SuitUse::Purged,
        };
        let relief = Event::Relief {
            compartment: 0,
            opened: true,
        };
        let events = [
            Event::TankReserve(0),
            Event::TankDry(1),
            worn,
            relief,
            Event::NoCanister(0),
            Event::NotSurvivable,
        ];
        assert_eq!(
            rows(&events, &outcome, &case),
            [
                vec!["tank below its reserve", "oxygen", "of 4 kg"],
                vec!["tank ran dry", "nitrogen"],
                vec!["suit purged", "lead"],
                vec!["relief opened", "lock"],
                vec!["no canister left", "scrubber", "the one in place stays"],
                vec!["not survivable", "the oxygen in lock ran out"],
            ]
        );
    }
}
