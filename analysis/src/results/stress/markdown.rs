//! `summary.md` of `stress`, as Markdown that reads well unrendered too.

use std::fmt::Write as _;

use super::spans::{span_h, time};
use super::summary::{DeviceStress, FaultRow, StressSummary};
use super::words::sentences;
use crate::results::markdown::{cell, list, table};
use crate::results::numbers::{clock, percent};

/// The text of `summary.md`.
#[must_use]
pub fn markdown(of: &StressSummary) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "# {}\n", cell(of.scenario.heading()));
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
    let left = if responses {
        "*Left*: from the completed response to the first limit that would be crossed without it"
    } else {
        "No alarm has a response. *Notice*: from the alarm to the first limit"
    };
    let _ = writeln!(
        out,
        "## {} degrades\n\nOn the medians, at the worst onset of those that were looked at. Times from the onset; limits that are not crossed \
         without the fault, or later. {left}.\n",
        cell(&device.device)
    );
    let mut header = vec![
        "capacity left",
        if responses { "left" } else { "notice" },
        "onset",
        "alarm",
    ];
    if responses {
        header.extend(["done", "first limit without response", "first limit with response"]);
    } else {
        header.push("first limit");
    }
    header.push("onsets");
    let first = |limit: &Option<String>, after| match limit {
        Some(limit) => format!("{limit}, {}", span_h(after)),
        None => "none".to_owned(),
    };
    let rows = device.left.iter().map(|part| {
        let at = &part.medians;
        let alarm = at.alarm.as_ref();
        let mut cells = vec![
            percent(part.part),
            match (&at.failed, at.margin) {
                (Some(why), _) => format!("FAILED: {why}"),
                (None, Some(margin)) => time(margin),
                (None, None) if at.notice.h.is_none() => "no alarm".to_owned(),
                (None, None) => time(at.notice),
            },
            part.worst_onset_h.map_or_else(|| "no fault".to_owned(), clock),
            alarm.map_or_else(
                || "none".to_owned(),
                |alarm| format!("{}, {}", alarm.id, span_h(Some(alarm.after_h))),
            ),
        ];
        if responses {
            cells.push(span_h(at.response_done_h));
        }
        cells.push(first(&at.without.limit, at.without.after_h));
        if responses {
            cells.push(first(&at.with.limit, at.with.after_h));
        }
        cells.push(part.onsets_looked_at.to_string());
        cells
    });
    table(out, &header, rows);
}

fn over_variations(out: &mut String, device: &DeviceStress, responses: bool) {
    if device.left.iter().all(|part| part.variations.is_none()) {
        return;
    }
    let header = if responses {
        [
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
            "though in time",
        ]
    } else {
        [
            "capacity left",
            "onset to limit, 1 %",
            "5 %",
            "50 %",
            "95 %",
            "95/95 bound",
            "alarm before the limit",
            "95 % interval",
            "limit crossed",
            "95 % interval",
            "alarm to limit, 5 %",
        ]
    };
    let rows = device.left.iter().filter_map(|part| {
        let runs = part.variations.as_ref()?;
        let mut cells = vec![percent(part.part)];
        // Where nothing is done, what there is to act in: the time to the first limit.
        let (of, bound) = match &runs.margin_quantiles {
            Some(margin) => (margin, runs.tolerance_95_95),
            None => (&runs.to_limit_quantiles, runs.to_limit_95_95),
        };
        cells.extend(of.iter().map(|(_, value)| time(*value)));
        cells.push(bound.map_or_else(|| "too few".to_owned(), time));
        for share in [runs.in_time.as_ref().unwrap_or(&runs.noticed), &runs.crossed_with] {
            cells.extend([percent(share.share), share.share_95.map(percent).join(" to ")]);
        }
        cells.push(match runs.notice_quantiles.get("0.05") {
            _ if responses => percent(runs.in_vain.share),
            Some(notice) if notice.h.is_some() => time(*notice),
            _ => "no alarm".to_owned(),
        });
        Some(cells)
    });
    let _ = writeln!(
        out,
        "Over the variations, each at that onset. *More than*: the run ends before it is known.{}\n",
        if responses {
            " *Though in time*: the response is done before the limit that would be crossed without it, and one is crossed all the same."
        } else {
            ""
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
         medians; those that it is not beyond without the fault, or later. No limits of this scenario, and no medical claim.\n"
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
        "## {title}\n\nWith responses, on the medians; the least margin is of limits of which a fraction means something. Under a fault only those \
         limits count that are not broken without any, or that are crossed sooner.\n"
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
    let beyond = of.effects.iter().filter_map(|level| {
        let crossed = of.no_fault.effects.get(level.id)?;
        let counts = crossed
            .variations
            .map(|counts| format!("in {} of {} variations", counts.with, of.runs));
        let medians = crossed
            .medians
            .with_h
            .map(|hours| format!("after {} on the medians", span_h(Some(hours))));
        let is = crossed.medians.with_h.is_some() || crossed.variations.is_some_and(|counts| counts.with > 0);
        let times: Vec<String> = medians.into_iter().chain(counts).collect();
        is.then(|| format!("{} {}", level.level, times.join(", ")))
    });
    let beyond: Vec<String> = beyond.collect();
    if !beyond.is_empty() {
        let _ = writeln!(
            out,
            "Without any fault someone's air is beyond: {}.\n",
            beyond.join("; ")
        );
    }
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
