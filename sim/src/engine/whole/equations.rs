//! The derivatives of the whole state, and the flows behind them.
//!
//! ```text
//! C_a p_ia' = S_ia + C_a p_ia T'/T      C_a = V_a / (R T_a)
//! ```
//!
//! `S_ia`, mol/s: people, leaks, orifices, exchange `Q (p_b - p_a) / (R T_mean)`, devices, films, valves, bulk flow. Heat: see
//! `air::Heat`. In a compartment open to the vacuum nothing stays: what comes in is lost.

use crate::air::{CP_J_MOL_K, GAS_CONSTANT_J_MOL_K, Insulation, MOST, Species, orifice_mol_s, saturation_pa};
use crate::crew::EVAPORATION_J_KG;
use crate::removal::LastGas;
use crate::removal::sorbent::takes;

use super::super::Case;
use super::super::indices::{CO2, OXYGEN, WATER};
use super::super::newton::Equations;
use super::network::{Directions, Instant, rise_with, solve};
use super::parts::{FeedLaw, Follows, Levelling, Orifice, Taker, TakerLaw, tap};
use super::plumbing::Plumbing;
use super::sources::Sources;

/// Stefan-Boltzmann constant, W/m2/K4 (CODATA 2018).
const STEFAN_BOLTZMANN_W_M2_K4: f64 = 5.670_374_419e-8;
/// Mean heat capacity of what openings exchange, J/mol/K: between oxygen's 29.4 and nitrogen's 29.1.
const EXCHANGED_CP_J_MOL_K: f64 = 29.3;
/// Air thinner than this has the heat capacity of such air, Pa: the last of it would follow its wall within milliseconds.
const THIN_PA: f64 = 100.0;
/// Heat of evaporation, J/mol.
const EVAPORATION_J_MOL: f64 = EVAPORATION_J_KG * Species::Water.molar_mass_kg_mol();

/// A flow that levels a difference is found to this part of the rate asked for, in at most so many secants.
const LEVELLED: f64 = 1e-13;
const SECANTS: usize = 8;

/// The equations of one segment.
pub(crate) struct Whole<'a, 'b> {
    /// The case.
    pub case: &'a Case,
    /// What is connected.
    pub plumbing: &'b Plumbing,
    /// Directions of flows.
    pub directions: &'b mut Directions,
    /// Taps of the instant looked at last.
    pub taps: &'b mut Vec<f64>,
    /// What people give off at the instants looked at last.
    pub sources: &'b mut Sources,
}

/// An instant being worked out.
struct Now {
    at: Instant,
    /// Air temperatures, K.
    air_k: [f64; MOST],
    /// Heat to the air, W.
    heat_w: [f64; MOST],
    /// Heat to the wall, W.
    wall_w: [f64; MOST],
}

impl Equations for Whole<'_, '_> {
    fn size(&self) -> usize {
        self.plumbing.size
    }

    fn rates(&mut self, t_s: f64, y: &[f64], out: &mut [f64]) {
        self.taps.clear();
        self.taps.resize(self.plumbing.taps, 0.0);
        out.fill(0.0);
        let mut now = self.start(t_s, y);
        self.exchange(&mut now);
        self.take(&mut now, y, out);
        self.condense(&mut now, y);
        self.regulate(&mut now);
        self.suits(&mut now);
        for orifice in &self.plumbing.orifices {
            self.through(&mut now, orifice);
        }
        self.warm(&mut now, y, out);
        for levelling in &self.plumbing.levellings {
            self.level(&mut now, levelling);
        }
        solve(self.plumbing, &mut now.at, self.directions, self.taps);
        self.finish(&now, out);
    }
}

