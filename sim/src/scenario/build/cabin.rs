//! Compartments and the gas outside.

use crate::air::{
    Compartment, EARTH_GRAVITY_M_S2, Film, GAS_CONSTANT_J_MOL_K, Outside, Relief, Species, Surface, SurfaceKind,
    density_kg_m3, oxygen_fraction, partials, saturation_pa, total_pa, wall_conductance_mol_s_pa,
};
use crate::engine::Case;
use crate::scenario::blueprint::{AirNums, CompartmentNums, Parts, WallNums};
use crate::scenario::num::Num;

use super::heat;

/// Time constant with which vapour above saturation at the air temperature turns to mist, s. Assumption: droplets form
/// within seconds where there are nuclei, which a cabin has.
const MIST_S: f64 = 10.0;
/// Time constant of walls at instant equilibrium ("optimistic"), s.
const OPTIMISTIC_S: f64 = 0.1;
/// Part of the walls that a cold spot takes if its area is not given. Assumption.
const COLD_SPOT_PART: f64 = 0.02;

/// Gas, surfaces and leaks of the compartments, and the gas outside.
pub(super) fn fill(parts: &Parts, case: &mut Case, values: &[f64], all: bool) {
    let Some(common) = parts.air else { return };
    let gravity = parts.gravity.unwrap_or(Num::Fixed(EARTH_GRAVITY_M_S2));
    if let Some(outside) = parts.outside
        && (all || outside.varies())
    {
        case.outside = Outside {
            partial_pa: gas(&outside, values),
            temperature_k: outside.temperature.of(values),
        };
    }
    let common_varies = common.varies();
    for (n, nums) in parts.compartments.iter().enumerate() {
        if !(all || varies(nums) || common_varies || gravity.varies()) {
            continue;
        }
        let compartment = &mut case.compartments[n];
        let t = nums.air.temperature.of(values);
        compartment.volume_m3 = nums.volume.of(values);
        compartment.usable_m3 = nums.usable.of(values);
        compartment.temperature_k = t;
        compartment.partial_pa = gas(&nums.air, values);
        compartment.saturation_pa = saturation_pa(t);
        let leak = nums.leak.of(values);
        compartment.leak_m3_s = if leak > 0.0 { leak / density(parts, values) } else { 0.0 };
        compartment.leak_area_m2 = nums.leak_area.map_or(0.0, |a| a.of(values));
        compartment.relief = nums.relief.map(|r| relief(r, values));
        compartment.washout_pa_s_mol = nums.washout.map_or(0.0, |[adds, at]| adds.of(values) / at.of(values));
        surfaces(nums, gravity.of(values), compartment, values);
        compartment.heat = heat::heat(nums, gravity.of(values), compartment, values);
    }
}

/// Density of the gas of `[air]`, kg/m3.
pub(super) fn density(parts: &Parts, values: &[f64]) -> f64 {
    parts.air.map_or(f64::NAN, |common| {
        density_kg_m3(&gas(&common, values), common.temperature.of(values))
    })
}

fn varies(nums: &CompartmentNums) -> bool {
    let walls = nums.walls.is_some_and(|w| {
        w.area.varies()
            || [w.temperature, w.cold_spot, w.cold_spot_area, w.film]
                .into_iter()
                .flatten()
                .any(Num::varies)
    });
    let heat = nums.heat.is_some_and(|h| {
        h.equipment.varies()
            || [h.wall_capacity, h.insulation, h.emittance, h.surroundings]
                .into_iter()
                .flatten()
                .any(Num::varies)
    });
    let rest = nums.relief.into_iter().flatten();
    let mut rest = rest.chain(nums.washout.into_iter().flatten()).chain(nums.leak_area);
    nums.volume.varies()
        || nums.usable.varies()
        || nums.leak.varies()
        || nums.air.varies()
        || walls
        || heat
        || rest.any(Num::varies)
}

