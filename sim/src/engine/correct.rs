//! The error-controlled integrator: what the closed form leaves out, in steps of five-stage Radau IIA collocation.
//!
//! The state is the closed form plus a correction `d` in the eigenbasis, `d_k' = -lambda_k d_k + g_k(t, state)`, and the change
//! of each drifting group's diluent. Only the remainder `g` (the bulk flow, less what it was at the start of the segment, which
//! the closed form takes along) is unknown. Each step solves the collocation equations (see `stages`; Hairer and Wanner 1996,
//! Solving Ordinary Differential Equations II, section IV.8) and gives a polynomial of degree five. A step ends where the
//! equations are expected to change, and where a flow turns: there they have a kink.
//!
//! Because Radau's weights integrate that polynomial exactly, integrals of the pieces close every linear ledger to rounding,
//! whatever the error of the step.
//!
//! The error of a step is judged by its defect at the start, where the residual of the collocation polynomial, a multiple of
//! the node polynomial, is largest; its integral is at most 0.03 of that times the length.

use crate::air::MOST;

use super::bulk::Bulk;
use super::lags::Lags;
use super::outcome::Counters;
use super::segment::{Segment, Step};
use super::sized::sized;
use super::stages::{Flows, HOPELESS, Remainder, Setting, Tried, attempt};
use super::state::Stocks;
use super::system::System;

/// A shorter step than this is not tried: the equations have gone where they mean nothing, s.
const SHORTEST_S: f64 = 1e-6;
/// The first step of a run, s.
const FIRST_S: f64 = 60.0;
/// Steps of one segment before the mode is looked at: it may have ended long ago, and past its end the equations may blow
/// up.
const MOST_STEPS: usize = 64;

/// Extends a segment's correction.
#[derive(Clone, Debug, Default)]
pub(crate) struct Corrector {
    bulk: Bulk,
    /// What the closed form has taken along of the bulk inflow, mol/s.
    steady: [[f64; MOST]; 3],
    /// Remainder where the last accepted step ends, for the start of the next.
    last: Option<Remainder<MOST, 1>>,
    /// Remainder at the start, and then at the end, of the step that is tried.
    reached: Option<Remainder<MOST, 1>>,
    flows: Flows,
    lags: Lags,
    /// The step that is tried, and one that was too long: with zeros where this run has no compartment.
    tried: Step,
    whole: Step,
    /// For each mode, how far one unit of it moves a pressure at most.
    reach: [[f64; MOST]; 3],
    /// Length of the next step, s.
    next_s: f64,
    /// What the first step of the last segment should have been long, s: the next segment starts with that, for every change of
    /// the equations starts with a quick transient.
    first_s: f64,
}

impl Corrector {
    /// Starts a new run.
    pub fn reset(&mut self) {
        self.first_s = FIRST_S;
        (self.tried, self.whole) = (Step::default(), Step::default());
    }

    /// Starts a new segment: the bulk inflow at its start, mol/s, which the closed form takes along as a steady source.
    ///
    /// What is left for the correction then starts from zero, and stays small where flows change little.
    pub fn begin(&mut self, system: &System, stocks: &Stocks) -> &[[f64; MOST]; 3] {
        self.last = None;
        self.next_s = self.first_s;
        let inflow = self.bulk.at_start(system, stocks).inflow;
        self.steady = inflow.map(|species| species.map(|[at]| at));
        self.bulk.keep_directions();
        self.lags.set(&system.dying);
        &self.steady
    }

    /// Takes up the closed form that has been made with the steady inflow.
    pub fn attach(&mut self, segment: &Segment) {
        for i in 0..3 {
            for k in 0..segment.n.min(MOST) {
                self.reach[i][k] =
                    (0..segment.n.min(MOST)).fold(0.0, |m, a| f64::max(m, segment.modes[i].to_p[a][k].abs()));
            }
        }
    }

