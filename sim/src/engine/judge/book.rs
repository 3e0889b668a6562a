//! What is kept of one rule in one place or for one person, and what comes of it.

use super::super::accuracy::ON_LIMIT;
use super::super::exposure::{Buffers, Exposure};
use super::super::gauge::Courses;
use super::super::outcome::RuleOutcome;
use super::super::range::Range;
use super::super::record::{Beyond, Record, Worse};
use super::super::search::Work;
use super::super::view::View;
use super::{Book, DAY, Reader, Seen, Summed};
use crate::air::{MOST, Place};
use crate::limits::{Bound, Rule, Statistic, Subject};
use crate::units::Time;

impl Book {
    pub(super) fn new() -> Self {
        Self {
            readers: [None; MOST],
            records: [Record::default(); MOST],
            beyond: Beyond::default(),
            exposure: Exposure::default(),
            day: 0,
            day_sum: 0.0,
            crossed: None,
            last_beyond: Time::ZERO,
        }
    }

    pub(super) fn open(&mut self, readers: [Option<Reader>; MOST]) {
        self.readers = readers;
        self.records = [Record::default(); MOST];
        self.beyond = Beyond::default();
        self.exposure.reset();
        self.day = 0;
        self.day_sum = 0.0;
        self.crossed = None;
        self.last_beyond = Time::ZERO;
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "a rule's numbers and the books they are kept in"
    )]
    pub(super) fn instant(
        &mut self,
        view: &View,
        reader: &Reader,
        a: usize,
        range: Range,
        origin: Time,
        courses: &mut Courses,
        seen: &mut Vec<Seen>,
        work: &mut Work,
    ) {
        let record = &mut self.records[a];
        let may_be_beyond = range.hi > reader.level.at;
        if !record.could_fall_to(range) && !may_be_beyond {
            work.ruled_out += 1;
            self.beyond.below();
            return;
        }
        let before = record.value;
        let same = |s: &&Seen| s.gauge == reader.gauge && s.sign == reader.sign && s.before == before;
        if let (Some(known), false) = (seen.iter().find(same), may_be_beyond) {
            *record = known.after;
            work.ruled_out += 1;
            self.beyond.below();
            return;
        }
        let length = view.segment.length_s;
        if reader.gauge.is_quotient() {
            record.look_quotient(view, &reader.gauge, reader.sign, origin, courses, work);
        } else {
            let reading = reader.gauge.reading(view, courses);
            let signal = Worse {
                signal: &reading,
                sign: reader.sign,
            };
            record.look(&signal, reader.gauge.resolution(), 0.0, length, origin, work);
        }
        seen.push(Seen {
            gauge: reader.gauge,
            sign: reader.sign,
            before,
            after: *record,
        });
        if may_be_beyond {
            let (reading, level) = reader.compare(view, courses);
            let signal = Worse {
                signal: &reading,
                sign: reader.sign,
            };
            self.beyond.follow(&signal, level, 0.0, length, origin, work, |_| {});
        } else {
            self.beyond.below();
        }
        self.crossed = self.beyond.first;
    }

    /// A person's tissue, looked at where the segment begins and ends: within one, pressure and tissue go one way.
    pub(super) fn tissue(&mut self, view: &View, rule: &Rule, origin: Time) {
        let Subject::Person(person) = rule.subject else { return };
        let (Place::Compartment(a), Some(ends)) = (view.crew.people[person].air, view.tissue(person)) else {
            return;
        };
        let sign = if rule.bound == Bound::AtMost { 1.0 } else { -1.0 };
        let length_s = view.segment.length_s;
        for (t, ratio) in [(0.0, ends[0]), (length_s, ends[1])] {
            if sign * ratio > self.records[a].value {
                self.records[a] = Record {
                    value: sign * ratio,
                    at: origin + Time::from_seconds(t),
                };
            }
            if sign * (ratio - rule.limit) > ON_LIMIT * rule.limit.abs() {
                self.crossed.get_or_insert(origin + Time::from_seconds_up(t));
            }
        }
        if sign * (ends[0] - rule.limit) > 0.0 && sign * (ends[1] - rule.limit) > 0.0 {
            self.beyond.total_s += length_s;
        }
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "a rule's numbers and the books they are kept in"
    )]
    pub(super) fn allowance(
        &mut self,
        view: &View,
        reader: &Reader,
        range: Range,
        allowed_s: f64,
        each: bool,
        origin: Time,
        courses: &mut Courses,
        work: &mut Work,
    ) {
        if range.hi <= reader.level.at {
            work.ruled_out += 1;
            self.beyond.below();
            return;
        }
        let (reading, level) = reader.compare(view, courses);
        let signal = Worse {
            signal: &reading,
            sign: reader.sign,
        };
        let (crossed, last) = (&mut self.crossed, &mut self.last_beyond);
        let length = view.segment.length_s;
        self.beyond
            .follow(&signal, level, 0.0, length, origin, work, |stretch| {
                let before = if each {
                    stretch.before_stretch_s
                } else {
                    stretch.before_total_s
                };
                let used_up = stretch.from + (allowed_s - before);
                if used_up < stretch.to {
                    crossed.get_or_insert(origin + Time::from_seconds_up(used_up.max(stretch.from)));
                }
                *last = origin + Time::from_seconds(stretch.to);
            });
    }

    pub(super) fn shift(
        &mut self,
        view: &View,
        reader: &Reader,
        length_s: f64,
        origin: Time,
        buffers: &mut Buffers,
        work: &mut Work,
    ) {
        let course = &mut buffers.now;
        reader.gauge.linear(view.segment, reader.sign, course);
        let mut t = 0.0;
        while t < view.segment.length_s {
            let now = origin + Time::from_seconds(t);
            let day = now.0 / DAY.0;
            if day != self.day {
                self.day = day;
                self.day_sum = 0.0;
            }
            let next_day = Time((day + 1) * DAY.0) - origin;
            let end = next_day.seconds().min(view.segment.length_s);
            let sum = Summed {
                course,
                before: self.day_sum - course.integral(t),
                length_s,
            };
            self.records[0].look(&sum, reader.gauge.resolution(), t, end, origin, work);
            self.beyond.follow(&sum, reader.level, t, end, origin, work, |_| {});
            self.day_sum += course.integral(end) - course.integral(t);
            t = end;
        }
        self.crossed = self.beyond.first;
    }

    pub(super) fn close(&mut self, rule: &Rule, end: Time) -> RuleOutcome {
        let nothing = RuleOutcome {
            worst: f64::NAN,
            margin: f64::NAN,
            ..RuleOutcome::default()
        };
        let mut outcome = match rule.statistic {
            Statistic::Allowance { each, .. } => RuleOutcome {
                worst: if each {
                    self.beyond.longest_s
                } else {
                    self.beyond.total_s
                },
                at: self.last_beyond,
                ..nothing
            },
            Statistic::Mission if self.exposure.clock_s > 0.0 => {
                let sign = self.readers.iter().flatten().next().map_or(1.0, |reader| reader.sign);
                let worst = sign * self.exposure.integral / self.exposure.clock_s;
                RuleOutcome {
                    worst,
                    at: end,
                    ..nothing
                }
            }
            Statistic::Mission => nothing,
            _ => self.worst_record(rule).unwrap_or(nothing),
        };
        outcome.margin = match (rule.statistic, rule.bound) {
            (Statistic::Allowance { .. }, _) | (_, Bound::AtMost) => rule.limit - outcome.worst,
            (_, Bound::AtLeast) => outcome.worst - rule.limit,
        };
        outcome.first_crossing = self.crossed;
        if matches!(rule.statistic, Statistic::Mission) && outcome.margin < 0.0 {
            outcome.first_crossing = Some(end);
        }
        outcome.beyond_s = self.beyond.total_s;
        if (outcome.worst - rule.limit).abs() <= ON_LIMIT * rule.limit.abs() {
            (outcome.worst, outcome.margin, outcome.first_crossing) = (rule.limit, 0.0, None);
            if !matches!(rule.statistic, Statistic::Allowance { .. }) {
                outcome.beyond_s = 0.0;
            }
        }
        outcome
    }

    /// The worst of all compartments, as a value of the quantity.
    pub(super) fn worst_record(&self, rule: &Rule) -> Option<RuleOutcome> {
        let mut best: Option<RuleOutcome> = None;
        let averages = matches!(rule.statistic, Statistic::Moving { .. } | Statistic::Shift { .. });
        for (record, reader) in self.records.iter().zip(&self.readers) {
            let reader = if averages {
                self.readers.iter().flatten().next()
            } else {
                reader.as_ref()
            };
            let (Some(reader), true) = (reader, record.value > f64::NEG_INFINITY) else {
                continue;
            };
            let signal = reader.sign * record.value;
            let worst = if averages { signal } else { reader.gauge.value(signal) };
            let worse = |than: f64| match rule.bound {
                Bound::AtMost => worst > than,
                Bound::AtLeast => worst < than,
            };
            if best.is_none_or(|b| worse(b.worst)) {
                best = Some(RuleOutcome {
                    worst,
                    at: record.at,
                    ..RuleOutcome::default()
                });
            }
        }
        best
    }
}
