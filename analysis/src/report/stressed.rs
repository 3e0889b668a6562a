//! The page of `stress`: time to spare by what is left of a device and when it degrades, and each fault.

use super::bars::{self, Row};
use super::figure::{Along, Data, Figure};
use super::lanes::{self, Lane, Look, Stretch};
use super::mark::{Mark, Weight};
use super::one_run::inputs;
use super::page::{self, Page, Part, Section};
use super::plot::Plot;
use super::sheet::sheet;
use super::svg::slug;
use crate::results::frame::Frame;
use crate::results::numbers::short;
use crate::results::stress::{StressSummary, markdown, sentences};
use breathroom_sim::scenario::Scenario;

/// Ends of the steps of the scale of time to spare, h: at least so much; below the last there is none.
const STEPS_H: [f64; 4] = [4.0, 1.0, 0.25, 0.0];

/// The page. `looks` is `stress.csv`, `faults` is `faults.csv` if there are faults.
#[must_use]
pub fn page(
    summary: &StressSummary,
    looks: &Frame,
    faults: Option<&Frame>,
    (scenario, end_h): (&Scenario, f64),
) -> Page {
    let mut answer = sentences(summary);
    let notes = answer.split_off(answer.len().min(3));
    let rows = Looks::of(looks);
    let heat: Vec<Figure> = rows
        .devices()
        .iter()
        .filter_map(|device| rows.heat(device, summary.responses, end_h))
        .collect();
    let times: Vec<Figure> = rows.devices().iter().filter_map(|device| rows.times(device)).collect();
    let mut heat = heat.into_iter();
    let kind = match summary.runs {
        0 => "devices that degrade, on the medians".to_owned(),
        runs => format!(
            "devices that degrade, {runs} variations at each worst onset, seed {}",
            summary.seed
        ),
    };
    let about = "Cells are the onsets that were looked at, each up to half way to the next.";
    let mut sections = vec![
        Section::new("Time to spare", about, heat.clone().skip(1).map(Part::Figure).collect()),
        Section::new(
            "At the worst onset",
            "By the part of a device that is left.",
            times.into_iter().map(Part::Figure).collect(),
        ),
    ];
    if let Some(faults) = faults {
        let mut parts: Vec<Part> = singles(faults).into_iter().map(Part::Figure).collect();
        parts.extend(
            sheet(
                "faults",
                "Each fault alone, and in pairs if they were asked for.",
                faults,
            )
            .map(Part::Table),
        );
        sections.push(Section::new("Each fault", "", parts));
    }
    sections.push(page::in_tables(&markdown(summary)));
    sections.push(inputs(scenario));
    Page {
        kind,
        title: summary.scenario.heading().to_owned(),
        answer,
        met: summary.gate_met,
        notes,
        first: heat.next(),
        caution: summary.caution.clone(),
        sections,
    }
}

/// One row of `stress.csv`.
struct OneLook {
    device: String,
    left: f64,
    onset: f64,
    failed: bool,
    margin: f64,
    margin_is: String,
    alarm: f64,
    done: f64,
    limit: f64,
    what: String,
}

struct Looks(Vec<OneLook>);

impl Looks {
    fn of(frame: &Frame) -> Self {
        let words = |header: &str| frame.words(header).unwrap_or_default();
        let number = |header: &str| frame.numbers(header).unwrap_or_else(|| vec![f64::NAN; frame.rows()]);
        let (device, end, margin_is, what) = (words("device"), words("end"), words("margin is"), words("limit"));
        let [left, onset, margin, alarm, done, limit] = [
            "left [%]",
            "onset [h]",
            "margin [h]",
            "to alarm [h]",
            "to done [h]",
            "to limit [h]",
        ]
        .map(number);
        let row = |i: usize| OneLook {
            device: device[i].to_owned(),
            left: left[i],
            onset: onset[i],
            failed: end[i] == "failed",
            margin: margin[i],
            margin_is: margin_is[i].to_owned(),
            alarm: alarm[i],
            done: done[i],
            limit: limit[i],
            what: what[i].to_owned(),
        };
        Self((0..frame.rows().min(device.len())).map(row).collect())
    }

