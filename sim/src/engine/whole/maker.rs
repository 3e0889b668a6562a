//! Takes steps of the whole state, and keeps what flowed in them.
//!
//! A step gives a polynomial of degree five of every partial pressure, and the taps at its nodes. Radau's weights integrate the taps
//! as they integrate the derivatives, and the end of a step is worked out by the same weights from the derivatives that belong to
//! the taps: so what is booked and what is there agree to rounding, whatever the step and its iteration have left.

use crate::air::MOST;

use super::super::Case;
use super::super::accuracy::{ALONG, ALONG_KINKED, WHOLE_RELATIVE_ERROR, allowed_at_end, band_whole};
use super::super::course::{Course, Piece};
use super::super::indices::OXYGEN;
use super::super::lengths::{next_length, shared_length};
use super::super::newton::{Allowed, Equations, Newton};
use super::super::outcome::Counters;
use super::super::poly::Poly;
use super::super::radau::{NODES, STAGES, TABLES};
use super::super::range::Range;
use super::super::segment::{Segment, Step, Sum, hull_of};
use super::super::state::Stocks;
use super::equations::Whole;
use super::heat::heat_step;
use super::network::Directions;
use super::parts::Wait;
use super::plumbing::Plumbing;
use super::sources::Sources;
use super::turn::turn_of;

/// A shorter step than this is not tried, s.
const SHORTEST_S: f64 = 1e-6;
/// The first step of a run, s.
const FIRST_S: f64 = 16.0;
/// Steps of one segment before the mode is looked at.
const MOST_STEPS: usize = 64;
/// Error allowed where a step ends in what beds hold, mol/kg, beside the relative one: what 1e-9 Pa are in ten cubic metres, spread
/// over a few kilograms.
const HELD_ERROR: f64 = 1e-12;
/// Error allowed in what a canister holds, as a part of what it can hold: what passes goes with the exponential of it.
const CANISTER_ERROR: f64 = 1e-10;

/// Takes steps.
#[derive(Debug, Default)]
pub(crate) struct Maker {
    newton: Newton,
    directions: Directions,
    /// Directions at the end of the last step taken.
    kept: Directions,
    /// Taps of an instant.
    now: Vec<f64>,
    /// Taps of every step: step by step, tap by tap, node by node.
    taps: Vec<f64>,
    /// Taps where the first step starts.
    start_taps: Vec<f64>,
    /// How many taps there are.
    count: usize,
    /// How many compartments.
    rooms: usize,
    /// Courses of the states beside the gas, step by step.
    beside: Vec<Poly>,
    /// The state where each step starts, step by step.
    starts: Vec<f64>,
    /// The state where the last step ends.
    y: Vec<f64>,
    allowed: Allowed,
    scratch: Vec<f64>,
    sources: Sources,
    next_s: f64,
    first_s: f64,
    smooth: bool,
}

impl Maker {
    /// Starts a new run.
    pub fn reset(&mut self) {
        self.newton.reset();
        self.first_s = FIRST_S;
        self.next_s = FIRST_S;
    }

    /// Starts a new segment from the stocks. `mode` tells equations apart that come again. `smooth`: only a valve or a film has
    /// turned, so that steps go on as they were; everything else starts with a quick transient.
    pub fn begin(&mut self, plumbing: &Plumbing, stocks: &Stocks, mode: u64, smooth: bool) {
        self.newton.begin(mode);
        self.start(plumbing, stocks);
        self.smooth = smooth;
        if !smooth || self.next_s <= 0.0 {
            self.next_s = self.first_s;
        }
    }

    fn start(&mut self, plumbing: &Plumbing, stocks: &Stocks) {
        self.sources.clear();
        self.directions.reset(plumbing);
        self.kept = self.directions.clone();
        self.taps.clear();
        self.starts.clear();
        self.beside.clear();
        self.count = plumbing.taps;
        self.rooms = plumbing.n;
        self.y.clear();
        self.y.resize(plumbing.size, 0.0);
        for a in 0..plumbing.n.min(MOST) {
            for i in 0..4 {
                self.y[4 * a + i] = stocks.p[i][a];
            }
            if let Some(state) = plumbing.air_state[a] {
                self.y[state] = stocks.temperature_k[a];
            }
            if let Some(state) = plumbing.wall_state[a] {
                self.y[state] = stocks.wall_k[a];
            }
        }
        for (d, state) in plumbing.held_state.iter().enumerate() {
            if let Some(state) = *state {
                let many = plumbing.held_states(d);
                self.y[state..state + many].copy_from_slice(&stocks.held[d][..many]);
            }
        }
    }

