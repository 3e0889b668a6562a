//! The course of one number over one segment, with rigorous bounds.
//!
//! ```text
//! f(t) = constant + drift t + sum_j w_j z_j(t) + polynomial(t)
//! z_j' = -lambda_j z_j + sigma_j + sum_l gamma_jl e^(-mu_l t)
//! ```
//!
//! `t` in s from the start of the segment. Partial pressures, totals, humidity, valve flows and their sums are courses; so are
//! the masses that are integrals of such sums (see [`Course::integral`]). The polynomial is one of degree five on each step of
//! the correction (none where the mode is affine).
//!
//! Bounds hold for every `t` of the interval they are asked for: each exponential is monotone, each answer to a dying source
//! rises to one known peak, each polynomial lies in the hull of its Bernstein coefficients (Farouki 2012, CAGD
//! 29:379).

use libm::exp;

use super::expo::{phi1, phi2_with, psi1, psi2};
use super::poly::Poly;

/// One relaxing term with its weight multiplied in.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Term {
    /// Rate, 1/s.
    pub lambda: f64,
    /// Value at the start.
    pub start: f64,
    /// Constant source, per s.
    pub sigma: f64,
    /// Its dying sources: a range of [`Course::dying`].
    pub from: usize,
    /// End of that range.
    pub to: usize,
}

/// A polynomial on `[from_s, from_s + length_s]` of the segment, `theta = (t - from_s) / length_s`.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Piece {
    /// Start, s.
    pub from_s: f64,
    /// Length, s.
    pub length_s: f64,
    /// `sum_i c[i] theta^i`.
    pub poly: Poly,
}

/// A number's course over a segment.
#[derive(Clone, Debug, Default)]
pub(crate) struct Course {
    /// Constant part.
    pub constant: f64,
    /// Linear part, per s.
    pub drift: f64,
    /// Relaxing terms.
    pub terms: Vec<Term>,
    /// `(mu, gamma)` of the terms.
    pub dying: Vec<(f64, f64)>,
    /// Correction, one piece for each step, without gaps.
    pub pieces: Vec<Piece>,
}

/// What a bound says: the value is within.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Range {
    /// Not below.
    pub lo: f64,
    /// Not above.
    pub hi: f64,
}

impl Range {
    /// The range of one value.
    pub const fn point(value: f64) -> Self {
        Self { lo: value, hi: value }
    }

    /// Spans two values in either order.
    pub fn span(a: f64, b: f64) -> Self {
        if a < b {
            Self { lo: a, hi: b }
        } else {
            Self { lo: b, hi: a }
        }
    }

    /// The range of `factor` times a value in this one.
    pub fn times(self, factor: f64) -> Self {
        Self::span(self.lo * factor, self.hi * factor)
    }

    /// The range of a sum.
    pub fn plus(self, other: Self) -> Self {
        Self {
            lo: self.lo + other.lo,
            hi: self.hi + other.hi,
        }
    }

    /// The range of a product.
    pub fn by(self, other: Self) -> Self {
        let corners = [
            self.lo * other.lo,
            self.lo * other.hi,
            self.hi * other.lo,
            self.hi * other.hi,
        ];
        Self {
            lo: corners.iter().copied().fold(f64::INFINITY, f64::min),
            hi: corners.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        }
    }

    /// Holds both.
    pub fn join(self, other: Self) -> Self {
        Self {
            lo: self.lo.min(other.lo),
            hi: self.hi.max(other.hi),
        }
    }

    /// What two true bounds allow together.
    pub fn meet(self, other: Self) -> Self {
        Self {
            lo: self.lo.max(other.lo),
            hi: self.hi.min(other.hi),
        }
    }
}

impl Course {
    /// Empties it; keeps the storage.
    pub fn clear(&mut self) {
        self.constant = 0.0;
        self.drift = 0.0;
        self.terms.clear();
        self.dying.clear();
        self.pieces.clear();
    }

    /// Adds `weight e^(-mu t)`.
    pub fn add_exponential(&mut self, mu: f64, weight: f64) {
        let end = self.dying.len();
        self.terms.push(Term {
            lambda: mu,
            start: weight,
            sigma: 0.0,
            from: end,
            to: end,
        });
    }

    fn sources(&self, term: &Term) -> &[(f64, f64)] {
        &self.dying[term.from..term.to]
    }

