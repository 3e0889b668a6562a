//! The loop: settle an instant, solve to the next due time, see whether the mode ends before it, judge, book, go on.

use crate::air::{MOST, Place, Species};
use crate::timeline::{Effect, Schedule};
use crate::units::Time;

/// What a look at the running segment sees. No method: that would borrow what is to be written to meanwhile.
macro_rules! view {
    ($engine:ident, $case:expr, $plumbing:expr) => {
        $crate::engine::view::View {
            case: $case,
            mode: &$engine.mode,
            system: &$engine.system,
            segment: $engine.past.get($engine.past.newest()),
            ranges: &$engine.ranges,
            stocks: &$engine.stocks,
            crew: &$engine.crew,
            whole: $plumbing.map(|plumbing| (plumbing, &$engine.maker)),
        }
    };
}

mod checks;
mod finish;
mod outcome;
mod upset;

use checks::{count_exit, validate};

use super::basis::Bases;
use super::correct::Corrector;
use super::course::Course;
use super::history::History;
use super::indices::OXYGEN;
use super::instant::{Instant, next_expected, next_transfer_end, next_turn};
use super::judge::Judge;
use super::ledger::Ledger;
use super::mode::Mode;
use super::past::Past;
use super::peaks::Peaks;
use super::people::Crew;
use super::ranges::Ranges;
use super::scene::Scene;
use super::search::Work;
use super::settle::Settler;
use super::state::Stocks;
use super::system::System;
use super::upset::Upsets;
use super::watch::{Exit, Found, Target, first_exit};
use super::whole::{Maker, Plumbing};
use super::{Case, Counters, End, Entry, Event, Outcome, RunError, Trace, Transfer};

/// Runs cases; keeps its buffers from one to the next, and nothing else.
#[derive(Debug, Default)]
pub struct Engine {
    schedule: Schedule,
    mode: Mode,
    crew: Crew,
    stocks: Stocks,
    system: System,
    bases: [Bases; 4],
    past: Past,
    corrector: Corrector,
    settler: Settler,
    maker: Maker,
    /// All vents, fills and equalisations of the run.
    transfers: Vec<Transfer>,
    instant: Instant,
    upsets: Upsets,
    ledger: Ledger,
    judge: Judge,
    peaks: Peaks,
    course: Course,
    ranges: Ranges,
    /// Partial pressures where the running segment was last looked at to end, Pa.
    end: [[f64; MOST]; 4],
    work: Work,
    counters: Counters,
    history: History,
}

/// How a segment was left.
struct Left {
    at: Time,
    exit: Option<Exit>,
    /// By what the exit was found.
    target: Option<Target>,
    /// Something is due there.
    due: bool,
    /// What happens there has been worked out.
    planned: bool,
}

impl Engine {
    /// An engine with empty buffers.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Runs one case to its end, or until it is not survivable.
    ///
    /// A trace, if given, is cleared and filled; it changes no bit of the outcome.
    ///
    /// # Errors
    /// If the case cannot be simulated: see [`RunError`].
    pub fn run(&mut self, case: &Case, trace: Option<&mut Trace>) -> Result<Outcome, RunError> {
        let mut outcome = Outcome::default();
        self.run_into(case, trace, &mut outcome)?;
        Ok(outcome)
    }

