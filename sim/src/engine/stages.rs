//! One step of the correction: the collocation equations of its five stages, solved by simple iteration.
//!
//! In the eigenbasis each mode of the correction obeys `d_k' = -lambda_k d_k + g_k`; only the remainder `g` (bulk flow, less what
//! the closed form has taken along) couples them. The relaxing part is solved with the stages, so a stiff exchange costs
//! nothing; the iteration over `g` contracts with `h f / N` (bulk flow over amount, about 1e-3), and with `x h g / C` (exchange
//! of oxygen between rooms) where oxygen is held and the total drifts.

use crate::air::MOST;

use super::accuracy::{CORRECTION_ALONG, allowed};
use super::bulk::{Bulk, BulkRates, Instants};
use super::decouple::{DECOUPLING, Decoupling};
use super::indices::{DILUENT, OXYGEN};
use super::lags::{Lags, Lost};
use super::poly::Poly;
use super::radau::{NODES, STAGES, StageSolver, TABLES, Tables};
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

/// Values at the nodes of a step.
type Nodes = [f64; STAGES];

/// The remainder at `L` instants: in the basis, and what goes with it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Remainder<const N: usize, const L: usize> {
    modes: [[[f64; L]; N]; 3],
    /// Change of each group's diluent by leaks and exchange with outside, mol/s.
    diluent: [[f64; L]; N],
    held_oxygen: [[f64; L]; N],
}

impl<const N: usize, const L: usize> Default for Remainder<N, L> {
    fn default() -> Self {
        Self {
            modes: [[[0.0; L]; N]; 3],
            diluent: [[0.0; L]; N],
            held_oxygen: [[0.0; L]; N],
        }
    }
}

impl<const N: usize, const L: usize> Remainder<N, L> {
    /// The last instant alone, with room for `M` compartments, or for no more than the first `M`.
    pub fn last<const M: usize>(&self) -> Remainder<M, 1> {
        let last = |from: &[[f64; L]; N]| std::array::from_fn(|a| [from.get(a).map_or(0.0, |at| at[L - 1])]);
        Remainder {
            modes: [last(&self.modes[0]), last(&self.modes[1]), last(&self.modes[2])],
            diluent: last(&self.diluent),
            held_oxygen: last(&self.held_oxygen),
        }
    }
}

/// The correction at `L` instants.
#[derive(Clone, Copy, Debug)]
struct Point<const N: usize, const L: usize> {
    modes: [[[f64; L]; N]; 3],
    diluent: [[f64; L]; N],
}

impl<const N: usize, const L: usize> Point<N, L> {
    const ZERO: Self = Self {
        modes: [[[0.0; L]; N]; 3],
        diluent: [[0.0; L]; N],
    };

    /// Along a step, `theta` of its length from its start.
    fn along(&mut self, step: &Step, theta: &[f64; L]) {
        for a in 0..N {
            for i in 0..3 {
                self.modes[i][a] = step.modes[i][a].at_all(theta);
            }
            self.diluent[a] = step.diluent[a].at_all(theta);
        }
    }

    /// The first instant at all of others.
    fn spread<const M: usize>(&self) -> Point<N, M> {
        Point {
            modes: self.modes.map(|species| species.map(|mode| [mode[0]; M])),
            diluent: self.diluent.map(|diluent| [diluent[0]; M]),
        }
    }
}

/// The closed form's partial pressures and the sources at `L` instants.
#[derive(Clone, Copy, Debug)]
struct Base<const N: usize, const L: usize> {
    p: [[[f64; L]; N]; 3],
    sources: [[[f64; L]; N]; 3],
}

impl<const N: usize, const L: usize> Base<N, L> {
    const ZERO: Self = Self {
        p: [[[0.0; L]; N]; 3],
        sources: [[[0.0; L]; N]; 3],
    };

    fn set(&mut self, setting: &Setting, t: &[f64; L]) {
        let mut lost = [Lost::default(); L];
        setting.lags.lost(t, &mut lost);
        for i in 0..3 {
            let modes = &setting.segment.modes[i];
            let z = modes.at_instants::<N, L>(t, &std::array::from_fn(|l| &lost[l][i]));
            self.p[i] = [[0.0; L]; N];
            add_pressures(&modes.to_p, &z, &mut self.p[i]);
        }
        setting.system.sources_at(&lost, &mut self.sources);
    }
}

