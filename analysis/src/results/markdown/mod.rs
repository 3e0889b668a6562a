//! `summary.md`: a result for people, as Markdown that reads well unrendered too.

use std::fmt::Write as _;

use super::numbers::{clock, percent, short};
use super::summary::{Limit, Statistics, Summary, Variations};
use super::words::{limit_text, margin};
use super::{answer, standing};

/// The text of `summary.md`.
#[must_use]
pub fn summary(of: &Summary) -> String {
    let mut out = String::new();
    let title = if of.scenario.title.is_empty() {
        &of.scenario.file
    } else {
        &of.scenario.title
    };
    let _ = writeln!(out, "# {}\n", cell(title));
    let _ = writeln!(out, "{}\n", job(of));
    for sentence in answer::sentences(of) {
        let _ = writeln!(out, "- {}", cell(&sentence));
    }
    out.push_str("\n## Margins\n\n");
    match &of.variations {
        Some(variations) => over_variations(&mut out, of, variations),
        None => one_run(&mut out, of),
    }
    rules(&mut out, &of.limits);
    totals(&mut out, of);
    compartments(&mut out, of);
    schedule(&mut out, of);
    list(&mut out, "Warnings", &of.warnings);
    list(&mut out, "Rests on memory", &of.from_memory);
    provenance(&mut out, of);
    let _ = writeln!(out, "\n---\n\n{}", of.caution);
    out
}

/// Text that cannot break a table or a heading.
fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace(['\n', '\r'], " ")
}

