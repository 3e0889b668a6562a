//! Axes: where a value lies, and the marks and words along them.

use super::figure::{Across, Along, LEFT, RIGHT, width_of};
use super::svg::{escaped, px};
use super::ticks;

/// Room for a mark of the upright axis, px.
const PITCH: f64 = 28.0;

/// The upright axis: value and px at its ends.
#[derive(Clone, Copy)]
pub(super) struct Up {
    pub lo: f64,
    pub hi: f64,
    pub top: f64,
    pub bottom: f64,
}

impl Up {
    /// Where a value lies, px.
    pub fn at(&self, value: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * (value - self.lo) / (self.hi - self.lo)
    }

    /// Whether a value is in the picture.
    pub fn holds(&self, value: f64) -> bool {
        value >= self.lo && value <= self.hi
    }
}

/// Where the upright axis has its marks.
pub(super) fn marks(up: Up) -> Vec<f64> {
    ticks::round(up.lo, up.hi, ((up.bottom - up.top) / PITCH) as usize)
}

/// The upright axis: its unit and its marks' words.
pub(super) fn left_axis(up: Up, unit: &str) -> String {
    let marks = marks(up);
    let step = marks.get(1).map_or(1.0, |second| second - marks[0]);
    let mut out = format!(
        "<text class=\"unit\" x=\"{}\" y=\"11\" text-anchor=\"end\">{}</text>",
        px(LEFT - 5.0),
        escaped(unit)
    );
    if width_of(unit) > LEFT - 6.0 {
        out = format!("<text class=\"unit\" x=\"2\" y=\"11\">{}</text>", escaped(unit));
    }
    for y in marks {
        out.push_str(&format!(
            "<text class=\"tick\" x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
            px(LEFT - 5.0),
            px(up.at(y) + 3.5),
            ticks::label(y, step)
        ));
    }
    out
}

/// The horizontal axis below a plot that ends at `bottom`.
pub(super) fn bottom_axis(across: Across, name: &str, bottom: f64) -> String {
    let time = across.along == Along::Time;
    let marks = if time {
        ticks::of_time(across.from, across.to, 10)
    } else {
        ticks::round(across.from, across.to, 8)
    };
    let step = marks.get(1).map_or(1.0, |second| second - marks[0]);
    let mut out = format!(
        "<g class=\"across\" data-bottom=\"{0}\"><path class=\"base stretch\" d=\"M{1},{0}H{2}\"/><g class=\"ticks\">",
        px(bottom),
        px(LEFT),
        px(RIGHT)
    );
    for mark in marks {
        let label = if time {
            ticks::time_label(mark, step)
        } else {
            ticks::label(mark, step)
        };
        let x = px(across.at(mark));
        out.push_str(&format!(
            "<path class=\"base\" d=\"M{x},{}v4\"/><text class=\"tick\" x=\"{x}\" y=\"{}\" text-anchor=\"middle\">{label}</text>",
            px(bottom), px(bottom + 15.0)
        ));
    }
    out.push_str(&format!(
        "</g><g class=\"right\"><text class=\"unit\" x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text></g></g>",
        px(RIGHT),
        px(bottom + 29.0),
        escaped(name)
    ));
    out
}
