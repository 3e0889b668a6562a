//! The error-controlled integrator: what the closed form leaves out, in steps of three-stage Radau IIA collocation.
//!
//! The state is the closed form plus a correction `d` in the eigenbasis, `d_k' = -lambda_k d_k + g_k(t, state)`, and the change
//! of each group's diluent. Only the remainder `g` (the bulk flow) is unknown; the relaxing part is exact in the basis, so a
//! stiff exchange costs nothing. Each step solves the collocation equations (Hairer and Wanner 1996, Solving Ordinary
//! Differential Equations II, table 5.6) by simple iteration, which contracts with `h f / N` (about 1e-3), and gives a cubic.
//!
//! Because Radau's weights integrate that cubic exactly, integrals of the cubics close every linear ledger to rounding,
//! whatever the error of the step.
//!
//! The error of a cubic is judged by its defect at the start of the step, where the collocation polynomial's residual is
//! `c1 c2 c3 = 0.1` of its leading coefficient.

use nalgebra::{Matrix3, Vector3};

use crate::air::MOST;

use super::bulk::{Bulk, BulkRates};
use super::outcome::Counters;
use super::segment::{Segment, Step, cubic};
use super::system::{DILUENT, OXYGEN, PressureLaw, System};

/// Relative error allowed in a partial pressure; a tenth of what the results claim.
pub(crate) const RELATIVE_ERROR: f64 = 1e-7;
/// Absolute error allowed, Pa.
pub(crate) const ABSOLUTE_ERROR_PA: f64 = 1e-5;
/// Share of it that one step may use up.
const STEP_SHARE: f64 = 0.3;
/// The iteration has converged when it moves less than this fraction of the allowed error.
const ITERATED: f64 = 0.02;
/// Iterations before a step is made smaller instead.
const MOST_ITERATIONS: usize = 10;
/// A shorter step than this cannot be asked for, s.
const SHORTEST_S: f64 = 1e-6;

/// Nodes: `(4 - sqrt 6)/10`, `(4 + sqrt 6)/10`, 1.
const C: [f64; 3] = [0.155_051_025_721_682_2, 0.644_948_974_278_317_8, 1.0];
/// Collocation weights.
const A: [[f64; 3]; 3] = [
    [
        0.196_815_477_223_660_4,
        -0.065_535_425_850_198_4,
        0.023_770_974_348_220_15,
    ],
    [
        0.394_424_314_739_087_3,
        0.292_073_411_665_228_4,
        -0.041_548_752_125_997_93,
    ],
    [
        0.376_403_062_700_467_2,
        0.512_485_826_188_421_6,
        0.111_111_111_111_111_1,
    ],
];

/// The remainder at one instant: in the basis, and what goes with it.
#[derive(Clone, Copy, Debug, Default)]
struct Remainder {
    modes: [[f64; MOST]; 3],
    /// Change of each group's diluent by leaks and exchange with outside, mol/s.
    diluent: [f64; MOST],
    bulk: BulkRates,
}

/// The correction at one instant.
#[derive(Clone, Copy, Debug, Default)]
struct Point {
    modes: [[f64; MOST]; 3],
    diluent: [f64; MOST],
}

/// Extends a segment's correction.
#[derive(Clone, Debug, Default)]
pub(crate) struct Corrector {
    bulk: Bulk,
    last: Option<Remainder>,
}

impl Corrector {
    /// Starts a new segment.
    pub fn begin(&mut self, system: &System) {
        self.bulk.reset(system);
        self.last = None;
    }

    /// Adds steps until the correction reaches `to_s`.
    pub fn extend(&mut self, segment: &mut Segment, system: &System, to_s: f64, counters: &mut Counters) {
        let mut from = segment.steps.last().map_or(0.0, |step| step.from_s + step.length_s);
        let mut length = to_s - from;
        while to_s - from > 0.0 {
            if from + length >= to_s || to_s - from - length < 1e-9 {
                length = to_s - from;
            }
            let (step, error, end) = self.attempt(segment, system, from, length);
            counters.steps += 1;
            let scale = 0.85 * libm::sqrt(libm::sqrt(1.0 / error.max(1e-6)));
            if error <= 1.0 || length <= SHORTEST_S {
                segment.steps.push(step);
                self.last = Some(end);
                from += length;
                length *= scale.clamp(0.3, 4.0);
            } else {
                counters.rejected_steps += 1;
                length *= scale.clamp(0.1, 0.8);
            }
        }
    }

    /// Makes the correction end exactly at `end_s`: the last step is made again, shorter.
    pub fn cut(&mut self, segment: &mut Segment, system: &System, end_s: f64, counters: &mut Counters) {
        while segment.steps.last().is_some_and(|step| step.from_s >= end_s) {
            segment.steps.pop();
        }
        let too_long = segment
            .steps
            .last()
            .is_some_and(|step| step.from_s + step.length_s > end_s);
        if too_long {
            segment.steps.pop();
        }
        self.last = None;
        self.extend(segment, system, end_s, counters);
    }

