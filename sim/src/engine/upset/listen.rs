//! When an alarm comes on or goes off: what its sensors say over a segment.
//!
//! Readings are no events: a segment is looked at where its readings are, and ends at none of them. While bounds of the segment rule
//! out that a reading or the truth crosses a set point, readings are passed over. The first reading is one period after the start of the
//! run. A reading at the very instant of an event is taken just before it.

use crate::engine::course::Course;
use crate::engine::gauge::Gauge;
use crate::engine::range::Range;
use crate::engine::view::View;
use crate::engine::{AlarmOutcome, Case};
use crate::limits::Bound;
use crate::units::Time;
use crate::upset::{Alarm, Broken, Sensor};

use super::faults::Faults;
use super::reading::{MOST_NOISE, lag, reading};

/// An alarm that came on or went off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Turn {
    /// Index of the alarm.
    pub alarm: usize,
    /// At which reading.
    pub at: Time,
    /// It came on.
    pub on: bool,
    /// It came on though the truth was at none of the readings that counted beyond the set point.
    pub is_false: bool,
}

/// A sensor as one alarm follows it.
#[derive(Clone, Copy, Debug)]
struct Probe {
    /// What its lag has made of the quantity; none before it has met any.
    lagged: Option<f64>,
    /// What it said last.
    said: Option<f64>,
}

/// An alarm with its sensors.
#[derive(Clone, Debug)]
struct Watched {
    probes: Vec<Probe>,
    /// Up to when it has been followed.
    at: Time,
    on: bool,
    on_since: Time,
    /// First of the readings without a break that are beyond the set point.
    since: Option<Time>,
    /// At one of them the truth was.
    true_since: bool,
    /// First of the readings without a break at which the truth is beyond.
    truth: Option<Time>,
    /// That has become an occasion.
    occasion: bool,
    /// The alarm was on at one of them.
    heard: bool,
    book: AlarmOutcome,
}

impl Default for Watched {
    fn default() -> Self {
        Self {
            probes: Vec::new(),
            at: Time::ZERO,
            on: false,
            on_since: Time::ZERO,
            since: None,
            true_since: false,
            truth: None,
            occasion: false,
            heard: false,
            book: AlarmOutcome::default(),
        }
    }
}

/// What is known of one sensor over the segment.
struct Heard<'a> {
    sensor: &'a Sensor,
    index: usize,
    course: Course,
    range: Range,
    broken: Option<Broken>,
    faulty: bool,
}

/// All sensors and alarms of a run.
#[derive(Debug, Default)]
pub(crate) struct Listener {
    alarms: Vec<Watched>,
    /// Up to when they have come.
    at: Time,
    /// The same as far as the running segment has been looked at.
    ahead: Vec<Watched>,
    ahead_at: Time,
    /// Turns up to there.
    found: Vec<Turn>,
    /// Turns that have come, and have not been dealt with.
    turns: Vec<Turn>,
}

impl Listener {
    /// Nothing has been read yet.
    pub fn reset(&mut self, case: &Case) {
        self.alarms.clear();
        self.alarms.extend(case.alarms.iter().map(|alarm| Watched {
            probes: vec![
                Probe {
                    lagged: None,
                    said: None
                };
                alarm.sensors.len()
            ],
            ..Watched::default()
        }));
        self.ahead.clear();
        self.at = Time::ZERO;
        self.ahead_at = Time(-1);
        self.found.clear();
        self.turns.clear();
    }

    /// Looks at the running segment, which began at `origin`, from where readings have been dealt with to `to`: when an alarm first
    /// turns, if one does.
    pub fn look(&mut self, view: &View, faults: &Faults, origin: Time, to: Time) -> Option<Time> {
        self.found.clear();
        self.ahead_at = to;
        if self.alarms.is_empty() {
            return None;
        }
        let case = view.case;
        self.ahead.clone_from(&self.alarms);
        let mut first = None;
        for (index, watched) in self.ahead.iter_mut().enumerate() {
            let heard = hear(view, faults, &case.alarms[index]);
            if let Some(turn) = watched.follow(index, case, faults, &heard, origin, to) {
                first = Some(first.map_or(turn.at, |at: Time| at.min(turn.at)));
                self.found.push(turn);
            }
        }
        let at = first?;
        if at < to {
            // Those that turn later, or not at all, have gone too far.
            self.found.retain(|turn| turn.at == at);
            for (index, watched) in self.ahead.iter_mut().enumerate() {
                if watched.at > at {
                    watched.clone_from(&self.alarms[index]);
                    let heard = hear(view, faults, &case.alarms[index]);
                    watched.follow(index, case, faults, &heard, origin, at);
                }
            }
        }
        self.ahead_at = at;
        Some(at)
    }

