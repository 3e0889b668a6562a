//! `summary.md`: a result for people, as Markdown that reads well unrendered too.

mod air;
mod further;
mod margins;
mod schedule;
mod sorties;
mod stores;
mod sure;
mod upset;

use std::fmt::Write as _;

use super::summary::Summary;
use super::{answer, words};

/// The text of `summary.md`.
#[must_use]
pub fn summary(of: &Summary) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "# {}\n", cell(of.scenario.heading()));
    let _ = writeln!(out, "{}\n", job(of));
    for sentence in answer::sentences(of) {
        let _ = writeln!(out, "- {}", cell(&sentence));
    }
    out.push('\n');
    if !of.limits.is_empty() {
        out.push_str("## Margins\n\n");
        match &of.variations {
            Some(variations) => margins::over_variations(&mut out, of, variations),
            None => margins::one_run(&mut out, of),
        }
        margins::rules(&mut out, &of.limits);
    }
    upset::upsets(&mut out, of);
    further::rare(&mut out, of);
    stores::tanks(&mut out, of);
    sorties::sorties(&mut out, of);
    sorties::transfers(&mut out, of);
    stores::suits(&mut out, of);
    stores::devices(&mut out, of);
    air::totals(&mut out, of);
    air::compartments(&mut out, of);
    schedule::schedule(&mut out, of);
    list(&mut out, "Warnings", &of.warnings);
    list(&mut out, "Rests on memory", &of.from_memory);
    provenance(&mut out, of);
    let _ = writeln!(out, "\n---\n\n{}", of.caution);
    out
}

/// Text that cannot break a table or a heading.
pub(super) fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace(['\n', '\r'], " ")
}

pub(super) fn table(out: &mut String, header: &[&str], rows: impl Iterator<Item = Vec<String>>) {
    let _ = writeln!(out, "| {} |", header.join(" | "));
    let _ = writeln!(out, "|{}", " --- |".repeat(header.len()));
    for row in rows {
        let cells: Vec<String> = row.iter().map(|text| cell(text)).collect();
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out.push('\n');
}

fn job(of: &Summary) -> String {
    if let Some(rare) = &of.rare {
        return further::rare_job(of, rare);
    }
    match (&of.variations, &of.only) {
        (Some(variations), _) => format!(
            "`breathroom {}` of `{}`: {} variations, seed {}, {} design.",
            of.command, of.scenario.file, variations.runs, variations.seed, variations.design
        ),
        (None, Some(only)) => format!(
            "`breathroom {}` of `{}`: variation {} alone, seed {}, {} design.",
            of.command, of.scenario.file, only.variation, only.seed, only.design
        ),
        (None, None) => format!(
            "`breathroom {}` of `{}`: one run on the medians.",
            of.command, of.scenario.file
        ),
    }
}

pub(super) fn list(out: &mut String, title: &str, lines: &[String]) {
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
    let count = |thing: &str, number: u64| words::count(usize::try_from(number).unwrap_or(usize::MAX), thing);
    let _ = writeln!(
        out,
        "- {}, {}, {} on the medians",
        count("event", c.events),
        count("segment", c.segments),
        count("crossing", c.crossings)
    );
}

#[cfg(test)]
mod tests {
    use super::super::sample::{limit, run, sortie, vary};
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
    fn hardware_has_its_sections_only_where_there_is_any() {
        let plain = summary(&run(vec![limit("co2-1h", 0.6)]));
        let full = summary(&sortie(vec![limit("co2-1h", 0.6)]));
        tables_are_whole(&full);
        for section in [
            "## Tanks",
            "## Sorties",
            "## Vents, fills and equalisations",
            "## Suits",
            "## Removal devices",
            "### Planned and simulated",
            "### Tightest moments",
            "| vents |",
        ] {
            assert!(full.contains(section) && !plain.contains(section), "{section}: {full}");
        }
        for row in [
            "| oxygen | oxygen | 24 kg | 22 kg (91.7 %) | 7.33 kg | 2 kg | 4 kg | **60 h 00 min** | never | 0 d | 0.2 d |",
            "| 1 | lead | out | 10 h 00 min | 15 h 15 min | 5 h 15 min | 2.5 kg (0.9 oxygen, 1.6 diluent) |",
            "| fill | lock | out | 15 h 00 min | 15 min | 0 kPa | 50 kPa | 2.5 kg (0.9 oxygen, 1.6 diluent) | **NO**: a tank ran dry |",
            "| lead | 6 h 00 min | 0 MJ | 0 MJ | 310 W |",
            "| canister | 2 kg | 0 kg | 0.3 kg | 0 kg | 6 | 3 | 1.5 d | - | - | 0 MJ |",
            "| out | 9 h 30 min | 10 h 00 min | 14 h 00 min | 15 h 15 min | 1 h 15 min | 0 h 30 min | 0 h 15 min |",
            "| lock | 9 h 00 min | 10 h 00 min | 3.8 m3 | 3.4 m3 | lead (suit-work, 1.9 m3) |",
            "| canisters taken out | 6 | 2 |",
        ] {
            assert!(full.contains(row), "no {row} in {full}");
        }
        assert!(!full.contains("| sleep |"), "what is on time is not listed");
        let top = full.split("\n## ").next().expect("a top");
        assert!(
            top.contains("BELOW ITS RESERVE") && top.contains("ended SHORT"),
            "{top}"
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