    /// Derivatives and taps at the start, for those who settle modes: no step is taken.
    pub fn look(&mut self, case: &Case, plumbing: &Plumbing, stocks: &Stocks) -> (&[f64], &[f64]) {
        self.start(plumbing, stocks);
        self.meet_start(case, plumbing);
        (&self.scratch, &self.start_taps)
    }

    /// Adds steps until they reach `to_s` or beyond, or as far as it gets; gives how far. A step ends at `expected_s`. Where one
    /// ends does not depend on `to_s`.
    pub fn extend(
        &mut self,
        case: &Case,
        plumbing: &Plumbing,
        segment: &mut Segment,
        to_s: f64,
        expected_s: f64,
        counters: &mut Counters,
    ) -> f64 {
        let mut from = segment.steps.last().map_or(0.0, |step| step.from_s + step.length_s);
        if segment.steps.is_empty() {
            self.meet_start(case, plumbing);
        }
        let mut turned = false;
        while from < to_s && segment.steps.len() < MOST_STEPS {
            let left = expected_s - from;
            let shared = if left > 0.0 && !turned {
                shared_length(self.next_s, left)
            } else {
                self.next_s
            };
            let last = left > 0.0 && shared >= left;
            let length = if last { left } else { shared };
            counters.steps += 1;
            match self.attempt(case, plumbing, from, length) {
                Some(error) if error <= 1.0 => {
                    let wanted = next_length(length, Some(error));
                    if segment.steps.is_empty() && !self.smooth {
                        self.first_s = wanted;
                    }
                    self.take(case, plumbing, segment, from, length);
                    if !turned && let Some(part) = self.turn(plumbing) {
                        self.undo(plumbing, segment);
                        self.directions = self.kept.clone();
                        turned = true;
                        self.next_s = part * length;
                        continue;
                    }
                    turned = false;
                    from = if last { expected_s } else { from + length };
                    self.next_s = if last { self.next_s.max(wanted) } else { wanted };
                    if self.is_past(plumbing) {
                        break;
                    }
                }
                other => {
                    counters.rejected_steps += 1;
                    if length <= SHORTEST_S {
                        break;
                    }
                    self.next_s = next_length(length, other).min(0.75 * length);
                }
            }
        }
        from
    }

    /// Whether what a hold waits for is past where the last step ends.
    fn is_past(&self, plumbing: &Plumbing) -> bool {
        let last = self.taps.len() - self.count * STAGES;
        plumbing.waits.iter().any(|wait| match *wait {
            Wait::Flow { tap, least, most } => {
                let flow = self.taps[last + tap * STAGES + STAGES - 1];
                flow < least || flow > most
            }
            Wait::Pressure { a, oxygen, up, at_pa } => {
                let all = &self.y[4 * a..4 * a + 4];
                let is = if oxygen { all[OXYGEN] } else { all.iter().sum() };
                let beyond = if up { is - at_pa } else { at_pa - is };
                beyond > band_whole(at_pa)
            }
        })
    }

    /// Derivatives (in `scratch`) and taps where the first step starts.
    fn meet_start(&mut self, case: &Case, plumbing: &Plumbing) {
        let mut whole = Whole {
            case,
            plumbing,
            directions: &mut self.directions,
            taps: &mut self.start_taps,
            sources: &mut self.sources,
        };
        self.scratch.clear();
        self.scratch.resize(plumbing.size, 0.0);
        whole.rates(0.0, &self.y, &mut self.scratch);
    }

    /// Where in the last step the bulk flow through an opening turns, as a part of it, unless at its ends.
    fn turn(&self, plumbing: &Plumbing) -> Option<f64> {
        let last = self.taps.len() - self.count * STAGES;
        let joins = plumbing.groups.iter().flat_map(|group| &group.joins);
        joins
            .filter_map(|join| {
                let before = last.checked_sub((self.count - join.tap) * STAGES);
                let start = before.map_or(self.start_taps[join.tap], |before| self.taps[before + STAGES - 1]);
                let flows = std::array::from_fn(|j| self.taps[last + join.tap * STAGES + j]);
                turn_of(start, flows)
            })
            .reduce(f64::min)
    }

    /// Makes the steps end exactly at `end_s`, which they have reached; whether one had to be made again.
    pub fn cut(
        &mut self,
        case: &Case,
        plumbing: &Plumbing,
        segment: &mut Segment,
        end_s: f64,
        counters: &mut Counters,
    ) -> bool {
        let beyond = end_s * (1.0 + 4.0 * f64::EPSILON);
        let mut too_long = None;
        while let Some(step) = segment.steps.last().filter(|step| step.from_s + step.length_s > beyond) {
            too_long = Some(step.length_s);
            self.undo(plumbing, segment);
        }
        let Some(length) = too_long else { return false };
        self.next_s = length;
        self.reach(case, plumbing, segment, end_s, counters);
        true
    }

