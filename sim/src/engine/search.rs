//! Where a course crosses a level, and where it is highest: certified by bounds, not by signs at the ends.
//!
//! An interval whose bounds exclude the level holds no crossing. One on which the slope keeps its sign holds at most one, and
//! a safeguarded root search finds it. Every other interval is halved. The same for the highest value. Two ends below a
//! limit therefore never hide an excursion between them.

use super::accuracy::{ON_LEVEL, RESOLVED};
use super::course::Course;
use super::range::{Bounds, Range};

/// A number over `[a, b]` of a segment, t in s, with true bounds of its value and slope.
pub(crate) trait Signal {
    /// Value at `t`.
    fn at(&self, t: f64) -> f64;
    /// Derivative at `t`, per s.
    fn slope(&self, t: f64) -> f64;
    /// Bounds on `[a, b]`.
    fn bounds(&self, a: f64, b: f64) -> Bounds;
}

/// Width below which an interval is one instant, s: time is counted in whole nanoseconds.
const INSTANT_S: f64 = 0.5e-9;

/// A level to be crossed, with the width within which a value is on it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Level {
    /// The level.
    pub at: f64,
    /// Beyond it by no more than this is not beyond.
    pub band: f64,
}

impl Level {
    /// A level whose band is what rounding leaves.
    pub fn new(at: f64) -> Self {
        Self {
            at,
            band: ON_LEVEL * at.abs(),
        }
    }
}

/// Work of a search, for the counters.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Work {
    /// Intervals that bounds ruled out.
    pub ruled_out: u64,
    /// Intervals that had to be looked into.
    pub looked_into: u64,
}

/// The first `t` in `(a, b]` at which the signal passes from at most `level` to above it, if it does.
///
/// It passes only if it goes beyond the level's band. The start counts as below whatever its value: a crossing that has just
/// been handled is not found again.
pub(crate) fn first_above(signal: &impl Signal, level: Level, a: f64, b: f64, work: &mut Work) -> Option<f64> {
    let start = signal.at(a);
    let end = signal.at(b);
    let start = start.min(level.at + level.band);
    above(signal, level, (a, start), (b, end), work).map(|t| back(signal, level, a, t))
}

/// From `t`, where the signal leaves the band, back to the level itself: by the slope at `t`, or by a search where that leads
/// below the level. It depends on `t` alone, so not on how the interval was halved.
fn back(signal: &impl Signal, level: Level, a: f64, t: f64) -> f64 {
    let earlier = (t - level.band / signal.slope(t)).max(a);
    if earlier >= t {
        return t;
    }
    let value = signal.at(earlier);
    if value < level.at {
        root(signal, level.at, (earlier, value), (t, level.at + level.band))
    } else {
        earlier
    }
}

/// The first `t` in `(a, b]` at which the signal passes from at least `level` to below it.
pub(crate) fn first_below(signal: &impl Signal, level: Level, a: f64, b: f64, work: &mut Work) -> Option<f64> {
    first_above(
        &Flipped(signal),
        Level {
            at: -level.at,
            band: level.band,
        },
        a,
        b,
        work,
    )
}

/// When the signal leaves the level's band.
fn above(signal: &impl Signal, level: Level, a: (f64, f64), b: (f64, f64), work: &mut Work) -> Option<f64> {
    let beyond = level.at + level.band;
    let bounds = signal.bounds(a.0, b.0);
    let slopes = bounds.slope;
    if ceiling(a, b, &bounds) <= beyond {
        work.ruled_out += 1;
        return None;
    }
    work.looked_into += 1;
    if b.0 - a.0 <= INSTANT_S {
        return (b.1 > beyond).then_some(b.0);
    }
    if slopes.lo >= 0.0 {
        return (b.1 > beyond).then(|| root(signal, beyond, a, b));
    }
    if slopes.hi <= 0.0 {
        return None;
    }
    let middle = 0.5 * (a.0 + b.0);
    let m = (middle, signal.at(middle));
    above(signal, level, a, m, work).or_else(|| {
        let from = (m.0, m.1.min(beyond));
        above(signal, level, from, b, work)
    })
}

/// Bounds of the value from its ends and the bounds of the slope.
fn from_ends(a: (f64, f64), b: (f64, f64), slopes: Range) -> Range {
    let length = b.0 - a.0;
    let from_a = Range {
        lo: a.1 + length * slopes.lo.min(0.0),
        hi: a.1 + length * slopes.hi.max(0.0),
    };
    let from_b = Range {
        lo: b.1 - length * slopes.hi.max(0.0),
        hi: b.1 - length * slopes.lo.min(0.0),
    };
    from_a.meet(from_b)
}

