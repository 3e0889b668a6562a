//! `history.csv`: the course of one run, evenly sampled, in the units that the trade reads.

use breathroom_sim::air::Species;
use breathroom_sim::engine::Trace;
use breathroom_sim::scenario::Names;
use breathroom_sim::units::Unit;

use super::numbers;
use super::table::{Cell, Column, Table};
use super::words;

/// Quantities of a compartment: name, unit, meaning.
const OF_COMPARTMENT: [(&str, &str, &str); 9] = [
    ("co2", "mmHg", "Partial pressure of CO2"),
    ("water vapour", "kPa", "Partial pressure of water vapour"),
    ("oxygen", "kPa", "Partial pressure of oxygen"),
    ("diluent", "kPa", "Partial pressure of the diluent gas"),
    ("pressure", "kPa", "Total pressure"),
    ("humidity", "%", "Relative humidity over water at the air temperature"),
    ("temperature", "degC", "Air temperature"),
    ("liquid water", "kg", "Liquid water on surfaces and in towels"),
    ("claimed space", "m3", "Space claimed by the people who are there"),
];

/// Numbers of a person: name, unit, meaning.
const OF_PERSON: [(&str, &str, &str); 5] = [
    ("oxygen use", "kg/d", "Oxygen use now"),
    ("co2 output", "kg/d", "CO2 output now"),
    ("vapour output", "kg/d", "Water vapour output now"),
    (
        "breathed co2",
        "mmHg",
        "Partial pressure of CO2 in the air breathed; empty outside",
    ),
    (
        "breathed oxygen",
        "kPa",
        "Partial pressure of oxygen in the air breathed; empty outside",
    ),
];

/// The units of the columns, found once.
#[derive(Clone, Copy)]
struct Units {
    mmhg: Unit,
    kpa: Unit,
    deg_c: Unit,
    percent: Unit,
    kg_d: Unit,
}

/// The history of a run as a table.
#[must_use]
pub fn table<'a>(trace: &'a Trace, names: &'a Names) -> Table<'a> {
    let mut columns = vec![Column::number("time", "h", "Time since the start of the run.")];
    for place in &names.compartments {
        for (name, unit, meaning) in OF_COMPARTMENT {
            columns.push(Column::number(
                format!("{place} {name}"),
                unit,
                format!("{meaning}, in {place}."),
            ));
        }
    }
    for person in &names.people {
        columns.push(Column::text(format!("{person} place"), format!("Where {person} is.")));
        columns.push(Column::text(format!("{person} effort"), format!("What {person} does.")));
        for (name, unit, meaning) in OF_PERSON {
            columns.push(Column::number(
                format!("{person} {name}"),
                unit,
                format!("{meaning}, of {person}."),
            ));
        }
    }
    let units = Units {
        mmhg: numbers::mmhg(),
        kpa: numbers::kpa(),
        deg_c: numbers::deg_c(),
        percent: numbers::percent_unit(),
        kg_d: numbers::kg_d(),
    };
    Table::new(
        "history",
        "The course of the run at even spacing.",
        columns,
        trace.samples.len(),
        move |index, cells| {
            row(trace, names, units, index, cells);
        },
    )
}

fn row(trace: &Trace, names: &Names, units: Units, index: usize, cells: &mut Vec<Cell>) {
    let sample = &trace.samples[index];
    cells.push(sample.at.hours().into());
    for place in 0..names.compartments.len() {
        let Some(now) = sample.compartments.get(place) else {
            cells.extend(std::iter::repeat_n(Cell::Empty, OF_COMPARTMENT.len()));
            continue;
        };
        let partial = |species: Species, unit: Unit| Cell::Number(unit.from_si(now.partial_pa[species as usize]));
        cells.push(partial(Species::Co2, units.mmhg));
        cells.push(partial(Species::Water, units.kpa));
        cells.push(partial(Species::Oxygen, units.kpa));
        cells.push(partial(Species::Diluent, units.kpa));
        cells.push(units.kpa.from_si(now.pressure_pa).into());
        cells.push(units.percent.from_si(now.humidity).into());
        cells.push(units.deg_c.from_si(now.temperature_k).into());
        cells.push(now.liquid_water_kg.into());
        cells.push(now.claimed_m3.into());
    }
    for who in 0..names.people.len() {
        let Some(now) = sample.people.get(who) else {
            cells.extend(std::iter::repeat_n(Cell::Empty, 2 + OF_PERSON.len()));
            continue;
        };
        let rate = |mol_s: f64, species: Species| Cell::Number(units.kg_d.from_si(mol_s * species.molar_mass_kg_mol()));
        cells.push(words::place(names, now.place).into());
        cells.push(words::effort(names, now.effort).into());
        cells.push(rate(now.oxygen_mol_s, Species::Oxygen));
        cells.push(rate(now.co2_mol_s, Species::Co2));
        cells.push(rate(now.vapour_mol_s, Species::Water));
        cells.push(now.breathed_co2_pa.map(|pa| units.mmhg.from_si(pa)).into());
        cells.push(now.breathed_oxygen_pa.map(|pa| units.kpa.from_si(pa)).into());
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::Place;
    use breathroom_sim::engine::{CompartmentSample, PersonSample, Sample};
    use breathroom_sim::units::Time;

    use super::super::csv_file;
    use super::*;

    #[test]
    fn units_stand_in_the_headers_and_outside_has_no_breathed_air() {
        let names = Names {
            compartments: vec!["cabin".into()],
            people: vec!["lead".into()],
            efforts: vec!["rest".into()],
            ..Names::default()
        };
        let cabin = CompartmentSample {
            partial_pa: [numbers::mmhg().to_si(1.0), 1e3, 2e4, 7e4],
            humidity: 0.5,
            temperature_k: 295.15,
            ..CompartmentSample::default()
        };
        let lead = PersonSample {
            suit: breathroom_sim::timeline::SuitUse::Off,
            place: Place::Outside,
            effort: 0,
            oxygen_mol_s: 0.0,
            co2_mol_s: 1.0 / 86_400.0 / 0.044_009_5,
            vapour_mol_s: 0.0,
            breathed_co2_pa: None,
            breathed_oxygen_pa: None,
        };
        let trace = Trace {
            samples: vec![Sample {
                tanks_kg: vec![],
                devices_kg: vec![],
                at: Time::from_seconds(1800.0),
                compartments: vec![cabin],
                people: vec![lead],
            }],
            log: Vec::new(),
        };
        let mut bytes = Vec::new();
        csv_file::write(&table(&trace, &names), &mut bytes).expect("written");
        let text = String::from_utf8(bytes).expect("text");
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let headers = reader.headers().expect("headers").clone();
        let record = reader.records().next().expect("a row").expect("whole");
        let at = |header: &str| {
            let column = headers
                .iter()
                .position(|name| name == header)
                .unwrap_or_else(|| panic!("no {header}"));
            record[column].to_owned()
        };
        assert_eq!(at("time [h]"), "0.5");
        assert!((at("cabin co2 [mmHg]").parse::<f64>().expect("a number") - 1.0).abs() < 1e-9);
        assert_eq!(at("cabin oxygen [kPa]"), "20");
        assert_eq!(at("lead place"), "outside");
        assert_eq!(at("lead effort"), "rest");
        assert!((at("lead co2 output [kg/d]").parse::<f64>().expect("a number") - 1.0).abs() < 1e-12);
        assert_eq!(at("lead breathed co2 [mmHg]"), "");
    }
}
