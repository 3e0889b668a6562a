//! A course over time as a few rows of text, with its limit drawn at its height.
//!
//! What a column shows is the value nearest to the bad side of the limit among those that fall into it (the highest, or the
//! lowest of what must not be too low), so that no peak is lost; a column without a value of its own lies on the straight line
//! between its neighbours. Heights are linear from 0. The limit is a row of its own between two rows, so it is exactly where it
//! is drawn; what is above it breaks through it. Only where it is more than three times what is highest it is not at its height:
//! the rows then end at what is highest, and it is dashed and said to be further up, since nothing of the course could be read else.
//! Valid for values from 0 on. A value that is no number is a gap.

use super::numbers::{clock, narrow_clock, short, with_unit};
use super::text::wrap;

/// Columns of a course on a line of 80: labels to the left, a word to the right.
pub const CELLS: usize = 64;

/// Rows without the limit's own.
const MOST_ROWS: usize = 4;

/// Rows if nothing is beyond the limit, or there is none.
const ROWS: usize = 3;

/// Columns left of a course: a number of three figures and the axis.
const LABEL: usize = 8;

/// Eighths of a row.
const BLOCKS: [char; 9] = [' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

/// The same where only ASCII can be shown.
const ASCII: [char; 9] = [' ', '.', '.', '.', ':', ':', ':', '#', '#'];

/// What a course is held against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// Its height, in the unit of the values.
    pub at: f64,
    /// Values must not be below it; else not above.
    pub at_least: bool,
    /// What it is, in a word: "limit".
    pub word: &'static str,
}

/// A course and what is said of it.
#[derive(Clone, Copy, Debug)]
pub struct Course<'a> {
    /// When, hours, ascending.
    pub times_h: &'a [f64],
    /// The value at each time; NaN where there is none.
    pub values: &'a [f64],
    /// What it is held against.
    pub mark: Option<Mark>,
    /// Unit of the values.
    pub unit: &'a str,
    /// What it is, above it.
    pub heading: &'a str,
    /// What else is to be known, below it; may be empty.
    pub note: &'a str,
}

/// The course as lines of at most 80 columns, each ending in a line break, with `cells` columns for the whole time; empty if
/// there is no course to show (fewer than two times, or no value).
#[must_use]
pub fn draw(course: &Course<'_>, cells: usize, utf8: bool) -> String {
    let Some(extreme) = extreme(course) else {
        return String::new();
    };
    let (&[start, .., end], true) = (course.times_h, cells > 0) else {
        return String::new();
    };
    if start >= end {
        return String::new();
    }
    let highest = highest(course.values);
    let frame = Frame::of(highest, course.mark);
    let columns = columns(course, (start, end), cells);
    let mut out = format!("{}\n", wrap(course.heading));
    frame.draw(&columns, utf8, &mut out);
    let (from, to) = (narrow_clock(start), narrow_clock(end));
    let between = cells.saturating_sub(from.len() + to.len()).max(1);
    // Where there is room for it.
    let unit = if between > 6 { "h:min" } else { "" };
    out.push_str(&format!("{:LABEL$}{from}{unit:^between$}{to}\n", ""));
    out.push_str(&format!(
        "{}\n",
        wrap(&said(course, extreme, &frame, (end - start) / cells as f64))
    ));
    out
}

/// What stands below: the extreme with its time, the limit, what a column shows, what is cut off, the note.
fn said(course: &Course<'_>, (value, at): (f64, f64), frame: &Frame, column_h: f64) -> String {
    let unit = course.unit;
    let lowest = course.mark.is_some_and(|mark| mark.at_least);
    let [name, which] = if lowest {
        ["Lowest", "lowest"]
    } else {
        ["Peak", "highest"]
    };
    let mut said = format!("{name} {} at {}", with_unit(value, unit), clock(at));
    if let Some(mark) = course.mark {
        said.push_str(&format!("; {} {}", mark.word, with_unit(mark.at, unit)));
    }
    let step = if column_h < 1.0 {
        with_unit(60.0 * column_h, "min")
    } else {
        with_unit(column_h, "h")
    };
    said.push_str(&format!(". A column is the {which} of {step}."));
    if frame.far {
        said.push_str(&format!(
            " The {} is further up than drawn.",
            frame.mark.map_or("limit", |mark| mark.word)
        ));
    }
    if frame.cut {
        said.push_str(&format!(" What is above {} is cut off.", with_unit(frame.top, unit)));
    }
    if !course.note.is_empty() {
        said.push_str(&format!(" {}", course.note));
    }
    said
}

fn highest(values: &[f64]) -> f64 {
    values
        .iter()
        .copied()
        .filter(|value| value.is_finite())
        .fold(0.0, f64::max)
}

/// The value nearest to the bad side, and when it first came.
fn extreme(course: &Course<'_>) -> Option<(f64, f64)> {
    let lowest = course.mark.is_some_and(|mark| mark.at_least);
    let mut found: Option<(f64, f64)> = None;
    for (&value, &at) in course.values.iter().zip(course.times_h) {
        let worse = found.is_none_or(|(worst, _)| if lowest { value < worst } else { value > worst });
        if value.is_finite() && worse {
            found = Some((value, at));
        }
    }
    found
}

