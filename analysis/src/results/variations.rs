//! `variations.csv`: every variation with its inputs and how each limit fared in it.

use breathroom_sim::engine::End;
use breathroom_sim::scenario::Scenario;

use super::table::{Cell, Column, Table};
use super::words;
use crate::study::Runs;

/// All variations as a table.
#[must_use]
pub fn table<'a>(runs: &'a Runs, scenario: &'a Scenario) -> Table<'a> {
    let mut columns = vec![
        Column::integer(
            "variation",
            "Which: `vary --only` with the same seed runs it again alone.",
        ),
        Column::text("end", "How it ended: completed, not survivable, or failed."),
        Column::text("cause", "Why it did not complete."),
    ];
    for info in &scenario.limits {
        let (id, of, unit) = (&info.id, &info.subject, info.unit.symbol);
        columns.push(Column::number(
            format!("{id} {of} margin"),
            unit,
            format!("Distance to the limit {id} of {of}, negative beyond it; empty if it failed or never applied."),
        ));
        columns.push(Column::number(
            format!("{id} {of} worst"),
            unit,
            format!("The value on which {id} of {of} was judged."),
        ));
        columns.push(Column::number(
            format!("{id} {of} first crossing"),
            "h",
            format!("When {id} of {of} was first crossed; empty if never."),
        ));
    }
    for input in &scenario.inputs {
        let drawn = if input.per_turn {
            "mean over its turns of the values drawn"
        } else {
            "value drawn"
        };
        columns.push(Column::number(
            input.path.clone(),
            input.unit.symbol,
            format!("Input {}: {drawn}.", input.path),
        ));
    }
    Table::new(
        "variations",
        "Every variation: its inputs and its margins.",
        columns,
        runs.len(),
        move |k, cells| {
            row(runs, scenario, k, cells);
        },
    )
}

fn row(runs: &Runs, scenario: &Scenario, k: usize, cells: &mut Vec<Cell>) {
    cells.push(Cell::Integer(k as i64));
    match runs.end(k) {
        Ok(End::Completed) => cells.extend([Cell::from("completed"), Cell::Empty]),
        Ok(end) => {
            let cause = words::early_end(&end, &scenario.names).map(|(at, cause)| format!("{cause} at {at}"));
            cells.extend([Cell::from("not survivable"), Cell::from(cause.unwrap_or_default())]);
        }
        Err(error) => cells.extend([
            Cell::from("failed"),
            Cell::from(words::describe(error, &scenario.names)),
        ]),
    }
    for (judged, info) in runs.rules(k).iter().zip(&scenario.limits) {
        cells.push(info.unit.difference_from_si(judged.margin).into());
        cells.push(info.unit.from_si(judged.worst).into());
        cells.push(judged.first_crossing.map(breathroom_sim::units::Time::hours).into());
    }
    for (value, input) in runs.values(k).iter().zip(&scenario.inputs) {
        cells.push(input.unit.from_si(*value).into());
    }
}
