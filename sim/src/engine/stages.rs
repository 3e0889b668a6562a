//! One step of the correction: the collocation equations of its five stages, solved by simple iteration.
//!
//! In the eigenbasis each mode of the correction obeys `d_k' = -lambda_k d_k + g_k`; only the remainder `g` (bulk flow, less what
//! the closed form has taken along) couples them. The relaxing part is solved with the stages, so a stiff exchange costs
//! nothing; the iteration over `g` contracts with `h f / N` (bulk flow over amount, about 1e-3), and with `x h g / C` (exchange
//! of oxygen between rooms) where oxygen is held and the total drifts.

mod remainder;
mod turns;

use crate::air::MOST;

use super::accuracy::{CORRECTION_ALONG, allowed};
use super::bulk::Bulk;
use super::decouple::{DECOUPLING, Decoupling};
use super::indices::OXYGEN;
use super::lags::Lags;
use super::poly::Poly;
use super::radau::{NODES, STAGES, StageSolver, TABLES, Tables};
use super::segment::{Segment, Step};
use super::system::{PressureLaw, System};

pub(crate) use remainder::Remainder;
use remainder::{Base, Point, Scratch, remainder};
pub(crate) use turns::Flows;

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

/// Values at the nodes of a step.
type Nodes = [f64; STAGES];

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