/// The root between `a` (at or below) and `b` (above) of a rising signal: Illinois steps (Dowell and Jarratt 1971, BIT
/// 11:168) inside a bracket that is halved whenever they dawdle. Returns the upper end of the last bracket.
fn root(signal: &impl Signal, level: f64, a: (f64, f64), b: (f64, f64)) -> f64 {
    let (mut x, mut fx) = (a.0, a.1 - level);
    let (mut y, mut fy) = (b.0, b.1 - level);
    let mut side = 0;
    for step in 0..200 {
        if y - x <= INSTANT_S {
            break;
        }
        let guess = (x * fy - y * fx) / (fy - fx);
        let inside = guess > x && guess < y;
        let t = if inside && step % 4 != 3 { guess } else { 0.5 * (x + y) };
        let f = signal.at(t) - level;
        if f > 0.0 {
            (y, fy) = (t, f);
            if side == 1 {
                fx *= 0.5;
            }
            side = 1;
        } else {
            (x, fx) = (t, f);
            if side == -1 {
                fy *= 0.5;
            }
            side = -1;
        }
    }
    y
}

/// The highest value on `[a, b]` if it exceeds `floor`, with its time: `(t, value)`.
///
/// Exact where the highest value is at an end or the slope changes sign once; otherwise to 1e-7 of the value.
///
/// Differences below `resolution` (in the signal's unit) are not told apart either: near zero a fraction of the value is
/// less than what rounding leaves, and no interval would ever be ruled out.
pub(crate) fn highest(
    signal: &impl Signal,
    floor: f64,
    resolution: f64,
    a: f64,
    b: f64,
    work: &mut Work,
) -> Option<(f64, f64)> {
    let (start, end) = ((a, signal.at(a)), (b, signal.at(b)));
    let mut best = (f64::NAN, floor);
    for end in [start, end] {
        if end.1 > best.1 {
            best = end;
        }
    }
    climb(signal, &mut best, resolution, start, end, work);
    (!best.0.is_nan()).then_some(best)
}

fn climb(signal: &impl Signal, best: &mut (f64, f64), resolution: f64, a: (f64, f64), b: (f64, f64), work: &mut Work) {
    if b.0 - a.0 <= INSTANT_S {
        work.ruled_out += 1;
        return;
    }
    let bounds = signal.bounds(a.0, b.0);
    let (slopes, bends) = (bounds.slope, bounds.bend);
    let done = best.1 + (RESOLVED * best.1.abs()).max(resolution);
    // Monotone or convex: highest at an end.
    if slopes.lo >= 0.0 || slopes.hi <= 0.0 || bends.lo >= 0.0 || ceiling(a, b, &bounds) <= done {
        work.ruled_out += 1;
        return;
    }
    work.looked_into += 1;
    // Where the slope turns from up to down there is a peak; elsewhere halve.
    let turned = turn(signal, a.0, b.0);
    if let Some(t) = turned {
        let value = signal.at(t);
        if value > best.1 {
            *best = (t, value);
        }
    }
    if bends.hi <= 0.0 && turned.is_some() {
        // Concave: there is no other.
        return;
    }
    // Split at the peak, but never so near to an end that one part is all of the interval again.
    let margin = 0.0625 * (b.0 - a.0);
    let middle = turned.map_or(0.5 * (a.0 + b.0), |t| t.clamp(a.0 + margin, b.0 - margin));
    let m = (middle, signal.at(middle));
    if m.1 > best.1 {
        *best = m;
    }
    climb(signal, best, resolution, a, m, work);
    climb(signal, best, resolution, m, b, work);
}

/// An upper bound of the value from its ends and the bounds over the interval.
fn ceiling(a: (f64, f64), b: (f64, f64), bounds: &Bounds) -> f64 {
    let chord = over_chord(a, b, bounds.bend);
    from_ends(a, b, bounds.slope).hi.min(chord).min(bounds.value.hi)
}

/// A bound of the value from its ends and the bounds of its second derivative.
fn over_chord(a: (f64, f64), b: (f64, f64), bends: Range) -> f64 {
    let length = b.0 - a.0;
    a.1.max(b.1) + (-bends.lo).max(0.0) * length * length / 8.0
}

