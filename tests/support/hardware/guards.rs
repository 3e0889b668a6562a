//! What must stay positive while a mode holds, and what becomes of the mode where it does not; and the valves, suits and
//! directions of flow that are consistent at an instant.

use breathroom_sim::air::{Place, Regulation};
use breathroom_sim::removal::Removal;

use super::columns::{Solved, Unknown};
use super::laws::{LAMINAR, Law, critical};
use super::mode::{How, Mode, Regulator, Valving, What};
use super::plant::Plant;
use super::rates::rates;

/// Tolerance of a pressure at a bound, Pa.
const PRESSURE: f64 = 1e-9;
/// Tolerance of an amount at zero, mol.
const AMOUNT: f64 = 1e-12;
/// Tolerance of a pressure ratio at a bound.
const RATIO: f64 = 1e-12;
/// A quantity within this part of its set point is at it; a valve that rests there may let it sink by half of that.
const AT_SET: f64 = 2e-11;

/// A condition of a mode.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Guard {
    /// A device's law for a species stays above the lower (`false`) or below the upper end (`true`) of its piece.
    Piece(usize, usize, bool),
    Film(usize),
    /// A valve does what it does; `true`: it could not do more.
    Valve(usize, bool),
    Suit(usize),
    Edge(usize),
    /// An orifice's pressure ratio stays above the lower or below the upper end of its law.
    Hole(usize, bool),
    Relief(usize),
    /// A transfer has not come to its end.
    Transfer(usize),
    /// A ramp's flow is not negative.
    Ramp(usize),
    Tank(usize),
    Reserve(usize),
    /// A person's breathed oxygen stays above the floor.
    Floor(usize),
    Empty(usize, usize),
}

/// The pressure (or difference) that a transfer watches, Pa.
pub fn watched(plant: &Plant, what: &What, x: &[f64]) -> f64 {
    match *what {
        What::Vent { room } | What::Fill { room, .. } => plant.total(x, room),
        What::Equalise { between: [one, other] } => plant.total_at(x, one) - plant.total_at(x, other),
    }
}

/// Where a proportional valve comes to its most, Pa.
fn saturated(set_pa: f64, by: Regulation) -> f64 {
    match by {
        Regulation::Proportional {
            gain_mol_s_pa,
            most_mol_s,
        } => set_pa - most_mol_s / gain_mol_s_pa,
        _ => set_pa,
    }
}

/// Where a resting valve begins to let gas in, Pa.
fn begins(set_pa: f64, by: Regulation) -> f64 {
    match by {
        Regulation::Band { width_pa, .. } => set_pa - width_pa,
        _ => set_pa,
    }
}

