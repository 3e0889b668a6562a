//! Pieces of SVG as text: numbers of fixed precision, escaped words, paths.
//!
//! Lengths are in px of CSS, of which 96 make 25.4 mm: a figure says its size in mm, so it prints at its own size.

use std::fmt::Write as _;

/// How far a drawn line may lie from its samples, px: 13 micrometres on paper.
pub const WITHIN_PX: f64 = 0.05;

/// A length with two decimals at most, without zeros that say nothing. What is not finite has no place in a drawing.
#[must_use]
pub fn px(value: f64) -> String {
    let mut out = String::new();
    push_px(&mut out, value);
    out
}

/// The same, behind what is there. Whole hundredths: a page has tens of thousands of lengths, and a decimal that is right to the
/// last digit of a float takes ten times as long.
fn push_px(out: &mut String, value: f64) {
    debug_assert!(value.is_finite(), "a length that is no number");
    let hundredths = (value * 100.0).round() as i64;
    let sign = if hundredths < 0 { "-" } else { "" };
    let (whole, part) = (hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100);
    let _never_fails = match part {
        0 => write!(out, "{sign}{whole}"),
        tenths if tenths % 10 == 0 => write!(out, "{sign}{whole}.{}", tenths / 10),
        part => write!(out, "{sign}{whole}.{part:02}"),
    };
}

/// A data value as an attribute: as many digits as it takes to read it back.
#[must_use]
pub fn value(value: f64) -> String {
    format!("{value}")
}

/// Text or an attribute's value, escaped.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // Not allowed in XML, not even as references.
            c if c.is_control() && c != '\n' && c != '\t' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// Words as a part of an id, and of a file's name: lower case, letters and digits, with hyphens for all else.
#[must_use]
pub fn slug(words: &str) -> String {
    let plain = words.to_lowercase().replace(|c: char| !c.is_alphanumeric(), "-");
    plain.trim_matches('-').to_owned()
}

/// An attribute with what words become where there is little room; nothing if they stay as they are.
#[must_use]
pub fn shortened(words: &str) -> String {
    if words.is_empty() {
        String::new()
    } else {
        format!(" data-short=\"{}\"", escaped(words))
    }
}

/// A path's `d` through points; where one is missing the line is broken.
#[must_use]
pub fn line(points: &[[f64; 2]]) -> String {
    let mut d = String::new();
    let mut pen_down = false;
    for [x, y] in points {
        if !(x.is_finite() && y.is_finite()) {
            pen_down = false;
            continue;
        }
        d.push(if pen_down { 'L' } else { 'M' });
        push_px(&mut d, *x);
        d.push(',');
        push_px(&mut d, *y);
        pen_down = true;
    }
    d
}

/// The same points without those that a line between their neighbours passes within [`WITHIN_PX`] of, above or below.
///
/// Equation: from each kept point the slopes to all later ones, give or take the tolerance, must have one in common.
/// Symbols: px. Source: the swinging door of process historians, common practice. Valid for x that never falls. Left out: nothing that a
/// reader could see.
#[must_use]
pub fn thinned(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut out: Vec<[f64; 2]> = Vec::new();
    let mut from = 0;
    while from < points.len() {
        let is_drawn = |p: &[f64; 2]| p[0].is_finite() && p[1].is_finite();
        if !is_drawn(&points[from]) {
            // One gap says as much as many.
            if out.last().is_some_and(is_drawn) {
                out.push([f64::NAN, f64::NAN]);
            }
            from += 1;
            continue;
        }
        out.push(points[from]);
        let [x0, y0] = points[from];
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut to = from;
        // The farthest point to which a line can go straight past all between.
        for (index, &[x, y]) in points.iter().enumerate().skip(from + 1) {
            if !(x.is_finite() && y.is_finite()) || x <= x0 {
                if to == from && x.is_finite() && y.is_finite() {
                    to = index;
                }
                break;
            }
            let slope = (y - y0) / (x - x0);
            if slope < low || slope > high {
                break;
            }
            to = index;
            low = low.max((y - WITHIN_PX - y0) / (x - x0));
            high = high.min((y + WITHIN_PX - y0) / (x - x0));
        }
        if to == from {
            // The next is straight up or down, a gap, or the end.
            from += 1;
        } else {
            from = to;
            if to == points.len() - 1 {
                out.push(points[to]);
                break;
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_cannot_break_out_and_lengths_are_short() {
        assert_eq!(escaped("a<b> & \"c\"\u{1}"), "a&lt;b&gt; &amp; &quot;c&quot; ");
        assert_eq!(slug("co2, hour [mmHg]"), "co2--hour--mmhg");
        assert_eq!(slug("../a_b:C"), "a-b-c");
        assert_eq!(
            (px(1.0), px(-0.001), px(12.345)),
            ("1".into(), "0".into(), "12.35".into())
        );
        assert_eq!(
            [-0.5, -12.07, 3.999, 0.004, 660.0, 1.1].map(px),
            ["-0.5", "-12.07", "4", "0", "660", "1.1"]
        );
        assert_eq!(
            line(&[[0.0, 1.0], [f64::NAN, 0.0], [2.0, 3.0], [4.0, 5.5]]),
            "M0,1M2,3L4,5.5"
        );
    }

    /// Every sample lies within the tolerance of the line that is drawn.
    #[test]
    fn what_is_left_out_lies_on_the_line() {
        let points: Vec<[f64; 2]> = (0..=2_000)
            .map(|i| {
                let x = f64::from(i) * 0.3;
                let y = 40.0 * libm::sin(x / 30.0) + if i > 900 { 20.0 } else { 0.0 };
                [x, y]
            })
            .collect();
        let kept = thinned(&points);
        assert!(kept.len() < 400, "{}", kept.len());
        assert_eq!((kept[0], kept[kept.len() - 1]), (points[0], points[2_000]));
        for [x, y] in points {
            let next = kept.partition_point(|p| p[0] < x);
            let on = if kept[next][0] == x {
                kept[next][1]
            } else {
                let ([x0, y0], [x1, y1]) = (kept[next - 1], kept[next]);
                y0 + (y1 - y0) * (x - x0) / (x1 - x0)
            };
            assert!((on - y).abs() <= WITHIN_PX + 1e-9, "{x}: {on} {y}");
        }
    }

    #[test]
    fn steps_and_gaps_are_kept() {
        let step = [[0.0, 1.0], [1.0, 1.0], [1.0, 5.0], [2.0, 5.0]];
        assert_eq!(thinned(&step), step);
        let gap = [
            [0.0, 1.0],
            [f64::NAN, 0.0],
            [f64::NAN, 0.0],
            [3.0, 1.0],
            [4.0, 1.0],
            [5.0, 1.0],
        ];
        assert_eq!(line(&thinned(&gap)), "M0,1M3,1L5,1");
        assert_eq!(thinned(&[]), Vec::<[f64; 2]>::new());
    }
}
