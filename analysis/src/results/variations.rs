//! `variations.csv`: every variation with its inputs and how each limit fared in it.

use breathroom_sim::engine::{Case, End};
use breathroom_sim::removal::Removal;
use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::Time;

use super::table::{Cell, Column};
use super::{endings, words};
use crate::study::Piece;

/// Its name.
pub const NAME: &str = "variations";
/// What it is.
pub const TITLE: &str = "Every variation: its inputs and its margins.";

/// How variations become rows; the case is any of the scenario's, for what does not vary.
pub struct Layout<'a> {
    scenario: &'a Scenario,
    canisters: Vec<usize>,
    tanks: usize,
    alarms: usize,
    /// Alarms that have a response.
    responses: Vec<usize>,
}

impl<'a> Layout<'a> {
    /// Of a scenario.
    #[must_use]
    pub fn new(scenario: &'a Scenario, case: &Case) -> Self {
        let is_sorbent = |&index: &usize| matches!(case.devices[index].removal, Removal::Sorbent { .. });
        let responds = |&index: &usize| case.alarms[index].response.is_some();
        Self {
            scenario,
            canisters: (0..case.devices.len()).filter(is_sorbent).collect(),
            tanks: case.tanks.len(),
            alarms: case.alarms.len(),
            responses: (0..case.alarms.len()).filter(responds).collect(),
        }
    }

    /// The columns.
    #[must_use]
    pub fn columns(&self) -> Vec<Column> {
        columns(self)
    }

    /// The cells of the `i`-th variation of a piece, into a buffer that is used again.
    pub fn row(&self, piece: &Piece, i: usize, cells: &mut Vec<Cell>) {
        cells.clear();
        row(piece, self, i, cells);
    }
}

fn columns(layout: &Layout<'_>) -> Vec<Column> {
    let scenario = layout.scenario;
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
    for index in 0..layout.tanks {
        let tank = words::tank(&scenario.names, index);
        let meaning =
            format!("What the tank {tank} holds at the end, with what it cannot deliver; empty if it failed.");
        columns.push(Column::number(format!("tank {tank} left"), "kg", meaning));
    }
    for &index in &layout.canisters {
        let device = words::device(&scenario.names, index);
        let meaning = format!("Canisters taken out of {device}, spent or part-used; empty if it failed.");
        columns.push(Column::number(format!("{device} canisters spent"), "", meaning));
    }
    for index in 0..layout.alarms {
        let alarm = words::alarm(&scenario.names, index);
        let meaning = format!("When the alarm {alarm} first came on; empty if it never did, or the variation failed.");
        columns.push(Column::number(format!("alarm {alarm}"), "h", meaning));
    }
    for &index in &layout.responses {
        let alarm = words::alarm(&scenario.names, index);
        let meaning =
            format!("When a response to the alarm {alarm} was first done; empty if none was, or the variation failed.");
        columns.push(Column::number(format!("response {alarm}"), "h", meaning));
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
    columns
}

fn row(piece: &Piece, layout: &Layout<'_>, i: usize, cells: &mut Vec<Cell>) {
    let scenario = layout.scenario;
    cells.push(Cell::Integer((piece.first + i as u64) as i64));
    match piece.end(i) {
        Ok(End::Completed) => cells.extend([Cell::from("completed"), Cell::Empty]),
        Ok(end) => {
            let cause = endings::early_end(&end, &scenario.names).map(|(at, cause)| format!("{cause} at {at}"));
            cells.extend([Cell::from("not survivable"), Cell::from(cause.unwrap_or_default())]);
        }
        Err(why) => cells.extend([Cell::from("failed"), Cell::from(why)]),
    }
    for (judged, info) in piece.rules(i).iter().zip(&scenario.limits) {
        cells.push(info.unit.difference_from_si(judged.margin).into());
        cells.push(info.unit.from_si(judged.worst).into());
        cells.push(judged.first_crossing.map(Time::hours).into());
    }
    cells.extend(piece.tanks_left_kg(i).iter().map(|&left_kg| Cell::from(left_kg)));
    let spent = piece.canisters_spent(i);
    cells.extend(layout.canisters.iter().map(|&device| Cell::from(spent[device])));
    let hours = |at: Option<Time>| Cell::from(at.map(Time::hours));
    cells.extend(piece.alarms(i).iter().map(|alarm| hours(alarm.first_on)));
    let responded = piece.responded(i);
    cells.extend(layout.responses.iter().map(|&alarm| hours(responded[alarm].first_done)));
    for (value, input) in piece.values(i).iter().zip(&scenario.inputs) {
        cells.push(input.unit.from_si(*value).into());
    }
}
