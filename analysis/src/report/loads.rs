//! What people give to the air and devices take out of it over time, by source; and the space that people take up.

use super::air::{data, listed, rooms};
use super::figure::{Along, Figure};
use super::mark::{HUES, Mark, Weight};
use super::plot::Plot;
use super::ran::Ran;
use crate::results::numbers::with_unit;
use crate::results::words;

/// The figures, those that have something to show.
#[must_use]
pub fn figures(ran: &Ran<'_>) -> Vec<Figure> {
    plots(ran).into_iter().filter_map(Plot::figure).collect()
}

/// The same before they are drawn.
#[must_use]
pub fn plots(ran: &Ran<'_>) -> Vec<Plot> {
    [
        balance(ran, "co2", "co2 output", "CO2"),
        balance(ran, "water", "vapour output", "Water vapour"),
        space(ran),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Loads above nought and removal below it, one on top of the other. Between two samples a device's rate is the mean over them.
fn balance(ran: &Ran<'_>, gas: &str, output: &str, name: &str) -> Option<Plot> {
    let times = ran.times();
    let names = &ran.scenario.names;
    let (mut marks, mut headers) = (Vec::new(), vec!["time [h]".to_owned()]);
    let mut stack = vec![0.0; times.len()];
    for (hue, person) in names.people.iter().enumerate() {
        let header = format!("{person} {output} [kg/d]");
        let Some(rates) = ran.history.numbers(&header) else {
            continue;
        };
        let places = ran.history.words(&format!("{person} place")).unwrap_or_default();
        // Outside, the load goes to the suit, not to the cabin.
        let inside = |i: usize| places.get(i).is_none_or(|&place| place != "outside");
        let rates: Vec<f64> = rates
            .iter()
            .enumerate()
            .map(|(i, &rate)| if inside(i) { rate } else { 0.0 })
            .collect();
        let low = stack.clone();
        stack.iter_mut().zip(&rates).for_each(|(sum, rate)| *sum += rate);
        marks.push(Mark::Band {
            name: format!("{person} gives"),
            hue,
            inner: true,
            x: times.clone(),
            low,
            high: stack.clone(),
        });
        headers.push(header);
    }
    let mut stack = vec![0.0; 2 * times.len()];
    let x: Vec<f64> = times.windows(2).flat_map(|pair| [pair[0], pair[1]]).collect();
    stack.truncate(x.len());
    let mut hue = names.people.len();
    for device in 0..ran.case.devices.len() {
        let device = words::device(names, device);
        let header = format!("{device} {gas} removed [kg]");
        let Some(taken) = ran.history.numbers(&header) else {
            continue;
        };
        if taken.iter().all(|&kg| kg == 0.0) {
            continue;
        }
        let rates = times.windows(2).zip(taken.windows(2)).flat_map(|(t, kg)| {
            let rate = (kg[1] - kg[0]) / (t[1] - t[0]) * 24.0;
            [rate, rate]
        });
        let high = stack.clone();
        stack.iter_mut().zip(rates).for_each(|(sum, rate)| *sum -= rate);
        marks.push(Mark::Band {
            name: format!("{device} takes"),
            hue: hue % HUES,
            inner: true,
            x: x.clone(),
            low: stack.clone(),
            high,
        });
        headers.push(header);
        hue += 1;
    }
    if marks.is_empty() {
        return None;
    }
    marks.push(Mark::Level {
        name: String::new(),
        at: 0.0,
    });
    Some(Plot {
        id: format!("{gas}-by-source"),
        title: format!("{name}: given above the line, taken out below it"),
        says: format!(
            "What each person gives to the cabin's air now, and what each device takes out of it (mean between samples), in kg a day, one on top of the other. \
             Where less is taken than given, {name} builds up."
        ),
        unit: "kg/d".to_owned(),
        along: (Along::Time, "hours from the start".to_owned()),
        across: Some([0.0, ran.end_h()]),
        marks,
        data: data(ran, &headers),
        ..Plot::default()
    })
}

/// Space claimed against what is usable, by compartment.
fn space(ran: &Ran<'_>) -> Option<Plot> {
    let times = ran.times();
    let rooms = rooms(ran);
    let (mut marks, mut headers) = (Vec::new(), vec!["time [h]".to_owned()]);
    for (hue, room) in rooms.iter().enumerate() {
        let header = format!("{room} claimed space [m3]");
        let Some(values) = ran.history.numbers(&header) else {
            continue;
        };
        let steps = times
            .windows(2)
            .zip(&values)
            .flat_map(|(t, &value)| [[t[0], value], [t[1], value]]);
        marks.push(Mark::Line {
            name: (*room).to_owned(),
            hue,
            weight: Weight::Plain,
            points: steps.collect(),
        });
        if let Some(index) = ran.scenario.names.compartments.iter().position(|name| name == room) {
            let usable = ran.case.compartments[index].usable_m3;
            marks.push(Mark::Level {
                name: format!("{room}: {} usable", with_unit(usable, "m3")),
                at: usable,
            });
        }
        headers.push(header);
    }
    if headers.len() == 1 {
        return None;
    }
    Some(Plot {
        id: "space".to_owned(),
        title: "Space claimed against usable volume".to_owned(),
        says: format!(
            "What the people in {} claim by what they do; above its level a room is too small for it.",
            listed(&rooms)
        ),
        unit: "m3".to_owned(),
        along: (Along::Time, "hours from the start".to_owned()),
        across: Some([0.0, ran.end_h()]),
        from_zero: true,
        marks,
        data: data(ran, &headers),
        ..Plot::default()
    })
}
