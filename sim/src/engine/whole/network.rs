//! Flows that pressures alone decide: through open hatches, through valves that hold or move a group's pressure, through suits.
//!
//! With `S_a` the net molar production of compartment `a` by all other flows, `f` the bulk flows through open openings and
//! `v` the valves, and `P` the pressure that a group shares:
//!
//! ```text
//! C_a (P' - P T'/T) = S_a + (sum of f into a) + v_a          (where oxygen is held: of all gas but oxygen)
//! suit s in a:  C_s P_a' = S_s + v_s    v_s > 0: oxygen let in; v_s < 0: gas of the suit goes into a
//! ```
//!
//! On a loop of openings the flows follow a potential, as in `bulk`. Directions (upstream composition) are guessed, solved for, and
//! corrected until they agree with the flows. Whether a suit takes in oxygen or lets out gas is its mode. Symbols: `C` mol/Pa, `S`, `f`,
//! `v` mol/s, `P` Pa.

use crate::air::MOST;

use super::super::indices::OXYGEN;
use super::super::linear::eliminate;
use super::parts::{Gas, Group, Join, MOST_JOINS, SuitValve, Valve, Worn, tap};
use super::plumbing::Plumbing;

/// An opening with no exchange flow still lets bulk flow pass.
const LEAST_WEIGHT: f64 = 1e-9;
/// Directions are corrected so often; more is a cycle between equals, which any of them solves.
const MOST_ROUNDS: usize = 8;
/// Under this pressure gas has no composition worth the name: what is let in tells it, Pa.
const EMPTY_PA: f64 = 1e-9;
/// The least share of a flow that is not oxygen which the equations can work with.
const LEAST_SHARE: f64 = 1e-9;

/// What the network needs to know of an instant.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Instant {
    /// Net production, `[species][compartment]`, mol/s.
    pub s: [[f64; MOST]; 4],
    /// Partial pressures, Pa.
    pub p: [[f64; MOST]; 4],
    /// Totals, Pa.
    pub total: [f64; MOST],
    /// Capacities, mol/Pa.
    pub c: [f64; MOST],
    /// `T'/T`, 1/s.
    pub warming: [f64; MOST],
}

/// Directions, kept as a first guess for the next instant.
#[derive(Clone, Debug, Default)]
pub(crate) struct Directions {
    /// By group and join: from `a` to `b`.
    forward: Vec<bool>,
}

impl Directions {
    /// Takes up a new mode.
    pub fn reset(&mut self, plumbing: &Plumbing) {
        self.forward.clear();
        self.forward
            .resize(plumbing.groups.iter().map(|group| group.joins.len()).sum(), true);
    }
}

impl Instant {
    /// Part of a species in the gas of a compartment.
    pub fn part(&self, plumbing: &Plumbing, species: usize, a: usize) -> f64 {
        if self.total[a] > EMPTY_PA {
            self.p[species][a] / self.total[a]
        } else {
            plumbing.filled_with[a][species]
        }
    }

    fn all(&self, a: usize) -> f64 {
        self.s[0][a] + self.s[1][a] + self.s[2][a] + self.s[3][a]
    }

    /// Moves a flow from one compartment to another at upstream composition; the amounts by species.
    pub fn carry(&mut self, plumbing: &Plumbing, flow: f64, from: Option<usize>, to: Option<usize>) -> [f64; 4] {
        let upstream = if flow >= 0.0 { from } else { to };
        let Some(upstream) = upstream else { return [0.0; 4] };
        std::array::from_fn(|i| {
            let moved = flow * self.part(plumbing, i, upstream);
            if let Some(a) = from {
                self.s[i][a] -= moved;
            }
            if let Some(b) = to {
                self.s[i][b] += moved;
            }
            moved
        })
    }
}

/// Solves every group, adds its flows to the productions, and writes their taps.
pub(crate) fn solve(plumbing: &Plumbing, at: &mut Instant, directions: &mut Directions, taps: &mut [f64]) {
    let mut rise = [0.0; MOST];
    let mut first_join = 0;
    for group in &plumbing.groups {
        let joins = first_join..first_join + group.joins.len();
        first_join = joins.end;
        let forward = &mut directions.forward[joins];
        let p_rise = solve_group(plumbing, group, at, forward, taps);
        for &a in &group.members {
            rise[a] = p_rise;
        }
    }
    for worn in &plumbing.worn {
        let p_rise = worn.room.map_or(0.0, |a| rise[a]);
        regulate(plumbing, worn, at, p_rise, taps);
    }
}

/// How fast the pressure of `a` rises with a flow that comes to it from `from`, or leaves it if it is below zero, mol/s; beside all
/// other flows, which are looked at and not changed.
pub(crate) fn rise_with(
    plumbing: &Plumbing,
    at: &Instant,
    directions: &Directions,
    a: usize,
    flow: f64,
    gas: [f64; 4],
) -> f64 {
    let mut at = *at;
    for i in 0..4 {
        at.s[i][a] += flow * gas[i];
    }
    let (mut directions, mut taps) = (directions.clone(), vec![0.0; plumbing.taps]);
    let place = plumbing.group_of[a];
    let first: usize = plumbing.groups[..place].iter().map(|group| group.joins.len()).sum();
    let group = &plumbing.groups[place];
    let forward = &mut directions.forward[first..first + group.joins.len()];
    solve_group(plumbing, group, &mut at, forward, &mut taps)
}

