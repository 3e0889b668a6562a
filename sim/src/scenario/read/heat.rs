//! `compartments.X.heat`.

use crate::scenario::blueprint::{HeatNums, WallNums};
use crate::scenario::fields::Fields;
use crate::scenario::reader::Reader;
use crate::units::{Dimension, show};

use super::median;

/// Reads the heat balance of a compartment with these walls.
pub(super) fn read(r: &mut Reader<'_>, fields: &Fields<'_>, walls: Option<&WallNums>) -> Option<HeatNums> {
    let heat = fields.sub(r, "heat")?;
    let equipment = heat.number(r, "equipment");
    let [wall_capacity, insulation, emittance, surroundings] =
        ["wall_capacity", "insulation", "emittance", "surroundings"].map(|name| heat.number_if(r, name));
    let walls = walls.filter(|_| fields.entry("walls").is_some());
    if walls.is_none() && !fields.misspelt("walls") {
        for name in ["wall_capacity", "insulation", "emittance", "surroundings"] {
            if heat.entry(name).is_some() {
                r.texts.fault(
                    &heat.spot_of(name),
                    format!("`{name}` is of walls, and `{}` has none", fields.path),
                    "add e.g. walls = { area = \"26 m2\" }",
                );
            }
        }
    }
    if insulation.is_some() && emittance.is_some() {
        r.texts.fault(
            &heat.spot_of("emittance"),
            format!("`{}` has both `insulation` and `emittance`", heat.path),
            "heat is conducted to the surroundings or radiated: remove one of the two",
        );
    }
    let passes = if insulation.is_some() {
        "insulation"
    } else {
        "emittance"
    };
    match (insulation.or(emittance), surroundings) {
        (Some(_), None) if walls.is_some() && !heat.misspelt("surroundings") => r.texts.fault(
            &heat.spot_of(passes),
            format!("`{}` does not say what is around the walls", heat.path),
            "add the temperature of the surroundings: surroundings = \"250 K\"",
        ),
        (None, Some(_)) if walls.is_some() && !heat.misspelt("insulation") && !heat.misspelt("emittance") => {
            r.texts.fault(
                &heat.spot_of("surroundings"),
                "no heat passes between the walls and these surroundings",
                "add insulation = \"25 W/K\" or emittance = 0.05",
            );
        }
        _ => {}
    }
    if let (Some(walls), None) = (walls, wall_capacity) {
        let capacity = crate::scenario::build::WALL_CAPACITY_J_K_M2 * median(r, walls.area);
        r.assume(
            heat.path_of("wall_capacity"),
            "5 kJ/K for each m2 of wall",
            show(capacity, Dimension::HeatCapacity.si_unit()),
            "assumption: about 2 mm of aluminium, whose heat capacity is recalled",
            true,
        );
    }
    if let (Some(_), None, None) = (walls, insulation, emittance) {
        r.assume(
            heat.path_of("insulation"),
            "no heat passes",
            String::new(),
            "assumption: walls that are perfectly insulated",
            false,
        );
    }
    Some(HeatNums {
        equipment,
        wall_capacity,
        insulation,
        emittance,
        surroundings,
    })
}
