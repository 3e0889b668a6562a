//! One step of the correction: the collocation equations of its five stages, solved by simple iteration.
//!
//! In the eigenbasis each mode of the correction obeys `d_k' = -lambda_k d_k + g_k`; only the remainder `g` (bulk flow, less what
//! the closed form has taken along) couples them. The relaxing part is solved with the stages, so a stiff exchange costs
//! nothing; the iteration over `g` contracts with `h f / N` (bulk flow over amount, about 1e-3), and with `x h g / C` (exchange
//! of oxygen between rooms) where oxygen is held and the total drifts.

use crate::air::MOST;

use super::accuracy::{CORRECTION_ALONG, allowed};
use super::bulk::Bulk;
use super::decouple::DECOUPLING;
use super::indices::{DILUENT, OXYGEN};
use super::lags::Lags;
use super::poly::Poly;
use super::radau::{NODES, STAGES, StageSolver, TABLES};
use super::segment::{Segment, Step};
use super::system::{PressureLaw, System};

/// The iteration has converged when what its contraction leaves to come is less than this fraction of what a step may err by
/// where it ends.
const ITERATED: f64 = 0.2;
/// Iterations before a step is made smaller instead.
const MOST_ITERATIONS: usize = 8;
/// How much of a movement is expected to come after the first one: more than is seen (0.06 in long steps).
const FIRST_CONTRACTION: f64 = 0.25;
/// A step is guessed from the one before up to so many lengths of that one from its start: errors grow with the sixth power.
const MOST_EXTRAPOLATED: f64 = 2.5;
/// The error of a step that has none to show.
pub(crate) const HOPELESS: f64 = 1e4;
/// Of the defect at the start times the length, at most this becomes error along the step.
const DEFECT_SHARE: f64 = 0.03;
/// The error at the end of a step that relaxes by `e^-z` is this times `z^5 / (mu + z)^7` of it, `mu` the real eigenvalue of `A^-1`:
/// within a quarter for `z` of 2 and more, within a half for 1, and less below (see `newton`, whose test holds steps to it).
const END_SHARE: f64 = 13.0;

/// A flow that turns nearer than this to an end of a step, as a share of its length, turns at that end.
const AT_END: f64 = 0.01;

/// The remainder at one instant: in the basis, and what goes with it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Remainder<const N: usize> {
    modes: [[f64; N]; 3],
    /// Change of each group's diluent by leaks and exchange with outside, mol/s.
    diluent: [f64; N],
    held_oxygen: [f64; N],
}

impl<const N: usize> Default for Remainder<N> {
    fn default() -> Self {
        Self {
            modes: [[0.0; N]; 3],
            diluent: [0.0; N],
            held_oxygen: [0.0; N],
        }
    }
}

impl<const N: usize> Remainder<N> {
    /// The same with room for `M` compartments, or for no more than the first `M`.
    pub fn sized<const M: usize>(&self) -> Remainder<M> {
        let first = |from: &[f64; N]| std::array::from_fn(|a| from.get(a).copied().unwrap_or(0.0));
        Remainder {
            modes: [first(&self.modes[0]), first(&self.modes[1]), first(&self.modes[2])],
            diluent: first(&self.diluent),
            held_oxygen: first(&self.held_oxygen),
        }
    }
}

/// The correction at one instant.
#[derive(Clone, Copy, Debug)]
struct Point<const N: usize> {
    modes: [[f64; N]; 3],
    diluent: [f64; N],
}

impl<const N: usize> Point<N> {
    const ZERO: Self = Self {
        modes: [[0.0; N]; 3],
        diluent: [0.0; N],
    };

    /// Along a step, `theta` of its length from its start.
    fn along(&mut self, step: &Step, theta: f64) {
        for a in 0..N {
            for i in 0..3 {
                self.modes[i][a] = step.modes[i][a].at(theta);
            }
            self.diluent[a] = step.diluent[a].at(theta);
        }
    }
}

/// The closed form's partial pressures and the sources at one instant.
#[derive(Clone, Copy, Debug)]
struct Base<const N: usize> {
    p: [[f64; N]; 3],
    sources: [[f64; N]; 3],
}

impl<const N: usize> Base<N> {
    const ZERO: Self = Self {
        p: [[0.0; N]; 3],
        sources: [[0.0; N]; 3],
    };

