//! The equations: from a state and a mode to rates.
//!
//! State: amounts (mol) by compartment and species; liquid (mol) by surface; towel water (mol) by compartment; oxygen
//! use, CO2 output (mol/s) and the sweat lag's parts (mol/s) by person; then pure integrals: the ledger and one integral
//! for each rule.

use breathroom_sim::air::{GAS_CONSTANT_J_MOL_K, Place};
use breathroom_sim::crew::{SWEAT_TAU_S, SWEAT_WEIGHTS};
use breathroom_sim::engine::Case;
use breathroom_sim::limits::{Quantity, Subject};
use breathroom_sim::removal::Removal;

use super::mode::{Gas, Mode, Valve};
use super::network::{capacity_mol_pa, solve};

/// Time constants of the sweat lag, s, and the weight of each.
const SWEAT: [(f64, f64); 2] = [(SWEAT_TAU_S[0], SWEAT_WEIGHTS[0]), (SWEAT_TAU_S[1], SWEAT_WEIGHTS[1])];
/// Molar mass of water, kg/mol.
const WATER_KG_MOL: f64 = 0.018_015_28;
/// 47 mmHg, Pa.
const BODY_VAPOUR_PA: f64 = 47.0 * 133.322;
/// Lines of the ledger.
pub const LINES: usize = 17;

/// What went where over the run, in mol (heat in J).
#[derive(Clone, Copy, Debug, Default)]
pub struct Ledger {
    /// CO2 given off inside.
    pub co2_made: f64,
    /// CO2 taken by devices.
    pub co2_removed: f64,
    /// Vapour given off inside, without towels.
    pub vapour_made: f64,
    /// Vapour given off by towels.
    pub towel_dried: f64,
    /// Water taken by devices.
    pub water_removed: f64,
    /// Runoff of people inside.
    pub runoff: f64,
    /// Part of the runoff that went into towels.
    pub runoff_towel: f64,
    /// Net condensation on surfaces.
    pub condensed: f64,
    /// Oxygen used inside.
    pub oxygen_used: f64,
    /// Oxygen added by holds.
    pub oxygen_supplied: f64,
    /// Diluent added by holds.
    pub diluent_supplied: f64,
    /// Sensible heat of people inside, J.
    pub sensible_j: f64,
    /// Latent heat of people inside, J.
    pub latent_j: f64,
    /// Lost through leaks and openings to outside, by species.
    pub leaked: [f64; 4],
}

impl Ledger {
    pub(super) fn from_lines(l: &[f64]) -> Self {
        Self {
            co2_made: l[0],
            co2_removed: l[1],
            vapour_made: l[2],
            towel_dried: l[3],
            water_removed: l[4],
            runoff: l[5],
            runoff_towel: l[6],
            condensed: l[7],
            oxygen_used: l[8],
            oxygen_supplied: l[9],
            diluent_supplied: l[10],
            sensible_j: l[11],
            latent_j: l[12],
            leaked: [l[13], l[14], l[15], l[16]],
        }
    }
}

/// Flows that are not rates of a state.
#[derive(Clone, Copy, Debug)]
pub struct Flows {
    /// Of each valve, mol/s.
    pub valve: [f64; 16],
    /// Of each edge of the network, from its first to its second end, mol/s.
    pub bulk: [f64; 16],
    /// Rate of change of what each valve keeps, mol/s in its compartment or group.
    pub slope: [f64; 16],
    /// Sum of all productions without sign, mol/s: what counts as rounding is told by it.
    pub size: f64,
}

/// A case with the places of its states.
#[derive(Debug)]
pub struct Model<'a> {
    pub case: &'a Case,
    /// Compartment and number in it of every surface.
    pub surfaces: Vec<(usize, usize)>,
    pub valves: Vec<Valve>,
    pub liquid: usize,
    pub towel: usize,
    pub person: usize,
    /// Number of states that feed back.
    pub core: usize,
    pub integral: usize,
    pub len: usize,
}

/// States of a person.
pub const PER_PERSON: usize = 2 + SWEAT.len();

impl<'a> Model<'a> {
    pub fn new(case: &'a Case) -> Self {
        let count = case.compartments.len();
        let surfaces: Vec<(usize, usize)> = (0..count)
            .flat_map(|a| (0..case.compartments[a].surfaces.len()).map(move |s| (a, s)))
            .collect();
        let mut valves = Vec::new();
        for hold in &case.holds {
            if let Some(hold_pa) = hold.oxygen_pa {
                valves.push(Valve {
                    compartment: hold.compartment,
                    gas: Gas::Oxygen,
                    hold_pa,
                });
            }
            if let Some(hold_pa) = hold.pressure_pa {
                valves.push(Valve {
                    compartment: hold.compartment,
                    gas: Gas::Diluent,
                    hold_pa,
                });
            }
        }
        let liquid = 4 * count;
        let towel = liquid + surfaces.len();
        let person = towel + count;
        let core = person + PER_PERSON * case.people.len();
        let integral = core + LINES;
        assert!(valves.len() <= 16 && case.openings.len() <= 16);
        Self {
            case,
            surfaces,
            valves,
            liquid,
            towel,
            person,
            core,
            integral,
            len: integral + case.rules.len(),
        }
    }

