//! The page of `profile`: flows, temperature, dew point and pressure over time, wanted and delivered, and what the difference does.

use super::figure::{Along, Data, Figure};
use super::mark::{Mark, Weight};
use super::page::{Page, Part, Section, Sheet};
use super::plot::Plot;
use super::sheet::sheet;
use super::svg::slug;
use crate::results::frame::Frame;
use crate::results::numbers::short;
use crate::results::profiled::ProfileSummary;

/// Points of a line at most.
const MOST_POINTS: usize = 4000;
/// Rows of numbers behind a figure at most.
const MOST_ROWS: usize = 60;

/// The page; `frames` are "profile", "wanted" and "misses", `stamp` says where it comes from.
#[must_use]
pub fn page(summary: &ProfileSummary, frames: &[(&str, Frame)], stamp: &[(String, String)]) -> Page {
    let mut answer = summary.answer.clone();
    let notes = answer.split_off(answer.len().min(2));
    let of = |name: &str| frames.iter().find(|(other, _)| *other == name).map(|(_, frame)| frame);
    let mut figures: Vec<Figure> = Vec::new();
    let mut gaps: Vec<Figure> = Vec::new();
    if let (Some(profile), Some(wanted)) = (of("profile"), of("wanted")) {
        for (header, title) in [
            ("co2 in [mmHg]", "CO2 at the inlet"),
            ("co2 standard [L/min]", "CO2 flow"),
            ("water standard [L/min]", "Water flow"),
            ("oxygen standard [L/min]", "Oxygen flow"),
            ("diluent standard [L/min]", "Diluent flow"),
            ("flow [L/min]", "Actual flow at the inlet"),
            ("temperature [degC]", "Temperature at the inlet"),
            ("dew point in [degC]", "Dew point at the inlet"),
            ("pressure [kPa]", "Total pressure at the inlet"),
        ] {
            figures.extend(both(profile, wanted, header, title));
            gaps.extend(miss(profile, wanted, header, title));
        }
    }
    let mut figures = figures.into_iter();
    let first = figures.next();
    let misses = of("misses").and_then(|frame| sheet("table-misses", "Where the bench cannot follow.", frame));
    let mut parts: Vec<Part> = misses
        .map(|sheet| Part::Table(Sheet { closed: false, ..sheet }))
        .into_iter()
        .collect();
    parts.extend(gaps.into_iter().map(Part::Figure));
    let met = (summary.bench.is_some()).then_some(summary.misses.is_empty());
    Page {
        kind: format!("bench profile of {}, {}", summary.device, summary.family),
        title: summary.scenario.heading().to_owned(),
        answer,
        met,
        notes,
        first,
        caution: summary.caution.clone(),
        sections: vec![
            Section::new(
                "What the bench delivers",
                "Flows are standard volumes, but for the actual flow.",
                figures.map(Part::Figure).collect(),
            ),
            Section::new("Where it cannot follow", "", parts),
            Section::new("What deserves a look", "", vec![Part::List(summary.warnings.clone())]),
            Section::new("Where it comes from", "", vec![Part::Pairs(stamp.to_vec())]),
        ],
    }
}

/// "CO2 flow", "L/min" of a header.
fn unit(header: &str) -> &str {
    header
        .rsplit_once('[')
        .map_or("", |(_, unit)| unit.trim_end_matches(']'))
}

fn rows(frame: &Frame) -> impl Iterator<Item = usize> + use<> {
    let every = frame.rows().div_ceil(MOST_POINTS).max(1);
    (0..frame.rows()).step_by(every)
}

/// Wanted and delivered.
fn both(profile: &Frame, wanted: &Frame, header: &str, title: &str) -> Option<Figure> {
    let time = profile.numbers("time [min]")?;
    let (delivered, asked) = (profile.numbers(header)?, wanted.numbers(header)?);
    let points = |of: &[f64]| rows(profile).map(|row| [time[row] / 60.0, of[row]]).collect::<Vec<_>>();
    let every = profile.rows().div_ceil(MOST_ROWS).max(1);
    Plot {
        id: format!("over-time-{}", slug(header)),
        title: title.to_owned(),
        says: "What the inlet in the run asks for, and what the bench delivers of it.".to_owned(),
        unit: unit(header).to_owned(),
        along: (Along::Time, "hours from the start".to_owned()),
        height: 120.0,
        marks: vec![
            Mark::Line {
                name: "wanted".to_owned(),
                hue: 5,
                weight: Weight::Heavy,
                points: points(&asked),
            },
            Mark::Line {
                name: "delivered".to_owned(),
                hue: 0,
                weight: Weight::Plain,
                points: points(&delivered),
            },
        ],
        data: Data {
            headers: vec!["time [h]".to_owned(), "wanted".to_owned(), "delivered".to_owned()],
            rows: (0..profile.rows())
                .step_by(every)
                .map(|row| [time[row] / 60.0, asked[row], delivered[row]].map(short).to_vec())
                .collect(),
            note: "profile.csv and wanted.csv have all.".to_owned(),
        },
        ..Plot::default()
    }
    .figure()
}

/// Delivered less wanted, where that is anything.
fn miss(profile: &Frame, wanted: &Frame, header: &str, title: &str) -> Option<Figure> {
    let time = profile.numbers("time [min]")?;
    let (delivered, asked) = (profile.numbers(header)?, wanted.numbers(header)?);
    let gap: Vec<f64> = delivered.iter().zip(&asked).map(|(a, b)| a - b).collect();
    let largest = gap
        .iter()
        .filter(|gap| gap.is_finite())
        .fold(0.0_f64, |a, b| a.max(b.abs()));
    let most = asked
        .iter()
        .filter(|value| value.is_finite())
        .fold(0.0_f64, |a, b| a.max(b.abs()));
    if largest <= 1e-9 * most {
        return None;
    }
    let every = profile.rows().div_ceil(MOST_ROWS).max(1);
    Plot {
        id: format!("miss-{}", slug(header)),
        title: format!("{title}: delivered less wanted"),
        says: "Zero where the bench follows.".to_owned(),
        unit: unit(header).to_owned(),
        along: (Along::Time, "hours from the start".to_owned()),
        height: 90.0,
        marks: vec![Mark::Line {
            name: "delivered less wanted".to_owned(),
            hue: 1,
            weight: Weight::Plain,
            points: rows(profile).map(|row| [time[row] / 60.0, gap[row]]).collect(),
        }],
        data: Data {
            headers: vec!["time [h]".to_owned(), "delivered less wanted".to_owned()],
            rows: (0..profile.rows())
                .step_by(every)
                .map(|row| [time[row] / 60.0, gap[row]].map(short).to_vec())
                .collect(),
            note: "profile.csv and wanted.csv have all.".to_owned(),
        },
        ..Plot::default()
    }
    .figure()
}
