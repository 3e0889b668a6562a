//! Bulk flow between joined compartments, which share one total pressure.
//!
//! Breathing, condensing, make-up and leaks change totals in different compartments at different rates; through an open hatch
//! gas then flows in bulk so that the totals stay equal. With `S_a` the net molar production of compartment `a`, `f_o` the bulk
//! flow through opening `o` at the mole fractions `x` of the compartment it leaves, and `P` the shared pressure:
//!
//! ```text
//! c_a P' = S_a - (sum of flows out of a)          P' = 0 where a hold lets diluent in: its flow w joins S there
//! bulk inflow of species i into a = sum_o f_o x_i(upstream)
//! ```
//!
//! On a loop of openings the flows follow a potential, each opening with a conductance proportional to its exchange flow
//! (an assumption: pressure alone leaves the split open). Where oxygen is held, the valve makes up what oxygen the bulk flow
//! takes, so that flow is part of the unknown. Symbols: `c` mol/Pa, `S`, `f`, `w` mol/s, `P` Pa.
//!
//! The products `f x` are what makes such a mode not affine; they are small beside the exchange (about 1e-3 of it).
//!
//! Rates are worked out at several instants at once (`L` of them, side by side in the innermost arrays): the same few sums for each,
//! without a look at the network in between.

mod loops;

use crate::air::MOST;

use super::indices::{CO2, DILUENT, OXYGEN, WATER};
use super::lags::Lost;
use super::radau::STAGES;
use super::sized::sized;
use super::state::Stocks;
use super::system::{PressureLaw, System};

/// What the bulk flow does at `L` instants, in `N` compartments.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BulkRates<const N: usize, const L: usize> {
    /// Net bulk inflow of each breathed species, mol/s; 0 for oxygen where it is held.
    pub inflow: [[[f64; L]; N]; 3],
    /// Bulk inflow of oxygen where it is held, mol/s.
    pub held_oxygen: [[f64; L]; N],
}

impl<const N: usize, const L: usize> Default for BulkRates<N, L> {
    fn default() -> Self {
        Self {
            inflow: [[[0.0; L]; N]; 3],
            held_oxygen: [[0.0; L]; N],
        }
    }
}

/// What the rates are worked out from, at `L` instants.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Instants<'a, const N: usize, const L: usize> {
    /// Partial pressures of the breathed species, Pa.
    pub p: &'a [[[f64; L]; N]; 3],
    /// Sources of these, mol/s.
    pub sources: &'a [[[f64; L]; N]; 3],
    /// Total pressures by the first compartment of a group, Pa.
    pub pressure: &'a [[f64; L]; N],
}

/// The least share of a flow that is not oxygen which the equations can still work with: in pure oxygen two valves could
/// make up the same flow, and this decides between them.
const LEAST_SHARE: f64 = 1e-9;

/// A join of a tree, seen from its far end.
#[derive(Clone, Copy, Debug)]
struct Branch {
    /// The far end.
    child: usize,
    /// The end nearer to the root.
    parent: usize,
    /// Index of the join.
    join: usize,
    /// 1 if the join runs from child to parent, -1 if the other way.
    sign: f64,
}

/// A group's joins.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shape {
    /// Nothing is joined.
    Single,
    /// Branches `from..to`, each before all that are nearer to the root.
    Tree { from: usize, to: usize },
    /// There is a loop.
    Looped,
}

/// Solves for the flows; remembers their directions as a first guess for the next time.
#[derive(Clone, Debug, Default)]
pub(crate) struct Bulk {
    /// By join and instant: flows from `a` to `b`.
    forward: Vec<[bool; STAGES]>,
    /// The same of one instant, as they were when kept.
    kept: Vec<bool>,
    /// By join and instant: bulk flow from `a` to `b`, mol/s, as last worked out.
    pub flow: Vec<[f64; STAGES]>,
    /// By first compartment of a group.
    shapes: Vec<Shape>,
    branches: Vec<Branch>,
}

impl Bulk {
    /// Takes up a new mode.
    pub fn reset(&mut self, system: &System) {
        self.forward.clear();
        self.forward.resize(system.joins.len(), [true; STAGES]);
        self.flow.clear();
        self.flow.resize(system.joins.len(), [0.0; STAGES]);
        self.branches.clear();
        self.shapes.clear();
        for group in 0..system.n.min(MOST) {
            let shape = if system.group[group] == group && system.group_size[group] > 1 {
                self.grow(system, group)
            } else {
                Shape::Single
            };
            self.shapes.push(shape);
        }
    }

    /// Keeps the directions of the first instant as they are.
    pub fn keep_directions(&mut self) {
        self.kept.clear();
        self.kept.extend(self.forward.iter().map(|forward| forward[0]));
    }

