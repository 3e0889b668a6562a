//! The page of `watch`: operating curves, time to detect beside the time to the limit, courses of single runs, false alarms.

use super::figure::{Along, Data, Figure};
use super::mark::{Beyond, Mark, Weight};
use super::page::{Page, Part, Section};
use super::plot::Plot;
use super::sheet::sheets;
use crate::results::frame::Frame;
use crate::results::numbers::{percent, short};
use crate::results::watch::{FaultSummary, WatchSummary};

/// Methods that are drawn over each other in one picture of a run: more would hide each other.
const DRAWN: [&str; 3] = ["cusum, whitened", "innovation test", "bank of faults"];

/// The page; `frames` are the sheets of the book by name, `stamp` says where it comes from.
#[must_use]
pub fn page(summary: &WatchSummary, frames: &[(&str, Frame)], stamp: &[(String, String)]) -> Page {
    let mut answer = summary.answer.clone();
    let notes = answer.split_off(answer.len().min(3));
    let of = |name: &str| frames.iter().find(|(other, _)| *other == name).map(|(_, frame)| frame);
    let operating = of("operating")
        .map(|frame| operating(summary, frame))
        .unwrap_or_default();
    let mut firsts: Vec<Figure> = of("residuals")
        .map(|frame| residuals(summary, frame))
        .unwrap_or_default();
    firsts.extend(operating);
    // The middle severity says most; measured readings come before it.
    if summary.measured.is_none() && !firsts.is_empty() {
        let middle = (summary.severities.len() / 2).min(firsts.len() - 1);
        firsts[..=middle].rotate_right(1);
    }
    let mut firsts = firsts.into_iter();
    let first = firsts.next();
    let mut sections = vec![Section::new("Chances", "", firsts.map(Part::Figure).collect())];
    sections.push(Section::new(
        "False alarms",
        "Nominal runs that no threshold comes from.",
        false_alarms(summary).into_iter().map(Part::Figure).collect(),
    ));
    let times = times(summary).into_iter().map(Part::Figure).collect();
    sections.push(Section::new(
        "Time to detect",
        "Of the runs with an alarm; beside it the time to the first limit, nobody responding. A gap: no alarm, or no limit.",
        times,
    ));
    let courses = of("examples").map(courses).unwrap_or_default();
    sections.push(Section::new(
        "A run of each fault",
        "The first held-out variation. Above: reading less reference of the instrument that moves most. Below: statistics over their thresholds; an \
         alarm above 1. Uprights: the onset, and the first limit that is crossed because of it.",
        courses.into_iter().map(Part::Pair).collect(),
    ));
    let parts = sheets(
        frames,
        &[
            ("alarms", "Alarms on the measured readings.", false),
            ("detection", "What is detected of each fault.", false),
            ("naming", "What the bank names, by what it was.", true),
            ("methods", "Each method.", false),
            ("instruments", "What is read, and how well.", true),
            ("modes", "Ways to fail, and what a severity means.", true),
            (
                "run_lengths",
                "What tables say of the charts, for independent readings alone.",
                true,
            ),
            ("inputs", "Every value that was given.", true),
            ("assumptions", "Every value that was not given.", true),
            ("limits", "Every limit, with its source.", true),
        ],
    );
    sections.push(Section::new("In full", "", parts));
    sections.push(Section::new(
        "Where it comes from",
        "",
        vec![Part::Pairs(stamp.to_vec())],
    ));
    Page {
        kind: "watch: nominal or off-nominal".to_owned(),
        title: summary.scenario.heading().to_owned(),
        answer,
        met: None,
        notes,
        first,
        caution: summary.caution.clone(),
        sections: sections
            .into_iter()
            .filter(|section| !section.parts.is_empty())
            .collect(),
    }
}

