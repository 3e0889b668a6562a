//! Lines, bands, bars and points over one pair of axes, against their limits.

use super::axes::{Up, bottom_axis, left_axis, marks};
use super::figure::{Across, Along, Data, Figure, LEFT, RIGHT};
use super::labels::{EDGE, point_name, upright_at, words_at};
use super::mark::{Beyond, HUES, Mark, band_class, line_class, shape};
use super::svg::{escaped, line, px, thinned, value};

/// How far beyond the data, in their spans, every limit still has its place in the picture; and how far the nearest has it, where
/// there would be none on its side.
const REACH: f64 = 1.3;
const FAR: f64 = 7.0;
/// Room above the plot and below it, px: for the words of its unit, and for the axis.
const ABOVE: f64 = 18.0;
const BELOW: f64 = 34.0;

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
    /// Points have their names beside them: the first word of what they say.
    pub names_points: bool,
    /// Height of the plot itself, px.
    pub height: f64,
    /// What is drawn, the first at the back.
    pub marks: Vec<Mark>,
    /// Lines of another run over them: with these, the first run's are solid and the other's dashed, whatever their hue.
    pub over: Vec<Mark>,
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
            names_points: false,
            height: 150.0,
            marks: Vec::new(),
            over: Vec::new(),
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

impl Plot {
    /// The same with room at both ends of its width: for clouds of points.
    #[must_use]
    pub fn padded(mut self) -> Self {
        if self.across.is_none()
            && let Some([lo, hi]) = range(self.marks.iter().flat_map(|mark| mark.values(0)))
        {
            let pad = 0.07 * (hi - lo).max(1e-9 * hi.abs());
            self.across = Some([lo - pad, hi + pad]);
        }
        self
    }

    /// Draws it. `None` if there is nothing to draw.
    #[must_use]
    pub fn figure(self) -> Option<Figure> {
        let [x0, x1] = match self.across {
            Some(ends) => ends,
            None => range(self.all().flat_map(|mark| mark.values(0)))?,
        };
        let across = Across::new(self.along.0, x0, x1);
        let data = range(self.all().flat_map(|mark| mark.values(1)))?;
        let (lo, hi) = self.ends(data);
        let up = Up {
            lo,
            hi,
            top: ABOVE,
            bottom: ABOVE + self.height,
        };
        let clip = format!("{}-clip", self.id);
        let mut edges = String::new();
        let mut scaled = String::new();
        let mut placed = String::new();
        let mut fixed = String::new();
        for y in marks(up) {
            scaled.push_str(&format!(
                "<path class=\"grid\" d=\"M{},{}H{}\"/>",
                px(LEFT),
                px(up.at(y)),
                px(RIGHT)
            ));
        }
        self.limits(across, up, [&mut edges, &mut scaled, &mut fixed, &mut placed]);
        let whose = if self.over.is_empty() {
            ["", ""]
        } else {
            [" first", " second"]
        };
        let mut keys = Vec::new();
        for (marks, whose) in [(&self.marks, whose[0]), (&self.over, whose[1])] {
            for mark in marks {
                self.draw((mark, whose), across, up, &mut scaled, &mut placed);
                if let Some(mut key) = mark.key() {
                    key.class.push_str(whose);
                    if !keys.contains(&key) {
                        keys.push(key);
                    }
                }
            }
        }
        let body = format!(
            "<clipPath id=\"{clip}\"><rect class=\"stretch\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>\
             <g class=\"panel\" data-y0=\"{}\" data-y1=\"{}\" data-top=\"{}\" data-bottom=\"{}\" data-unit=\"{}\">\
             <g clip-path=\"url(#{clip})\">{edges}<g class=\"scaled\">{scaled}</g><g class=\"placed\">{placed}</g></g>{}{fixed}</g>{}",
            px(LEFT),
            px(up.top),
            px(RIGHT - LEFT),
            px(self.height),
            value(lo),
            value(hi),
            px(up.top),
            px(up.bottom),
            escaped(&self.unit),
            left_axis(up, &self.unit),
            bottom_axis(across, &self.along.1, up.bottom)
        );
        Some(Figure {
            id: self.id,
            title: self.title,
            says: self.says,
            keys,
            height: up.bottom + BELOW,
            across: Some(across),
            body,
            data: self.data,
        })
    }

    fn all(&self) -> impl Iterator<Item = &Mark> {
        self.marks.iter().chain(&self.over)
    }