    /// Takes up the kept directions: what was looked at in between must leave no trace.
    pub fn restore_directions(&mut self) {
        for (forward, &kept) in self.forward.iter_mut().zip(&self.kept) {
            *forward = [kept; STAGES];
        }
    }

    /// Lays out a group's joins from its root: where diluent comes in, or its first compartment.
    fn grow(&mut self, system: &System, group: usize) -> Shape {
        let count = system.joins.iter().filter(|join| system.group[join.a] == group).count();
        if count + 1 != system.group_size[group] {
            return Shape::Looped;
        }
        let from = self.branches.len();
        let mut reached = [false; MOST];
        reached[root(system, group)] = true;
        while self.branches.len() - from < count {
            for (index, join) in system.joins.iter().enumerate() {
                let (child, parent, sign) = match (reached[join.a], reached[join.b]) {
                    (true, false) => (join.b, join.a, -1.0),
                    (false, true) => (join.a, join.b, 1.0),
                    _ => continue,
                };
                reached[child] = true;
                self.branches.push(Branch {
                    child,
                    parent,
                    join: index,
                    sign,
                });
            }
        }
        self.branches[from..].reverse();
        Shape::Tree {
            from,
            to: self.branches.len(),
        }
    }

    /// The rates at the start of a mode.
    pub fn at_start(&mut self, system: &System, stocks: &Stocks) -> BulkRates<MOST, 1> {
        let mut rates = BulkRates::default();
        if system.has_bulk() {
            self.reset(system);
            sized!(system.n, N => self.at_start_sized::<N>(system, stocks, &mut rates));
        }
        rates
    }

    fn at_start_sized<const N: usize>(&mut self, system: &System, stocks: &Stocks, out: &mut BulkRates<MOST, 1>) {
        let mut sources = [[[0.0]; N]; 3];
        // At the start nothing is lost yet.
        system.sources_at(&[Lost::default()], &mut sources);
        let pressure = std::array::from_fn(|a| {
            [match system.law[a] {
                PressureLaw::Held(pressure) => pressure,
                _ => stocks.pressure(a),
            }]
        });
        let at = Instants {
            p: &std::array::from_fn(|i| std::array::from_fn(|a| [stocks.p[i][a]])),
            sources: &sources,
            pressure: &pressure,
        };
        let mut rates = BulkRates::<N, 1>::default();
        self.rates(system, &at, &mut rates);
        for i in 0..3 {
            out.inflow[i][..N].copy_from_slice(&rates.inflow[i]);
        }
        out.held_oxygen[..N].copy_from_slice(&rates.held_oxygen);
    }

    /// The rates, written to `out`; the flows are left in `flow`.
    pub fn rates<const N: usize, const L: usize>(
        &mut self,
        system: &System,
        at: &Instants<N, L>,
        out: &mut BulkRates<N, L>,
    ) {
        out.inflow = [[[0.0; L]; N]; 3];
        out.held_oxygen = [[0.0; L]; N];
        for group in 0..N {
            match self.shapes[group] {
                Shape::Single => {}
                Shape::Tree { from, to } => {
                    let per_pa = at.pressure[group].map(|pressure| 1.0 / pressure);
                    self.flows(system, group, from..to, at, &per_pa);
                    for place in from..to {
                        self.carry(system, self.branches[place].join, at, &per_pa, out);
                    }
                }
                Shape::Looped => {
                    let per_pa = at.pressure[group].map(|pressure| 1.0 / pressure);
                    self.flows(system, group, 0..0, at, &per_pa);
                    for join in 0..system.joins.len() {
                        if system.group[system.joins[join].a] == group {
                            self.carry(system, join, at, &per_pa, out);
                        }
                    }
                }
            }
        }
    }

    /// Works out a group's flows.
    fn flows<const N: usize, const L: usize>(
        &mut self,
        system: &System,
        group: usize,
        branches: std::ops::Range<usize>,
        at: &Instants<N, L>,
        per_pa: &[f64; L],
    ) {
        let mut net = [[0.0; L]; N];
        let mut any_held = false;
        for a in 0..N {
            if system.group[a] == group {
                net_production(system, at, &at.pressure[group], a, &mut net[a]);
                any_held |= system.oxygen_held[a].is_some();
            }
        }
        // Directions matter only to balances where oxygen is held; a second solve settles them.
        for _ in 0..3 {
            if branches.is_empty() {
                self.solve_loops(system, group, at.p, per_pa, &net);
            } else {
                self.solve_tree(system, group, branches.clone(), at.p, per_pa, &net);
            }
            let mut turned = false;
            for (forward, flow) in self.forward.iter_mut().zip(&self.flow) {
                for l in 0..L {
                    let now = flow[l] >= 0.0;
                    turned |= now != forward[l];
                    forward[l] = now;
                }
            }
            if !turned || !any_held {
                break;
            }
        }
    }

