//! Averages of what a person breathes, or of a compartment's air: moving, over a shift, over the run.
//!
//! ```text
//! moving:  M(s) = (I(s) - I(s - W)) / W,   I(s) = int_0^s q,   q(s < 0) = q(0)
//! shift:   (I over each 24 h from the start) / length
//! mission: I(end) / s(end)
//! ```
//!
//! `s` is the clock of the exposure in s: it rests while a person is outside the cabin, where the suit's air is a stated
//! assumption. The highest `M` lies where `q(s) = q(s - W)` or where either piece begins; pieces that bounds rule out are not
//! evaluated. The integrals are those of the segments themselves.
//!
//! All values are in the sense in which higher is worse (`sign` times the quantity).

use std::collections::VecDeque;

use crate::units::Time;

use super::course::Course;
use super::gauge::Gauge;
use super::past::Past;
use super::range::{Bounds, Range};
use super::record::{Beyond, Record};
use super::search::{Level, Signal, Work};

/// One stay in one compartment over one segment.
#[derive(Clone, Copy, Debug)]
struct Piece {
    /// Clock at its start, s.
    from_s: f64,
    /// Length, s.
    length_s: f64,
    /// Integral before it.
    before: f64,
    /// Where its segment is.
    segment: u64,
    /// What is read off it.
    gauge: Gauge,
    /// Range of the value.
    range: Range,
}

/// An exposure: its clock, its integral, and the pieces a window still looks back on.
#[derive(Clone, Debug, Default)]
pub(crate) struct Exposure {
    /// Clock, s.
    pub clock_s: f64,
    /// Integral so far.
    pub integral: f64,
    initial: Option<f64>,
    pieces: VecDeque<Piece>,
}

/// Courses to write into.
#[derive(Debug, Default)]
pub(crate) struct Buffers {
    /// Of this segment.
    pub now: Course,
    /// Of one that is looked back on.
    past: Course,
}

/// What a segment contributes.
pub(crate) struct Stay<'a> {
    /// Segments, the newest being this one.
    pub past: &'a Past,
    /// What is read.
    pub gauge: Gauge,
    /// 1, or -1 where lower is worse.
    pub sign: f64,
    /// Range of the value over the segment, in the sense in which higher is worse.
    pub range: Range,
    /// Value at the start, likewise.
    pub start: f64,
    /// Integral over the segment, likewise.
    pub integral: f64,
    /// Length of the segment, s.
    pub length_s: f64,
    /// Time of its start.
    pub origin: Time,
}

impl Exposure {
    /// Forgets all; keeps the storage.
    pub fn reset(&mut self) {
        self.clock_s = 0.0;
        self.integral = 0.0;
        self.initial = None;
        self.pieces.clear();
    }

    /// The oldest segment still needed.
    pub fn oldest(&self) -> Option<u64> {
        self.pieces.front().map(|piece| piece.segment)
    }

    /// Adds a stay without a window to look back over.
    pub fn add(&mut self, stay: &Stay) {
        self.initial.get_or_insert(stay.start);
        self.clock_s += stay.length_s;
        self.integral += stay.integral;
    }