    fn devices(&self) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        for look in &self.0 {
            if !all.contains(&look.device) {
                all.push(look.device.clone());
            }
        }
        all
    }

    /// The parts left of a device, most first, with their looks by onset; all of it left is no stress.
    fn parts(&self, device: &str) -> Vec<(f64, Vec<&OneLook>)> {
        let mut out: Vec<(f64, Vec<&OneLook>)> = Vec::new();
        for look in self.0.iter().filter(|look| look.device == device && look.left < 100.0) {
            match out.iter_mut().find(|(left, _)| *left == look.left) {
                Some((_, looks)) => looks.push(look),
                None => out.push((look.left, vec![look])),
            }
        }
        for (_, looks) in &mut out {
            looks.sort_by(|a, b| a.onset.total_cmp(&b.onset));
        }
        out
    }

    /// A lane for each part left, a cell for each onset.
    fn heat(&self, device: &str, responses: bool, end_h: f64) -> Option<Figure> {
        let lane = |(left, looks): &(f64, Vec<&OneLook>)| {
            let between = |a: usize, b: usize| (looks[a].onset + looks[b].onset) / 2.0;
            let cell = |i: usize| {
                let from = if i == 0 { looks[0].onset } else { between(i - 1, i) };
                let to = if i + 1 == looks.len() {
                    end_h.max(from)
                } else {
                    between(i, i + 1)
                };
                let (look, name, says) = judged(looks[i], responses);
                Stretch {
                    from,
                    to,
                    name,
                    says: format!(
                        "{device} {} % left from {} h on: {says}",
                        short(*left),
                        short(looks[i].onset)
                    ),
                    look,
                }
            };
            Lane {
                name: format!("{device}, {} % left", short(*left)),
                stretches: merged((0..looks.len()).map(cell).collect()),
                pins: Vec::new(),
            }
        };
        let lanes: Vec<Lane> = self.parts(device).iter().map(lane).collect();
        // Where no loss of it matters, words say so.
        if lanes
            .iter()
            .flat_map(|lane| &lane.stretches)
            .all(|of| of.look == Look::Blank)
        {
            return None;
        }
        let what = if responses {
            "time that is left when the response is done"
        } else {
            "time from the onset to the first limit (no alarm has a response)"
        };
        let says = format!(
            "By when {device} degrades (along) and how much of it is left (a lane each): {what}, on the medians. Darker is less; hatched: none at all. \
             Blank: no limit is crossed within the run."
        );
        let mut figure = lanes::figure(
            &format!("time-to-spare-{}", slug(device)),
            &format!("Time to spare when {device} degrades"),
            &says,
            &lanes,
            end_h,
        );
        figure.keys = lanes::scale_keys(&["more than 4 h", "1 to 4 h", "15 min to 1 h", "below 15 min", "none"]);
        Some(figure)
    }

    /// Times at the onset that leaves least, by the part left.
    fn times(&self, device: &str) -> Option<Figure> {
        let mut worst: Vec<&OneLook> = Vec::new();
        for (_, looks) in self.parts(device) {
            let least = looks.into_iter().filter(|look| !look.failed && look.limit.is_finite());
            let key = |look: &OneLook| {
                if look.margin.is_finite() {
                    look.margin
                } else {
                    look.limit - 1e6
                }
            };
            worst.extend(least.min_by(|a, b| key(a).total_cmp(&key(b))));
        }
        if worst.is_empty() {
            return None;
        }
        let line = |name: &str, hue: usize, value: &dyn Fn(&OneLook) -> f64| Mark::Points {
            name: name.to_owned(),
            hue,
            points: worst
                .iter()
                .map(|look| {
                    (
                        [look.left, value(look)],
                        format!(
                            "{} % left, onset {} h: {name} after {} h ({})",
                            short(look.left),
                            short(look.onset),
                            short(value(look)),
                            look.what
                        ),
                        false,
                    )
                })
                .collect(),
        };
        let joined = |hue: usize, value: &dyn Fn(&OneLook) -> f64| Mark::Line {
            name: String::new(),
            hue,
            weight: Weight::Thin,
            points: worst.iter().map(|look| [look.left, value(look)]).collect(),
        };
        let (alarm, done, limit) = (
            |look: &OneLook| look.alarm,
            |look: &OneLook| look.done,
            |look: &OneLook| look.limit,
        );
        let marks = vec![
            joined(0, &limit),
            joined(1, &done),
            joined(2, &alarm),
            line("a limit is crossed if nobody acts", 0, &limit),
            line("the response is done", 1, &done),
            line("the alarm comes", 2, &alarm),
        ];
        let cell = |value: f64| if value.is_finite() { short(value) } else { String::new() };
        let data = Data {
            headers: [
                "left [%]",
                "worst onset [h]",
                "alarm after [h]",
                "done after [h]",
                "limit after [h]",
                "limit",
                "left over [h]",
            ]
            .map(str::to_owned)
            .to_vec(),
            rows: worst
                .iter()
                .map(|look| {
                    let mut row: Vec<String> = [look.left, look.onset, look.alarm, look.done, look.limit]
                        .map(cell)
                        .to_vec();
                    row.extend([look.what.clone(), cell(look.margin)]);
                    row
                })
                .collect(),
            note: "stress.csv has every onset that was looked at.".to_owned(),
        };
        Plot {
            id: format!("times-{}", slug(device)),
            title: format!("{device}: times from the worst onset"),
            says:
                "On the medians, at the onset that leaves least. Parts without a point lead to no limit within the run."
                    .to_owned(),
            unit: "h".to_owned(),
            along: (Along::Number, format!("left of {device}, %")),
            across: Some([-2.0, 102.0]),
            from_zero: true,
            marks,
            data,
            ..Plot::default()
        }
        .figure()
    }
}

