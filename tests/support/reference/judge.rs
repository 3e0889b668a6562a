//! Extremes and rules, read off the polynomials by dense sampling with refinement of every turning point.

use std::f64::consts::PI;

use breathroom_sim::limits::{Bound, Quantity, Rule, Statistic, Subject};

use super::model::Model;
use super::run::{Piece, Reference, lowest};

/// Samples on a stretch between turning points are this many; every turning point found is refined.
const SAMPLES: usize = 32;
const DAY_S: f64 = 86_400.0;

/// A value and when.
#[derive(Clone, Copy, Debug)]
pub struct Peak {
    /// In the quantity's unit.
    pub value: f64,
    /// s.
    pub at_s: f64,
}

/// How a rule fared.
#[derive(Clone, Copy, Debug)]
pub struct Judged {
    /// Nearest to, or furthest beyond, the limit; NaN if it never applied.
    pub worst: f64,
    /// When, s.
    pub at_s: f64,
    /// First crossing, s.
    pub first_crossing_s: Option<f64>,
    /// Steepness there, in the quantity's unit per s.
    pub slope: f64,
    /// Time beyond, s.
    pub beyond_s: f64,
    /// How often it went beyond.
    pub times_beyond: usize,
    /// Least steepness at any change of side, in the quantity's unit per s.
    pub least_slope: f64,
}

/// The course of a value against a limit, gathered stretch by stretch.
#[derive(Clone, Debug)]
pub struct Course {
    sign: f64,
    limit: f64,
    worst: Option<Peak>,
    first: Option<(f64, f64)>,
    least_slope: f64,
    /// Intervals beyond, s.
    beyond: Vec<(f64, f64)>,
}

/// Points of a function on a stretch: samples and turning points, in order.
///
/// The samples crowd at both ends, where a turning point has a neighbour on one side only.
fn points(a: f64, b: f64, f: &mut dyn FnMut(f64) -> f64) -> Vec<(f64, f64)> {
    let mut all: Vec<(f64, f64)> = Vec::with_capacity(SAMPLES + 8);
    for i in 0..=SAMPLES {
        let u = (1.0 - (PI * i as f64 / SAMPLES as f64).cos()) / 2.0;
        let t = if i == SAMPLES { b } else { a + (b - a) * u };
        all.push((t, f(t)));
    }
    for i in 1..SAMPLES {
        let (from, to) = (all[i - 1].0, all[i + 1].0);
        let (l, m, h) = (all[i - 1].1, all[i].1, all[i + 1].1);
        // Rounding turns everywhere: what is this flat needs no refinement.
        if (m - l).abs().max((m - h).abs()) <= 1e-13 * m.abs() {
            continue;
        }
        if m <= l && m <= h {
            all.push(lowest(from, to, f));
        } else if m >= l && m >= h {
            let (t, v) = lowest(from, to, &mut |t| -f(t));
            all.push((t, -v));
        }
    }
    all.sort_by(|p, q| p.0.total_cmp(&q.0));
    all
}

impl Course {
    fn new(bound: Bound, limit: f64) -> Self {
        let sign = if bound == Bound::AtMost { 1.0 } else { -1.0 };
        Self {
            sign,
            limit,
            worst: None,
            first: None,
            least_slope: f64::INFINITY,
            beyond: Vec::new(),
        }
    }

