//! What is said of a device with a part of its capacity left: the low percentile before the median.

use super::spans::{span_h, time};
use super::summary::{FirstSummary, LookSummary, PartStress, RunsSummary, StressSummary, TimeSummary};
use crate::results::numbers::{clock, percent};
use crate::results::ordered::Ordered;
use crate::results::words::count;

/// How bad a part is, the less the worse: by the low percentile of what is left, else what is left on the medians; then by when the first
/// limit comes.
#[must_use]
pub fn worth(part: &PartStress, responses: bool) -> [f64; 2] {
    let hours = |of: TimeSummary| match of.h {
        Some(_) if of.at_least => f64::INFINITY,
        Some(hours) => hours,
        None => f64::NEG_INFINITY,
    };
    let low = |of: &Ordered<TimeSummary>| of.get("0.05").copied().map_or(f64::INFINITY, hours);
    let to_limit = part.medians.without.after_h.unwrap_or(f64::INFINITY);
    match (&part.variations, responses) {
        (Some(runs), true) => [runs.margin_quantiles.as_ref().map_or(f64::INFINITY, low), to_limit],
        (Some(runs), false) => [low(&runs.to_limit_quantiles), to_limit],
        (None, true) => [part.medians.margin.map_or(f64::INFINITY, hours), to_limit],
        (None, false) => [to_limit; 2],
    }
}

/// Nothing comes of it: no limit, nowhere.
#[must_use]
pub fn is_quiet(part: &PartStress) -> bool {
    let none = |runs: &RunsSummary| runs.failed == 0 && runs.crossed_without.count == 0 && runs.crossed_with.count == 0;
    part.harmless && part.variations.as_ref().is_none_or(none)
}

/// One sentence for the parts of a device of which nothing comes.
#[must_use]
pub fn of_quiet(device: &str, parts: &[&PartStress]) -> Option<String> {
    let gone: Vec<String> = parts.iter().map(|part| gone(1.0 - part.part)).collect();
    let (last, before) = gone.split_last()?;
    let gone = match before {
        [] => last.clone(),
        _ => format!("{} or {last}", before.join(", ")),
    };
    let onsets = parts.iter().map(|part| part.onsets_looked_at).min()?;
    let variations = parts.iter().all(|part| part.variations.is_some());
    Some(format!(
        "With {gone} of {device}'s capacity gone no limit is crossed that would not be without: at none of {}{}, whatever is done.",
        count(onsets, "onset"),
        if variations {
            " on the medians, and in no variation"
        } else {
            " on the medians"
        }
    ))
}

/// The sentences of a part of which something comes.
#[must_use]
pub fn of_part(device: &str, part: &PartStress, summary: &StressSummary) -> Vec<String> {
    let medians = &part.medians;
    let onsets = count(part.onsets_looked_at, "onset");
    let mut times = vec![alarm(medians), limit(&medians.without, summary.responses)];
    if summary.responses {
        times.push(done(medians));
    }
    let runs = part.variations.as_ref();
    let spare = if summary.responses {
        spare(medians, runs)
    } else {
        notice(medians, runs, summary.alarms > 0)
    };
    let mut said = vec![format!(
        "With {} of {device}'s capacity gone at the worst moment (onset {}, the worst of {onsets} on the medians), {}: {spare}, if the air \
         is mixed as assumed.",
        gone(1.0 - part.part),
        clock(part.worst_onset_h.unwrap_or(f64::NAN)),
        times.join(", "),
    )];
    if part.onsets_failed > 0 {
        said.push(format!(
            "{} of these {onsets} could not be run to the end: nothing is known of them, and worse may be among them.",
            part.onsets_failed,
        ));
    }
    if summary.responses {
        said.extend(in_spite(part));
    } else if let Some(runs) = runs
        && runs.crossed_without.count < summary.runs
    {
        said.push(format!(
            "A limit is crossed in {} of the variations (95 % interval {}).",
            percent(runs.crossed_without.share),
            runs.crossed_without.share_95.map(percent).join(" to ")
        ));
    }
    said
}