/// What a look says: its place on the scale, in short and in full.
fn judged(look: &OneLook, responses: bool) -> (Look, String, String) {
    if look.failed {
        return (Look::Wrong, "?".to_owned(), "the run could not be finished".to_owned());
    }
    let time = if responses { look.margin } else { look.limit };
    if !look.limit.is_finite() {
        return (Look::Blank, String::new(), "no limit within the run".to_owned());
    }
    if responses && look.margin_is == "not in time" || time < 0.0 {
        return (
            Look::Wrong,
            "none".to_owned(),
            format!("{} is crossed before anything is done", look.what),
        );
    }
    let level = STEPS_H.iter().position(|&step| time >= step).unwrap_or(STEPS_H.len());
    let minutes = 60.0 * time;
    let more = if look.margin_is == "more" { "more than " } else { "" };
    let words = if time >= 1.0 {
        format!("{} h", short(time))
    } else {
        format!("{} min", libm::round(minutes))
    };
    (
        Look::Heat(level),
        words.clone(),
        format!("{more}{words} left, then {}", look.what),
    )
}

/// Neighbours of one look and one word as one.
fn merged(cells: Vec<Stretch>) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    for cell in cells {
        match out.last_mut() {
            Some(last) if last.look == cell.look && cell.look == Look::Blank => last.to = cell.to,
            _ => out.push(cell),
        }
    }
    out
}

/// The least margin under each fault, as a part of its limit.
fn singles(faults: &Frame) -> Option<Figure> {
    let (names, least, of) = (
        faults.words("faults")?,
        faults.numbers("least margin [%]")?,
        faults.words("least margin of")?,
    );
    let five = faults
        .numbers("least margin 5 % [%]")
        .unwrap_or_else(|| vec![f64::NAN; names.len()]);
    let known = || least.iter().chain(&five).copied().filter(|value| value.is_finite());
    let low = known().fold(0.0, f64::min);
    let high = known().fold(0.0, f64::max).max(1e-9);
    let nought = if low < 0.0 {
        (-low / (high - low)).clamp(0.06, 0.5)
    } else {
        0.04
    };
    let scale = high.max(-low * (1.0 - nought) / nought);
    let row = |i: usize| Row {
        name: if names[i].is_empty() {
            "no fault".to_owned()
        } else {
            names[i].to_owned()
        },
        figures: if least[i].is_finite() {
            format!("{} % of {}", short(least[i]), of[i])
        } else {
            "not known".to_owned()
        },
        in_short: if least[i].is_finite() {
            format!("{} %", short(least[i]))
        } else {
            "-".to_owned()
        },
        beyond: least[i] < 0.0,
        solid: least[i].is_finite().then(|| [0.0, least[i] / scale]),
        middle: five[i].is_finite().then(|| five[i] / scale),
        scale,
        ..Row::default()
    };
    let rows: Vec<Row> = (0..names.len()).map(row).collect();
    let says = "Each fault alone (pairs too if asked for), with responses: the least margin of any limit, as a part of it, on the medians; stroke: its 5 % quantile over the variations, where there are any.";
    let data = Data {
        headers: ["fault", "least margin [%]", "of"].map(str::to_owned).to_vec(),
        rows: (0..names.len())
            .map(|i| vec![names[i].to_owned(), short(least[i]), of[i].to_owned()])
            .collect(),
        note: "faults.csv has all.".to_owned(),
    };
    Some(bars::figure(
        ("each-fault", "What each fault leaves", says),
        &rows,
        nought,
        ["beyond", "to spare, % of the limit"],
        Vec::new(),
        data,
    ))
}
