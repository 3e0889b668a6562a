//! The page of `size`: the margin over the value that was tried, the value with its interval, and the boundary over a second quantity.

use super::figure::{Along, Data, Figure};
use super::mark::{Beyond, Mark, Weight};
use super::page::{Page, Part, Section};
use super::plot::Plot;
use super::sheet::sheets;
use crate::results::frame::Frame;
use crate::results::numbers::{short, with_unit};
use crate::results::size::SizeSummary;

/// Curves that are drawn over a second quantity.
const MOST_CURVES: usize = 6;

/// The page; `frames` are the sheets of the book by name, `stamp` says where it comes from.
#[must_use]
pub fn page(summary: &SizeSummary, frames: &[(&str, Frame)], stamp: &[(String, String)]) -> Page {
    let mut answer = summary.answer.clone();
    let notes = answer.split_off(answer.len().min(3));
    let of = |name: &str| frames.iter().find(|(other, _)| *other == name).map(|(_, frame)| frame);
    let mut figures: Vec<Figure> = Vec::new();
    figures.extend(of("boundary").and_then(|frame| boundary(summary, frame)));
    figures.extend(of("size").map(|frame| curves(summary, frame)).unwrap_or_default());
    let mut figures = figures.into_iter();
    let first = figures.next();
    let parts = sheets(
        frames,
        &[
            ("boundary", "The value that keeps the margin.", false),
            (
                "proof",
                "Values tried again on variations that they were not found by.",
                false,
            ),
            ("size", "Every value that was tried in the search.", false),
            ("inputs", "Every value that was given.", true),
            ("assumptions", "Every value that was not given.", true),
            ("limits", "Every limit, with its source.", true),
        ],
    );
    Page {
        kind: format!("{} {} that keeps {}", summary.find, summary.what, summary.keep),
        title: summary.scenario.heading().to_owned(),
        answer,
        met: Some(summary.sizes.iter().all(|size| size.proved)),
        notes,
        first,
        caution: summary.caution.clone(),
        sections: vec![
            Section::new("The margin over the value", "", figures.map(Part::Figure).collect()),
            Section::new("In full", "", parts),
            Section::new("Where it comes from", "", vec![Part::Pairs(stamp.to_vec())]),
        ],
    }
}

/// One curve for each value of the second quantity, or the only one.
fn curves(summary: &SizeSummary, frame: &Frame) -> Vec<Figure> {
    let over = summary.over.as_deref().and_then(|path| frame.words(path));
    let which: Vec<Option<String>> = summary
        .sizes
        .iter()
        .map(|size| size.over.clone())
        .take(MOST_CURVES)
        .collect();
    which
        .iter()
        .enumerate()
        .filter_map(|(index, value)| curve(summary, frame, (over.as_deref(), value.as_deref()), index))
        .collect()
}

