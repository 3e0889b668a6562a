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

use libm::expm1;

use crate::air::MOST;

use super::expo::{APART, phi2_with, psi1, psi2};
use super::indices::LAGS;
use super::poly::Poly;
use super::range::{Bounds, Range};

/// Most distinct rates of a course: those of the modes of four species, of everyone's lags, of sweat and towels.
const RATES: usize = 48;
const _: () = assert!(4 * MOST + LAGS + 3 <= RATES);

/// One relaxing term with its weight multiplied in.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Term {
    /// Its rate: an index of [`Course::rates`].
    pub rate: usize,
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
    /// Distinct rates, 1/s.
    pub rates: Vec<f64>,
    /// Relaxing terms.
    pub terms: Vec<Term>,
    /// `(index of mu among the rates, gamma)` of the terms.
    pub dying: Vec<(usize, f64)>,
    /// Correction, one piece for each step, without gaps.
    pub pieces: Vec<Piece>,
}

/// What the exponentials have lost at an instant: `e^(-rate t) - 1` of every rate.
struct Lost {
    t: f64,
    of: [f64; RATES],
}

impl Course {
    /// Empties it; keeps the storage.
    pub fn clear(&mut self) {
        self.constant = 0.0;
        self.drift = 0.0;
        self.rates.clear();
        self.terms.clear();
        self.dying.clear();
        self.pieces.clear();
    }

    /// The index of a rate, 1/s.
    pub fn rate(&mut self, rate: f64) -> usize {
        self.rates.iter().position(|&known| known == rate).unwrap_or_else(|| {
            self.rates.push(rate);
            self.rates.len() - 1
        })
    }

    /// Adds `weight e^(-mu t)`.
    pub fn add_exponential(&mut self, mu: f64, weight: f64) {
        let end = self.dying.len();
        let rate = self.rate(mu);
        self.terms.push(Term {
            rate,
            start: weight,
            sigma: 0.0,
            from: end,
            to: end,
        });
    }

    fn sources(&self, term: &Term) -> &[(usize, f64)] {
        &self.dying[term.from..term.to]
    }

    // Inlined, for else what it gives is copied.
    #[inline(always)]
    fn lost(&self, t: f64) -> Lost {
        let mut lost = Lost { t, of: [0.0; RATES] };
        if t != 0.0 {
            for (lost, rate) in lost.of.iter_mut().zip(&self.rates) {
                *lost = expm1(-rate * t);
            }
        }
        lost
    }

    /// `phi1` of a rate.
    fn phi(&self, lost: &Lost, rate: usize) -> f64 {
        if lost.of[rate] == 0.0 {
            lost.t
        } else {
            -lost.of[rate] / self.rates[rate]
        }
    }

    /// `psi1` of two rates; where they are apart to a rounding of 1 over the gap.
    fn psi(&self, lost: &Lost, rate: usize, mu: usize) -> f64 {
        let gap = self.rates[rate] - self.rates[mu];
        if (gap * lost.t).abs() > APART {
            (lost.of[mu] - lost.of[rate]) / gap
        } else {
            psi1(self.rates[rate], self.rates[mu], lost.t)
        }
    }

    /// The value at `t`.
    pub fn at(&self, t: f64) -> f64 {
        let polynomial = self.piece_at(t).map_or(0.0, |(piece, theta)| piece.poly.at(theta));
        if self.terms.is_empty() {
            return self.constant + self.drift * t + polynomial;
        }
        let lost = self.lost(t);
        let mut sum = self.constant + self.drift * t;
        for term in &self.terms {
            sum += term.start * (1.0 + lost.of[term.rate]) + term.sigma * self.phi(&lost, term.rate);
            for &(mu, gamma) in self.sources(term) {
                sum += gamma * self.psi(&lost, term.rate, mu);
            }
        }
        sum + polynomial
    }