    fn set(&mut self, setting: &Setting, t: f64) {
        let lost = setting.lags.lost(t);
        for i in 0..3 {
            let modes = &setting.segment.modes[i];
            let z = modes.at_with::<N>(t, &lost[i]);
            for a in 0..N {
                let mut sum = 0.0;
                for k in 0..N {
                    sum += modes.to_p[a][k] * z[k];
                }
                self.p[i][a] = sum;
            }
        }
        setting.system.sources_at(&lost, &mut self.sources);
    }
}

/// What a step is of.
pub(crate) struct Setting<'a> {
    /// The segment, with the steps before this one.
    pub segment: &'a Segment,
    /// Its equations.
    pub system: &'a System,
    /// Its dying sources.
    pub lags: &'a Lags,
    /// Steady bulk inflow that the closed form takes along, mol/s.
    pub steady: &'a [[f64; MOST]; 3],
    /// For each mode, how far one unit of it moves a pressure at most.
    pub reach: &'a [[f64; MOST]; 3],
    /// Start within the segment, s.
    pub from_s: f64,
    /// Length, s.
    pub length_s: f64,
    /// A step along which, or beyond which, the correction is guessed.
    pub like: Option<&'a Step>,
}

/// What came of a step that was tried.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tried {
    /// Its error over what is allowed.
    pub error: f64,
    /// Where in it a flow first turns, s from its start: there gas of another room flows on, so that the equations have a kink,
    /// and a step should end.
    pub turn_s: Option<f64>,
}

/// Flows through the joins, mol/s, for those who look for where they turn.
#[derive(Clone, Debug, Default)]
pub(crate) struct Flows {
    /// At the start of the step.
    pub start: Vec<f64>,
    /// At its nodes.
    pub nodes: [Vec<f64>; STAGES],
}

impl Flows {
    /// The first turn of a flow within the step, as a share of its length.
    fn first_turn(&self) -> Option<f64> {
        let mut first = None;
        for join in 0..self.start.len() {
            let values: [f64; STAGES] = std::array::from_fn(|j| self.nodes[j][join]);
            let (mut from, mut before) = (0.0, self.start[join]);
            for (node, value) in NODES.into_iter().zip(values) {
                if before * value < 0.0 {
                    let poly = TABLES.inner(values);
                    let turn = zero(|theta| poly.at(theta), from, node, before);
                    if turn > AT_END && turn < 1.0 - AT_END && first.is_none_or(|first| turn < first) {
                        first = Some(turn);
                    }
                }
                (from, before) = (node, value);
            }
        }
        first
    }
}

/// Where a number that starts with the sign of `start` turns to the other between `from` and `to`: by halving.
fn zero(value: impl Fn(f64) -> f64, mut from: f64, mut to: f64, start: f64) -> f64 {
    for _ in 0..48 {
        let middle = 0.5 * (from + to);
        if value(middle) * start > 0.0 {
            from = middle;
        } else {
            to = middle;
        }
    }
    to
}

/// The stages of one step.
struct Stages<const N: usize> {
    start: Point<N>,
    bases: [Base<N>; STAGES],
    points: [Point<N>; STAGES],
    remainders: [Remainder<N>; STAGES],
    solvers: [[StageSolver; N]; 3],
}

/// Tries a step, and writes it to `step`, where nothing stands but what other steps of the same run have left. `last` is the
/// remainder at its start, if known, and `flows.start` the flows there; `last` is replaced by the remainder at its end.
pub(crate) fn attempt<const N: usize>(
    setting: &Setting,
    bulk: &mut Bulk,
    flows: &mut Flows,
    last: &mut Option<Remainder<MOST>>,
    step: &mut Step,
) -> Tried {
    bulk.restore_directions();
    let segment = setting.segment;
    let mut stages = Stages::<N> {
        start: Point::ZERO,
        bases: [Base::ZERO; STAGES],
        points: [Point::ZERO; STAGES],
        remainders: [Remainder::default(); STAGES],
        solvers: [[StageSolver::default(); N]; 3],
    };
    if let Some(step) = segment.steps.last() {
        stages.start.along(step, 1.0);
    }
    let first = match last {
        Some(known) => known.sized::<N>(),
        None => {
            stages.bases[0].set(setting, setting.from_s);
            let first = remainder(setting, bulk, &stages.bases[0], &stages.start);
            flows.start.clone_from(&bulk.flow);
            first
        }
    };
    for j in 0..STAGES {
        stages.bases[j].set(setting, setting.from_s + NODES[j] * setting.length_s);
    }
    for i in 0..3 {
        for k in 0..N {
            stages.solvers[i][k].set(&DECOUPLING, setting.length_s, segment.modes[i].lambda[k]);
        }
    }
    stages.guess(setting);
    let converged = stages.iterate(setting, bulk, flows);
    stages.assemble(setting, step);
    let error = if converged {
        stages.defect(setting, step, &first)
    } else {
        HOPELESS
    };
    *last = Some(stages.remainders[STAGES - 1].sized::<MOST>());
    let turn_s = if converged {
        flows.first_turn().map(|theta| theta * setting.length_s)
    } else {
        None
    };
    Tried { error, turn_s }
}