    /// [`Engine::run`] into an outcome whose storage is used again. Whatever it held is replaced; after an error it holds
    /// nothing that means anything.
    ///
    /// # Errors
    /// As [`Engine::run`].
    pub fn run_into(
        &mut self,
        given: &Case,
        mut trace: Option<&mut Trace>,
        outcome: &mut Outcome,
    ) -> Result<(), RunError> {
        validate(given)?;
        if let Some(trace) = trace.as_deref_mut() {
            trace.samples.clear();
            trace.log.clear();
        }
        self.reset(given)?;
        // Faults change numbers of a case of their own.
        let mut own = (!given.faults.is_empty()).then(|| given.clone());
        let mut now = Time::ZERO;
        let mut end = End::Completed;
        let mut exits = (Time::ZERO, 0);
        self.plan(given, now, trace.as_deref_mut())?;
        self.put_faults(own.as_mut(), now);
        self.bring_about(own.as_ref().unwrap_or(given), now, trace.as_deref_mut())?;
        self.crew.settle(given);
        let (mut moved, mut smooth) = (true, false);
        while now < given.duration {
            moved |= self.put_faults(own.as_mut(), now);
            let case = own.as_ref().unwrap_or(given);
            let plumbing = self.settler.settle(
                case,
                &mut self.mode,
                &mut self.system,
                &mut self.stocks,
                &self.crew,
                &mut self.ledger,
                &mut self.maker,
                moved,
                now,
                trace.as_deref_mut(),
            )?;
            self.stop_short(case, now);
            if let Some((compartment, person)) = self.breathless(case) {
                end = End::OxygenFloor {
                    at: now,
                    compartment,
                    person,
                };
                break;
            }
            let mut left = self.segment(case, plumbing.as_ref(), smooth, now, trace.as_deref_mut())?;
            now = left.at;
            moved = false;
            smooth = !left.due;
            if let Some(exit) = left.exit {
                if let Exit::Floor(compartment, person) = exit {
                    // The crossing is rounded up to a nanosecond: what is below the floor by that is on it.
                    let oxygen = &mut self.stocks.p[OXYGEN][compartment];
                    *oxygen = oxygen.max(case.oxygen_floor_pa);
                    end = End::OxygenFloor {
                        at: now,
                        compartment,
                        person,
                    };
                    break;
                }
                if let Exit::Transfer(place) = exit {
                    self.instant.release(self.mode.transfers[place].task);
                    self.scene(case, trace.as_deref_mut()).complete(place, now);
                    (left.due, moved) = (true, true);
                }
                if let Exit::TankDry(tank) = exit {
                    // What the crossing's nanosecond drew beyond it is put back.
                    self.stocks.tank_mol[tank] = self.stocks.tank_mol[tank].min(case.tanks[tank].residue_mol);
                    moved = true;
                }
                count_exit(case, &mut exits, exit, now)?;
                self.counters.crossings += 1;
                self.settler.leave(
                    case,
                    &mut self.mode,
                    &self.system,
                    &mut self.stocks,
                    &mut self.ledger,
                    exit,
                    now,
                    trace.as_deref_mut(),
                );
            }
            if left.due && now < case.duration {
                if !left.planned {
                    self.plan(case, now, trace.as_deref_mut())?;
                }
                moved |= self.put_faults(own.as_mut(), now);
                let case = own.as_ref().unwrap_or(given);
                moved |= self.bring_about(case, now, trace.as_deref_mut())?;
            }
        }
        let case = own.as_ref().unwrap_or(given);
        self.schedule.advance(now);
        if let Some(trace) = trace {
            if end != End::Completed {
                trace.log.push(Entry {
                    at: now,
                    event: Event::NotSurvivable,
                });
            }
            self.history.last(
                case,
                (&self.stocks, &self.mode),
                &self.crew,
                (&self.schedule, &self.ledger.hardware),
                now,
                trace,
            );
        }
        self.finish(case, now, end, outcome);
        Ok(())
    }

    fn reset(&mut self, case: &Case) -> Result<(), RunError> {
        let usable = case.compartments.iter().map(|c| c.usable_m3);
        self.schedule.reset(&case.plan, &case.people, usable);
        self.mode.reset(case);
        self.crew.reset(case);
        self.stocks.reset(case);
        self.system.assemble(case, &self.mode, &self.crew, &self.stocks);
        for bases in &mut self.bases {
            bases.clear();
        }
        self.past.clear();
        self.corrector.reset();
        self.settler.reset(case);
        self.ledger.reset(case, &self.system, &self.stocks);
        self.maker.reset();
        self.transfers.clear();
        self.instant.reset();
        self.upsets.reset(case);
        self.judge.reset(case)?;
        self.peaks.reset(case);
        self.work = Work::default();
        self.counters = Counters::default();
        self.history.reset();
        Ok(())
    }

    /// Works out what happens at `now`.
    fn plan(&mut self, case: &Case, now: Time, trace: Option<&mut Trace>) -> Result<(), RunError> {
        self.counters.events += 1;
        self.instant.plan(
            case,
            &self.mode,
            &mut self.schedule,
            &mut self.upsets,
            &mut self.counters,
            trace,
            now,
        )
    }

    /// Carries out what was worked out for `now`; whether gas moved at once.
    fn carry_out(&mut self, case: &Case, now: Time, trace: Option<&mut Trace>) -> Result<bool, RunError> {
        let mut scene = Scene {
            case,
            mode: &mut self.mode,
            crew: &mut self.crew,
            stocks: &mut self.stocks,
            system: &self.system,
            ledger: &mut self.ledger,
            transfers: &mut self.transfers,
            trace,
        };
        self.instant.carry_out(&mut scene, now)
    }