    /// Books what a join's flow carries.
    fn carry<const N: usize, const L: usize>(
        &self,
        system: &System,
        join: usize,
        at: &Instants<N, L>,
        per_pa: &[f64; L],
        out: &mut BulkRates<N, L>,
    ) {
        let (a, b) = (system.joins[join].a, system.joins[join].b);
        let flow = &self.flow[join];
        for i in 0..3 {
            let mut carried = [0.0; L];
            for l in 0..L {
                let upstream = if flow[l] >= 0.0 { at.p[i][a][l] } else { at.p[i][b][l] };
                carried[l] = flow[l] * per_pa[l] * upstream;
            }
            for (end, sign) in [(a, -1.0), (b, 1.0)] {
                let to = if i == OXYGEN && system.oxygen_held[end].is_some() {
                    &mut out.held_oxygen[end]
                } else {
                    &mut out.inflow[i][end]
                };
                for l in 0..L {
                    to[l] += sign * carried[l];
                }
            }
        }
    }

    /// The share of a join's flow that the balance of a compartment feels where oxygen is held, at instant `l`: all but the oxygen.
    fn share<const N: usize, const L: usize>(
        &self,
        system: &System,
        join: usize,
        oxygen: &[[f64; L]; N],
        per_pa: &[f64; L],
        l: usize,
    ) -> f64 {
        let (a, b) = (system.joins[join].a, system.joins[join].b);
        let upstream = if self.forward[join][l] { a } else { b };
        (1.0 - oxygen[upstream][l] * per_pa[l]).max(LEAST_SHARE)
    }

    /// From the far ends inwards each flow is `alpha - beta P'`; the root's balance gives `P'`.
    fn solve_tree<const N: usize, const L: usize>(
        &mut self,
        system: &System,
        group: usize,
        branches: std::ops::Range<usize>,
        p: &[[[f64; L]; N]; 3],
        per_pa: &[f64; L],
        net: &[[f64; L]; N],
    ) {
        let mut alpha = *net;
        let mut beta: [[f64; L]; N] = std::array::from_fn(|a| [system.capacity[a]; L]);
        for place in branches.clone() {
            let Branch {
                child, parent, join, ..
            } = self.branches[place];
            let [far, near] = [child, parent].map(|end| system.oxygen_held[end].is_some());
            if far || near {
                let shares: [f64; L] = std::array::from_fn(|l| self.share(system, join, &p[OXYGEN], per_pa, l));
                for l in 0..L {
                    if far {
                        alpha[child][l] /= shares[l];
                        beta[child][l] /= shares[l];
                    }
                    let near = if near { shares[l] } else { 1.0 };
                    alpha[parent][l] += near * alpha[child][l];
                    beta[parent][l] += near * beta[child][l];
                }
            } else {
                for l in 0..L {
                    alpha[parent][l] += alpha[child][l];
                    beta[parent][l] += beta[child][l];
                }
            }
        }
        let root = root(system, group);
        let mut rise = [0.0; L];
        if !is_held(system, group) {
            rise = std::array::from_fn(|l| alpha[root][l] / beta[root][l]);
        }
        for place in branches {
            let Branch { child, join, sign, .. } = self.branches[place];
            for l in 0..L {
                self.flow[join][l] = sign * (alpha[child][l] - beta[child][l] * rise[l]);
            }
        }
    }
}

fn root(system: &System, group: usize) -> usize {
    if is_held(system, group) {
        system.inlet[group]
    } else {
        group
    }
}

fn is_held(system: &System, group: usize) -> bool {
    matches!(system.law[group], PressureLaw::Held(_))
}

/// Net molar production of compartment `a` apart from bulk flow and the pressure hold, mol/s. Where oxygen is held the
/// valve cancels what people use, and what remains is the exchange of oxygen.
fn net_production<const N: usize, const L: usize>(
    system: &System,
    at: &Instants<N, L>,
    pressure: &[f64; L],
    a: usize,
    net: &mut [f64; L],
) {
    *net = [system.source[DILUENT][a]; L];
    let sink = system.sink[DILUENT][a];
    if sink != 0.0 {
        for l in 0..L {
            net[l] -= sink * (pressure[l] - at.p[0][a][l] - at.p[1][a][l] - at.p[2][a][l]);
        }
    }
    let held = system.oxygen_held[a].is_some();
    for i in [CO2, WATER, OXYGEN] {
        if i == OXYGEN && held {
            continue;
        }
        let sink = system.sink[i][a];
        for l in 0..L {
            net[l] += at.sources[i][a][l] - sink * at.p[i][a][l];
        }
    }
    if !held {
        return;
    }
    for b in 0..N {
        let exchange = system.exchange[a][b];
        if exchange != 0.0 {
            for l in 0..L {
                net[l] -= exchange * (at.p[OXYGEN][b][l] - at.p[OXYGEN][a][l]);
            }
        }
    }
}

#[cfg(test)]
mod tests;