fn remainder<const N: usize>(setting: &Setting, bulk: &mut Bulk, base: &Base<N>, point: &Point<N>) -> Remainder<N> {
    let (segment, system) = (setting.segment, setting.system);
    let mut p = base.p;
    for i in 0..3 {
        for a in 0..N {
            for k in 0..N {
                p[i][a] += segment.modes[i].to_p[a][k] * point.modes[i][k];
            }
        }
    }
    let mut pressure = [0.0; N];
    for group in 0..N {
        pressure[group] = match segment.law[group] {
            PressureLaw::Held(pressure) => pressure,
            PressureLaw::Shared(own) if own == group => {
                let diluent = segment.diluent[group] + point.diluent[group];
                (diluent + segment.breathed(group, &p)) / segment.group_capacity[group]
            }
            _ => 0.0,
        };
    }
    let rates = bulk.rates(system, &p, &base.sources, &pressure);
    let mut out = Remainder {
        held_oxygen: rates.held_oxygen,
        ..Remainder::default()
    };
    for a in 0..N {
        if let PressureLaw::Shared(group) = segment.law[a] {
            let diluent = pressure[group] - p[0][a] - p[1][a] - p[2][a];
            out.diluent[group] += system.source[DILUENT][a] - system.sink[DILUENT][a] * diluent;
        }
    }
    for i in 0..3 {
        for a in 0..N {
            let rest = rates.inflow[i][a] - setting.steady[i][a];
            for k in 0..N {
                out.modes[i][k] += segment.modes[i].to_p[a][k] * rest;
            }
        }
    }
    out
}

impl<const N: usize> Stages<N> {
    /// Guesses the correction at the nodes: along the like step or, not too far, beyond it; else as it is at the start.
    fn guess(&mut self, setting: &Setting) {
        self.points = [self.start; STAGES];
        let Some(like) = setting.like else { return };
        if setting.from_s + setting.length_s <= like.from_s + MOST_EXTRAPOLATED * like.length_s {
            for j in 0..STAGES {
                let t = setting.from_s + NODES[j] * setting.length_s;
                self.points[j].along(like, (t - like.from_s) / like.length_s);
            }
        }
    }

    /// Iterates; whether it converged.
    fn iterate(&mut self, setting: &Setting, bulk: &mut Bulk, flows: &mut Flows) -> bool {
        let mut before = f64::INFINITY;
        for _ in 0..MOST_ITERATIONS {
            for j in 0..STAGES {
                self.remainders[j] = remainder(setting, bulk, &self.bases[j], &self.points[j]);
                flows.nodes[j].clone_from(&bulk.flow);
            }
            let moved = self.solve(setting);
            // How fast it converges is not known before the second time.
            let contraction = if before.is_finite() {
                moved / before
            } else {
                FIRST_CONTRACTION
            };
            if contraction < 1.0 && moved * contraction / (1.0 - contraction) <= ITERATED {
                return true;
            }
            before = moved;
        }
        false
    }

