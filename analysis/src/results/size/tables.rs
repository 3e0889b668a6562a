//! `size.csv`: every value that was tried in the search; `proof.csv`: those tried on fresh seeds; `boundary.csv`: the answer over a second quantity.

use super::{Asked, Sized};
use crate::results::table::{Cell, Column, Mark, Table};
use crate::study::size::{Point, Try, Why};

/// What is said in a cell of why there is no value.
fn why(why: &Why) -> &str {
    match why {
        Why::Never => "kept nowhere in the range",
        Why::Always => "kept everywhere in the range",
        Why::OtherEnd => "kept at the other end",
        Why::NotMonotone => "kept here and there",
        Why::Refused(why) => why,
    }
}

fn known(value: f64, [low, high]: [f64; 2]) -> Cell {
    Cell::Measured {
        value,
        half_width: 0.5 * (high - low),
    }
}

/// The column of the second quantity, if there is one.
fn over(asked: &Asked) -> Option<Column> {
    asked
        .over
        .as_ref()
        .map(|path| Column::text(path.clone(), "The second quantity, as it was asked for."))
}

/// Every value that was tried.
#[must_use]
pub fn curve<'a>(asked: &Asked, sizes: &'a [Sized]) -> Table<'a> {
    let rows: Vec<(&Sized, &Point)> = sizes
        .iter()
        .flat_map(|sized| sized.size.curve.iter().map(move |point| (sized, point)))
        .collect();
    let unit = asked.margin_unit;
    let mut columns: Vec<Column> = over(asked).into_iter().collect();
    let has_over = !columns.is_empty();
    columns.extend([
        Column::number(asked.what.clone(), asked.unit, "The value that was tried."),
        Column::number(
            "margin kept",
            unit,
            "What the gate's share of variations keeps at least, with its confidence.",
        )
        .marked(Mark::Margin),
        Column::number(
            "quantile low",
            unit,
            "Lower end of the 95 % interval of the quantile that it bounds.",
        )
        .detail(),
        Column::number("quantile high", unit, "Upper end of it.").detail(),
        Column::number("median margin", unit, "Median of the margin."),
        Column::number("beyond", "%", "Share of variations beyond the limit."),
        Column::integer("variations", "How many."),
        Column::text("refused", "Why there is no such design."),
        Column::text(
            "failure",
            "Why the first variation that could not be finished could not.",
        )
        .detail(),
    ]);
    Table::new(
        "size",
        "Every value that was tried in the search, on the same variations.",
        columns,
        rows.len(),
        move |row, cells| {
            let (sized, point) = rows[row];
            if has_over {
                cells.push(sized.over.clone().map_or(Cell::Empty, Cell::Text));
            }
            cells.extend([
                Cell::Measured {
                    value: point.value,
                    half_width: 0.0,
                },
                known(point.bound, point.quantile),
                point.quantile[0].into(),
                point.quantile[1].into(),
                point.median.into(),
                (100.0 * point.beyond).into(),
                Cell::Integer(point.runs as i64),
                point.refused.clone().map_or(Cell::Empty, Cell::Text),
                point.failure.clone().map_or(Cell::Empty, Cell::Text),
            ]);
        },
    )
}

/// Values tried on fresh seeds.
#[must_use]
pub fn proof<'a>(asked: &Asked, sizes: &'a [Sized]) -> Table<'a> {
    let rows: Vec<(&Sized, &Try, f64)> = sizes
        .iter()
        .flat_map(|sized| {
            let proof = sized.size.answer.iter().map(|answer| &answer.proof);
            proof.flat_map(move |proof| proof.tries.iter().map(move |one| (sized, one, proof.confidence)))
        })
        .collect();
    let mut columns: Vec<Column> = over(asked).into_iter().collect();
    let has_over = !columns.is_empty();
    columns.extend([
        Column::number(asked.what.clone(), asked.unit, "The value that was tried."),
        Column::text("seed", "Seed of its variations."),
        Column::integer("variations", "How many."),
        Column::number(
            "confidence",
            "%",
            "Confidence of this try, so that all tries together have the gate's.",
        ),
        Column::number(
            "margin kept",
            asked.margin_unit,
            "What the gate's share keeps at least, with that confidence.",
        )
        .marked(Mark::Margin),
        Column::number("beyond", "%", "Share of variations beyond the limit."),
        Column::text("shown", "yes or NO.").marked(Mark::Met),
    ]);
    Table::new(
        "proof",
        "Values tried again on variations that they were not found by.",
        columns,
        rows.len(),
        move |row, cells| {
            let (sized, one, confidence) = rows[row];
            if has_over {
                cells.push(sized.over.clone().map_or(Cell::Empty, Cell::Text));
            }
            cells.extend([
                Cell::Measured {
                    value: one.value,
                    half_width: 0.0,
                },
                // More digits than a number of a worksheet holds.
                Cell::Text(one.seed.to_string()),
                Cell::Integer(one.runs as i64),
                (100.0 * confidence).into(),
                one.bound.into(),
                (100.0 * one.beyond).into(),
                if one.holds() { "yes" } else { "NO" }.into(),
            ]);
        },
    )
}

/// The answer, or the answers over a second quantity.
#[must_use]
pub fn boundary<'a>(asked: &Asked, sizes: &'a [Sized]) -> Table<'a> {
    let mut columns: Vec<Column> = over(asked).into_iter().collect();
    let has_over = !columns.is_empty();
    let end = asked.end();
    let unit = asked.unit;
    columns.extend([
        Column::number(format!("{end} {}", asked.what), unit, "The value to build by."),
        Column::text("shown", "yes: on a fresh seed; NO; n/a: there is no value.").marked(Mark::Met),
        Column::number("low", unit, "Lower end of the 95 % interval; empty if it is not known."),
        Column::number("high", unit, "Upper end."),
        Column::number("from the search", unit, "What the search gave.").detail(),
        Column::text("why not", "Why there is no value."),
        Column::text("not met there", "Limits that the gate does not pass at the value."),
    ]);
    Table::new(
        "boundary",
        "The value that keeps the margin; with a second quantity, over it.",
        columns,
        sizes.len(),
        move |row, cells| {
            let sized = &sizes[row];
            if has_over {
                cells.push(sized.over.clone().map_or(Cell::Empty, Cell::Text));
            }
            let exact = |value: f64| Cell::Measured { value, half_width: 0.0 };
            match &sized.size.answer {
                Ok(answer) => {
                    let [low, high] = answer.interval;
                    cells.extend([
                        exact(answer.value()),
                        if answer.proof.proved().is_some() { "yes" } else { "NO" }.into(),
                        low.map_or(Cell::Empty, exact),
                        high.map_or(Cell::Empty, exact),
                        exact(answer.found),
                        Cell::Empty,
                        sized.not_met.join(", ").into(),
                    ]);
                }
                Err(none) => {
                    cells.push(Cell::Empty);
                    cells.push("n/a".into());
                    cells.extend([Cell::Empty, Cell::Empty, Cell::Empty]);
                    cells.push(why(none).into());
                    cells.push(Cell::Empty);
                }
            }
        },
    )
}
