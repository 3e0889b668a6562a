//! Of each limit over the variations: how its margin is spread, how its figures settle, when it is crossed, and what drives it.

use super::bars::{self, Row};
use super::figure::{Along, Data, Drawn, Figure, Key};
use super::mark::{Beyond, Mark, Weight};
use super::plot::Plot;
use super::sheet::words;
use super::svg::slug;
use crate::results::frame::Frame;
use crate::results::numbers::{percent, short, with_unit};
use crate::results::standing::{Standing, bound_of, standings};
use crate::results::summary::Summary;
use crate::results::table::Cell;

/// Limits whose figures are drawn, the tightest first: the tables have all.
const MOST: usize = 8;

/// The tables of a study that figures are drawn from.
#[derive(Clone, Debug, Default)]
pub struct Tables {
    /// `distribution.csv`.
    pub distribution: Frame,
    /// `convergence.csv`.
    pub convergence: Frame,
    /// `survival.csv`.
    pub survival: Frame,
}

/// The figures of the tightest limits, limit by limit.
#[must_use]
pub fn by_limit(summary: &Summary, tables: &Tables, end_h: f64) -> Vec<Vec<Figure>> {
    let of = |(index, standing): (usize, &Standing<'_>)| -> Vec<Figure> {
        let first = index == 0;
        let all = [
            distribution(standing, &tables.distribution),
            drivers(standing, summary),
            convergence(standing, &tables.convergence, first),
            survival(standing, &tables.survival, end_h),
        ];
        all.into_iter().flatten().collect()
    };
    let figures = standings(summary)
        .iter()
        .take(MOST)
        .enumerate()
        .map(of)
        .collect::<Vec<_>>();
    figures.into_iter().filter(|figures| !figures.is_empty()).collect()
}

/// "co2-1h (crew:lead)", and the same for ids.
fn whose(standing: &Standing<'_>) -> (String, String) {
    let (limit, place) = (&standing.limit.id, &standing.limit.place);
    let id = slug(&format!("{limit}-{place}"));
    (format!("{limit} ({place})"), id)
}

/// Rows of a table that are about a limit.
fn rows_of(standing: &Standing<'_>, frame: &Frame) -> Vec<usize> {
    let (Some(limits), Some(places)) = (frame.words("limit"), frame.words("where")) else {
        return Vec::new();
    };
    let pairs = limits.iter().zip(&places).enumerate();
    let ours = pairs.filter(|(_, (limit, place))| **limit == standing.limit.id && **place == standing.limit.place);
    ours.map(|(row, _)| row).collect()
}

fn pick(frame: &Frame, header: &str, rows: &[usize]) -> Vec<f64> {
    let column = frame.column(header).unwrap_or_default();
    rows.iter()
        .map(|&row| column.get(row).and_then(Cell::number).unwrap_or(f64::NAN))
        .collect()
}

/// The rows of a table as words, without the first two columns, which name the limit.
fn data(frame: &Frame, rows: &[usize], file: &str) -> Data {
    let step = rows.len().div_ceil(48).max(1);
    let picked: Vec<usize> = rows.iter().copied().step_by(step).collect();
    Data {
        headers: frame
            .columns
            .iter()
            .skip(2)
            .map(crate::results::table::Column::header)
            .collect(),
        rows: picked
            .iter()
            .map(|&row| frame.row(row).skip(2).map(words).collect())
            .collect(),
        note: format!("{} of {} rows; {file} has all.", picked.len(), rows.len()),
    }
}

