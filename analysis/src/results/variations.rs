//! `variations.csv`: every variation with its inputs and how each limit fared in it.

use breathroom_sim::engine::{Case, End};
use breathroom_sim::removal::Removal;
use breathroom_sim::scenario::Scenario;

use super::table::{Cell, Column, Table};
use super::{endings, words};
use crate::study::Runs;

/// All variations as a table; `case` is any of the scenario's, for what does not vary.
#[must_use]
pub fn table<'a>(runs: &'a Runs, scenario: &'a Scenario, case: &'a Case) -> Table<'a> {
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
    for index in 0..case.tanks.len() {
        let tank = words::tank(&scenario.names, index);
        let meaning =
            format!("What the tank {tank} holds at the end, with what it cannot deliver; empty if it failed.");
        columns.push(Column::number(format!("tank {tank} left"), "kg", meaning));
    }
    let canisters: Vec<usize> = (0..case.devices.len())
        .filter(|&index| matches!(case.devices[index].removal, Removal::Sorbent { .. }))
        .collect();
    for &index in &canisters {
        let device = words::device(&scenario.names, index);
        let meaning = format!("Canisters taken out of {device}, spent or part-used; empty if it failed.");
        columns.push(Column::number(format!("{device} canisters spent"), "", meaning));
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
            row(runs, scenario, case, &canisters, k, cells);
        },
    )
}

fn row(runs: &Runs, scenario: &Scenario, case: &Case, canisters: &[usize], k: usize, cells: &mut Vec<Cell>) {
    cells.push(Cell::Integer(k as i64));
    match runs.end(k) {
        Ok(End::Completed) => cells.extend([Cell::from("completed"), Cell::Empty]),
        Ok(end) => {
            let cause = endings::early_end(&end, &scenario.names).map(|(at, cause)| format!("{cause} at {at}"));
            cells.extend([Cell::from("not survivable"), Cell::from(cause.unwrap_or_default())]);
        }
        Err(error) => cells.extend([
            Cell::from("failed"),
            Cell::from(endings::describe(error, &scenario.names, &case.plan)),
        ]),
    }
    for (judged, info) in runs.rules(k).iter().zip(&scenario.limits) {
        cells.push(info.unit.difference_from_si(judged.margin).into());
        cells.push(info.unit.from_si(judged.worst).into());
        cells.push(judged.first_crossing.map(breathroom_sim::units::Time::hours).into());
    }
    cells.extend(runs.tanks_left_kg(k).iter().map(|&left_kg| Cell::from(left_kg)));
    let spent = runs.canisters_spent(k);
    cells.extend(canisters.iter().map(|&device| Cell::from(spent[device])));
    for (value, input) in runs.values(k).iter().zip(&scenario.inputs) {
        cells.push(input.unit.from_si(*value).into());
    }
}