/// What a suit's valve must let in, or out if it is below zero, so that its pressure goes with that around it, mol/s.
fn needed(worn: &Worn, at: &Instant, rise: f64) -> f64 {
    at.c[worn.s] * rise - at.all(worn.s)
}

/// Lets oxygen in, or gas out into the place (whose balance has already felt it).
fn regulate(plumbing: &Plumbing, worn: &Worn, at: &mut Instant, rise: f64, taps: &mut [f64]) {
    let flow = needed(worn, at, rise);
    match worn.valve {
        SuitValve::Closed => {}
        SuitValve::Supplying => {
            at.s[OXYGEN][worn.s] += flow;
            taps[worn.tap] += flow;
            taps[worn.through] += flow;
        }
        SuitValve::Relieving => {
            let moved = at.carry(plumbing, -flow, Some(worn.s), worn.room);
            taps[worn.through] -= flow;
            if worn.room.is_none() {
                for i in 0..4 {
                    taps[worn.lost + i] += moved[i];
                }
            }
        }
    }
}

/// What solves a group.
#[derive(Clone, Copy, Debug)]
struct Solved {
    /// Rate of change of its pressure, Pa/s.
    rise: f64,
    /// Flow of its valve, mol/s.
    valve: f64,
    /// Flow of each join from `a` to `b`, mol/s.
    flows: [f64; MOST_JOINS],
}

/// Solves a group; gives the rate of change of its pressure, Pa/s.
fn solve_group(plumbing: &Plumbing, group: &Group, at: &mut Instant, forward: &mut [bool], taps: &mut [f64]) -> f64 {
    let mut prescribed = group.valve.map(|valve| valve.ramp_pa_s);
    let mut solved = balance(plumbing, group, at, forward, prescribed);
    for _ in 0..MOST_ROUNDS {
        let mut turned = false;
        if let (Some(_), Some(valve)) = (prescribed, group.valve) {
            let backwards = match valve.gas {
                Gas::Hold(_) => false,
                Gas::Fill(_) => solved.valve < 0.0,
                Gas::Vent => solved.valve > 0.0,
            };
            if backwards {
                prescribed = None;
                turned = true;
            }
        }
        for (flow, forward) in solved.flows.iter().zip(forward.iter_mut()) {
            let is = *flow >= 0.0;
            turned |= is != *forward;
            *forward = is;
        }
        if !turned {
            break;
        }
        solved = balance(plumbing, group, at, forward, prescribed);
    }
    for (join, f) in group.joins.iter().zip(solved.flows) {
        taps[join.tap] += f;
        let upstream = if f >= 0.0 { join.a } else { join.b };
        for i in 0..4 {
            let moved = f * at.part(plumbing, i, upstream);
            at.s[i][join.a] -= moved;
            at.s[i][join.b] += moved;
        }
    }
    if let (Some(valve), Some(_)) = (group.valve, prescribed) {
        open_valve(plumbing, &valve, solved.valve, at, taps);
    }
    for held in &plumbing.held {
        let c = held.compartment;
        if group.members.contains(&c) {
            let mut from_suits = 0.0;
            for worn in &plumbing.worn {
                if worn.room == Some(c) && worn.valve == SuitValve::Relieving {
                    from_suits -= needed(worn, at, solved.rise) * at.part(plumbing, OXYGEN, worn.s);
                }
            }
            let flow = -at.s[OXYGEN][c] - from_suits - at.c[c] * at.p[OXYGEN][c] * at.warming[c];
            at.s[OXYGEN][c] += flow;
            taps[held.tap] += flow;
        }
    }
    solved.rise
}

/// Lets a valve's flow in or out.
fn open_valve(plumbing: &Plumbing, valve: &Valve, flow: f64, at: &mut Instant, taps: &mut [f64]) {
    match valve.gas {
        Gas::Hold(species) => {
            at.s[species][valve.inlet] += flow;
            taps[valve.tap] += flow;
        }
        Gas::Fill(parts) => {
            for i in 0..4 {
                at.s[i][valve.inlet] += parts[i] * flow;
                taps[valve.tap + i] += parts[i] * flow;
            }
        }
        Gas::Vent => {
            for i in 0..4 {
                let moved = flow * at.part(plumbing, i, valve.inlet);
                at.s[i][valve.inlet] += moved;
                taps[valve.tap + i] -= moved;
                taps[tap::VENT + i] -= moved;
            }
        }
    }
}

fn weight(join: &Join) -> f64 {
    join.exchange_m3_s.max(LEAST_WEIGHT)
}

