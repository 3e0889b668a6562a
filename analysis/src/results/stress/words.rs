//! What a study of stress says, in sentences: the low percentile before the median.

use super::parts::{is_in_vain, is_quiet, of_part, of_quiet, worth};
use super::spans::span_h;
use super::summary::{Crossed, EffectCounts, FaultRow, PartStress, StressSummary};
use crate::results::numbers::percent;
use crate::results::words::count;

/// Sentences that answer the question: the worst part of a device first, then the worst loss of a whole one, what is crossed without any
/// fault, then the rest.
#[must_use]
pub fn sentences(summary: &StressSummary) -> Vec<String> {
    let mut told: Vec<(&str, &PartStress)> = Vec::new();
    for device in &summary.devices {
        let parts = device.left.iter().filter(|part| part.part < 1.0 && !is_quiet(part));
        told.extend(parts.map(|part| (device.device.as_str(), part)));
    }
    let worst = |whole: bool| {
        let those = told
            .iter()
            .enumerate()
            .filter(|(_, (_, part))| (part.part <= 0.0) == whole);
        let least = those.min_by(|(_, (_, a)), (_, (_, b))| {
            let (a, b) = (worth(a, summary.responses), worth(b, summary.responses));
            a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
        });
        least.map(|(place, _)| place)
    };
    let first = [worst(false), worst(true)];
    let mut said = Vec::new();
    for place in first.into_iter().flatten() {
        said.extend(of_part(told[place].0, told[place].1, summary));
    }
    said.extend(of_no_fault(summary));
    if !summary.responses && !told.is_empty() {
        said.push(
            match summary.alarms {
                0 => "There is no alarm: whoever is to act has to see it in another way.",
                _ => "No alarm has a response: these are the times in which to see it and to act.",
            }
            .to_owned(),
        );
    }
    for device in &summary.devices {
        for (place, (name, part)) in told.iter().enumerate() {
            if *name == device.device && !first.contains(&Some(place)) {
                said.extend(of_part(name, part, summary));
            }
        }
        let quiet: Vec<&PartStress> = device
            .left
            .iter()
            .filter(|part| part.part < 1.0 && is_quiet(part))
            .collect();
        said.extend(of_quiet(&device.device, &quiet));
    }
    if summary.responses && told.iter().any(|(_, part)| is_in_vain(part)) {
        said.push(
            "In time is before the limit that is crossed if nothing is done: what is done then may not undo what has gathered, or may not \
             be enough."
                .to_owned(),
        );
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
    if !said.is_empty() {
        said.push(format!(
            "Onsets were tried every {}, and closer around the worst: a worse moment that is shorter may lie between (--onsets tries more).",
            span_h(Some(summary.spacing_min / 60.0))
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

/// Which limits are crossed without any fault.
fn of_no_fault(summary: &StressSummary) -> Option<String> {
    let limits = summary.no_fault.limits.iter();
    let end = ("it is not survivable", &summary.no_fault.not_survivable);
    let those = limits.chain([end]);
    let crossed: Vec<String> = those.filter_map(|(id, of)| crossed(id, of, summary.runs)).collect();
    (!crossed.is_empty()).then(|| {
        format!(
            "Without any fault limits are crossed already: {}. Under a fault a limit counts only where it is not crossed without, or sooner.",
            crossed.join("; ")
        )
    })
}

/// "co2-1h in 22 % of the variations, and after 5 h 03 min on the medians".
fn crossed(id: &str, of: &Crossed, runs: u64) -> Option<String> {
    let counts = of.variations.unwrap_or(EffectCounts { without: 0, with: 0 });
    let with = counts.with > 0 || of.medians.with_h.is_some();
    let (count, hours, if_nothing) = if with {
        (counts.with, of.medians.with_h, "")
    } else {
        (counts.without, of.medians.without_h, " if nobody responds to an alarm")
    };
    let share = (count > 0).then(|| format!("in {} of the variations", percent(count as f64 / runs as f64)));
    let medians = hours.map(|hours| format!("after {} on the medians", span_h(Some(hours))));
    let times: Vec<String> = share.into_iter().chain(medians).collect();
    (!times.is_empty()).then(|| format!("{id} {}{if_nothing}", times.join(", ")))
}

fn of_faults(summary: &StressSummary) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(tolerant) = summary.single_fault_tolerant {
        let listed = count(summary.single_faults.len() - 1, "listed fault");
        let varied = summary.single_faults.iter().any(|row| row.variations.is_some());
        let fails = |row: &&FaultRow| !row.faults.is_empty() && !row.tolerated;
        let failing: Vec<String> = summary
            .single_faults
            .iter()
            .filter(fails)
            .map(|row| row.faults.join(" with "))
            .collect();
        let gate = summary
            .gate
            .as_ref()
            .map_or((0.95, 0.95), |gate| (gate.coverage, gate.confidence));
        let (coverage, confidence) = (percent(gate.0), percent(gate.1));
        said.push(if tolerant && varied {
            format!(
                "Single-fault tolerant: yes, for the {listed} only: none alone breaks a limit on the medians, and under each it is shown that \
                 {coverage} of variations keep all limits, with {confidence} confidence."
            )
        } else if tolerant {
            format!("Single-fault tolerant: yes, on the medians and for the {listed} only: none alone breaks a limit.")
        } else {
            match summary.single_faults.iter().find(|row| row.faults.is_empty()) {
                Some(none) if !none.broken.is_empty() || none.not_survivable => {
                    "Single-fault tolerant: NO: on the medians limits are broken without any fault.".to_owned()
                }
                _ if varied => format!(
                    "Single-fault tolerant: NOT SHOWN, of the {listed}: under {} alone it is not shown that {coverage} of variations keep all \
                     limits, with {confidence} confidence.",
                    failing.join(", ")
                ),
                _ => format!("Single-fault tolerant: NO, on the medians, of the {listed}: {}.", failing.join(", ")),
            }
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