fn distribution(standing: &Standing<'_>, frame: &Frame) -> Option<Figure> {
    let rows = rows_of(standing, frame);
    let (from, to, count) = (
        pick(frame, "from", &rows),
        pick(frame, "to", &rows),
        pick(frame, "variations", &rows),
    );
    // Of one value, but for rounding, there is nothing to draw.
    let (lo, hi) = (from.first().copied()?, to.last().copied()?);
    if rows.len() < 2 || hi - lo < 1e-6 * hi.abs().max(lo.abs()) {
        return None;
    }
    let (name, id) = whose(standing);
    let unit = standing.limit.unit;
    let mut marks = vec![Mark::Bars {
        name: "variations".to_owned(),
        hue: 0,
        bars: (0..rows.len()).map(|i| [from[i], to[i], count[i]]).collect(),
    }];
    let mut says = format!("How many variations have which margin to {}.", standing.limit.words);
    // The limit is in the picture unless the bars would then be too small to read.
    if lo - 3.0 * (hi - lo) <= 0.0 && hi + 3.0 * (hi - lo) >= 0.0 {
        marks.push(Mark::Upright {
            name: "the limit".to_owned(),
            at: 0.0,
            beyond: Some(Beyond::Below),
        });
    } else {
        let side = if lo > 0.0 { "left" } else { "right" };
        says.push_str(&format!(" The limit lies out of the picture, to the {side}."));
    }
    if let Some(kept) = standing
        .limit
        .statistics
        .as_ref()
        .and_then(bound_of)
        .filter(|kept| kept.is_finite())
    {
        marks.push(Mark::Upright {
            name: format!("kept at the gate: {}", with_unit(kept, unit)),
            at: kept,
            beyond: None,
        });
        says.push_str(" The dashed line: the margin that is kept with the coverage and confidence of the gate.");
    }
    Plot {
        id: format!("distribution-{id}"),
        title: format!("Margin to {name}: its distribution"),
        says,
        unit: "variations".to_owned(),
        along: (Along::Number, format!("margin, {unit}")),
        from_zero: true,
        height: 110.0,
        marks,
        data: data(frame, &rows, "distribution.csv"),
        ..Plot::default()
    }
    .figure()
}

fn convergence(standing: &Standing<'_>, frame: &Frame, shows_none: bool) -> Option<Figure> {
    let rows = rows_of(standing, frame);
    let of = |header: &str| pick(frame, header, &rows);
    let runs = of("runs");
    let scaled = |header: &str| -> Vec<f64> { of(header).iter().map(|share| 100.0 * share).collect() };
    let share = scaled("probability");
    // Where no variation is beyond, all limits have the same curve: the tightest shows it.
    if rows.len() < 2 || (!shows_none && share.iter().all(|&share| share == 0.0)) {
        return None;
    }
    let (name, id) = whose(standing);
    let points = runs.iter().zip(&share).map(|(&runs, &share)| [runs, share]).collect();
    Plot {
        id: format!("convergence-{id}"),
        title: format!("Share beyond {name}, as variations are added"),
        says: "With its 95 % interval. Rows share their variations: not to be stopped on (for that there is --until)."
            .to_owned(),
        unit: "%".to_owned(),
        along: (Along::Number, "variations, from the first on".to_owned()),
        from_zero: true,
        height: 90.0,
        marks: vec![
            Mark::Band {
                name: "95 % interval".to_owned(),
                hue: 0,
                inner: false,
                x: runs.clone(),
                low: scaled("lower"),
                high: scaled("upper"),
            },
            Mark::Line {
                name: "share beyond".to_owned(),
                hue: 0,
                weight: Weight::Plain,
                points,
            },
        ],
        data: data(frame, &rows, "convergence.csv"),
        ..Plot::default()
    }
    .figure()
}

/// The share that has not crossed a limit yet; none where no variation ever does.
fn survival(standing: &Standing<'_>, frame: &Frame, end_h: f64) -> Option<Figure> {
    let rows = rows_of(standing, frame);
    let of = |header: &str| pick(frame, header, &rows);
    let (times, share) = (of("time [h]"), of("survival"));
    if !share.iter().any(|&share| share < 1.0) {
        return None;
    }
    let (name, id) = whose(standing);
    // A step holds until the next, the last to the end.
    let stepped = |values: &[f64]| -> Vec<[f64; 2]> {
        let until = times.iter().skip(1).copied().chain([end_h]);
        times
            .iter()
            .zip(until)
            .zip(values)
            .flat_map(|((&from, to), &value)| [[from, 100.0 * value], [to.max(from), 100.0 * value]])
            .collect()
    };
    let (low, high) = (stepped(&of("lower")), stepped(&of("upper")));
    Plot {
        id: format!("survival-{id}"),
        title: format!("Share that has not crossed {name} yet"),
        says: "Kaplan and Meier, with its 95 % interval (none for designs that are not plain). A step down: variations that cross it for the first time.".to_owned(),
        unit: "%".to_owned(),
        along: (Along::Time, "hours from the start".to_owned()),
        across: Some([0.0, end_h]),
        height: 90.0,
        marks: vec![
            Mark::Band {
                name: "95 % interval".to_owned(),
                hue: 0,
                inner: false,
                x: low.iter().map(|point| point[0]).collect(),
                low: low.iter().map(|point| point[1]).collect(),
                high: high.iter().map(|point| point[1]).collect(),
            },
            Mark::Line { name: "not yet crossed".to_owned(), hue: 0, weight: Weight::Plain, points: stepped(&share) },
        ],
        data: data(frame, &rows, "survival.csv"),
        ..Plot::default()
    }
    .figure()
}

