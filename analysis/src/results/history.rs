//! `history.csv`: the course of one run, evenly sampled, in the units that the trade reads.

use breathroom_sim::air::{Species, dew_point_k};
use breathroom_sim::engine::{Case, Sample, Trace};
use breathroom_sim::removal::Removal;
use breathroom_sim::scenario::Names;
use breathroom_sim::units::Unit;

use super::numbers;
use super::table::{Cell, Column, Table};
use super::words;

/// Quantities of a compartment: name, unit, meaning. A suit has all but the last.
const OF_COMPARTMENT: [(&str, &str, &str); 11] = [
    ("co2", "mmHg", "Partial pressure of CO2"),
    ("water vapour", "kPa", "Partial pressure of water vapour"),
    ("oxygen", "kPa", "Partial pressure of oxygen"),
    ("diluent", "kPa", "Partial pressure of the diluent gas"),
    ("pressure", "kPa", "Total pressure"),
    ("humidity", "%", "Relative humidity over water at the air temperature"),
    ("temperature", "degC", "Air temperature"),
    ("liquid water", "kg", "Liquid water on surfaces and in towels"),
    (
        "dew point",
        "degC",
        "Temperature at which the vapour would condense (below 0 degC: frost)",
    ),
    (
        "coldest surface",
        "degC",
        "Temperature of the coldest surface, or of the air where it has none",
    ),
    ("claimed space", "m3", "Space claimed by the people who are there"),
];

/// Below this vapour pressure, Pa, no dew point is told: it would be below -90 degC.
const THIN_PA: f64 = 1e-2;

