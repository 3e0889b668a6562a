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

use crate::air::MOST;

use super::indices::{CO2, DILUENT, OXYGEN, WATER};
use super::lags::Lost;
use super::linear::eliminate;
use super::sized::sized;
use super::state::Stocks;
use super::system::{PressureLaw, System};

/// An opening with no exchange flow still lets bulk flow pass: relative conductance that keeps the system regular.
const LEAST_CONDUCTANCE: f64 = 1e-9;

/// What the bulk flow does at an instant, in `N` compartments.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BulkRates<const N: usize> {
    /// Net bulk inflow of each breathed species, mol/s; 0 for oxygen where it is held.
    pub inflow: [[f64; N]; 3],
    /// Bulk inflow of oxygen where it is held, mol/s.
    pub held_oxygen: [f64; N],
}

impl<const N: usize> Default for BulkRates<N> {
    fn default() -> Self {
        Self {
            inflow: [[0.0; N]; 3],
            held_oxygen: [0.0; N],
        }
    }
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

/// Solves for the flows; remembers their directions as a first guess for the next instant.
#[derive(Clone, Debug, Default)]
pub(crate) struct Bulk {
    /// By join: flows from `a` to `b`.
    forward: Vec<bool>,
    /// The same as they were when kept.
    kept: Vec<bool>,
    /// By join: bulk flow from `a` to `b`, mol/s, as last worked out.
    pub flow: Vec<f64>,
    /// By first compartment of a group.
    shapes: Vec<Shape>,
    branches: Vec<Branch>,
}

impl Bulk {
    /// Takes up a new mode.
    pub fn reset(&mut self, system: &System) {
        self.forward.clear();
        self.forward.resize(system.joins.len(), true);
        self.flow.clear();
        self.flow.resize(system.joins.len(), 0.0);
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

    /// Keeps the directions as they are.
    pub fn keep_directions(&mut self) {
        self.kept.clone_from(&self.forward);
    }

    /// Takes up the kept directions: what was looked at in between must leave no trace.
    pub fn restore_directions(&mut self) {
        self.forward.clone_from(&self.kept);
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
    pub fn at_start(&mut self, system: &System, stocks: &Stocks) -> BulkRates<MOST> {
        let mut rates = BulkRates::default();
        if system.has_bulk() {
            self.reset(system);
            sized!(system.n, N => self.at_start_sized::<N>(system, stocks, &mut rates));
        }
        rates
    }

    fn at_start_sized<const N: usize>(&mut self, system: &System, stocks: &Stocks, out: &mut BulkRates<MOST>) {
        let mut sources = [[0.0; N]; 3];
        // At the start nothing is lost yet.
        system.sources_at(&Lost::default(), &mut sources);
        let pressure = std::array::from_fn(|a| match system.law[a] {
            PressureLaw::Held(pressure) => pressure,
            _ => stocks.pressure(a),
        });
        let p = std::array::from_fn(|i| std::array::from_fn(|a| stocks.p[i][a]));
        let rates = self.rates::<N>(system, &p, &sources, &pressure);
        for i in 0..3 {
            out.inflow[i][..N].copy_from_slice(&rates.inflow[i]);
        }
        out.held_oxygen[..N].copy_from_slice(&rates.held_oxygen);
    }

    /// The rates at partial pressures `p` of the breathed species with sources `s` and total pressures by group.
    pub fn rates<const N: usize>(
        &mut self,
        system: &System,
        p: &[[f64; N]; 3],
        s: &[[f64; N]; 3],
        pressure: &[f64; N],
    ) -> BulkRates<N> {
        let mut out = BulkRates::default();
        for group in 0..N {
            if self.shapes[group] != Shape::Single {
                self.group_rates::<N>(system, group, p, s, pressure[group], &mut out);
            }
        }
        out
    }

    fn group_rates<const N: usize>(
        &mut self,
        system: &System,
        group: usize,
        p: &[[f64; N]; 3],
        s: &[[f64; N]; 3],
        pressure: f64,
        out: &mut BulkRates<N>,
    ) {
        let mut net = [0.0; N];
        let mut any_held = false;
        for a in 0..N {
            if system.group[a] == group {
                net[a] = net_production::<N>(system, p, s, pressure, a);
                any_held |= system.oxygen_held[a].is_some();
            }
        }
        let per_pa = 1.0 / pressure;
        // Directions matter only to balances where oxygen is held; a second solve settles them.
        for _ in 0..3 {
            match self.shapes[group] {
                Shape::Tree { from, to } => self.solve_tree::<N>(system, group, from..to, p, per_pa, &net),
                _ => self.solve_loops::<N>(system, group, p, per_pa, &net),
            }
            let mut turned = false;
            for (join, (forward, flow)) in system.joins.iter().zip(self.forward.iter_mut().zip(&self.flow)) {
                if system.group[join.a] == group {
                    let now = *flow >= 0.0;
                    turned |= now != *forward;
                    *forward = now;
                }
            }
            if !turned || !any_held {
                break;
            }
        }
        for (join, flow) in system.joins.iter().zip(&self.flow) {
            if system.group[join.a] != group {
                continue;
            }
            let upstream = if *flow >= 0.0 { join.a } else { join.b };
            let carries = flow * per_pa;
            let carried: [f64; 3] = std::array::from_fn(|i| carries * p[i][upstream]);
            for (end, sign) in [(join.a, -1.0), (join.b, 1.0)] {
                out.inflow[CO2][end] += sign * carried[CO2];
                out.inflow[WATER][end] += sign * carried[WATER];
                if system.oxygen_held[end].is_some() {
                    out.held_oxygen[end] += sign * carried[OXYGEN];
                } else {
                    out.inflow[OXYGEN][end] += sign * carried[OXYGEN];
                }
            }
        }
    }

    /// The share of a join's flow that the balance of compartment `a` feels: where oxygen is held, all but the oxygen.
    fn share<const N: usize>(&self, system: &System, join: usize, a: usize, p: &[[f64; N]; 3], per_pa: f64) -> f64 {
        if system.oxygen_held[a].is_none() {
            return 1.0;
        }
        let upstream = if self.forward[join] {
            system.joins[join].a
        } else {
            system.joins[join].b
        };
        (1.0 - p[OXYGEN][upstream] * per_pa).max(LEAST_SHARE)
    }

    /// From the far ends inwards each flow is `alpha - beta P'`; the root's balance gives `P'`.
    fn solve_tree<const N: usize>(
        &mut self,
        system: &System,
        group: usize,
        branches: std::ops::Range<usize>,
        p: &[[f64; N]; 3],
        per_pa: f64,
        net: &[f64; N],
    ) {
        let mut alpha = *net;
        let mut beta: [f64; N] = std::array::from_fn(|a| system.capacity[a]);
        for branch in &self.branches[branches.clone()] {
            let far = self.share(system, branch.join, branch.child, p, per_pa);
            let near = self.share(system, branch.join, branch.parent, p, per_pa);
            if far != 1.0 {
                alpha[branch.child] /= far;
                beta[branch.child] /= far;
            }
            alpha[branch.parent] += near * alpha[branch.child];
            beta[branch.parent] += near * beta[branch.child];
        }
        let root = root(system, group);
        let rise = if is_held(system, group) {
            0.0
        } else {
            alpha[root] / beta[root]
        };
        for branch in &self.branches[branches] {
            self.flow[branch.join] = branch.sign * (alpha[branch.child] - beta[branch.child] * rise);
        }
    }

    /// Unknowns: potentials of all members but the first, then `P'` (or the valve's flow).
    fn solve_loops<const N: usize>(
        &mut self,
        system: &System,
        group: usize,
        p: &[[f64; N]; 3],
        per_pa: f64,
        net: &[f64; N],
    ) {
        let held_pressure = is_held(system, group);
        let mut place = [0; MOST];
        let mut matrix = [[0.0; MOST + 1]; MOST];
        let size = system.group_size[group];
        let mut row = 0;
        for a in 0..N {
            if system.group[a] != group {
                continue;
            }
            place[a] = row;
            matrix[row][size] = net[a];
            matrix[row][size - 1] = match held_pressure {
                false => system.capacity[a],
                true if system.inlet[group] == a => -1.0,
                true => 0.0,
            };
            row += 1;
        }
        for (o, join) in system.joins.iter().enumerate() {
            if system.group[join.a] != group {
                continue;
            }
            let w = weight(join.conductance);
            for (end, sign) in [(join.a, 1.0), (join.b, -1.0)] {
                let share = self.share(system, o, end, p, per_pa);
                for (other, direction) in [(join.a, 1.0), (join.b, -1.0)] {
                    if place[other] > 0 {
                        matrix[place[end]][place[other] - 1] += sign * share * w * direction;
                    }
                }
            }
        }
        let unknown = eliminate(&mut matrix, size);
        let potential = |a: usize| if place[a] == 0 { 0.0 } else { unknown[place[a] - 1] };
        for (o, join) in system.joins.iter().enumerate() {
            if system.group[join.a] == group {
                self.flow[o] = weight(join.conductance) * (potential(join.a) - potential(join.b));
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
fn net_production<const N: usize>(
    system: &System,
    p: &[[f64; N]; 3],
    s: &[[f64; N]; 3],
    pressure: f64,
    a: usize,
) -> f64 {
    let diluent = pressure - p[0][a] - p[1][a] - p[2][a];
    let mut net = system.source[DILUENT][a] - system.sink[DILUENT][a] * diluent;
    for i in [CO2, WATER] {
        net += s[i][a] - system.sink[i][a] * p[i][a];
    }
    if system.oxygen_held[a].is_some() {
        for b in 0..N {
            net -= system.exchange[a][b] * (p[OXYGEN][b] - p[OXYGEN][a]);
        }
    } else {
        net += s[OXYGEN][a] - system.sink[OXYGEN][a] * p[OXYGEN][a];
    }
    net
}

fn weight(conductance: f64) -> f64 {
    conductance.max(LEAST_CONDUCTANCE)
}

#[cfg(test)]
mod tests {
    use super::super::system::Join;
    use super::*;

    /// Two rooms of capacity 4 and 1 mol/Pa; the first makes 0.3 mol/s of CO2, nothing is held.
    fn two_rooms() -> System {
        let mut system = System {
            n: 2,
            ..System::default()
        };
        system.capacity[0] = 4.0;
        system.capacity[1] = 1.0;
        system.group = [0; MOST];
        system.group_size[0] = 2;
        system.law = [PressureLaw::Shared(0); MOST];
        system.joins.push(Join {
            a: 0,
            b: 1,
            conductance: 0.5,
        });
        system.exchange[0][1] = 0.5;
        system.exchange[1][0] = 0.5;
        system
    }

    #[test]
    fn a_source_in_one_room_lifts_both_and_its_share_flows_over() {
        let system = two_rooms();
        let p = [[400.0, 100.0], [0.0; 2], [2000.0; 2]];
        let mut s = [[0.0; 2]; 3];
        s[CO2][0] = 0.3;
        let mut bulk = Bulk::default();
        bulk.reset(&system);
        let out = bulk.rates(&system, &p, &s, &[10_000.0, 0.0]);
        // A fifth of the gas is in the second room, so a fifth of the new gas flows there, with 4 % of it CO2.
        assert!((out.inflow[CO2][1] - 0.06 * 0.04).abs() < 1e-15);
        assert!((out.inflow[CO2][0] + out.inflow[CO2][1]).abs() < 1e-18);
    }

    #[test]
    fn a_tree_and_a_loop_agree_where_both_apply() {
        let mut system = two_rooms();
        let mut p = [[300.0; 2], [900.0; 2], [2000.0; 2]];
        p[OXYGEN][1] = 2100.0;
        let s = [[0.0; 2], [0.05, 0.03], [-0.02, -0.1]];
        let pressure = [10_000.0; 2];
        for (oxygen, law) in [
            (None, PressureLaw::Shared(0)),
            (Some(2000.0), PressureLaw::Shared(0)),
            (Some(2000.0), PressureLaw::Held(10_000.0)),
        ] {
            system.oxygen_held[0] = oxygen;
            system.law = [law; MOST];
            let mut bulk = Bulk::default();
            bulk.reset(&system);
            let tree = bulk.rates(&system, &p, &s, &pressure);
            bulk.shapes[0] = Shape::Looped;
            let looped = bulk.rates(&system, &p, &s, &pressure);
            for i in 0..3 {
                for a in 0..2 {
                    assert!((tree.inflow[i][a] - looped.inflow[i][a]).abs() < 1e-15);
                }
            }
            assert!((tree.held_oxygen[0] - looped.held_oxygen[0]).abs() < 1e-15);
        }
    }

    #[test]
    fn where_oxygen_is_held_the_flow_leaves_no_gas_over() {
        let mut system = two_rooms();
        system.oxygen_held[0] = Some(2000.0);
        system.law = [PressureLaw::Held(10_000.0); MOST];
        let p = [[0.0; 2], [0.0; 2], [2000.0; 2]];
        let mut s = [[0.0; 2]; 3];
        // The second room uses oxygen; the valve is in the first.
        s[OXYGEN][1] = -0.1;
        let mut bulk = Bulk::default();
        bulk.reset(&system);
        let out = bulk.rates(&system, &p, &s, &[10_000.0, 0.0]);
        // 0.1 mol/s must flow over, a fifth of it oxygen, which the oxygen valve makes up.
        assert!((out.inflow[OXYGEN][1] - 0.02).abs() < 1e-15);
        assert!((out.held_oxygen[0] + 0.02).abs() < 1e-15);
    }
}
