//! The margins, what drives them, and the limits in words.

use super::super::numbers::{clock, percent, short};
use super::super::standing;
use super::super::summary::{Limit, Statistics, Summary, Variations};
use super::super::words::{limit_text, margin};
use super::{further, sure, table};

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

pub(super) fn one_run(out: &mut String, of: &Summary) {
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

pub(super) fn over_variations(out: &mut String, of: &Summary, variations: &Variations) {
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
    out.push_str(&format!(
        "{} Quantiles of the margin by Hyndman and Fan's definition 7. *Beyond in*: share of variations beyond the limit. All \
         in the limit's unit; negative is beyond.\n\n",
        sure::method(variations)
    ));
    if let Some(error) = variations.quantile_error {
        let error = percent(error);
        out.push_str(&format!(
            "So many margins are counted in bins, not kept: quantiles and what is kept are within {error} of themselves; \
             counts and shares are exact.\n\n"
        ));
    }
    sure::sure(out, of, variations);
    further::drivers(out, of, variations, &judged);
    out.push_str("The tables below are of the run on the medians, which is optimistic where durations are skewed.\n\n");
}

pub(super) fn rules(out: &mut String, limits: &[Limit]) {
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