    /// Moves the end of the last step to `end_s`, little beyond it or before it.
    pub fn move_end(
        &mut self,
        case: &Case,
        plumbing: &Plumbing,
        segment: &mut Segment,
        end_s: f64,
        counters: &mut Counters,
    ) {
        while segment.steps.last().is_some_and(|step| step.from_s >= end_s) {
            self.undo(plumbing, segment);
        }
        if !segment.steps.is_empty() {
            self.undo(plumbing, segment);
        }
        self.reach(case, plumbing, segment, end_s, counters);
    }

    /// A sum of pressures where the last step ends.
    pub fn value(&self, sum: &Sum) -> f64 {
        let mut value = sum.constant;
        for (a, of) in self.y.chunks_exact(4).enumerate().take(self.rooms.min(MOST)) {
            for i in 0..4 {
                value += (sum.p[i][a] + sum.pressure[a]) * of[i];
            }
        }
        value
    }

    /// Takes the last step off, and goes back to its start.
    fn undo(&mut self, plumbing: &Plumbing, segment: &mut Segment) {
        segment.steps.pop();
        let (steps, size) = (segment.steps.len(), plumbing.size);
        segment.heat.truncate(steps);
        self.y.clear();
        self.y.extend_from_slice(&self.starts[steps * size..(steps + 1) * size]);
        self.starts.truncate(steps * size);
        self.beside.truncate(steps * (size - 4 * plumbing.n));
        self.taps.truncate(steps * self.count * STAGES);
    }

    /// Takes steps to `end_s`, all of which are good.
    fn reach(&mut self, case: &Case, plumbing: &Plumbing, segment: &mut Segment, end_s: f64, counters: &mut Counters) {
        let mut from = segment.steps.last().map_or(0.0, |step| step.from_s + step.length_s);
        self.directions = self.kept.clone();
        // A shorter step than one that was good converges; were it not to, it is made in parts.
        let mut part = end_s - from;
        while from < end_s && part > 0.0 {
            counters.steps += 1;
            let length = part.min(end_s - from);
            if self.attempt(case, plumbing, from, length).is_some() || length <= SHORTEST_S {
                self.take(case, plumbing, segment, from, length);
                from = if length >= end_s - from { end_s } else { from + length };
            } else {
                part = 0.5 * length;
            }
        }
    }

    fn attempt(&mut self, case: &Case, plumbing: &Plumbing, from: f64, length: f64) -> Option<f64> {
        self.allow(plumbing);
        self.directions.clone_from(&self.kept);
        let mut whole = Whole {
            case,
            plumbing,
            directions: &mut self.directions,
            taps: &mut self.now,
            sources: &mut self.sources,
        };
        self.newton.attempt(&mut whole, from, length, &self.y, &self.allowed)
    }

    fn allow(&mut self, plumbing: &Plumbing) {
        let Allowed { along, at_end } = &mut self.allowed;
        along.clear();
        at_end.clear();
        at_end.extend(self.y.iter().enumerate().map(|(k, y)| {
            if k < 4 * plumbing.n {
                allowed_at_end(y.abs())
            } else {
                WHOLE_RELATIVE_ERROR * y.abs() + HELD_ERROR
            }
        }));
        let times = if plumbing.is_kinked() { ALONG_KINKED } else { ALONG };
        along.extend(at_end.iter().map(|at_end| times * at_end));
        for (state, capacity_mol) in plumbing.canisters() {
            along[state] = CANISTER_ERROR * capacity_mol;
            at_end[state] = CANISTER_ERROR * capacity_mol;
        }
    }