/// The share of a flow that the balance of `a` feels: where oxygen is held, all but the oxygen.
fn share(plumbing: &Plumbing, at: &Instant, a: usize, upstream: usize) -> f64 {
    if plumbing.oxygen_held[a] {
        (1.0 - at.part(plumbing, OXYGEN, upstream)).max(LEAST_SHARE)
    } else {
        1.0
    }
}

/// Balances a group with directions as they are guessed.
fn balance(plumbing: &Plumbing, group: &Group, at: &Instant, forward: &[bool], prescribed: Option<f64>) -> Solved {
    let mut net = [0.0; MOST];
    let mut capacity = [0.0; MOST];
    for &a in &group.members {
        let (mut production, mut pressure) = (at.all(a), at.total[a]);
        if plumbing.oxygen_held[a] {
            production -= at.s[OXYGEN][a];
            pressure -= at.p[OXYGEN][a];
        }
        net[a] = production + at.c[a] * pressure * at.warming[a];
        capacity[a] = at.c[a];
    }
    for worn in &plumbing.worn {
        if let Some(a) = worn.room
            && worn.valve == SuitValve::Relieving
            && group.members.contains(&a)
        {
            let share = share(plumbing, at, a, worn.s);
            net[a] += share * at.all(worn.s);
            capacity[a] += share * at.c[worn.s];
        }
    }
    // Oxygen by which the pressure is held where oxygen is held too would count for nothing.
    let valve = group.valve.filter(|_| prescribed.is_some());
    let through = valve.map_or(1.0, |valve| match valve.gas {
        Gas::Hold(species) if species == OXYGEN && plumbing.oxygen_held[valve.inlet] => LEAST_SHARE,
        _ => 1.0,
    });
    if group.branches.len() == group.joins.len() {
        balance_tree(plumbing, group, at, forward, (net, capacity), (prescribed, through))
    } else {
        balance_loops(plumbing, group, at, forward, (net, capacity), (prescribed, through))
    }
}

/// From the far ends inwards each flow is `alpha - beta P'`; the root's balance gives `P'`, or the valve's flow.
fn balance_tree(
    plumbing: &Plumbing,
    group: &Group,
    at: &Instant,
    forward: &[bool],
    (mut alpha, mut beta): ([f64; MOST], [f64; MOST]),
    (prescribed, through): (Option<f64>, f64),
) -> Solved {
    for branch in &group.branches {
        let join = &group.joins[branch.join];
        let upstream = if forward[branch.join] { join.a } else { join.b };
        let far = share(plumbing, at, branch.child, upstream);
        let near = share(plumbing, at, branch.parent, upstream);
        alpha[branch.child] /= far;
        beta[branch.child] /= far;
        alpha[branch.parent] += near * alpha[branch.child];
        beta[branch.parent] += near * beta[branch.child];
    }
    let root = group.root;
    let rise = prescribed.unwrap_or(alpha[root] / beta[root]);
    let mut flows = [0.0; MOST_JOINS];
    for branch in &group.branches {
        flows[branch.join] = branch.sign * (alpha[branch.child] - beta[branch.child] * rise);
    }
    Solved {
        rise,
        valve: (beta[root] * rise - alpha[root]) / through,
        flows,
    }
}

/// Unknowns: potentials of all members but the first, then `P'` (or the valve's flow).
fn balance_loops(
    plumbing: &Plumbing,
    group: &Group,
    at: &Instant,
    forward: &[bool],
    (net, capacity): ([f64; MOST], [f64; MOST]),
    (prescribed, through): (Option<f64>, f64),
) -> Solved {
    let size = group.members.len();
    let mut matrix = [[0.0; MOST + 1]; MOST];
    let place = |a: usize| group.members.iter().position(|&member| member == a).unwrap_or(0);
    for (row, &a) in group.members.iter().enumerate() {
        matrix[row][size] = net[a];
        match prescribed {
            None => matrix[row][size - 1] = capacity[a],
            Some(rise) => {
                matrix[row][size] -= capacity[a] * rise;
                if group.root == a {
                    matrix[row][size - 1] = -through;
                }
            }
        }
    }
    for (join, &forward) in group.joins.iter().zip(forward) {
        let upstream = if forward { join.a } else { join.b };
        let w = weight(join);
        for (end, sign) in [(join.a, 1.0), (join.b, -1.0)] {
            let share = share(plumbing, at, end, upstream);
            for (other, direction) in [(join.a, 1.0), (join.b, -1.0)] {
                if place(other) > 0 {
                    matrix[place(end)][place(other) - 1] += sign * share * w * direction;
                }
            }
        }
    }
    let unknown = eliminate(&mut matrix, size);
    let potential = |a: usize| if place(a) > 0 { unknown[place(a) - 1] } else { 0.0 };
    let mut flows = [0.0; MOST_JOINS];
    for (flow, join) in flows.iter_mut().zip(&group.joins) {
        *flow = weight(join) * (potential(join.a) - potential(join.b));
    }
    let last = unknown[size - 1];
    Solved {
        rise: prescribed.unwrap_or(last),
        valve: if prescribed.is_some() { last } else { 0.0 },
        flows,
    }
}