impl Whole<'_, '_> {
    fn start(&mut self, t_s: f64, y: &[f64]) -> Now {
        let plumbing = self.plumbing;
        let mut now = Now {
            at: Instant {
                s: [[0.0; MOST]; 4],
                p: [[0.0; MOST]; 4],
                total: [0.0; MOST],
                c: [0.0; MOST],
                warming: [0.0; MOST],
            },
            air_k: [0.0; MOST],
            heat_w: plumbing.people_w,
            wall_w: [0.0; MOST],
        };
        let n = plumbing.n.min(MOST);
        for a in 0..n {
            now.air_k[a] = plumbing.air_k(a, y);
            now.at.c[a] = plumbing.per_k[a] / now.air_k[a];
            for i in 0..4 {
                now.at.p[i][a] = y[4 * a + i];
                now.at.total[a] += y[4 * a + i];
            }
        }
        now.at.s[..3].copy_from_slice(self.sources.at(plumbing, t_s));
        now
    }

    /// Leaks of constant volume, openings to the outside, exchange between rooms.
    fn exchange(&mut self, now: &mut Now) {
        let plumbing = self.plumbing;
        for a in 0..plumbing.n.min(MOST) {
            let leak_m3_s = self.sources.drifted(plumbing.leak_drift[a], plumbing.leak_m3_s[a]);
            if leak_m3_s > 0.0 && plumbing.live[a] {
                let per_pa = leak_m3_s / (GAS_CONSTANT_J_MOL_K * now.air_k[a]);
                for i in 0..4 {
                    let lost = per_pa * now.at.p[i][a];
                    now.at.s[i][a] -= lost;
                    self.taps[tap::LEAK + i] += lost;
                }
            }
        }
        let outside = &self.case.outside;
        for &(a, exchange, drift) in &plumbing.outs {
            let exchange = self.sources.drifted(drift, exchange);
            let per_pa = exchange / (GAS_CONSTANT_J_MOL_K * 0.5 * (now.air_k[a] + outside.temperature_k));
            for i in 0..4 {
                let lost = per_pa * (now.at.p[i][a] - outside.partial_pa[i]);
                now.at.s[i][a] -= lost;
                self.taps[tap::LEAK + i] += lost;
            }
            let carried = 0.5 * (now.at.total[a] + outside.partial_pa.iter().sum::<f64>()) * per_pa;
            now.heat_w[a] += carried * EXCHANGED_CP_J_MOL_K * (outside.temperature_k - now.air_k[a]);
        }
        for group in &plumbing.groups {
            for join in &group.joins {
                let (a, b) = (join.a, join.b);
                let exchange = self.sources.drifted(join.drift, join.exchange_m3_s);
                let per_pa = exchange / (GAS_CONSTANT_J_MOL_K * 0.5 * (now.air_k[a] + now.air_k[b]));
                for i in 0..4 {
                    let moved = per_pa * (now.at.p[i][a] - now.at.p[i][b]);
                    now.at.s[i][a] -= moved;
                    now.at.s[i][b] += moved;
                }
                let carried = 0.5 * (now.at.total[a] + now.at.total[b]) * per_pa;
                let heat = carried * EXCHANGED_CP_J_MOL_K * (now.air_k[b] - now.air_k[a]);
                now.heat_w[a] += heat;
                now.heat_w[b] -= heat;
            }
        }
    }

