//! What a bench delivers of what is wanted, where it cannot follow, and what that changes at the inlet.
//!
//! ```text
//! y_k = clamp(x_k, range), then |y_k - y_(k-1)| <= slew dt        p_w = min, max of saturation at the dew points it can reach
//! ```
//!
//! `x` wanted and `y` delivered set points; the bench has settled on the first before the test begins. A dew point that is limited limits the
//! water flow: `n'_w = n'_dry p_w / (P - p_w)`; so does a total flow, all gases in proportion. Each channel follows as fast as it can, without
//! looking ahead (assumption: a bench that looks ahead does better). Between set points it goes in straight lines.

use breathroom_sim::air::{Species, dew_point_k, saturation_pa};

use super::bench::{Bench, Channel};
use super::demand::{Demand, Point};

/// A miss below this part of a channel's range is none.
const LEAST_MISS: f64 = 1e-3;

/// A time in which a channel does not do what is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Miss {
    /// Which.
    pub channel: Channel,
    /// It is beyond its range; else it is too slow.
    pub is_range: bool,
    /// First and last time, s.
    pub from_s: f64,
    /// The last one.
    pub to_s: f64,
    /// At the largest miss: when, what was wanted, what is delivered; flows mol/s, K, Pa.
    pub at_s: f64,
    /// Wanted there.
    pub wanted: f64,
    /// Delivered there.
    pub delivered: f64,
}

/// What a bench delivers.
#[derive(Clone, Debug, PartialEq)]
pub struct Delivered {
    /// At the times that were wanted.
    pub points: Vec<Point>,
    /// In order of channels, then times.
    pub misses: Vec<Miss>,
}

/// Largest errors at the inlet that follow, over the times with flow.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effect {
    /// Of the partial pressure of CO2, Pa, and when, s: delivered less wanted.
    pub co2_pa: [f64; 2],
    /// Of that of water.
    pub water_pa: [f64; 2],
    /// Of the actual volume flow, m3/s.
    pub flow_m3_s: [f64; 2],
    /// CO2 over the whole test, mol: wanted and delivered.
    pub co2_mol: [f64; 2],
}

/// The value of a channel at a point.
fn value(channel: Channel, point: &Point) -> f64 {
    match channel {
        Channel::Co2 => point.flow_mol_s[0],
        Channel::Water => point.flow_mol_s[1],
        Channel::Oxygen => point.flow_mol_s[2],
        Channel::Diluent => point.flow_mol_s[3],
        Channel::Total => point.total_mol_s(),
        Channel::Temperature => point.temperature_k,
        Channel::DewPoint => dew_point_k(point.partial_pa(Species::Water)),
        Channel::Pressure => point.pressure_pa,
    }
}

/// What a bench makes of what is wanted.
#[must_use]
pub fn deliver(bench: &Bench, demand: &Demand) -> Delivered {
    let per_mol = bench.standard_m3_mol();
    let is_flow = |channel: Channel| channel.index() <= Channel::Total.index();
    let limits = Channel::ALL.map(|channel| {
        let mut limits = bench.of(channel);
        if is_flow(channel) {
            limits.range = limits.range.map(|end| end / per_mol);
            limits.slew /= per_mol;
        }
        limits
    });
    let mut points: Vec<Point> = Vec::with_capacity(demand.points.len());
    for wanted in &demand.points {
        let last = points.last().copied();
        let follow = |channel: Channel, wanted: f64, last: Option<f64>, dt: f64| {
            let of = limits[channel.index()];
            let most = of.slew * dt;
            let inside = wanted.clamp(of.range[0], of.range[1]);
            match last {
                Some(last) if most.is_finite() => inside.clamp(last - most, last + most),
                _ => inside,
            }
        };
        let dt = last.map_or(0.0, |last| wanted.time_s - last.time_s);
        let mut point = *wanted;
        let of_last = |channel: Channel| last.map(|last| value(channel, &last));
        point.temperature_k = follow(
            Channel::Temperature,
            wanted.temperature_k,
            of_last(Channel::Temperature),
            dt,
        );
        point.pressure_pa = follow(Channel::Pressure, wanted.pressure_pa, of_last(Channel::Pressure), dt);
        for channel in [Channel::Co2, Channel::Water, Channel::Oxygen, Channel::Diluent] {
            let at = channel.index();
            // A valve that is shut is shut, whatever its least flow.
            let shut = !wanted.on && limits[at].range[0] > 0.0;
            point.flow_mol_s[at] = if shut {
                0.0
            } else {
                follow(channel, wanted.flow_mol_s[at], of_last(channel), dt)
            };
        }
        if point.total_mol_s() > 0.0 {
            dew_point(
                &mut point,
                &limits[Channel::DewPoint.index()].range,
                last,
                limits[Channel::DewPoint.index()].slew * dt,
            );
            let total = point.total_mol_s();
            let most = if wanted.on {
                follow(Channel::Total, total, of_last(Channel::Total), dt)
            } else {
                total
            };
            if most != total {
                point.flow_mol_s = point.flow_mol_s.map(|flow| flow * most / total);
            }
        }
        points.push(point);
    }
    let misses = Channel::ALL
        .into_iter()
        .flat_map(|channel| misses(channel, &limits, &demand.points, &points));
    Delivered {
        misses: misses.collect(),
        points,
    }
}

