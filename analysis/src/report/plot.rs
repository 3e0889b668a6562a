//! Lines, bands, bars and points over one pair of axes, against their limits.

use super::figure::{Across, Along, Data, Figure, LEFT, RIGHT, width_of};
use super::mark::{Beyond, HUES, Mark, band_class, line_class};
use super::svg::{escaped, line, px, thinned, value};
use super::ticks;

/// How far beyond the data, as a part of their span, a limit still has its place in the picture.
const REACH: f64 = 1.3;
/// Room above the plot and below it, px: for the words of its unit, and for the axis.
const ABOVE: f64 = 18.0;
const BELOW: f64 = 34.0;
/// How thick the hatched edge of a limit is, px.
const EDGE: f64 = 7.0;

/// A plot in the making.
#[derive(Clone, Debug)]
pub struct Plot {
    /// As of a [`Figure`].
    pub id: String,
    /// As of a [`Figure`].
    pub title: String,
    /// As of a [`Figure`].
    pub says: String,
    /// What the upright axis is: "mmHg".
    pub unit: String,
    /// What the horizontal axis is: "hours from the start".
    pub along: (Along, String),
    /// Its ends; `None` for those of the data.
    pub across: Option<[f64; 2]>,
    /// The upright axis begins at 0.
    pub from_zero: bool,
    /// Height of the plot itself, px.
    pub height: f64,
    /// What is drawn, the first at the back.
    pub marks: Vec<Mark>,
    /// As of a [`Figure`].
    pub data: Data,
}

impl Default for Plot {
    fn default() -> Self {
        Self {
            id: String::new(),
            title: String::new(),
            says: String::new(),
            unit: String::new(),
            along: (Along::Time, "hours from the start".to_owned()),
            across: None,
            from_zero: false,
            height: 150.0,
            marks: Vec::new(),
            data: Data::default(),
        }
    }
}

/// The smallest and largest of finite numbers.
fn range(values: impl Iterator<Item = f64>) -> Option<[f64; 2]> {
    values
        .filter(|value| value.is_finite())
        .fold(None, |range, value| match range {
            None => Some([value, value]),
            Some([lo, hi]) => Some([value.min(lo), value.max(hi)]),
        })
}

/// The upright axis: value and px at its ends.
#[derive(Clone, Copy)]
struct Up {
    lo: f64,
    hi: f64,
    top: f64,
    bottom: f64,
}

impl Up {
    fn at(&self, value: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * (value - self.lo) / (self.hi - self.lo)
    }

    fn holds(&self, value: f64) -> bool {
        value >= self.lo && value <= self.hi
    }
}