/// "half", "37 %".
fn gone(part: f64) -> String {
    for (share, word) in [
        (1.0, "all"),
        (0.75, "three quarters"),
        (0.5, "half"),
        (0.25, "a quarter"),
    ] {
        if (part - share).abs() < 1e-9 {
            return word.to_owned();
        }
    }
    percent(part)
}

fn alarm(look: &LookSummary) -> String {
    let already = if look.alarm_already_on {
        " (one is on already)"
    } else {
        ""
    };
    match &look.alarm {
        None => format!("no alarm comes on{already}"),
        Some(alarm) => {
            let kind = if alarm.is_false { "false " } else { "" };
            format!(
                "the {kind}{} {} comes after {}{already}",
                alarm.grade,
                alarm.id,
                span_h(Some(alarm.after_h))
            )
        }
    }
}

fn limit(first: &FirstSummary, responses: bool) -> String {
    let if_nothing = if responses { " if nothing is done" } else { "" };
    match &first.limit {
        None => format!("no limit is crossed within the run{if_nothing}"),
        Some(limit) if limit == "not survivable" => {
            format!("it is NOT SURVIVABLE after {}{if_nothing}", span_h(first.after_h))
        }
        Some(limit) => format!("the limit {limit} after {}{if_nothing}", span_h(first.after_h)),
    }
}

fn done(look: &LookSummary) -> String {
    match look.response_done_h {
        Some(hours) if hours > 0.0 => format!("the crew is done after {}", span_h(Some(hours))),
        Some(_) => "the crew was done before the onset".to_owned(),
        None => "the crew is never done".to_owned(),
    }
}

/// "13 min too late", "62 min to spare", "not in time".
fn left(of: TimeSummary) -> String {
    match of.h {
        None => "not in time".to_owned(),
        Some(hours) if hours < 0.0 => format!("{} too late", span_h(Some(-hours))),
        Some(_) => format!("{} to spare", time(of)),
    }
}

/// "at least 23 min", "more than 3 h 00 min".
fn at_least(of: TimeSummary) -> String {
    if of.at_least {
        time(of)
    } else {
        format!("at least {}", time(of))
    }
}

fn quantile(of: &Ordered<TimeSummary>, key: &str) -> TimeSummary {
    of.get(key).copied().unwrap_or(TimeSummary {
        h: None,
        at_least: false,
    })
}

/// How much time is left once the response is done.
fn spare(look: &LookSummary, runs: Option<&RunsSummary>) -> String {
    let Some(of) = runs.and_then(|runs| runs.margin_quantiles.as_ref()) else {
        return match look.margin {
            _ if look.failed.is_some() => "the run could not be finished".to_owned(),
            Some(TimeSummary { h: Some(hours), .. }) if hours < 0.0 => {
                format!("{} TOO LATE on the medians", span_h(Some(-hours)))
            }
            Some(margin) if margin.h.is_some() => format!("{} on the medians", left(margin)),
            _ => "NOT IN TIME on the medians".to_owned(),
        };
    };
    let (low, median) = (quantile(of, "0.05"), left(quantile(of, "0.5")));
    match low.h {
        None => format!("NOT IN TIME in 5 of 100 cases or more ({median} in the median)"),
        Some(hours) if hours < 0.0 => format!(
            "{} TOO LATE or more in 5 of 100 cases ({median} in the median)",
            span_h(Some(-hours))
        ),
        Some(_) => {
            let short = median.trim_end_matches(" to spare");
            format!("{} to spare in 95 of 100 cases ({short} in the median)", at_least(low))
        }
    }
}