    /// The value at `t`.
    pub fn at(&self, t: f64) -> f64 {
        let mut sum = self.constant + self.drift * t;
        for term in &self.terms {
            let phi = phi1(term.lambda, t);
            sum += term.start * (1.0 - term.lambda * phi) + term.sigma * phi;
            for &(mu, gamma) in self.sources(term) {
                sum += gamma * psi1(term.lambda, mu, t);
            }
        }
        sum + self.piece_at(t)
    }

    /// The integral from 0 to `t`.
    pub fn integral(&self, t: f64) -> f64 {
        let mut sum = self.constant * t + 0.5 * self.drift * t * t;
        for term in &self.terms {
            let phi = phi1(term.lambda, t);
            sum += term.start * phi + term.sigma * phi2_with(term.lambda, t, phi);
            for &(mu, gamma) in self.sources(term) {
                sum += gamma * psi2(term.lambda, mu, t);
            }
        }
        for piece in self.pieces.iter().take_while(|piece| piece.from_s < t) {
            let theta = ((t - piece.from_s) / piece.length_s).min(1.0);
            sum += piece.length_s * piece.poly.integral(theta);
        }
        sum
    }

    /// Bounds of the value on `[a, b]`.
    pub fn range(&self, a: f64, b: f64) -> Range {
        let mut sum = Range::span(self.constant + self.drift * a, self.constant + self.drift * b);
        for term in &self.terms {
            let at = |t: f64| {
                let phi = phi1(term.lambda, t);
                term.start * (1.0 - term.lambda * phi) + term.sigma * phi
            };
            sum = sum.plus(Range::span(at(a), at(b)));
            for &(mu, gamma) in self.sources(term) {
                sum = sum.plus(psi1_range(term.lambda, mu, a, b).times(gamma));
            }
        }
        self.add_pieces(sum, a, b, |piece, lo, hi| piece.poly.hull(lo, hi))
    }

    /// Bounds of the derivative on `[a, b]`, per s.
    pub fn slope_range(&self, a: f64, b: f64) -> Range {
        let mut sum = Range::point(self.drift);
        for term in &self.terms {
            let edge = term.sigma - term.lambda * term.start;
            sum = sum.plus(Range::span(edge * exp(-term.lambda * a), edge * exp(-term.lambda * b)));
            for &(mu, gamma) in self.sources(term) {
                let answer = psi1_range(term.lambda, mu, a, b).times(-term.lambda);
                let source = Range::span(exp(-mu * a), exp(-mu * b));
                sum = sum.plus(source.plus(answer).times(gamma));
            }
        }
        self.add_pieces(sum, a, b, |piece, lo, hi| {
            piece.poly.slope_hull(lo, hi).times(1.0 / piece.length_s)
        })
    }

    /// Bounds of the second derivative on `[a, b]`, per s2.
    pub fn bend_range(&self, a: f64, b: f64) -> Range {
        let mut sum = Range::point(0.0);
        for term in &self.terms {
            let edge = -term.lambda * (term.sigma - term.lambda * term.start);
            sum = sum.plus(Range::span(edge * exp(-term.lambda * a), edge * exp(-term.lambda * b)));
            for &(mu, gamma) in self.sources(term) {
                let answer = psi1_range(term.lambda, mu, a, b).times(term.lambda * term.lambda);
                let source = Range::span(exp(-mu * a), exp(-mu * b)).times(-(mu + term.lambda));
                sum = sum.plus(source.plus(answer).times(gamma));
            }
        }
        self.add_pieces(sum, a, b, |piece, lo, hi| {
            piece
                .poly
                .slope()
                .slope_hull(lo, hi)
                .times(1.0 / (piece.length_s * piece.length_s))
        })
    }

    fn piece_at(&self, t: f64) -> f64 {
        let Some(last) = self.pieces.len().checked_sub(1) else {
            return 0.0;
        };
        let place = self.pieces[..last]
            .iter()
            .position(|p| t < p.from_s + p.length_s)
            .unwrap_or(last);
        let piece = &self.pieces[place];
        piece.poly.at((t - piece.from_s) / piece.length_s)
    }