    /// Partial pressure, Pa.
    pub fn partial_pa(&self, x: &[f64], a: usize, species: usize) -> f64 {
        x[4 * a + species] / capacity_mol_pa(self.case, a)
    }

    /// Total pressure, Pa.
    pub fn total_pa(&self, x: &[f64], a: usize) -> f64 {
        x[4 * a..4 * a + 4].iter().sum::<f64>() / capacity_mol_pa(self.case, a)
    }

    /// Value that a valve keeps, Pa.
    pub fn kept_pa(&self, x: &[f64], v: usize) -> f64 {
        let valve = &self.valves[v];
        match valve.gas {
            Gas::Oxygen => self.partial_pa(x, valve.compartment, 2),
            Gas::Diluent => self.total_pa(x, valve.compartment),
        }
    }

    /// Liquid on the surfaces and in the towels of a compartment, kg.
    pub fn liquid_kg(&self, x: &[f64], a: usize) -> f64 {
        let films: f64 = (0..self.surfaces.len())
            .filter(|&s| self.surfaces[s].0 == a)
            .map(|s| x[self.liquid + s])
            .sum();
        (films + x[self.towel + a]) * WATER_KG_MOL
    }

    /// A quantity of the air of a compartment, in its SI unit.
    pub fn quantity(&self, x: &[f64], a: usize, quantity: Quantity) -> f64 {
        let total = self.total_pa(x, a);
        let part = |s| self.partial_pa(x, a, s);
        match quantity {
            Quantity::Co2 => part(0),
            Quantity::Humidity => part(1) / self.case.compartments[a].saturation_pa,
            Quantity::Oxygen => part(2),
            Quantity::OxygenFraction => part(2) / (total - part(1)),
            Quantity::InspiredOxygen => (total - BODY_VAPOUR_PA) * part(2) / (total - part(1)),
            Quantity::Pressure => total,
            Quantity::Temperature => self.case.compartments[a].temperature_k,
            Quantity::LiquidWater => self.liquid_kg(x, a),
            other => panic!("the reference has no {other:?}"),
        }
    }

    /// The states that a quantity of a compartment depends on.
    pub fn needed(&self, a: usize, quantity: Quantity, f: &mut dyn FnMut(usize)) {
        (4 * a..4 * a + 4).for_each(&mut *f);
        if quantity == Quantity::LiquidWater {
            (0..self.surfaces.len())
                .filter(|&s| self.surfaces[s].0 == a)
                .for_each(|s| f(self.liquid + s));
            f(self.towel + a);
        }
    }

    /// Compartment that a rule is about now.
    pub fn subject(place: &[Option<usize>], subject: Subject) -> Option<usize> {
        match subject {
            Subject::Person(p) => place[p],
            Subject::Compartment(a) => Some(a),
            Subject::Tank(_) => None,
        }
    }

    /// Output of a person now: oxygen used, CO2, vapour, mol/s.
    pub fn output(&self, mode: &Mode, x: &[f64], p: usize) -> [f64; 3] {
        let at = self.person + PER_PERSON * p;
        let load = &mode.load[p];
        let lagged = self.case.people[p].gas_lag_s > 0.0;
        let vapour = if mode.sweat_lag[p] {
            SWEAT
                .iter()
                .enumerate()
                .map(|(j, &(_, weight))| weight * x[at + 2 + j])
                .sum()
        } else {
            load.vapour_mol_s
        };
        if lagged {
            [x[at], x[at + 1], vapour]
        } else {
            [load.oxygen_mol_s, load.co2_mol_s, vapour]
        }
    }

