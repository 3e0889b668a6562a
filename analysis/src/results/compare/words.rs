//! What differs, in sentences: inputs, limits that are no longer met or are again, margins that moved, what else, and how it was judged.

use super::summary::ProvenanceChanged;
use super::{Changed, Comparison, Figure, How, InputOf, LimitCompared, Of, On, TotalCompared};
use crate::results::figures::rounded;
use crate::results::numbers::percent;
use crate::results::words::count;
use crate::stats::pairs::LEAST_BEYOND;
use crate::study::compare::{Luck, Verdict, together};
use crate::study::trade::Known;

/// Inputs and totals that are told by name; the tables have all.
const MOST_TOLD: usize = 4;

/// The sentences, the most important first.
#[must_use]
pub fn sentences(of: &Comparison) -> Vec<String> {
    let mut said = vec![inputs(of)];
    said.extend(turned(of));
    said.extend(moved(of));
    said.extend(rules(of));
    said.extend(totals(of));
    said.extend(came_about(of));
    for (name, side) in [("A", &of.a), ("B", &of.b)] {
        if let Some(cause) = &side.ended {
            said.push(format!("The run of {name} ended early: {cause}."));
        }
        if side.failed > 0 {
            let first = side
                .first_failed
                .as_ref()
                .map_or(String::new(), |why| format!("; the first: {why}"));
            said.push(format!(
                "In {name} {} could not be finished and count as beyond every limit{first}.",
                count(side.failed as usize, "variation")
            ));
        }
    }
    said.extend(of.notes.iter().cloned());
    said.push(judged(of));
    said
}

/// A is which, B is which, and what differs in what went in.
fn inputs(of: &Comparison) -> String {
    let which = format!("A is {}, B is {}.", of.a.name, of.b.name);
    let Some(all) = &of.inputs else {
        return format!("{which} Whether their inputs differ is not known.");
    };
    if of.is_same() {
        return format!("Nothing differs: the same inputs, the same limits, the same margins. {which}");
    }
    let told = |one: &Changed| {
        let written = |input: &Option<InputOf>| match input {
            Some(input) if input.is_default => format!("{} by default", input.written),
            Some(input) => input.written.clone(),
            None => String::new(),
        };
        match one.how {
            How::OnlyA => format!("{} ({}, only in A)", one.path, written(&one.a)),
            How::OnlyB => format!("{} ({}, only in B)", one.path, written(&one.b)),
            _ => format!("{} ({} in A, {} in B)", one.path, written(&one.a), written(&one.b)),
        }
    };
    let real: Vec<&Changed> = all.iter().filter(|one| one.how != How::Written).collect();
    let otherwise = all.len() - real.len();
    let mut text = match real.len() {
        0 => "No input differs".to_owned(),
        1 => format!("1 input differs: {}", told(real[0])),
        more => {
            let named: Vec<String> = real.iter().take(MOST_TOLD).map(|one| told(one)).collect();
            let rest = if more > MOST_TOLD {
                format!("; and {} more in changed.csv", more - MOST_TOLD)
            } else {
                String::new()
            };
            format!("{more} inputs differ: {}{rest}", named.join("; "))
        }
    };
    if otherwise > 0 {
        text.push_str(&format!(" ({} only written in another way)", otherwise));
    }
    format!("{text}. {which}")
}

/// Limits that are met on one side alone.
fn turned(of: &Comparison) -> Vec<String> {
    let at = match of.luck {
        None => String::new(),
        Some(_) => format!(" at {}/{}", 100.0 * of.gate.coverage(), 100.0 * of.gate.confidence()),
    };
    let tell = |limit: &LimitCompared| {
        let figure = &limit.figures[0];
        let (a, b) = (number(figure.of.a, figure), number(figure.of.b, figure));
        let chance = match figure.of.verdict {
            Verdict::NotSeen => ", a difference that chance alone may make",
            _ => "",
        };
        match (limit.on, limit.met) {
            (On::Both, [Some(true), Some(false)]) => Some(format!(
                "NOT MET in B and met in A{at}: {}, margin {a} in A, {b} in B{chance}.",
                limit.id
            )),
            (On::Both, [Some(false), Some(true)]) => Some(format!(
                "Met in B and NOT MET in A{at}: {}, margin {a} in A, {b} in B{chance}.",
                limit.id
            )),
            (On::OnlyB, [_, Some(false)]) => Some(format!(
                "NOT MET{at}: {}, which B alone has, with a margin of {b}.",
                limit.id
            )),
            _ => None,
        }
    };
    // What is worse comes first.
    let (lost, regained): (Vec<String>, Vec<String>) = of
        .limits
        .iter()
        .filter_map(tell)
        .partition(|text| text.starts_with("NOT"));
    lost.into_iter().chain(regained).collect()
}