/// How much time there is, where nothing is done: from the alarm to the limit, if there is any alarm, and from the onset.
fn notice(look: &LookSummary, runs: Option<&RunsSummary>, alarms: bool) -> String {
    if look.failed.is_some() && runs.is_none() {
        return "the run could not be finished".to_owned();
    }
    let Some(runs) = runs else {
        let from_onset = format!(
            "{} from the onset to the limit on the medians",
            until(look.without.after_h)
        );
        return match (alarms, look.notice.h, &look.without.limit) {
            (false, ..) | (_, _, None) => from_onset,
            (true, None, _) => format!("NO ALARM before the limit, {from_onset}"),
            (true, Some(hours), _) if hours < 0.0 => {
                format!("the alarm comes {} AFTER the limit, {from_onset}", span_h(Some(-hours)))
            }
            (true, Some(hours), _) => format!("{} from the alarm to the limit and {from_onset}", span_h(Some(hours))),
        };
    };
    let of = &runs.to_limit_quantiles;
    let (low, median) = (quantile(of, "0.05"), time(quantile(of, "0.5")));
    let from_onset = match low.h {
        // Only a run that could not be finished has no time to the first limit.
        None => {
            return format!("5 of 100 cases or more could not be run to the end ({median} to the limit in the median)");
        }
        Some(_) => format!(
            "{} from the onset to the limit in 95 of 100 cases ({median} in the median)",
            at_least(low)
        ),
    };
    if !alarms {
        return from_onset;
    }
    let of = &runs.notice_quantiles;
    let (low, median) = (quantile(of, "0.05"), quantile(of, "0.5"));
    let median = match median.h {
        None => "none in the median".to_owned(),
        Some(hours) if hours < 0.0 => format!("{} after it in the median", span_h(Some(-hours))),
        Some(_) => format!("{} in the median", time(median)),
    };
    match low.h {
        None => format!("NO ALARM before the limit in 5 of 100 cases or more (with one {median}), {from_onset}"),
        Some(hours) if hours < 0.0 => format!(
            "the alarm comes {} or more AFTER the limit in 5 of 100 cases ({median}), {from_onset}",
            span_h(Some(-hours))
        ),
        Some(_) => format!(
            "{} from the alarm to the limit in 95 of 100 cases ({median}), {from_onset}",
            at_least(low)
        ),
    }
}

/// A time until something that may not come within the run.
fn until(hours: Option<f64>) -> String {
    hours.map_or_else(
        || "the rest of the run and more".to_owned(),
        |hours| span_h(Some(hours)),
    )
}

/// Somewhere the response is done in time and a limit is crossed all the same.
#[must_use]
pub fn is_in_vain(part: &PartStress) -> bool {
    match &part.variations {
        Some(runs) => runs.in_vain.count > 0,
        None => in_vain(&part.medians),
    }
}

fn in_vain(look: &LookSummary) -> bool {
    let left = look.margin.and_then(|margin| margin.h);
    left.is_some_and(|hours| hours >= 0.0) && look.response_done_h.is_some() && look.with.limit.is_some()
}

/// A limit that is crossed though people respond.
fn in_spite(part: &PartStress) -> Option<String> {
    if let Some(runs) = &part.variations {
        let (all, vain) = (&runs.crossed_with, &runs.in_vain);
        return (all.count > 0).then(|| {
            let vain = match vain.count {
                0 => String::new(),
                same if same == all.count => ", in each of them though it is done in time".to_owned(),
                _ => format!(", in {} though it is done in time", percent(vain.share)),
            };
            format!(
                "A limit is crossed in spite of what is done in {} of the variations (95 % interval {}){vain}.",
                percent(all.share),
                all.share_95.map(percent).join(" to ")
            )
        });
    }
    let with = &part.medians.with;
    let limit = with.limit.as_ref()?;
    let after = span_h(with.after_h);
    Some(if in_vain(&part.medians) {
        format!("It is done in time on the medians, yet {limit} is crossed after {after}.")
    } else {
        format!("In spite of what is done {limit} is crossed after {after} on the medians.")
    })
}
