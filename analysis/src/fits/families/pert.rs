//! PERT: low end, mode and high end of a beta distribution with `a + b = 6` on [lo, hi].
//!
//! `ln f = (a - 1) ln v + (5 - a) ln(1 - v) - ln B(a, 6 - a) - ln(hi - lo)`, `v = (x - lo) / (hi - lo)`, `mode = lo + (hi - lo) (a - 1) / 4`.
//!
//! For given ends ln L is concave in a (an exponential family), and Newton steps find its maximum between 1 and 5. The ends are
//! searched by a pattern search (Hooke and Jeeves 1961, J. ACM 8, 212, from memory) over `ln(lo / (least - lo))` and
//! `ln((hi - most) / (most - least))`, so that 0 < lo < least and most < hi. With few values an end may lie at an observation, or far away: the
//! likelihood is flat there, and what is found is as good as any other. Symbols: all in the unit of the values; a without unit.

use breathroom_sim::spread::Shape;

use super::mean;
use crate::stats::digamma::{digamma, trigamma};

/// Ends of both coordinates of the search: an end within e^-12 of an observation, or e^4 ranges away.
const REACH: [f64; 2] = [-12.0, 4.0];
/// Where searches start.
const STARTS: [[f64; 2]; 3] = [[0.0, -1.0], [2.0, 0.0], [-2.0, -3.0]];
/// The finest step.
const FINEST: f64 = 1e-4;

/// Parameters and ln L.
pub(super) fn fit(values: &[f64]) -> Option<(Shape, f64)> {
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(0.0, f64::max);
    let ends = |at: [f64; 2]| {
        let lo = least / (1.0 + libm::exp(-at[0].clamp(REACH[0], -REACH[0])));
        [lo, most + (most - least) * libm::exp(at[1].clamp(REACH[0], REACH[1]))]
    };
    let height = |at: [f64; 2]| profile(values, ends(at));
    let mut best: Option<([f64; 2], f64)> = None;
    for start in STARTS {
        let mut at = start;
        let mut here = height(at).1;
        let mut step = 1.0;
        while step > FINEST {
            let mut moved = false;
            for (axis, sign) in [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)] {
                let mut tried = at;
                tried[axis] += sign * step;
                let there = height(tried).1;
                if there > here + 1e-12 * here.abs() {
                    (at, here, moved) = (tried, there, true);
                }
            }
            if !moved {
                step *= 0.5;
            }
        }
        if best.is_none_or(|(_, most)| here > most) {
            best = Some((at, here));
        }
    }
    let (at, log_likelihood) = best?;
    let [lo, hi] = ends(at);
    let a = profile(values, [lo, hi]).0;
    let mode = (lo + (hi - lo) * (a - 1.0) / 4.0).clamp(lo, hi);
    Some((Shape::Pert { lo, mode, hi }, log_likelihood))
}

/// The best `a` for given ends, and ln L there.
fn profile(values: &[f64], [lo, hi]: [f64; 2]) -> (f64, f64) {
    let width = hi - lo;
    let below = mean(values, |x| libm::log((x - lo) / width));
    let above = mean(values, |x| libm::log((hi - x) / width));
    let mut a: f64 = 3.0;
    for _ in 0..60 {
        let slope = below - above - digamma(a) + digamma(6.0 - a);
        let bend = trigamma(a) + trigamma(6.0 - a);
        let next = (a + slope / bend).clamp(1.0, 5.0);
        let done = (next - a).abs() < 1e-14;
        a = next;
        if done {
            break;
        }
    }
    // B(a, 6 - a) has Gamma(6) = 120 below.
    let beta = libm::lgamma(a) + libm::lgamma(6.0 - a) - libm::log(120.0);
    let each = (a - 1.0) * below + (5.0 - a) * above - beta - libm::log(width);
    (a, values.len() as f64 * each)
}