    /// Solves for the correction at the nodes from the remainders there; how far it moved, over what is allowed.
    fn solve(&mut self, setting: &Setting) -> f64 {
        let segment = setting.segment;
        let mut moved = 0.0;
        for i in 0..3 {
            let end = &self.bases[STAGES - 1].p[i];
            let least = end.iter().fold(f64::INFINITY, |m, p| m.min(p.abs()));
            for k in 0..N {
                let rest = std::array::from_fn(|l| self.remainders[l].modes[i][k]);
                let z = self.solvers[i][k].solve(&DECOUPLING, self.start.modes[i][k], &rest);
                for j in 0..STAGES {
                    let change = (z[j] - self.points[j].modes[i][k]).abs() * setting.reach[i][k];
                    moved = f64::max(moved, change / allowed(least));
                    self.points[j].modes[i][k] = z[j];
                }
            }
        }
        for group in 0..N {
            if segment.law[group] != PressureLaw::Shared(group) {
                continue;
            }
            for j in 0..STAGES {
                let sum: f64 = (0..STAGES)
                    .map(|l| TABLES.a[j][l] * self.remainders[l].diluent[group])
                    .sum();
                let diluent = self.start.diluent[group] + setting.length_s * sum;
                let change = (diluent - self.points[j].diluent[group]).abs() / segment.group_capacity[group];
                moved = f64::max(moved, change / allowed(0.0));
                self.points[j].diluent[group] = diluent;
            }
        }
        moved
    }

    /// The polynomials through the stages.
    fn assemble(&self, setting: &Setting, step: &mut Step) {
        let segment = setting.segment;
        step.from_s = setting.from_s;
        step.length_s = setting.length_s;
        for a in 0..N {
            for i in 0..3 {
                let values = std::array::from_fn(|j| self.points[j].modes[i][a]);
                step.modes[i][a] = TABLES.through(self.start.modes[i][a], values);
            }
            step.diluent[a] = if segment.law[a] == PressureLaw::Shared(a) {
                let values = std::array::from_fn(|j| self.points[j].diluent[a]);
                TABLES.through(self.start.diluent[a], values)
            } else {
                Poly::default()
            };
            step.oxygen_inflow[a] = if segment.oxygen_held[a] {
                TABLES.inner(std::array::from_fn(|j| self.remainders[j].held_oxygen[a]))
            } else {
                Poly::default()
            };
        }
    }

    /// The error over what is allowed, from the defect at the start of the step: the larger of that along it and that at its end, the
    /// latter to the power of `2/3`, for it goes with the ninth power of the length where the former goes with the sixth.
    fn defect(&self, setting: &Setting, step: &Step, first: &Remainder<N>) -> f64 {
        let segment = setting.segment;
        let h = step.length_s;
        let (mut along, mut at_end) = (0.0_f64, 0.0_f64);
        for i in 0..3 {
            let mut error = [[0.0; 2]; N];
            for k in 0..N {
                let lambda = segment.modes[i].lambda[k];
                let z = h * lambda;
                let c = &step.modes[i][k].0;
                let left = h * (c[1] / h + lambda * c[0] - first.modes[i][k]).abs();
                error[k] = [DEFECT_SHARE * left / (1.0 + DEFECT_SHARE * z), end_share(z) * left];
            }
            for a in 0..N {
                if i == OXYGEN && segment.oxygen_held[a] {
                    continue;
                }
                let mut sum = [0.0; 2];
                for k in 0..N {
                    let weight = segment.modes[i].to_p[a][k].abs();
                    sum[0] += weight * error[k][0];
                    sum[1] += weight * error[k][1];
                }
                let inverse = 1.0 / allowed(self.bases[STAGES - 1].p[i][a].abs());
                along = along.max(sum[0] * inverse);
                at_end = at_end.max(sum[1] * inverse);
            }
        }
        for group in 0..N {
            if segment.law[group] == PressureLaw::Shared(group) {
                let residual = step.diluent[group].0[1] / h - first.diluent[group];
                let error = DEFECT_SHARE * h * residual.abs() / segment.group_capacity[group];
                along = along.max(error / allowed(0.0));
            }
        }
        f64::max(along / CORRECTION_ALONG, libm::cbrt(at_end * at_end))
    }
}

/// Of the defect at the start times the length, so much becomes error where the step ends, of what relaxes by `e^-z` over it: see
/// `newton`.
fn end_share(z: f64) -> f64 {
    let base = DECOUPLING.real + z;
    let (square, z_square) = (base * base, z * z);
    END_SHARE * z_square * z_square * z / (square * square * square * base)
}
