//! `fans.csv`: how the air went in the variations, as quantiles at each point of one grid.
//!
//! Equation: at each point, Hyndman and Fan's type 7 quantile of the values of those variations that have one there.
//! Symbols: units as in the headers. Source: as [`crate::stats::quantiles`].
//! Valid for the first 1,000 variations (all, if there are fewer). A variation that failed or ended early has no values from
//! then on; someone outside without a suit breathes no modelled air. Where fewer than half of the variations have a value, none is
//! given: it would be of another kind of run than its neighbours.
//! Left out: bands over whole courses: no single variation follows a line of quantiles.

use breathroom_sim::engine::Trace;
use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::Unit;

use super::folder::FolderError;
use super::numbers;
use super::parts::CoursePlace;
use super::table::{Cell, Column, Table};
use crate::stats::quantiles;
use crate::study::courses::{self, POINTS, Quantity, series, spacing};

/// The quantiles that are given.
pub const QUANTILES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];

/// The table, from where the courses lie; one series is in memory at a time.
///
/// # Errors
/// If a file cannot be read.
pub fn table<'a>(scenario: &Scenario, courses: &[CoursePlace]) -> Result<Table<'a>, FolderError> {
    let mut columns = vec![Column::number(
        "time",
        "h",
        "Time since the start of the run: 240 even steps over its duration on the medians.",
    )];
    let mut rows = vec![Vec::new(); POINTS];
    let step = spacing(scenario);
    for (point, row) in rows.iter_mut().enumerate() {
        row.push(breathroom_sim::units::Time(step.0 * point as i64).hours());
    }
    let (mut course, mut here) = (Vec::new(), Vec::new());
    for (index, &what) in series(&scenario.names).iter().enumerate() {
        let (name, unit, meaning) = describe(what, scenario);
        for p in QUANTILES {
            let percent = numbers::short(100.0 * p);
            columns.push(Column::number(
                format!("{name} {percent} %"),
                unit.symbol,
                format!("{meaning}: {percent} % of the first variations are not above this."),
            ));
        }
        course.clear();
        for place in courses {
            place.read(index, &mut course)?;
        }
        for (point, row) in rows.iter_mut().enumerate() {
            here.clear();
            let values = course.iter().skip(point).step_by(POINTS);
            here.extend(values.filter(|value| !value.is_nan()).map(|&value| f64::from(value)));
            quantiles::sort(&mut here);
            let enough = 2 * here.len() * POINTS >= course.len();
            row.extend(QUANTILES.map(|p| {
                let value = if enough {
                    quantiles::quantile(&here, p)
                } else {
                    f64::NAN
                };
                unit.from_si(value)
            }));
        }
    }
    Ok(Table::new(
        "fans",
        "Quantiles of the air over the first variations, at even spacing.",
        columns,
        POINTS,
        move |index, cells| cells.extend(rows[index].iter().map(|&value| Cell::Number(value))),
    ))
}

/// `worst.csv`: the courses of single variations, one after the other.
#[must_use]
pub fn worst<'a>(scenario: &Scenario, runs: &[(u64, Trace)]) -> Table<'a> {
    let mut columns = vec![
        Column::integer(
            "variation",
            "Which: `vary --only` with the same seed runs it again alone.",
        ),
        Column::number("time", "h", "Time since the start of the run, as in fans.csv."),
    ];
    let all = series(&scenario.names);
    let mut units = Vec::new();
    for &what in &all {
        let (name, unit, meaning) = describe(what, scenario);
        columns.push(Column::number(name, unit.symbol, format!("{meaning}.")));
        units.push(unit);
    }
    let mut rows = Vec::new();
    for (k, trace) in runs {
        for sample in &trace.samples {
            let values = courses::values(sample, &all);
            let values = values
                .iter()
                .zip(&units)
                .map(|(&si, unit)| Cell::Number(unit.from_si(si)));
            let mut row = vec![Cell::Integer(*k as i64), Cell::Number(sample.at.hours())];
            row.extend(values);
            rows.push(row);
        }
    }
    let title = "How the air went in the variations with the least margin to the tightest limits.";
    Table::new("worst", title, columns, rows.len(), move |index, cells| {
        cells.extend(rows[index].iter().cloned());
    })
}

/// Name, unit and meaning, as in `history.csv`.
fn describe(what: Quantity, scenario: &Scenario) -> (String, Unit, String) {
    let names = &scenario.names;
    let place = |index: usize, name: &str, unit: Unit, meaning: &str| {
        let place = &names.compartments[index];
        (format!("{place} {name}"), unit, format!("{meaning}, in {place}"))
    };
    let person = |index: usize, name: &str, unit: Unit, meaning: &str| {
        let person = &names.people[index];
        (format!("{person} {name}"), unit, format!("{meaning}, of {person}"))
    };
    match what {
        Quantity::Co2(index) => place(index, "co2", numbers::mmhg(), "Partial pressure of CO2"),
        Quantity::Oxygen(index) => place(index, "oxygen", numbers::kpa(), "Partial pressure of oxygen"),
        Quantity::Pressure(index) => place(index, "pressure", numbers::kpa(), "Total pressure"),
        Quantity::Humidity(index) => place(index, "humidity", numbers::percent_unit(), "Relative humidity"),
        Quantity::Temperature(index) => place(index, "temperature", numbers::deg_c(), "Air temperature"),
        Quantity::BreathedCo2(index) => person(
            index,
            "breathed co2",
            numbers::mmhg(),
            "Partial pressure of CO2 in the air breathed",
        ),
        Quantity::BreathedOxygen(index) => person(
            index,
            "breathed oxygen",
            numbers::kpa(),
            "Partial pressure of oxygen in the air breathed",
        ),
    }
}