/// The valve. A draw in which it would close above where it opens closes it just below.
fn relief([opens, closes, area]: [Num; 3], values: &[f64]) -> Relief {
    let opens_pa = opens.of(values);
    Relief {
        opens_pa,
        closes_pa: closes.of(values).min(opens_pa * (1.0 - 1e-6)),
        area_m2: area.of(values),
    }
}

/// A compartment that is still to be filled.
pub(super) fn empty() -> Compartment {
    Compartment::default()
}

/// Partial pressures. A draw whose parts exceed the whole (the medians' do not) keeps its vapour and CO2 and fills up
/// with oxygen.
fn gas(air: &AirNums, values: &[f64]) -> [f64; 4] {
    let pressure = air.pressure.of(values);
    let (oxygen, co2) = (air.oxygen.of(values), air.co2.of(values));
    let (humidity, temperature) = (air.humidity.of(values), air.temperature.of(values));
    partials(pressure, oxygen, co2, humidity, temperature).unwrap_or_else(|_| {
        let water = (humidity * saturation_pa(temperature)).min(pressure);
        let co2 = co2.min(pressure - water);
        let mut gas = [0.0; 4];
        gas[Species::Water as usize] = water;
        gas[Species::Co2 as usize] = co2;
        gas[Species::Oxygen as usize] = pressure - water - co2;
        gas
    })
}

/// Walls, cold spot and mist of a compartment whose gas is there.
fn surfaces(nums: &CompartmentNums, gravity: f64, compartment: &mut Compartment, values: &[f64]) {
    compartment.surfaces.clear();
    if let Some(walls) = nums.walls {
        let area = walls.area.of(values);
        let spot_area = walls.cold_spot.map_or(0.0, |_| {
            walls
                .cold_spot_area
                .map_or(COLD_SPOT_PART * area, |a| a.of(values))
                .min(area)
        });
        let wall_k = walls.temperature.map_or(compartment.temperature_k, |t| t.of(values));
        let wall = surface(
            SurfaceKind::Wall,
            wall_k,
            area - spot_area,
            area,
            &walls,
            gravity,
            compartment,
            values,
        );
        compartment.surfaces.push(wall);
        if let Some(cold) = walls.cold_spot {
            let cold_k = cold.of(values);
            let spot = surface(
                SurfaceKind::ColdSpot,
                cold_k,
                spot_area,
                area,
                &walls,
                gravity,
                compartment,
                values,
            );
            compartment.surfaces.push(spot);
        }
    }
    compartment.surfaces.push(Surface {
        kind: SurfaceKind::Mist,
        temperature_k: compartment.temperature_k,
        saturation_pa: compartment.saturation_pa,
        conductance_mol_s_pa: conductance_of(MIST_S, compartment),
    });
}

#[allow(clippy::too_many_arguments)] // one surface takes all of these, and a struct for them would have one user
fn surface(
    kind: SurfaceKind,
    surface_k: f64,
    area_m2: f64,
    whole_area_m2: f64,
    walls: &WallNums,
    gravity: f64,
    compartment: &Compartment,
    values: &[f64],
) -> Surface {
    let conductance = if walls.optimistic {
        conductance_of(OPTIMISTIC_S, compartment) * area_m2 / whole_area_m2
    } else {
        let film = walls.film.map_or(Film::Natural(gravity), |f| Film::Given(f.of(values)));
        let pressure = total_pa(&compartment.partial_pa);
        let oxygen = oxygen_fraction(&compartment.partial_pa);
        wall_conductance_mol_s_pa(film, area_m2, pressure, oxygen, compartment.temperature_k, surface_k)
    };
    Surface {
        kind,
        temperature_k: surface_k,
        saturation_pa: saturation_pa(surface_k),
        conductance_mol_s_pa: conductance,
    }
}

/// Conductance that takes excess vapour out of a compartment with this time constant: V / (R T tau).
fn conductance_of(tau_s: f64, compartment: &Compartment) -> f64 {
    compartment.volume_m3 / (GAS_CONSTANT_J_MOL_K * compartment.temperature_k * tau_s)
}
