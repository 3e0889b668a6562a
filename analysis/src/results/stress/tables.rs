//! `stress.csv`: every onset that was looked at, on the medians; `stress-runs.csv`: every variation at the worst one; `faults.csv`: faults alone
//! and in pairs.

use breathroom_sim::limits::EFFECT_LEVELS;
use breathroom_sim::scenario::Scenario;

use super::build::{cause, hours, rule_name};
use crate::results::numbers::percent_unit;
use crate::results::table::{Cell, Column, Table};
use crate::results::words;
use crate::study::stress::look::{First, Look};
use crate::study::stress::{Part, Stress};

/// Every onset that was looked at.
#[must_use]
pub fn looks<'a>(stress: &'a Stress, scenario: &'a Scenario) -> Table<'a> {
    let responses = stress.responses;
    let rows: Vec<(&Part, &Look)> = stress
        .parts
        .iter()
        .flat_map(|part| part.looked.looks.iter().map(move |(_, look)| (part, look)))
        .collect();
    let mut columns = of_part().to_vec();
    columns.extend(of_look(scenario));
    Table::new(
        "stress",
        "Every onset that was looked at, on the medians: times from the onset; empty if never within the run, or no sooner than without the fault.",
        columns,
        rows.len(),
        move |row, cells| {
            let (part, look) = rows[row];
            part_cells(part, scenario, cells);
            look_cells(look, scenario, responses, cells);
        },
    )
}

/// Every variation at the worst onset of the medians.
#[must_use]
pub fn runs<'a>(stress: &'a Stress, scenario: &'a Scenario) -> Option<Table<'a>> {
    let responses = stress.responses;
    let rows: Vec<(usize, &Part, &Look)> = stress
        .parts
        .iter()
        .flat_map(|part| {
            let looks = part.runs.iter().flat_map(|runs| &runs.looks);
            looks.enumerate().map(move |(k, look)| (k, part, look))
        })
        .collect();
    if rows.is_empty() {
        return None;
    }
    let mut columns = vec![Column::integer(
        "variation",
        "Which: that of `vary` with the same seed and plain draws, but for the faults.",
    )];
    columns.extend(of_part());
    columns.extend(of_look(scenario));
    Some(Table::new(
        "stress-runs",
        "Every variation at the worst onset of the medians: times from the onset; empty if never within the run, or no sooner than without the fault.",
        columns,
        rows.len(),
        move |row, cells| {
            let (k, part, look) = rows[row];
            cells.push(Cell::Integer(k as i64));
            part_cells(part, scenario, cells);
            look_cells(look, scenario, responses, cells);
        },
    ))
}

fn of_part() -> [Column; 2] {
    [
        Column::text("device", "The device that degrades."),
        Column::number(
            "left",
            percent_unit().symbol,
            "Part of what it would take at the same inlet that it takes from the onset on.",
        ),
    ]
}

fn part_cells(part: &Part, scenario: &Scenario, cells: &mut Vec<Cell>) {
    cells.push(words::device(&scenario.names, part.device).into());
    cells.push(percent_unit().from_si(part.left).into());
}

fn of_look(scenario: &Scenario) -> Vec<Column> {
    let mut columns = vec![
        Column::number("onset", "h", "When it degrades, from the start of the run."),
        Column::text("end", "completed, or failed: then nothing good is known of it."),
        Column::text("alarm", "The first alarm that comes on after the onset."),
        Column::number("to alarm", "h", "Until it does."),
        Column::text(
            "false alarm",
            "yes, no, or empty where only some of the trips of this alarm were false.",
        ),
        Column::text("alarm before", "yes if an alarm was on at the onset."),
        Column::number("to done", "h", "Until the response is completed."),
        Column::text(
            "limit",
            "The first limit that the fault has crossed without any response.",
        ),
        Column::text("limit where", "Whose air."),
        Column::number("to limit", "h", "Until it is crossed without any response."),
        Column::text("limit with response", "The first limit with responses."),
        Column::number("to limit with response", "h", "Until it is crossed with responses."),
        Column::number(
            "margin",
            "h",
            "Time left when the response is completed; empty if it is not in time at all.",
        ),
        Column::text(
            "margin is",
            "exact, more (the run ends before a limit is crossed), not in time, or no response (no alarm has one).",
        ),
    ];
    for id in scenario.limit_ids() {
        let meaning = format!("Until the limit {id} is first crossed, by whomever it is about, without any response.");
        columns.push(Column::number(format!("to {id}"), "h", meaning));
    }
    for level in &EFFECT_LEVELS {
        let meaning = format!(
            "Until someone's air is beyond {}; {}: {}. No limit, and no medical claim.",
            level.level, level.source, level.says
        );
        for how in ["without", "with"] {
            columns.push(Column::number(
                format!("to level {} {how} response", level.id),
                "h",
                meaning.clone(),
            ));
        }
    }
    columns
}