/// A zero of the slope inside `(a, b)` if the slope falls from above zero to below it: bisection with secant steps, to
/// 1e-5 of the interval (the value there is then good to 1e-10 of the rise).
fn turn(signal: &impl Signal, a: f64, b: f64) -> Option<f64> {
    let (mut x, mut fx, mut y, mut fy) = (a, signal.slope(a), b, signal.slope(b));
    if fx <= 0.0 || fy >= 0.0 {
        return None;
    }
    for step in 0..24 {
        if y - x <= 1e-5 * (b - a) {
            break;
        }
        let guess = x + (y - x) * fx / (fx - fy);
        let t = if step % 3 == 2 { 0.5 * (x + y) } else { guess };
        let f = signal.slope(t);
        if f > 0.0 {
            (x, fx) = (t, f);
        } else if f < 0.0 {
            (y, fy) = (t, f);
        } else {
            return (t > a && t < b).then_some(t);
        }
    }
    let t = x + (y - x) * fx / (fx - fy);
    (t > a && t < b).then_some(t)
}

impl Signal for Course {
    fn at(&self, t: f64) -> f64 {
        Course::at(self, t)
    }
    fn slope(&self, t: f64) -> f64 {
        Course::slope(self, t)
    }
    fn bounds(&self, a: f64, b: f64) -> Bounds {
        Course::bounds(self, a, b)
    }
}

/// A stock: `start` plus the integral of a rate.
pub(crate) struct Stock<'a> {
    /// At time 0 of the segment.
    pub start: f64,
    /// Its rate.
    pub rate: &'a Course,
}

impl Signal for Stock<'_> {
    fn at(&self, t: f64) -> f64 {
        self.start + self.rate.integral(t)
    }
    fn slope(&self, t: f64) -> f64 {
        self.rate.at(t)
    }
    fn bounds(&self, a: f64, b: f64) -> Bounds {
        self.rate.bounds(a, b).of_integral(1.0)
    }
}

/// A signal upside down.
pub(crate) struct Flipped<'a, S>(pub &'a S);

impl<S: Signal> Signal for Flipped<'_, S> {
    fn at(&self, t: f64) -> f64 {
        -self.0.at(t)
    }
    fn slope(&self, t: f64) -> f64 {
        -self.0.slope(t)
    }
    fn bounds(&self, a: f64, b: f64) -> Bounds {
        self.0.bounds(a, b).times(-1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::super::course::Term;
    use super::*;

    /// Rises and falls: 100 (e^(-t/600) - e^(-t/60)), peak 100 * 0.697 at 153.5 s.
    fn bump() -> Course {
        let mut course = Course::default();
        course.rates.extend([1.0 / 600.0, 1.0 / 60.0]);
        course.terms.push(Term {
            rate: 0,
            start: 100.0,
            ..Term::default()
        });
        course.terms.push(Term {
            rate: 1,
            start: -100.0,
            ..Term::default()
        });
        course
    }

    #[test]
    fn a_double_crossing_between_two_low_ends_is_found() {
        let (course, mut work) = (bump(), Work::default());
        assert!(course.at(0.0) < 60.0 && course.at(3000.0) < 60.0);
        let up = first_above(&course, Level::new(60.0), 0.0, 3000.0, &mut work).unwrap();
        let down = first_below(&course, Level::new(60.0), up, 3000.0, &mut work).unwrap();
        assert!((course.at(up) - 60.0).abs() < 1e-8 && (course.at(down) - 60.0).abs() < 1e-8);
        assert!(up < 153.5 && down > 153.6);
        assert_eq!(first_above(&course, Level::new(60.0), down, 3000.0, &mut work), None);
        assert_eq!(first_above(&course, Level::new(69.8), 0.0, 3000.0, &mut work), None);
    }

    #[test]
    fn a_crossing_is_where_the_level_is_and_not_where_its_band_ends() {
        let (course, mut work) = (bump(), Work::default());
        let wide = Level { at: 60.0, band: 0.01 };
        for end in [200.0, 1000.0, 3000.0] {
            let t = first_above(&course, wide, 0.0, end, &mut work).unwrap();
            assert!((course.at(t) - 60.0).abs() < 2e-5, "{}", course.at(t));
        }
    }

    #[test]
    fn the_peak_is_found_where_calculus_says() {
        let (course, mut work) = (bump(), Work::default());
        let t = 600.0 * 60.0 / 540.0 * f64::ln(10.0);
        let (at, value) = highest(&course, 0.0, 0.0, 0.0, 3000.0, &mut work).unwrap();
        assert!((at - t).abs() < 1e-3, "{at} {t}");
        assert!((value - course.at(t)).abs() < 1e-9);
        assert_eq!(highest(&course, 70.0, 0.0, 0.0, 3000.0, &mut work), None);
    }

    #[test]
    fn a_steady_value_on_the_level_is_no_crossing() {
        let mut course = Course {
            constant: 5.0,
            ..Course::default()
        };
        course.add_exponential(0.01, 1e-17);
        assert_eq!(
            first_above(&course, Level::new(5.0), 0.0, 1e6, &mut Work::default()),
            None
        );
    }
}
