//! Cheap and true ranges of every pressure over a segment, from its two ends.
//!
//! A pressure stays near the chord between its ends. Each mode of the closed form leaves its own chord by a known amount:
//!
//! ```text
//! z = s + A e^(-lambda t):      between 0 and -A (1 - E + E ln E),          E = (1 - e^(-lambda h)) / (lambda h)
//! gamma psi1(lambda, mu, t):    between 0 and gamma (1 - m + m ln m) / r,   m = psi1(h) / h
//! correction:                   by the hull of its Bernstein coefficients
//! ```
//!
//! `h` is the length, s; `A = z(0) - sigma / lambda`; `r` the larger of `lambda` and `mu`. A convex curve lies below its chord, the
//! exponential by the most where it has its slope. The answer to a dying source lies above its chord: it is concave from zero
//! to its peak, and what comes after is higher than the end; and it lies below `(1 - e^(-r t)) / r`, which leaves the chord by
//! the most where it has its slope. Over short times `h^2 / 8` times the largest second derivative bounds both. Modes that
//! cancel at the ends cancel in the chord, which sums of the modes' own ranges would miss.

use crate::air::MOST;

use super::expo::psi1;
use super::indices::DILUENT;
use super::modes::Modes;
use super::poly::Poly;
use super::range::Range;
use super::segment::{Segment, hull_of};
use super::system::PressureLaw;

/// Ranges of every pressure over a segment.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ranges {
    /// Partial pressures, Pa.
    pub p: [[Range; MOST]; 4],
    /// Totals, Pa.
    pub pressure: [Range; MOST],
}

impl Default for Ranges {
    fn default() -> Self {
        Self {
            p: [[Range::point(0.0); MOST]; 4],
            pressure: [Range::point(0.0); MOST],
        }
    }
}

/// Partial pressures at an end of a segment, Pa.
type Pressures = [[f64; MOST]; 4];

impl Ranges {
    /// Works the ranges out from the partial pressures at the segment's ends.
    pub fn set(&mut self, segment: &Segment, from: &Pressures, to: &Pressures) {
        let n = segment.n;
        let mut bends = [[Range::point(0.0); MOST]; 4];
        let mut leaves = [[Range::point(0.0); MOST]; 4];
        for i in 0..4 {
            for k in 0..n {
                let mut bend = bend(&segment.modes[i], k, segment.length_s);
                if (i != DILUENT || segment.whole) && !segment.steps.is_empty() {
                    let hull = hull_of(segment.steps.iter().map(|step| &step.modes[i][k]));
                    let last = segment.steps.last().map_or(0.0, |step| step.modes[i][k].at(1.0));
                    bend = bend.plus(off_chord(hull, last));
                }
                bends[i][k] = bend;
            }
            for a in 0..n {
                for k in 0..n {
                    leaves[i][a] = leaves[i][a].plus(bends[i][k].times(segment.modes[i].to_p[a][k]));
                }
                self.p[i][a] = Range::span(from[i][a], to[i][a]).plus(leaves[i][a]);
            }
        }
        let total = |p: &Pressures, a: usize| p[0][a] + p[1][a] + p[2][a] + p[3][a];
        for a in 0..n {
            let chord = Range::span(total(from, a), total(to, a));
            let breathed = leaves[0][a].plus(leaves[1][a]).plus(leaves[2][a]);
            let leave = match segment.law[a] {
                PressureLaw::Sum if segment.whole => sum_of_steps(segment, a, from, to),
                PressureLaw::Sum => breathed.plus(leaves[DILUENT][a]),
                PressureLaw::Held(_) => Range::point(0.0),
                PressureLaw::Shared(group) if group == a => shared(segment, group, &bends),
                PressureLaw::Shared(_) => continue,
            };
            self.pressure[a] = match segment.law[a] {
                PressureLaw::Held(pressure) => Range::point(pressure),
                _ => chord.plus(leave),
            };
        }
        for a in 0..n {
            if let PressureLaw::Shared(group) = segment.law[a] {
                self.pressure[a] = self.pressure[group];
            }
            if segment.law[a] != PressureLaw::Sum {
                let breathed = self.p[0][a].plus(self.p[1][a]).plus(self.p[2][a]);
                self.p[DILUENT][a] = self.pressure[a].plus(breathed.times(-1.0));
            }
        }
    }
}