    /// What effects act on.
    fn scene<'a>(&'a mut self, case: &'a Case, trace: Option<&'a mut Trace>) -> Scene<'a> {
        Scene {
            case,
            mode: &mut self.mode,
            crew: &mut self.crew,
            stocks: &mut self.stocks,
            system: &self.system,
            ledger: &mut self.ledger,
            transfers: &mut self.transfers,
            trace,
        }
    }

    /// Fills whose tank is dry end: nothing more comes.
    fn stop_short(&mut self, case: &Case, now: Time) {
        let dry = &self.mode.dry;
        for running in &mut self.mode.transfers {
            let Effect::Fill { oxygen, .. } = running.effect else {
                continue;
            };
            let lacks = |species: Species, part: f64| {
                part > 0.0 && running.source(species as usize).is_some_and(|tank| dry[tank])
            };
            if lacks(Species::Oxygen, oxygen) || lacks(Species::Diluent, 1.0 - oxygen) {
                (running.until, running.short) = (Some(Time(now.0 + 1)), true);
            }
        }
        debug_assert!(self.mode.dry.len() == case.tanks.len());
    }

    fn next_due(&self, case: &Case, now: Time) -> Time {
        self.schedule
            .next_due()
            .min(self.crew.next_due())
            .min(next_turn(case, &self.mode, now))
            .min(next_transfer_end(&self.mode, now))
            .min(self.upsets.faults.next_due(case, &self.mode, now))
            .min(self.upsets.responses.next_due(now))
            .min(case.duration)
            .max(Time(now.0 + 1))
    }

    /// Someone breathes air under the floor already.
    fn breathless(&self, case: &Case) -> Option<(usize, usize)> {
        self.crew
            .people
            .iter()
            .enumerate()
            .find_map(|(person, doing)| match doing.air {
                Place::Compartment(a) if self.stocks.p[OXYGEN][a] < case.oxygen_floor_pa && !doing.masked => {
                    Some((a, person))
                }
                _ => None,
            })
    }

    /// Solves from `now` to where a value in the equations changes; judges and books what was passed.
    ///
    /// What happens meanwhile without changing the equations is carried out on the way, and splits nothing.
    fn segment(
        &mut self,
        case: &Case,
        plumbing: Option<&Plumbing>,
        smooth: bool,
        now: Time,
        mut trace: Option<&mut Trace>,
    ) -> Result<Left, RunError> {
        self.counters.segments += 1;
        if let Some(plumbing) = plumbing {
            self.maker.begin(plumbing, &self.stocks, self.mode.number(), smooth);
            self.past.next().begin_whole(&self.system);
        } else {
            let known = self.corrector.begin(&self.system, &self.stocks);
            let segment = self.past.next();
            segment.begin(&self.system, &self.stocks, &mut self.bases, self.mode.pattern, known);
            self.corrector.attach(segment);
        }
        let (mut due, mut seen) = (self.next_due(case, now), now);
        let mut left = loop {
            let mut left = self.look(case, plumbing, now, due)?;
            if let Some(at) = self.listen(case, plumbing, now, left.at) {
                if at < left.at {
                    (left.exit, left.target) = (None, None);
                }
                (left.at, left.due) = (at, true);
            }
            if !left.due || left.exit.is_some() || left.at >= case.duration {
                break left;
            }
            self.hear(case, plumbing, now, left.at);
            self.plan(case, left.at, trace.as_deref_mut())?;
            left.planned = true;
            if self
                .instant
                .changes_equations(case, &self.mode, &self.crew, &self.upsets, left.at)
            {
                break left;
            }
            self.record(case, plumbing, now, left.at, trace.as_deref_mut());
            self.crew.advance_outside(case, (left.at - now).seconds());
            self.bring_about(case, left.at, trace.as_deref_mut())?;
            (due, seen) = (self.next_due(case, left.at), left.at);
        };
        self.cut(case, plumbing, now, left.at);
        if let (Some(plumbing), Some(target)) = (plumbing, left.target) {
            self.land(case, plumbing, &target, now, (seen, due), &mut left);
        }
        self.hear(case, plumbing, now, left.at);
        left.due |= self.upsets.listener.has_turned();
        self.close(case, plumbing, now, left.at, trace)?;
        Ok(left)
    }

    /// Reaches out to `due`, or to where the mode ends before.
    fn look(&mut self, case: &Case, plumbing: Option<&Plumbing>, now: Time, due: Time) -> Result<Left, RunError> {
        let mut left = Left {
            at: due,
            exit: None,
            target: None,
            due: true,
            planned: false,
        };
        let segment = self.past.newest_mut();
        if plumbing.is_some() || self.system.has_bulk() {
            let length_s = (due - now).seconds();
            let expected = next_expected(case, &self.mode, &self.crew, &self.schedule, now);
            let expected_s = (expected - now).seconds();
            let counters = &mut self.counters;
            let reached = match plumbing {
                Some(plumbing) => self
                    .maker
                    .extend(case, plumbing, segment, length_s, expected_s, counters),
                None => self
                    .corrector
                    .extend(segment, &self.system, length_s, expected_s, counters),
            };
            if reached < length_s {
                left.at = now + Time(libm::floor(reached * 1e9) as i64);
                left.due = false;
                if left.at <= now {
                    return Err(RunError::NotFinite {
                        at: now,
                        compartment: 0,
                    });
                }
            }
        }
        segment.length_s = (left.at - now).seconds();
        self.meet_end();
        let view = view!(self, case, plumbing);
        if let Some(Found { t_s, exit, target }) = first_exit(view, &mut self.course, &mut self.work) {
            let at = (now + Time::from_seconds_up(t_s)).max(Time(now.0 + 1)).min(left.at);
            left = Left {
                at,
                exit: Some(exit),
                target,
                due: left.due && at == left.at,
                planned: false,
            };
        }
        Ok(left)
    }

    /// Takes the samples of the running segment up to `to`.
    fn record(&mut self, case: &Case, plumbing: Option<&Plumbing>, from: Time, to: Time, trace: Option<&mut Trace>) {
        let Some(trace) = trace else { return };
        let view = view!(self, case, plumbing);
        let books = (&self.schedule, &self.ledger.hardware);
        self.history.sample(&view, books, (from, to), trace);
    }
}