fn table(out: &mut String, header: &[&str], rows: impl Iterator<Item = Vec<String>>) {
    let _ = writeln!(out, "| {} |", header.join(" | "));
    let _ = writeln!(out, "|{}", " --- |".repeat(header.len()));
    for row in rows {
        let cells: Vec<String> = row.iter().map(|text| cell(text)).collect();
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out.push('\n');
}

fn job(of: &Summary) -> String {
    match (&of.variations, &of.only) {
        (Some(variations), _) => format!(
            "`breathroom {}` of `{}`: {} variations, seed {}, {} design.",
            of.command, of.scenario.file, variations.runs, variations.seed, variations.design
        ),
        (None, Some(only)) => format!(
            "`breathroom {}` of `{}`: variation {} alone, seed {}.",
            of.command, of.scenario.file, only.variation, only.seed
        ),
        (None, None) => format!(
            "`breathroom {}` of `{}`: one run on the medians.",
            of.command, of.scenario.file
        ),
    }
}

fn yes(met: bool) -> String {
    if met { "yes" } else { "**NO**" }.to_owned()
}

/// Of one run; a limit that never applied is neither met nor broken.
fn judged(limit: &Limit) -> String {
    if limit.margin.is_nan() {
        "n/a".to_owned()
    } else {
        yes(limit.met)
    }
}

fn one_run(out: &mut String, of: &Summary) {
    let header = [
        "limit",
        "where",
        "limit value",
        "worst",
        "at",
        "margin",
        "first crossed",
        "time beyond",
        "met",
    ];
    let rows = of.limits.iter().map(|limit| {
        vec![
            limit.id.clone(),
            limit.place.clone(),
            limit_text(limit),
            short(limit.worst),
            clock(limit.at_h),
            margin(limit.margin, limit.unit, limit.margin_fraction),
            limit.first_crossing_h.map_or_else(|| "never".to_owned(), clock),
            clock(limit.time_beyond_h),
            judged(limit),
        ]
    });
    table(out, &header, rows);
}

fn over_variations(out: &mut String, of: &Summary, variations: &Variations) {
    let kept = match variations.gate {
        Some(gate) => format!(
            "kept {}/{}",
            short(100.0 * gate.coverage),
            short(100.0 * gate.confidence)
        ),
        None => "kept 95/95".to_owned(),
    };
    let header = [
        "limit",
        "where",
        "limit value",
        &kept,
        "1 %",
        "5 %",
        "50 %",
        "95 %",
        "beyond in",
        "95 % interval",
        "met",
    ];
    let judged: Vec<(&Limit, &Statistics)> = of
        .limits
        .iter()
        .filter_map(|limit| limit.statistics.as_ref().map(|statistics| (limit, statistics)))
        .collect();
    let rows = judged.iter().map(|(limit, statistics)| {
        let quantile = |key: &str| {
            statistics
                .margin_quantiles
                .get(key)
                .map_or_else(|| "-".to_owned(), |value| short(*value))
        };
        vec![
            limit.id.clone(),
            limit.place.clone(),
            limit_text(limit),
            standing::bound_of(statistics).map_or_else(|| "-".to_owned(), short),
            quantile("0.01"),
            quantile("0.05"),
            quantile("0.5"),
            quantile("0.95"),
            percent(statistics.probability),
            format!(
                "{} to {}",
                percent(statistics.probability_95[0]),
                percent(statistics.probability_95[1])
            ),
            yes(standing::shown(statistics)),
        ]
    });
    table(out, &header, rows);
    out.push_str(
        "*Kept*: the margin that this share of all variations keeps at least, with this confidence (Wilks 1941), for each \
         limit on its own. Quantiles of the margin by Hyndman and Fan's definition 7. *Beyond in*: share of variations \
         beyond the limit, with its Clopper-Pearson interval. All in the limit's unit; negative is beyond.\n\n",
    );
    out.push_str("### What drives the margins\n\n");
    let drivers = judged.iter().flat_map(|(limit, statistics)| {
        statistics.drivers.iter().take(5).map(|driver| {
            vec![
                limit.id.clone(),
                limit.place.clone(),
                driver.input.clone(),
                driver.kind.to_owned(),
                short(driver.index),
            ]
        })
    });
    table(out, &["limit", "where", "input", "kind", "index"], drivers);
    out.push_str("The tables below are of the run on the medians, which is optimistic where durations are skewed.\n\n");
}

fn rules(out: &mut String, limits: &[Limit]) {
    out.push_str("## Limits\n\n");
    let rows = limits.iter().map(|limit| {
        let memory = if limit.from_memory { " (from memory)" } else { "" };
        vec![
            limit.id.clone(),
            limit.place.clone(),
            limit.words.clone(),
            format!("{}{memory}", limit.source),
        ]
    });
    table(out, &["limit", "where", "rule", "source"], rows);
}

fn totals(out: &mut String, of: &Summary) {
    out.push_str("## Totals\n\n");
    let t = &of.totals;
    let kg = |what: &str, value: f64| vec![what.to_owned(), format!("{} kg", short(value))];
    let mj = |what: &str, value: f64| vec![what.to_owned(), format!("{} MJ", short(value))];
    let rows = [
        kg("CO2 made", t.co2_made_kg),
        kg("CO2 removed", t.co2_removed_kg),
        kg("water vapour made", t.water_made_kg),
        kg("sweat that ran off", t.runoff_kg),
        kg("water removed", t.water_removed_kg),
        kg("water condensed on surfaces", t.water_condensed_kg),
        kg("oxygen used", t.oxygen_used_kg),
        kg("oxygen supplied", t.oxygen_supplied_kg),
        kg("diluent supplied", t.diluent_supplied_kg),
        mj("sensible heat", t.sensible_mj),
        mj("latent heat", t.latent_mj),
        kg("CO2 lost", t.leaked.co2_kg),
        kg("water lost", t.leaked.water_kg),
        kg("oxygen lost", t.leaked.oxygen_kg),
        kg("diluent lost", t.leaked.diluent_kg),
    ];
    table(out, &["what", "over the run"], rows.into_iter());
    let b = &of.balance;
    let _ = writeln!(
        out,
        "Ledgers close to (share of throughput): carbon {}, oxygen {}, water {}, diluent {}.\n",
        short(b.carbon),
        short(b.oxygen),
        short(b.water),
        short(b.diluent)
    );
}

fn compartments(out: &mut String, of: &Summary) {
    out.push_str("## Compartments\n\n");
    let (mmhg, kpa) = (super::numbers::mmhg(), super::numbers::kpa());
    let header = [
        "compartment",
        "CO2 at most",
        "humidity",
        "oxygen",
        "pressure",
        "liquid water at most",
    ];
    let rows = of.extremes.iter().map(|(name, e)| {
        let range = |low: f64, high: f64, unit: &str| format!("{} to {} {unit}", short(low), short(high));
        vec![
            name.to_owned(),
            format!(
                "{} mmHg at {}",
                short(mmhg.from_si(e.co2_pa_max)),
                clock(e.co2_pa_max_at_h)
            ),
            range(100.0 * e.humidity_min, 100.0 * e.humidity_max, "%"),
            range(kpa.from_si(e.oxygen_pa_min), kpa.from_si(e.oxygen_pa_max), "kPa"),
            range(kpa.from_si(e.pressure_pa_min), kpa.from_si(e.pressure_pa_max), "kPa"),
            format!("{} kg", short(e.liquid_water_kg_max)),
        ]
    });
    table(out, &header, rows);
}

fn schedule(out: &mut String, of: &Summary) {
    let s = &of.schedule;
    out.push_str("## Schedule\n\n");
    let _ = writeln!(
        out,
        "Tasks waited {} in all; space was exceeded for {} in all.\n",
        clock(s.waits_h),
        clock(s.space_exceeded_h)
    );
    if !s.late_h.is_empty() {
        let late = s
            .late_h
            .iter()
            .map(|(task, late)| vec![task.to_owned(), late.map_or_else(|| "never started".to_owned(), clock)]);
        table(out, &["task", "later than its earliest start"], late);
    }
    if !s.space.is_empty() {
        let rows = s.space.iter().map(|(name, crowd)| {
            vec![
                name.to_owned(),
                clock(crowd.exceeded_h),
                format!("{} m3", short(crowd.excess_m3)),
            ]
        });
        table(out, &["compartment", "too small for", "by at most"], rows);
    }
    if !s.unfinished.is_empty() {
        let _ = writeln!(out, "Not ended when the run did: {}.\n", s.unfinished.join(", "));
    }
}

fn list(out: &mut String, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(out, "## {title}\n");
    for line in lines {
        let _ = writeln!(out, "- {}", cell(line));
    }
    out.push('\n');
}

fn provenance(out: &mut String, of: &Summary) {
    let p = &of.provenance;
    let _ = writeln!(out, "## Provenance\n\n- breathroom {}, `{}`", p.version, p.command);
    for file in &p.files {
        let _ = writeln!(out, "- `{}` sha256 {}", file.name, file.sha256);
    }
    for set in &p.overrides {
        let _ = writeln!(out, "- `--set {set}`");
    }
    let c = &of.counters;
    let _ = writeln!(
        out,
        "- {} events, {} segments, {} crossings on the medians",
        c.events, c.segments, c.crossings
    );
}

#[cfg(test)]
mod tests {
    use super::super::sample::{limit, run, vary};
    use super::super::{CAUTION, text};
    use super::*;

    /// Every row of a table has as many cells as its header.
    fn tables_are_whole(markdown: &str) {
        let mut columns = None;
        for line in markdown.lines() {
            if !line.starts_with('|') {
                columns = None;
                continue;
            }
            let cells = line.replace("\\|", "").matches('|').count();
            assert_eq!(*columns.get_or_insert(cells), cells, "{line}");
        }
    }

    #[test]
    fn a_summary_reads_from_the_answer_to_the_caution() {
        let of_run = summary(&run(vec![limit("co2-1h", 0.6), limit("co2-day", -0.1)]));
        let of_vary = summary(&vary(vec![(limit("co2-1h", 0.6), Some(0.15)), (limit("x", 0.6), None)]));
        for markdown in [&of_run, &of_vary] {
            tables_are_whole(markdown);
            assert!(markdown.starts_with("# Two crew\n"));
            assert!(markdown.trim_end().ends_with(CAUTION));
            assert!(markdown.contains("a \\| source"), "a bar in a cell is escaped");
        }
        assert!(
            of_run.contains("| co2-day | crew:lead | 3 mmHg | 3.1 | 31 h 12 min | -0.1 mmHg (-3.3 % of the limit) |")
        );
        assert!(
            of_vary.contains(
                "| co2-1h | crew:lead | 3 mmHg | 0.15 | - | 0.1 | 0.6 | - | 12.3 % | 10.4 % to 14.5 % | yes |"
            )
        );
    }

    #[test]
    fn the_tables_of_the_terminal_fit_it() {
        let summaries = [
            run(vec![limit("co2-1h", 0.6)]),
            vary(vec![(limit("co2-1h", 0.6), Some(-0.123))]),
        ];
        for summary in summaries {
            let table = text::margins(&summary);
            assert_eq!(table.lines().count(), 2, "{table}");
            assert!(table.lines().all(|line| line.chars().count() <= text::WIDTH), "{table}");
        }
        let long = run(vec![limit(&"co2-".repeat(15), 0.6)]);
        assert!(
            text::margins(&long)
                .lines()
                .all(|line| line.chars().count() <= text::WIDTH)
        );
    }
}
