//! The tables of `compare`: `margins.csv`, `changed.csv`, `limits.csv`, `totals.csv`.

use super::{Comparison, Figure, InputOf, LimitOf, Of};
use crate::results::table::{Cell, Column, Table};
use crate::study::trade::Known;

/// The columns of a figure of both sides.
fn figure_columns(of: &Comparison) -> Vec<Column> {
    let each = "Lower end of its 95 % interval.";
    vec![
        Column::text("figure", what(of)),
        Column::text("unit", "The unit of all numbers of the row."),
        Column::number("A", "", "On A."),
        Column::number("A low", "", each).detail(),
        Column::number("A high", "", "Upper end of it.").detail(),
        Column::number("B", "", "On B."),
        Column::number("B low", "", each).detail(),
        Column::number("B high", "", "Upper end of it.").detail(),
        Column::number(
            "B - A",
            "",
            "The difference; of a kept margin with an interval that of the quantile which it bounds.",
        ),
        Column::number("low", "", "Lower end of its 95 % interval."),
        Column::number("high", "", "Upper end of it."),
        Column::text(
            "verdict",
            "What the difference says, judged with all others: better, worse, more, less, no difference seen; the same in every variation; not judged.",
        ),
    ]
}

fn what(of: &Comparison) -> String {
    if of.of == Of::Runs {
        return "What is compared: the run on the medians.".to_owned();
    }
    format!(
        "What is compared: kept, what {} % of variations keep at least with {} % confidence; mean, over the variations; beyond, the share of \
         them beyond the limit; on the medians, of the run on the medians.",
        100.0 * of.gate.coverage(),
        100.0 * of.gate.confidence()
    )
}

fn figure_cells(figure: &Figure, is_exact: bool, cells: &mut Vec<Cell>) {
    let of = &figure.of;
    let measured = |value: f64, interval: Option<[f64; 2]>| Cell::Measured {
        value,
        half_width: match interval {
            Some([low, high]) => 0.5 * (high - low),
            None if is_exact => 0.0,
            None => f64::INFINITY,
        },
    };
    let low = |interval: Option<[f64; 2]>| Cell::from(interval.map(|ends| ends[0]));
    let high = |interval: Option<[f64; 2]>| Cell::from(interval.map(|ends| ends[1]));
    cells.push(figure.name.into());
    cells.push(figure.unit.as_str().into());
    let mut side = |known: &Known| {
        cells.extend([
            measured(known.value, known.interval),
            low(known.interval),
            high(known.interval),
        ]);
    };
    side(&of.a);
    side(&of.b);
    cells.push(of.difference.map_or(Cell::Empty, |value| measured(value, of.interval)));
    let end = |end: Option<f64>| match (end, of.interval) {
        (Some(value), interval) => measured(value, interval),
        (None, _) => Cell::Empty,
    };
    cells.push(end(of.interval.map(|ends| ends[0])));
    cells.push(end(of.interval.map(|ends| ends[1])));
    cells.push(figure.verdict().into());
}

/// Whether a figure has nothing of chance in it.
fn is_exact(figure: &Figure) -> bool {
    figure.name == "on the medians"
}

/// Margins, a row to each limit and figure.
#[must_use]
pub fn margins(of: &Comparison) -> Table<'_> {
    let rows: Vec<(&super::LimitCompared, &Figure)> = of
        .limits
        .iter()
        .flat_map(|limit| limit.figures.iter().map(move |figure| (limit, figure)))
        .collect();
    let mut columns = vec![Column::text("limit", "Its id; of whoever has the least margin.")];
    columns.extend(figure_columns(of));
    let met = |side: &str| {
        Column::text(
            format!("met in {side}"),
            "yes or no: the kept margin, or that of the run, is not below 0; empty where it is not known.",
        )
        .detail()
    };
    columns.extend([met("A"), met("B")]);
    Table::new(
        "margins",
        "Distances to the limits on both sides, negative beyond, and what their differences say.",
        columns,
        rows.len(),
        move |row, cells| {
            let (limit, figure) = rows[row];
            cells.push(limit.id.as_str().into());
            figure_cells(figure, is_exact(figure), cells);
            cells.extend(limit.met.map(|met| match met {
                Some(true) => "yes".into(),
                Some(false) => "no".into(),
                None => Cell::Empty,
            }));
        },
    )
}

