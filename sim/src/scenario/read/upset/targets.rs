//! What of a file a fault can act on: paths, what they are in the case, what may be said of them.

use crate::air::Species;
use crate::limits::Quantity;
use crate::scenario::blueprint::{ByNums, DeviceNums, Family, HoldNums, Parts, SideNums};
use crate::scenario::keys::{
    COMPARTMENT, CONDENSER, DESORB, Domain, FAN, FLOW_THROUGH, HOLD_OXYGEN, HOLD_PRESSURE, Kind, OPENING, RATES,
    SENSOR, SORBENT, SWING_BED, Section, TANK,
};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::upset::{ChangeBy, ChangeNums, Scale};
use crate::text::Spot;
use crate::units::Dimension;
use crate::upset::{Broken, DeviceNumber as D, HoldNumber as H, SensorNumber as S, Target};

use super::sensors::differences;

/// Something that a fault can act on.
#[derive(Clone, Debug)]
pub(super) struct Changeable {
    pub path: String,
    pub number: Option<NumberOf>,
    /// How it can break: the word of `mode`, and what that is.
    pub modes: Vec<(&'static str, Vec<ChangeNums>)>,
    /// What it reads, if it is a sensor.
    pub reads: Option<Quantity>,
}

/// A number of the file.
#[derive(Clone, Debug)]
pub(super) struct NumberOf {
    pub dimension: Dimension,
    pub domain: Domain,
    /// What it is in the case, and how the case has it.
    pub places: Vec<(Target, Scale)>,
    pub ways: Ways,
    pub grows: Grows,
}

/// What may be said of a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ways {
    All,
    /// Only `factor`, and why.
    Factor(&'static str),
    /// Only `adds`, and why.
    Adds(&'static str),
    /// Not `factor`, and why.
    NoFactor(&'static str),
}

/// How a fault on a number may grow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Grows {
    InTime,
    /// All at once, perhaps there and gone by turns, and why.
    AtOnce(&'static str),
    /// Once and for all, and why.
    Once(&'static str),
}

const SET_POINT: &str = "a set point changes at once: shape = \"step\", or there and gone by turns";
const STOCK: &str = "what a tank has lost is gone at once: shape = \"step\"";
const ITS_PART: &str = "its mass, uptake and utilisation make the capacity by their product: use `factor`";
const CAPACITY: &str = "it is the part of what it would take that it still takes: factor = \"60 %\"";
const WALKS: &str = "it is what is added per day: adds = \"0.2 mmHg\"";
const FANS_POWER: &str = "its power has a part of its fan's in it: say what is added, adds = \"20 W\"";
const KELVIN: &str = "a temperature has no zero to take a part from: use `adds` or `to`";
const ONE: Scale = Scale::Times(1.0);
const SECONDS_A_DAY: f64 = 86_400.0;

/// Everything that a fault can act on, but buses.
pub(super) fn all(r: &Reader<'_>, parts: &Parts) -> Vec<Changeable> {
    let mut list = List(Vec::new());
    let known = &r.known;
    for (n, (name, device)) in known.devices.list.iter().zip(&parts.devices).enumerate() {
        list.device(name, n, device);
    }
    for ((name, fed), _) in known.fans.list.iter().zip(&known.fed).zip(&parts.fans) {
        let path = format!("fans.{name}");
        let off = fed.iter().map(|d| ChangeNums::Broken(Broken::DeviceOff(*d))).collect();
        list.thing(&path, vec![("off", off)]);
        let flow = fed.iter().filter_map(|d| {
            let target = Target::Device {
                device: *d,
                number: D::Flow,
            };
            Some((target, part_of_fan(parts.devices.get(*d)?)?))
        });
        list.number(format!("{path}.flow"), of_key(&FAN, "flow"), flow.collect());
    }
    for (n, (name, _)) in known.openings.list.iter().zip(&parts.openings).enumerate() {
        let path = format!("openings.{name}");
        let (_, domain) = of_key(&OPENING, "exchange");
        let shut = ChangeNums::Number {
            target: Target::Exchange(n),
            by: ChangeBy::To(Num::Fixed(0.0)),
            scale: ONE,
            domain: [domain.lo, domain.hi],
        };
        let stuck = ChangeNums::Broken(Broken::OpeningStuck(n));
        list.thing(&path, vec![("off", vec![shut]), ("stuck", vec![stuck])]);
        let target = (Target::Exchange(n), ONE);
        list.number(format!("{path}.exchange"), of_key(&OPENING, "exchange"), vec![target]);
    }
    for (n, (name, nums)) in known.compartments.list.iter().zip(&parts.compartments).enumerate() {
        let path = format!("compartments.{name}");
        let leak = vec![(Target::Leak(n), Scale::Gas)];
        list.number(format!("{path}.leak"), of_key(&COMPARTMENT, "leak"), leak);
        let area = vec![(Target::LeakArea(n), ONE)];
        list.number(format!("{path}.leak_area"), of_key(&COMPARTMENT, "leak_area"), area);
        if nums.relief.is_some() {
            let modes = [("shut", Broken::ReliefShut(n)), ("open", Broken::ReliefOpen(n))];
            let modes = modes.map(|(word, broken)| (word, vec![ChangeNums::Broken(broken)]));
            list.thing(&format!("{path}.relief"), modes.to_vec());
        }
    }
    for (n, hold) in parts.holds.iter().enumerate() {
        if let Some(name) = known.compartments.list.get(hold.compartment) {
            list.hold(name, n, hold, parts);
        }
    }
    for (n, (name, tank)) in known.tanks.list.iter().zip(&parts.tanks).enumerate() {
        let amount = (Target::TankAmount(n), Scale::Times(1.0 / tank.gas.molar_mass_kg_mol()));
        list.number(format!("tanks.{name}.amount"), of_key(&TANK, "amount"), vec![amount]);
        list.grows(Grows::Once(STOCK));
    }
    for (n, sensor) in parts.sensors.iter().enumerate() {
        list.sensor(&sensor.path, n, sensor.quantity);
    }
    list.0
}

/// The one at this path, or a fault.
pub(super) fn find<'c>(r: &mut Reader<'_>, all: &'c [Changeable], path: &str, spot: &Spot) -> Option<&'c Changeable> {
    let found = all.iter().find(|c| c.path == path);
    if found.is_none() {
        // Nearest are those of the same thing; else of the same section.
        let head = |parts: usize| path.split('.').take(parts).collect::<Vec<_>>().join(".");
        let of = |head: String| -> Vec<&str> {
            let dotted = format!("{head}.");
            let paths = all.iter().map(|c| c.path.as_str());
            paths.filter(|p| *p == head || p.starts_with(&dotted)).collect()
        };
        let mut near = of(head(2));
        if near.is_empty() {
            near = of(head(1));
        }
        let mut help = r.texts.meant(path, near.iter().copied());
        if near.is_empty() {
            "paths go by ids: removal.NAME.flow, sensors.NAME, openings.NAME.exchange".clone_into(&mut help);
        }
        r.texts
            .fault(spot, format!("`{path}` is nothing that a fault can change"), help);
    }
    found
}

/// Dimension and domain of a key that takes a number.
fn of_key(section: &Section, name: &str) -> (Dimension, Domain) {
    match section.key(name).map(|k| k.kind) {
        Some(Kind::Number(dimension, domain) | Kind::NumberOrTable(dimension, domain, _)) => (dimension, domain),
        _ => (Dimension::Number, Domain { lo: 0.0, hi: 0.0 }),
    }
}

/// The part of its fan's flow that a device is given.
fn part_of_fan(device: &DeviceNums) -> Option<Scale> {
    let flow = match &device.family {
        Family::FlowThrough { flow, .. } | Family::Condenser { flow, .. } => flow,
        Family::Sorbent(nums) => &nums.flow,
        Family::SwingBed(nums) => &nums.flow,
        // Its rates do not hang on its flow.
        Family::Curve { .. } => return None,
    };
    Some(flow.part.map_or(ONE, Scale::Part))
}

/// What is found so far.
struct List(Vec<Changeable>);

impl List {
    /// Something that can break.
    fn thing(&mut self, path: &str, modes: Vec<(&'static str, Vec<ChangeNums>)>) {
        self.0.push(Changeable {
            path: path.to_owned(),
            number: None,
            modes,
            reads: None,
        });
    }

    /// A number; nothing if it is none of the case.
    fn number(&mut self, path: String, (dimension, domain): (Dimension, Domain), places: Vec<(Target, Scale)>) {
        let ways = if dimension == Dimension::Temperature {
            Ways::NoFactor(KELVIN)
        } else {
            Ways::All
        };
        if places.is_empty() {
            return;
        }
        self.0.push(Changeable {
            path,
            number: Some(NumberOf {
                dimension,
                domain,
                places,
                ways,
                grows: Grows::InTime,
            }),
            modes: Vec::new(),
            reads: None,
        });
    }

    fn last(&mut self) -> Option<&mut NumberOf> {
        self.0.last_mut().and_then(|c| c.number.as_mut())
    }

    fn ways(&mut self, ways: Ways) {
        if let Some(last) = self.last() {
            last.ways = ways;
        }
    }

    fn grows(&mut self, grows: Grows) {
        if let Some(last) = self.last() {
            last.grows = grows;
        }
    }

    fn device(&mut self, name: &str, n: usize, nums: &DeviceNums) {
        let path = format!("removal.{name}");
        let at = |number| Target::Device { device: n, number };
        let mut modes = vec![("off", vec![ChangeNums::Broken(Broken::DeviceOff(n))])];
        if matches!(nums.family, Family::SwingBed(_)) {
            let stuck = Broken::BedsStuck { device: n, bed: None };
            modes.push(("stuck", vec![ChangeNums::Broken(stuck)]));
        }
        let whole = Domain { lo: 0.0, hi: 1.0 };
        self.number(path.clone(), (Dimension::Fraction, whole), vec![(at(D::Capacity), ONE)]);
        self.ways(Ways::Factor(CAPACITY));
        if let Some(last) = self.0.last_mut() {
            last.modes = modes;
        }
        let (section, rows): (&Section, &[(&str, D)]) = match &nums.family {
            Family::FlowThrough { .. } => (&FLOW_THROUGH, &FLOW_THROUGH_ROWS),
            Family::Condenser { .. } => (&CONDENSER, &CONDENSER_ROWS),
            Family::Sorbent(_) => (&SORBENT, &SORBENT_ROWS),
            Family::SwingBed(_) => (&SWING_BED, &SWING_BED_ROWS),
            Family::Curve { .. } => (&FLOW_THROUGH, &[]),
        };
        for (key, number) in rows {
            self.number(format!("{path}.{key}"), of_key(section, key), vec![(at(*number), ONE)]);
        }
        if let Family::Sorbent(_) = &nums.family {
            let (_, holds) = of_key(&SORBENT, "capacity");
            let to_mol = Scale::Times(1.0 / Species::Co2.molar_mass_kg_mol());
            for key in ["capacity", "sorbent", "uptake", "utilisation"] {
                let place = vec![(at(D::Holds), to_mol)];
                self.number(format!("{path}.{key}"), (Dimension::Mass, holds), place);
                if key != "capacity" {
                    self.ways(Ways::Factor(ITS_PART));
                }
            }
        }
        if let Family::SwingBed(bed) = &nums.family {
            for (section, table, [co2, water]) in [
                (&RATES, "rates", [D::Co2Rate, D::WaterRate]),
                (&DESORB, "desorb", [D::Co2Desorbs, D::WaterDesorbs]),
            ] {
                for (key, number) in [("co2", co2), ("water", water)] {
                    let place = vec![(at(number), ONE)];
                    self.number(format!("{path}.{table}.{key}"), of_key(section, key), place);
                }
            }
            for key in ["lost", "ullage"] {
                let scale = if key == "lost" { ONE } else { Scale::Rest(bed.saved) };
                let place = vec![(at(D::Lost), scale)];
                self.number(format!("{path}.{key}"), of_key(&SWING_BED, key), place);
            }
        }
        self.number(
            format!("{path}.power"),
            of_key(&FLOW_THROUGH, "power"),
            vec![(at(D::Power), ONE)],
        );
        if nums.fan_power.is_some() {
            self.ways(Ways::Adds(FANS_POWER));
        }
    }

    fn hold(&mut self, name: &str, n: usize, hold: &HoldNums, parts: &Parts) {
        let sides = [("oxygen", hold.oxygen, true), ("pressure", hold.pressure, false)];
        for (what, side, oxygen) in sides {
            let Some(side) = side else { continue };
            let path = format!("control.{name}.{what}");
            let shut = ChangeNums::Broken(Broken::HoldShut { hold: n, oxygen });
            self.thing(&path, vec![("shut", vec![shut])]);
            self.side(&path, n, oxygen, &side, parts);
        }
    }

    fn side(&mut self, path: &str, hold: usize, oxygen: bool, side: &SideNums, parts: &Parts) {
        let section = if oxygen { &HOLD_OXYGEN } else { &HOLD_PRESSURE };
        let at = |number| Target::Hold { hold, oxygen, number };
        let place = vec![(at(H::Set), ONE)];
        self.number(format!("{path}.hold"), of_key(section, "hold"), place);
        self.grows(Grows::AtOnce(SET_POINT));
        let other = if oxygen { Species::Oxygen } else { Species::Diluent };
        let gas = side.from.and_then(|t| parts.tanks.get(t)).map_or(other, |t| t.gas);
        let flow = match side.by {
            ByNums::Ideal => return,
            ByNums::Limited { .. } | ByNums::Band { .. } => vec![(at(H::Flow), ONE)],
            // What is let in for what is lacking goes with the most.
            ByNums::Proportional { full_at, .. } => vec![(at(H::Flow), ONE), (at(H::Gain), Scale::Over(full_at))],
        };
        let (_, domain) = of_key(section, "flow");
        let dimension = Dimension::GasRate(gas.molar_mass_kg_mol());
        self.number(format!("{path}.flow"), (dimension, domain), flow);
        if let ByNums::Band { .. } = side.by {
            let place = vec![(at(H::Width), ONE)];
            self.number(format!("{path}.band"), of_key(section, "band"), place);
        }
    }

    fn sensor(&mut self, path: &str, n: usize, quantity: Quantity) {
        let at = |number| Target::Sensor { sensor: n, number };
        let dead = vec![ChangeNums::Broken(Broken::SensorDead(n))];
        let stuck = Broken::SensorStuck { sensor: n, at: None };
        let stuck = vec![ChangeNums::Broken(stuck)];
        self.thing(path, vec![("off", dead.clone()), ("dead", dead), ("stuck", stuck)]);
        if let Some(last) = self.0.last_mut() {
            last.reads = Some(quantity);
        }
        let (dimension, domain) = differences(quantity);
        let above = Domain { lo: 0.0, ..domain };
        for (key, of, number) in [
            ("gain", of_key(&SENSOR, "gain"), S::Gain),
            ("bias", (dimension, domain), S::Bias),
            ("noise", (dimension, above), S::Noise),
            ("lag", of_key(&SENSOR, "lag"), S::Lag),
        ] {
            self.number(format!("{path}.{key}"), of, vec![(at(number), ONE)]);
        }
        let per_day = Scale::Times(1.0 / SECONDS_A_DAY);
        self.number(
            format!("{path}.drift"),
            (dimension, domain),
            vec![(at(S::Drift), per_day)],
        );
        self.ways(Ways::Adds(WALKS));
    }
}

const FLOW_THROUGH_ROWS: [(&str, D); 3] = [
    ("flow", D::Flow),
    ("co2_efficiency", D::Co2Efficiency),
    ("water_efficiency", D::WaterEfficiency),
];
const CONDENSER_ROWS: [(&str, D); 4] = [
    ("flow", D::Flow),
    ("bypass", D::Bypass),
    ("coil_temperature", D::Coil),
    ("carry_over", D::CarryOver),
];
const SORBENT_ROWS: [(&str, D); 3] = [("flow", D::Flow), ("sharpness", D::Sharpness), ("bypass", D::Bypass)];
const SWING_BED_ROWS: [(&str, D); 4] = [
    ("flow", D::Flow),
    ("bed", D::BedMass),
    ("bed_temperature", D::BedTemperature),
    ("competition", D::Competition),
];
