//! The page of `trade`: its rows as a table that sorts and filters, the front, and how each row stands.

use super::bars::{self, Row};
use super::figure::{Along, Data, Drawn, Figure, Key};
use super::mark::{Mark, Weight};
use super::page::{Page, Part, Section, Sheet};
use super::plot::Plot;
use super::sheet::sheet;
use super::svg::slug;
use crate::results::frame::Frame;
use crate::results::numbers::{short, with_unit};
use crate::results::trade::TradeSummary;

/// An objective of the front: the header of its column, and whether more of it is better.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Objective {
    /// `shell mass [kg]`.
    pub header: String,
    /// More is better.
    pub most: bool,
}

/// Most pairs of objectives that are drawn.
const MOST_PAIRS: usize = 3;
/// Points up to which each has its name beside it.
const NAMED: usize = 20;

/// The page; `frames` are the sheets of the book by name, `stamp` says where it comes from.
#[must_use]
pub fn page(
    summary: &TradeSummary,
    frames: &[(&str, Frame)],
    objectives: &[Objective],
    stamp: &[(String, String)],
) -> Page {
    let mut answer = summary.answer.clone();
    let notes = answer.split_off(answer.len().min(3));
    let of = |name: &str| frames.iter().find(|(other, _)| *other == name).map(|(_, frame)| frame);
    let mut sections = Vec::new();
    let mut first = None;
    let closed = |name: &str, caption: &str, closed: bool| {
        let sheet = of(name).and_then(|frame| sheet(name, caption, frame));
        sheet.map(|sheet| Part::Table(Sheet { closed, ..sheet }))
    };
    if let Some(rows) = of("trade") {
        let pairs = scatters(summary, rows, objectives);
        // Without a front, the margins come first.
        let mut drawn = pairs.into_iter().chain(margins(summary, rows));
        first = drawn.next();
        let table = sheet("designs", &rows_caption(summary), rows).map(Part::Table);
        let about = "One row to a design. Rows can be sorted by a column and filtered by words.";
        sections.push(Section::new("Designs", about, table.into_iter().collect()));
        sections.push(Section::new("Side by side", "", drawn.map(Part::Figure).collect()));
    }
    let differences = closed(
        "differences",
        "Each row less the baseline, on the same luck, with an interval.",
        false,
    );
    sections.push(Section::new(
        "Against the baseline",
        "",
        differences.into_iter().collect(),
    ));
    let went_in = [
        closed("factors", "Every value that a row changes.", true),
        closed("inputs", "Every value that was given.", true),
        closed("assumptions", "Every value that was not given.", true),
        closed("limits", "Every limit, with its source.", true),
    ];
    sections.push(Section::new(
        "What went in",
        "",
        went_in.into_iter().flatten().collect(),
    ));
    sections.push(Section::new(
        "Where it comes from",
        "",
        vec![Part::Pairs(stamp.to_vec())],
    ));
    Page {
        kind: format!(
            "trade of {} designs, {} variations each, seed {}",
            summary.rows.len(),
            summary.runs,
            summary.seed
        ),
        title: summary.trade.heading().to_owned(),
        answer,
        met: None,
        notes,
        first,
        caution: summary.caution.clone(),
        sections,
    }
}

fn rows_caption(summary: &TradeSummary) -> String {
    format!(
        "{} designs, {} variations each, the same luck in all.",
        summary.rows.len(),
        summary.runs
    )
}

/// The name of a row with its levels: "r01: two, 3 days".
fn named(summary: &TradeSummary, row: usize) -> String {
    summary.rows.get(row).map_or_else(String::new, |of| {
        let levels: Vec<&str> = of.levels.iter().map(|(_, level)| level.as_str()).collect();
        format!("{}: {}", of.name, levels.join(", "))
    })
}

/// Each pair of objectives as a cloud; the rows that no other beats stand out.
fn scatters(summary: &TradeSummary, rows: &Frame, objectives: &[Objective]) -> Vec<Figure> {
    let mut out = Vec::new();
    for (i, up) in objectives.iter().enumerate() {
        for along in &objectives[i + 1..] {
            if out.len() < MOST_PAIRS {
                // What is to be small lies along, what is to be large stands up, where there is one of each.
                let (up, along) = if along.most && !up.most {
                    (along, up)
                } else {
                    (up, along)
                };
                out.extend(scatter(summary, rows, up, along, objectives.len()));
            }
        }
    }
    out
}

