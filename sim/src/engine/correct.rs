//! The error-controlled integrator: what the closed form leaves out, in steps of five-stage Radau IIA collocation.
//!
//! The state is the closed form plus a correction `d` in the eigenbasis, `d_k' = -lambda_k d_k + g_k(t, state)`, and the change
//! of each drifting group's diluent. Only the remainder `g` (the bulk flow, less what it was at the start of the
//! segment, which the closed form takes along) is unknown; the relaxing part is exact in the
//! basis, so a stiff exchange costs nothing. Each step solves the collocation equations (Hairer and Wanner 1996, Solving
//! Ordinary Differential Equations II, section IV.8) by simple iteration, which contracts with `h f / N` (about 1e-3), and
//! gives a polynomial of degree five.
//!
//! Because Radau's weights integrate that polynomial exactly, integrals of the pieces close every linear ledger to rounding,
//! whatever the error of the step.
//!
//! The error of a step is judged by its defect at the start, where the residual of the collocation polynomial, a multiple of
//! the node polynomial, is largest; its integral is at most 0.03 of that times the length.

use crate::air::MOST;

use super::bulk::{Bulk, BulkRates};
use super::outcome::Counters;
use super::radau::{NODES, STAGES, StageSolver, TABLES};
use super::segment::{Segment, Step};
use super::state::Stocks;
use super::system::{DILUENT, OXYGEN, PressureLaw, System};

/// Relative error that a step may seem to make in a partial pressure. A twentieth of what the results claim: errors of
/// successive steps may add up.
pub(crate) const RELATIVE_ERROR: f64 = 5e-8;
/// Absolute error, Pa, likewise.
pub(crate) const ABSOLUTE_ERROR_PA: f64 = 5e-6;
/// The iteration has converged when what its contraction leaves to come is less than this fraction of what a step may use
/// up.
const ITERATED: f64 = 0.003;
/// Iterations before a step is made smaller instead.
const MOST_ITERATIONS: usize = 8;
/// A shorter step than this is not tried: the equations have gone where they mean nothing, s.
const SHORTEST_S: f64 = 1e-6;
/// The error of a step that has none to show.
const HOPELESS: f64 = 1e4;
/// The first step of a run, s.
const FIRST_S: f64 = 60.0;
/// Steps of one segment before the mode is looked at: it may have ended long ago, and past its end the equations may blow
/// up.
const MOST_STEPS: usize = 64;
/// Of the defect at the start times the length, at most this becomes error.
const DEFECT_SHARE: f64 = 0.03;

/// The remainder at one instant: in the basis, and what goes with it.
#[derive(Clone, Copy, Debug, Default)]
struct Remainder {
    modes: [[f64; MOST]; 3],
    /// Change of each group's diluent by leaks and exchange with outside, mol/s.
    diluent: [f64; MOST],
    held_oxygen: [f64; MOST],
}

/// The correction at one instant.
#[derive(Clone, Copy, Debug, Default)]
struct Point {
    modes: [[f64; MOST]; 3],
    diluent: [f64; MOST],
}

/// The closed form's partial pressures and the sources at one instant.
#[derive(Clone, Copy, Debug, Default)]
struct Base {
    p: [[f64; MOST]; 3],
    sources: [[f64; MOST]; 3],
}

/// Extends a segment's correction.
#[derive(Clone, Debug, Default)]
pub(crate) struct Corrector {
    bulk: Bulk,
    rates: BulkRates,
    /// What the closed form has taken along of it, mol/s.
    steady: [[f64; MOST]; 3],
    last: Option<Remainder>,
    /// For each mode, how far one unit of it moves a pressure at most.
    reach: [[f64; MOST]; 3],
    bases: [Base; STAGES],
    stages: [Point; STAGES],
    remainders: [Remainder; STAGES],
    solvers: Vec<StageSolver>,
    /// Length of the next step, s; it goes over from one segment to the next.
    next_s: f64,
}

impl Corrector {
    /// Starts a new run.
    pub fn reset(&mut self) {
        self.next_s = FIRST_S;
    }