    /// Productions by compartment and species without valves and bulk flow; fills the rates of all other states.
    fn base(&self, mode: &Mode, x: &[f64], d: &mut [f64]) -> [[f64; 4]; 8] {
        let case = self.case;
        let mut s = [[0.0; 4]; 8];
        d.fill(0.0);
        let line = self.core;
        for (p, who) in case.people.iter().enumerate() {
            let (at, load) = (self.person + PER_PERSON * p, &mode.load[p]);
            if who.gas_lag_s > 0.0 {
                d[at] = (load.oxygen_mol_s - x[at]) / who.gas_lag_s;
                d[at + 1] = (load.co2_mol_s - x[at + 1]) / who.gas_lag_s;
            }
            if mode.sweat_lag[p] {
                for (j, &(tau_s, _)) in SWEAT.iter().enumerate() {
                    d[at + 2 + j] = (load.vapour_mol_s - x[at + 2 + j]) / tau_s;
                }
            }
            let Some(a) = mode.place[p] else { continue };
            let [oxygen, co2, vapour] = self.output(mode, x, p);
            s[a][0] += co2;
            s[a][1] += vapour;
            s[a][2] -= oxygen;
            d[line] += co2;
            d[line + 2] += vapour;
            d[line + 5] += load.runoff_mol_s;
            d[line + 8] += oxygen;
            d[line + 11] += load.sensible_w;
            d[line + 12] += load.latent_w;
            if mode.towel[p] {
                d[self.towel + a] += load.runoff_mol_s;
                d[line + 6] += load.runoff_mol_s;
            }
        }
        for a in 0..case.compartments.len() {
            if case.towel_drying_s > 0.0 {
                let dried = x[self.towel + a] / case.towel_drying_s;
                d[self.towel + a] -= dried;
                s[a][1] += dried;
                d[line + 3] += dried;
            }
            let c = &case.compartments[a];
            for species in 0..4 {
                let lost = c.leak_m3_s * x[4 * a + species] / c.volume_m3;
                s[a][species] -= lost;
                d[line + 13 + species] += lost;
            }
        }
        self.devices(mode, x, &mut s, d);
        for (k, &(a, number)) in self.surfaces.iter().enumerate() {
            if mode.wet[k] {
                let surface = &case.compartments[a].surfaces[number];
                let rate = surface.conductance_mol_s_pa * (self.partial_pa(x, a, 1) - surface.saturation_pa);
                s[a][1] -= rate;
                d[self.liquid + k] += rate;
                d[line + 7] += rate;
            }
        }
        for (o, opening) in case.openings.iter().enumerate() {
            if !mode.open[o] {
                continue;
            }
            let side = |place: Place, species: usize| match place {
                Place::Compartment(a) => (self.partial_pa(x, a, species), case.compartments[a].temperature_k),
                Place::Outside => (case.outside.partial_pa[species], case.outside.temperature_k),
            };
            for species in 0..4 {
                let ((pa, ta), (pb, tb)) = (side(opening.between[0], species), side(opening.between[1], species));
                // A vacuum has no temperature: what leaves has that of the room.
                let (ta, tb) = (if ta > 0.0 { ta } else { tb }, if tb > 0.0 { tb } else { ta });
                let rate = opening.exchange_m3_s * (pa - pb) / (GAS_CONSTANT_J_MOL_K * (ta + tb) / 2.0);
                for (place, gain) in [(opening.between[0], -rate), (opening.between[1], rate)] {
                    match place {
                        Place::Compartment(a) => s[a][species] += gain,
                        Place::Outside => d[line + 13 + species] += gain,
                    }
                }
            }
        }
        s
    }

    fn devices(&self, mode: &Mode, x: &[f64], s: &mut [[f64; 4]; 8], d: &mut [f64]) {
        for (k, device) in self.case.devices.iter().enumerate() {
            if !mode.on[k] {
                continue;
            }
            let (a, factor) = (device.serves, mode.factor[k]);
            let c = &self.case.compartments[a];
            let [co2, water] = match &device.removal {
                Removal::FlowThrough {
                    flow_m3_s,
                    co2_efficiency,
                    water_efficiency,
                } => [
                    factor * co2_efficiency * flow_m3_s * x[4 * a] / c.volume_m3,
                    factor * water_efficiency * flow_m3_s * x[4 * a + 1] / c.volume_m3,
                ],
                Removal::Condenser {
                    flow_m3_s,
                    bypass,
                    coil_saturation_pa,
                    ..
                } if mode.condensing[k] => {
                    let above = self.partial_pa(x, a, 1) - coil_saturation_pa;
                    [
                        0.0,
                        factor * flow_m3_s * (1.0 - bypass) * above / (GAS_CONSTANT_J_MOL_K * c.temperature_k),
                    ]
                }
                Removal::Condenser { .. } => [0.0; 2],
                Removal::Sorbent { .. } | Removal::SwingBed(_) => panic!("this reference has no beds: see `hardware`"),
                Removal::Curve { co2, water } => [
                    factor * along(co2, mode.piece[k][0], self.partial_pa(x, a, 0)),
                    factor * along(water, mode.piece[k][1], self.partial_pa(x, a, 1)),
                ],
            };
            s[a][0] -= co2;
            s[a][1] -= water;
            d[self.core + 1] += co2;
            d[self.core + 4] += water;
        }
    }

