//! The sheets of a trade: rows, differences, factors; and every variation.

use super::answered::{Answered, State};
use super::plan::Plan;
use crate::results::table::{Cell, Column, Mark, Table};
use crate::study::trade::{Known, RowRuns, Standing, Verdict};
use crate::trades::{At, Trade, What};

/// The header of a column of a trade, as [`rows`] has it.
#[must_use]
pub fn header(trade: &Trade, at: usize) -> String {
    let (unit, meaning) = describe(trade, at);
    Column::number(trade.columns[at].name.clone(), "", meaning)
        .in_unit(unit)
        .header()
}

/// One row to a design: what it is, what it gives, whether limits are met, how it stands.
#[must_use]
pub fn rows<'a>(trade: &'a Trade, plan: &'a Plan, answered: &'a Answered) -> Table<'a> {
    let mut columns = of_row(trade);
    for (at, column) in trade.columns.iter().enumerate() {
        let (unit, meaning) = describe(trade, at);
        let whole = Column::number(column.name.clone(), "", meaning).in_unit(unit.clone());
        let is_margin = matches!(column.what, What::Margin { .. });
        columns.push(whole.marked(if is_margin { Mark::Margin } else { Mark::None }));
        if plan.of_column[at].is_some() {
            for (end, word) in [("low", "Lower"), ("high", "Upper")] {
                let name = format!("{}, {end}", column.name);
                let meaning = format!("{word} end of the 95 % interval of {}.", column.name);
                columns.push(Column::number(name, "", meaning).in_unit(unit.clone()).detail());
            }
        }
    }
    columns.push(
        Column::text(
            "limits met",
            "yes: the gate passes every limit of the scenario, each for itself, and survival; NO; n/a: there is no such design.",
        )
        .marked(Mark::Met),
    );
    columns.push(Column::text("not met", "The limits that it does not pass."));
    if answered.standings.is_some() {
        columns.push(
            Column::text(
                "front",
                "yes: no row beats it in the chosen columns; knee: of those the one furthest from the line between the ends; chance: beaten, but in \
                 nothing by more than chance; no: beaten.",
            )
            .marked(Mark::Front),
        );
        columns.push(Column::text("beaten by", "A row that beats it.").detail());
    }
    columns.push(Column::integer("failed", "Variations that could not be finished.").detail());
    columns.push(Column::text(
        "state",
        "ran; or so many variations failed and count as beyond every limit; or no such design.",
    ));
    columns.push(
        Column::text(
            "why",
            "Why the first variation that failed did, or why there is no such design.",
        )
        .detail(),
    );
    let title = format!(
        "One row to a design, {} variations each, the same luck in all.",
        trade.runs
    );
    Table::new("trade", title, columns, trade.rows.len(), move |row, cells| {
        row_cells(trade, row, cells);
        for column in 0..trade.columns.len() {
            match plan.of_column[column] {
                Some(asked) => known(
                    answered.answers[row].as_ref().map(|answer| &answer.known[asked]),
                    percent(trade, column),
                    cells,
                ),
                None => cells.push(answered.formulas[row][column].into()),
            }
        }
        cells.push(match answered.met(row) {
            Some(true) => "yes".into(),
            Some(false) => "NO".into(),
            None => "n/a".into(),
        });
        cells.push(answered.told_not_met(row).into());
        if let Some(standings) = &answered.standings {
            let name = |other: usize| Cell::from(trade.rows[other].name.as_str());
            cells.extend(match standings[row] {
                Standing::Front => ["yes".into(), Cell::Empty],
                Standing::Knee => ["knee".into(), Cell::Empty],
                Standing::Beaten(by) => ["no".into(), name(by)],
                Standing::WithinChance(by) => ["chance".into(), name(by)],
                Standing::Unknown => ["-".into(), Cell::Empty],
            });
        }
        match &answered.states[row] {
            State::Ran => cells.extend([Cell::Integer(0), "ran".into(), Cell::Empty]),
            State::Failed(failed, why) => {
                let said = format!("{failed} variations failed");
                cells.extend([Cell::Integer(*failed as i64), said.into(), why.as_str().into()]);
            }
            State::Refused(why) => cells.extend([Cell::Empty, "no such design".into(), why.as_str().into()]),
        }
    })
}

