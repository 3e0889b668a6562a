//! Text for a terminal of 80 columns without colour: wrapped sentences and compact tables.

use super::answer;
use super::numbers::{clock, percent, short};
use super::summary::{Gate, Limit, Summary};

/// Widest line.
pub const WIDTH: usize = 80;

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

/// The margins of a summary: by variation with the low end first, or of one run.
#[must_use]
pub fn margins(summary: &Summary) -> String {
    if summary.limits.is_empty() {
        return String::new();
    }
    if summary.variations.is_some() {
        let header = [
            "limit",
            "where",
            "unit",
            "limit",
            "kept",
            "5 %",
            "50 %",
            "beyond in",
            "met",
        ];
        let rows: Vec<Vec<String>> = summary.limits.iter().filter_map(over_variations).collect();
        grid(&header, &rows, 2)
    } else {
        let header = ["limit", "where", "unit", "limit", "worst", "margin", "at", "met"];
        let rows: Vec<Vec<String>> = summary.limits.iter().map(one_run).collect();
        grid(&header, &rows, 2)
    }
}

/// What the columns of [`margins`] mean.
#[must_use]
pub fn legend(summary: &Summary) -> String {
    let negative = "Negative is beyond the limit.";
    let Some(variations) = &summary.variations else {
        return format!("Worst value, when it came, and its margin to the limit, in the limit's unit. {negative}");
    };
    let gate = variations.gate.unwrap_or(Gate::USUAL);
    format!(
        "Margins in the limit's unit. kept: what {} of variations keep at least, with {} confidence, each limit on its \
         own; 5 % and 50 %: quantiles of the margin; beyond in: share of variations beyond the limit; met: kept is not \
         below zero. {negative}",
        percent(gate.coverage),
        percent(gate.confidence),
    )
}

/// "NO" stands out without colour.
fn yes(met: bool) -> String {
    if met { "yes" } else { "NO" }.to_owned()
}

fn over_variations(limit: &Limit) -> Option<Vec<String>> {
    let statistics = limit.statistics.as_ref()?;
    let quantile = |key: &str| {
        statistics
            .margin_quantiles
            .get(key)
            .map_or_else(|| "-".to_owned(), |value| short(*value))
    };
    Some(vec![
        limit.id.clone(),
        limit.place.clone(),
        limit.unit.to_owned(),
        short(limit.limit),
        answer::bound_of(statistics).map_or_else(|| "-".to_owned(), short),
        quantile("0.05"),
        quantile("0.5"),
        percent(statistics.probability),
        yes(answer::shown(statistics)),
    ])
}

/// Of one run; a limit that never applied is neither met nor broken.
fn judged(limit: &Limit) -> String {
    if limit.margin.is_nan() {
        "n/a".to_owned()
    } else {
        yes(limit.met)
    }
}

fn one_run(limit: &Limit) -> Vec<String> {
    vec![
        limit.id.clone(),
        limit.place.clone(),
        limit.unit.to_owned(),
        short(limit.limit),
        short(limit.worst),
        short(limit.margin),
        clock(limit.at_h),
        judged(limit),
    ]
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