fn curve(
    summary: &SizeSummary,
    frame: &Frame,
    (over, which): (Option<&[&str]>, Option<&str>),
    index: usize,
) -> Option<Figure> {
    let header = if summary.unit.is_empty() {
        summary.what.clone()
    } else {
        format!("{} [{}]", summary.what, summary.unit)
    };
    let unit = summary.margin_unit;
    let column = |name: &str| {
        frame
            .numbers(&format!("{name} [{unit}]"))
            .unwrap_or_else(|| vec![f64::NAN; frame.rows()])
    };
    let value = frame.numbers(&header)?;
    let (bound, low, high, median) = (
        column("margin kept"),
        column("quantile low"),
        column("quantile high"),
        column("median margin"),
    );
    let is_ours = |row: usize| match (over, which) {
        (Some(over), Some(which)) => over.get(row) == Some(&which),
        _ => true,
    };
    let mut rows: Vec<usize> = (0..frame.rows()).filter(|&row| is_ours(row)).collect();
    rows.sort_by(|&a, &b| value[a].total_cmp(&value[b]));
    let points = |of: &[f64]| rows.iter().map(|&row| [value[row], of[row]]).collect::<Vec<_>>();
    let pick = |of: &[f64]| rows.iter().map(|&row| of[row]).collect::<Vec<f64>>();
    let mut marks = vec![
        Mark::Band {
            name: "95 % interval of the quantile that it bounds".to_owned(),
            hue: 0,
            inner: false,
            x: pick(&value),
            low: pick(&low),
            high: pick(&high),
        },
        Mark::Line {
            name: "median of the margin".to_owned(),
            hue: 5,
            weight: Weight::Thin,
            points: points(&median),
        },
        Mark::Line {
            name: "margin kept at the gate".to_owned(),
            hue: 0,
            weight: Weight::Plain,
            points: points(&bound),
        },
        Mark::Points {
            name: "tried".to_owned(),
            hue: 0,
            points: rows
                .iter()
                .map(|&row| {
                    (
                        [value[row], bound[row]],
                        format!(
                            "{} at {}",
                            with_unit(bound[row], unit),
                            with_unit(value[row], summary.unit)
                        ),
                        false,
                    )
                })
                .collect(),
        },
        Mark::Limit {
            name: format!("{} is kept above", summary.keep),
            at: 0.0,
            beyond: Beyond::Below,
        },
    ];
    let size = &summary.sizes[index];
    for (name, at) in [
        ("lower end of its interval", size.interval_95[0]),
        ("upper end", size.interval_95[1]),
    ] {
        marks.extend(at.map(|at| Mark::Upright {
            name: format!("{name}: {}", with_unit(at, summary.unit)),
            at,
            beyond: None,
        }));
    }
    if let Some(at) = size.value {
        let shown = if size.proved { "shown" } else { "not shown" };
        marks.push(Mark::Upright {
            name: format!("{shown}: {}", with_unit(at, summary.unit)),
            at,
            beyond: None,
        });
    }
    let cell = |row: &usize| {
        [value[*row], bound[*row], low[*row], high[*row], median[*row]]
            .map(short)
            .to_vec()
    };
    let data = Data {
        headers: vec![
            header.clone(),
            format!("margin kept [{unit}]"),
            "quantile low".to_owned(),
            "quantile high".to_owned(),
            "median margin".to_owned(),
        ],
        rows: rows.iter().map(cell).collect(),
        note: "size.csv has all.".to_owned(),
    };
    let at = which.map_or_else(String::new, |which| {
        format!(", at {} {which}", summary.over.as_deref().unwrap_or(""))
    });
    Plot {
        id: format!("margin-over-value-{}", index + 1),
        title: format!("Margin of {} over {}{at}", summary.keep, summary.what),
        says: format!("All values on the same variations. {}", summary.keep_words),
        unit: unit.to_owned(),
        along: (Along::Number, header),
        height: 190.0,
        marks,
        data,
        ..Plot::default()
    }
    .figure()
}

/// The answer over the second quantity, where its values are numbers.
fn boundary(summary: &SizeSummary, frame: &Frame) -> Option<Figure> {
    let path = summary.over.as_deref()?;
    let over = frame.words(path)?;
    let number = |text: &str| {
        text.trim_matches('"')
            .split_whitespace()
            .next()
            .and_then(|text| text.parse::<f64>().ok())
    };
    let x: Vec<f64> = over.iter().map(|text| number(text)).collect::<Option<_>>()?;
    let unit = if summary.unit.is_empty() {
        String::new()
    } else {
        format!(" [{}]", summary.unit)
    };
    let header = format!("{} {}{unit}", summary.find, summary.what);
    let y = frame.numbers(&header)?;
    let end = |name: &str| {
        frame
            .numbers(&format!("{name}{unit}"))
            .unwrap_or_else(|| vec![f64::NAN; y.len()])
    };
    let words = over.first().map_or("", |text| {
        text.trim_matches('"').split_once(' ').map_or("", |(_, unit)| unit)
    });
    let points = x.iter().zip(&y).map(|(&x, &y)| [x, y]).collect();
    let told = |i: usize| {
        (
            [x[i], y[i]],
            format!("{} at {}", with_unit(y[i], summary.unit), over[i]),
            summary.sizes.get(i).is_some_and(|size| size.proved),
        )
    };
    Plot {
        id: "boundary".to_owned(),
        title: format!("{header} over {path}"),
        says: "What keeps the margin, with its 95 % interval; ringed: shown on a fresh seed. A gap: there is no value in the range.".to_owned(),
        unit: summary.unit.to_owned(),
        along: (Along::Number, format!("{path} [{words}]")),
        height: 190.0,
        marks: vec![
            Mark::Band { name: "95 % interval".to_owned(), hue: 0, inner: false, x: x.clone(), low: end("low"), high: end("high") },
            Mark::Line { name: header.clone(), hue: 0, weight: Weight::Plain, points },
            Mark::Points { name: "values".to_owned(), hue: 0, points: (0..x.len()).map(told).collect() },
        ],
        data: Data {
            headers: vec![path.to_owned(), header],
            rows: over.iter().zip(&y).map(|(over, y)| vec![(*over).to_owned(), short(*y)]).collect(),
            note: "boundary.csv has all.".to_owned(),
        },
        ..Plot::default()
    }
    .figure()
}