/// One operating curve to a severity.
fn operating(summary: &WatchSummary, frame: &Frame) -> Vec<Figure> {
    let mut columns: Vec<(String, String)> = summary
        .severities
        .iter()
        .map(|severity| {
            let name = format!("detected at {}", percent(*severity));
            (name, format!("faults of the bank at {}", percent(*severity)))
        })
        .collect();
    columns.push((
        "detected unmodelled".to_owned(),
        "faults that the bank does not know".to_owned(),
    ));
    let (Some(words), Some(x)) = (frame.words("method"), frame.numbers("false alarms [1/d]")) else {
        return Vec::new();
    };
    let figure = |(index, (column, what)): (usize, &(String, String))| {
        let y = frame.numbers(&format!("{column} [%]"))?;
        let mark = |(hue, method): (usize, &crate::results::watch::MethodSummary)| Mark::Line {
            name: method.method.to_owned(),
            hue,
            weight: Weight::Plain,
            points: (0..x.len())
                .filter(|&row| words[row] == method.method)
                .map(|row| [x[row], y[row]])
                .collect(),
        };
        let mut marks: Vec<Mark> = summary.methods.iter().enumerate().map(mark).collect();
        marks.push(Mark::Upright {
            name: format!("asked for: {}", short(summary.asked_per_day)),
            at: summary.asked_per_day,
            beyond: None,
        });
        let row = |row: usize| vec![words[row].to_owned(), short(x[row]), short(y[row])];
        Plot {
            id: format!("operating-{}", index + 1),
            title: format!("Chance of detection: {what}"),
            says: "Share of runs with an alarm at any time after the onset, against false alarms a day of held-out nominal runs. An alarm that is on \
                   already at the onset detects nothing until it has gone off: a chart that is on for hours loses."
                .to_owned(),
            unit: "%".to_owned(),
            along: (Along::Number, "false alarms a day".to_owned()),
            height: 190.0,
            from_zero: true,
            marks,
            data: Data {
                headers: vec!["method".to_owned(), "false alarms a day".to_owned(), "detected [%]".to_owned()],
                rows: (0..x.len()).map(row).collect(),
                note: "operating.csv has all.".to_owned(),
            },
            ..Plot::default()
        }
        .figure()
    };
    columns.iter().enumerate().filter_map(figure).collect()
}

/// False alarms a day by method, with their intervals.
fn false_alarms(summary: &WatchSummary) -> Option<Figure> {
    let places: Vec<f64> = (1..=summary.methods.len()).map(|place| place as f64).collect();
    let mut marks = vec![Mark::Bars {
        name: "false alarms a day".to_owned(),
        hue: 0,
        bars: summary
            .methods
            .iter()
            .zip(&places)
            .map(|(method, at)| [at - 0.3, at + 0.3, method.per_day])
            .collect(),
    }];
    for (at, method) in places.iter().zip(&summary.methods) {
        marks.push(Mark::Line {
            name: "95 % interval".to_owned(),
            hue: 5,
            weight: Weight::Heavy,
            points: method.per_day_95.map(|end| [*at, end]).to_vec(),
        });
    }
    marks.push(Mark::Level {
        name: format!("asked for: {}", short(summary.asked_per_day)),
        at: summary.asked_per_day,
    });
    let names: Vec<String> = summary
        .methods
        .iter()
        .enumerate()
        .map(|(index, method)| format!("{} {}", index + 1, method.method))
        .collect();
    let row = |method: &crate::results::watch::MethodSummary| {
        vec![
            method.method.to_owned(),
            short(method.per_day),
            short(method.per_day_95[0]),
            short(method.per_day_95[1]),
        ]
    };
    Plot {
        id: "false-alarms".to_owned(),
        title: "False alarms a day".to_owned(),
        says: format!("By method: {}.", names.join(", ")),
        unit: "1/d".to_owned(),
        along: (Along::Number, "method".to_owned()),
        height: 150.0,
        from_zero: true,
        marks,
        data: Data {
            headers: ["method", "a day", "low", "high"].map(str::to_owned).to_vec(),
            rows: summary.methods.iter().map(row).collect(),
            note: "methods.csv has all.".to_owned(),
        },
        ..Plot::default()
    }
    .figure()
}

/// Time to detect against severity, one to a fault with a severity that is ever detected.
fn times(summary: &WatchSummary) -> Vec<Figure> {
    let mut faults: Vec<&str> = Vec::new();
    for one in summary.faults.iter().filter(|one| one.severity.is_some()) {
        if !faults.contains(&one.fault.as_str()) {
            faults.push(&one.fault);
        }
    }
    faults
        .iter()
        .enumerate()
        .filter_map(|(index, fault)| time_of(summary, fault, index))
        .collect()
}

