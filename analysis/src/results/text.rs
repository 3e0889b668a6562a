//! Text for a terminal of 80 columns without colour: wrapped sentences and compact tables.

use super::numbers::{narrow_clock, percent, short};
use super::standing::{Standing, bound_of, standings};
use super::summary::{Gate, Summary};
use super::words::limit_text;

/// Widest line.
pub const WIDTH: usize = 80;

/// Most rows of a table of margins, unless more limits than that are not met.
const MOST_ROWS: usize = 12;

/// Breaks a sentence into lines of at most [`WIDTH`] characters; a longer word gets a line of its own.
#[must_use]
pub fn wrap(text: &str) -> String {
    broken(text, WIDTH, "\n")
}

/// The same with every line `by` columns in, and a line break at the end.
#[must_use]
pub fn indented(text: &str, by: usize) -> String {
    let indent = " ".repeat(by);
    format!(
        "{indent}{}\n",
        broken(text, WIDTH.saturating_sub(by), &format!("\n{indent}"))
    )
}

fn broken(text: &str, width: usize, line_break: &str) -> String {
    let mut out = String::new();
    let mut used = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if used > 0 && used + 1 + length > width {
            out.push_str(line_break);
            used = 0;
        } else if used > 0 {
            out.push(' ');
            used += 1;
        }
        out.push_str(word);
        used += length;
    }
    out
}

/// A table of text: a header, then rows; the first `left` columns are flush left, the others flush right. If it is wider
/// than [`WIDTH`], those first columns become a line of their own above each row.
#[must_use]
pub fn grid(header: &[&str], rows: &[Vec<String>], left: usize) -> String {
    let columns = header.len();
    let width = |from: usize, column: usize| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        if column < from {
            0
        } else {
            cells.chain([header[column].chars().count()]).max().unwrap_or(0)
        }
    };
    let whole: usize = (0..columns).map(|column| width(0, column)).sum::<usize>() + 2 * (columns - 1);
    let split = whole > WIDTH;
    let first = if split { left } else { 0 };
    let widths: Vec<usize> = (0..columns).map(|column| width(first, column)).collect();
    let line = |cells: &[&str]| {
        let mut text = if split { "   ".to_owned() } else { String::new() };
        for column in first..columns {
            if column > first || split {
                text.push_str(if column == first { "" } else { "  " });
            }
            let pad = " ".repeat(widths[column].saturating_sub(cells[column].chars().count()));
            if column < left {
                text.push_str(cells[column]);
                text.push_str(&pad);
            } else {
                text.push_str(&pad);
                text.push_str(cells[column]);
            }
        }
        format!("{}\n", text.trim_end())
    };
    let mut out = String::new();
    if split {
        out.push_str(&format!("{}\n", header[..left].join("  ")));
    }
    out.push_str(&line(header));
    for row in rows {
        let cells: Vec<&str> = row.iter().map(String::as_str).collect();
        if split {
            out.push_str(&format!("{}\n", cells[..left].join("  ")));
        }
        out.push_str(&line(&cells));
    }
    out
}

/// The margins of a summary, one row for each rule, the tightest first; those that are met with more to spare than the
/// first few are counted only. By variation with the low end first, or of one run.
#[must_use]
pub fn margins(summary: &Summary) -> String {
    let all = standings(summary);
    if all.is_empty() {
        return String::new();
    }
    let shown = MOST_ROWS
        .max(all.iter().filter(|standing| !standing.met).count())
        .min(all.len());
    let rows: Vec<Vec<String>> = all[..shown].iter().map(row).collect();
    let header: &[&str] = if summary.variations.is_some() {
        &["rule", "where", "limit", "kept", "5 %", "50 %", "beyond", "met"]
    } else {
        &["rule", "where", "limit", "worst", "margin", "h:min", "met"]
    };
    let mut out = grid(header, &rows, 2);
    if shown < all.len() {
        let more = all.len() - shown;
        out.push_str(&format!(
            "and {more} more, met with more to spare: summary.md has them all\n"
        ));
    }
    out
}

/// What the columns of [`margins`] mean.
#[must_use]
pub fn legend(summary: &Summary) -> String {
    let negative = "Negative is beyond the limit. +N: others whom the rule is about, with more margin.";
    let Some(variations) = &summary.variations else {
        return format!("Worst value, its margin to the limit, both in the limit's unit, and when it came. {negative}");
    };
    let gate = variations.gate.unwrap_or(Gate::USUAL);
    format!(
        "Margins in the limit's unit. kept: what {} of variations keep at least, with {} confidence, each limit on its \
         own; 5 % and 50 %: quantiles of the margin (type 7); beyond: share of variations beyond the limit; met: kept is not \
         below zero. {negative}",
        percent(gate.coverage),
        percent(gate.confidence),
    )
}

/// "NO" stands out without colour.
fn yes(met: bool) -> String {
    if met { "yes" } else { "NO" }.to_owned()
}

fn row(standing: &Standing<'_>) -> Vec<String> {
    let limit = standing.limit;
    let others = if standing.others > 0 {
        format!(" +{}", standing.others)
    } else {
        String::new()
    };
    let place = format!("{}{others}", limit.place);
    let mut cells = vec![limit.id.clone(), place, limit_text(limit)];
    match &limit.statistics {
        Some(of) => {
            let quantile = |key: &str| short(of.margin_quantiles.get(key).copied().unwrap_or(f64::NAN));
            cells.push(short(bound_of(of).unwrap_or(f64::NAN)));
            cells.extend([
                quantile("0.05"),
                quantile("0.5"),
                percent(of.probability),
                yes(standing.met),
            ]);
        }
        None => {
            // A limit that never applied is neither met nor broken.
            let judged = if limit.margin.is_nan() {
                "n/a".to_owned()
            } else {
                yes(standing.met)
            };
            cells.extend([
                short(limit.worst),
                short(limit.margin),
                narrow_clock(limit.at_h),
                judged,
            ]);
        }
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_keep_within_the_width() {
        let text = wrap(&"word ".repeat(60));
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH));
        assert_eq!(text.split_whitespace().count(), 60);
    }

    #[test]
    fn a_narrow_table_is_one_line_a_row() {
        let rows = vec![vec!["co2-1h".to_owned(), "2.41".to_owned()]];
        assert_eq!(grid(&["limit", "worst"], &rows, 1), "limit   worst\nco2-1h   2.41\n");
    }

    #[test]
    fn a_wide_table_puts_names_on_a_line_of_their_own() {
        let rows = vec![vec!["a".repeat(70), "b".repeat(30), "1".to_owned(), "22".to_owned()]];
        let text = grid(&["limit", "where", "x", "y"], &rows, 2);
        assert_eq!(text.lines().count(), 4);
        assert_eq!(text.lines().last(), Some("   1  22"));
    }
}