fn scatter(summary: &TradeSummary, rows: &Frame, up: &Objective, along: &Objective, of: usize) -> Option<Figure> {
    let (x, y) = (rows.numbers(&along.header)?, rows.numbers(&up.header)?);
    let front = rows.words("front").unwrap_or_default();
    let is_front = |row: usize| matches!(front.get(row), Some(&("yes" | "knee")));
    let met = |row: usize| summary.rows.get(row).and_then(|of| of.limits_met) == Some(true);
    let point = |row: usize| {
        let words = format!(
            "{}; {} {}; {} {}{}",
            named(summary, row),
            up.header,
            short(y[row]),
            along.header,
            short(x[row]),
            if is_front(row) { "; on the front" } else { "" }
        );
        ([x[row], y[row]], words, is_front(row))
    };
    let pick = |keeps: bool| {
        (0..x.len())
            .filter(|&row| met(row) == keeps)
            .map(point)
            .collect::<Vec<_>>()
    };
    let mut line: Vec<[f64; 2]> = (0..x.len())
        .filter(|&row| is_front(row) && x[row].is_finite() && y[row].is_finite())
        .map(|row| [x[row], y[row]])
        .collect();
    line.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut marks = Vec::new();
    if of == 2 && line.len() > 1 {
        marks.push(Mark::Line {
            name: "the front".to_owned(),
            hue: 5,
            weight: Weight::Thin,
            points: line,
        });
    }
    for (name, hue, points) in [("keeps every limit", 0, pick(true)), ("breaks a limit", 1, pick(false))] {
        if !points.is_empty() {
            marks.push(Mark::Points {
                name: name.to_owned(),
                hue,
                points,
            });
        }
    }
    let better = |of: &Objective| if of.most { "more is better" } else { "less is better" };
    let mut says = format!(
        "{} upwards ({}), {} along ({}). Ringed: no row beats it in all that was asked for.",
        up.header,
        better(up),
        along.header,
        better(along)
    );
    if of > 2 {
        says.push_str(" There are more than these two objectives: a ringed point may look beaten here.");
    }
    let data = Data {
        headers: vec![
            "design".to_owned(),
            along.header.clone(),
            up.header.clone(),
            "front".to_owned(),
            "limits met".to_owned(),
        ],
        rows: (0..x.len())
            .map(|row| {
                vec![
                    named(summary, row),
                    short(x[row]),
                    short(y[row]),
                    front.get(row).unwrap_or(&"").to_string(),
                    if met(row) { "yes" } else { "NO" }.to_owned(),
                ]
            })
            .collect(),
        note: "trade.csv has all columns.".to_owned(),
    };
    Plot {
        id: format!("front-{}-{}", slug(&up.header), slug(&along.header)),
        title: format!("{} against {}", up.header, along.header),
        says,
        unit: String::new(),
        along: (Along::Number, along.header.clone()),
        height: 240.0,
        marks,
        names_points: x.len() <= NAMED,
        data,
        ..Plot::default()
    }
    .padded()
    .figure()
}

/// Of each column that is a margin: a bar for each design, with its interval.
fn margins(summary: &TradeSummary, rows: &Frame) -> Vec<Figure> {
    let is_margin = |column: &&crate::results::table::Column| column.mark == crate::results::table::Mark::Margin;
    let columns: Vec<(String, String)> = rows
        .columns
        .iter()
        .filter(is_margin)
        .map(|column| (column.name.clone(), column.header()))
        .collect();
    columns
        .iter()
        .filter_map(|(name, header)| margin(summary, rows, name, header))
        .collect()
}

fn margin(summary: &TradeSummary, rows: &Frame, name: &str, header: &str) -> Option<Figure> {
    let values = rows.numbers(header)?;
    let unit = header
        .rsplit_once('[')
        .map_or("", |(_, unit)| unit.trim_end_matches(']'));
    let end = |which: &str| {
        rows.numbers(&header.replacen(name, &format!("{name}, {which}"), 1))
            .unwrap_or_else(|| vec![f64::NAN; values.len()])
    };
    let (low, high) = (end("low"), end("high"));
    let finite = |all: &[f64], start: f64, fold: fn(f64, f64) -> f64| {
        all.iter().copied().filter(|value| value.is_finite()).fold(start, fold)
    };
    let least = finite(&low, finite(&values, 0.0, f64::min), f64::min);
    let most = finite(&high, finite(&values, 0.0, f64::max), f64::max).max(1e-12);
    let nought = if least < 0.0 {
        (-least / (most - least)).clamp(0.06, 0.94)
    } else {
        0.04
    };
    let scale = most.max(-least * (1.0 - nought) / nought);
    let row = |i: usize| Row {
        name: named(summary, i),
        figures: with_unit(values[i], unit),
        in_short: short(values[i]),
        beyond: values[i] < 0.0,
        soft: (low[i].is_finite() && high[i].is_finite()).then(|| [low[i] / scale, high[i] / scale]),
        solid: values[i].is_finite().then(|| [0.0, values[i] / scale]),
        middle: values[i].is_finite().then(|| values[i] / scale),
        scale,
        ..Row::default()
    };
    let drawn: Vec<Row> = (0..values.len()).map(row).collect();
    let keys = [
        ("the margin", "middle", Drawn::Line),
        ("its 95 % interval", "kept soft", Drawn::Area),
    ]
    .map(|(name, class, drawn)| Key {
        name: name.to_owned(),
        class: class.to_owned(),
        drawn,
    });
    let meaning = rows
        .columns
        .iter()
        .find(|column| column.header() == header)
        .map_or(String::new(), |column| column.meaning.clone());
    let data = Data {
        headers: vec![
            "design".to_owned(),
            header.to_owned(),
            "low".to_owned(),
            "high".to_owned(),
        ],
        rows: (0..values.len())
            .map(|i| vec![named(summary, i), short(values[i]), short(low[i]), short(high[i])])
            .collect(),
        note: "trade.csv has all columns.".to_owned(),
    };
    let id = format!("margins-{}", slug(name));
    Some(bars::figure(
        (&id, &format!("{header}, by design"), &meaning),
        &drawn,
        nought,
        ["beyond", "to spare"],
        keys.to_vec(),
        data,
    ))
}
