//! The page of `fit device`: measured and fitted outlets over time, what is left between them, other tests foretold.

use super::figure::{Along, Data, Figure};
use super::mark::{Mark, Weight};
use super::page::{Page, Part, Section};
use super::plot::Plot;
use super::sheet::sheets;
use super::svg::slug;
use crate::results::fitted::FitSummary;
use crate::results::frame::Frame;
use crate::results::numbers::short;

/// Points drawn of one series at most: more could not be told apart.
const MOST_POINTS: usize = 700;
/// Points of a series that is drawn under a line: more would hide it.
const MOST_UNDER: usize = 220;
/// How many times the outlet an inlet may be to be drawn beside it.
const BESIDE: f64 = 3.0;
/// Rows of numbers behind a figure at most.
const MOST_ROWS: usize = 60;

/// The page; `frames` are the sheets of the book and the course by name, `stamp` says where it comes from.
#[must_use]
pub fn page(summary: &FitSummary, frames: &[(&str, Frame)], stamp: &[(String, String)]) -> Page {
    let mut answer = summary.answer.clone();
    let notes = answer.split_off(answer.len().min(3));
    let of = |name: &str| frames.iter().find(|(other, _)| *other == name).map(|(_, frame)| frame);
    let mut first = None;
    let mut figures: Vec<Part> = Vec::new();
    let mut foretold: Vec<Part> = Vec::new();
    if let Some(frame) = of("course") {
        for (n, key) in tests(frame).into_iter().enumerate() {
            let drawn = course(frame, &key);
            let is_fitted = summary.data.first().is_some_and(|data| data.file == key.0);
            let left: Vec<Figure> = residuals(frame, &key);
            match (is_fitted, n) {
                (true, 0) => first = drawn,
                (true, _) => figures.extend(drawn.map(Part::Figure)),
                (false, _) => foretold.extend(drawn.map(Part::Figure)),
            }
            let list = if is_fitted { &mut figures } else { &mut foretold };
            list.extend(left.into_iter().map(Part::Figure));
        }
    }
    let parts = sheets(
        frames,
        &[
            ("parameters", "Parameters of the device from the test.", false),
            ("correlations", "Correlations of estimates.", false),
            ("residuals", "What is left between measured and fitted.", false),
            ("sensor", "What the sensor and its clock did.", false),
            ("held-out", "Tests that nothing was fitted to.", false),
            ("assumptions", "Every value of the scenario that was not given.", true),
        ],
    );
    let warnings = vec![Part::List(summary.warnings.clone())];
    Page {
        kind: format!("fit of {}, {}", summary.device, summary.family),
        title: summary.scenario.heading().to_owned(),
        answer,
        met: None,
        notes,
        first,
        caution: summary.caution.clone(),
        sections: vec![
            Section::new(
                "What is left",
                "Residuals of a model that fits lie about zero without a pattern.",
                figures,
            ),
            Section::new("Held out", "Tests that nothing was fitted to.", foretold),
            Section::new(
                "What deserves a look",
                "",
                if summary.warnings.is_empty() {
                    Vec::new()
                } else {
                    warnings
                },
            ),
            Section::new("In full", "", parts),
            Section::new("Where it comes from", "", vec![Part::Pairs(stamp.to_vec())]),
        ],
    }
}

/// File and outlet of each series, in their order.
fn tests(frame: &Frame) -> Vec<(String, String)> {
    let (Some(files), Some(outlets)) = (frame.words("test"), frame.words("outlet")) else {
        return Vec::new();
    };
    let mut list: Vec<(String, String)> = Vec::new();
    for (file, outlet) in files.iter().zip(&outlets) {
        let key = ((*file).to_owned(), (*outlet).to_owned());
        if !list.contains(&key) {
            list.push(key);
        }
    }
    list
}

/// The rows of a series, thinned, and its unit.
fn rows(frame: &Frame, (file, outlet): &(String, String)) -> (Vec<usize>, String) {
    let (files, outlets, units) = (frame.words("test"), frame.words("outlet"), frame.words("unit"));
    let (Some(files), Some(outlets), Some(units)) = (files, outlets, units) else {
        return (Vec::new(), String::new());
    };
    let all: Vec<usize> = (0..frame.rows())
        .filter(|&row| files[row] == file && outlets[row] == outlet)
        .collect();
    let unit = all.first().map_or("", |&row| units[row]).to_owned();
    let every = all.len().div_ceil(MOST_POINTS).max(1);
    (all.into_iter().step_by(every).collect(), unit)
}

fn column(frame: &Frame, name: &str) -> Vec<f64> {
    frame.numbers(name).unwrap_or_else(|| vec![f64::NAN; frame.rows()])
}