    /// Takes the step that was tried.
    fn take(&mut self, case: &Case, plumbing: &Plumbing, segment: &mut Segment, from_s: f64, length_s: f64) {
        let mut step = Step {
            from_s,
            length_s,
            ..Step::default()
        };
        for a in 0..plumbing.n.min(MOST) {
            for i in 0..4 {
                step.modes[i][a] = TABLES.through(self.y[4 * a + i], self.newton.stages(4 * a + i));
            }
        }
        for k in 4 * plumbing.n..plumbing.size {
            self.beside.push(TABLES.through(self.y[k], self.newton.stages(k)));
        }
        if plumbing.air_state.iter().any(Option::is_some) {
            segment
                .heat
                .push(heat_step(case, plumbing, &self.y, |k| self.newton.stages(k)));
        }
        segment.steps.push(&step);
        self.starts.extend_from_slice(&self.y);
        let at = self.taps.len();
        self.taps.resize(at + self.count * STAGES, 0.0);
        let mut state = std::mem::take(&mut self.scratch);
        state.clear();
        state.resize(3 * plumbing.size, 0.0);
        let weights = &TABLES.a[STAGES - 1];
        for j in 0..STAGES {
            let (y, rest) = state.split_at_mut(plumbing.size);
            let (rates, change) = rest.split_at_mut(plumbing.size);
            for (k, y) in y.iter_mut().enumerate() {
                *y = self.newton.stage(k, j);
            }
            let mut whole = Whole {
                case,
                plumbing,
                directions: &mut self.directions,
                taps: &mut self.now,
                sources: &mut self.sources,
            };
            whole.rates(from_s + NODES[j] * length_s, y, rates);
            for (tap, value) in self.now.iter().enumerate() {
                self.taps[at + tap * STAGES + j] = *value;
            }
            for (change, rate) in change.iter_mut().zip(rates.iter()) {
                *change += weights[j] * rate;
            }
        }
        for k in 0..plumbing.size {
            self.y[k] += length_s * state[2 * plumbing.size + k];
        }
        self.scratch = state;
        self.kept.clone_from(&self.directions);
        self.newton.accept();
    }

    /// What flowed through a tap over all steps, mol (or J).
    pub fn amount(&self, segment: &Segment, tap: usize) -> f64 {
        let weights = &TABLES.a[STAGES - 1];
        let mut sum = 0.0;
        for (index, step) in segment.steps.iter().enumerate() {
            let at = (index * self.count + tap) * STAGES;
            let part: f64 = (0..STAGES).map(|j| weights[j] * self.taps[at + j]).sum();
            sum += step.length_s * part;
        }
        sum
    }

    /// What flowed through a tap up to `t` s into the segment, mol (or J).
    pub fn amount_to(&self, segment: &Segment, tap: usize, t: f64) -> f64 {
        let mut sum = 0.0;
        for (index, step) in segment.steps.iter().enumerate() {
            let theta = ((t - step.from_s) / step.length_s).min(1.0);
            if theta > 0.0 {
                sum += step.length_s * self.poly(index, tap).integral(theta);
            }
        }
        sum
    }

    fn poly(&self, index: usize, tap: usize) -> Poly {
        let at = (index * self.count + tap) * STAGES;
        TABLES.inner(std::array::from_fn(|j| self.taps[at + j]))
    }

    /// Adds `weight` times the course of a tap.
    pub fn add_course(&self, segment: &Segment, tap: usize, weight: f64, out: &mut Course) {
        for (index, step) in segment.steps.iter().enumerate() {
            let mut poly = Poly::default();
            poly.add(weight, &self.poly(index, tap));
            match out.pieces.get_mut(index) {
                Some(piece) => piece.poly.add(1.0, &poly),
                None => out.pieces.push(Piece {
                    from_s: step.from_s,
                    length_s: step.length_s,
                    poly,
                }),
            }
        }
    }

    /// A range that holds a tap over all steps.
    pub fn range(&self, segment: &Segment, tap: usize) -> Range {
        hull_of((0..segment.steps.len()).map(|index| self.poly(index, tap)))
    }

    /// What a device holds at `t`, if it works: by the polynomial of the step.
    pub fn held_at(&self, plumbing: &Plumbing, segment: &Segment, d: usize, t: f64) -> Option<[f64; 4]> {
        let state = plumbing.held_state[d]?;
        let place = segment.steps.place_at(t)?;
        let step = segment.steps.get(place)?;
        let beside = plumbing.size - 4 * plumbing.n;
        let mut out = [0.0; 4];
        for k in 0..plumbing.held_states(d) {
            let poly = &self.beside[place * beside + state + k - 4 * plumbing.n];
            out[k] = poly.at((t - step.from_s) / step.length_s);
        }
        Some(out)
    }

    /// Moves everything to where the last step ends.
    pub fn settle(&self, plumbing: &Plumbing, stocks: &mut Stocks) {
        for a in 0..plumbing.n.min(MOST) {
            for i in 0..4 {
                stocks.p[i][a] = self.y[4 * a + i];
            }
            if let Some(state) = plumbing.air_state[a] {
                stocks.temperature_k[a] = self.y[state];
            }
            if let Some(state) = plumbing.wall_state[a] {
                stocks.wall_k[a] = self.y[state];
            }
        }
        for (d, state) in plumbing.held_state.iter().enumerate() {
            if let Some(state) = *state {
                let many = plumbing.held_states(d);
                stocks.held[d][..many].copy_from_slice(&self.y[state..state + many]);
            }
        }
    }
}