    /// The ends of the upright axis.
    fn ends(&self, [mut lo, mut hi]: [f64; 2]) -> (f64, f64) {
        let span = (hi - lo).max(0.02 * hi.abs().max(lo.abs())).max(1e-9);
        let (data_lo, data_hi) = (lo, hi);
        let limits = || {
            self.marks.iter().filter_map(|mark| match mark {
                Mark::Limit { at, beyond, .. } => Some((*at, *beyond)),
                _ => None,
            })
        };
        for (at, _) in limits() {
            if (data_lo - REACH * span..=data_hi + REACH * span).contains(&at) {
                (lo, hi) = (lo.min(at), hi.max(at));
            }
        }
        for side in [Beyond::Above, Beyond::Below] {
            let of_side = || limits().filter(|(_, beyond)| *beyond == side).map(|(at, _)| at);
            if of_side().any(|at| (lo..=hi).contains(&at)) {
                continue;
            }
            if side == Beyond::Above {
                let nearest = of_side().filter(|&at| at > hi).fold(f64::INFINITY, f64::min);
                hi = if nearest <= data_hi + FAR * span { nearest } else { hi };
            } else {
                let nearest = of_side().filter(|&at| at < lo).fold(f64::NEG_INFINITY, f64::max);
                lo = if nearest >= data_lo - FAR * span { nearest } else { lo };
            }
        }
        let from_zero = self.from_zero && lo >= 0.0;
        let lo = if from_zero { 0.0 } else { lo };
        let pad = 0.06 * (hi - lo).max(span);
        (if from_zero { 0.0 } else { lo - pad }, hi + pad)
    }

    /// Limits at one place, as one: where, their bad side, their names in full and in short.
    fn limits_by_place(&self) -> Vec<(f64, Beyond, String, String)> {
        let mut out: Vec<(f64, Beyond, String, String)> = Vec::new();
        for mark in &self.marks {
            let Mark::Limit { name, at, beyond } = mark else {
                continue;
            };
            let short = name.split(':').next().unwrap_or(name);
            match out.iter_mut().find(|(other, side, ..)| other == at && side == beyond) {
                Some((.., names, shorts)) => {
                    names.push_str(&format!("; {name}"));
                    shorts.push_str(&format!("; {short}"));
                }
                None => out.push((*at, *beyond, name.clone(), short.to_owned())),
            }
        }
        out
    }

    /// Limits and levels: a line, for a limit with a hatched edge on its bad side, and its words, which give way to each other.
    fn limits(&self, across: Across, up: Up, [edges, scaled, fixed, placed]: [&mut String; 4]) {
        let mut taken: Vec<(f64, bool)> = Vec::new();
        for (at, beyond, name, short) in self.limits_by_place() {
            if !up.holds(at) {
                // Beyond the picture: said at its edge.
                let (arrow, y) = if at > up.hi {
                    ("\u{2191}", up.top + 9.0)
                } else {
                    ("\u{2193}", up.bottom - 4.0)
                };
                words_at(
                    [&format!("{arrow} {name}"), &format!("{arrow} {short}")],
                    y,
                    "word limit-word",
                    &mut taken,
                    fixed,
                );
                continue;
            }
            let y = up.at(at);
            let edge = if beyond == Beyond::Above { y - EDGE } else { y };
            // Beside what is scaled: a hatch would be drawn out with it.
            edges.push_str(&format!(
                "<rect class=\"edge stretch\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{EDGE}\"/>",
                px(LEFT),
                px(edge),
                px(RIGHT - LEFT)
            ));
            scaled.push_str(&format!(
                "<path class=\"limit\" data-name=\"{1}\" data-at=\"{2}\" d=\"M{0},{3}H{4}\"/>",
                px(LEFT),
                escaped(&name),
                value(at),
                px(y),
                px(RIGHT)
            ));
            let words = if beyond == Beyond::Above { y - 2.5 } else { y + 10.5 };
            let words = words.clamp(up.top + 9.0, up.bottom - 3.0);
            words_at([&name, &short], words, "word limit-word", &mut taken, fixed);
        }
        let mut rows = 0;
        for mark in &self.marks {
            match mark {
                Mark::Level { name, at } => {
                    let y = up.at(*at);
                    scaled.push_str(&format!(
                        "<path class=\"level\" d=\"M{},{}H{}\"/>",
                        px(LEFT),
                        px(y),
                        px(RIGHT)
                    ));
                    if !name.is_empty() {
                        words_at([name, ""], (y - 3.0).max(up.top + 9.0), "word", &mut taken, fixed);
                    }
                }
                Mark::Upright { name, at, beyond } => {
                    upright_at(name, across.at(*at), *beyond, (up, rows), scaled, placed);
                    rows += 1;
                }
                _ => {}
            }
        }
    }

    fn draw(&self, (mark, whose): (&Mark, &str), across: Across, up: Up, scaled: &mut String, placed: &mut String) {
        match mark {
            Mark::Line {
                name,
                hue,
                weight,
                points,
            } => {
                let points: Vec<[f64; 2]> = points.iter().map(|&[x, y]| [across.at(x), up.at(y)]).collect();
                scaled.push_str(&format!(
                    "<path class=\"{}{whose}\" data-name=\"{}\" d=\"{}\"/>",
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
                             d=\"{4}\"><title>{5}</title></path>{6}</g>",
                            px(across.at(*x)), px(up.at(*y)), hue % HUES,
                            if *stands_out { " chosen" } else { "" },
                            shape(*hue), escaped(words),
                            if self.names_points { point_name(words, *x > (across.from + across.to) / 2.0) } else { String::new() }
                        ));
                    }
                }
            }
            Mark::Limit { .. } | Mark::Level { .. } | Mark::Upright { .. } => {}
        }
    }
}

