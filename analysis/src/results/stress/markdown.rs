//! `summary.md` of `stress`, as Markdown that reads well unrendered too.

use std::fmt::Write as _;

use super::summary::{DeviceStress, FaultRow, StressSummary};
use super::words::{sentences, span_h, time};
use crate::results::markdown::{cell, list, table};
use crate::results::numbers::{clock, percent};

/// The text of `summary.md`.
#[must_use]
pub fn markdown(of: &StressSummary) -> String {
    let mut out = String::new();
    let title = if of.scenario.title.is_empty() {
        &of.scenario.file
    } else {
        &of.scenario.title
    };
    let _ = writeln!(out, "# {}\n", cell(title));
    let runs = match of.runs {
        0 => "on the medians alone".to_owned(),
        runs => format!(
            "{runs} variations at each worst onset, seed {}, {} design",
            of.seed, of.design
        ),
    };
    let _ = writeln!(out, "`breathroom {}` of `{}`: {runs}.\n", of.command, of.scenario.file);
    for sentence in sentences(of) {
        let _ = writeln!(out, "- {}", cell(&sentence));
    }
    out.push('\n');
    for device in &of.devices {
        on_medians(&mut out, device, of.responses);
        over_variations(&mut out, device, of.responses);
        levels(&mut out, device, of);
    }
    faults(&mut out, "Single faults", &of.single_faults);
    faults(&mut out, "Pairs of faults", &of.pairs);
    published(&mut out, of);
    list(&mut out, "Warnings", &of.warnings);
    list(&mut out, "Rests on memory", &of.from_memory);
    provenance(&mut out, of);
    let _ = writeln!(out, "\n---\n\n{}", of.caution);
    out
}

fn on_medians(out: &mut String, device: &DeviceStress, responses: bool) {
    let _ = writeln!(
        out,
        "## {} degrades\n\nOn the medians, at the worst onset of those that were looked at. Times from the onset. *Left*: from the completed \
         response to the first limit that would be crossed without it.\n",
        cell(&device.device)
    );
    let header = [
        "capacity left",
        "left",
        "onset",
        "alarm",
        "done",
        "first limit without response",
        "first limit with response",
        "onsets",
    ];
    let first = |limit: &Option<String>, after| match limit {
        Some(limit) => format!("{limit}, {}", span_h(after)),
        None => "none".to_owned(),
    };
    let rows = device.left.iter().map(|part| {
        let at = &part.medians;
        let alarm = at.alarm.as_ref();
        vec![
            percent(part.part),
            match &at.failed {
                Some(why) => format!("FAILED: {why}"),
                None if !responses => "no response".to_owned(),
                None => time(at.margin),
            },
            part.worst_onset_h.map_or_else(|| "no fault".to_owned(), clock),
            alarm.map_or_else(
                || "none".to_owned(),
                |alarm| format!("{}, {}", alarm.id, span_h(Some(alarm.after_h))),
            ),
            span_h(at.response_done_h),
            first(&at.without.limit, at.without.after_h),
            first(&at.with.limit, at.with.after_h),
            part.onsets_looked_at.to_string(),
        ]
    });
    table(out, &header, rows);
}

fn over_variations(out: &mut String, device: &DeviceStress, responses: bool) {
    if device.left.iter().all(|part| part.variations.is_none()) {
        return;
    }
    let header = [
        "capacity left",
        "left, 1 %",
        "5 %",
        "50 %",
        "95 %",
        "95/95 bound",
        "in time",
        "95 % interval",
        "limit in spite of the response",
        "95 % interval",
    ];
    let rows = device.left.iter().filter_map(|part| {
        let runs = part.variations.as_ref()?;
        let mut cells = vec![percent(part.part)];
        // Where nothing is done, what there is to act in: the time to the first limit.
        let of = if responses {
            &runs.margin_quantiles
        } else {
            &runs.to_limit_quantiles
        };
        cells.extend(of.iter().map(|(_, value)| time(*value)));
        cells.push(runs.tolerance_95_95.map_or_else(|| "too few".to_owned(), time));
        for share in [&runs.in_time, &runs.crossed_with] {
            let [low, high] = share.share_95.map(percent);
            cells.extend([percent(share.share), format!("{low} to {high}")]);
        }
        Some(cells)
    });
    let _ = writeln!(
        out,
        "Over the variations, each at that onset. {}*More than*: the run ends before it is known.\n",
        if responses {
            ""
        } else {
            "No alarm has a response: quantiles are those of the time to the first limit. "
        }
    );
    table(out, &header, rows);
}