/// Each row against the baseline, on the same luck.
#[must_use]
pub fn differences<'a>(trade: &'a Trade, plan: &'a Plan, answered: &'a Answered) -> Table<'a> {
    let mut columns = of_row(trade);
    let statistical: Vec<usize> = (0..trade.columns.len())
        .filter(|column| plan.of_column[*column].is_some())
        .collect();
    for &at in &statistical {
        let name = &trade.columns[at].name;
        let (unit, _) = describe(trade, at);
        let meaning = format!("{name} of this row less that of the baseline, variation by variation.");
        columns.push(Column::number(format!("{name}, difference"), "", meaning).in_unit(unit.clone()));
        for (end, word) in [("low", "Lower"), ("high", "Upper")] {
            let meaning = format!("{word} end of its own 95 % interval.");
            columns.push(
                Column::number(format!("{name}, difference {end}"), "", meaning)
                    .in_unit(unit.clone())
                    .detail(),
            );
        }
        columns.push(Column::text(
            format!("{name}, verdict"),
            "Judged with all others of the table: better, worse (more, less where neither is better), none seen (at this number of variations), or \
             not known.",
        ));
    }
    Table::new(
        "differences",
        format!("Each row against the baseline {}.", trade.rows[trade.baseline].name),
        columns,
        trade.rows.len(),
        move |row, cells| {
            row_cells(trade, row, cells);
            for &at in &statistical {
                let told = plan.of_column[at].and_then(|asked| {
                    answered.answers[row]
                        .as_ref()
                        .and_then(|answer| answer.differences[asked])
                });
                let scale = percent(trade, at);
                match told {
                    Some(told) => {
                        let [low, high] = told.difference.interval.map(|end| scale * end);
                        let half_width = 0.5 * (high - low);
                        let shown = |value: f64| Cell::Measured { value, half_width };
                        cells.extend([
                            shown(scale * told.difference.value),
                            shown(low),
                            shown(high),
                            verdict(&trade.columns[at].what, told.verdict).into(),
                        ]);
                    }
                    None => {
                        let word = if row == trade.baseline { "baseline" } else { "not known" };
                        cells.extend([Cell::Empty, Cell::Empty, Cell::Empty, word.into()]);
                    }
                }
            }
        },
    )
}

/// A verdict in a word: of margins more is better, of shares beyond a limit less.
#[must_use]
pub fn verdict(what: &What, verdict: Verdict) -> &'static str {
    match (what, verdict) {
        (_, Verdict::NotSeen) => "none seen",
        (What::Margin { .. }, Verdict::More) | (What::Beyond(_), Verdict::Less) => "better",
        (What::Margin { .. }, Verdict::Less) | (What::Beyond(_), Verdict::More) => "worse",
        (_, Verdict::More) => "more",
        (_, Verdict::Less) => "less",
    }
}

/// What each row sets in the scenario.
#[must_use]
pub fn factors(trade: &Trade) -> Table<'_> {
    let all: Vec<(usize, &String)> = trade
        .rows
        .iter()
        .enumerate()
        .flat_map(|(row, of)| of.overrides.iter().map(move |text| (row, text)))
        .collect();
    let columns = vec![
        Column::text("row", "Its name."),
        Column::text("path", "What it sets in the scenario."),
        Column::text("value", "To what, as TOML."),
    ];
    Table::new(
        "factors",
        "What each row sets in the scenario.",
        columns,
        all.len(),
        move |at, cells| {
            let (row, text) = all[at];
            let (path, value) = text.split_once('=').unwrap_or((text, ""));
            cells.extend([trade.rows[row].name.as_str().into(), path.into(), value.into()]);
        },
    )
}