    /// One step: itself, its error over what is allowed, and the remainder at its end.
    fn attempt(&mut self, segment: &Segment, system: &System, from: f64, length: f64) -> (Step, f64, Remainder) {
        let n = system.n;
        let start = point_at_end(segment);
        let first = self.last.unwrap_or_else(|| {
            let (p, s) = base(segment, system, from);
            self.remainder(segment, system, &p, &s, &start)
        });
        let bases = C.map(|c| base(segment, system, from + c * length));
        let mut stages = [start; 3];
        let mut remainders = [first; 3];
        let solvers = solvers(segment, length);
        let mut moved = f64::INFINITY;
        for _ in 0..MOST_ITERATIONS {
            for j in 0..3 {
                remainders[j] = self.remainder(segment, system, &bases[j].0, &bases[j].1, &stages[j]);
            }
            moved = 0.0;
            for i in 0..3 {
                for k in 0..n {
                    let g = Vector3::new(
                        remainders[0].modes[i][k],
                        remainders[1].modes[i][k],
                        remainders[2].modes[i][k],
                    );
                    let z = solvers[i][k].0 * start.modes[i][k] + solvers[i][k].1 * g;
                    let reach = (0..n).map(|a| segment.modes[i].to_p[a][k].abs()).fold(0.0, f64::max);
                    for j in 0..3 {
                        let change = (z[j] - stages[j].modes[i][k]).abs() * reach;
                        moved = f64::max(moved, change / allowed(bases[2].0[i][0].abs()));
                        stages[j].modes[i][k] = z[j];
                    }
                }
            }
            for group in (0..n).filter(|&group| segment.law[group] == PressureLaw::Shared(group)) {
                for j in 0..3 {
                    let sum: f64 = (0..3).map(|l| A[j][l] * remainders[l].diluent[group]).sum();
                    let diluent = start.diluent[group] + length * sum;
                    let change = (diluent - stages[j].diluent[group]).abs() / segment.group_capacity[group];
                    moved = f64::max(moved, change / allowed(0.0));
                    stages[j].diluent[group] = diluent;
                }
            }
            if moved <= ITERATED {
                break;
            }
        }
        let step = assemble(segment, from, length, &start, &stages, &remainders);
        let error = if moved <= ITERATED {
            defect(segment, &step, &first, &bases[2].0)
        } else {
            f64::INFINITY
        };
        (step, error, remainders[2])
    }

    fn remainder(
        &mut self,
        segment: &Segment,
        system: &System,
        base: &[[f64; MOST]; 3],
        sources: &[[f64; MOST]; 3],
        point: &Point,
    ) -> Remainder {
        let n = system.n;
        let mut p = *base;
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
                _ => {
                    let diluent = segment.diluent[group] + point.diluent[group];
                    (diluent + segment.breathed(group, &p)) / segment.group_capacity[group].max(f64::MIN_POSITIVE)
                }
            };
        }
        let mut out = Remainder::default();
        self.bulk.rates(system, &p, sources, &pressure, &mut out.bulk);
        for a in 0..n {
            if let PressureLaw::Shared(group) = segment.law[a] {
                let diluent = pressure[group] - p[0][a] - p[1][a] - p[2][a];
                out.diluent[group] += system.source[DILUENT][a] - system.sink[DILUENT][a] * diluent;
            }
        }
        for i in 0..3 {
            for k in 0..n {
                for a in 0..n {
                    out.modes[i][k] += segment.modes[i].to_p[a][k] * out.bulk.inflow[i][a];
                }
            }
        }
        out
    }
}

fn allowed(p_pa: f64) -> f64 {
    STEP_SHARE * (RELATIVE_ERROR * p_pa + ABSOLUTE_ERROR_PA)
}

/// The closed form's partial pressures and the sources at `t`.
fn base(segment: &Segment, system: &System, t: f64) -> ([[f64; MOST]; 3], [[f64; MOST]; 3]) {
    let mut p = [[0.0; MOST]; 3];
    for i in 0..3 {
        let z = segment.modes[i].at(t);
        segment.modes[i].pressures(&z, &mut p[i]);
    }
    let mut s = [[0.0; MOST]; 3];
    system.sources_at(t, &mut s);
    (p, s)
}

/// The correction where the last step ends.
fn point_at_end(segment: &Segment) -> Point {
    let mut point = Point::default();
    if let Some(step) = segment.steps.last() {
        for i in 0..3 {
            for k in 0..segment.n {
                point.modes[i][k] = cubic(&step.modes[i][k], 1.0);
            }
        }
        for group in 0..segment.n {
            point.diluent[group] = cubic(&step.diluent[group], 1.0);
        }
    }
    point
}