/// The conditions of a mode at a state: each with its value and what of it counts as rounding.
pub fn guards(plant: &Plant, mode: &Mode, x: &[f64], solved: &Solved, out: &mut Vec<(Guard, f64, f64)>) {
    out.clear();
    let case = plant.case;
    for (k, device) in case.devices.iter().enumerate() {
        match &device.removal {
            Removal::Condenser { coil_saturation_pa, .. } => {
                let above = plant.partial(x, device.serves, 1) - coil_saturation_pa;
                let up = mode.piece[k][1] == 0;
                out.push((Guard::Piece(k, 1, up), if up { -above } else { above }, PRESSURE));
            }
            Removal::Curve { co2, water } => {
                for (which, points) in [co2, water].into_iter().enumerate() {
                    let (p, piece) = (plant.partial(x, device.serves, which), mode.piece[k][which]);
                    if piece > 0 {
                        out.push((Guard::Piece(k, which, false), p - points[piece - 1].0, PRESSURE));
                    }
                    if piece < points.len() {
                        out.push((Guard::Piece(k, which, true), points[piece].0 - p, PRESSURE));
                    }
                }
            }
            Removal::FlowThrough { .. } | Removal::Sorbent { .. } | Removal::SwingBed(_) => {}
        }
    }
    for (k, &(a, _)) in plant.surfaces.iter().enumerate() {
        if mode.wet[k] {
            out.push((Guard::Film(k), x[plant.liquid + k], AMOUNT));
        } else {
            let below = plant.surface_saturation(x, k) - plant.partial(x, a, 1);
            out.push((Guard::Film(k), below, PRESSURE));
        }
    }
    for (v, valve) in plant.valves.iter().enumerate().filter(|&(v, _)| mode.acts[v]) {
        let (q, flow) = (plant.kept(x, v), solved.of(Unknown::Valve(v)));
        match mode.valve[v] {
            Valving::Rest => {
                let begins = begins(valve.set_pa, valve.by);
                out.push((Guard::Valve(v, false), q - begins, 0.5 * AT_SET * begins));
            }
            Valving::Keep => {
                out.push((Guard::Valve(v, false), flow, solved.eps));
                if let Regulation::Limited { most_mol_s } = valve.by {
                    out.push((Guard::Valve(v, true), most_mol_s - flow, solved.eps));
                }
            }
            Valving::Linear => {
                out.push((Guard::Valve(v, false), valve.set_pa - q, PRESSURE));
                out.push((Guard::Valve(v, true), q - saturated(valve.set_pa, valve.by), PRESSURE));
            }
            Valving::Full => out.push((Guard::Valve(v, false), saturated(valve.set_pa, valve.by) - q, PRESSURE)),
        }
    }
    for s in (0..case.suits.len()).filter(|&s| plant.closed(mode, s)) {
        let suit = plant.case.suits[s].compartment;
        match mode.regulator[s] {
            Regulator::Starved => {
                let lacking = plant.suit_target(mode, x, s) - plant.total(x, suit);
                out.push((Guard::Suit(s), lacking, PRESSURE));
            }
            _ => out.push((Guard::Suit(s), solved.of(Unknown::Suit(s)), solved.eps)),
        }
    }
    for (e, edge) in mode.edges.iter().enumerate() {
        let along = if edge.forward { solved.bulk[e] } else { -solved.bulk[e] };
        out.push((Guard::Edge(e), along, solved.eps));
    }
    for (h, hole) in mode.holes.iter().enumerate() {
        let (ratio, g) = hole.ratio(plant, x);
        let (low, high) = match hole.law {
            Law::Choked => (f64::NEG_INFINITY, critical(g)),
            Law::Subsonic => (critical(g), LAMINAR),
            Law::Laminar => (LAMINAR, 1.0),
        };
        if low.is_finite() {
            out.push((Guard::Hole(h, false), ratio - low, RATIO));
        }
        out.push((Guard::Hole(h, true), high - ratio, RATIO));
    }
    for (a, c) in case.compartments.iter().enumerate() {
        if let (Some(relief), false) = (c.relief, mode.vacuum[a]) {
            let total = plant.total(x, a);
            let within = if mode.relief[a] {
                total - relief.closes_pa
            } else {
                relief.opens_pa - total
            };
            out.push((Guard::Relief(a), within, PRESSURE));
        }
        for s in (0..4).filter(|_| !mode.vacuum[a]) {
            out.push((Guard::Empty(a, s), x[4 * a + s], AMOUNT));
        }
    }
    for (k, transfer) in mode.transfers.iter().enumerate() {
        if let Some((until_pa, falls)) = transfer.until_pa {
            let left = watched(plant, &transfer.what, x) - until_pa;
            out.push((Guard::Transfer(k), if falls { left } else { -left }, 0.0));
        }
        if let How::Ramp { .. } = transfer.how {
            out.push((Guard::Ramp(k), solved.of(Unknown::Ramp(k)), 1e3 * solved.eps));
        }
    }
    for (t, tank) in case.tanks.iter().enumerate() {
        if !mode.dry[t] {
            out.push((Guard::Tank(t), plant.left(x, t) - tank.residue_mol, 0.0));
        }
        if !mode.reserve[t] {
            out.push((Guard::Reserve(t), plant.left(x, t) - tank.reserve_mol, AMOUNT));
        }
    }
    for p in 0..case.people.len() {
        if let Some(a) = plant.breathes(mode, p) {
            out.push((Guard::Floor(p), plant.partial(x, a, 2) - case.oxygen_floor_pa, PRESSURE));
        }
    }
}