fn time_of(summary: &WatchSummary, fault: &str, index: usize) -> Option<Figure> {
    let of = |method: &str| -> Vec<&FaultSummary> {
        let ours = |one: &&FaultSummary| one.fault == fault && one.method == method;
        summary.faults.iter().filter(ours).collect()
    };
    let at = |one: &FaultSummary| 100.0 * one.severity.unwrap_or(f64::NAN);
    let mut marks = Vec::new();
    let mut rows = Vec::new();
    for (hue, method) in summary.methods.iter().enumerate() {
        let ones = of(method.method);
        let points: Vec<[f64; 2]> = ones
            .iter()
            .map(|one| [at(one), one.to_alarm_h.unwrap_or(f64::NAN)])
            .collect();
        if points.iter().all(|point| point[1].is_nan()) {
            continue;
        }
        rows.extend(ones.iter().map(|one| {
            vec![
                percent(one.severity.unwrap_or(f64::NAN)),
                method.method.to_owned(),
                short(one.to_alarm_h.unwrap_or(f64::NAN)),
                short(one.to_limit_h.unwrap_or(f64::NAN)),
            ]
        }));
        let told = |one: &&FaultSummary| {
            let words = format!(
                "{}: {} of {} runs at {}",
                method.method,
                one.detected,
                one.runs,
                percent(one.severity.unwrap_or(f64::NAN))
            );
            ([at(one), one.to_alarm_h.unwrap_or(f64::NAN)], words, false)
        };
        marks.push(Mark::Line {
            name: method.method.to_owned(),
            hue,
            weight: Weight::Plain,
            points,
        });
        marks.push(Mark::Points {
            name: method.method.to_owned(),
            hue,
            points: ones.iter().filter(|one| one.to_alarm_h.is_some()).map(told).collect(),
        });
    }
    if marks.is_empty() {
        return None;
    }
    let limits: Vec<[f64; 2]> = of(summary.methods.first()?.method)
        .iter()
        .map(|one| [at(one), one.to_limit_h.unwrap_or(f64::NAN)])
        .collect();
    if limits.iter().any(|point| point[1].is_finite()) {
        marks.push(Mark::Line {
            name: "time to the limit".to_owned(),
            hue: 3,
            weight: Weight::Heavy,
            points: limits,
        });
    }
    Plot {
        id: format!("time-to-detect-{}", index + 1),
        title: format!("Time to detect: {fault}"),
        says: "Median of the runs with an alarm.".to_owned(),
        unit: "h".to_owned(),
        along: (Along::Number, "severity [%]".to_owned()),
        height: 140.0,
        from_zero: true,
        marks,
        data: Data {
            headers: ["severity", "method", "time to alarm [h]", "time to limit [h]"]
                .map(str::to_owned)
                .to_vec(),
            rows,
            note: "detection.csv has all.".to_owned(),
        },
        ..Plot::default()
    }
    .padded()
    .figure()
}

/// Two pictures of a run of each fault.
fn courses(frame: &Frame) -> Vec<Vec<Figure>> {
    let (Some(fault), Some(time), Some(residual)) = (
        frame.words("fault"),
        frame.numbers("time [h]"),
        frame.numbers("residual"),
    ) else {
        return Vec::new();
    };
    let words = |name: &str| frame.words(name).unwrap_or_default();
    let (severity, instrument, unit) = (words("severity"), words("instrument"), words("unit"));
    let at = |header: &str, row: usize| frame.numbers(header).map_or(f64::NAN, |all| all[row]);
    let uprights = |row: usize| {
        let of = [("onset", "onset [h]"), ("limit crossed", "limit [h]")];
        let marks = of.map(|(name, header)| (name, at(header, row)));
        let there = marks.into_iter().filter(|(_, at)| at.is_finite());
        there.map(|(name, at)| Mark::Upright {
            name: name.to_owned(),
            at,
            beyond: None,
        })
    };
    let mut starts: Vec<usize> = (0..fault.len())
        .filter(|&row| row == 0 || fault[row] != fault[row - 1])
        .collect();
    starts.push(fault.len());
    let one = |(index, pair): (usize, &[usize])| -> Vec<Figure> {
        let rows = pair[0]..pair[1];
        let title = if severity[pair[0]].is_empty() {
            fault[pair[0]].to_owned()
        } else {
            format!("{} at {}", fault[pair[0]], severity[pair[0]])
        };
        let above = Plot {
            id: format!("course-{}", index + 1),
            title: format!("{title}: residual of {}", instrument[pair[0]]),
            says: "Reading less what is expected.".to_owned(),
            unit: unit[pair[0]].to_owned(),
            height: 110.0,
            marks: std::iter::once(Mark::Line {
                name: "residual".to_owned(),
                hue: 0,
                weight: Weight::Plain,
                points: rows.clone().map(|row| [time[row], residual[row]]).collect(),
            })
            .chain(uprights(pair[0]))
            .collect(),
            data: Data {
                headers: vec!["time [h]".to_owned(), format!("residual [{}]", unit[pair[0]])],
                rows: rows
                    .clone()
                    .step_by(20)
                    .map(|row| vec![short(time[row]), short(residual[row])])
                    .collect(),
                note: "Every twentieth row; examples.csv has all.".to_owned(),
            },
            ..Plot::default()
        };
        let below = Plot {
            id: format!("chart-{}", index + 1),
            title: format!("{title}: statistics over their thresholds"),
            says: "An alarm above 1.".to_owned(),
            height: 110.0,
            marks: statistics(frame, rows.clone(), &time)
                .into_iter()
                .chain(uprights(pair[0]))
                .collect(),
            data: Data {
                headers: std::iter::once("time [h]".to_owned())
                    .chain(DRAWN.map(str::to_owned))
                    .collect(),
                rows: rows
                    .step_by(20)
                    .map(|row| {
                        let of = |name: &&str| {
                            let all = frame.numbers(&format!("{name} over threshold"));
                            short(all.map_or(f64::NAN, |all| all[row]))
                        };
                        std::iter::once(short(time[row])).chain(DRAWN.iter().map(of)).collect()
                    })
                    .collect(),
                note: "Every twentieth row; examples.csv has all.".to_owned(),
            },
            ..Plot::default()
        };
        [above, below].into_iter().filter_map(Plot::figure).collect()
    };
    starts.windows(2).enumerate().map(one).collect()
}