    /// Starts a new segment: the bulk inflow at its start, mol/s, which the closed form takes along as a steady source.
    ///
    /// What is left for the correction then starts from zero, and stays small where flows change little.
    pub fn begin(&mut self, system: &System, stocks: &Stocks) -> &[[f64; MOST]; 3] {
        self.last = None;
        self.steady = [[0.0; MOST]; 3];
        if system.has_bulk() {
            let mut sources = [[0.0; MOST]; 3];
            system.sources_at(0.0, &mut sources);
            let mut pressure = [0.0; MOST];
            for a in 0..system.n {
                pressure[a] = match system.law[a] {
                    PressureLaw::Held(pressure) => pressure,
                    _ => stocks.pressure(a),
                };
            }
            let p = [stocks.p[0], stocks.p[1], stocks.p[2]];
            self.bulk.reset(system);
            self.bulk.rates(system, &p, &sources, &pressure, &mut self.rates);
            self.bulk.keep_directions();
            self.steady = self.rates.inflow;
        }
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
    /// Where a step ends does not depend on `to_s`: a segment that is looked at in two parts has the same steps as one that is
    /// looked at in one.
    pub fn extend(&mut self, segment: &mut Segment, system: &System, to_s: f64, counters: &mut Counters) -> f64 {
        let mut from = segment.steps.last().map_or(0.0, |step| step.from_s + step.length_s);
        while from < to_s && segment.steps.len() < MOST_STEPS {
            let (step, error) = self.attempt(segment, system, from, self.next_s);
            counters.steps += 1;
            let error = if error.is_finite() { error } else { HOPELESS };
            let scale = 0.85 * libm::cbrt(libm::sqrt(1.0 / error.max(1e-6)));
            if error <= 1.0 {
                segment.steps.push(step);
                self.last = Some(self.remainders[STAGES - 1]);
                from += self.next_s;
                self.next_s *= scale.clamp(0.3, 4.0);
            } else {
                counters.rejected_steps += 1;
                if self.next_s <= SHORTEST_S {
                    break;
                }
                self.next_s *= scale.clamp(0.2, 0.8);
            }
        }
        from
    }

    /// Makes the correction end exactly at `end_s`, which it has reached: the last step is made again, shorter.
    pub fn cut(&mut self, segment: &mut Segment, system: &System, end_s: f64, counters: &mut Counters) {
        let mut too_long = None;
        while let Some(step) = segment.steps.pop_if(|step| step.from_s + step.length_s > end_s) {
            too_long = Some(step.length_s);
        }
        let Some(length_s) = too_long else { return };
        // As if no step had been made beyond: how far a look reached must not show.
        self.next_s = length_s;
        let from = segment.steps.last().map_or(0.0, |step| step.from_s + step.length_s);
        if from < end_s {
            self.last = None;
            let (step, _) = self.attempt(segment, system, from, end_s - from);
            counters.steps += 1;
            segment.steps.push(step);
        }
    }

    /// One step, and its error over what is allowed; the remainders at its nodes are left behind.
    fn attempt(&mut self, segment: &Segment, system: &System, from: f64, length: f64) -> (Step, f64) {
        let n = system.n.min(MOST);
        self.bulk.restore_directions();
        let start = point_at_end(segment);
        let first = self.last.unwrap_or_else(|| {
            let base = base(segment, system, from);
            self.remainder(segment, system, &base, &start)
        });
        for j in 0..STAGES {
            self.bases[j] = base(segment, system, from + NODES[j] * length);
        }
        self.solvers.clear();
        for i in 0..3 {
            self.solvers
                .extend((0..n).map(|k| StageSolver::new(&TABLES, length * segment.modes[i].lambda[k])));
        }
        // First guess: the remainder of the start, unchanged.
        self.remainders = [first; STAGES];
        self.stages = [start; STAGES];
        let mut moved = self.solve_stages(segment, &start, length);
        let mut to_come = f64::INFINITY;
        for _ in 0..MOST_ITERATIONS {
            for j in 0..STAGES {
                let (base, stage) = (self.bases[j], self.stages[j]);
                self.remainders[j] = self.remainder(segment, system, &base, &stage);
            }
            let before = moved;
            moved = self.solve_stages(segment, &start, length);
            to_come = if moved < before {
                moved * moved / (before - moved)
            } else {
                moved
            };
            if to_come <= ITERATED {
                break;
            }
        }
        let step = self.assemble(segment, from, length, &start);
        let error = if to_come <= ITERATED {
            self.defect(segment, &step, &first)
        } else {
            HOPELESS
        };
        (step, error)
    }

    /// Solves for the correction at the nodes from the remainders there; how far it moved, over what is allowed.
    fn solve_stages(&mut self, segment: &Segment, start: &Point, length: f64) -> f64 {
        let tables = &*TABLES;
        let n = segment.n.min(MOST);
        let mut moved = 0.0;
        for i in 0..3 {
            let least = (0..n).fold(f64::INFINITY, |m, a| m.min(self.bases[STAGES - 1].p[i][a].abs()));
            for k in 0..n {
                let mut z = [0.0; STAGES];
                for j in 0..STAGES {
                    let mut sum = 0.0;
                    for l in 0..STAGES {
                        sum += tables.a[j][l] * self.remainders[l].modes[i][k];
                    }
                    z[j] = start.modes[i][k] + length * sum;
                }
                self.solvers[i * n + k].solve(&mut z);
                for j in 0..STAGES {
                    let change = (z[j] - self.stages[j].modes[i][k]).abs() * self.reach[i][k];
                    moved = f64::max(moved, change / allowed(least));
                    self.stages[j].modes[i][k] = z[j];
                }
            }
        }
        for group in 0..n {
            if segment.law[group] != PressureLaw::Shared(group) {
                continue;
            }
            for j in 0..STAGES {
                let sum: f64 = (0..STAGES)
                    .map(|l| tables.a[j][l] * self.remainders[l].diluent[group])
                    .sum();
                let diluent = start.diluent[group] + length * sum;
                let change = (diluent - self.stages[j].diluent[group]).abs() / segment.group_capacity[group];
                moved = f64::max(moved, change / allowed(0.0));
                self.stages[j].diluent[group] = diluent;
            }
        }
        moved
    }

    fn remainder(&mut self, segment: &Segment, system: &System, base: &Base, point: &Point) -> Remainder {
        let n = system.n.min(MOST);
        let mut p = base.p;
        for i in 0..3 {
            for a in 0..n {
                for k in 0..n {
                    p[i][a] += segment.modes[i].to_p[a][k] * point.modes[i][k];
                }
            }
        }
        let mut pressure = [0.0; MOST];
        for group in 0..n {
            pressure[group] = match segment.law[group] {
                PressureLaw::Held(pressure) => pressure,
                PressureLaw::Shared(own) if own == group => {
                    let diluent = segment.diluent[group] + point.diluent[group];
                    (diluent + segment.breathed(group, &p)) / segment.group_capacity[group]
                }
                _ => 0.0,
            };
        }
        self.bulk.rates(system, &p, &base.sources, &pressure, &mut self.rates);
        let mut out = Remainder {
            held_oxygen: self.rates.held_oxygen,
            ..Remainder::default()
        };
        for a in 0..n {
            if let PressureLaw::Shared(group) = segment.law[a] {
                let diluent = pressure[group] - p[0][a] - p[1][a] - p[2][a];
                out.diluent[group] += system.source[DILUENT][a] - system.sink[DILUENT][a] * diluent;
            }
        }
        for i in 0..3 {
            for k in 0..n {
                for a in 0..n {
                    out.modes[i][k] += segment.modes[i].to_p[a][k] * (self.rates.inflow[i][a] - self.steady[i][a]);
                }
            }
        }
        out
    }

    fn assemble(&self, segment: &Segment, from_s: f64, length_s: f64, start: &Point) -> Step {
        let tables = &*TABLES;
        let mut step = Step {
            from_s,
            length_s,
            ..Step::default()
        };
        for a in 0..segment.n.min(MOST) {
            for i in 0..3 {
                let values = std::array::from_fn(|j| self.stages[j].modes[i][a]);
                step.modes[i][a] = tables.through(start.modes[i][a], values);
            }
            if segment.law[a] == PressureLaw::Shared(a) {
                let values = std::array::from_fn(|j| self.stages[j].diluent[a]);
                step.diluent[a] = tables.through(start.diluent[a], values);
            }
            if segment.oxygen_held[a] {
                step.oxygen_inflow[a] = tables.inner(std::array::from_fn(|j| self.remainders[j].held_oxygen[a]));
            }
        }
        step
    }

    /// The error over what is allowed, from the defect at the start of the step.
    fn defect(&self, segment: &Segment, step: &Step, first: &Remainder) -> f64 {
        let h = step.length_s;
        let mut worst = 0.0_f64;
        for i in 0..3 {
            let mut error = [0.0; MOST];
            for k in 0..segment.n.min(MOST) {
                let lambda = segment.modes[i].lambda[k];
                let c = &step.modes[i][k].0;
                let residual = c[1] / h + lambda * c[0] - first.modes[i][k];
                error[k] = DEFECT_SHARE * h * residual.abs() / (1.0 + DEFECT_SHARE * h * lambda);
            }
            for a in 0..segment.n.min(MOST) {
                if i == OXYGEN && segment.oxygen_held[a] {
                    continue;
                }
                let sum: f64 = (0..segment.n.min(MOST))
                    .map(|k| segment.modes[i].to_p[a][k].abs() * error[k])
                    .sum();
                worst = worst.max(sum / allowed(self.bases[STAGES - 1].p[i][a].abs()));
            }
        }
        for group in 0..segment.n.min(MOST) {
            if segment.law[group] == PressureLaw::Shared(group) {
                let residual = step.diluent[group].0[1] / h - first.diluent[group];
                let error = DEFECT_SHARE * h * residual.abs() / segment.group_capacity[group];
                worst = worst.max(error / allowed(0.0));
            }
        }
        worst
    }
}

fn allowed(p_pa: f64) -> f64 {
    RELATIVE_ERROR * p_pa + ABSOLUTE_ERROR_PA
}

/// The closed form's partial pressures and the sources at `t`.
fn base(segment: &Segment, system: &System, t: f64) -> Base {
    let mut base = Base::default();
    for i in 0..3 {
        let z = segment.modes[i].at(t);
        segment.modes[i].pressures(&z, &mut base.p[i]);
    }
    system.sources_at(t, &mut base.sources);
    base
}

/// The correction where the last step ends.
fn point_at_end(segment: &Segment) -> Point {
    let mut point = Point::default();
    if let Some(step) = segment.steps.last() {
        for i in 0..3 {
            for k in 0..segment.n.min(MOST) {
                point.modes[i][k] = step.modes[i][k].at(1.0);
            }
        }
        for group in 0..segment.n.min(MOST) {
            point.diluent[group] = step.diluent[group].at(1.0);
        }
    }
    point
}