/// Every variation of every row: what was read off it.
#[must_use]
pub fn runs<'a>(trade: &'a Trade, plan: &'a Plan, rows: &'a [Result<RowRuns, String>]) -> Table<'a> {
    let mut columns = vec![
        Column::text("row", "Its name."),
        Column::integer("variation", "Which: the same luck in every row."),
    ];
    for measure in &plan.measures {
        let gauge = trade.rows.iter().find_map(|row| {
            row.scenario
                .as_ref()
                .ok()
                .and_then(|scenario| measure.of(scenario).ok())
        });
        let (unit, meaning) = gauge.map_or(("", String::new()), |gauge| (gauge.unit, gauge.meaning));
        let meaning = format!("{meaning} Empty where it failed or never applied.");
        columns.push(Column::number(measure.name(), unit, meaning));
    }
    let ran: Vec<(usize, usize)> = rows
        .iter()
        .enumerate()
        .filter_map(|(row, runs)| Some((row, runs.as_ref().ok()?)))
        .flat_map(|(row, runs)| (0..runs.values.first().map_or(0, Vec::len)).map(move |k| (row, k)))
        .collect();
    let measures = plan.measures.len();
    Table::new(
        "trade-runs",
        "Every variation of every row, and what was read off it.",
        columns,
        ran.len(),
        move |at, cells| {
            let (row, k) = ran[at];
            cells.extend([trade.rows[row].name.as_str().into(), Cell::Integer(k as i64)]);
            if let Ok(runs) = &rows[row] {
                cells.extend(runs.values[..measures].iter().map(|values| Cell::from(values[k])));
            }
        },
    )
}

/// The columns that say which row it is.
fn of_row(trade: &Trade) -> Vec<Column> {
    let mut columns = vec![Column::text("row", "Its name.")];
    for factor in &trade.factors {
        columns.push(match factor.unit {
            Some(unit) => Column::number(factor.name.clone(), unit.symbol, factor.meaning.clone()),
            None => Column::text(factor.name.clone(), factor.meaning.clone()),
        });
    }
    columns
}

fn row_cells(trade: &Trade, row: usize, cells: &mut Vec<Cell>) {
    let of = &trade.rows[row];
    cells.push(of.name.as_str().into());
    for (at, factor) in trade.factors.iter().enumerate() {
        cells.push(match (factor.unit, of.numbers[at]) {
            // A level stands as it was set.
            (Some(_), Some(number)) => Cell::Measured {
                value: number,
                half_width: 0.0,
            },
            (Some(_), None) => Cell::Empty,
            (None, _) => of.labels[at].as_str().into(),
        });
    }
}

/// The unit of a column and what it means.
#[must_use]
pub fn describe(trade: &Trade, column: usize) -> (String, String) {
    let of = &trade.columns[column].what;
    let gauge = |measure: &crate::study::measure::Measure| {
        let found = trade.rows.iter().find_map(|row| {
            row.scenario
                .as_ref()
                .ok()
                .and_then(|scenario| measure.of(scenario).ok())
        });
        found.map_or((String::new(), String::new()), |gauge| {
            (gauge.unit.to_owned(), gauge.meaning)
        })
    };
    let told = |at: &At| match at {
        At::Gate => format!(
            "What {} of variations keep at least, with {} confidence",
            crate::results::numbers::percent(trade.gate.coverage()),
            crate::results::numbers::percent(trade.gate.confidence())
        ),
        At::Mean => "Mean over the variations".to_owned(),
        At::Quantile(p) => format!(
            "{} quantile over the variations (type 7)",
            crate::results::numbers::percent(*p)
        ),
    };
    match of {
        What::Margin { measure, at } | What::Result { measure, at } => {
            let (unit, meaning) = gauge(measure);
            (unit, format!("{}. {meaning}", told(at)))
        }
        What::Beyond(measure) => (
            "%".to_owned(),
            format!("Share of the variations beyond the limit. {}", gauge(measure).1),
        ),
        What::Formula(formula) => (formula.unit.clone(), formula.meaning.clone()),
    }
}

/// Shares are shown in percent.
fn percent(trade: &Trade, column: usize) -> f64 {
    match trade.columns[column].what {
        What::Beyond(_) => 100.0,
        _ => 1.0,
    }
}

fn known(of: Option<&Known>, scale: f64, cells: &mut Vec<Cell>) {
    let Some(of) = of else {
        cells.extend([Cell::Empty, Cell::Empty, Cell::Empty]);
        return;
    };
    // The ends are shown as far as what they are about.
    let half_width = scale * of.half_width();
    let shown = |value: f64| Cell::Measured {
        value: scale * value,
        half_width,
    };
    cells.push(shown(of.value));
    cells.extend([0, 1].map(|end| of.interval.map_or(Cell::Empty, |ends| shown(ends[end]))));
}