    /// The run has come to `at`, at the end of the running segment or within it.
    pub fn come_to(&mut self, view: &View, faults: &Faults, origin: Time, at: Time) {
        while self.at < at {
            // If the end was moved after readings were looked at, an alarm may turn before it: late, by nanoseconds.
            if self.ahead_at <= self.at || self.ahead_at > at {
                self.look(view, faults, origin, at);
            }
            std::mem::swap(&mut self.alarms, &mut self.ahead);
            self.turns.append(&mut self.found);
            self.at = self.ahead_at;
        }
    }

    /// Whether an alarm has turned that has not been dealt with.
    pub fn has_turned(&self) -> bool {
        !self.turns.is_empty()
    }

    /// Alarms that have turned, in the order of time and of the file.
    pub fn take(&mut self) -> Vec<Turn> {
        std::mem::take(&mut self.turns)
    }

    /// Closes the books at the end of the run.
    pub fn finish(&mut self, now: Time, out: &mut Vec<AlarmOutcome>) {
        out.clear();
        for watched in &mut self.alarms {
            watched.end_truth();
            if watched.on {
                watched.book.on_s += (now - watched.on_since).seconds();
            }
            out.push(watched.book);
        }
    }
}

/// Meets the sensors of an alarm over the running segment.
fn hear<'a>(view: &View<'a>, faults: &Faults, alarm: &Alarm) -> Vec<Heard<'a>> {
    let case = view.case;
    let meet = |&index: &usize| {
        let sensor = &case.sensors[index];
        let gauge = Gauge::new(
            sensor.quantity,
            sensor.compartment,
            &case.compartments[sensor.compartment],
        );
        let mut course = Course::default();
        gauge.linear(view.segment, 1.0, &mut course);
        Heard {
            sensor,
            index,
            course,
            range: gauge.range(view),
            broken: faults.broken_sensor(case, index),
            faulty: faults.act_on_sensor(case, index),
        }
    };
    alarm.sensors.iter().map(meet).collect()
}

/// How many of an alarm's sensors do so.
fn count(flags: impl Iterator<Item = bool>) -> usize {
    flags.filter(|flag| *flag).count()
}

impl Watched {
    /// Follows its sensors to `to`, or to the reading at which it turns.
    fn follow(
        &mut self,
        index: usize,
        case: &Case,
        faults: &Faults,
        heard: &[Heard],
        origin: Time,
        to: Time,
    ) -> Option<Turn> {
        let alarm = &case.alarms[index];
        let every = heard.first()?.sensor.every.max(Time(1));
        for (probe, heard) in self.probes.iter_mut().zip(heard) {
            let at = (self.at - origin).seconds();
            probe.lagged.get_or_insert_with(|| heard.course.at(at));
        }
        let mut number = self.at.0 / every.0 + 1;
        if self.can_pass_over(alarm, heard, to) {
            // Only the last reading is worth knowing, for a sensor that may stick.
            number = number.max(to.0 / every.0);
        }
        let mut turn = None;
        while turn.is_none() && number * every.0 <= to.0 {
            let at = Time(number * every.0);
            self.read(case, faults, heard, origin, at, number as u64);
            turn = self.judge(index, alarm, heard, origin, at);
            number += 1;
        }
        if turn.is_none() {
            self.advance(heard, origin, to);
        }
        turn
    }

    /// Takes the lags to `to`.
    fn advance(&mut self, heard: &[Heard], origin: Time, to: Time) {
        let (from_s, to_s) = ((self.at - origin).seconds(), (to - origin).seconds());
        for (probe, heard) in self.probes.iter_mut().zip(heard) {
            let lagged = probe.lagged.unwrap_or(f64::NAN);
            probe.lagged = Some(lag(lagged, &heard.course, from_s, to_s, heard.sensor.lag_s));
        }
        self.at = to;
    }

