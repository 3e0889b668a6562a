//! The flows that follow from what they must achieve, and what a unit of each does to the amounts.

use breathroom_sim::air::Place;

use super::laws::R;
use super::mode::{How, Mode, Regulator, Valving, What};
use super::plant::Plant;

/// A flow that follows from what it must achieve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// Potential of a compartment over that of its group's first member: it drives the bulk flows.
    Potential(usize),
    /// Flow of a valve that keeps its quantity.
    Valve(usize),
    /// Flow of a suit's regulator: in, or out, as the mode has it.
    Suit(usize),
    /// Flow of a transfer with a ramp, by its place among those that go on.
    Ramp(usize),
}

/// The unknowns' values.
#[derive(Clone, Debug)]
pub struct Solved {
    pub(super) unknowns: Vec<(Unknown, f64)>,
    /// Bulk flow of each edge from `a` to `b`, mol/s.
    pub bulk: Vec<f64>,
    /// Rate of what each valve keeps, times the compartment's capacity, mol/s.
    pub slope: Vec<f64>,
    /// What counts as rounding of a flow, mol/s.
    pub eps: f64,
}

impl Solved {
    /// Value of an unknown; 0 if it is not one in this mode.
    pub fn of(&self, unknown: Unknown) -> f64 {
        self.unknowns.iter().find(|u| u.0 == unknown).map_or(0.0, |u| u.1)
    }
}

/// What a unit flow of oxygen into a suit does.
pub fn oxygen_in(plant: &Plant, mode: &Mode, s: usize) -> Vec<(usize, f64)> {
    let mut out = vec![
        (4 * plant.case.suits[s].compartment + 2, 1.0),
        (plant.to_suits + 2, 1.0),
        (plant.suit + s, 1.0),
    ];
    if let Some(t) = plant.suit_source(mode, s) {
        out.push((plant.tank + t, 1.0));
    }
    out
}

/// What an open opening exchanges per pressure, mol/s/Pa: it shares out bulk flow on a loop.
pub fn conductance(plant: &Plant, x: &[f64], a: usize, b: usize, exchange_m3_s: f64) -> f64 {
    exchange_m3_s.max(1e-9) / (R * (x[plant.air + a] + x[plant.air + b]) / 2.0)
}

/// What a unit of an unknown does, by index of the state.
pub fn column(plant: &Plant, mode: &Mode, x: &[f64], unknown: Unknown) -> Vec<(usize, f64)> {
    let mut out = Vec::new();
    match unknown {
        Unknown::Potential(m) => {
            for e in mode.edges.iter().filter(|e| e.a == m || e.b == m) {
                let g = conductance(plant, x, e.a, e.b, e.exchange_m3_s);
                let flow = if e.a == m { g } else { -g };
                let up = Place::Compartment(if e.forward { e.a } else { e.b });
                for (s, part) in plant.composition(x, up).into_iter().enumerate() {
                    out.push((4 * e.a + s, -flow * part));
                    out.push((4 * e.b + s, flow * part));
                }
            }
        }
        Unknown::Valve(v) => {
            let valve = &plant.valves[v];
            out.push((4 * valve.room + valve.species, 1.0));
            out.push((plant.supplied + valve.species, 1.0));
            out.extend(valve.tank.map(|t| (plant.tank + t, 1.0)));
        }
        Unknown::Suit(s) if mode.regulator[s] == Regulator::Feed => out = oxygen_in(plant, mode, s),
        Unknown::Suit(s) => {
            let a = plant.case.suits[s].compartment;
            let to = match plant.worn(mode, s).1 {
                Place::Compartment(b) => 4 * b,
                Place::Outside => plant.leaked,
            };
            for (species, part) in plant.composition(x, Place::Compartment(a)).into_iter().enumerate() {
                out.push((4 * a + species, -part));
                out.push((to + species, part));
            }
        }
        Unknown::Ramp(k) => {
            let transfer = &mode.transfers[k];
            let slot = plant.transfer + 4 * transfer.slot;
            match transfer.what {
                What::Vent { room } => {
                    let parts = plant.composition(x, Place::Compartment(room));
                    for (s, part) in parts.into_iter().enumerate() {
                        out.extend([(4 * room + s, -part), (plant.vented + s, part), (slot + s, part)]);
                    }
                }
                What::Fill { room, parts } => {
                    for (s, part, tank) in parts {
                        out.extend([(4 * room + s, part), (plant.filled + s, part), (slot + s, part)]);
                        out.extend(tank.map(|t| (plant.tank + t, part)));
                    }
                }
                What::Equalise { between } => {
                    let falls = matches!(transfer.how, How::Ramp { rate_pa_s, .. } if rate_pa_s <= 0.0);
                    let (from, to) = if falls {
                        (between[0], between[1])
                    } else {
                        (between[1], between[0])
                    };
                    let at = |place: Place| match place {
                        Place::Compartment(a) => 4 * a,
                        Place::Outside => plant.leaked,
                    };
                    for (s, part) in plant.composition(x, from).into_iter().enumerate() {
                        out.extend([(at(from) + s, -part), (at(to) + s, part), (slot + s, part)]);
                    }
                }
            }
        }
    }
    out
}

/// The unknowns of a mode.
pub fn unknowns(plant: &Plant, mode: &Mode) -> Vec<Unknown> {
    let mut out = Vec::new();
    for m in (0..plant.rooms).filter(|&m| mode.group[m] != m && !mode.vacuum[m]) {
        out.push(Unknown::Potential(m));
    }
    for v in (0..plant.valves.len()).filter(|&v| mode.valve[v] == Valving::Keep) {
        out.push(Unknown::Valve(v));
    }
    for s in 0..plant.case.suits.len() {
        if plant.closed(mode, s) && mode.regulator[s] != Regulator::Starved {
            out.push(Unknown::Suit(s));
        }
    }
    for (k, transfer) in mode.transfers.iter().enumerate() {
        if matches!(transfer.how, How::Ramp { .. }) {
            out.push(Unknown::Ramp(k));
        }
    }
    out
}

/// Solves `m x = b` by elimination with exchange of rows; `b` becomes `x`.
pub fn solve(m: &mut [Vec<f64>], b: &mut [f64]) {
    let n = b.len();
    for k in 0..n {
        let best = (k..n)
            .max_by(|&i, &j| m[i][k].abs().total_cmp(&m[j][k].abs()))
            .unwrap_or(k);
        m.swap(k, best);
        b.swap(k, best);
        // Two valves that keep one quantity, or no gas to move: not a number, and a step that meets it is refused.
        if m[k][k].abs() <= 0.0 {
            b.fill(f64::NAN);
            return;
        }
        for i in k + 1..n {
            let factor = m[i][k] / m[k][k];
            for j in k..n {
                m[i][j] -= factor * m[k][j];
            }
            b[i] -= factor * b[k];
        }
    }
    for k in (0..n).rev() {
        for j in k + 1..n {
            b[k] -= m[k][j] * b[j];
        }
        b[k] /= m[k][k];
    }
}
