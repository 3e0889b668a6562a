//! Heat balances of compartments.

use crate::air::{
    Compartment, Film, Heat, Insulation, WallHeat, natural_film_w_m2_k, oxygen_fraction, total_pa, transport,
};
use crate::scenario::blueprint::{CompartmentNums, HeatNums, WallNums};

/// Heat capacity of walls for their area if none is given, J/K/m2. Assumption: 2 mm of aluminium (2,700 kg/m3, 900 J/kg/K,
/// from memory) has 4.9 kJ/K/m2.
pub(in crate::scenario) const WALL_CAPACITY_J_K_M2: f64 = 5000.0;

/// The heat balance of a compartment whose gas is there.
pub(super) fn heat(nums: &CompartmentNums, gravity: f64, compartment: &Compartment, values: &[f64]) -> Option<Heat> {
    let heat = nums.heat?;
    Some(Heat {
        equipment_w: heat.equipment.of(values),
        wall: nums
            .walls
            .map(|walls| wall(&heat, &walls, gravity, compartment, values)),
    })
}

fn wall(heat: &HeatNums, walls: &WallNums, gravity: f64, compartment: &Compartment, values: &[f64]) -> WallHeat {
    let area = walls.area.of(values);
    let air_k = compartment.temperature_k;
    let temperature_k = walls.temperature.map_or(air_k, |t| t.of(values));
    let film = walls.film.map_or(Film::Natural(gravity), |f| Film::Given(f.of(values)));
    let insulation = match (heat.insulation, heat.emittance) {
        (Some(conductance), _) => Insulation::Conductance(conductance.of(values)),
        (None, Some(emittance)) => Insulation::Emittance(emittance.of(values) * area),
        (None, None) => Insulation::Conductance(0.0),
    };
    WallHeat {
        temperature_k,
        to_air_w_k: area * film_w_m2_k(film, compartment, temperature_k),
        capacity_j_k: heat.wall_capacity.map_or(WALL_CAPACITY_J_K_M2 * area, |c| c.of(values)),
        insulation,
        surroundings_k: heat.surroundings.map_or(temperature_k, |t| t.of(values)),
    }
}

/// Film coefficient of heat at the start.
fn film_w_m2_k(film: Film, compartment: &Compartment, wall_k: f64) -> f64 {
    match film {
        Film::Given(h) => h,
        Film::Natural(gravity) => {
            let film_k = 0.5 * (compartment.temperature_k + wall_k);
            let pressure = total_pa(&compartment.partial_pa);
            let gas = transport(pressure, oxygen_fraction(&compartment.partial_pa), film_k);
            natural_film_w_m2_k(&gas, film_k, compartment.temperature_k - wall_k, gravity)
        }
    }
}
