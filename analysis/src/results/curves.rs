//! `distribution.csv`, `convergence.csv` and `survival.csv`: how the margins to each limit are spread, how its figures settle
//! with the runs, and when it is crossed.

use breathroom_sim::scenario::Scenario;

use super::table::{Cell, Column, Table};
use crate::chance::Design;
use crate::stats::convergence::Row;
use crate::stats::histogram::Bin;
use crate::stats::survival::{Curve, Step};
use crate::study::Vary;

/// Whose row it is.
fn whose() -> [Column; 2] {
    [
        Column::text("limit", "The limit's id."),
        Column::text("where", "Whom or what it is about."),
    ]
}

/// Puts the limit's name at the start of a row.
fn named(scenario: &Scenario, limit: usize, cells: &mut Vec<Cell>) {
    let info = scenario.limits.get(limit);
    cells.push(info.map_or(Cell::Empty, |info| info.id.as_str().into()));
    cells.push(info.map_or(Cell::Empty, |info| info.subject.to_string().into()));
}

/// The figures against the number of runs.
#[must_use]
pub fn convergence<'a>(vary: &'a Vary, scenario: &'a Scenario) -> Table<'a> {
    let [limit, place] = whose();
    let of_runs = "of so many variations, from the first on";
    let columns = vec![
        limit,
        place,
        Column::integer(
            "runs",
            "Variations, from the first on. A Latin hypercube is laid out for all of its runs: its rows before the last are of parts that are not even.",
        ),
        Column::integer("violations", "Those beyond the limit, failed ones included."),
        Column::number("probability", "", "Their share."),
        Column::number("lower", "", format!("Lower end of its 95 % interval, {of_runs}.")),
        Column::number("upper", "", format!("Upper end of its 95 % interval, {of_runs}.")),
        Column::number(
            "margin 5 %",
            "",
            format!("5 % quantile of the margin, in the unit beside it, {of_runs}; empty where failed runs reach it."),
        ),
        Column::text("unit", "Unit of the margin."),
    ];
    let rows: Vec<(usize, &Row)> = vary
        .limits
        .iter()
        .enumerate()
        .flat_map(|(limit, of)| of.convergence.iter().map(move |row| (limit, row)))
        .collect();
    let title = "The figures of each limit against the number of variations. Rows share their variations: they are not to be \
                 stopped on, for which there is --until.";
    Table::new("convergence", title, columns, rows.len(), move |index, cells| {
        let (limit, row) = rows[index];
        named(scenario, limit, cells);
        cells.push(Cell::Integer(row.runs as i64));
        cells.push(Cell::Integer(row.violations as i64));
        cells.extend([row.probability, row.interval[0], row.interval[1]].map(Cell::from));
        let unit = scenario.limits.get(limit).map(|info| info.unit);
        cells.push(unit.map(|unit| unit.difference_from_si(row.low_margin)).into());
        cells.push(unit.map_or(Cell::Empty, |unit| unit.symbol.into()));
    })
}

/// How the margins to each limit are spread.
#[must_use]
pub fn distribution<'a>(vary: &'a Vary, scenario: &'a Scenario) -> Table<'a> {
    let [limit, place] = whose();
    let columns = vec![
        limit,
        place,
        Column::number(
            "from",
            "",
            "Lower end of a bin of margins, in the unit beside it; 0 is always the end of one.",
        ),
        Column::number("to", "", "Its upper end."),
        Column::integer(
            "variations",
            "Variations with a margin from its lower end on and below its upper end. Failed ones, and those in which the limit never applied, are in none.",
        ),
        Column::text("unit", "Unit of the margin."),
    ];
    let limits = vary.limits.iter().enumerate();
    let rows: Vec<(usize, Bin)> = limits
        .flat_map(|(limit, of)| of.histogram.iter().map(move |&bin| (limit, bin)))
        .collect();
    let title = "How the margins to each limit are spread over the variations.";
    Table::new("distribution", title, columns, rows.len(), move |index, cells| {
        let (limit, bin) = rows[index];
        let unit = scenario.limits.get(limit).map(|info| info.unit);
        named(scenario, limit, cells);
        cells.extend([bin.from, bin.to].map(|si| Cell::from(unit.map(|unit| unit.difference_from_si(si)))));
        cells.push(Cell::Integer(bin.count as i64));
        cells.push(unit.map_or(Cell::Empty, |unit| unit.symbol.into()));
    })
}

/// The share of variations that have not crossed each limit yet, over the time.
#[must_use]
pub fn survival<'a>(vary: &'a Vary, scenario: &'a Scenario) -> Table<'a> {
    let [limit, place] = whose();
    let columns = vec![
        limit,
        place,
        Column::number("time", "h", "Time since the start of the run, in whole minutes."),
        Column::integer("at risk", "Variations that had neither crossed nor ended before."),
        Column::integer(
            "crossed",
            "Those that first crossed in the minute up to this time; failed ones at 0.",
        ),
        Column::number(
            "survival",
            "",
            "Share that has not crossed from then on (Kaplan and Meier).",
        ),
        Column::number(
            "lower",
            "",
            "Lower end of its 95 % interval; empty for designs that are not plain.",
        ),
        Column::number(
            "upper",
            "",
            "Upper end of its 95 % interval; empty for designs that are not plain.",
        ),
    ];
    let plain = vary.job.design == Design::Plain;
    let rows: Vec<(usize, Step)> = vary
        .limits
        .iter()
        .enumerate()
        .flat_map(|(limit, of)| steps(&of.uncrossed).map(move |step| (limit, step)))
        .collect();
    let title = "When each limit is first crossed: the share of variations that have not crossed it yet, over the time. A \
                 variation that ended without a crossing tells that it came later.";
    Table::new("survival", title, columns, rows.len(), move |index, cells| {
        let (limit, step) = rows[index];
        named(scenario, limit, cells);
        cells.push(Cell::Number(f64::from(step.minute) / 60.0));
        cells.push(Cell::Integer(step.at_risk as i64));
        cells.push(Cell::Integer(step.crossed as i64));
        cells.push(step.survival.into());
        cells.extend([step.lower, step.upper].map(|end| plain.then_some(end).into()));
    })
}

/// The curve from the start on.
fn steps(curve: &Curve) -> impl Iterator<Item = Step> + '_ {
    let start = Step {
        minute: 0,
        at_risk: curve.runs,
        crossed: 0,
        survival: 1.0,
        lower: curve.lower_before,
        upper: 1.0,
    };
    let begins_later = curve.steps.first().is_none_or(|step| step.minute > 0);
    begins_later
        .then_some(start)
        .into_iter()
        .chain(curve.steps.iter().copied())
}