    /// Adds a stretch on which the value is continuous.
    fn add(&mut self, a: f64, b: f64, f: &mut dyn FnMut(f64) -> f64) {
        let (sign, limit) = (self.sign, self.limit);
        let points = points(a, b, f);
        let mut since: Option<f64> = None;
        for (i, &(t, v)) in points.iter().enumerate() {
            if self.worst.is_none_or(|w| sign * v > sign * w.value) {
                self.worst = Some(Peak { value: v, at_s: t });
            }
            let bad = sign * (v - limit) > 0.0;
            if bad == since.is_some() {
                continue;
            }
            let mut at = t;
            let mut slope = f64::INFINITY;
            if i > 0 {
                let (mut low, mut high) = (points[i - 1].0, t);
                for _ in 0..100 {
                    let middle = 0.5 * (low + high);
                    if (sign * (f(middle) - limit) > 0.0) == bad {
                        high = middle;
                    } else {
                        low = middle;
                    }
                }
                at = high;
                let step = (0.01 * (b - a)).min(1.0);
                let (l, r) = ((at - step).max(a), (at + step).min(b));
                slope = ((f(r) - f(l)) / (r - l)).abs();
                self.least_slope = self.least_slope.min(slope);
            }
            if bad {
                since = Some(at);
                if self.first.is_none() {
                    self.first = Some((at, slope));
                }
            } else if let Some(from) = since.take() {
                self.beyond.push((from, at));
            }
        }
        if let Some(from) = since {
            self.beyond.push((from, b));
        }
    }

    /// Intervals beyond, those that touch made one.
    fn merged(&self) -> Vec<(f64, f64)> {
        let mut out: Vec<(f64, f64)> = Vec::new();
        for &(a, b) in &self.beyond {
            match out.last_mut() {
                Some(last) if a - last.1 < 1e-6 => last.1 = b,
                _ => out.push((a, b)),
            }
        }
        out
    }

    fn judged(&self) -> Judged {
        let beyond = self.merged();
        Judged {
            worst: self.worst.map_or(f64::NAN, |w| w.value),
            at_s: self.worst.map_or(0.0, |w| w.at_s),
            first_crossing_s: self.first.map(|f| f.0),
            slope: self.first.map_or(f64::INFINITY, |f| f.1),
            beyond_s: beyond.iter().map(|(a, b)| b - a).sum(),
            times_beyond: beyond.len(),
            least_slope: self.least_slope,
        }
    }
}

