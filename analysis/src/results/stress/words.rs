//! What a study of stress says, in sentences: the low percentile before the median.

use super::summary::{FaultRow, FirstSummary, LookSummary, PartStress, RunsSummary, StressSummary, TimeSummary};
use crate::results::numbers::{clock, percent, short};
use crate::results::words::count;

/// Sentences that answer the question, the most important first.
#[must_use]
pub fn sentences(summary: &StressSummary) -> Vec<String> {
    let mut said = Vec::new();
    for device in &summary.devices {
        for part in device.left.iter().filter(|part| part.part < 1.0) {
            said.push(of_part(&device.device, part, summary));
            if part.onsets_failed > 0 {
                said.push(format!(
                    "{} of these {} could not be run to the end: nothing is known of them, and worse may be among them.",
                    part.onsets_failed,
                    count(part.onsets_looked_at, "onset")
                ));
            }
            if summary.responses {
                said.extend(in_spite(part));
            }
        }
    }
    if let Some(whole) = summary
        .devices
        .iter()
        .flat_map(|of| &of.left)
        .find(|part| part.part >= 1.0)
        && let Some(limit) = &whole.medians.with.limit
    {
        said.push(format!(
            "Without any fault {limit} is crossed after {} on the medians: from then on no onset leaves any time.",
            span_h(whole.medians.with.after_h)
        ));
    }
    if !summary.faults_at_rest.is_empty() && !said.is_empty() {
        said.push(format!(
            "Meanwhile the file's own {} at rest ({}), and repairs of them mend nothing here.",
            match summary.faults_at_rest.len() {
                1 => "fault is",
                _ => "faults are",
            },
            summary.faults_at_rest.join(", ")
        ));
    }
    said.extend(of_faults(summary));
    if summary.failed > 0 {
        said.push(format!(
            "{} could not be finished, and count as not in time and as broken limits. The first: {}.",
            count(usize::try_from(summary.failed).unwrap_or(usize::MAX), "run"),
            summary.failure.as_deref().unwrap_or("in a variation")
        ));
    }
    if summary.runs == 0 {
        said.push(
            "All this is on the medians, which are optimistic where durations and reactions are skewed: --runs gives margins with \
             their confidence."
                .to_owned(),
        );
    }
    if let Some(met) = summary.gate_met {
        said.push(format!("The gate is {}.", if met { "passed" } else { "NOT passed" }));
    }
    said
}

fn of_part(device: &str, part: &PartStress, summary: &StressSummary) -> String {
    let gone = gone(1.0 - part.part);
    let medians = &part.medians;
    let onsets = count(part.onsets_looked_at, "onset");
    if part.harmless
        && part
            .variations
            .as_ref()
            .is_none_or(|runs| runs.crossed_without.count == 0)
    {
        return format!(
            "With {gone} of {device}'s capacity gone no limit is crossed within the run, at none of {onsets}, whatever is done."
        );
    }
    let mut times = vec![alarm(medians), limit(&medians.without)];
    if summary.responses {
        times.push(done(medians));
    }
    format!(
        "With {gone} of {device}'s capacity gone at the worst moment (onset {}, the worst of {onsets} on the medians), {}: {}, if the \
         air is mixed as assumed.",
        clock(part.worst_onset_h.unwrap_or(f64::NAN)),
        times.join(", "),
        spare(medians, part.variations.as_ref(), summary.responses),
    )
}