/// Inlet, measured and predicted outlet over time.
fn course(frame: &Frame, key: &(String, String)) -> Option<Figure> {
    let (rows, unit) = rows(frame, key);
    let [time, inlet, measured, predicted, band] =
        ["time [h]", "inlet", "measured", "predicted", "band"].map(|name| column(frame, name));
    let points = |of: &[f64]| rows.iter().map(|&row| [time[row], of[row]]).collect::<Vec<_>>();
    let pick = |of: &dyn Fn(usize) -> f64| rows.iter().map(|&row| of(row)).collect::<Vec<f64>>();
    let under = rows.len().div_ceil(MOST_UNDER).max(1);
    let dots = rows.iter().step_by(under).map(|&row| {
        (
            [time[row], measured[row]],
            format!("{} {unit}", short(measured[row])),
            false,
        )
    });
    let most = |of: &[f64]| rows.iter().map(|&row| of[row]).fold(0.0_f64, f64::max);
    let is_beside = most(&inlet) <= BESIDE * most(&measured);
    let mut marks = vec![
        Mark::Band {
            name: "95 % band of a reading".to_owned(),
            hue: 0,
            inner: false,
            x: pick(&|row| time[row]),
            low: pick(&|row| predicted[row] - band[row]),
            high: pick(&|row| predicted[row] + band[row]),
        },
        Mark::Points {
            name: "measured".to_owned(),
            hue: 1,
            points: dots.collect(),
        },
        Mark::Line {
            name: "predicted".to_owned(),
            hue: 0,
            weight: Weight::Plain,
            points: points(&predicted),
        },
    ];
    if is_beside {
        marks.push(Mark::Line {
            name: "inlet".to_owned(),
            hue: 5,
            weight: Weight::Thin,
            points: points(&inlet),
        });
    }
    let every = rows.len().div_ceil(MOST_ROWS).max(1);
    let data = Data {
        headers: ["time [h]", "inlet", "measured", "predicted", "band"]
            .map(str::to_owned)
            .to_vec(),
        rows: rows
            .iter()
            .step_by(every)
            .map(|&row| {
                [time[row], inlet[row], measured[row], predicted[row], band[row]]
                    .map(short)
                    .to_vec()
            })
            .collect(),
        note: "course.csv has all.".to_owned(),
    };
    let (file, outlet) = key;
    Plot {
        id: format!("course-{}", slug(&format!("{file} {outlet}"))),
        title: format!("{outlet} of {file}"),
        says: "What the sensor read, and what the device with its fitted parameters gives for the measured inlet."
            .to_owned(),
        unit,
        along: (Along::Number, "hours from the start of the test".to_owned()),
        from_zero: true,
        height: 190.0,
        marks,
        data,
        ..Plot::default()
    }
    .figure()
}

/// What is left, over time and over what is predicted.
fn residuals(frame: &Frame, key: &(String, String)) -> Vec<Figure> {
    let (rows, unit) = rows(frame, key);
    let [time, predicted, residual] = ["time [h]", "predicted", "residual"].map(|name| column(frame, name));
    let (file, outlet) = key;
    let every = rows.len().div_ceil(MOST_ROWS).max(1);
    let plot = |name: &str, title: &str, x: &[f64], words: String| {
        let dots = rows.iter().map(|&row| {
            (
                [x[row], residual[row]],
                format!("{} {unit}", short(residual[row])),
                false,
            )
        });
        Plot {
            id: format!("{name}-{}", slug(&format!("{file} {outlet}"))),
            title: format!("{title}, {outlet} of {file}"),
            says: "Measured less predicted.".to_owned(),
            unit: unit.clone(),
            height: 120.0,
            marks: vec![
                Mark::Points {
                    name: "measured less predicted".to_owned(),
                    hue: 1,
                    points: dots.collect(),
                },
                Mark::Level {
                    name: "0".to_owned(),
                    at: 0.0,
                },
            ],
            data: Data {
                headers: vec![words.clone(), format!("residual [{unit}]")],
                rows: rows
                    .iter()
                    .step_by(every)
                    .map(|&row| [x[row], residual[row]].map(short).to_vec())
                    .collect(),
                note: "course.csv has all.".to_owned(),
            },
            along: (Along::Number, words),
            ..Plot::default()
        }
        .padded()
        .figure()
    };
    [
        plot(
            "left-over-time",
            "What is left over time",
            &time,
            "hours from the start of the test".to_owned(),
        ),
        plot(
            "left-over-predicted",
            "What is left over what is predicted",
            &predicted,
            format!("predicted [{unit}]"),
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}