    fn add_pieces(&self, sum: Range, a: f64, b: f64, bound: impl Fn(&Piece, f64, f64) -> Range) -> Range {
        let mut all: Option<Range> = None;
        let last = self.pieces.len().wrapping_sub(1);
        for (place, piece) in self.pieces.iter().enumerate() {
            let over = piece.from_s + piece.length_s <= a && place != last;
            if over || (piece.from_s >= b && all.is_some()) {
                continue;
            }
            let lo = ((a - piece.from_s) / piece.length_s).max(0.0);
            let hi = (b - piece.from_s) / piece.length_s;
            let hi = if place == last { hi } else { hi.min(1.0) };
            let here = bound(piece, lo, hi.max(lo));
            all = Some(all.map_or(here, |r| r.join(here)));
        }
        all.map_or(sum, |r| sum.plus(r))
    }
}

/// The answer to a dying source rises to one peak, at `ln(high / low) / (high - low)`, and falls.
fn psi1_range(lambda: f64, mu: f64, a: f64, b: f64) -> Range {
    let ends = Range::span(psi1(lambda, mu, a), psi1(lambda, mu, b));
    let (low, high) = if lambda < mu { (lambda, mu) } else { (mu, lambda) };
    // The peak lies between 1/high and 1/low: most intervals need not know where.
    if low == 0.0 || b * high <= 1.0 || a * low >= 1.0 {
        return ends;
    }
    let gap = (high - low) / low;
    let peak = if gap > 0.0 {
        libm::log1p(gap) / (gap * low)
    } else {
        1.0 / low
    };
    if peak <= a || peak >= b {
        return ends;
    }
    Range {
        lo: ends.lo,
        hi: ends.hi.max(psi1(lambda, mu, peak)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Course {
        let mut course = Course {
            constant: 2.0,
            drift: 1e-3,
            ..Course::default()
        };
        course.dying.extend([(1.0 / 60.0, 0.4), (1.0 / 300.0, -0.1)]);
        course.terms.push(Term {
            lambda: 1.0 / 60.0,
            start: 3.0,
            sigma: -0.02,
            from: 0,
            to: 2,
        });
        course.terms.push(Term {
            lambda: 0.0,
            start: 1.0,
            sigma: 0.01,
            from: 0,
            to: 1,
        });
        course.add_exponential(0.02, -5.0);
        course.pieces.push(Piece {
            from_s: 0.0,
            length_s: 100.0,
            poly: Poly([0.0, 0.5, -0.2, 0.1, 0.02, -0.01]),
        });
        course.pieces.push(Piece {
            from_s: 100.0,
            length_s: 200.0,
            poly: Poly([0.41, 0.6, -0.4, 0.05, 0.02, -0.01]),
        });
        course
    }

    #[test]
    fn slope_and_integral_belong_to_the_value() {
        let course = sample();
        for t in [1.0, 37.0, 99.0, 150.0, 299.0] {
            let h = 1e-3;
            let slope = (course.at(t + h) - course.at(t - h)) / (2.0 * h);
            let bounds = course.slope_range(t, t);
            assert!(
                (slope - bounds.lo).abs() < 1e-8 && (slope - bounds.hi).abs() < 1e-8,
                "{slope} {bounds:?}"
            );
            let rate = (course.integral(t + h) - course.integral(t - h)) / (2.0 * h);
            assert!((rate - course.at(t)).abs() < 1e-8);
        }
    }

    #[test]
    fn bounds_hold_and_tighten() {
        let course = sample();
        for (a, b) in [(0.0, 300.0), (20.0, 120.0), (99.0, 101.0), (250.0, 250.5)] {
            let (range, slopes) = (course.range(a, b), course.slope_range(a, b));
            let bends = course.bend_range(a, b);
            for i in 0..=200 {
                let t = a + (b - a) * f64::from(i) / 200.0;
                let (f, d) = (course.at(t), course.slope_range(t, t).lo);
                let h = 1e-2;
                let bend = (course.slope_range(t + h, t + h).lo - course.slope_range(t - h, t - h).lo) / (2.0 * h);
                let smooth = t - h > a && t + h < b && (t - 100.0).abs() > 2.0 * h;
                assert!(
                    !smooth || (bends.lo - 1e-6 <= bend && bend <= bends.hi + 1e-6),
                    "{bend} outside {bends:?}"
                );
                assert!(range.lo - 1e-12 <= f && f <= range.hi + 1e-12, "{f} outside {range:?}");
                assert!(
                    slopes.lo - 1e-12 <= d && d <= slopes.hi + 1e-12,
                    "{d} outside {slopes:?}"
                );
            }
        }
        let narrow = course.range(250.0, 250.5);
        assert!(narrow.hi - narrow.lo < 0.1 * (course.range(0.0, 300.0).hi - course.range(0.0, 300.0).lo));
    }
}
