//! The rules of a case, judged segment by segment.

use crate::air::{MOST, Place};
use crate::limits::{Bound, Quantity, Rule, Statistic, Subject};
use crate::units::Time;

use super::Case;
use super::accuracy::ON_LIMIT;
use super::course::Course;
use super::exposure::{Buffers, Exposure, Stay};
use super::gauge::{Courses, Gauge, Reading};
use super::outcome::{RuleOutcome, RunError};
use super::past::Past;
use super::people::behind;
use super::range::{Bounds, Range};
use super::record::{Beyond, Record, Worse};
use super::search::{Level, Signal, Work};
use super::segment::Integrals;
use super::view::View;

/// The length over which a shift's exposures are summed.
const DAY: Time = Time(86_400_000_000_000);

/// A rule in one compartment, in the sense in which higher is worse.
#[derive(Clone, Copy, Debug)]
struct Reader {
    gauge: Gauge,
    sign: f64,
    level: Level,
}

/// One rule's books.
#[derive(Clone, Debug)]
struct Book {
    readers: [Option<Reader>; MOST],
    /// Worst instant, by compartment (a signal may mean another value elsewhere); averages use the first.
    records: [Record; MOST],
    beyond: Beyond,
    exposure: Exposure,
    /// A shift's day, and its integral so far.
    day: i64,
    day_sum: f64,
    crossed: Option<Time>,
    last_beyond: Time,
}

/// A record already looked for in this segment: people in one compartment share their air, and mostly their records.
#[derive(Clone, Copy, Debug)]
struct Seen {
    gauge: Gauge,
    sign: f64,
    before: f64,
    after: Record,
}

/// All rules.
#[derive(Debug, Default)]
pub(crate) struct Judge {
    books: Vec<Book>,
    seen: Vec<Seen>,
    courses: Courses,
    buffers: Buffers,
}

impl Judge {
    /// Opens the books.
    ///
    /// # Errors
    /// If a rule asks for an average of a quantity that is not linear in the gas amounts.
    pub fn reset(&mut self, case: &Case) -> Result<(), RunError> {
        self.books.truncate(case.rules.len());
        for (place, rule) in case.rules.iter().enumerate() {
            let averages = matches!(
                rule.statistic,
                Statistic::Moving { .. } | Statistic::Shift { .. } | Statistic::Mission
            );
            if averages && !is_linear(rule.quantity) {
                return Err(RunError::Invalid(
                    "an average of a quantity that is not linear in the gas amounts",
                ));
            }
            let mut readers = [None; MOST];
            for (a, compartment) in case.compartments.iter().enumerate() {
                if matches!(rule.subject, Subject::Compartment(own) if own != a) {
                    continue;
                }
                let gauge = match rule.subject {
                    Subject::Tank(tank) => Gauge::Tank {
                        tank,
                        kg_mol: case.tanks[tank].gas.molar_mass_kg_mol(),
                    },
                    _ => Gauge::new(rule.quantity, a, compartment),
                };
                readers[a] = Some(Reader::new(rule, gauge));
            }
            if place == self.books.len() {
                self.books.push(Book::new());
            }
            self.books[place].open(readers);
        }
        Ok(())
    }

    /// Judges every rule over the newest segment, `[0, view.segment.length_s]` s from `origin`.
    pub fn follow(&mut self, view: &View, past: &Past, integrals: &Integrals, origin: Time, work: &mut Work) {
        self.seen.clear();
        for (rule, book) in view.case.rules.iter().zip(&mut self.books) {
            if rule.quantity == Quantity::TissueRatio {
                book.tissue(view, rule, origin);
                continue;
            }
            let place = match rule.subject {
                Subject::Compartment(a) => Place::Compartment(a),
                Subject::Tank(_) => Place::Compartment(0),
                Subject::Person(person) => view.crew.people[person].air,
            };
            let Place::Compartment(a) = place else {
                book.beyond.rest();
                continue;
            };
            let is_of_compartment = matches!(rule.subject, Subject::Compartment(_));
            let thin = rule.quantity == Quantity::OxygenFraction && view.mode.thin[a];
            if is_of_compartment && (!view.is_alive(a) || thin) {
                book.beyond.rest();
                continue;
            }
            let Some(mut reader) = book.readers[a] else { continue };
            if let (Subject::Person(person), Quantity::Co2) = (rule.subject, rule.quantity) {
                reader.wash_out(view, person, a);
            }
            let range = reader.gauge.range(view).times(reader.sign);
            let courses = &mut self.courses;
            match rule.statistic {
                Statistic::Instant => book.instant(view, &reader, a, range, origin, courses, &mut self.seen, work),
                Statistic::Allowance { each, .. } => {
                    book.allowance(view, &reader, range, rule.limit, each, origin, courses, work);
                }
                Statistic::Moving { window } => {
                    let stay = reader.stay(view, past, range, integrals, origin, courses);
                    book.exposure.add_moving(
                        &stay,
                        window.seconds(),
                        reader.level,
                        &mut book.records[0],
                        &mut book.beyond,
                        &mut self.buffers,
                        work,
                    );
                    book.crossed = book.beyond.first;
                }
                Statistic::Shift { length } => {
                    book.shift(view, &reader, length.seconds(), origin, &mut self.buffers, work);
                }
                Statistic::Mission => {
                    let stay = reader.stay(view, past, range, integrals, origin, courses);
                    book.exposure.add(&stay);
                }
            }
        }
    }