/// What each column shows; NaN for a gap.
fn columns(course: &Course<'_>, (start, end): (f64, f64), cells: usize) -> Vec<f64> {
    let lowest = course.mark.is_some_and(|mark| mark.at_least);
    let mut columns = vec![f64::NAN; cells];
    let mut seen = vec![false; cells];
    let width = (end - start) / cells as f64;
    for (&at, &value) in course.times_h.iter().zip(course.values) {
        let column = (((at - start) / width) as usize).min(cells - 1);
        seen[column] = true;
        // The other one, if one is no number.
        let worse = if lowest { f64::min } else { f64::max };
        columns[column] = worse(columns[column], value);
    }
    for column in (0..cells).filter(|&column| !seen[column]) {
        columns[column] = between(course, start + (column as f64 + 0.5) * width);
    }
    columns
}

/// The value on the straight line between two neighbours; NaN beside a gap.
fn between(course: &Course<'_>, at: f64) -> f64 {
    let next = course.times_h.partition_point(|&time| time < at);
    let point = |index: usize| Some((*course.times_h.get(index)?, *course.values.get(index)?));
    let Some(((t0, v0), (t1, v1))) = next.checked_sub(1).and_then(point).zip(point(next)) else {
        return f64::NAN;
    };
    v0 + (v1 - v0) * ((at - t0) / (t1 - t0))
}

/// The rows and what they measure.
struct Frame {
    /// Height of a row.
    row: f64,
    /// Rows below the mark (all, if there is none) and above it.
    below: usize,
    above: usize,
    /// What the rows end at.
    top: f64,
    /// Something is above that.
    cut: bool,
    /// The mark is further up than it is drawn.
    far: bool,
    mark: Option<Mark>,
}

impl Frame {
    /// As many rows below the mark as leave room for what is above it at the same scale.
    fn of(highest: f64, mark: Option<Mark>) -> Self {
        let mark = mark.filter(|mark| mark.at.is_finite() && mark.at > 0.0);
        // Far below its mark a course would be flat: it has the rows for itself.
        let far = mark.is_some_and(|mark| highest > 0.0 && highest < mark.at / ROWS as f64);
        let Some(level) = mark.map(|mark| mark.at).filter(|_| !far) else {
            return Self {
                row: highest / ROWS as f64,
                below: ROWS,
                above: 0,
                top: highest,
                cut: false,
                far,
                mark,
            };
        };
        if highest <= level {
            return Self {
                row: level / ROWS as f64,
                below: ROWS,
                above: 0,
                top: level,
                cut: false,
                far: false,
                mark,
            };
        }
        let ends_at = |below: usize| level / below as f64 * MOST_ROWS as f64;
        let below = (1..MOST_ROWS)
            .rev()
            .find(|&below| highest <= ends_at(below))
            .unwrap_or(1);
        Self {
            row: level / below as f64,
            below,
            above: MOST_ROWS - below,
            top: ends_at(below),
            cut: highest > ends_at(below),
            far: false,
            mark,
        }
    }

    /// Rows from the top, the mark among them, then the axis.
    fn draw(&self, columns: &[f64], utf8: bool, out: &mut String) {
        let (wall, corner, line) = if utf8 { ('│', '└', '─') } else { ('|', '+', '-') };
        let full = if utf8 { BLOCKS[8] } else { ASCII[8] };
        let mut put = |label: &str, edge: char, cells: String, word: &str| {
            let text = format!("{label:>width$}{edge}{cells} {word}", width = LABEL - 1);
            out.push_str(&format!("{}\n", text.trim_end()));
        };
        let rows = self.below + self.above;
        for row in (0..rows).rev() {
            if let Some(mark) = self.mark.filter(|_| row + 1 == self.below) {
                let across = |(column, &value): (usize, &f64)| match (value > mark.at, self.far, utf8) {
                    (true, ..) => full,
                    (false, false, _) => line,
                    (false, true, true) => '┄',
                    (false, true, false) => [line, ' '][column % 2],
                };
                let cells = columns.iter().enumerate().map(across).collect();
                put(&short(mark.at), wall, cells, mark.word);
            }
            let label = if row + 1 == rows && (self.above > 0 || self.far || self.mark.is_none()) {
                short(self.top)
            } else {
                String::new()
            };
            put(
                &label,
                wall,
                columns.iter().map(|&value| self.cell(value, row, utf8)).collect(),
                "",
            );
        }
        put("0", corner, columns.iter().map(|_| line).collect(), "");
    }

    /// What a value fills of a row, counted from below.
    fn cell(&self, value: f64, row: usize, utf8: bool) -> char {
        if value.is_nan() {
            return ' ';
        }
        let part = if self.row > 0.0 {
            value / self.row - row as f64
        } else {
            0.0
        };
        let eighths = (8.0 * part).round().clamp(0.0, 8.0) as usize;
        // A value that is there can be told from a gap.
        let least = usize::from(row == 0);
        let set = if utf8 { &BLOCKS } else { &ASCII };
        set[eighths.max(least)]
    }
}

#[cfg(test)]
#[path = "sparkline_tests.rs"]
mod tests;