    /// Whether no reading up to `to` can change anything.
    fn can_pass_over(&self, alarm: &Alarm, heard: &[Heard], to: Time) -> bool {
        if heard.iter().any(|heard| heard.faulty) {
            return false;
        }
        let mut says = Vec::with_capacity(heard.len());
        for (probe, heard) in self.probes.iter().zip(heard) {
            let sensor = heard.sensor;
            let met = heard.range.join(Range::point(probe.lagged.unwrap_or(heard.range.lo)));
            let drifted = Range::span(self.at.seconds(), to.seconds()).times(sensor.drift_per_s);
            let noise = MOST_NOISE * if sensor.noise_key.is_some() { sensor.noise } else { 0.0 };
            let about = Range {
                lo: sensor.bias - noise,
                hi: sensor.bias + noise,
            };
            says.push(met.times(sensor.gain).plus(drifted).plus(about));
        }
        let may = |range: &Range, value: f64| match alarm.bound {
            Bound::AtMost => range.hi > value,
            Bound::AtLeast => range.lo < value,
        };
        let must = |range: &Range, value: f64| match alarm.bound {
            Bound::AtMost => range.lo > value,
            Bound::AtLeast => range.hi < value,
        };
        let within = |value: &Range, sensor: &Sensor| Range {
            lo: value.lo.clamp(sensor.range[0], sensor.range[1]),
            hi: value.hi.clamp(sensor.range[0], sensor.range[1]),
        };
        let says: Vec<Range> = says
            .iter()
            .zip(heard)
            .map(|(says, heard)| within(says, heard.sensor))
            .collect();
        let truth_may = count(heard.iter().map(|heard| may(&heard.range, alarm.set))) >= alarm.votes;
        let truth_must = count(heard.iter().map(|heard| must(&heard.range, alarm.set))) >= alarm.votes;
        if self.on {
            let stays = count(says.iter().map(|says| must(says, alarm.clears))) >= alarm.votes;
            let settled = truth_must && self.occasion && self.heard;
            return stays && (settled || (!truth_may && self.truth.is_none()));
        }
        let comes = count(says.iter().map(|says| may(says, alarm.set))) >= alarm.votes;
        !comes && !truth_may && self.since.is_none() && self.truth.is_none()
    }

    /// Takes reading `number`, at `at`, of every sensor.
    fn read(&mut self, case: &Case, faults: &Faults, heard: &[Heard], origin: Time, at: Time, number: u64) {
        self.advance(heard, origin, at);
        for (probe, heard) in self.probes.iter_mut().zip(heard) {
            probe.said = match heard.broken {
                Some(Broken::SensorDead(_)) => None,
                Some(Broken::SensorStuck { at: value, .. }) => value.or(probe.said).or(probe.lagged),
                _ => {
                    let lagged = probe.lagged.unwrap_or(f64::NAN);
                    Some(reading(case, faults, (heard.index, heard.faulty), lagged, at, number))
                }
            };
        }
    }

    /// What follows from the readings at `at`.
    fn judge(&mut self, index: usize, alarm: &Alarm, heard: &[Heard], origin: Time, at: Time) -> Option<Turn> {
        let beyond = |value: f64, level: f64| match alarm.bound {
            Bound::AtMost => value > level,
            Bound::AtLeast => value < level,
        };
        let votes = |level: f64| {
            let says = self
                .probes
                .iter()
                .map(|probe| probe.said.is_some_and(|said| beyond(said, level)));
            count(says) >= alarm.votes
        };
        let (is_beyond, keeps) = (votes(alarm.set), votes(alarm.clears));
        let t = (at - origin).seconds();
        let truth = count(heard.iter().map(|heard| beyond(heard.course.at(t), alarm.set))) >= alarm.votes;
        let (mut turn, mut is_false) = (None, false);
        if self.on {
            if !keeps {
                self.on = false;
                self.book.on_s += (at - self.on_since).seconds();
                turn = Some(false);
            }
        } else if is_beyond {
            let since = *self.since.get_or_insert(at);
            self.true_since |= truth;
            if at - since >= alarm.lasts {
                (self.on, self.on_since) = (true, at);
                self.book.first_on.get_or_insert(at);
                self.book.trips += 1;
                is_false = !self.true_since;
                self.book.false_trips += u32::from(is_false);
                turn = Some(true);
            }
        }
        if self.on || !is_beyond {
            (self.since, self.true_since) = (None, false);
        }
        if truth {
            let since = *self.truth.get_or_insert(at);
            self.heard |= self.on;
            if at - since >= alarm.lasts && !self.occasion {
                self.occasion = true;
                self.book.occasions += 1;
                self.book.first_occasion.get_or_insert(at);
            }
        } else {
            self.end_truth();
        }
        turn.map(|on| Turn {
            alarm: index,
            at,
            on,
            is_false,
        })
    }

    fn end_truth(&mut self) {
        self.book.missed += u32::from(self.occasion && !self.heard);
        (self.truth, self.occasion, self.heard) = (None, false, false);
    }
}