fn statistics(frame: &Frame, rows: std::ops::Range<usize>, time: &[f64]) -> Vec<Mark> {
    let mut marks: Vec<Mark> = DRAWN
        .iter()
        .enumerate()
        .filter_map(|(hue, name)| {
            let values = frame.numbers(&format!("{name} over threshold"))?;
            Some(Mark::Line {
                name: (*name).to_owned(),
                hue,
                weight: Weight::Plain,
                points: rows.clone().map(|row| [time[row], values[row]]).collect(),
            })
        })
        .collect();
    marks.push(Mark::Limit {
        name: "alarm".to_owned(),
        at: 1.0,
        beyond: Beyond::Above,
    });
    marks
}

/// Measured readings beside what is expected, and the statistics.
fn residuals(summary: &WatchSummary, frame: &Frame) -> Vec<Figure> {
    let (Some(time), Some(measured)) = (frame.numbers("time [h]"), &summary.measured) else {
        return Vec::new();
    };
    let alarms = || {
        let first = |method: &str| measured.alarms.iter().find(|alarm| alarm.method == method);
        summary
            .methods
            .iter()
            .filter_map(move |method| first(method.method))
            .map(|alarm| Mark::Upright {
                name: format!("{}: alarm", alarm.method),
                at: alarm.at_h,
                beyond: None,
            })
    };
    let mut figures = Vec::new();
    let mut marks = statistics(frame, 0..time.len(), &time);
    marks.extend(alarms());
    let data = |headers: Vec<String>, columns: &[&Vec<f64>]| Data {
        headers,
        rows: (0..time.len())
            .step_by(time.len().div_ceil(60).max(1))
            .map(|row| columns.iter().map(|column| short(column[row])).collect())
            .collect(),
        note: "Some rows; residuals.csv has all.".to_owned(),
    };
    let plot = Plot {
        id: "measured-statistics".to_owned(),
        title: "Statistics of the measured readings over their thresholds".to_owned(),
        says: "An alarm above 1; where one came first is marked.".to_owned(),
        height: 150.0,
        data: data(vec!["time [h]".to_owned()], &[&time]),
        marks,
        ..Plot::default()
    };
    figures.extend(plot.figure());
    for (index, used) in measured
        .readings
        .iter()
        .enumerate()
        .filter(|(_, used)| used.readings > 0)
    {
        let column = |name: &str| frame.numbers(&format!("{name} [{}]", used.unit));
        let (Some(read), Some(expected)) = (
            column(&used.instrument),
            column(&format!("{} expected", used.instrument)),
        ) else {
            continue;
        };
        let line = |name: &str, hue: usize, values: &[f64]| Mark::Line {
            name: name.to_owned(),
            hue,
            weight: Weight::Plain,
            points: time.iter().zip(values).map(|(t, y)| [*t, *y]).collect(),
        };
        let plot = Plot {
            id: format!("measured-{}", index + 1),
            title: format!("{}: measured and expected", used.instrument),
            says: "Expected: the run on the medians through the instrument.".to_owned(),
            unit: used.unit.to_owned(),
            height: 130.0,
            data: data(
                ["time [h]", "measured", "expected"].map(str::to_owned).to_vec(),
                &[&time, &read, &expected],
            ),
            marks: vec![line("measured", 0, &read), line("expected", 5, &expected)],
            ..Plot::default()
        };
        figures.extend(plot.figure());
    }
    figures
}
