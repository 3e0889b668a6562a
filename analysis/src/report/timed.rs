//! The page of `fit tasks`: how trials lie along the fitted spread, how they go with practice, and what the scenario makes of it.

use super::figure::{Along, Data, Figure};
use super::mark::{Mark, Weight};
use super::page::{Page, Part, Section};
use super::plot::Plot;
use super::sheet::sheets;
use super::svg::slug;
use crate::fits::tasks::{Task, Trial};
use crate::results::caution::CAUTION;
use crate::results::frame::Frame;
use crate::results::numbers::short;
use crate::results::timed::Timed;

/// Points of a curve.
const CURVE: u32 = 120;
/// Least and greatest probability that a curve is drawn to.
const ENDS: [f64; 2] = [0.002, 0.998];

/// The page; `frames` are the sheets of the book by name, `stamp` says where it comes from.
#[must_use]
pub fn page(of: &Timed, title: &str, answer: &[String], frames: &[(&str, Frame)], stamp: &[(String, String)]) -> Page {
    let mut answer = answer.to_vec();
    let notes = answer.split_off(answer.len().min(4));
    let mut figures = of
        .tasks
        .iter()
        .enumerate()
        .filter_map(|(index, task)| lying(of, task, index));
    let first = figures.next();
    let practice: Vec<Part> = of
        .tasks
        .iter()
        .filter_map(|task| practised(&of.trials, task))
        .map(Part::Figure)
        .collect();
    let parts = sheets(
        frames,
        &[
            ("spreads", "What is written: a spread to a task.", false),
            ("timeline", "Observed, and simulated before and after.", false),
            ("margins", "Margins before and after, the tightest first.", false),
            ("held", "Which task's spread holds which margin.", false),
            ("families", "What the spreads were chosen from.", true),
            ("trials", "Every trial.", true),
        ],
    );
    Page {
        kind: "spreads of timed tasks".to_owned(),
        title: title.to_owned(),
        answer,
        met: None,
        notes,
        first,
        caution: CAUTION.to_owned(),
        sections: vec![
            Section::new("Trials along their spread", "", figures.map(Part::Figure).collect()),
            Section::new("Practice", "A level to each person and one slope for all.", practice),
            Section::new("In full", "", parts),
            Section::new("Where it comes from", "", vec![Part::Pairs(stamp.to_vec())]),
        ],
    }
}

/// Trials as steps of their share, the families as curves.
fn lying(of: &Timed, task: &Task, index: usize) -> Option<Figure> {
    let mut rows: Vec<&Trial> = task.used.iter().map(|&trial| &of.trials[trial]).collect();
    rows.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    let n = rows.len() as f64;
    let share = |place: usize| 100.0 * (place as f64 + 0.5) / n;
    let points = rows.iter().enumerate().map(|(place, trial)| {
        let words = format!(
            "{} min, {} for the {} time (line {})",
            short(trial.seconds / 60.0),
            trial.person,
            nth(trial.trial),
            trial.line
        );
        ([trial.seconds / 60.0, share(place)], words, false)
    });
    let mut marks = Vec::new();
    for (place, (fit, _)) in task.fits.iter().enumerate() {
        let Some(spread) = fit.spread() else { continue };
        let chosen = place == task.choice.index;
        let at = |i: u32| ENDS[0] + (ENDS[1] - ENDS[0]) * f64::from(i) / f64::from(CURVE);
        marks.push(Mark::Line {
            name: if chosen {
                format!("{}, which is written", fit.family.name())
            } else {
                fit.family.name().to_owned()
            },
            hue: place,
            weight: if chosen { Weight::Heavy } else { Weight::Thin },
            points: (0..=CURVE)
                .map(|i| [spread.quantile(at(i)) / 60.0, 100.0 * at(i)])
                .collect(),
        });
    }
    marks.push(Mark::Points {
        name: "trials".to_owned(),
        hue: 0,
        points: points.collect(),
    });
    let before = of
        .simulated
        .as_ref()
        .and_then(|simulated| simulated.timeline.iter().find(|row| row.id == task.id));
    if let Some(row) = before {
        marks.push(Mark::Upright {
            name: "median that the scenario had".to_owned(),
            at: row.before_s[1] / 60.0,
            beyond: None,
        });
    }
    Plot {
        id: format!("trials-{}-{}", index + 1, slug(&task.id)),
        title: format!("How long {} takes", task.id),
        says: format!("{}. {}.", capital(&task.choice.why), capital(&task.choice.test)),
        unit: "% of durations are shorter".to_owned(),
        along: (Along::Number, "min".to_owned()),
        height: 190.0,
        marks,
        data: Data {
            headers: ["duration [min]", "share [%]", "person", "trial"]
                .map(str::to_owned)
                .to_vec(),
            rows: rows
                .iter()
                .enumerate()
                .map(|(place, trial)| {
                    vec![
                        short(trial.seconds / 60.0),
                        short(share(place)),
                        trial.person.clone(),
                        trial.trial.to_string(),
                    ]
                })
                .collect(),
            note: "trials.csv and families.csv have all.".to_owned(),
        },
        ..Plot::default()
    }
    .figure()
}

