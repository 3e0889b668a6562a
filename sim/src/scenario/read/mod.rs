//! The sections of a file, one module for each, read in the order of the table of keys.

mod air;
mod cabin;
mod checks;
mod crew;
mod dry_run;
mod duration;
mod effects;
mod efforts;
mod fans;
mod found;
mod heat;
mod limits;
mod measured;
mod names;
mod order;
mod orders;
mod removal;
mod rooms;
mod sorbent;
mod subjects;
mod suit;
mod suits;
mod swing_bed;
mod tanks;
mod tasks;
mod together;
mod upset;

pub(super) use cabin::CabinSpots;

use crate::units::{Dimension, Unit, unit};

use super::blueprint::{Blueprint, Parts};
use super::build;
use super::fields::Fields;
use super::keys;
use super::reader::Reader;
use super::{LimitInfo, Names, Scenario, warnings};
use crate::text::{Spot, Table};

/// Reads a tree. Nothing comes back once a fault was reported.
pub(super) fn scenario(r: &mut Reader<'_>, tree: &Table, file: &str) -> Option<Scenario> {
    let start = Spot::default();
    let root = Fields::new(r, &keys::ROOT, tree, "", &start);
    names::collect(r, &root);

    root.whole(r, "format");
    let title = root.text(r, "title").map_or_else(|| file.to_owned(), str::to_owned);
    let mut parts = Parts {
        duration: Some(root.number(r, "duration")),
        ..Parts::default()
    };
    parts.gravity = Some(root.number(r, "gravity"));
    let history = sub_or_empty(r, &root, "history");
    parts.history_every_s = history.number_full(r, "every").map_or(f64::NAN, |n| n.median);
    let lags = sub_or_empty(r, &root, "lags");
    let gas_lag = lags.number(r, "gas");

    let mut cabin = cabin::read(r, &root, &mut parts);
    let devices = removal::read(r, &root, &mut parts);
    tanks::read(r, &root, &mut parts);
    tanks::control(r, &root, &mut parts);
    let crew = crew::read(r, &root, &mut parts, gas_lag);
    suits::read(r, &root, &mut parts, &mut cabin);
    let efforts = efforts::read(r, &root);
    let equipment = crew::equipment(r, &root);
    let tasks = tasks::read(r, &root, &parts);
    let upset = upset::read(r, &root, &mut parts, &tasks);
    let limits = limits::read(r, &root, &mut parts);
    let survival = sub_or_empty(r, &root, "survival");
    parts.oxygen_floor = Some(survival.number(r, "oxygen_floor"));
    let towels = sub_or_empty(r, &root, "towels");
    parts.towel_drying = Some(towels.number(r, "drying"));
    let used = efforts::used(r, &efforts, &crew, &tasks, &upset.efforts(&tasks));
    crew::quotient(r, &root, &mut parts, &used, &crew);
    let together = together::read(r, &root);
    checks::parts(r, &parts, &cabin, &devices);
    order::check(r, &tasks, &parts, &equipment, &efforts);
    if !r.texts.faults.is_empty() {
        return None;
    }

    let mut names = Names {
        compartments: suits::names(r),
        openings: r.known.openings.list.clone(),
        devices: r.known.devices.list.clone(),
        tanks: r.known.tanks.list.clone(),
        people: r.known.people.list.clone(),
        equipment: r.known.equipment.list.clone(),
        efforts: used.names.clone(),
        faults: r.known.faults.list.clone(),
        sensors: upset::sensor_names(r, &parts),
        alarms: r.known.alarms.list.clone(),
        tasks: Vec::new(),
    };
    let mut plan = tasks::plan(r, &tasks, &mut parts, &mut names)?;
    upset.plan(r, &mut parts, &mut plan, &mut names);
    plan.equipment = equipment.counts;
    efforts::settle(&mut parts, &mut plan, &used);
    let rules: Vec<crate::limits::Rule> = limits.iter().map(|l| l.rule).collect();
    let infos: Vec<LimitInfo> = limits.into_iter().map(|l| l.info).collect();
    let blueprint: Blueprint = build::blueprint(parts, plan, rules, &r.inputs);
    checks::case(r, &blueprint, &cabin, &names);
    dry_run::check(r, &blueprint, &tasks, &names);
    if !r.texts.faults.is_empty() {
        return None;
    }
    warnings::collect(r, &blueprint, &cabin, &names);
    Some(Scenario {
        title,
        data_files: std::mem::take(&mut r.data_files),
        names,
        limits: infos,
        inputs: std::mem::take(&mut r.inputs),
        together,
        resolved: std::mem::take(&mut r.resolved),
        warnings: std::mem::take(&mut r.texts.warnings),
        blueprint,
    })
}

/// A sub-table of the top level, or an empty one so that its defaults are noted.
fn sub_or_empty<'t>(r: &mut Reader<'_>, root: &Fields<'t>, name: &str) -> Fields<'t> {
    static EMPTY: Table = Table { entries: Vec::new() };
    if let Some(fields) = root.sub(r, name) {
        return fields;
    }
    let keys::Kind::Table(section) = root.section.key(name).map_or(keys::Kind::Flag, |k| k.kind) else {
        return Fields::new(r, &keys::HISTORY, &EMPTY, name, &root.spot);
    };
    Fields::new(r, section, &EMPTY, name, &root.spot)
}

/// The unit in which messages show pressures.
pub(super) fn kilopascal() -> Unit {
    unit("kPa", Dimension::Pressure).unwrap_or_else(|| Dimension::Pressure.si_unit())
}

/// The median of a value.
pub(super) fn median(r: &Reader<'_>, num: super::num::Num) -> f64 {
    match num.input() {
        None => num.of(&[]),
        Some(input) => num.kept(r.inputs[input].spread.median()),
    }
}

/// The least value that is at all likely (all but 1e-6 of a spread lies above).
pub(super) fn least(r: &Reader<'_>, num: super::num::Num) -> f64 {
    match num.input() {
        None => num.of(&[]),
        Some(input) => num.kept(r.inputs[input].spread.quantile(1e-6)),
    }
}

/// The largest value that is at all likely.
pub(super) fn most(r: &Reader<'_>, num: super::num::Num) -> f64 {
    match num.input() {
        None => num.of(&[]),
        Some(input) => num.kept(r.inputs[input].spread.quantile(1.0 - 1e-6)),
    }
}