/// For each mode, what takes the start and the remainder at the nodes to the correction at the nodes:
/// `Z = (I + h lambda A)^-1 (start 1 + h A g)`.
fn solvers(segment: &Segment, length: f64) -> [[(Vector3<f64>, Matrix3<f64>); MOST]; 3] {
    let weights = Matrix3::from_fn(|row, column| A[row][column]);
    let mut out = [[(Vector3::repeat(1.0), weights); MOST]; 3];
    for i in 0..3 {
        for k in 0..segment.n {
            let system = Matrix3::identity() + weights * (length * segment.modes[i].lambda[k]);
            // Its eigenvalues lie right of 1, so it always has an inverse.
            let inverse = system.try_inverse().unwrap_or_else(Matrix3::identity);
            out[i][k] = (inverse * Vector3::repeat(1.0), inverse * weights * length);
        }
    }
    out
}

fn assemble(
    segment: &Segment,
    from_s: f64,
    length_s: f64,
    start: &Point,
    stages: &[Point; 3],
    remainders: &[Remainder; 3],
) -> Step {
    let mut step = Step {
        from_s,
        length_s,
        modes: [[[0.0; 4]; MOST]; 3],
        diluent: [[0.0; 4]; MOST],
        oxygen_inflow: [[0.0; 3]; MOST],
    };
    for a in 0..segment.n {
        for i in 0..3 {
            step.modes[i][a] = through(start.modes[i][a], [0, 1, 2].map(|j| stages[j].modes[i][a]));
        }
        step.diluent[a] = through(start.diluent[a], [0, 1, 2].map(|j| stages[j].diluent[a]));
        step.oxygen_inflow[a] = parabola([0, 1, 2].map(|j| remainders[j].bulk.held_oxygen[a]));
    }
    step
}

/// The error over what is allowed, from the defect at the start of the step.
fn defect(segment: &Segment, step: &Step, first: &Remainder, p: &[[f64; MOST]; 3]) -> f64 {
    let h = step.length_s;
    let mut worst = 0.0_f64;
    for i in 0..3 {
        let mut error = [0.0; MOST];
        for k in 0..segment.n {
            let lambda = segment.modes[i].lambda[k];
            let c = &step.modes[i][k];
            let residual = c[1] / h + lambda * c[0] - first.modes[i][k];
            error[k] = 0.1 * h * residual.abs() / (1.0 + 0.1 * h * lambda);
        }
        for a in 0..segment.n {
            if i == OXYGEN && segment.oxygen_held[a] {
                continue;
            }
            let sum: f64 = (0..segment.n)
                .map(|k| segment.modes[i].to_p[a][k].abs() * error[k])
                .sum();
            worst = worst.max(sum / allowed(p[i][a].abs()));
        }
    }
    for group in 0..segment.n {
        if segment.law[group] == PressureLaw::Shared(group) {
            let residual = step.diluent[group][1] / h - first.diluent[group];
            worst = worst.max(0.1 * h * residual.abs() / segment.group_capacity[group] / allowed(0.0));
        }
    }
    worst
}

/// Coefficients of the cubic through `v0` at 0 and `v` at the nodes.
fn through(v0: f64, v: [f64; 3]) -> [f64; 4] {
    let d1 = (v[0] - v0) / C[0];
    let d12 = (v[1] - v[0]) / (C[1] - C[0]);
    let d23 = (v[2] - v[1]) / (C[2] - C[1]);
    let d2 = (d12 - d1) / C[1];
    let d123 = (d23 - d12) / (C[2] - C[0]);
    let d3 = d123 - d2;
    [v0, d1 - d2 * C[0] + d3 * C[0] * C[1], d2 - d3 * (C[0] + C[1]), d3]
}

/// Coefficients of the parabola through `v` at the nodes.
fn parabola(v: [f64; 3]) -> [f64; 3] {
    let d12 = (v[1] - v[0]) / (C[1] - C[0]);
    let d23 = (v[2] - v[1]) / (C[2] - C[1]);
    let d = (d23 - d12) / (C[2] - C[0]);
    [v[0] - C[0] * d12 + C[0] * C[1] * d, d12 - d * (C[0] + C[1]), d]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nodes_are_radau_s() {
        let root = libm::sqrt(6.0);
        assert!((C[0] - (4.0 - root) / 10.0).abs() < 1e-16 && (C[1] - (4.0 + root) / 10.0).abs() < 1e-16);
        // The collocation conditions: sum_l A[j][l] c_l^(q-1) = c_j^q / q for q = 1, 2, 3.
        for j in 0..3 {
            for q in 1..=3 {
                let sum: f64 = (0..3).map(|l| A[j][l] * C[l].powi(q - 1)).sum();
                assert!((sum - C[j].powi(q) / f64::from(q)).abs() < 1e-15, "{j} {q}");
            }
        }
    }

    #[test]
    fn a_cubic_goes_through_its_points() {
        let c = through(1.0, [2.0, -1.0, 0.5]);
        for (theta, v) in [(0.0, 1.0), (C[0], 2.0), (C[1], -1.0), (1.0, 0.5)] {
            assert!((cubic(&c, theta) - v).abs() < 1e-12);
        }
        let c = parabola([2.0, -1.0, 0.5]);
        for (theta, v) in [(C[0], 2.0), (C[1], -1.0), (1.0, 0.5)] {
            assert!((c[0] + theta * (c[1] + theta * c[2]) - v).abs() < 1e-12);
        }
    }
}