/// Inputs and data files that differ.
#[must_use]
pub fn changed(of: &Comparison) -> Table<'_> {
    let all = of.inputs.as_deref().unwrap_or_default();
    let default = |side: &str| Column::text(format!("default in {side}"), "yes: not given, a default.").detail();
    let columns = vec![
        Column::text(
            "path",
            "Where it stands in the scenario, by names; of a data file its name.",
        ),
        Column::text("how", "changed, only in A, only in B, or written in another way."),
        Column::text("A", "As written on A."),
        Column::text("B", "As written on B."),
        Column::text("A in SI", "On A in SI; of a spread its distribution."),
        Column::text("B in SI", "On B in SI."),
        default("A"),
        default("B"),
    ];
    let given = if of.of == Of::Scenarios { "" } else { " that were given" };
    Table::new(
        "changed",
        format!("Values{given} and data files that differ."),
        columns,
        all.len(),
        move |row, cells| {
            let one = &all[row];
            let text = |input: &Option<InputOf>, of: fn(&InputOf) -> &str| {
                input.as_ref().map_or(Cell::Empty, |input| of(input).into())
            };
            cells.extend([
                one.path.as_str().into(),
                one.how.words().into(),
                text(&one.a, |input| &input.written),
                text(&one.b, |input| &input.written),
                text(&one.a, |input| &input.si),
                text(&one.b, |input| &input.si),
                text(&one.a, |input| if input.is_default { "yes" } else { "no" }),
                text(&one.b, |input| if input.is_default { "yes" } else { "no" }),
            ]);
        },
    )
}

/// Every limit of both sides and how its rule differs.
#[must_use]
pub fn limits(of: &Comparison) -> Table<'_> {
    let columns = vec![
        Column::text("limit", "Its id."),
        Column::text("how", "the same, changed, only in A, or only in B."),
        Column::text("A", "The rule on A, in words."),
        Column::text("B", "The rule on B."),
        Column::text("whose in A", "Whom or what it is about on A."),
        Column::text("whose in B", "Whom or what it is about on B."),
        Column::text("source in A", "Whose limit it is on A.").detail(),
        Column::text("source in B", "Whose limit it is on B.").detail(),
    ];
    Table::new(
        "limits",
        "Every limit of both sides.",
        columns,
        of.rules.len(),
        move |row, cells| {
            let one = &of.rules[row];
            let text = |limit: &Option<LimitOf>, of: fn(&LimitOf) -> String| {
                limit.as_ref().map_or(Cell::Empty, |limit| of(limit).into())
            };
            cells.extend([
                one.id.as_str().into(),
                one.how.words().into(),
                text(&one.a, |limit| limit.words.clone()),
                text(&one.b, |limit| limit.words.clone()),
                text(&one.a, |limit| limit.whose.join(", ")),
                text(&one.b, |limit| limit.whose.join(", ")),
                text(&one.a, |limit| limit.source.clone()),
                text(&one.b, |limit| limit.source.clone()),
            ]);
        },
    )
}

/// Totals and times.
#[must_use]
pub fn totals(of: &Comparison) -> Table<'_> {
    let mut columns = vec![Column::text("total", "Its name, as in summary.json of `run`.")];
    columns.extend(figure_columns(of));
    Table::new(
        "totals",
        "Totals and times on both sides, and what their differences say.",
        columns,
        of.totals.len(),
        move |row, cells| {
            let total = &of.totals[row];
            cells.push(total.name.as_str().into());
            figure_cells(&total.figure, is_exact(&total.figure), cells);
        },
    )
}
