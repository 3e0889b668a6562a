//! The remainder of a step of the correction: what the closed form has not taken along, at several instants side by side.

use super::super::bulk::{Bulk, BulkRates, Instants};
use super::super::indices::DILUENT;
use super::super::lags::Lost;
use super::super::segment::Step;
use super::super::system::PressureLaw;
use super::Setting;
use crate::air::MOST;

/// The remainder at `L` instants: in the basis, and what goes with it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Remainder<const N: usize, const L: usize> {
    pub modes: [[[f64; L]; N]; 3],
    /// Change of each group's diluent by leaks and exchange with outside, mol/s.
    pub diluent: [[f64; L]; N],
    pub held_oxygen: [[f64; L]; N],
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
pub(super) struct Point<const N: usize, const L: usize> {
    pub modes: [[[f64; L]; N]; 3],
    pub diluent: [[f64; L]; N],
}

impl<const N: usize, const L: usize> Point<N, L> {
    pub const ZERO: Self = Self {
        modes: [[[0.0; L]; N]; 3],
        diluent: [[0.0; L]; N],
    };

    /// Along a step, `theta` of its length from its start.
    pub fn along(&mut self, step: &Step, theta: &[f64; L]) {
        for a in 0..N {
            for i in 0..3 {
                self.modes[i][a] = step.modes[i][a].at_all(theta);
            }
            self.diluent[a] = step.diluent[a].at_all(theta);
        }
    }

    /// The first instant at all of others.
    pub fn spread<const M: usize>(&self) -> Point<N, M> {
        Point {
            modes: self.modes.map(|species| species.map(|mode| [mode[0]; M])),
            diluent: self.diluent.map(|diluent| [diluent[0]; M]),
        }
    }
}

/// The closed form's partial pressures and the sources at `L` instants.
#[derive(Clone, Copy, Debug)]
pub(super) struct Base<const N: usize, const L: usize> {
    pub p: [[[f64; L]; N]; 3],
    pub sources: [[[f64; L]; N]; 3],
}

impl<const N: usize, const L: usize> Base<N, L> {
    pub const ZERO: Self = Self {
        p: [[[0.0; L]; N]; 3],
        sources: [[[0.0; L]; N]; 3],
    };

    pub fn set(&mut self, setting: &Setting, t: &[f64; L]) {
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
pub(super) fn add_pressures<const N: usize, const L: usize>(
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

/// What the remainder is worked out in.
pub(super) struct Scratch<const N: usize, const L: usize> {
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
pub(super) fn remainder<const N: usize, const L: usize>(
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