/// Numbers of a person: name, unit, meaning.
const OF_PERSON: [(&str, &str, &str); 6] = [
    ("oxygen use", "kg/d", "Oxygen use now"),
    ("co2 output", "kg/d", "CO2 output now"),
    ("vapour output", "kg/d", "Water vapour output now"),
    (
        "breathed co2",
        "mmHg",
        "Partial pressure of CO2 in the air breathed, wherever that is, with what `washout` adds; empty outside without a suit",
    ),
    (
        "breathed oxygen",
        "kPa",
        "Partial pressure of oxygen in the air breathed, wherever that is; empty outside without a suit",
    ),
    (
        "inspired oxygen",
        "mmHg",
        "Partial pressure of oxygen of that air once it is saturated at body temperature; empty outside without a suit",
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

/// What the columns are about, by index, in their order.
struct Layout {
    /// Quantities of each compartment.
    compartments: Vec<usize>,
    /// Whether each person has a suit.
    suited: Vec<bool>,
    tanks: usize,
    /// Devices that hold something, and of what: 0 CO2, 1 water.
    held: Vec<(usize, usize)>,
    devices: usize,
}

impl Layout {
    fn of(case: &Case, names: &Names) -> Self {
        let of_compartment = |place: usize| {
            let is_suit = case.suits.iter().any(|suit| suit.compartment == place);
            OF_COMPARTMENT.len() - usize::from(is_suit)
        };
        let has_suit = |person: usize| case.suits.iter().any(|suit| suit.wearer == person);
        let mut held = Vec::new();
        for (index, device) in case.devices.iter().enumerate() {
            match device.removal {
                Removal::Sorbent { .. } => held.push((index, 0)),
                Removal::SwingBed(_) => held.extend([(index, 0), (index, 1)]),
                Removal::FlowThrough { .. } | Removal::Curve { .. } | Removal::Condenser { .. } => {}
            }
        }
        Self {
            compartments: (0..names.compartments.len()).map(of_compartment).collect(),
            suited: (0..names.people.len()).map(has_suit).collect(),
            tanks: case.tanks.len(),
            held,
            devices: case.devices.len(),
        }
    }

    fn columns(&self, names: &Names) -> Vec<Column> {
        let mut columns = vec![Column::number("time", "h", "Time since the start of the run.")];
        for (place, &many) in names.compartments.iter().zip(&self.compartments) {
            for (name, unit, meaning) in &OF_COMPARTMENT[..many] {
                columns.push(Column::number(
                    format!("{place} {name}"),
                    unit,
                    format!("{meaning}, in {place}."),
                ));
            }
        }
        for (person, &suited) in names.people.iter().zip(&self.suited) {
            columns.push(Column::text(format!("{person} place"), format!("Where {person} is.")));
            columns.push(Column::text(format!("{person} effort"), format!("What {person} does.")));
            if suited {
                let meaning = format!(
                    "How {person} wears their suit: off, ventilated (open to the place), closed, purged (closed, with a \
                     steady flow of oxygen), pressurised (above the pressure around it)."
                );
                columns.push(Column::text(format!("{person} suit"), meaning));
            }
            for (name, unit, meaning) in OF_PERSON {
                columns.push(Column::number(
                    format!("{person} {name}"),
                    unit,
                    format!("{meaning}, of {person}."),
                ));
            }
        }
        for index in 0..self.tanks {
            let tank = words::tank(names, index);
            let meaning = format!("What the tank {tank} holds, with what it cannot deliver.");
            columns.push(Column::number(format!("tank {tank}"), "kg", meaning));
        }
        for &(index, what) in &self.held {
            let (device, gas) = (words::device(names, index), ["co2", "water"][what]);
            columns.push(Column::number(
                format!("{device} {gas} held"),
                "kg",
                format!(
                    "{} that {device} holds in its canister or beds.",
                    ["CO2", "Water"][what]
                ),
            ));
        }
        for index in 0..self.devices {
            let device = words::device(names, index);
            for (gas, name) in [("co2", "CO2"), ("water", "water")] {
                columns.push(Column::number(
                    format!("{device} {gas} removed"),
                    "kg",
                    format!("What {device} has taken out of the air since the start, of {name}."),
                ));
            }
        }
        columns
    }

    fn row(&self, sample: &Sample, names: &Names, units: Units, cells: &mut Vec<Cell>) {
        cells.push(sample.at.hours().into());
        for (place, &many) in self.compartments.iter().enumerate() {
            let from = cells.len();
            if let Some(now) = sample.compartments.get(place) {
                let partial =
                    |species: Species, unit: Unit| Cell::Number(unit.from_si(now.partial_pa[species as usize]));
                cells.push(partial(Species::Co2, units.mmhg));
                cells.push(partial(Species::Water, units.kpa));
                cells.push(partial(Species::Oxygen, units.kpa));
                cells.push(partial(Species::Diluent, units.kpa));
                cells.push(units.kpa.from_si(now.pressure_pa).into());
                cells.push(units.percent.from_si(now.humidity).into());
                cells.push(units.deg_c.from_si(now.temperature_k).into());
                cells.push(now.liquid_water_kg.into());
                // Nothing condenses in what is as good as a vacuum.
                let vapour_pa = now.partial_pa[Species::Water as usize];
                let dew = (vapour_pa > THIN_PA).then(|| units.deg_c.from_si(dew_point_k(vapour_pa)));
                cells.push(dew.into());
                cells.push(units.deg_c.from_si(now.coldest_k).into());
                cells.push(now.claimed_m3.into());
            }
            cells.resize(from + many, Cell::Empty);
        }
        for (who, &suited) in self.suited.iter().enumerate() {
            let Some(now) = sample.people.get(who) else {
                let many = 2 + usize::from(suited) + OF_PERSON.len();
                cells.extend(std::iter::repeat_n(Cell::Empty, many));
                continue;
            };
            let rate =
                |mol_s: f64, species: Species| Cell::Number(units.kg_d.from_si(mol_s * species.molar_mass_kg_mol()));
            cells.push(words::place(names, now.place).into());
            cells.push(words::effort(names, now.effort).into());
            if suited {
                cells.push(words::suit_use(now.suit).into());
            }
            cells.push(rate(now.oxygen_mol_s, Species::Oxygen));
            cells.push(rate(now.co2_mol_s, Species::Co2));
            cells.push(rate(now.vapour_mol_s, Species::Water));
            cells.push(now.breathed_co2_pa.map(|pa| units.mmhg.from_si(pa)).into());
            cells.push(now.breathed_oxygen_pa.map(|pa| units.kpa.from_si(pa)).into());
            cells.push(now.inspired_oxygen_pa.map(|pa| units.mmhg.from_si(pa)).into());
        }
        cells.extend((0..self.tanks).map(|tank| Cell::from(sample.tanks_kg.get(tank).copied())));
        let held = |&(device, what): &(usize, usize)| sample.devices_kg.get(device).map(|held| held[what]);
        cells.extend(self.held.iter().map(|of| Cell::from(held(of))));
        for device in 0..self.devices {
            let taken = sample.taken_kg.get(device);
            cells.extend([0, 1].map(|what| Cell::from(taken.map(|taken| taken[what]))));
        }
    }
}

/// The history of a run as a table.
#[must_use]
pub fn table<'a>(trace: &'a Trace, names: &'a Names, case: &Case) -> Table<'a> {
    let layout = Layout::of(case, names);
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
        layout.columns(names),
        trace.samples.len(),
        move |index, cells| layout.row(&trace.samples[index], names, units, cells),
    )
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::{Place, Tank};
    use breathroom_sim::crew::Suit;
    use breathroom_sim::engine::{CompartmentSample, PersonSample};
    use breathroom_sim::removal::Device;
    use breathroom_sim::timeline::SuitUse;
    use breathroom_sim::units::Time;

    use super::super::csv_file;
    use super::*;

    /// The cells of the first row, by header.
    fn row_of(trace: &Trace, names: &Names, case: &Case) -> Vec<(String, String)> {
        let mut bytes = Vec::new();
        csv_file::write(&table(trace, names, case), &mut bytes).expect("written");
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let headers = reader.headers().expect("headers").clone();
        let record = reader.records().next().expect("a row").expect("whole");
        let pairs = headers.iter().zip(&record);
        pairs.map(|(name, cell)| (name.to_owned(), cell.to_owned())).collect()
    }

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
            suit: SuitUse::Off,
            place: Place::Outside,
            effort: 0,
            oxygen_mol_s: 0.0,
            co2_mol_s: 1.0 / 86_400.0 / 0.044_009_5,
            vapour_mol_s: 0.0,
            breathed_co2_pa: None,
            breathed_oxygen_pa: None,
            inspired_oxygen_pa: None,
        };
        let trace = Trace {
            samples: vec![Sample {
                tanks_kg: vec![],
                devices_kg: vec![],
                taken_kg: vec![],
                flow_m3_s: Vec::new(),
                runs: Vec::new(),
                at: Time::from_seconds(1800.0),
                compartments: vec![cabin],
                people: vec![lead],
            }],
            log: Vec::new(),
        };
        let at = row_of(&trace, &names, &Case::default());
        let at = |header: &str| {
            at.iter()
                .find(|(name, _)| name == header)
                .unwrap_or_else(|| panic!("no {header}"))
                .1
                .clone()
        };
        assert_eq!(at("time [h]"), "0.5");
        assert!((at("cabin co2 [mmHg]").parse::<f64>().expect("a number") - 1.0).abs() < 1e-9);
        assert_eq!(at("cabin oxygen [kPa]"), "20");
        // 1 kPa: 6.97 degC in steam tables (interpolated between 6 and 8 degC).
        let dew: f64 = at("cabin dew point [degC]").parse().expect("a number");
        assert!((dew - 6.97).abs() < 0.02, "{dew}");
        assert_eq!(at("lead place"), "outside");
        assert_eq!(at("lead effort"), "rest");
        assert!((at("lead co2 output [kg/d]").parse::<f64>().expect("a number") - 1.0).abs() < 1e-12);
        assert_eq!(at("lead breathed co2 [mmHg]"), "");
    }

    fn suit_of(wearer: usize, compartment: usize) -> Suit {
        Suit {
            wearer,
            compartment,
            above_pa: 29_600.0,
            tank: None,
            supply: None,
            ventilation_m3_s: 0.0,
            purge_mol_s: 0.0,
            leak_m3_s: 0.0,
        }
    }

    fn canister() -> Device {
        Device {
            serves: 0,
            on: true,
            removal: Removal::Sorbent {
                flow_m3_s: 0.01,
                capacity_mol: 10.0,
                sharpness: 8.0,
                bypass: 0.0,
                water_per_co2: 1.0,
                heat_j_mol: 0.0,
                loaded_mol: 0.0,
                canisters: 9,
            },
            power_w: 0.0,
            capacity: 1.0,
            cycle: None,
        }
    }

    #[test]
    fn tanks_canisters_and_suits_have_columns_where_there_are_any() {
        let names = Names {
            compartments: vec!["cabin".into(), "suit:lead".into()],
            people: vec!["lead".into(), "second".into()],
            efforts: vec!["rest".into()],
            tanks: vec!["oxygen".into()],
            devices: vec!["scrubber".into()],
            ..Names::default()
        };
        let case = Case {
            suits: vec![suit_of(0, 1)],
            tanks: vec![Tank {
                gas: Species::Oxygen,
                amount_mol: 1.0,
                residue_mol: 0.0,
                reserve_mol: 0.0,
            }],
            devices: vec![canister()],
            ..Case::default()
        };
        let person = |suit, breathed_co2_pa| PersonSample {
            suit,
            place: Place::Outside,
            effort: 0,
            oxygen_mol_s: 0.0,
            co2_mol_s: 0.0,
            vapour_mol_s: 0.0,
            breathed_co2_pa,
            breathed_oxygen_pa: None,
            inspired_oxygen_pa: None,
        };
        let mut trace = Trace {
            samples: vec![Sample {
                at: Time::ZERO,
                compartments: vec![CompartmentSample::default(); 2],
                people: vec![
                    person(SuitUse::Pressurised, Some(numbers::mmhg().to_si(2.0))),
                    person(SuitUse::Off, None),
                ],
                tanks_kg: vec![12.5],
                devices_kg: vec![[0.25, 0.0]],
                taken_kg: vec![[0.5, -0.125]],
                flow_m3_s: Vec::new(),
                runs: Vec::new(),
            }],
            log: Vec::new(),
        };
        let row = row_of(&trace, &names, &case);
        let at = |header: &str| {
            row.iter()
                .find(|(name, _)| name == header)
                .map(|(_, cell)| cell.as_str())
        };
        assert_eq!(at("tank oxygen [kg]"), Some("12.5"));
        assert_eq!(at("scrubber co2 held [kg]"), Some("0.25"));
        assert_eq!(at("scrubber water held [kg]"), None);
        assert_eq!(at("scrubber co2 removed [kg]"), Some("0.5"));
        assert_eq!(at("scrubber water removed [kg]"), Some("-0.125"));
        assert_eq!(at("cabin dew point [degC]"), Some(""));
        assert_eq!((at("lead suit"), at("second suit")), (Some("pressurised"), None));
        assert!(at("lead breathed co2 [mmHg]").expect("a column").starts_with('2'));
        assert!(at("suit:lead pressure [kPa]").is_some() && at("suit:lead claimed space [m3]").is_none());
        assert!(at("cabin claimed space [m3]").is_some());
        // A sample that lacks something leaves its cells empty, and every row stays whole.
        let sample = &mut trace.samples[0];
        (sample.compartments, sample.people) = (Vec::new(), Vec::new());
        (sample.tanks_kg, sample.devices_kg, sample.taken_kg) = (Vec::new(), Vec::new(), Vec::new());
        let empty = row_of(&trace, &names, &case);
        assert_eq!(empty.len(), row.len());
        assert!(empty[1..].iter().all(|(_, cell)| cell.is_empty()));
    }
}