/// Brings the water flow to a dew point that the bench can reach.
fn dew_point(point: &mut Point, range: &[f64; 2], last: Option<Point>, most: f64) {
    let vapour = point.partial_pa(Species::Water);
    let mut dew = dew_point_k(vapour);
    let had = dew;
    dew = dew.clamp(range[0], range[1]);
    if let Some(last) = last.filter(|last| last.total_mol_s() > 0.0)
        && most.is_finite()
    {
        let before = dew_point_k(last.partial_pa(Species::Water));
        dew = dew.clamp(before - most, before + most);
    }
    let water = Species::Water as usize;
    if dew != had {
        let vapour = saturation_pa(dew).min(0.9 * point.pressure_pa);
        let dry = point.total_mol_s() - point.flow_mol_s[water];
        point.flow_mol_s[water] = dry * vapour / (point.pressure_pa - vapour);
    }
}

/// The times in which a channel is not what is wanted.
fn misses(channel: Channel, limits: &[super::Limits; 8], wanted: &[Point], delivered: &[Point]) -> Vec<Miss> {
    let of = limits[channel.index()];
    let span = of.range[1] - of.range[0];
    let mut list: Vec<Miss> = Vec::new();
    let mut open: Option<Miss> = None;
    // A channel without limits of its own follows what limits the others: that is told there.
    if !span.is_finite() {
        return list;
    }
    for (wanted_at, delivered_at) in wanted.iter().zip(delivered) {
        let (x, y) = (value(channel, wanted_at), value(channel, delivered_at));
        let of_gas = channel == Channel::DewPoint;
        let counts = !of_gas || (wanted_at.on && delivered_at.total_mol_s() > 0.0);
        let is_missed = counts && (x - y).abs() > LEAST_MISS * span;
        if !is_missed {
            list.extend(open.take());
            continue;
        }
        let at = wanted_at.time_s;
        let is_range = x < of.range[0] || x > of.range[1];
        let now = open.get_or_insert(Miss {
            channel,
            is_range,
            from_s: at,
            to_s: at,
            at_s: at,
            wanted: x,
            delivered: y,
        });
        now.to_s = at;
        now.is_range |= is_range;
        if (x - y).abs() > (now.wanted - now.delivered).abs() {
            (now.at_s, now.wanted, now.delivered) = (at, x, y);
        }
    }
    list.extend(open);
    list
}

/// What misses change at the inlet.
#[must_use]
pub fn effect(demand: &Demand, delivered: &Delivered) -> Effect {
    let mut effect = Effect::default();
    let put = |largest: &mut [f64; 2], error: f64, at: f64| {
        if error.abs() > largest[0].abs() {
            *largest = [error, at];
        }
    };
    let pairs: Vec<(&Point, &Point)> = demand.points.iter().zip(&delivered.points).collect();
    for (wanted, point) in &pairs {
        let at = wanted.time_s;
        put(&mut effect.flow_m3_s, point.flow_m3_s() - wanted.flow_m3_s(), at);
        if wanted.on {
            let error = |species| point.partial_pa(species) - wanted.partial_pa(species);
            put(&mut effect.co2_pa, error(Species::Co2), at);
            put(&mut effect.water_pa, error(Species::Water), at);
        }
    }
    for pair in pairs.windows(2) {
        let half = 0.5 * (pair[1].0.time_s - pair[0].0.time_s);
        effect.co2_mol[0] += half * (pair[0].0.flow_mol_s[0] + pair[1].0.flow_mol_s[0]);
        effect.co2_mol[1] += half * (pair[0].1.flow_mol_s[0] + pair[1].1.flow_mol_s[0]);
    }
    effect
}