impl Reference<'_> {
    fn stretch(&self, rule: &Rule, piece: &Piece) -> Option<usize> {
        Model::subject(&self.modes[piece.mode].place, rule.subject)
    }

    fn value(&self, piece: &Piece, a: usize, quantity: Quantity, t: f64, x: &mut [f64]) -> f64 {
        self.model
            .needed(a, quantity, &mut |i| x[i] = piece.fit.one(i, t - piece.from_s));
        self.model.quantity(x, a, quantity)
    }

    fn course(&self, rule: &Rule, limit: f64) -> Course {
        let mut course = Course::new(rule.bound, limit);
        let mut x = vec![0.0; self.model.len];
        for piece in &self.pieces {
            if let Some(a) = self.stretch(rule, piece) {
                course.add(piece.from_s, piece.to_s, &mut |t| {
                    self.value(piece, a, rule.quantity, t, &mut x)
                });
            }
        }
        course
    }

    /// Lowest and highest value of a quantity in a compartment.
    #[must_use]
    pub fn extremes(&self, compartment: usize, quantity: Quantity) -> [Peak; 2] {
        [Bound::AtLeast, Bound::AtMost].map(|bound| {
            let subject = Subject::Compartment(compartment);
            let rule = Rule {
                quantity,
                subject,
                statistic: Statistic::Instant,
                bound,
                limit: 0.0,
            };
            self.course(&rule, 0.0).worst.unwrap_or(Peak {
                value: f64::NAN,
                at_s: 0.0,
            })
        })
    }

    /// How the `r`-th rule of the case fared.
    #[must_use]
    pub fn judge(&self, r: usize) -> Judged {
        let rule = &self.model.case.rules[r];
        match rule.statistic {
            Statistic::Instant => self.course(rule, rule.limit).judged(),
            Statistic::Moving { window } => self.moving(r, window.seconds()).judged(),
            Statistic::Mission => {
                let (mut sum_s, mut end_s) = (0.0, 0.0);
                for piece in self.pieces.iter().filter(|p| self.stretch(rule, p).is_some()) {
                    sum_s += piece.to_s - piece.from_s;
                    end_s = piece.to_s;
                }
                let mean = self.end[self.model.integral + r] / sum_s;
                let mut course = Course::new(rule.bound, rule.limit);
                if sum_s > 0.0 {
                    course.worst = Some(Peak {
                        value: mean,
                        at_s: end_s,
                    });
                }
                course.judged()
            }
            Statistic::Shift { length } => self.shift(r, length.seconds()),
            Statistic::Allowance { threshold, each } => self.allowance(rule, threshold, each),
        }
    }

    /// The integral of a rule's quantity to `t`.
    fn integral(&self, r: usize, t: f64) -> f64 {
        let k = self.pieces.partition_point(|p| p.from_s <= t).max(1) - 1;
        let piece = &self.pieces[k];
        piece.fit.one(
            self.model.integral + r,
            (t - piece.from_s).min(piece.to_s - piece.from_s),
        )
    }

    fn moving(&self, r: usize, window_s: f64) -> Course {
        let rule = &self.model.case.rules[r];
        let mut course = Course::new(rule.bound, rule.limit);
        // (from, to, clock at from) of each piece on which the rule's clock runs.
        let mut runs: Vec<(f64, f64, f64)> = Vec::new();
        let mut clock = 0.0;
        let mut initial = f64::NAN;
        let mut x = vec![0.0; self.model.len];
        for piece in &self.pieces {
            let Some(a) = self.stretch(rule, piece) else { continue };
            if runs.is_empty() {
                initial = self.value(piece, a, rule.quantity, piece.from_s, &mut x);
            }
            runs.push((piece.from_s, piece.to_s, clock));
            clock += piece.to_s - piece.from_s;
        }
        let before = |c: f64| {
            if c <= 0.0 {
                return initial * c;
            }
            let run = runs[runs.partition_point(|run| run.2 <= c).max(1) - 1];
            self.integral(r, (run.0 + c - run.2).min(run.1))
        };
        for &(from, to, clock) in &runs {
            let mut f = |t: f64| {
                let c = clock + t - from;
                (before(c) - before(c - window_s)) / window_s
            };
            let mut cuts = vec![from];
            for run in &runs {
                let t = from + run.2 + window_s - clock;
                if t > from + 1e-6 && t < to - 1e-6 {
                    cuts.push(t);
                }
            }
            cuts.push(to);
            for cut in cuts.windows(2) {
                course.add(cut[0], cut[1], &mut f);
            }
        }
        course
    }

    fn shift(&self, r: usize, length_s: f64) -> Judged {
        let rule = &self.model.case.rules[r];
        let mut course = Course::new(rule.bound, rule.limit);
        let mut day = 0.0;
        while day < self.end_s - 1e-9 {
            let end = (day + DAY_S).min(self.end_s);
            let start = if day > 0.0 { self.integral(r, day) } else { 0.0 };
            let sum = |t: f64| (self.integral(r, t) - start) / length_s;
            if rule.bound == Bound::AtMost {
                course.add(day, end, &mut |t| sum(t));
            } else {
                let value = sum(end);
                if course.worst.is_none_or(|w| value < w.value) {
                    course.worst = Some(Peak { value, at_s: end });
                }
            }
            day += DAY_S;
        }
        course.judged()
    }

    fn allowance(&self, rule: &Rule, threshold: f64, each: bool) -> Judged {
        let course = self.course(rule, threshold);
        let intervals = course.merged();
        let mut judged = course.judged();
        judged.first_crossing_s = None;
        judged.slope = judged.least_slope;
        let (mut used, mut worst, mut at) = (0.0, 0.0, 0.0);
        for (a, b) in intervals {
            if each {
                used = 0.0;
            }
            if judged.first_crossing_s.is_none() && used + (b - a) > rule.limit {
                judged.first_crossing_s = Some(a + rule.limit - used);
            }
            used += b - a;
            if used > worst {
                (worst, at) = (used, b);
            }
        }
        if course.worst.is_some() {
            (judged.worst, judged.at_s) = (worst, at);
        }
        judged
    }
}