    fn take(&mut self, now: &mut Now, y: &[f64], out: &mut [f64]) {
        for laid in &self.plumbing.takers {
            let redone;
            let taker = if laid.redo.is_some() {
                redone = self.sources.redone(laid);
                &redone
            } else {
                laid
            };
            let a = taker.a;
            let p_in = [now.at.p[CO2][a], now.at.p[WATER][a]];
            let (taken, heat_w) = match taker.law {
                TakerLaw::Lines { lines, at_k, by_flow } => {
                    let scale = if by_flow { at_k / now.air_k[a] } else { 1.0 };
                    let rate = |k: usize| scale * lines[k].rate_mol_s(p_in[k]);
                    ([rate(0), rate(1)], 0.0)
                }
                TakerLaw::Coil {
                    line,
                    at_k,
                    flow_m3_s,
                    coil_k,
                    one_way,
                } => {
                    let scale = at_k / now.air_k[a];
                    let carried = heat_capacity_j_pa(now, a) * flow_m3_s / (GAS_CONSTANT_J_MOL_K * now.air_k[a]);
                    let cooled = carried * (now.air_k[a] - coil_k);
                    let condensed = scale * line.rate_mol_s(p_in[1]);
                    let condensed = if one_way { condensed.max(0.0) } else { condensed };
                    ([0.0, condensed], -cooled)
                }
                TakerLaw::Canister { .. } => canister(taker, now, p_in, y, out),
                TakerLaw::Beds { .. } => beds(taker, now, p_in, y, out, self.sources.last_gas(taker.tap)),
            };
            now.at.s[CO2][a] -= taken[0];
            now.at.s[WATER][a] -= taken[1];
            let heat_w = heat_w + taker.power_w;
            now.heat_w[a] += heat_w;
            if let TakerLaw::Canister { .. } = taker.law {
                self.taps[tap::SORBENT_WATER] -= taken[1];
            }
            for (k, value) in [taken[0], taken[1], heat_w].into_iter().enumerate() {
                self.taps[taker.tap + k] += value;
            }
        }
    }

    fn condense(&mut self, now: &mut Now, y: &[f64]) {
        for film in &self.plumbing.films {
            let a = film.a;
            let saturation = match film.follows {
                Follows::Fixed => film.saturation_pa,
                Follows::Air => saturation_pa(now.air_k[a]),
                Follows::Wall => self.plumbing.wall_state[a].map_or(film.saturation_pa, |w| saturation_pa(y[w])),
            };
            let condensed = film.conductance * (now.at.p[WATER][a] - saturation);
            now.at.s[WATER][a] -= condensed;
            self.taps[film.tap] += condensed;
            match film.follows {
                Follows::Wall => now.wall_w[a] += EVAPORATION_J_MOL * condensed,
                Follows::Air => now.heat_w[a] += EVAPORATION_J_MOL * condensed,
                Follows::Fixed => {}
            }
        }
    }

    fn regulate(&mut self, now: &mut Now) {
        for feed in &self.plumbing.feeds {
            let a = feed.compartment;
            let flow = match feed.law {
                FeedLaw::Steady(flow) => flow,
                FeedLaw::Proportional { oxygen, set_pa, gain } => {
                    let is = if oxygen { now.at.p[OXYGEN][a] } else { now.at.total[a] };
                    gain * (set_pa - is)
                }
            };
            now.at.s[feed.species][a] += flow;
            self.taps[feed.tap] += flow;
        }
        for &(a, parts, flow, first) in &self.plumbing.fills {
            for i in 0..4 {
                now.at.s[i][a] += parts[i] * flow;
                self.taps[first + i] += parts[i] * flow;
            }
        }
    }

    /// Leaks and purges of suits; their regulators belong to the network.
    fn suits(&mut self, now: &mut Now) {
        for worn in &self.plumbing.worn {
            let s = worn.s;
            now.at.s[OXYGEN][s] += worn.purge_mol_s;
            self.taps[worn.tap] += worn.purge_mol_s;
            let per_pa = worn.leak_m3_s / (GAS_CONSTANT_J_MOL_K * now.air_k[s]);
            for i in 0..4 {
                let lost = per_pa * now.at.p[i][s];
                now.at.s[i][s] -= lost;
                match worn.room {
                    Some(a) => now.at.s[i][a] += lost,
                    None => self.taps[worn.lost + i] += lost,
                }
            }
        }
    }