/// What a margin goes with, or what holds it.
fn drivers(standing: &Standing<'_>, summary: &Summary) -> Option<Figure> {
    let statistics = standing.limit.statistics.as_ref()?;
    let (name, id) = whose(standing);
    let indices = statistics.drivers.iter().any(|driver| driver.kind == "total");
    let shown: Vec<_> = statistics
        .drivers
        .iter()
        .filter(|driver| !indices || driver.kind == "total")
        .take(8)
        .collect();
    let noise = summary.variations.as_ref().map_or(0.0, |of| of.driver_noise);
    // Correlations that are no more than chance would only mislead.
    if shown.is_empty() || (!indices && shown.iter().all(|driver| driver.index.abs() < noise)) {
        return None;
    }
    let row = |driver: &&crate::results::summary::Driver| {
        let first = statistics
            .drivers
            .iter()
            .find(|other| other.kind == "first" && other.input == driver.input);
        let figures = match (indices, first) {
            (true, Some(first)) => format!("{} alone, {} in all", percent(first.index), percent(driver.index)),
            (true, None) => format!("{} in all", percent(driver.index)),
            _ => short(driver.index),
        };
        Row {
            name: driver.input.clone(),
            in_short: if indices { percent(driver.index) } else { String::new() },
            figures,
            soft: if indices { driver.index_95 } else { None },
            solid: Some([
                0.0,
                if indices {
                    first.map_or(driver.index, |first| first.index)
                } else {
                    driver.index
                },
            ]),
            middle: indices.then_some(driver.index),
            scale: 1.0,
            ..Row::default()
        }
    };
    let rows: Vec<Row> = shown.iter().map(row).collect();
    let (title, says, sides) = if indices {
        (
            format!("What holds the margin to {name}"),
            "Shares of its variance: bar, by an input alone (first order); stroke, with all it takes part in (total), soft its 95 % interval.".to_owned(),
            ["", "share of the variance, the right end is all of it"],
        )
    } else {
        (
            format!("What the margin to {name} goes with"),
            format!(
                "Rank correlations (Spearman): to the right, more of the input is more margin. Within {} of 0 they are hard to tell from chance.",
                short(noise)
            ),
            ["less margin", "more margin"],
        )
    };
    let nought = if indices { 0.02 } else { 0.5 };
    let headers = ["input", "kind", "index"].map(str::to_owned).to_vec();
    let rows_data = statistics
        .drivers
        .iter()
        .map(|of| vec![of.input.clone(), of.kind.to_owned(), short(of.index)])
        .collect();
    let data = Data {
        headers,
        rows: rows_data,
        note: "summary.json has them with their intervals.".to_owned(),
    };
    let keys = if indices {
        vec![
            Key {
                name: "alone".to_owned(),
                class: "kept".to_owned(),
                drawn: Drawn::Area,
            },
            Key {
                name: "with all it takes part in".to_owned(),
                class: "middle".to_owned(),
                drawn: Drawn::Line,
            },
        ]
    } else {
        Vec::new()
    };
    Some(bars::figure(
        (&format!("drivers-{id}"), &title, &says),
        &rows,
        nought,
        sides,
        keys,
        data,
    ))
}