    /// Adds a stay and judges the moving average over it.
    #[expect(
        clippy::too_many_arguments,
        reason = "a window and a level, and the books they are kept in"
    )]
    pub fn add_moving(
        &mut self,
        stay: &Stay,
        window_s: f64,
        level: Level,
        record: &mut Record,
        beyond: &mut Beyond,
        buffers: &mut Buffers,
        work: &mut Work,
    ) {
        let initial = *self.initial.get_or_insert(stay.start);
        self.pieces.push_back(Piece {
            from_s: self.clock_s,
            length_s: stay.length_s,
            before: self.integral,
            segment: stay.past.newest(),
            gauge: stay.gauge,
            range: stay.range,
        });
        let most = self.highest_possible(stay, window_s, initial);
        if most <= level.at {
            beyond.below();
        }
        if most <= record.value.min(level.at) {
            work.ruled_out += 1;
        } else {
            let beyond = (most > level.at).then_some(beyond);
            self.look(stay, window_s, initial, level, record, beyond, buffers, work);
        }
        self.clock_s += stay.length_s;
        self.integral += stay.integral;
        let needed_from = self.clock_s - window_s;
        while self
            .pieces
            .front()
            .is_some_and(|piece| piece.from_s + piece.length_s <= needed_from)
        {
            self.pieces.pop_front();
        }
    }

    /// A bound of the average over the stay from stored ranges alone.
    fn highest_possible(&self, stay: &Stay, window_s: f64, initial: f64) -> f64 {
        let (from, to) = (self.clock_s - window_s, self.clock_s - window_s + stay.length_s);
        let mut lowest = if from < 0.0 { initial } else { f64::INFINITY };
        let mut least_before = if from < 0.0 { initial * from } else { f64::NEG_INFINITY };
        for piece in &self.pieces {
            if piece.from_s > to {
                break;
            }
            if piece.from_s + piece.length_s > from {
                lowest = lowest.min(piece.range.lo);
            }
            if piece.from_s <= from && from <= piece.from_s + piece.length_s {
                least_before = piece.before + piece.range.lo * (from - piece.from_s);
            }
        }
        let at_start = (self.integral - least_before) / window_s;
        at_start + stay.length_s * (stay.range.hi - lowest).max(0.0) / window_s
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "a window and a level, and the books they are kept in"
    )]
    fn look(
        &self,
        stay: &Stay,
        window_s: f64,
        initial: f64,
        level: Level,
        record: &mut Record,
        mut beyond: Option<&mut Beyond>,
        buffers: &mut Buffers,
        work: &mut Work,
    ) {
        stay.gauge
            .linear(stay.past.get(stay.past.newest()), stay.sign, &mut buffers.now);
        let mut t = 0.0;
        let mut place = 0;
        // The window's far end stays before the start of the run until then.
        let before_start = window_s - self.clock_s;
        while t < stay.length_s {
            let early = t < before_start;
            let (before, until) = if early {
                buffers.past.clear();
                buffers.past.constant = initial;
                (initial * (self.clock_s - window_s), before_start)
            } else {
                let until = |place: usize| {
                    self.pieces
                        .get(place + 1)
                        .map_or(f64::INFINITY, |next| next.from_s + window_s - self.clock_s)
                };
                while until(place) <= t {
                    place += 1;
                }
                let piece = &self.pieces[place];
                piece
                    .gauge
                    .linear(stay.past.get(piece.segment), stay.sign, &mut buffers.past);
                (piece.before, until(place))
            };
            let end = until.min(stay.length_s);
            let shift = if early {
                0.0
            } else {
                self.clock_s - window_s - self.pieces[place].from_s
            };
            let signal = Moving {
                now: &buffers.now,
                past: &buffers.past,
                difference: self.integral - before,
                shift,
                window_s,
            };
            record.look(&signal, stay.gauge.resolution(), t, end, stay.origin, work);
            if let Some(beyond) = beyond.as_deref_mut() {
                beyond.follow(&signal, level, t, end, stay.origin, work, |_| {});
            }
            t = end;
        }
    }
}

/// The moving average while neither end of the window changes piece.
struct Moving<'a> {
    now: &'a Course,
    past: &'a Course,
    /// Integral before this segment less that before the past piece.
    difference: f64,
    /// Time within the past piece at time 0 of this segment, s.
    shift: f64,
    window_s: f64,
}

impl Signal for Moving<'_> {
    fn at(&self, t: f64) -> f64 {
        (self.difference + self.now.integral(t) - self.past.integral(t + self.shift)) / self.window_s
    }
    fn slope(&self, t: f64) -> f64 {
        (self.now.at(t) - self.past.at(t + self.shift)) / self.window_s
    }
    fn bounds(&self, a: f64, b: f64) -> Bounds {
        let past = self.past.bounds(a + self.shift, b + self.shift);
        self.now
            .bounds(a, b)
            .plus(past.times(-1.0))
            .of_integral(1.0 / self.window_s)
    }
}
