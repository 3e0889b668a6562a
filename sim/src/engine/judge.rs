//! The rules of a case, judged segment by segment.

use crate::air::{MOST, Place};
use crate::limits::{Bound, Quantity, Rule, Statistic, Subject};
use crate::units::Time;

mod book;

use super::Case;
use super::accuracy::ON_LIMIT;
use super::course::Course;
use super::exposure::{Buffers, Exposure, Stay};
use super::gauge::{Courses, Gauge, Reading};
use super::outcome::{RuleOutcome, RunError};
use super::past::Past;
use super::people::behind;
use super::range::{Bounds, Range};
use super::record::{Beyond, Record};
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
                Subject::Person(person) if view.crew.people[person].masked => Place::Outside,
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