    /// Gas through an orifice, at the composition of where it comes from.
    fn through(&mut self, now: &mut Now, orifice: &Orifice) {
        let gas = |a: usize| -> [f64; 4] { std::array::from_fn(|i| now.at.p[i][a].max(0.0)) };
        let outside = &self.case.outside;
        let (here, here_k) = (gas(orifice.a), now.air_k[orifice.a]);
        let (there, there_k) = orifice
            .b
            .map_or((outside.partial_pa, outside.temperature_k), |b| (gas(b), now.air_k[b]));
        let (total, beyond) = (here.iter().sum::<f64>(), there.iter().sum::<f64>());
        let area_m2 = self.sources.drifted(orifice.drift, orifice.area_m2);
        let flow = if total >= beyond {
            orifice_mol_s(area_m2, &here, here_k, beyond)
        } else {
            -orifice_mol_s(area_m2, &there, there_k, total)
        };
        if orifice.one_way && flow < 0.0 {
            return;
        }
        let (upstream, all) = if flow >= 0.0 { (here, total) } else { (there, beyond) };
        for i in 0..4 {
            let moved = if all > 0.0 { flow * upstream[i] / all } else { 0.0 };
            now.at.s[i][orifice.a] -= moved;
            if let Some(b) = orifice.b {
                now.at.s[i][b] += moved;
            }
            for tap in [Some(orifice.tap), orifice.also].into_iter().flatten() {
                self.taps[tap + i] += moved;
            }
        }
    }

    /// What must flow so that a difference of pressure falls linearly: both sides answer to a flow in proportion.
    fn level(&mut self, now: &mut Now, levelling: &Levelling) {
        let plumbing = self.plumbing;
        let (a, b) = (levelling.a, levelling.b);
        // The difference is that of `a` over `b`, so what makes it fall comes from the higher.
        let upstream = if levelling.ramp_pa_s <= 0.0 { a } else { b };
        let outside: f64 = self.case.outside.partial_pa.iter().sum();
        let gas: [f64; 4] = std::array::from_fn(|i| match upstream {
            Some(c) => now.at.part(plumbing, i, c),
            None if outside > 0.0 => self.case.outside.partial_pa[i] / outside,
            None => 0.0,
        });
        let sign = if levelling.ramp_pa_s <= 0.0 { 1.0 } else { -1.0 };
        let rise = |end: Option<usize>, flow: f64| {
            end.map_or(0.0, |c| rise_with(plumbing, &now.at, self.directions, c, flow, gas))
        };
        let off = |flow: f64| rise(a, -flow) - rise(b, flow) - levelling.ramp_pa_s;
        // The answer bends where a flow through an open hatch turns.
        let (mut before, mut flow) = (0.0, sign);
        let (mut off_before, mut off_now) = (off(before), off(flow));
        // Of the ramp, or of what there is to hold against: at a difference of nothing the ramp is none.
        let enough = LEVELLED * levelling.ramp_pa_s.abs().max(off_before.abs());
        for _ in 0..SECANTS {
            if off_now == off_before {
                break;
            }
            let next = flow - off_now * (flow - before) / (off_now - off_before);
            (before, off_before) = (flow, off_now);
            (flow, off_now) = (next, off(next));
            if off_now.abs() <= enough {
                break;
            }
        }
        if off_now == off_before && off_now.abs() > enough {
            flow = 0.0;
        }
        for i in 0..4 {
            let moved = flow * gas[i];
            if let Some(a) = a {
                now.at.s[i][a] -= moved;
            }
            if let Some(b) = b {
                now.at.s[i][b] += moved;
            }
            self.taps[levelling.tap + i] += moved;
            if let Some(lost) = levelling.lost {
                self.taps[lost + i] += if a.is_some() { moved } else { -moved };
            }
        }
    }

