//! What must stay positive while a mode holds, and how a mode is left.

use breathroom_sim::removal::Removal;

use super::mode::{Gas, Mode};
use super::model::{Flows, Model};

/// Tolerance of a pressure at a bound, Pa: far above rounding, far below what is compared.
pub const PRESSURE_PA: f64 = 1e-9;
/// Flows are compared with this part of all flows together.
pub const FLOW: f64 = 1e-12;
/// Tolerance of an amount at zero, mol.
pub const AMOUNT_MOL: f64 = 1e-12;

/// A condition of a mode.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Guard {
    /// A condenser stays on its side of saturation at the coil.
    Condense(usize),
    /// A curve (0 CO2, 1 water) stays above the lower end (`false`) or below the upper end (`true`) of its piece.
    Piece(usize, usize, bool),
    /// A film stays wet, or stays dry.
    Film(usize),
    /// A valve stays open (its flow is positive) or closed (what it keeps is above its hold).
    Valve(usize),
    /// A bulk flow keeps its direction.
    Edge(usize),
    /// The oxygen of an occupied compartment stays above the floor.
    Floor(usize),
    /// A species does not run out.
    Empty(usize, usize),
}

/// The conditions of a mode at a state: each with its value and what of it counts as rounding.
pub fn guards(model: &Model, mode: &Mode, x: &[f64], flows: &Flows, out: &mut Vec<(Guard, f64, f64)>) {
    out.clear();
    let case = model.case;
    let flow_eps = FLOW * flows.size + 1e-22;
    for (k, device) in case.devices.iter().enumerate() {
        if !mode.on[k] {
            continue;
        }
        match &device.removal {
            Removal::FlowThrough { .. } => {}
            Removal::Sorbent { .. } | Removal::SwingBed(_) => panic!("this reference has no beds: see `hardware`"),
            Removal::Condenser { coil_saturation_pa, .. } => {
                let above = model.partial_pa(x, device.serves, 1) - coil_saturation_pa;
                out.push((
                    Guard::Condense(k),
                    if mode.condensing[k] { above } else { -above },
                    PRESSURE_PA,
                ));
            }
            Removal::Curve { co2, water } => {
                for (which, points) in [co2, water].into_iter().enumerate() {
                    let (p, piece) = (model.partial_pa(x, device.serves, which), mode.piece[k][which]);
                    if piece > 0 {
                        out.push((Guard::Piece(k, which, false), p - points[piece - 1].0, PRESSURE_PA));
                    }
                    if piece < points.len() {
                        out.push((Guard::Piece(k, which, true), points[piece].0 - p, PRESSURE_PA));
                    }
                }
            }
        }
    }
    for (k, &(a, number)) in model.surfaces.iter().enumerate() {
        if mode.wet[k] {
            out.push((Guard::Film(k), x[model.liquid + k], AMOUNT_MOL));
        } else {
            let below = case.compartments[a].surfaces[number].saturation_pa - model.partial_pa(x, a, 1);
            out.push((Guard::Film(k), below, PRESSURE_PA));
        }
    }
    for v in 0..model.valves.len() {
        if mode.valve[v] {
            out.push((Guard::Valve(v), flows.valve[v], flow_eps));
        } else if mode.governs[v] {
            out.push((
                Guard::Valve(v),
                model.kept_pa(x, v) - model.valves[v].hold_pa,
                PRESSURE_PA,
            ));
        }
    }
    for e in 0..mode.network.edges.len() {
        let flow = if mode.forward[e] { flows.bulk[e] } else { -flows.bulk[e] };
        out.push((Guard::Edge(e), flow, flow_eps));
    }
    for a in 0..case.compartments.len() {
        if mode.place.contains(&Some(a)) {
            out.push((
                Guard::Floor(a),
                model.partial_pa(x, a, 2) - case.oxygen_floor_pa,
                PRESSURE_PA,
            ));
        }
        for species in 0..4 {
            out.push((Guard::Empty(a, species), x[4 * a + species], AMOUNT_MOL));
        }
    }
}

/// Sets what the state alone decides: condensers, pieces of curves, films. At a bound the present setting is kept.
pub fn place(model: &Model, mode: &mut Mode, x: &[f64]) {
    let case = model.case;
    for (k, device) in case.devices.iter().enumerate() {
        match &device.removal {
            Removal::FlowThrough { .. } => {}
            Removal::Sorbent { .. } | Removal::SwingBed(_) => panic!("this reference has no beds: see `hardware`"),
            Removal::Condenser { coil_saturation_pa, .. } => {
                let above = model.partial_pa(x, device.serves, 1) - coil_saturation_pa;
                if above.abs() > PRESSURE_PA {
                    mode.condensing[k] = above > 0.0;
                }
            }
            Removal::Curve { co2, water } => {
                for (which, points) in [co2, water].into_iter().enumerate() {
                    let p = model.partial_pa(x, device.serves, which);
                    let now = mode.piece[k][which];
                    let low = if now == 0 { f64::NEG_INFINITY } else { points[now - 1].0 };
                    let high = points.get(now).map_or(f64::INFINITY, |q| q.0);
                    if p < low - PRESSURE_PA || p > high + PRESSURE_PA {
                        mode.piece[k][which] = points.iter().filter(|q| p >= q.0).count();
                    }
                }
            }
        }
    }
    for (k, &(a, number)) in model.surfaces.iter().enumerate() {
        let above = model.partial_pa(x, a, 1) - case.compartments[a].surfaces[number].saturation_pa;
        if x[model.liquid + k] > AMOUNT_MOL || above > PRESSURE_PA {
            mode.wet[k] = true;
        } else if above < -PRESSURE_PA {
            mode.wet[k] = false;
        }
    }
}

/// Which valves act: of several pressure holds in one group the highest, the first of equals.
pub fn govern(model: &Model, mode: &mut Mode) {
    let valves = &model.valves;
    for v in 0..valves.len() {
        let group = |w: usize| mode.network.group[valves[w].compartment];
        let rivals = || (0..valves.len()).filter(|&w| valves[w].gas == Gas::Diluent && group(w) == group(v));
        mode.governs[v] = valves[v].gas == Gas::Oxygen
            || !rivals()
                .any(|w| valves[w].hold_pa > valves[v].hold_pa || (w < v && valves[w].hold_pa >= valves[v].hold_pa));
    }
}
