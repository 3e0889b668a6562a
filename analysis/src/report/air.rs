//! How the air went in one run: CO2, oxygen, pressure, humidity, dew point and temperature, against their limits.

use breathroom_sim::limits::Quantity;
use breathroom_sim::removal::Removal;
use breathroom_sim::units::{Dimension, Unit};

use super::figure::{Along, Data, Figure};
use super::mark::{Mark, Weight};
use super::plot::Plot;
use super::ran::{Ran, hours, limits, moving_mean, windows};
use super::svg::slug;
use crate::results::numbers::{self, short};
use crate::results::words;

/// Rows of the table behind a curve.
const MOST_ROWS: usize = 49;

/// The figures, those that have something to show.
#[must_use]
pub fn figures(ran: &Ran<'_>) -> Vec<Figure> {
    plots(ran).into_iter().filter_map(Plot::figure).collect()
}

/// The figures of two runs before they are drawn, the second's lines over those of the first; each run with its name.
#[must_use]
pub fn plots_of_two([(one, first), (two, second)]: [(&str, &Ran<'_>); 2]) -> Vec<Plot> {
    let named = |mut plot: Plot, name: &str| {
        for mark in &mut plot.marks {
            if let Mark::Line { name: of, .. } = mark {
                *of = format!("{name}: {of}");
            }
        }
        plot
    };
    let mut others = plots(second);
    let mut out: Vec<Plot> = Vec::new();
    for plot in plots(first) {
        let mut plot = named(plot, one);
        if let Some(at) = others.iter().position(|other| other.id == plot.id) {
            let other = named(others.remove(at), two);
            let is_there = |mark: &Mark, marks: &[Mark]| matches!(mark, Mark::Limit { name, .. } | Mark::Level { name, .. } if marks.iter().any(|of| matches!(of, Mark::Limit { name: known, .. } | Mark::Level { name: known, .. } if known == name)));
            for mark in other.marks {
                match mark {
                    Mark::Line { .. } => plot.over.push(mark),
                    _ if is_there(&mark, &plot.marks) => {}
                    _ => plot.marks.push(mark),
                }
            }
            plot.across = Some([0.0, first.end_h().max(second.end_h())]);
        }
        out.push(plot);
    }
    // What only the second has.
    out.extend(others.into_iter().map(|plot| named(plot, two)));
    out
}

/// The figures before they are drawn.
#[must_use]
pub fn plots(ran: &Ran<'_>) -> Vec<Plot> {
    let rooms = rooms(ran);
    let mmhg = numbers::mmhg();
    let kpa = numbers::kpa();
    let percent = numbers::percent_unit();
    let deg_c = numbers::deg_c();
    [
        breathed(ran, "breathed co2", "CO2 breathed", Quantity::Co2, mmhg),
        by_room(ran, &rooms, ("co2", "CO2 of the air", &[Quantity::Co2]), mmhg),
        breathed(
            ran,
            "inspired oxygen",
            "Oxygen inspired (saturated at body temperature)",
            Quantity::InspiredOxygen,
            mmhg,
        ),
        by_room(ran, &rooms, ("oxygen", "Oxygen", &[Quantity::Oxygen]), kpa),
        fraction(ran, &rooms, percent),
        by_room(ran, &rooms, ("pressure", "Total pressure", &[Quantity::Pressure]), kpa),
        by_room(
            ran,
            &rooms,
            ("humidity", "Relative humidity", &[Quantity::Humidity]),
            percent,
        ),
        dew_point(ran, &rooms),
        by_room(
            ran,
            &rooms,
            ("temperature", "Air temperature", &[Quantity::Temperature]),
            deg_c,
        ),
        by_room(
            ran,
            &rooms,
            (
                "liquid water",
                "Liquid water on surfaces and in towels",
                &[Quantity::LiquidWater],
            ),
            kilogram(),
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn kilogram() -> Unit {
    Dimension::Mass.si_unit()
}

/// Compartments that people live in: without the insides of suits, which are in what each person breathes.
#[must_use]
pub fn rooms<'a>(ran: &Ran<'a>) -> Vec<&'a str> {
    let is_suit = |index: usize| ran.case.suits.iter().any(|suit| suit.compartment == index);
    let names = ran.scenario.names.compartments.iter().enumerate();
    names
        .filter(|(index, _)| !is_suit(*index))
        .map(|(_, name)| name.as_str())
        .collect()
}

/// A line through the samples.
fn course(times: &[f64], values: &[f64]) -> Vec<[f64; 2]> {
    times.iter().zip(values).map(|(&t, &value)| [t, value]).collect()
}

/// Some of the samples as a table: at even spacing, the first and the last among them.
#[must_use]
pub fn data(ran: &Ran<'_>, headers: &[String]) -> Data {
    let columns: Vec<_> = headers.iter().filter_map(|header| ran.history.column(header)).collect();
    let rows = ran.history.rows();
    let step = rows.saturating_sub(1).div_ceil(MOST_ROWS - 1).max(1);
    let mut picked: Vec<usize> = (0..rows).step_by(step).collect();
    if picked.last().is_some_and(|&last| last + 1 < rows) {
        picked.push(rows - 1);
    }
    let cell =
        |row: usize, column: &[crate::results::table::Cell]| column[row].number().map_or_else(String::new, short);
    Data {
        headers: headers.to_vec(),
        rows: picked
            .iter()
            .map(|&row| columns.iter().map(|column| cell(row, column)).collect())
            .collect(),
        note: format!("{} of {rows} samples; history.csv has all.", picked.len()),
    }
}

fn plot(
    ran: &Ran<'_>,
    id: &str,
    title: &str,
    says: String,
    unit: &str,
    marks: Vec<Mark>,
    headers: &[String],
) -> Option<Plot> {
    let mut all = vec!["time [h]".to_owned()];
    all.extend(headers.iter().cloned());
    Some(Plot {
        id: slug(id),
        title: title.to_owned(),
        says,
        unit: unit.to_owned(),
        along: (Along::Time, "hours from the start".to_owned()),
        across: Some([0.0, ran.end_h()]),
        // Humidity has limits above each other.
        height: if id == "humidity" { 190.0 } else { 150.0 },
        marks,
        data: data(ran, &all),
        ..Plot::default()
    })
}

/// One line for each compartment, with means where a limit is on one.
fn by_room(ran: &Ran<'_>, rooms: &[&str], (column, title, of): (&str, &str, &[Quantity]), unit: Unit) -> Option<Plot> {
    let times = ran.times();
    let mut marks = Vec::new();
    let mut headers = Vec::new();
    for (hue, room) in rooms.iter().enumerate() {
        let header = format!("{room} {column} [{}]", unit.symbol);
        if let Some(values) = ran.history.numbers(&header) {
            // Water that never is needs no picture.
            if column == "liquid water" && values.iter().all(|&value| value <= 0.0) {
                continue;
            }
            marks.push(Mark::Line {
                name: (*room).to_owned(),
                hue,
                weight: Weight::Plain,
                points: course(&times, &values),
            });
            headers.push(header);
        }
    }
    if marks.is_empty() {
        return None;
    }
    for &quantity in of {
        marks.extend(limits(ran, quantity, &|si| unit.from_si(si), unit.symbol));
    }
    let says = format!("{title} in {} over the run.", listed(rooms));
    plot(ran, column, title, says, unit.symbol, marks, &headers)
}

/// One line for each person, with its mean over the windows that limits have.
fn breathed(ran: &Ran<'_>, column: &str, title: &str, quantity: Quantity, unit: Unit) -> Option<Plot> {
    let times = ran.times();
    let windows = windows(ran, quantity);
    let (mut marks, mut headers) = (Vec::new(), Vec::new());
    for (hue, person) in ran.scenario.names.people.iter().enumerate() {
        let header = format!("{person} {column} [{}]", unit.symbol);
        let Some(values) = ran.history.numbers(&header) else {
            continue;
        };
        let weight = if windows.is_empty() {
            Weight::Plain
        } else {
            Weight::Thin
        };
        for &window in &windows {
            let mean = moving_mean(&times, &values, window);
            if mean.iter().any(|value| value.is_finite()) {
                marks.push(Mark::Line {
                    name: format!("{person}, mean over {}", hours(window)),
                    hue,
                    weight: Weight::Heavy,
                    points: course(&times, &mean),
                });
            }
        }
        marks.push(Mark::Line {
            name: person.clone(),
            hue,
            weight,
            points: course(&times, &values),
        });
        headers.push(header);
    }
    marks.extend(limits(ran, quantity, &|si| unit.from_si(si), unit.symbol));
    let mut says = "What each person breathes, wherever they are; broken where that is no modelled air.".to_owned();
    if !windows.is_empty() {
        says.push_str(" Heavy: moving means, drawn from the samples (the margins are from the exact course; the clock of a mean rests outside).");
    }
    plot(ran, column, title, says, unit.symbol, marks, &headers)
}

/// Oxygen as a part of the dry gas, by compartment.
fn fraction(ran: &Ran<'_>, rooms: &[&str], percent: Unit) -> Option<Plot> {
    let times = ran.times();
    let marks = limits(ran, Quantity::OxygenFraction, &|si| percent.from_si(si), "%");
    if marks.is_empty() {
        return None;
    }
    let (mut lines, mut headers) = (Vec::new(), Vec::new());
    for (hue, room) in rooms.iter().enumerate() {
        let of = |what: &str| ran.history.numbers(&format!("{room} {what} [kPa]"));
        let (Some(oxygen), Some(pressure), Some(water)) = (of("oxygen"), of("pressure"), of("water vapour")) else {
            continue;
        };
        let values: Vec<f64> = (0..times.len())
            // In what is as good as a vacuum nobody asks for fractions.
            .map(|i| {
                if pressure[i] > 1.0 {
                    100.0 * oxygen[i] / (pressure[i] - water[i])
                } else {
                    f64::NAN
                }
            })
            .collect();
        lines.push(Mark::Line {
            name: (*room).to_owned(),
            hue,
            weight: Weight::Plain,
            points: course(&times, &values),
        });
        headers.extend(["oxygen", "pressure", "water vapour"].map(|what| format!("{room} {what} [kPa]")));
    }
    if lines.is_empty() {
        return None;
    }
    lines.extend(marks);
    let says =
        "Oxygen as a part of the dry gas, by amount: what fire depends on. From the columns of history.csv below."
            .to_owned();
    plot(ran, "oxygen-fraction", "Oxygen fraction", says, "%", lines, &headers)
}

/// Dew point against the coldest surface and the coils, by compartment.
fn dew_point(ran: &Ran<'_>, rooms: &[&str]) -> Option<Plot> {
    let times = ran.times();
    let (mut marks, mut headers) = (Vec::new(), Vec::new());
    for (hue, room) in rooms.iter().enumerate() {
        for (what, weight) in [("coldest surface", Weight::Thin), ("dew point", Weight::Plain)] {
            let header = format!("{room} {what} [degC]");
            if let Some(values) = ran.history.numbers(&header) {
                marks.push(Mark::Line {
                    name: format!("{room}, {what}"),
                    hue: 2 * hue + usize::from(weight == Weight::Thin),
                    weight,
                    points: course(&times, &values),
                });
                headers.push(header);
            }
        }
    }
    if headers.is_empty() {
        return None;
    }
    for (index, device) in ran.case.devices.iter().enumerate() {
        if let Removal::Condenser { coil_temperature_k, .. } = device.removal {
            let at = numbers::deg_c().from_si(coil_temperature_k);
            marks.push(Mark::Level {
                name: format!("{}, its coil", words::device(&ran.scenario.names, index)),
                at,
            });
        }
    }
    let says = "Where the dew point meets the coldest surface, water begins to collect there; a coil takes out what lies above its own temperature.";
    plot(
        ran,
        "dew-point",
        "Dew point against walls and coils",
        says.to_owned(),
        "degC",
        marks,
        &headers,
    )
}

/// "a, b and c".
#[must_use]
pub fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