    /// Temperatures.
    fn warm(&self, now: &mut Now, y: &[f64], out: &mut [f64]) {
        for (a, compartment) in self.case.compartments.iter().enumerate() {
            let (Some(state), Some(heat)) = (self.plumbing.air_state[a], &compartment.heat) else {
                continue;
            };
            let void = self.plumbing.void[a];
            let mut to_air = now.heat_w[a] + heat.equipment_w;
            if let (Some(w), Some(wall)) = (self.plumbing.wall_state[a], &heat.wall) {
                let wall_k = y[w];
                // Without gas between them equipment warms the wall, by radiation.
                let film = if void {
                    -to_air
                } else {
                    wall.to_air_w_k * (wall_k - now.air_k[a])
                };
                let lost = match wall.insulation {
                    Insulation::Conductance(w_k) => w_k * (wall_k - wall.surroundings_k),
                    Insulation::Emittance(area_m2) => {
                        let fourth = |k: f64| (k * k) * (k * k);
                        STEFAN_BOLTZMANN_W_M2_K4 * area_m2 * (fourth(wall_k) - fourth(wall.surroundings_k))
                    }
                };
                to_air += film;
                out[w] = (now.wall_w[a] - film - lost) / wall.capacity_j_k;
            }
            if !void {
                let thin = THIN_PA * CP_J_MOL_K[OXYGEN];
                out[state] = to_air / (now.at.c[a] * heat_capacity_j_pa(now, a).max(thin));
                now.at.warming[a] = out[state] / now.air_k[a];
            }
        }
    }

    fn finish(&mut self, now: &Now, out: &mut [f64]) {
        let plumbing = self.plumbing;
        for a in 0..plumbing.n.min(MOST) {
            if !plumbing.live[a] {
                continue;
            }
            if plumbing.void[a] {
                for i in 0..4 {
                    self.taps[tap::VENT + i] += now.at.s[i][a];
                }
                continue;
            }
            for i in 0..4 {
                out[4 * a + i] = now.at.s[i][a] / now.at.c[a] + now.at.p[i][a] * now.at.warming[a];
            }
            if plumbing.oxygen_held[a] {
                out[4 * a + OXYGEN] = 0.0;
            }
        }
    }
}

/// Heat capacity of the gas for each pascal that a mole per pascal makes: `sum p_i cp_i`, J Pa/mol/K.
fn heat_capacity_j_pa(now: &Now, a: usize) -> f64 {
    (0..4).map(|i| now.at.p[i][a] * CP_J_MOL_K[i]).sum()
}

/// What a canister takes, and its heat.
fn canister(taker: &Taker, now: &Now, p_in: [f64; 2], y: &[f64], out: &mut [f64]) -> ([f64; 2], f64) {
    let TakerLaw::Canister {
        flow_m3_s,
        state,
        capacity_mol,
        sharpness,
        water_per_co2,
        heat_j_mol,
    } = taker.law
    else {
        return ([0.0; 2], 0.0);
    };
    let per_pa = flow_m3_s / (GAS_CONSTANT_J_MOL_K * now.air_k[taker.a]);
    let taken = per_pa * p_in[0] * takes(sharpness, y[state] / capacity_mol);
    out[state] = taken;
    ([taken, -water_per_co2 * taken], heat_j_mol * taken)
}

/// What a pair of beds takes.
fn beds(taker: &Taker, now: &Now, p_in: [f64; 2], y: &[f64], out: &mut [f64], around: &mut LastGas) -> ([f64; 2], f64) {
    let TakerLaw::Beds {
        bed,
        bed_kg,
        flow_m3_s,
        state,
        beds,
    } = taker.law
    else {
        return ([0.0; 2], 0.0);
    };
    // States: CO2 of both beds, water of both.
    let held = |b: usize| [y[state + b], y[state + 2 + b]];
    let mut taken = [0.0; 2];
    if let Some(b) = beds.adsorbs {
        let per_pa = flow_m3_s / (GAS_CONSTANT_J_MOL_K * now.air_k[taker.a]);
        taken = bed.uptake_near_mol_s(per_pa, p_in, held(b), around);
        out[state + b] = taken[0] / bed_kg;
        out[state + 2 + b] = taken[1] / bed_kg;
    }
    if let Some(b) = beds.desorbs {
        let released = bed.release_mol_s(held(b));
        out[state + b] = -released[0] / bed_kg;
        out[state + 2 + b] = -released[1] / bed_kg;
    }
    (taken, 0.0)
}