/// The points of one edge of a band.
type Edge = Vec<[f64; 2]>;

/// Upper and lower edge of a band, stretch by stretch; the lower one from right to left.
fn stretches(x: &[f64], low: &[f64], high: &[f64], across: Across, up: Up) -> Vec<(Edge, Edge)> {
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

#[cfg(test)]
mod tests {
    use super::super::mark::Weight;
    use super::*;

    fn line_of(points: Vec<[f64; 2]>) -> Mark {
        Mark::Line {
            name: "cabin".to_owned(),
            hue: 0,
            weight: Weight::Plain,
            points,
        }
    }

    fn limit(name: &str, at: f64, beyond: Beyond) -> Mark {
        Mark::Limit {
            name: name.to_owned(),
            at,
            beyond,
        }
    }

    fn plot(marks: Vec<Mark>) -> Plot {
        Plot {
            id: "x".to_owned(),
            unit: "mmHg".to_owned(),
            marks,
            ..Plot::default()
        }
    }

    /// An attribute's number, the first of its name.
    fn number(body: &str, name: &str) -> f64 {
        let from = body.split_once(&format!("{name}=\"")).expect(name).1;
        from.split('"').next().and_then(|text| text.parse().ok()).expect(name)
    }

    #[test]
    fn what_is_drawn_reads_back_by_the_scale_that_is_told() {
        let points = vec![[0.0, 1.0], [4.0, 2.75], [10.0, 2.0]];
        let figure = plot(vec![line_of(points.clone())]).figure().expect("drawn");
        let (y0, y1) = (number(&figure.body, "data-y0"), number(&figure.body, "data-y1"));
        let (top, bottom) = (number(&figure.body, "data-top"), number(&figure.body, "data-bottom"));
        let d = figure.body.split_once("data-name=\"cabin\" d=\"M").expect("a line").1;
        let pairs: Vec<[f64; 2]> = d
            .split('"')
            .next()
            .expect("a path")
            .split('L')
            .map(|pair| {
                let (x, y) = pair.split_once(',').expect("a pair");
                [x, y].map(|text| text.parse::<f64>().expect("a number"))
            })
            .collect();
        assert_eq!(pairs.len(), 3);
        for ([x, y], [hours, value]) in pairs.into_iter().zip(points) {
            assert!((10.0 * (x - LEFT) / (RIGHT - LEFT) - hours).abs() < 0.001, "{x}");
            assert!(
                (y0 + (y1 - y0) * (bottom - y) / (bottom - top) - value).abs() < 0.001,
                "{y}"
            );
        }
    }

    #[test]
    fn near_limits_are_drawn_far_ones_said_at_the_edge_and_equal_ones_are_one() {
        let figure = plot(vec![
            line_of(vec![[0.0, 1.0], [10.0, 2.0]]),
            limit("a: at most 3", 3.0, Beyond::Above),
            limit("b: at most 3, mean", 3.0, Beyond::Above),
            limit("c: at most 400", 400.0, Beyond::Above),
            limit("d: at least -3", -3.0, Beyond::Below),
        ])
        .figure()
        .expect("drawn");
        let drawn = figure.body.matches("class=\"limit\"").count();
        // 3 is one line; -3 is the only one on its side, and within seven spans.
        assert_eq!(drawn, 2, "{}", figure.body);
        assert!(figure.body.contains("a: at most 3; b: at most 3, mean"));
        assert!(figure.body.contains("\u{2191} c: at most 400"));
        // The bad side of an upper limit is above it: its hatched edge ends at the line.
        let edge = figure.body.split_once("class=\"edge stretch\"").expect("an edge").1;
        let y = number(&figure.body, "data-y1");
        assert!(y > 3.0 && y < 5.0, "{y}");
        assert!(number(edge, " y") > ABOVE);
    }

    #[test]
    fn a_band_is_broken_where_it_is_not_known_and_nothing_is_no_figure() {
        let band = Mark::Band {
            name: "5 to 95 %".to_owned(),
            hue: 1,
            inner: false,
            x: vec![0.0, 1.0, 2.0, 3.0, 4.0],
            low: vec![0.0, 0.0, f64::NAN, 1.0, 1.0],
            high: vec![1.0, 2.0, f64::NAN, 3.0, 3.0],
        };
        let figure = plot(vec![band]).figure().expect("drawn");
        assert_eq!(figure.body.matches("class=\"band h1\"").count(), 2);
        assert!(plot(vec![line_of(vec![[f64::NAN, 1.0]])]).figure().is_none());
        assert!(plot(Vec::new()).figure().is_none());
    }

    #[test]
    fn another_run_is_dashed_over_the_first() {
        let mut both = plot(vec![line_of(vec![[0.0, 1.0], [10.0, 2.0]])]);
        both.over = vec![line_of(vec![[0.0, 1.5], [10.0, 9.0]])];
        let figure = both.figure().expect("drawn");
        assert!(figure.body.contains("plain first\"") && figure.body.contains("plain second\""));
        assert_eq!(figure.keys.len(), 2);
        assert!(number(&figure.body, "data-y1") > 9.0);
    }
}
