//! Worst values and time beyond a level, piece by piece, from signals with bounds.

use crate::units::Time;

use super::accuracy::RESOLVED;
use super::gauge::{Courses, Gauge};
use super::range::{Bounds, Range};
use super::search::{Flipped, Level, Signal, Work, first_above, highest};
use super::view::View;

/// The highest value so far, in the sense in which higher is worse.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Record {
    /// Its value; minus infinity while there is none.
    pub value: f64,
    /// When.
    pub at: Time,
}

impl Default for Record {
    fn default() -> Self {
        Self {
            value: f64::NEG_INFINITY,
            at: Time::ZERO,
        }
    }
}

impl Record {
    /// Whether a range could beat it by more than what is resolved.
    pub fn could_fall_to(&self, range: Range) -> bool {
        range.hi > self.value + RESOLVED * self.value.abs() || self.value == f64::NEG_INFINITY
    }

    /// Looks for a higher value on `[a, b]` of a segment that starts at `origin`.
    ///
    /// Differences below `resolution`, in the signal's unit, do not count.
    pub fn look(&mut self, signal: &impl Signal, resolution: f64, a: f64, b: f64, origin: Time, work: &mut Work) {
        if let Some((t, value)) = highest(signal, self.value, resolution, a, b, work) {
            self.value = value;
            self.at = origin + Time::from_seconds(t);
        }
    }

    /// The same for a quotient, over the whole of a segment: looks where the excess over the record is highest, until it
    /// is nowhere above zero (Dinkelbach 1967); most segments are ruled out by the excess's linear stand-in.
    pub fn look_quotient(
        &mut self,
        view: &View,
        gauge: &Gauge,
        sign: f64,
        origin: Time,
        courses: &mut Courses,
        work: &mut Work,
    ) {
        let length_s = view.segment.length_s;
        let dry = gauge.dry_pa(view);
        for _ in 0..8 {
            let resolution = RESOLVED * self.value.abs() * dry;
            if self.value > f64::NEG_INFINITY {
                let miss = gauge.stand_in(view, courses, sign * self.value);
                let signal = Worse {
                    signal: &courses.stand_in,
                    sign,
                };
                if highest(&signal, resolution - miss, resolution, 0.0, length_s, work).is_none() {
                    return;
                }
            }
            let excess = gauge.excess(view, courses, sign * self.value);
            let (first, _) = excess.quotient(0.0);
            if sign * first > self.value {
                self.value = sign * first;
                self.at = origin;
            }
            let excess = excess.over(sign * self.value);
            let signal = Worse { signal: &excess, sign };
            let floor = RESOLVED * self.value.abs() * dry;
            let Some((t, _)) = highest(&signal, floor, floor, 0.0, length_s, work) else {
                return;
            };
            let value = sign * excess.quotient(t).0;
            if value <= self.value {
                return;
            }
            self.value = value;
            self.at = origin + Time::from_seconds(t);
        }
    }
}

/// Time above a level, exactly, with its crossings.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Beyond {
    /// All of it, s.
    pub total_s: f64,
    /// The stretch that is running, s.
    pub stretch_s: f64,
    /// The longest stretch, s.
    pub longest_s: f64,
    /// Whether the signal was above when last seen.
    pub is_above: bool,
    /// When it was first above.
    pub first: Option<Time>,
}

/// A stretch above the level within one segment, s from its start.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    /// From.
    pub from: f64,
    /// To.
    pub to: f64,
    /// How long the same stretch had lasted before, s.
    pub before_stretch_s: f64,
    /// How much there had been in all, s.
    pub before_total_s: f64,
}

impl Beyond {
    /// The signal rests: a stretch that was running is over.
    pub fn rest(&mut self) {
        self.is_above = false;
        self.stretch_s = 0.0;
    }

    /// A segment throughout which the signal is not above.
    pub fn below(&mut self) {
        self.rest();
    }

    /// Follows the signal over `[a, b]`; calls `each` for every stretch above.
    #[expect(
        clippy::too_many_arguments,
        reason = "an interval, its origin, a level, and who wants to know"
    )]
    pub fn follow(
        &mut self,
        signal: &impl Signal,
        level: Level,
        a: f64,
        b: f64,
        origin: Time,
        work: &mut Work,
        mut each: impl FnMut(&Stretch),
    ) {
        let mut t = a;
        let mut above = signal.at(a) > level.at + level.band;
        if !above {
            self.rest();
        }
        while t < b {
            if above {
                let down = Level {
                    at: -level.at,
                    band: level.band,
                };
                let end = first_above(&Flipped(signal), down, t, b, work).unwrap_or(b);
                self.first.get_or_insert(origin + Time::from_seconds_up(t));
                each(&Stretch {
                    from: t,
                    to: end,
                    before_stretch_s: self.stretch_s,
                    before_total_s: self.total_s,
                });
                self.stretch_s += end - t;
                self.total_s += end - t;
                self.longest_s = self.longest_s.max(self.stretch_s);
                if end < b {
                    self.stretch_s = 0.0;
                }
                above = end >= b;
                t = end;
            } else {
                let Some(up) = first_above(signal, level, t, b, work) else {
                    break;
                };
                above = true;
                t = up;
            }
        }
        self.is_above = above;
    }
}

/// A signal in the sense in which higher is worse.
pub(crate) struct Worse<'a, S> {
    /// The signal.
    pub signal: &'a S,
    /// 1 where higher is worse, -1 where lower is.
    pub sign: f64,
}

impl<S: Signal> Signal for Worse<'_, S> {
    fn at(&self, t: f64) -> f64 {
        self.sign * self.signal.at(t)
    }
    fn slope(&self, t: f64) -> f64 {
        self.sign * self.signal.slope(t)
    }
    fn bounds(&self, a: f64, b: f64) -> Bounds {
        self.signal.bounds(a, b).times(self.sign)
    }
}
