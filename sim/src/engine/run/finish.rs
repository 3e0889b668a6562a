//! How the running segment ends: it is cut, its end is moved to where an event is, it is judged and booked.

use crate::air::GAS_CONSTANT_J_MOL_K;
use crate::limits::Quantity;
use crate::units::Time;

use super::super::search::{Level, Stock, first_below};
use super::super::segment::Integrals;
use super::super::watch::Target;
use super::super::whole::Plumbing;
use super::super::{Case, RunError, Trace};
use super::{Engine, Left};

/// A value nearer to its level than this part of it has come to it: what ends of steps are good to.
const LANDED: f64 = 1e-10;
/// Steps in which an end is brought to where a value is on its level.
const MOST_LANDINGS: usize = 3;

impl Engine {
    /// What the running segment comes to at its end, and what it may come to on the way.
    pub(super) fn meet_end(&mut self) {
        let segment = self.past.newest_mut();
        segment.at(segment.length_s, &mut self.end);
        self.ranges.set(segment, &self.stocks.p, &self.end);
    }

    /// Makes the running segment end at `at`.
    pub(super) fn cut(&mut self, case: &Case, plumbing: Option<&Plumbing>, now: Time, at: Time) {
        let length_s = (at - now).seconds();
        let segment = self.past.newest_mut();
        let seen_s = std::mem::replace(&mut segment.length_s, length_s);
        let cut = match plumbing {
            Some(plumbing) => self.maker.cut(case, plumbing, segment, length_s, &mut self.counters),
            None => self.corrector.cut(segment, &self.system, length_s, &mut self.counters),
        };
        if cut || seen_s != length_s {
            self.meet_end();
        }
    }

    /// Moves the end of the running segment to where its target is on its level. It was found on the polynomial of a step, which is
    /// less exact than where a step ends. Nothing that was carried out on the way, at `seen` the last, and nothing that is `due`, is
    /// passed.
    pub(super) fn land(
        &mut self,
        case: &Case,
        plumbing: &Plumbing,
        target: &Target,
        now: Time,
        (seen, due): (Time, Time),
        left: &mut Left,
    ) {
        for _ in 0..MOST_LANDINGS {
            let off = target.level - self.maker.value(&target.sum);
            if off.abs() <= LANDED * target.level.abs() {
                return;
            }
            let segment = self.past.newest_mut();
            segment.course(&target.sum, &mut self.course);
            let step_s = segment.steps.last().map_or(0.0, |step| step.length_s);
            let later_s = off / self.course.slope(segment.length_s);
            // Where the value hardly moves, when it is on its level says little.
            if later_s.is_nan() || later_s.abs() > 0.1 * step_s {
                return;
            }
            let at = left.at + Time(libm::ceil(later_s * 1e9) as i64);
            let at = at.min(due).max(Time(seen.0 + 1));
            if at == left.at {
                return;
            }
            (left.at, left.due) = (at, at == due);
            self.maker
                .move_end(case, plumbing, segment, (at - now).seconds(), &mut self.counters);
            segment.length_s = (at - now).seconds();
            self.meet_end();
        }
    }

    /// Ends the running segment at `at`, where it has been cut: judges it, books it, and moves the state there.
    pub(super) fn close(
        &mut self,
        case: &Case,
        plumbing: Option<&Plumbing>,
        now: Time,
        at: Time,
        mut trace: Option<&mut Trace>,
    ) -> Result<(), RunError> {
        let length_s = (at - now).seconds();
        let segment = self.past.newest_mut();
        let mut integrals = Integrals {
            length_s,
            ..Integrals::default()
        };
        segment.integral(length_s, &mut integrals.p);
        let newest = self.past.newest();
        let view = view!(self, case, plumbing);
        self.judge.follow(&view, &self.past, &integrals, now, &mut self.work);
        self.peaks.follow(&view, now, &mut self.work);
        for (index, tank) in case.tanks.iter().enumerate() {
            let book = &mut self.ledger.hardware.tanks[index];
            let spare = self.stocks.tank_mol[index] - tank.reserve_mol;
            if book.reserve_at.is_none() && spare - view.most_drawn(index) * length_s < 0.0 {
                view.draw(index, &mut self.course);
                let stock = Stock {
                    start: spare,
                    rate: &self.course,
                };
                let begun = (spare < 0.0).then_some(0.0);
                let crossed = || first_below(&stock, Level::new(0.0), 0.0, length_s, &mut self.work);
                if let Some(t) = begun.or_else(crossed) {
                    book.reserve_at = Some(now + Time::from_seconds_up(t));
                    self.history.reserve(index, now + Time::from_seconds_up(t));
                }
            }
        }
        self.record(case, plumbing, now, at, trace.as_deref_mut());
        if let Some(trace) = trace {
            self.history.log_crossings(&self.judge, trace);
            self.history.log_reserves(trace);
        }
        let segment = self.past.get(newest);
        if case.rules.iter().any(|rule| rule.quantity == Quantity::TissueRatio) {
            self.crew.breathe(case, segment);
        }
        if let Some(plumbing) = plumbing {
            let (stocks, crew) = (&mut self.stocks, &mut self.crew);
            let whole = (plumbing, &self.maker);
            self.ledger
                .book_whole(case, &self.mode, whole, segment, length_s, stocks, crew);
            self.maker.settle(plumbing, stocks);
            for (a, compartment) in case.compartments.iter().enumerate() {
                self.system.capacity[a] = compartment.volume_m3 / (GAS_CONSTANT_J_MOL_K * self.stocks.temperature_k[a]);
            }
        } else {
            self.ledger.book(
                case,
                &self.mode,
                &self.system,
                segment,
                &integrals,
                &mut self.stocks,
                &mut self.crew,
            );
        }
        if plumbing.is_none() {
            self.stocks.p = self.end;
        }
        let needed = self.judge.oldest(newest);
        self.past.keep_from(needed);
        for a in 0..self.system.n {
            if !self.stocks.pressure(a).is_finite() {
                return Err(RunError::NotFinite { at, compartment: a });
            }
        }
        Ok(())
    }
}