    /// The derivative at `t`, per s.
    pub fn slope(&self, t: f64) -> f64 {
        let polynomial = self
            .piece_at(t)
            .map_or(0.0, |(piece, theta)| piece.poly.slope().at(theta) / piece.length_s);
        if self.terms.is_empty() {
            return self.drift + polynomial;
        }
        let lost = self.lost(t);
        let mut sum = self.drift;
        for term in &self.terms {
            let lambda = self.rates[term.rate];
            sum += (term.sigma - lambda * term.start) * (1.0 + lost.of[term.rate]);
            for &(mu, gamma) in self.sources(term) {
                sum += gamma * (1.0 + lost.of[mu] - lambda * self.psi(&lost, term.rate, mu));
            }
        }
        sum + polynomial
    }

    /// Writes the derivative: `z' = (sigma - lambda z(0)) e^(-lambda t) + sum gamma (e^(-mu t) - lambda psi1)` of each term.
    pub fn differentiate(&self, out: &mut Self) {
        out.clear();
        out.constant = self.drift;
        for term in &self.terms {
            let lambda = self.rates[term.rate];
            let from = out.dying.len();
            for &(mu, gamma) in self.sources(term) {
                let mu = out.rate(self.rates[mu]);
                out.dying.push((mu, -lambda * gamma));
            }
            let rate = out.rate(lambda);
            out.terms.push(Term {
                rate,
                start: term.sigma - lambda * term.start,
                sigma: 0.0,
                from,
                to: out.dying.len(),
            });
            for &(mu, gamma) in self.sources(term) {
                out.add_exponential(self.rates[mu], gamma);
            }
        }
        for piece in &self.pieces {
            let mut poly = Poly::default();
            poly.add(1.0 / piece.length_s, &piece.poly.slope());
            out.pieces.push(Piece { poly, ..*piece });
        }
    }

    /// The integral from 0 to `t`.
    pub fn integral(&self, t: f64) -> f64 {
        let mut sum = self.constant * t + 0.5 * self.drift * t * t;
        for piece in self.pieces.iter().take_while(|piece| piece.from_s < t) {
            let theta = ((t - piece.from_s) / piece.length_s).min(1.0);
            sum += piece.length_s * piece.poly.integral(theta);
        }
        if self.terms.is_empty() {
            return sum;
        }
        let lost = self.lost(t);
        for term in &self.terms {
            let lambda = self.rates[term.rate];
            let phi = self.phi(&lost, term.rate);
            sum += term.start * phi + term.sigma * phi2_with(lambda, t, phi);
            for &(mu, gamma) in self.sources(term) {
                sum += gamma * psi2(lambda, self.rates[mu], t);
            }
        }
        sum
    }

    /// Bounds on `[a, b]`.
    pub fn bounds(&self, a: f64, b: f64) -> Bounds {
        let mut value = Range::span(self.constant + self.drift * a, self.constant + self.drift * b);
        let mut slope = Range::point(self.drift);
        let mut bend = Range::point(0.0);
        if self.terms.is_empty() {
            let sum = Bounds { value, slope, bend };
            return self.pieces_bounds(a, b).map_or(sum, |pieces| sum.plus(pieces));
        }
        let (from, to) = (self.lost(a), self.lost(b));
        for term in &self.terms {
            let lambda = self.rates[term.rate];
            let at = |lost: &Lost| term.start * (1.0 + lost.of[term.rate]) + term.sigma * self.phi(lost, term.rate);
            value = value.plus(Range::span(at(&from), at(&to)));
            let edge = term.sigma - lambda * term.start;
            let slopes = Range::span(edge * (1.0 + from.of[term.rate]), edge * (1.0 + to.of[term.rate]));
            slope = slope.plus(slopes);
            bend = bend.plus(slopes.times(-lambda));
            for &(mu, gamma) in self.sources(term) {
                let answer = self.psi_range(term.rate, mu, &from, &to);
                let source = Range::span(1.0 + from.of[mu], 1.0 + to.of[mu]);
                value = value.plus(answer.times(gamma));
                slope = slope.plus(source.plus(answer.times(-lambda)).times(gamma));
                let fading = source.times(-(self.rates[mu] + lambda));
                bend = bend.plus(fading.plus(answer.times(lambda * lambda)).times(gamma));
            }
        }
        let sum = Bounds { value, slope, bend };
        self.pieces_bounds(a, b).map_or(sum, |pieces| sum.plus(pieces))
    }

