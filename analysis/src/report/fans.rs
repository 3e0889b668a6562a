//! How the air went over the variations: fans of quantiles, with the worst runs as thin lines.

use breathroom_sim::limits::Quantity;

use super::figure::{Along, Data, Figure};
use super::mark::{Mark, Weight};
use super::plot::Plot;
use super::ran::{Ran, limits, windows};
use super::svg::slug;
use crate::results::frame::Frame;
use crate::results::numbers::{self, short};

/// Quantities with a fan: name in the headers, unit, what it is, whether it is of people.
const OF: [(&str, &str, &str, Quantity, bool); 7] = [
    ("breathed co2", "mmHg", "CO2 breathed by", Quantity::Co2, true),
    ("co2", "mmHg", "CO2 in", Quantity::Co2, false),
    ("humidity", "%", "Relative humidity in", Quantity::Humidity, false),
    ("breathed oxygen", "kPa", "Oxygen breathed by", Quantity::Oxygen, true),
    ("oxygen", "kPa", "Oxygen in", Quantity::Oxygen, false),
    ("pressure", "kPa", "Total pressure in", Quantity::Pressure, false),
    ("temperature", "degC", "Temperature in", Quantity::Temperature, false),
];
/// Rows of the table behind a fan.
const EVERY: usize = 6;

/// The figures, quantity by quantity: one for each compartment or person. `worst` has the courses of the worst variations, as
/// `worst.csv` has them.
#[must_use]
pub fn figures(ran: &Ran<'_>, fans: &Frame, worst: Option<&Frame>) -> Vec<Vec<Figure>> {
    let rooms = super::air::rooms(ran);
    let people: Vec<&str> = ran.scenario.names.people.iter().map(String::as_str).collect();
    let of = |(what, unit, title, quantity, of_people): (&str, &'static str, &str, Quantity, bool)| -> Vec<Figure> {
        let names = if of_people { &people } else { &rooms };
        let drawn = names
            .iter()
            .filter_map(|name| figure(ran, (fans, worst), (what, unit, title, quantity), name));
        drawn.collect()
    };
    OF.into_iter().map(of).filter(|figures| !figures.is_empty()).collect()
}

fn figure(
    ran: &Ran<'_>,
    (fans, worst): (&Frame, Option<&Frame>),
    (what, unit, title, quantity): (&str, &'static str, &str, Quantity),
    name: &str,
) -> Option<Figure> {
    let header = |p: u32| format!("{name} {what} {p} % [{unit}]");
    let times = fans.numbers("time [h]")?;
    let [p5, p25, p50, p75, p95] = [5, 25, 50, 75, 95].map(|p| fans.numbers(&header(p)));
    let (p5, p25, p50, p75, p95) = (p5?, p25?, p50?, p75?, p95?);
    // What never moves, in any variation, needs no fan.
    let same = p5
        .iter()
        .chain(&p95)
        .filter(|value| value.is_finite())
        .all(|value| Some(value) == p5.iter().find(|value| value.is_finite()));
    if same {
        return None;
    }
    let mut marks = vec![
        Mark::Band {
            name: "5 to 95 %".to_owned(),
            hue: 0,
            inner: false,
            x: times.clone(),
            low: p5,
            high: p95,
        },
        Mark::Band {
            name: "25 to 75 %".to_owned(),
            hue: 0,
            inner: true,
            x: times.clone(),
            low: p25,
            high: p75,
        },
    ];
    for (k, course) in worst
        .map(|worst| courses(worst, &format!("{name} {what} [{unit}]")))
        .unwrap_or_default()
    {
        marks.push(Mark::Line {
            name: format!("variation {k}"),
            hue: 5,
            weight: Weight::Faint,
            points: course,
        });
    }
    let median = times.iter().zip(&p50).map(|(&t, &value)| [t, value]);
    marks.push(Mark::Line {
        name: "median".to_owned(),
        hue: 0,
        weight: Weight::Plain,
        points: median.collect(),
    });
    let scale = match quantity {
        Quantity::Humidity => numbers::percent_unit(),
        Quantity::Temperature => numbers::deg_c(),
        Quantity::Oxygen | Quantity::Pressure => numbers::kpa(),
        _ => numbers::mmhg(),
    };
    marks.extend(limits(ran, quantity, &|si| scale.from_si(si), unit));
    let id = slug(&format!("fan-{name}-{what}"));
    let mut says = "Quantiles at each instant.".to_owned();
    if !windows(ran, quantity).is_empty() {
        says.push_str(" The limit is on a mean: a peak above it is no violation by itself.");
    }
    Plot {
        id,
        title: format!("{title} {name}"),
        says,
        unit: unit.to_owned(),
        along: (Along::Time, "hours from the start".to_owned()),
        across: Some([0.0, ran.end_h()]),
        height: if quantity == Quantity::Humidity { 190.0 } else { 130.0 },
        marks,
        data: table(fans, &[5, 25, 50, 75, 95].map(header)),
        ..Plot::default()
    }
    .figure()
}

/// The courses of a column, by variation.
fn courses(worst: &Frame, header: &str) -> Vec<(i64, Vec<[f64; 2]>)> {
    let (Some(variation), Some(times), Some(values)) = (
        worst.numbers("variation"),
        worst.numbers("time [h]"),
        worst.numbers(header),
    ) else {
        return Vec::new();
    };
    let mut out: Vec<(i64, Vec<[f64; 2]>)> = Vec::new();
    for ((&k, &t), &value) in variation.iter().zip(&times).zip(&values) {
        match out.last_mut() {
            Some((last, course)) if *last == k as i64 => course.push([t, value]),
            _ => out.push((k as i64, vec![[t, value]])),
        }
    }
    out
}

fn table(fans: &Frame, headers: &[String]) -> Data {
    let mut all = vec!["time [h]".to_owned()];
    all.extend(headers.iter().cloned());
    let columns: Vec<_> = all.iter().filter_map(|header| fans.numbers(header)).collect();
    let rows: Vec<usize> = (0..fans.rows()).step_by(EVERY).collect();
    Data {
        headers: all,
        rows: rows
            .iter()
            .map(|&row| columns.iter().map(|column| short(column[row])).collect())
            .collect(),
        note: format!("{} of {} points; fans.csv has all.", rows.len(), fans.rows()),
    }
}
