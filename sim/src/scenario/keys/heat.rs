//! The heat balance of a compartment.

use super::*;
use Dimension::{Conductance, Fraction, HeatCapacity, Power, Temperature};

/// `compartments.X.heat`.
pub static HEAT: Section = Section {
    path: "compartments.X.heat",
    meaning: "Heat of people, equipment and devices goes to the air, from the air to the walls, and from the walls to the \
              surroundings. What concerns the walls needs `walls` beside it, whose temperature is then that at the start.",
    keys: &[
        key(
            "equipment",
            Kind::Number(Power, domain(0.0, 1e6)),
            Need::Default("\"0 W\"", "none unless it says so", false),
            "\"150 W\"",
            "Heat that equipment gives to the air.",
        ),
        key(
            "wall_capacity",
            Kind::Number(HeatCapacity, domain(1.0, 1e9)),
            Need::Absent("5 kJ/K for each m2 of wall, about 2 mm of aluminium (assumption)"),
            "\"120 kJ/K\"",
            "Heat capacity of the walls.",
        ),
        key(
            "insulation",
            Kind::Number(Conductance, domain(0.0, 1e6)),
            Need::Absent("no heat passes"),
            "\"25 W/K\"",
            "Conductance from the walls to the surroundings.",
        ),
        key(
            "emittance",
            Kind::Number(Fraction, PART),
            Need::Absent("as `insulation`"),
            "0.05",
            "Effective emittance of the walls, which then radiate to the surroundings: in place of `insulation`.",
        ),
        key(
            "surroundings",
            Kind::Number(Temperature, domain(2.0, 600.0)),
            Need::Absent("-"),
            "\"250 K\"",
            "Temperature around the walls; goes with `insulation` and `emittance`.",
        ),
    ],
};