/// Adds partial pressures from modes.
fn add_pressures<const N: usize, const L: usize>(
    to_p: &[[f64; MOST]; MOST],
    z: &[[f64; L]; N],
    out: &mut [[f64; L]; N],
) {
    for a in 0..N {
        for k in 0..N {
            for l in 0..L {
                out[a][l] += to_p[a][k] * z[k][l];
            }
        }
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
    pub nodes: Vec<Nodes>,
}

impl Flows {
    /// Goes on to the next step: where this one ends.
    pub fn go_on(&mut self) {
        self.start.clear();
        self.start.extend(self.nodes.iter().map(|flow| flow[STAGES - 1]));
    }

    /// The first turn of a flow within the step, as a share of its length.
    fn first_turn(&self) -> Option<f64> {
        let mut first = None;
        for join in 0..self.start.len() {
            let values = &self.nodes[join];
            let (mut from, mut before) = (0.0, self.start[join]);
            for (node, value) in NODES.into_iter().zip(*values) {
                if before * value < 0.0 {
                    let poly = TABLES.inner(*values);
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
    start: Point<N, 1>,
    base: Base<N, STAGES>,
    points: Point<N, STAGES>,
    remainder: Remainder<N, STAGES>,
    solvers: [[StageSolver; N]; 3],
    decoupling: &'static Decoupling,
    tables: &'static Tables,
}

/// Tries a step, and writes it to `step`, where nothing stands but what other steps of the same run have left. `last` is the
/// remainder at its start, if known, and `flows.start` the flows there; `last` is replaced by the remainder at its end.
pub(crate) fn attempt<const N: usize>(
    setting: &Setting,
    bulk: &mut Bulk,
    flows: &mut Flows,
    last: &mut Option<Remainder<MOST, 1>>,
    step: &mut Step,
) -> Tried {
    bulk.restore_directions();
    let segment = setting.segment;
    let mut stages = Stages::<N> {
        start: Point::ZERO,
        base: Base::ZERO,
        points: Point::ZERO,
        remainder: Remainder::default(),
        solvers: [[StageSolver::default(); N]; 3],
        decoupling: &DECOUPLING,
        tables: &TABLES,
    };
    if let Some(step) = segment.steps.last() {
        stages.start.along(step, &[1.0]);
    }
    let first = match last {
        Some(known) => known.last::<N>(),
        None => {
            let mut base = Base::ZERO;
            base.set(setting, &[setting.from_s]);
            let mut first = Remainder::default();
            remainder(setting, bulk, &base, &stages.start, &mut Scratch::default(), &mut first);
            flows.start.clear();
            flows.start.extend(bulk.flow.iter().map(|flow| flow[0]));
            first
        }
    };
    stages
        .base
        .set(setting, &NODES.map(|node| setting.from_s + node * setting.length_s));
    for i in 0..3 {
        for k in 0..N {
            stages.solvers[i][k].set(stages.decoupling, setting.length_s, segment.modes[i].lambda[k]);
        }
    }
    stages.guess(setting);
    let converged = stages.iterate(setting, bulk);
    flows.nodes.clone_from(&bulk.flow);
    stages.assemble(setting, step);
    let error = if converged {
        stages.defect(setting, step, &first)
    } else {
        HOPELESS
    };
    *last = Some(stages.remainder.last::<MOST>());
    let turn_s = if converged {
        flows.first_turn().map(|theta| theta * setting.length_s)
    } else {
        None
    };
    Tried { error, turn_s }
}

/// What the remainder is worked out in.
struct Scratch<const N: usize, const L: usize> {
    p: [[[f64; L]; N]; 3],
    pressure: [[f64; L]; N],
    rates: BulkRates<N, L>,
}

impl<const N: usize, const L: usize> Default for Scratch<N, L> {
    fn default() -> Self {
        Self {
            p: [[[0.0; L]; N]; 3],
            pressure: [[0.0; L]; N],
            rates: BulkRates::default(),
        }
    }
}

/// Writes the remainder to `out`.
fn remainder<const N: usize, const L: usize>(
    setting: &Setting,
    bulk: &mut Bulk,
    base: &Base<N, L>,
    point: &Point<N, L>,
    scratch: &mut Scratch<N, L>,
    out: &mut Remainder<N, L>,
) {
    let (segment, system) = (setting.segment, setting.system);
    let Scratch { p, pressure, rates } = scratch;
    for i in 0..3 {
        p[i] = base.p[i];
        add_pressures(&segment.modes[i].to_p, &point.modes[i], &mut p[i]);
    }
    for group in 0..N {
        let own = &mut pressure[group];
        match segment.law[group] {
            PressureLaw::Held(held) => *own = [held; L],
            PressureLaw::Shared(first) if first == group => {
                for l in 0..L {
                    own[l] = segment.diluent[group] + point.diluent[group][l];
                }
                for a in (0..N).filter(|&a| segment.group[a] == group) {
                    for l in 0..L {
                        own[l] += segment.capacity[a] * (p[0][a][l] + p[1][a][l] + p[2][a][l]);
                    }
                }
                for l in 0..L {
                    own[l] /= segment.group_capacity[group];
                }
            }
            _ => {}
        }
    }
    bulk.rates(
        system,
        &Instants {
            p,
            sources: &base.sources,
            pressure,
        },
        rates,
    );
    out.held_oxygen = rates.held_oxygen;
    out.diluent = [[0.0; L]; N];
    for a in 0..N {
        if let PressureLaw::Shared(group) = segment.law[a] {
            let (source, sink) = (system.source[DILUENT][a], system.sink[DILUENT][a]);
            for l in 0..L {
                let diluent = pressure[group][l] - p[0][a][l] - p[1][a][l] - p[2][a][l];
                out.diluent[group][l] += source - sink * diluent;
            }
        }
    }
    for i in 0..3 {
        for k in 0..N {
            let mut sum = [0.0; L];
            for a in 0..N {
                let (to_p, steady) = (segment.modes[i].to_p[a][k], setting.steady[i][a]);
                for l in 0..L {
                    sum[l] += to_p * (rates.inflow[i][a][l] - steady);
                }
            }
            out.modes[i][k] = sum;
        }
    }
}

impl<const N: usize> Stages<N> {
    /// Guesses the correction at the nodes: along the like step or, not too far, beyond it; else as it is at the start.
    fn guess(&mut self, setting: &Setting) {
        match setting.like {
            Some(like) if setting.from_s + setting.length_s <= like.from_s + MOST_EXTRAPOLATED * like.length_s => {
                let theta = |node| (setting.from_s + node * setting.length_s - like.from_s) / like.length_s;
                self.points.along(like, &NODES.map(theta));
            }
            _ => self.points = self.start.spread(),
        }
    }

    /// Iterates; whether it converged.
    fn iterate(&mut self, setting: &Setting, bulk: &mut Bulk) -> bool {
        let mut before = f64::INFINITY;
        let mut scratch = Scratch::default();
        for _ in 0..MOST_ITERATIONS {
            remainder(
                setting,
                bulk,
                &self.base,
                &self.points,
                &mut scratch,
                &mut self.remainder,
            );
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
            let least = (0..N).fold(f64::INFINITY, |m, a| m.min(self.base.p[i][a][STAGES - 1].abs()));
            let per_allowed = 1.0 / allowed(least);
            for k in 0..N {
                let [start] = self.start.modes[i][k];
                let z = self.solvers[i][k].solve(self.decoupling, start, &self.remainder.modes[i][k]);
                let change = furthest(&z, &self.points.modes[i][k]);
                moved = f64::max(moved, change * setting.reach[i][k] * per_allowed);
                self.points.modes[i][k] = z;
            }
        }
        for group in 0..N {
            if segment.law[group] != PressureLaw::Shared(group) {
                continue;
            }
            let [start] = self.start.diluent[group];
            let diluent = self.tables.a.map(|row| {
                let sum: f64 = (0..STAGES).map(|l| row[l] * self.remainder.diluent[group][l]).sum();
                start + setting.length_s * sum
            });
            let change = furthest(&diluent, &self.points.diluent[group]) / segment.group_capacity[group];
            moved = f64::max(moved, change / allowed(0.0));
            self.points.diluent[group] = diluent;
        }
        moved
    }

    /// The polynomials through the stages.
    fn assemble(&self, setting: &Setting, step: &mut Step) {
        let (segment, tables) = (setting.segment, self.tables);
        step.from_s = setting.from_s;
        step.length_s = setting.length_s;
        for a in 0..N {
            for i in 0..3 {
                step.modes[i][a] = tables.through(self.start.modes[i][a][0], self.points.modes[i][a]);
            }
            step.diluent[a] = if segment.law[a] == PressureLaw::Shared(a) {
                tables.through(self.start.diluent[a][0], self.points.diluent[a])
            } else {
                Poly::default()
            };
            step.oxygen_inflow[a] = if segment.oxygen_held[a] {
                tables.inner(self.remainder.held_oxygen[a])
            } else {
                Poly::default()
            };
        }
    }

    /// The error over what is allowed, from the defect at the start of the step: the larger of that along it and that at its end, the
    /// latter to the power of `2/3`, for it goes with the ninth power of the length where the former goes with the sixth.
    fn defect(&self, setting: &Setting, step: &Step, first: &Remainder<N, 1>) -> f64 {
        let segment = setting.segment;
        let h = step.length_s;
        let (mut along, mut at_end) = (0.0_f64, 0.0_f64);
        for i in 0..3 {
            let mut error = [[0.0; 2]; N];
            for k in 0..N {
                let lambda = segment.modes[i].lambda[k];
                let z = h * lambda;
                let c = &step.modes[i][k].0;
                let left = h * (c[1] / h + lambda * c[0] - first.modes[i][k][0]).abs();
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
                let inverse = 1.0 / allowed(self.base.p[i][a][STAGES - 1].abs());
                along = along.max(sum[0] * inverse);
                at_end = at_end.max(sum[1] * inverse);
            }
        }
        for group in 0..N {
            if segment.law[group] == PressureLaw::Shared(group) {
                let residual = step.diluent[group].0[1] / h - first.diluent[group][0];
                let error = DEFECT_SHARE * h * residual.abs() / segment.group_capacity[group];
                along = along.max(error / allowed(0.0));
            }
        }
        f64::max(along / CORRECTION_ALONG, libm::cbrt(at_end * at_end))
    }
}

/// The most by which two stages differ.
fn furthest(one: &Nodes, other: &Nodes) -> f64 {
    (0..STAGES).fold(0.0, |most, j| f64::max(most, (one[j] - other[j]).abs()))
}

/// Of the defect at the start times the length, so much becomes error where the step ends, of what relaxes by `e^-z` over it: see
/// `newton`.
fn end_share(z: f64) -> f64 {
    let base = DECOUPLING.real + z;
    let (square, z_square) = (base * base, z * z);
    END_SHARE * z_square * z_square * z / (square * square * square * base)
}
