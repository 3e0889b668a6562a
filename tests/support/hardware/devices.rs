//! What devices take, give off and heat.

use breathroom_sim::air::Place;
use breathroom_sim::removal::{Removal, SwingBed, Valves};

use super::laws::{CP, R, loading, mean, uptake};
use super::rates::Rates;

/// What a device does to the air.
#[derive(Default)]
struct Taken {
    co2: f64,
    water: f64,
    /// Heat beside its power, W.
    heat_w: f64,
    /// Rates of its stores.
    store: [f64; 4],
}

/// Whether bed `b` adsorbs (`Some(true)`), desorbs (`Some(false)`) or holds still, when it is bed `turn`'s turn.
pub fn bed_does(valves: Valves, turn: usize, b: usize) -> Option<bool> {
    match valves {
        Valves::Turning => Some(b == turn),
        Valves::Stuck(s) => Some(b == s),
        Valves::Isolated(s) => (b != s).then_some(b == turn),
    }
}

fn swing_bed(bed: &SwingBed, turn: usize, store: &[f64], partial: &[f64; 4], air_k: f64) -> Taken {
    let mut out = Taken::default();
    for b in 0..2 {
        let Some(adsorbs) = bed_does(bed.valves, turn, b) else {
            continue;
        };
        let water = store[2 + b];
        let hindered = 1.0 + bed.competition_kg_mol * water;
        let co2_at = |p: f64| loading(&bed.co2, p, bed.bed_k) / hindered;
        let water_at = |p: f64| loading(&bed.water, p, bed.bed_k);
        let equilibrium: [&dyn Fn(f64) -> f64; 2] = [&co2_at, &water_at];
        for (k, at) in equilibrium.into_iter().enumerate() {
            let held = store[2 * k + b];
            if adsorbs {
                let flow = bed.flow_m3_s / (R * air_k);
                let mol_s = uptake(flow, partial[k], bed.bed_kg * bed.rate_1_s[k], held, at);
                out.store[2 * k + b] = mol_s / bed.bed_kg;
                *[&mut out.co2, &mut out.water][k] += mol_s;
            } else {
                out.store[2 * k + b] = bed.rate_1_s[k] * (at(bed.desorb_pa[k]) - held);
            }
        }
    }
    out
}

/// Piece `k` of a curve that starts at the origin, continued as a straight line.
fn along(points: &[(f64, f64)], k: usize, p: f64) -> f64 {
    let Some(&(p1, r1)) = points.get(k) else {
        return points.last().map_or(0.0, |last| last.1);
    };
    let (p0, r0) = if k == 0 { (0.0, 0.0) } else { points[k - 1] };
    r0 + (r1 - r0) * (p - p0) / (p1 - p0)
}

/// Adds what all devices do.
pub fn devices(r: &mut Rates) {
    let (plant, mode, x) = (r.plant, r.mode, r.x);
    for (k, device) in plant.case.devices.iter().enumerate() {
        let a = device.serves;
        if !mode.on[k] || plant.inert(mode, a) {
            continue;
        }
        let ([partial, store], air_k, factor) = (
            [
                std::array::from_fn(|s| plant.partial(x, a, s)),
                std::array::from_fn(|i| x[plant.store + 4 * k + i]),
            ],
            x[plant.air + a],
            mode.factor[k],
        );
        let partial: [f64; 4] = partial;
        let store: [f64; 4] = store;
        let per_pa = |m3_s: f64| m3_s / (R * air_k);
        let taken = match &device.removal {
            Removal::FlowThrough {
                flow_m3_s,
                co2_efficiency,
                water_efficiency,
            } => Taken {
                co2: factor * co2_efficiency * per_pa(*flow_m3_s) * partial[0],
                water: factor * water_efficiency * per_pa(*flow_m3_s) * partial[1],
                ..Taken::default()
            },
            Removal::Curve { co2, water } => Taken {
                co2: factor * along(co2, mode.piece[k][0], partial[0]),
                water: factor * along(water, mode.piece[k][1], partial[1]),
                ..Taken::default()
            },
            Removal::Condenser {
                flow_m3_s,
                bypass,
                coil_saturation_pa,
                coil_temperature_k,
                carry_over,
            } => {
                let flow = factor * (1.0 - bypass) * per_pa(*flow_m3_s);
                let total: f64 = partial.iter().sum();
                let cp = if total > 0.0 { mean(&partial, &CP) } else { 0.0 };
                let condensing = mode.piece[k][1] == 1;
                Taken {
                    water: if condensing {
                        flow * (partial[1] - coil_saturation_pa) * (1.0 - carry_over)
                    } else {
                        0.0
                    },
                    heat_w: -flow * total * cp * (air_k - coil_temperature_k),
                    ..Taken::default()
                }
            }
            Removal::Sorbent {
                flow_m3_s,
                capacity_mol,
                sharpness,
                bypass,
                water_per_co2,
                heat_j_mol,
                ..
            } => {
                // What passes the bed of Bohart and Adams at a loading.
                let passes = (-sharpness * (1.0 - store[0] / capacity_mol)).exp();
                let co2 = per_pa(*flow_m3_s) * partial[0] * (1.0 - bypass) * (1.0 - passes);
                Taken {
                    co2,
                    water: -water_per_co2 * co2,
                    heat_w: heat_j_mol * co2,
                    store: [co2, 0.0, 0.0, 0.0],
                }
            }
            Removal::SwingBed(bed) => swing_bed(bed, mode.bed[k], &store, &partial, air_k),
        };
        let here = Place::Compartment(a);
        r.add(here, 0, -taken.co2);
        r.add(here, 1, -taken.water);
        let heat_w = device.power_w + taken.heat_w;
        r.heat[a] += heat_w;
        for (i, rate) in [taken.co2, taken.water, heat_w].into_iter().enumerate() {
            r.d[plant.device + 3 * k + i] += rate;
        }
        for i in 0..4 {
            r.d[plant.store + 4 * k + i] = taken.store[i];
        }
    }
}