/// Margins that moved, and those that did not.
fn moved(of: &Comparison) -> Vec<String> {
    let both: Vec<&LimitCompared> = of.limits.iter().filter(|limit| limit.on == On::Both).collect();
    if both.is_empty() {
        return vec!["The two have no limit in common.".to_owned()];
    }
    if of.luck == Some(Luck::Unknown) {
        return vec!["Their draws are not plain, and no interval of independent runs holds: margins.csv has the differences, without a verdict.".to_owned()];
    }
    let told = |limit: &&LimitCompared| {
        let figure = limit.figures.iter().find(|figure| figure.has_moved())?;
        Some(format!("{} is {}: {}", limit.id, direction(limit), change(of, figure)))
    };
    let moved: Vec<String> = both.iter().filter_map(told).collect();
    let same = |limit: &&&LimitCompared| limit.figures.iter().all(|figure| figure.of.verdict == Verdict::Same);
    let untouched = both.iter().filter(same).count();
    let still = both.len() - moved.len();
    let rest = match (of.of, still) {
        (_, 0) => String::new(),
        (Of::Runs, _) => format!("{still} margins are the same"),
        _ => {
            let of_these = match untouched {
                0 => String::new(),
                all if all == still => " (the same in every variation)".to_owned(),
                some => format!(" ({some} of them the same in every variation)"),
            };
            let shows = if still == 1 { "shows" } else { "show" };
            format!("{still} {shows} no difference in {}{of_these}", variations(of))
        }
    };
    let head = format!("Of {}", count(both.len(), "limit"));
    if moved.is_empty() {
        return vec![format!("{head} none has moved: {rest}.")];
    }
    let verb = if moved.len() == 1 { "has" } else { "have" };
    let rest = if rest.is_empty() {
        rest
    } else {
        format!(" The other {rest}.")
    };
    let mut said = vec![format!("{head} {} {verb} moved.{rest}", moved.len())];
    said.extend(moved.into_iter().map(|text| format!("{text}.")));
    said
}

/// "better", "worse", or both, by all figures of a limit.
fn direction(limit: &LimitCompared) -> &'static str {
    let has = |word: &str| limit.figures.iter().any(|figure| figure.verdict() == word);
    match (has("better"), has("worse")) {
        (true, true) => "better in some, worse in other variations",
        (true, false) => "better",
        _ => "worse",
    }
}

/// "from 0.31 to 0.52 mmHg kept (+0.21, 95 % interval 0.17 to 0.25)".
fn change(of: &Comparison, figure: &Figure) -> String {
    let what = match figure.name {
        "kept" => format!(" kept by {} of variations", percent(of.gate.coverage())),
        "mean" => " on the mean".to_owned(),
        "beyond" => " of variations beyond the limit".to_owned(),
        other => format!(" {other}"),
    };
    let quantile = if figure.name == "kept" && figure.of.interval.is_some() {
        format!("the {} quantile that it bounds ", percent(1.0 - of.gate.coverage()))
    } else {
        String::new()
    };
    let (a, b) = (plain(figure.of.a, figure), number(figure.of.b, figure));
    let by = match (figure.of.difference, figure.of.interval) {
        (Some(by), Some([low, high])) => {
            let half = 0.5 * (high - low);
            let shown = |value: f64| rounded(value, half).0;
            format!(
                " ({quantile}{}, 95 % interval {} to {})",
                signed(shown(by)),
                shown(low),
                shown(high)
            )
        }
        (Some(by), None) => format!(" ({})", signed(rounded(by, 0.0).0)),
        _ => String::new(),
    };
    format!("from {a} to {b}{what}{by}")
}

fn signed(text: String) -> String {
    if text.starts_with('-') {
        text
    } else {
        format!("+{text}")
    }
}

/// A number to the figures that its interval, or that of the difference, carries.
fn plain(known: Known, figure: &Figure) -> String {
    let own = known.interval.map(|[low, high]| 0.5 * (high - low));
    let of_difference = figure.of.interval.map(|[low, high]| 0.5 * (high - low));
    // A difference may be known better than what differs, and has to be seen.
    let half = own.into_iter().chain(of_difference).fold(f64::INFINITY, f64::min);
    let half = if half.is_finite() || figure.name != "on the medians" {
        half
    } else {
        0.0
    };
    match known.value {
        value if value == f64::INFINITY => "without bound (the limit never applied)".to_owned(),
        value if value == f64::NEG_INFINITY => "none (too many failed)".to_owned(),
        value if value.is_nan() => "unknown".to_owned(),
        value => rounded(value, half).0,
    }
}

fn number(known: Known, figure: &Figure) -> String {
    let text = plain(known, figure);
    if figure.unit.is_empty() || !known.value.is_finite() {
        text
    } else {
        format!("{text} {}", figure.unit)
    }
}

