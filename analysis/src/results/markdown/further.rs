//! What drives the margins, and how likely a rare violation is.

use std::fmt::Write as _;

use super::super::holds::{self, RANK};
use super::super::numbers::{short, with_unit};
use super::super::summary::{Limit, Rare, Statistics, Summary, Variations};
use super::{cell, table};

/// Rows of a limit in a table.
const MOST_ROWS: usize = 5;

pub(super) fn drivers(out: &mut String, of: &Summary, variations: &Variations, judged: &[(&Limit, &Statistics)]) {
    out.push_str("### What drives the margins\n\n");
    let mut told = 0;
    for (limit, _) in judged {
        if let Some(sentence) = holds::sentence(of, limit) {
            let _ = writeln!(out, "- {}", cell(&sentence));
            told += 1;
        }
    }
    if told > 0 {
        out.push('\n');
    }
    if let Some(runs) = &of.drivers {
        let _ = writeln!(
            out,
            "Shares of the variance are sensitivity indices from {} further runs ({} rows, {} design whatever that of the \
             variations): {}. `drivers.csv` has them all.\n",
            runs.runs, runs.rows, runs.design, runs.method
        );
        let rows = judged.iter().flat_map(|(limit, statistics)| {
            let shares = holds::shares(&statistics.drivers);
            let row = |share: &super::super::driven::Share<'_>| {
                let interval = |[low, high]: [f64; 2]| format!("{} to {}", short(low), short(high));
                vec![
                    limit.id.clone(),
                    limit.place.clone(),
                    share.name.to_owned(),
                    short(share.first.0),
                    interval(share.first.1),
                    short(share.total.0),
                    interval(share.total.1),
                ]
            };
            shares.iter().take(MOST_ROWS).map(row).collect::<Vec<_>>()
        });
        let header = [
            "limit",
            "where",
            "factor",
            "first",
            "95 % interval",
            "total",
            "95 % interval",
        ];
        table(out, &header, rows);
    }
    out.push_str("Rank correlations of margin and input: above 0 where more of it is better.");
    if variations.driver_runs < variations.runs {
        let _ = write!(out, " Told from the first {} variations.", variations.driver_runs);
    }
    out.push_str("\n\n");
    let rows = judged.iter().flat_map(|(limit, statistics)| {
        let ranks = statistics.drivers.iter().filter(|driver| driver.kind == RANK);
        ranks.take(MOST_ROWS).map(|driver| {
            vec![
                limit.id.clone(),
                limit.place.clone(),
                driver.input.clone(),
                driver.kind.to_owned(),
                short(driver.index),
            ]
        })
    });
    table(out, &["limit", "where", "input", "kind", "index"], rows);
}

/// The job in a line.
pub(super) fn rare_job(of: &Summary, rare: &Rare) -> String {
    format!(
        "`breathroom {} --rare` of `{}`: how likely {} ({}) is broken, by {}, seed {}, {} design; the rest is of the run on \
         the medians.",
        of.command, of.scenario.file, rare.limit, rare.place, rare.method, rare.seed, rare.design
    )
}

/// The levels of a rare violation's study.
pub(super) fn rare(out: &mut String, of: &Summary) {
    let Some(rare) = &of.rare else { return };
    let _ = writeln!(
        out,
        "## Rare violations\n\nEach level holds samples whose margin is at most its threshold; the probability is the product \
         of the shares. *Moves kept*: of the walk that makes samples, about 0.44 is best. *Correlation*: 0 for independent \
         samples. The levels ended because {}.\n",
        rare.reason
    );
    let rows = rare.levels.iter().map(|level| {
        vec![
            level
                .threshold
                .map_or_else(|| "-".to_owned(), |at| with_unit(at, rare.unit)),
            short(level.share),
            level.chains.to_string(),
            level.acceptance.map_or_else(|| "-".to_owned(), short),
            short(level.correlation),
        ]
    });
    table(
        out,
        &["threshold", "share", "chains", "moves kept", "correlation"],
        rows,
    );
}