    fn piece_at(&self, t: f64) -> Option<(&Piece, f64)> {
        let last = self.pieces.len().checked_sub(1)?;
        let place = self.pieces[..last]
            .iter()
            .position(|p| t < p.from_s + p.length_s)
            .unwrap_or(last);
        let piece = &self.pieces[place];
        Some((piece, (t - piece.from_s) / piece.length_s))
    }

    fn pieces_bounds(&self, a: f64, b: f64) -> Option<Bounds> {
        let mut all: Option<Bounds> = None;
        let last = self.pieces.len().wrapping_sub(1);
        for (place, piece) in self.pieces.iter().enumerate() {
            let over = piece.from_s + piece.length_s <= a && place != last;
            if over || (piece.from_s >= b && all.is_some()) {
                continue;
            }
            let lo = ((a - piece.from_s) / piece.length_s).max(0.0);
            let hi = (b - piece.from_s) / piece.length_s;
            let hi = if place == last { hi } else { hi.min(1.0) };
            let (value, slope, bend) = piece.poly.hulls(lo, hi.max(lo));
            let per_s = 1.0 / piece.length_s;
            let here = Bounds {
                value,
                slope: slope.times(per_s),
                bend: bend.times(per_s * per_s),
            };
            all = Some(all.map_or(here, |r| r.join(here)));
        }
        all
    }

    /// The answer to a dying source rises to one peak, at `ln(high / low) / (high - low)`, and falls.
    fn psi_range(&self, rate: usize, mu: usize, from: &Lost, to: &Lost) -> Range {
        let ends = Range::span(self.psi(from, rate, mu), self.psi(to, rate, mu));
        let (x, y) = (self.rates[rate], self.rates[mu]);
        let (low, high) = if x < y { (x, y) } else { (y, x) };
        // The peak lies between 1/high and 1/low: most intervals need not know where.
        if low == 0.0 || to.t * high <= 1.0 || from.t * low >= 1.0 {
            return ends;
        }
        let gap = (high - low) / low;
        let peak = if gap > 0.0 {
            libm::log1p(gap) / (gap * low)
        } else {
            1.0 / low
        };
        if peak <= from.t || peak >= to.t {
            return ends;
        }
        Range {
            lo: ends.lo,
            hi: ends.hi.max(psi1(x, y, peak)),
        }
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
        course.rates.extend([1.0 / 60.0, 1.0 / 300.0, 0.0]);
        course.dying.extend([(0, 0.4), (1, -0.1)]);
        course.terms.push(Term {
            rate: 0,
            start: 3.0,
            sigma: -0.02,
            from: 0,
            to: 2,
        });
        course.terms.push(Term {
            rate: 2,
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
            let bounds = course.bounds(t, t).slope;
            assert!(
                (slope - bounds.lo).abs() < 1e-8 && (slope - bounds.hi).abs() < 1e-8,
                "{slope} {bounds:?}"
            );
            assert!((slope - course.slope(t)).abs() < 1e-8);
            let rate = (course.integral(t + h) - course.integral(t - h)) / (2.0 * h);
            assert!((rate - course.at(t)).abs() < 1e-8);
        }
    }

    #[test]
    fn the_derivative_is_a_course_too() {
        let (course, mut derivative) = (sample(), Course::default());
        course.differentiate(&mut derivative);
        for t in [0.0, 1.0, 37.0, 150.0, 299.0] {
            assert!((derivative.at(t) - course.slope(t)).abs() < 1e-13 * course.slope(t).abs().max(1.0));
        }
    }

    #[test]
    fn bounds_hold_and_tighten() {
        let course = sample();
        for (a, b) in [(0.0, 300.0), (20.0, 120.0), (99.0, 101.0), (250.0, 250.5)] {
            let Bounds {
                value: range,
                slope: slopes,
                bend: bends,
            } = course.bounds(a, b);
            for i in 0..=200 {
                let t = a + (b - a) * f64::from(i) / 200.0;
                let (f, d) = (course.at(t), course.slope(t));
                let h = 1e-2;
                let bend = (course.slope(t + h) - course.slope(t - h)) / (2.0 * h);
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
        let (narrow, wide) = (course.bounds(250.0, 250.5).value, course.bounds(0.0, 300.0).value);
        assert!(narrow.hi - narrow.lo < 0.1 * (wide.hi - wide.lo));
    }
}