/// Durations over the trial's number, person by person.
fn practised(trials: &[Trial], task: &Task) -> Option<Figure> {
    let learning = task.learning?;
    let own: Vec<&Trial> = task.used.iter().map(|&index| &trials[index]).collect();
    let mut people: Vec<&str> = Vec::new();
    for trial in &own {
        if !people.contains(&trial.person.as_str()) {
            people.push(&trial.person);
        }
    }
    let mut marks = Vec::new();
    for (hue, person) in people.iter().enumerate() {
        let of: Vec<&&Trial> = own.iter().filter(|trial| trial.person == **person).collect();
        let points = of.iter().map(|trial| {
            let at = [f64::from(trial.trial), trial.seconds / 60.0];
            (
                at,
                format!("{} min, {} for the {} time", short(at[1]), person, nth(trial.trial)),
                false,
            )
        });
        marks.push(Mark::Points {
            name: (*person).to_owned(),
            hue,
            points: points.collect(),
        });
        // The person's level: the mean of ln x less the slope.
        let slope = libm::log2(learning.per_doubling);
        let level = of
            .iter()
            .map(|trial| libm::log(trial.seconds / 60.0) - slope * libm::log(f64::from(trial.trial)))
            .sum::<f64>()
            / of.len() as f64;
        let most = of.iter().map(|trial| trial.trial).max().unwrap_or(1);
        marks.push(Mark::Line {
            name: format!("{person}, fitted"),
            hue,
            weight: Weight::Thin,
            points: (0..=40)
                .map(|i| 1.0 + (f64::from(most) - 1.0) * f64::from(i) / 40.0)
                .map(|trial| [trial, libm::exp(level + slope * libm::log(trial))])
                .collect(),
        });
    }
    let [low, high] = learning.per_doubling_95;
    let seen = if learning.is_seen() {
        ""
    } else {
        ", which may be chance"
    };
    let rows = own.iter().map(|trial| {
        vec![
            trial.person.clone(),
            trial.trial.to_string(),
            short(trial.seconds / 60.0),
        ]
    });
    let figure = Plot {
        id: format!("practice-{}", slug(&task.id)),
        title: format!("Practice at {}", task.id),
        says: format!(
            "Each doubling of trials takes it to {} % of what it was (95 %: {} to {} %){seen}.",
            short(100.0 * learning.per_doubling),
            short(100.0 * low),
            short(100.0 * high)
        ),
        unit: "min".to_owned(),
        along: (Along::Number, "trial of the person".to_owned()),
        height: 150.0,
        marks,
        data: Data {
            headers: ["person", "trial", "duration [min]"].map(str::to_owned).to_vec(),
            rows: rows.collect(),
            note: "trials.csv has all.".to_owned(),
        },
        ..Plot::default()
    };
    figure.figure()
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// "1st", "2nd", "11th".
fn nth(number: u32) -> String {
    let ending = match (number % 10, number % 100) {
        (1, n) if n != 11 => "st",
        (2, n) if n != 12 => "nd",
        (3, n) if n != 13 => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}