    /// Rules that have been crossed, with when they first were.
    pub fn crossed(&self) -> impl Iterator<Item = (usize, Time)> + '_ {
        self.books
            .iter()
            .enumerate()
            .filter_map(|(index, book)| book.crossed.map(|at| (index, at)))
    }

    /// The oldest segment that a window still needs.
    pub fn oldest(&self, newest: u64) -> u64 {
        self.books
            .iter()
            .filter_map(|book| book.exposure.oldest())
            .min()
            .unwrap_or(newest)
    }

    /// Closes the books at `end`.
    pub fn finish(&mut self, case: &Case, end: Time, out: &mut Vec<RuleOutcome>) {
        out.clear();
        for (rule, book) in case.rules.iter().zip(&mut self.books) {
            out.push(book.close(rule, end));
        }
    }
}

fn is_linear(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::Co2 | Quantity::Humidity | Quantity::Oxygen | Quantity::Pressure | Quantity::Temperature
    )
}

impl Reader {
    fn new(rule: &Rule, gauge: Gauge) -> Self {
        let value = match rule.statistic {
            Statistic::Allowance { threshold, .. } => threshold,
            _ => rule.limit,
        };
        let (level, flipped) = gauge.signal_for(value);
        let higher_is_worse = (rule.bound == Bound::AtMost) != flipped;
        let sign = if higher_is_worse { 1.0 } else { -1.0 };
        Self {
            gauge,
            sign,
            level: Level {
                at: sign * level,
                band: (ON_LIMIT * level.abs()).max(0.01 * gauge.resolution()),
            },
        }
    }

    /// CO2 that a person breathes where their own output washes out slowly.
    fn wash_out(&mut self, view: &View, person: usize, a: usize) {
        let washout = view.case.compartments[a].washout_pa_s_mol;
        if washout == 0.0 {
            return;
        }
        let doing = &view.crew.people[person];
        let target = doing.target(view.case, person).co2_mol_s;
        self.gauge = Gauge::Breathed {
            a,
            steady: washout * target,
            fading: washout * behind(doing.co2, target),
            mu: 1.0 / view.case.people[person].gas_lag_s,
        };
    }

    /// The signal with the level that it is held against; for a quotient, its excess over the level, held against zero.
    fn compare<'a>(&self, view: &View, courses: &'a mut Courses) -> (Reading<'a>, Level) {
        if !self.gauge.is_quotient() {
            return (self.gauge.reading(view, courses), self.level);
        }
        let reading = self.gauge.excess(view, courses, self.sign * self.level.at);
        let dry = reading.quotient(0.0).1;
        let band = self.level.band * dry;
        (reading, Level { at: 0.0, band })
    }

    fn stay<'a>(
        &self,
        view: &View,
        past: &'a Past,
        range: Range,
        integrals: &Integrals,
        origin: Time,
        courses: &mut Courses,
    ) -> Stay<'a> {
        // The value at the start is exact from the stocks for what is linear.
        let start = match self.gauge {
            Gauge::Partial { species, a, scale } => scale * view.stocks.p[species][a],
            Gauge::Total { a } => view.stocks.pressure(a),
            _ => self.gauge.reading(view, courses).at(0.0),
        };
        Stay {
            past,
            gauge: self.gauge,
            sign: self.sign,
            range,
            start: self.sign * start,
            integral: self.sign * self.gauge.integral(view.segment, integrals),
            length_s: view.segment.length_s,
            origin,
        }
    }
}

impl Book {
    fn new() -> Self {
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

    fn open(&mut self, readers: [Option<Reader>; MOST]) {
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
    fn instant(
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
    fn tissue(&mut self, view: &View, rule: &Rule, origin: Time) {
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
    fn allowance(
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

    fn shift(
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

    fn close(&mut self, rule: &Rule, end: Time) -> RuleOutcome {
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
    fn worst_record(&self, rule: &Rule) -> Option<RuleOutcome> {
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

/// A day's exposure so far, over the length of a shift.
struct Summed<'a> {
    course: &'a Course,
    before: f64,
    length_s: f64,
}

impl Signal for Summed<'_> {
    fn at(&self, t: f64) -> f64 {
        (self.before + self.course.integral(t)) / self.length_s
    }
    fn slope(&self, t: f64) -> f64 {
        self.course.at(t) / self.length_s
    }
    fn bounds(&self, a: f64, b: f64) -> Bounds {
        self.course.bounds(a, b).of_integral(1.0 / self.length_s)
    }
}