/// How far mode `k` leaves its chord.
fn bend(modes: &Modes, k: usize, h: f64) -> Range {
    let lambda = modes.lambda[k];
    let slope = lambda * modes.start[k] - modes.sigma[k];
    let mut range = Range::point(0.0);
    if lambda > 0.0 {
        let most = slope.abs() / lambda * under_chord(lambda * h);
        range = if slope > 0.0 {
            Range { lo: -most, hi: 0.0 }
        } else {
            Range { lo: 0.0, hi: most }
        };
    }
    for l in 0..modes.lags {
        let gamma = modes.gamma[l][k];
        if gamma != 0.0 {
            let hi = psi1_over_chord(lambda, modes.mu[l], h);
            range = range.plus(Range { lo: 0.0, hi }.times(gamma));
        }
    }
    range
}

/// Below this value of rate times time the bound by the second derivative is used: the others would cancel.
const SHORT: f64 = 0.25;

/// How far `e^(-x t)` lies under its chord on `[0, 1]` at most.
fn under_chord(x: f64) -> f64 {
    if x < SHORT {
        return x * x / 8.0;
    }
    let mean = -libm::expm1(-x) / x;
    1.0 - mean + mean * libm::log(mean)
}

/// How far `psi1(a, b, t)` lies over its chord on `[0, h]` at most, s.
fn psi1_over_chord(a: f64, b: f64, h: f64) -> f64 {
    let rate = a.max(b);
    if rate * h < SHORT {
        // Its second derivative is largest at the start: -(a + b).
        return (a + b) * h * h / 8.0;
    }
    let mean = (psi1(a, b, h) / h).min(1.0);
    if mean <= 0.0 {
        return 1.0 / rate;
    }
    (1.0 - mean + mean * libm::log(mean)) / rate
}

/// How far a total pressure leaves its chord in a segment integrated whole: species that only make room for each other drop out.
fn sum_of_steps(segment: &Segment, a: usize, from: &Pressures, to: &Pressures) -> Range {
    let total = |p: &Pressures| p[0][a] + p[1][a] + p[2][a] + p[3][a];
    let hull = hull_of(segment.steps.iter().map(|step| {
        let mut sum = Poly::default();
        for species in &step.modes {
            sum.add(1.0, &species[a]);
        }
        sum
    }));
    let chord = Range::span(total(from), total(to));
    Range {
        lo: (hull.lo - chord.lo).min(0.0),
        hi: (hull.hi - chord.hi).max(0.0),
    }
}

/// How far something that starts at zero, ends at `last` and stays in `hull` leaves its chord.
fn off_chord(hull: Range, last: f64) -> Range {
    Range {
        lo: hull.lo - last.max(0.0),
        hi: hull.hi - last.min(0.0),
    }
}

/// How far a drifting group's pressure leaves its chord, Pa: modes that only carry gas between its rooms drop out.
fn shared(segment: &Segment, group: usize, bends: &[[Range; MOST]; 4]) -> Range {
    let hull = hull_of(segment.steps.iter().map(|step| &step.diluent[group]));
    let last = segment.steps.last().map_or(0.0, |step| step.diluent[group].at(1.0));
    let mut sum = off_chord(hull, last);
    for i in 0..DILUENT {
        for k in 0..segment.n {
            let mut weight = 0.0;
            for a in (0..segment.n).filter(|&a| segment.group[a] == group) {
                weight += segment.capacity[a] * segment.modes[i].to_p[a][k];
            }
            sum = sum.plus(bends[i][k].times(weight));
        }
    }
    sum.times(1.0 / segment.group_capacity[group])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_leaves_its_chord_by_more_than_its_bound_and_most_come_near() {
        let rates = [0.0, 1e-5, 1e-3, 1.0 / 77.0, 1.0 / 60.0, 0.3];
        for h in [1.0, 60.0, 390.0, 5000.0] {
            for a in rates {
                let leaves = |value: &dyn Fn(f64) -> f64| {
                    let (start, end) = (value(0.0), value(h));
                    (0..=1000).fold(Range::point(0.0), |range, k| {
                        let part = f64::from(k) / 1000.0;
                        range.join(Range::point(value(part * h) - start - part * (end - start)))
                    })
                };
                let exponential = leaves(&|t| libm::exp(-a * t));
                let bound = under_chord(a * h);
                assert!(-exponential.lo <= bound + 1e-14 && exponential.hi < 1e-14, "{a} {h}");
                assert!(-exponential.lo >= 0.85 * bound, "{a} {h} {exponential:?} {bound}");
                for b in rates {
                    let answer = leaves(&|t| psi1(a, b, t));
                    let bound = psi1_over_chord(a, b, h);
                    assert!(
                        answer.hi <= bound + 1e-13 * h && answer.lo > -1e-13 * h,
                        "{a} {b} {h} {answer:?} {bound}"
                    );
                }
            }
        }
    }
}