impl Plot {
    /// Draws it. `None` if there is nothing to draw.
    #[must_use]
    pub fn figure(self) -> Option<Figure> {
        let [x0, x1] = match self.across {
            Some(ends) => ends,
            None => range(self.marks.iter().flat_map(|mark| mark.values(0)))?,
        };
        let across = Across::new(self.along.0, x0, x1);
        let data = range(self.marks.iter().flat_map(|mark| mark.values(1)))?;
        let (lo, hi, off) = self.ends(data);
        let up = Up {
            lo,
            hi,
            top: ABOVE,
            bottom: ABOVE + self.height,
        };
        let clip = format!("{}-clip", self.id);
        let mut scaled = String::new();
        let mut placed = String::new();
        let mut fixed = String::new();
        for y in ticks::round(lo, hi, (self.height / 28.0) as usize) {
            scaled.push_str(&format!(
                "<path class=\"grid\" d=\"M{},{}H{}\"/>",
                px(LEFT),
                px(up.at(y)),
                px(RIGHT)
            ));
        }
        self.limits(across, up, (&mut scaled, &mut fixed, &mut placed));
        for mark in &self.marks {
            self.draw(mark, across, up, &mut scaled, &mut placed);
        }
        let mut keys = Vec::new();
        for key in self.marks.iter().filter_map(Mark::key) {
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        let body = format!(
            "<clipPath id=\"{clip}\"><rect class=\"stretch\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>\
             <g class=\"panel\" data-y0=\"{}\" data-y1=\"{}\" data-top=\"{}\" data-bottom=\"{}\" data-unit=\"{}\">\
             <g clip-path=\"url(#{clip})\"><g class=\"scaled\">{scaled}</g><g class=\"placed\">{placed}</g></g>{}{fixed}</g>{}",
            px(LEFT),
            px(up.top),
            px(RIGHT - LEFT),
            px(self.height),
            value(lo),
            value(hi),
            px(up.top),
            px(up.bottom),
            escaped(&self.unit),
            self.upright(up),
            bottom_axis(across, &self.along.1, up.bottom)
        );
        let mut says = self.says;
        if !off.is_empty() {
            says.push_str(&format!(" Beyond the scale: {}.", off.join("; ")));
        }
        Some(Figure {
            id: self.id,
            title: self.title,
            says,
            keys,
            height: up.bottom + BELOW,
            across: Some(across),
            body,
            data: self.data,
        })
    }

    /// The ends of the upright axis, and the limits that have no place there.
    fn ends(&self, [mut lo, mut hi]: [f64; 2]) -> (f64, f64, Vec<String>) {
        let span = (hi - lo).max(0.02 * hi.abs().max(lo.abs())).max(1e-9);
        let (reach_lo, reach_hi) = (lo - REACH * span, hi + REACH * span);
        let mut off = Vec::new();
        for mark in &self.marks {
            if let Mark::Limit { name, at, .. } = mark {
                if (reach_lo..=reach_hi).contains(at) {
                    (lo, hi) = (lo.min(*at), hi.max(*at));
                } else {
                    off.push(name.clone());
                }
            }
        }
        if self.from_zero && lo >= 0.0 {
            lo = 0.0;
        }
        let pad = 0.06 * (hi - lo).max(span);
        (if self.from_zero && lo == 0.0 { 0.0 } else { lo - pad }, hi + pad, off)
    }

    /// Limits and levels: a line, for a limit with a hatched edge on its bad side, and its words, which give way to each other.
    fn limits(&self, across: Across, up: Up, (scaled, fixed, placed): (&mut String, &mut String, &mut String)) {
        let mut taken: Vec<(f64, bool)> = Vec::new();
        for mark in &self.marks {
            match mark {
                Mark::Limit { name, at, beyond } if up.holds(*at) => {
                    let y = up.at(*at);
                    let edge = if *beyond == Beyond::Above { y - EDGE } else { y };
                    scaled.push_str(&format!(
                        "<rect class=\"edge\" x=\"{0}\" y=\"{1}\" width=\"{2}\" height=\"{EDGE}\"/>\
                         <path class=\"limit\" data-name=\"{3}\" data-at=\"{4}\" d=\"M{0},{5}H{6}\"/>",
                        px(LEFT),
                        px(edge),
                        px(RIGHT - LEFT),
                        escaped(name),
                        value(*at),
                        px(y),
                        px(RIGHT)
                    ));
                    let words = if *beyond == Beyond::Above {
                        y - EDGE - 3.0
                    } else {
                        y + EDGE + 10.0
                    };
                    words_at(
                        name,
                        words.clamp(up.top + 9.0, up.bottom - 3.0),
                        "word limit-word",
                        &mut taken,
                        fixed,
                    );
                }
                Mark::Level { name, at } => {
                    let y = up.at(*at);
                    scaled.push_str(&format!(
                        "<path class=\"level\" d=\"M{},{}H{}\"/>",
                        px(LEFT),
                        px(y),
                        px(RIGHT)
                    ));
                    words_at(name, (y - 3.0).max(up.top + 9.0), "word", &mut taken, fixed);
                }
                Mark::Upright { name, at, beyond } => {
                    let x = across.at(*at);
                    let class = if beyond.is_some() { "limit" } else { "upright" };
                    if let Some(side) = beyond {
                        let edge = if *side == Beyond::Above { x } else { x - EDGE };
                        placed.push_str(&format!(
                            "<g class=\"at\" data-x=\"{0}\" transform=\"translate({0},0)\"><rect class=\"edge\" x=\"{1}\" y=\"{2}\" \
                             width=\"{EDGE}\" height=\"{3}\"/></g>",
                            px(x), px(edge - x), px(up.top), px(up.bottom - up.top)
                        ));
                    }
                    scaled.push_str(&format!(
                        "<path class=\"{class}\" d=\"M{},{}V{}\"/>",
                        px(x),
                        px(up.top),
                        px(up.bottom)
                    ));
                    let right = x > (LEFT + RIGHT) / 2.0;
                    placed.push_str(&format!(
                        "<g class=\"at\" data-x=\"{0}\" transform=\"translate({0},0)\"><text class=\"word\" x=\"{1}\" y=\"{2}\"{3}>{4}</text></g>",
                        px(x),
                        if right { "-4" } else { "4" },
                        px(up.top + 11.0 + 13.0 * taken.len() as f64),
                        if right { " text-anchor=\"end\"" } else { "" },
                        escaped(name)
                    ));
                    taken.push((f64::NEG_INFINITY, false));
                }
                _ => {}
            }
        }
    }

    fn draw(&self, mark: &Mark, across: Across, up: Up, scaled: &mut String, placed: &mut String) {
        match mark {
            Mark::Line {
                name,
                hue,
                weight,
                points,
            } => {
                let points: Vec<[f64; 2]> = points.iter().map(|&[x, y]| [across.at(x), up.at(y)]).collect();
                scaled.push_str(&format!(
                    "<path class=\"{}\" data-name=\"{}\" d=\"{}\"/>",
                    line_class(*hue, *weight),
                    escaped(name),
                    line(&thinned(&points))
                ));
            }
            Mark::Band {
                name,
                hue,
                inner,
                x,
                low,
                high,
            } => {
                for (upper, lower) in stretches(x, low, high, across, up) {
                    scaled.push_str(&format!(
                        "<path class=\"{}\" data-name=\"{}\" data-split=\"{}\" d=\"{}{}Z\"/>",
                        band_class(*hue, *inner),
                        escaped(name),
                        upper.len(),
                        line(&upper),
                        line(&lower).replacen('M', "L", 1)
                    ));
                }
            }
            Mark::Bars { name, hue, bars } => {
                for [from, to, height] in bars {
                    let (left, right) = (across.at(*from), across.at(*to));
                    let (top, bottom) = (up.at(height.max(0.0)), up.at(height.min(0.0)));
                    scaled.push_str(&format!(
                        "<rect class=\"bar h{}\" data-name=\"{}\" data-from=\"{}\" data-to=\"{}\" data-value=\"{}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                        hue % HUES, escaped(name), value(*from), value(*to), value(*height),
                        px(left), px(top), px(right - left), px(bottom - top)
                    ));
                }
            }
            Mark::Points { hue, points, .. } => {
                for ([x, y], words, stands_out) in points {
                    if x.is_finite() && y.is_finite() {
                        placed.push_str(&format!(
                            "<g class=\"at\" data-x=\"{0}\" transform=\"translate({0},{1})\" data-y=\"{1}\"><path class=\"point h{2}{3}\" \
                             tabindex=\"-1\" d=\"{4}\"><title>{5}</title></path></g>",
                            px(across.at(*x)), px(up.at(*y)), hue % HUES,
                            if *stands_out { " chosen" } else { "" },
                            SHAPES[hue % HUES], escaped(words)
                        ));
                    }
                }
            }
            Mark::Limit { .. } | Mark::Level { .. } | Mark::Upright { .. } => {}
        }
    }

    fn upright(&self, up: Up) -> String {
        let marks = ticks::round(up.lo, up.hi, (self.height / 28.0) as usize);
        let step = marks.get(1).map_or(1.0, |second| second - marks[0]);
        let mut out = format!(
            "<text class=\"unit\" x=\"{}\" y=\"11\" text-anchor=\"end\">{}</text>",
            px(LEFT - 5.0),
            escaped(&self.unit)
        );
        if width_of(&self.unit) > LEFT - 6.0 {
            out = format!("<text class=\"unit\" x=\"2\" y=\"11\">{}</text>", escaped(&self.unit));
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
}

/// Shapes of points, by hue, about the origin.
const SHAPES: [&str; HUES] = [
    "M-4,0A4,4 0 1,0 4,0A4,4 0 1,0 -4,0Z",
    "M-4,-4H4V4H-4Z",
    "M0,-5L5,4H-5Z",
    "M0,-5.5L5.5,0L0,5.5L-5.5,0Z",
    "M0,5L5,-4H-5Z",
    "M-5,-1.6H-1.6V-5H1.6V-1.6H5V1.6H1.6V5H-1.6V1.6H-5Z",
];

/// Words at the right end, or at the left if others stand there.
fn words_at(words: &str, y: f64, class: &str, taken: &mut Vec<(f64, bool)>, out: &mut String) {
    let is_free = |right: bool| !taken.iter().any(|&(at, side)| side == right && (at - y).abs() < 11.0);
    let right = is_free(true) || !is_free(false);
    taken.push((y, right));
    let y = px(y);
    let text = escaped(words);
    out.push_str(&if right {
        format!(
            "<g class=\"right\"><text class=\"{class}\" x=\"{}\" y=\"{y}\" text-anchor=\"end\">{text}</text></g>",
            px(RIGHT - 4.0)
        )
    } else {
        format!(
            "<text class=\"{class}\" x=\"{}\" y=\"{y}\">{text}</text>",
            px(LEFT + 4.0)
        )
    });
}

/// Upper and lower edge of a band, stretch by stretch; the lower one from right to left.
fn stretches(x: &[f64], low: &[f64], high: &[f64], across: Across, up: Up) -> Vec<(Vec<[f64; 2]>, Vec<[f64; 2]>)> {
    let mut out = Vec::new();
    let (mut upper, mut lower) = (Vec::new(), Vec::new());
    for ((&x, &low), &high) in x.iter().zip(low).zip(high) {
        if low.is_finite() && high.is_finite() {
            upper.push([across.at(x), up.at(high)]);
            lower.push([across.at(x), up.at(low)]);
        } else if !upper.is_empty() {
            out.push((std::mem::take(&mut upper), std::mem::take(&mut lower)));
        }
    }
    if !upper.is_empty() {
        out.push((upper, lower));
    }
    for (upper, lower) in &mut out {
        *upper = thinned(upper);
        *lower = thinned(lower);
        lower.reverse();
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