/// Limits that one side has alone, or that say something else.
fn rules(of: &Comparison) -> Vec<String> {
    let mut said = Vec::new();
    for rule in &of.rules {
        let words =
            |limit: &Option<super::LimitOf>| limit.as_ref().map(|limit| limit.words.clone()).unwrap_or_default();
        said.extend(match rule.how {
            How::OnlyA => Some(format!("The limit {} is only in A: {}.", rule.id, words(&rule.a))),
            How::OnlyB => Some(format!("The limit {} is only in B: {}.", rule.id, words(&rule.b))),
            How::Changed if words(&rule.a) != words(&rule.b) => Some(format!(
                "The limit {} says in A: {}; in B: {}.",
                rule.id,
                words(&rule.a),
                words(&rule.b)
            )),
            How::Changed => Some(format!(
                "The limit {} differs in whom it is about, or in its source.",
                rule.id
            )),
            How::Same | How::Written => None,
        });
    }
    said
}

fn totals(of: &Comparison) -> Option<String> {
    let moved: Vec<&TotalCompared> = of.totals.iter().filter(|total| total.figure.has_moved()).collect();
    let told = |total: &&TotalCompared| format!("{} {}", total.name, change(of, &total.figure));
    let named: Vec<String> = moved.iter().take(MOST_TOLD).map(told).collect();
    let rest = match moved.len().saturating_sub(MOST_TOLD) {
        0 => String::new(),
        more => format!("; and {more} more in totals.csv"),
    };
    (!moved.is_empty()).then(|| format!("Totals that differ: {}{rest}.", named.join("; ")))
}

/// What differs in how two results folders came about.
pub fn provenance(of: &Comparison) -> Vec<ProvenanceChanged> {
    if of.of == Of::Scenarios {
        return Vec::new();
    }
    let number = |number: Option<u64>| number.map_or("none".to_owned(), |number| number.to_string());
    let text = |side: &super::Side| {
        [
            ("version", side.version.clone()),
            (
                "scenario file",
                format!("{}, SHA-256 {}", side.file.file, side.file.sha256),
            ),
            ("overrides", side.overrides.join(", ")),
            ("seed", number(side.seed)),
            ("variations", number(side.runs)),
            ("draws", side.design.clone().unwrap_or_else(|| "none".to_owned())),
        ]
    };
    let both = text(&of.a).into_iter().zip(text(&of.b));
    both.filter(|((_, a), (_, b))| a != b)
        .map(|((what, a), (_, b))| ProvenanceChanged { what, a, b })
        .collect()
}

fn came_about(of: &Comparison) -> Option<String> {
    let all = provenance(of);
    let short = |text: &str| match text.split_once(", SHA-256 ") {
        Some((name, digest)) => format!("{name} (SHA-256 {}...)", digest.chars().take(12).collect::<String>()),
        None if text.is_empty() => "none".to_owned(),
        None => text.to_owned(),
    };
    let told = |one: &ProvenanceChanged| format!("{} ({} in A, {} in B)", one.what, short(&one.a), short(&one.b));
    let named: Vec<String> = all.iter().map(told).collect();
    (!all.is_empty()).then(|| format!("They came about by other: {}.", named.join("; ")))
}

/// "400 variations", "400 and 1000 variations".
fn variations(of: &Comparison) -> String {
    match of.runs {
        [a, b] if a == b => count(a as usize, "variation"),
        [a, b] => format!("{a} and {b} variations"),
    }
}

/// What is said where too few variations lie beyond the quantile that a kept margin bounds.
fn few(of: &Comparison) -> String {
    let beyond = 1.0 - of.gate.coverage();
    let needed = (LEAST_BEYOND / beyond.min(1.0 - beyond) - 1e-9).ceil();
    if of.runs[0] as f64 >= needed {
        return String::new();
    }
    format!(" Kept margins are not judged with fewer than {needed:.0} variations.")
}

/// How it was judged.
fn judged(of: &Comparison) -> String {
    let Some(luck) = of.luck else {
        return "Both are single runs on the medians: no chance is involved, and medians are optimistic where durations are skewed. Differences below a millionth count as none."
            .to_owned();
    };
    let family = format!(
        "Each interval is at 95 %. Verdicts hold together: each of the {} is judged at {:.2} %, so that with 95 % confidence none tells a \
         difference where there is none.",
        count(of.comparisons, "comparison"),
        100.0 * together(of.comparisons)
    );
    match luck {
        Luck::Same => {
            let cut = match (of.a.runs, of.b.runs) {
                (Some(a), Some(b)) if a != b => " (those that both have)",
                _ => "",
            };
            format!(
                "Both had the same luck in {}{cut}: variation by variation the same draws, so that they differ by their design alone. {family}{}",
                variations(of),
                few(of)
            )
        }
        Luck::Independent => format!(
            "The two have other seeds, so that the luck of both is in their differences: the same seed would tell more. Kept margins are \
             shown without a verdict. {family}"
        ),
        Luck::Unknown => {
            "Intervals are those of plain draws; run both with --design plain and the same seed to have verdicts."
                .to_owned()
        }
    }
}
