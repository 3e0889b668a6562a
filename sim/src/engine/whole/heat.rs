//! Courses of temperatures over a step, and of what depends on them and is watched or judged.

use crate::air::{MOST, SurfaceKind, apparent_temperature_k, dew_point_k, saturation_pa};

use super::super::Case;
use super::super::poly::Poly;
use super::super::radau::{STAGES, TABLES};
use super::plumbing::Plumbing;

/// Courses of temperatures and of what depends on them, over one step.
#[derive(Clone, Debug, Default)]
pub(crate) struct HeatStep {
    /// Air, K.
    pub air_k: [Poly; MOST],
    /// Relative humidity.
    pub humidity: [Poly; MOST],
    /// Vapour over saturation at the air's temperature, Pa.
    pub over_air_pa: [Poly; MOST],
    /// Vapour over saturation at the wall's temperature, Pa.
    pub over_wall_pa: [Poly; MOST],
    /// Coldest surface minus dew point, K.
    pub dew_point_gap: [Poly; MOST],
    /// Apparent temperature, K.
    pub apparent_k: [Poly; MOST],
}

/// The courses, from the state where the step starts, and states by place at its nodes.
pub(super) fn heat_step(
    case: &Case,
    plumbing: &Plumbing,
    y: &[f64],
    stages: impl Fn(usize) -> [f64; STAGES],
) -> HeatStep {
    let mut out = HeatStep::default();
    for (a, compartment) in case.compartments.iter().enumerate() {
        let through = |of: &dyn Fn(f64, f64, f64) -> f64| {
            let air = plumbing.air_state[a];
            let wall = plumbing.wall_state[a];
            let vapour = stages(4 * a + 1);
            let value = |j: Option<usize>| {
                let pick = |k: usize| j.map_or(y[k], |j| stages(k)[j]);
                let air_k = air.map_or(plumbing.fixed_k[a], pick);
                of(
                    j.map_or(y[4 * a + 1], |j| vapour[j]),
                    air_k,
                    wall.map_or(f64::INFINITY, pick),
                )
            };
            TABLES.through(value(None), std::array::from_fn(|j| value(Some(j))))
        };
        out.air_k[a] = through(&|_, air_k, _| air_k);
        if plumbing.air_state[a].is_none() {
            continue;
        }
        out.humidity[a] = through(&|vapour, air_k, _| vapour / saturation_pa(air_k));
        out.over_air_pa[a] = through(&|vapour, air_k, _| vapour - saturation_pa(air_k));
        if plumbing.wall_state[a].is_some() {
            out.over_wall_pa[a] = through(&|vapour, _, wall_k| vapour - saturation_pa(wall_k));
        }
        let spot_k = compartment
            .surfaces
            .iter()
            .filter(|surface| surface.kind == SurfaceKind::ColdSpot)
            .map(|surface| surface.temperature_k)
            .fold(f64::INFINITY, f64::min);
        out.dew_point_gap[a] =
            through(&|vapour, air_k, wall_k| wall_k.min(spot_k).min(air_k) - dew_point_k(vapour.max(1e-3)));
        out.apparent_k[a] = through(&|vapour, air_k, _| apparent_temperature_k(air_k, vapour.max(0.0)));
    }
    out
}