fn look_cells(look: &Look, scenario: &Scenario, responses: bool, cells: &mut Vec<Cell>) {
    let first = |first: &First| {
        let (limit, place) = cause(scenario, first.cause);
        [limit, place].map(|text| text.map_or(Cell::Empty, Cell::Text))
    };
    let yes = |is: bool| Cell::from(if is { "yes" } else { "no" });
    let ([limit, place], [limit_with, _]) = (first(&look.first), first(&look.first_with));
    let margin = look.margin();
    let kind = match (responses, margin.seconds.is_finite(), margin.more) {
        (false, ..) => "no response",
        (true, false, _) => "not in time",
        (true, true, true) => "more",
        (true, true, false) => "exact",
    };
    let failed = look.failed.is_some();
    cells.extend([
        look.onset.hours().into(),
        if failed { "failed" } else { "completed" }.into(),
        look.alarm
            .map_or(Cell::Empty, |alarm| words::alarm(&scenario.names, alarm.alarm).into()),
        look.alarm.map(|alarm| alarm.after.hours()).into(),
        look.alarm.map_or(Cell::Empty, |alarm| yes(alarm.is_false)),
        if failed { Cell::Empty } else { yes(look.already_on) },
        hours(look.done).into(),
        limit,
        place,
        hours(look.first.after).into(),
        limit_with,
        hours(look.first_with.after).into(),
        if responses {
            Cell::Number(margin.seconds / 3600.0)
        } else {
            Cell::Empty
        },
        kind.into(),
    ]);
    // A run that failed has none of them.
    let limits = scenario.limit_ids().len();
    cells.extend((0..limits).map(|id| Cell::from(look.limits.get(id).and_then(|after| hours(*after)))));
    for level in 0..EFFECT_LEVELS.len() {
        let of = look.effects.get(level);
        cells.extend([0, 1].map(|which| Cell::from(of.and_then(|of| hours(of[which])))));
    }
}

/// Faults alone and in pairs; none where the scenario has no faults.
#[must_use]
pub fn faults<'a>(stress: &'a Stress, scenario: &'a Scenario) -> Option<Table<'a>> {
    if stress.singles.len() < 2 {
        return None;
    }
    let columns = vec![
        Column::text("faults", "Which; empty: none."),
        Column::text("limits broken", "On the medians."),
        Column::number(
            "least margin",
            "%",
            "On the medians, of its limit; of limits of which a fraction means something.",
        ),
        Column::text("least margin of", "Of which limit."),
        Column::text(
            "end",
            "On the medians: completed, not survivable, failed; did not begin if one of the faults did not.",
        ),
        Column::integer("variations", "How many."),
        Column::integer(
            "variations broken",
            "Those in which a limit is broken, or that were not survivable or failed.",
        ),
        Column::number("broken", "%", "Their share."),
        Column::number("least margin 1 %", "%", "Quantile over the variations, type 7."),
        Column::number("least margin 5 %", "%", "Quantile over the variations, type 7."),
        Column::number("least margin 50 %", "%", "Quantile over the variations, type 7."),
        Column::number("least margin 95 %", "%", "Quantile over the variations, type 7."),
    ];
    let fill = move |row: usize, cells: &mut Vec<Cell>| {
        let row = &stress.singles[row];
        let names: Vec<&str> = row
            .faults
            .iter()
            .map(|fault| words::fault(&scenario.names, *fault))
            .collect();
        let medians = &row.medians;
        let broken: Vec<String> = medians.broken.iter().map(|rule| rule_name(scenario, *rule)).collect();
        let end = match (&medians.failed, medians.not_survivable, medians.did_not_begin) {
            (Some(_), ..) => "failed",
            (None, true, _) => "not survivable",
            (None, false, true) => "did not begin",
            (None, false, false) => "completed",
        };
        cells.extend([
            names.join(" with ").into(),
            broken.join(", ").into(),
            medians.least.map(|(least, _)| 100.0 * least).into(),
            medians
                .least
                .map_or(Cell::Empty, |(_, rule)| rule_name(scenario, rule).into()),
            end.into(),
        ]);
        let over = row.runs.as_ref();
        cells.extend([
            over.map_or(Cell::Empty, |over| Cell::Integer(over.runs as i64)),
            over.map_or(Cell::Empty, |over| Cell::Integer(over.broken.count as i64)),
            over.map(|over| 100.0 * over.broken.share).into(),
        ]);
        cells.extend((0..4).map(|q| Cell::from(over.map(|over| 100.0 * over.least[q]))));
    };
    Some(Table::new(
        "faults",
        "Each of the scenario's faults alone, and pairs, with responses; worst first after the run without any. What is broken without any fault \
         counts only where it is crossed sooner.",
        columns,
        stress.singles.len(),
        fill,
    ))
}