/// Published levels that someone's air is beyond.
fn levels(out: &mut String, device: &DeviceStress, of: &StressSummary) {
    let mut rows = Vec::new();
    for part in &device.left {
        for level in &of.effects {
            let Some(times) = part.medians.effects.get(level.id) else {
                continue;
            };
            if times.without_h.is_none() && times.with_h.is_none() {
                continue;
            }
            let of_runs = part.variations.as_ref().and_then(|runs| {
                let counts = runs.effects.get(level.id)?;
                Some(format!("{} / {} of {}", counts.without, counts.with, of.runs))
            });
            rows.push(vec![
                percent(part.part),
                level.level.to_owned(),
                span_h(times.without_h),
                span_h(times.with_h),
                of_runs.unwrap_or_else(|| "-".to_owned()),
            ]);
        }
    }
    if rows.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "Published levels that the air someone breathes is beyond at an instant (below: what their sources say), times from the onset on the \
         medians, 0 if before it. No limits of this scenario, and no medical claim.\n"
    );
    let header = [
        "capacity left",
        "level",
        "without response",
        "with response",
        "variations without / with",
    ];
    table(out, &header, rows.into_iter());
}

fn faults(out: &mut String, title: &str, rows: &[FaultRow]) {
    if !rows.iter().any(|row| !row.faults.is_empty()) {
        return;
    }
    let _ = writeln!(
        out,
        "## {title}\n\nWith responses, on the medians; the least margin is of limits of which a fraction means something.\n"
    );
    let header = [
        "fault",
        "limits broken",
        "least margin",
        "of",
        "variations with a broken limit",
        "95 % interval",
        "least margin, 5 %",
    ];
    let cells = rows.iter().map(|row| {
        let name = match &row.faults[..] {
            [] => "none".to_owned(),
            some => some.join(" with "),
        };
        let broken = match (&row.failed, row.not_survivable, row.did_not_begin) {
            (Some(why), ..) => format!("FAILED: {why}"),
            (None, true, _) => "**NOT SURVIVABLE**".to_owned(),
            (None, false, true) => "did not begin".to_owned(),
            (None, false, false) if row.broken.is_empty() => "none".to_owned(),
            (None, false, false) => row.broken.join(", "),
        };
        let over = row.variations.as_ref();
        let interval = over.map(|over| over.broken.share_95.map(percent).join(" to "));
        let low = over.and_then(|over| over.margin_fraction_quantiles.get("0.05").copied());
        let or = |text: Option<String>| text.unwrap_or_else(|| "-".to_owned());
        vec![
            name,
            broken,
            or(row.margin_fraction.map(percent)),
            or(row.margin_limit.clone()),
            or(over.map(|over| percent(over.broken.share))),
            or(interval),
            or(low.map(percent)),
        ]
    });
    table(out, &header, cells);
}

fn published(out: &mut String, of: &StressSummary) {
    let _ = writeln!(
        out,
        "## Published levels\n\nWhat sources say, in words of ours; judged at every instant, as partial pressures. No medical claim: what a level does \
         to a person is for the responsible medical authority to say.\n"
    );
    let rows = of.effects.iter().map(|level| {
        let memory = if level.from_memory { " (from memory)" } else { "" };
        vec![
            format!("{} {}", level.quantity, level.level),
            format!("{} Pa", breathroom_sim::units::figures(level.level_pa, 5)),
            level.says.to_owned(),
            format!("{}{memory}", level.source),
        ]
    });
    table(out, &["level", "partial pressure", "what is said", "source"], rows);
}

fn provenance(out: &mut String, of: &StressSummary) {
    let p = &of.provenance;
    let _ = writeln!(out, "## Provenance\n\n- breathroom {}, `{}`", p.version, p.command);
    for file in &p.files {
        let _ = writeln!(out, "- `{}` sha256 {}", file.name, file.sha256);
    }
    for set in &p.overrides {
        let _ = writeln!(out, "- `--set {set}`");
    }
    let _ = writeln!(
        out,
        "- onsets: {} at first, then to {} min around the worst; {}",
        of.onsets, of.finest_min, of.statistics
    );
}