/// Turns what a condition is about over; the other conditions are for the run.
pub fn turn(plant: &Plant, mode: &mut Mode, x: &mut [f64], guard: Guard) {
    match guard {
        Guard::Piece(k, which, true) => mode.piece[k][which] += 1,
        Guard::Piece(k, which, false) => mode.piece[k][which] -= 1,
        Guard::Film(k) => {
            if mode.wet[k] {
                x[plant.liquid + k] = 0.0;
            }
            mode.wet[k] = !mode.wet[k];
        }
        Guard::Valve(v, more) => {
            mode.valve[v] = match (mode.valve[v], plant.valves[v].by, more) {
                (Valving::Rest, Regulation::Ideal | Regulation::Limited { .. }, _) => Valving::Keep,
                (Valving::Rest, Regulation::Band { .. }, _) => Valving::Full,
                (Valving::Rest, Regulation::Proportional { .. }, _) => Valving::Linear,
                (Valving::Full, Regulation::Limited { .. }, _) => Valving::Keep,
                (Valving::Full, Regulation::Proportional { .. }, _) => Valving::Linear,
                (Valving::Full, _, _) | (_, _, false) => Valving::Rest,
                (_, _, true) => Valving::Full,
            }
        }
        Guard::Suit(s) => {
            let dry = plant.suit_source(mode, s).is_some_and(|t| mode.dry[t]);
            mode.regulator[s] = match mode.regulator[s] {
                Regulator::Feed | Regulator::Starved => Regulator::Relieve,
                Regulator::Relieve if dry => Regulator::Starved,
                Regulator::Relieve => Regulator::Feed,
            }
        }
        Guard::Edge(e) => mode.edges[e].forward = !mode.edges[e].forward,
        Guard::Hole(h, up) => {
            let hole = &mut mode.holes[h];
            match (hole.law, up) {
                (Law::Choked, _) | (Law::Laminar, false) => hole.law = Law::Subsonic,
                (Law::Subsonic, true) => hole.law = Law::Laminar,
                (Law::Subsonic, false) => hole.law = Law::Choked,
                (Law::Laminar, true) => hole.forward = !hole.forward,
            }
        }
        Guard::Relief(a) => {
            mode.relief[a] = !mode.relief[a];
            mode.drill(plant, x);
        }
        other => panic!("{other:?} is not turned over"),
    }
}

/// Sets what the state alone decides: pieces of laws, films, relief valves, tanks, and valves away from their set points.
pub fn place(plant: &Plant, mode: &mut Mode, x: &[f64]) {
    let case = plant.case;
    for (k, device) in case.devices.iter().enumerate() {
        let p = |which: usize| plant.partial(x, device.serves, which);
        match &device.removal {
            Removal::Condenser { coil_saturation_pa, .. } => {
                mode.piece[k][1] = usize::from(p(1) > *coil_saturation_pa);
            }
            Removal::Curve { co2, water } => {
                for (which, points) in [co2, water].into_iter().enumerate() {
                    mode.piece[k][which] = points.iter().filter(|q| p(which) >= q.0).count();
                }
            }
            Removal::FlowThrough { .. } | Removal::Sorbent { .. } | Removal::SwingBed(_) => {}
        }
    }
    for (k, &(a, _)) in plant.surfaces.iter().enumerate() {
        let above = plant.partial(x, a, 1) - plant.surface_saturation(x, k);
        if x[plant.liquid + k] > AMOUNT || above > PRESSURE {
            mode.wet[k] = true;
        } else if above < -PRESSURE {
            mode.wet[k] = false;
        }
    }
    for (a, c) in case.compartments.iter().enumerate() {
        if let Some(relief) = c.relief {
            let total = plant.total(x, a);
            mode.relief[a] = total >= relief.opens_pa || (mode.relief[a] && total > relief.closes_pa);
        }
    }
    for s in 0..case.suits.len() {
        let inside = matches!(plant.worn(mode, s).1, Place::Compartment(a) if !mode.vacuum[a]);
        mode.umbilical[s] = case.suits[s].supply.is_some() && inside;
        let short = plant.suit_target(mode, x, s) - plant.total(x, case.suits[s].compartment);
        let dry = plant.suit_source(mode, s).is_some_and(|t| mode.dry[t]);
        let fed = if dry { Regulator::Starved } else { Regulator::Feed };
        mode.regulator[s] = if short > 1e-6 { fed } else { mode.regulator[s] };
        if dry && mode.regulator[s] == Regulator::Feed || !dry && mode.regulator[s] == Regulator::Starved {
            mode.regulator[s] = fed;
        }
    }
    govern(plant, mode);
    for (v, valve) in plant.valves.iter().enumerate() {
        let q = plant.kept(x, v);
        let low = q < valve.set_pa * (1.0 - AT_SET);
        let at = !low && q <= valve.set_pa * (1.0 + AT_SET);
        mode.valve[v] = match (valve.by, mode.valve[v]) {
            _ if !mode.acts[v] => Valving::Rest,
            (Regulation::Band { width_pa, .. }, _) if q <= valve.set_pa - width_pa => Valving::Full,
            (Regulation::Band { .. }, now) if low => now,
            (Regulation::Band { .. }, _) => Valving::Rest,
            (Regulation::Proportional { .. }, _) if q < saturated(valve.set_pa, valve.by) => Valving::Full,
            (Regulation::Proportional { .. }, _) if q < valve.set_pa => Valving::Linear,
            (Regulation::Proportional { .. }, _) => Valving::Rest,
            (Regulation::Limited { .. }, _) if low => Valving::Full,
            (Regulation::Ideal, _) if low => panic!("an ideal hold lacks something"),
            (_, now) if at => now,
            _ => Valving::Rest,
        };
    }
    mode.drill(plant, x);
}