/// "half", "37 %".
pub(super) fn gone(part: f64) -> String {
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

fn limit(first: &FirstSummary) -> String {
    match (&first.limit, first.before_onset) {
        (None, _) => "no limit is crossed within the run".to_owned(),
        (Some(limit), true) => format!("the limit {limit} is crossed before the onset"),
        (Some(limit), false) if limit == "not survivable" => {
            format!("it is NOT SURVIVABLE after {}", span_h(first.after_h))
        }
        (Some(limit), false) => format!("the limit {limit} after {}", span_h(first.after_h)),
    }
}

fn done(look: &LookSummary) -> String {
    match look.response_done_h {
        Some(hours) if hours > 0.0 => format!("the crew is done after {}", span_h(Some(hours))),
        Some(_) => "the crew was done before the onset".to_owned(),
        None => "the crew is never done".to_owned(),
    }
}

fn spare(look: &LookSummary, runs: Option<&RunsSummary>, responses: bool) -> String {
    let Some(runs) = runs else {
        return match look.margin {
            _ if look.failed.is_some() => "the run could not be finished".to_owned(),
            _ if !responses => "so long there is to see it and to act (no alarm has a response)".to_owned(),
            TimeSummary { h: None, .. } => "NOT IN TIME on the medians".to_owned(),
            TimeSummary { h: Some(hours), .. } if hours < 0.0 => {
                format!("{} TOO LATE on the medians", span_h(Some(-hours)))
            }
            margin => format!("{} to spare on the medians", time(margin)),
        };
    };
    let quantile = |of: &crate::results::ordered::Ordered<TimeSummary>, key: &str| {
        of.get(key).copied().unwrap_or(TimeSummary {
            h: None,
            at_least: false,
        })
    };
    if !responses {
        let of = &runs.to_limit_quantiles;
        let (low, median) = (quantile(of, "0.05"), time(quantile(of, "0.5")));
        return match low.h {
            // Only a run that could not be finished has no time to the first limit.
            None => format!("5 of 100 cases or more could not be run to the end ({median} in the median)"),
            Some(_) => format!(
                "at least {} to see it and to act in 95 of 100 cases ({median} in the median; no alarm has a response)",
                time(low)
            ),
        };
    }
    let (low, median) = (
        quantile(&runs.margin_quantiles, "0.05"),
        quantile(&runs.margin_quantiles, "0.5"),
    );
    let median = time(median);
    match low.h {
        None => format!("NOT IN TIME in 5 of 100 cases or more ({median} in the median)"),
        Some(hours) if hours < 0.0 => format!(
            "{} TOO LATE or more in 5 of 100 cases ({median} to spare in the median)",
            span_h(Some(-hours))
        ),
        Some(_) => format!(
            "at least {} to spare in 95 of 100 cases ({median} in the median)",
            time(low)
        ),
    }
}

/// A limit that is crossed though people respond.
fn in_spite(part: &PartStress) -> Option<String> {
    let crossed = part
        .variations
        .as_ref()
        .map(|runs| (&runs.crossed_with, runs.in_time.count));
    match (crossed, &part.medians.with) {
        (Some((of, _)), _) if of.count > 0 => Some(format!(
            "A limit is crossed in spite of what is done in {} of the variations (95 % interval {} to {}).",
            percent(of.share),
            percent(of.share_95[0]),
            percent(of.share_95[1])
        )),
        (
            None,
            FirstSummary {
                limit: Some(limit),
                after_h,
                ..
            },
        ) => Some(format!(
            "In spite of what is done {limit} is crossed after {} on the medians.",
            span_h(*after_h)
        )),
        _ => None,
    }
}

fn of_faults(summary: &StressSummary) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(tolerant) = summary.single_fault_tolerant {
        let listed = count(summary.single_faults.len() - 1, "listed fault");
        said.push(if tolerant {
            format!("Single-fault tolerant: yes, on the medians and for the {listed} only: none alone breaks a limit.")
        } else {
            format!("Single-fault tolerant: NO, on the medians, of the {listed}.")
        });
    }
    let worst = |rows: &[FaultRow]| rows.iter().find(|row| !row.faults.is_empty()).map(row);
    said.extend(worst(&summary.single_faults).map(|row| format!("Worst alone: {row}.")));
    said.extend(worst(&summary.pairs).map(|row| format!("Worst pair: {row}.")));
    let idle: Vec<String> = summary
        .single_faults
        .iter()
        .filter(|row| row.did_not_begin)
        .map(|row| row.faults.join(" with "))
        .collect();
    if !idle.is_empty() {
        said.push(format!(
            "On the medians {} did not begin within the run: nothing is said of what would follow.",
            idle.join(", ")
        ));
    }
    said
}

/// "slow-loss: co2-1h (crew:lead) broken, least margin -12 % of a limit".
fn row(row: &FaultRow) -> String {
    let name = row.faults.join(" with ");
    let broken = match (&row.failed, row.not_survivable, row.broken.len()) {
        (Some(why), ..) => format!("could not be run ({why})"),
        (None, true, _) => "NOT SURVIVABLE".to_owned(),
        (None, false, 0) => "breaks no limit".to_owned(),
        (None, false, _) => format!("breaks {}", row.broken.join(", ")),
    };
    let low = row.variations.as_ref().map(|over| {
        format!(
            ", a limit is broken in {} of the variations (95 % interval {} to {})",
            percent(over.broken.share),
            percent(over.broken.share_95[0]),
            percent(over.broken.share_95[1])
        )
    });
    let least = row.margin_fraction.zip(row.margin_limit.as_ref());
    let least = least.map_or_else(String::new, |(fraction, limit)| {
        format!(", least margin {} of its limit, of {limit}", percent(fraction))
    });
    format!("{name} {broken} on the medians{least}{}", low.unwrap_or_default())
}

/// A time for people: "more than 3 h 00 min", "not in time".
pub(super) fn time(of: TimeSummary) -> String {
    match of.h {
        None => "not in time".to_owned(),
        Some(hours) if of.at_least => format!("more than {}", span_h(Some(hours))),
        Some(hours) => span_h(Some(hours)),
    }
}

/// A length of time: "0.5 min", "63 min", "2 h 05 min"; "-" for none.
pub(super) fn span_h(hours: Option<f64>) -> String {
    let Some(hours) = hours else { return "-".to_owned() };
    let minutes = 60.0 * hours;
    if minutes.abs() < 9.95 {
        format!("{} min", breathroom_sim::units::figures(minutes, 2))
    } else if minutes.abs() < 119.5 {
        format!("{} min", short(minutes.round()))
    } else {
        clock(hours)
    }
}