    /// Adds steps until the correction reaches `to_s` or goes beyond, or as far as it gets; gives how far.
    ///
    /// A step ends at `expected_s`, where the segment is expected to end. Where one ends does not depend on `to_s`: a segment
    /// that is looked at in two parts has the same steps as one that is looked at in one.
    pub fn extend(
        &mut self,
        segment: &mut Segment,
        system: &System,
        to_s: f64,
        expected_s: f64,
        counters: &mut Counters,
    ) -> f64 {
        let mut from = segment.steps.last().map_or(0.0, |step| step.from_s + step.length_s);
        while from < to_s && segment.steps.len() < MOST_STEPS {
            let last = from < expected_s && from + self.next_s >= expected_s;
            let length = if last { expected_s - from } else { self.next_s };
            self.reached = self.last;
            let mut tried = self.attempt(segment, system, from, length, Like::Last);
            counters.steps += 1;
            let turns = tried.turn_s.is_some();
            if let Some(turn_s) = tried.turn_s {
                std::mem::swap(&mut self.tried, &mut self.whole);
                self.reached = self.last;
                tried = self.attempt(segment, system, from, turn_s, Like::Whole);
                counters.steps += 1;
            }
            let length = self.tried.length_s;
            let error = if tried.error.is_finite() { tried.error } else { HOPELESS };
            let scale = 0.85 * libm::cbrt(libm::sqrt(1.0 / error.max(1e-6)));
            if error <= 1.0 {
                if segment.steps.is_empty() {
                    self.first_s = length * scale.clamp(0.3, 4.0);
                }
                segment.steps.push(&self.tried);
                self.last = self.reached;
                self.flows.go_on();
                let cut_short = last || turns;
                from = if last && !turns { expected_s } else { from + length };
                // A step that had to be short says nothing against longer ones.
                let next = length * scale.clamp(0.3, 4.0);
                self.next_s = if cut_short { self.next_s.max(next) } else { next };
            } else {
                counters.rejected_steps += 1;
                if length <= SHORTEST_S {
                    break;
                }
                self.next_s = length * scale.clamp(0.2, 0.8);
            }
        }
        from
    }

    /// Makes the correction end exactly at `end_s`, which it has reached: the last step is made again, shorter. Gives
    /// whether that was needed.
    pub fn cut(&mut self, segment: &mut Segment, system: &System, end_s: f64, counters: &mut Counters) -> bool {
        let beyond = end_s * (1.0 + 4.0 * f64::EPSILON);
        let mut too_long = false;
        while segment
            .steps
            .last()
            .is_some_and(|step| step.from_s + step.length_s > beyond)
        {
            if let Some(step) = segment.steps.pop() {
                (self.whole, too_long) = (step, true);
            }
        }
        if !too_long {
            return false;
        }
        // As if no step had been made beyond: how far a look reached must not show.
        self.next_s = self.whole.length_s;
        let from = segment.steps.last().map_or(0.0, |step| step.from_s + step.length_s);
        if from < end_s {
            self.reached = None;
            self.attempt(segment, system, from, end_s - from, Like::Whole);
            counters.steps += 1;
            segment.steps.push(&self.tried);
        }
        true
    }

    /// Tries a step; it is left in `tried`.
    fn attempt(&mut self, segment: &Segment, system: &System, from_s: f64, length_s: f64, like: Like) -> Tried {
        let setting = Setting {
            segment,
            system,
            lags: &self.lags,
            steady: &self.steady,
            reach: &self.reach,
            from_s,
            length_s,
            like: match like {
                Like::Last => segment.steps.last(),
                Like::Whole => Some(&self.whole),
            },
        };
        let (bulk, flows, reached) = (&mut self.bulk, &mut self.flows, &mut self.reached);
        sized!(system.n, N => attempt::<N>(&setting, bulk, flows, reached, &mut self.tried))
    }
}

/// Along which step one that is tried is guessed.
#[derive(Clone, Copy, Debug)]
enum Like {
    /// The last that was accepted.
    Last,
    /// The one that was too long.
    Whole,
}