/// Which valves may work: of several pressure holds of one group the highest, the first of equals; none where holds rest, or
/// whose tank is dry.
pub fn govern(plant: &Plant, mode: &mut Mode) {
    let valves = &plant.valves;
    for v in 0..valves.len() {
        let members = mode.members(valves[v].room);
        let first = |w: usize| {
            let (a, b) = (valves[w].set_pa, valves[v].set_pa);
            !valves[w].oxygen
                && !valves[w].tank.is_some_and(|t| mode.dry[t])
                && members.contains(&valves[w].room)
                && (a > b || (a >= b && w < v))
        };
        mode.acts[v] = (valves[v].oxygen || !(0..valves.len()).any(first))
            && !members.iter().any(|&b| mode.resting[b] || mode.vacuum[b])
            && !valves[v].tank.is_some_and(|t| mode.dry[t]);
    }
}

/// Turns over valves at their set points, suits' regulators and directions of bulk flow until they are consistent.
pub fn settle(plant: &Plant, mode: &mut Mode, x: &mut [f64]) {
    let mut d = vec![0.0; plant.len];
    let mut said = None;
    for _ in 0..500 {
        let solved = rates(plant, mode, x, &mut d);
        said = wrong(plant, mode, x, &solved);
        match said {
            None => return,
            Some(guard) => turn(plant, mode, x, guard),
        }
    }
    panic!("the reference found no consistent mode: {said:?}, {mode:?}");
}

fn wrong(plant: &Plant, mode: &Mode, x: &[f64], solved: &Solved) -> Option<Guard> {
    for (v, valve) in plant.valves.iter().enumerate().filter(|&(v, _)| mode.acts[v]) {
        let limit = match valve.by {
            Regulation::Ideal => f64::INFINITY,
            Regulation::Limited { most_mol_s } => most_mol_s,
            _ => continue,
        };
        let (flow, slope) = (solved.of(Unknown::Valve(v)), solved.slope[v]);
        let at = (plant.kept(x, v) / valve.set_pa - 1.0).abs() <= AT_SET;
        let off = match mode.valve[v] {
            Valving::Keep if flow < -solved.eps => Some(false),
            Valving::Keep if flow > limit + solved.eps => Some(true),
            Valving::Rest if at && slope < -solved.eps => Some(true),
            Valving::Full if at && slope > solved.eps => Some(false),
            _ => None,
        };
        if let Some(more) = off {
            return Some(Guard::Valve(v, more));
        }
    }
    for s in (0..plant.case.suits.len()).filter(|&s| plant.closed(mode, s)) {
        if mode.regulator[s] != Regulator::Starved && solved.of(Unknown::Suit(s)) < -solved.eps {
            return Some(Guard::Suit(s));
        }
    }
    for (e, edge) in mode.edges.iter().enumerate() {
        let along = if edge.forward { solved.bulk[e] } else { -solved.bulk[e] };
        if along < -solved.eps {
            return Some(Guard::Edge(e));
        }
    }
    None
}

/// The compartment and species, or the person, that a run ended by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stop {
    /// At the duration.
    Completed,
    /// This person's breathed oxygen went under the floor, in this compartment.
    OxygenFloor(usize, usize),
    /// A species ran out in this compartment.
    Exhausted(usize, usize),
}

/// Both sides of an opening, as compartments.
pub fn rooms_of(between: [Place; 2]) -> impl Iterator<Item = usize> {
    between.into_iter().filter_map(|place| match place {
        Place::Compartment(a) => Some(a),
        Place::Outside => None,
    })
}