    /// Adds to `dn` what bulk flow moves while the compartments make `made` mol/s; returns the flows.
    pub fn bulk(&self, mode: &Mode, x: &[f64], made: &[f64; 8], dn: &mut [f64]) -> [f64; 16] {
        let mut flows = [0.0; 16];
        for (e, &(_, i, j)) in mode.network.edges.iter().enumerate() {
            let flow: f64 = (0..self.case.compartments.len())
                .map(|a| mode.network.share[e][a] * made[a])
                .sum();
            flows[e] = flow;
            let up = if mode.forward[e] { i } else { j };
            let all: f64 = x[4 * up..4 * up + 4].iter().sum();
            for species in 0..4 {
                let moved = if all > 0.0 {
                    flow * x[4 * up + species] / all
                } else {
                    0.0
                };
                dn[4 * i + species] -= moved;
                dn[4 * j + species] += moved;
            }
        }
        flows
    }

    /// Opens the valves so that what each keeps changes at `target` (mol/s); `base` are all other productions.
    ///
    /// Everything is affine in the valves' flows at a fixed state and direction of bulk flows, so one small system is
    /// solved.
    pub fn valves(&self, mode: &Mode, x: &[f64], base: &[[f64; 4]; 8], target: &[f64], dn: &mut [f64]) -> Flows {
        let count = self.case.compartments.len();
        let active: Vec<usize> = (0..self.valves.len()).filter(|&v| mode.valve[v]).collect();
        let species = |v: usize| if self.valves[v].gas == Gas::Oxygen { 2 } else { 3 };
        let kept = |v: usize, dn: &[f64]| {
            let a = self.valves[v].compartment;
            match self.valves[v].gas {
                Gas::Oxygen => dn[4 * a + 2],
                Gas::Diluent => (0..count)
                    .filter(|&b| mode.network.group[b] == mode.network.group[a])
                    .map(|b| dn[4 * b..4 * b + 4].iter().sum::<f64>())
                    .sum(),
            }
        };
        let mut made = [0.0; 8];
        let mut size = 0.0;
        for a in 0..count {
            for s in 0..4 {
                dn[4 * a + s] = base[a][s];
                made[a] += base[a][s];
                size += base[a][s].abs();
            }
        }
        let mut bulk = self.bulk(mode, x, &made, dn);
        let mut flows = Flows {
            valve: [0.0; 16],
            bulk,
            slope: [0.0; 16],
            size,
        };
        if !active.is_empty() {
            let mut rhs: Vec<f64> = active.iter().map(|&v| target[v] - kept(v, dn)).collect();
            let mut matrix = vec![vec![0.0; active.len()]; active.len()];
            let mut columns = Vec::with_capacity(active.len());
            for (k, &v) in active.iter().enumerate() {
                let mut column = vec![0.0; 4 * count];
                let mut unit = [0.0; 8];
                unit[self.valves[v].compartment] = 1.0;
                column[4 * self.valves[v].compartment + species(v)] = 1.0;
                let spread = self.bulk(mode, x, &unit, &mut column);
                for (row, &w) in active.iter().enumerate() {
                    matrix[row][k] = kept(w, &column);
                }
                columns.push((column, spread));
            }
            solve(&mut matrix, &mut rhs);
            for (k, &v) in active.iter().enumerate() {
                flows.valve[v] = rhs[k];
                for i in 0..4 * count {
                    dn[i] += rhs[k] * columns[k].0[i];
                }
                for e in 0..16 {
                    bulk[e] += rhs[k] * columns[k].1[e];
                }
            }
            flows.bulk = bulk;
        }
        for v in 0..self.valves.len() {
            flows.slope[v] = kept(v, dn);
        }
        flows
    }

    /// Rates of all states.
    pub fn rates(&self, mode: &Mode, x: &[f64], d: &mut [f64]) -> Flows {
        let base = self.base(mode, x, d);
        let flows = self.valves(mode, x, &base, &[0.0; 16], &mut d[..self.liquid]);
        for (v, valve) in self.valves.iter().enumerate() {
            d[self.core + if valve.gas == Gas::Oxygen { 9 } else { 10 }] += flows.valve[v];
        }
        for (r, rule) in self.case.rules.iter().enumerate() {
            if let (true, Some(a)) = (linear(rule.quantity), Self::subject(&mode.place, rule.subject)) {
                d[self.integral + r] = self.quantity(x, a, rule.quantity);
            }
        }
        flows
    }
}

/// Whether averages are kept of a quantity.
pub fn linear(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::Co2 | Quantity::Humidity | Quantity::Oxygen | Quantity::Pressure | Quantity::Temperature
    )
}

/// Piece `k` of a curve that starts at the origin, continued as a straight line.
fn along(points: &[(f64, f64)], k: usize, p: f64) -> f64 {
    if points.is_empty() {
        return 0.0;
    }
    if k >= points.len() {
        return points[points.len() - 1].1;
    }
    let (p0, r0) = if k == 0 { (0.0, 0.0) } else { points[k - 1] };
    let (p1, r1) = points[k];
    r0 + (r1 - r0) * (p - p0) / (p1 - p0)
}
