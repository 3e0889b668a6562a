//! Compartments and openings.

use super::*;
use crate::air::Species;
use Dimension::{Area, FilmCoefficient, GasRate, MassRate, PartialPressure, Pressure, Temperature, Volume, VolumeFlow};

/// `compartments.X`.
pub static COMPARTMENT: Section = Section {
    path: "compartments.X",
    meaning: "A well-mixed body of cabin gas.",
    keys: &[
        key(
            "free_volume",
            Kind::Number(Volume, VOLUME_M3),
            Need::Required,
            "{ normal = [\"11.5 m3\", \"0.4 m3\"], within = [\"10 m3\", \"13 m3\"] }",
            "Gas volume after equipment and people are taken out: neither the pressurised shell nor the living volume.",
        ),
        key(
            "usable_volume",
            Kind::Number(Volume, VOLUME_M3),
            Need::Absent("the free volume"),
            "\"8.6 m3\"",
            "Volume that people can occupy.",
        ),
        key(
            "air",
            Kind::Table(&COMPARTMENT_AIR),
            Need::Absent("that of [air]"),
            "{ co2 = \"1 mmHg\" }",
            "Air of its own.",
        ),
        key(
            "walls",
            Kind::Table(&WALLS),
            Need::Absent("walls at air temperature, dry"),
            "{ temperature = \"19 degC\", area = \"26 m2\" }",
            "Walls on which vapour condenses.",
        ),
        key(
            "leak",
            Kind::Number(MassRate, MASS_RATE_KG_S),
            Need::Default("\"0 kg/d\"", "no leak", false),
            "\"0.05 kg/d\"",
            "Gas lost to the vacuum outside at the pressure of [air]; it falls and rises with the pressure (choked flow).",
        ),
        key(
            "leak_area",
            Kind::Number(Area, HOLE_M2),
            Need::Absent("no hole"),
            "\"0.8 mm2\"",
            "Effective area (area times discharge coefficient) of a hole to the outside: choked or not, out or in.",
        ),
        key(
            "relief",
            Kind::Table(&RELIEF),
            Need::Absent("none"),
            "{ opens = \"107 kPa\", closes = \"105 kPa\", area = \"1 cm2\" }",
            "A valve that lets gas out to the outside above a pressure.",
        ),
        key(
            "washout",
            Kind::Table(&WASHOUT),
            Need::Absent("people breathe the air of the room as it is"),
            "{ adds = \"1.2 mmHg\", at = \"0.5 L/min STPD\" }",
            "What a person's own breath adds to the CO2 that they breathe here, in proportion to what they give off.",
        ),
        key(
            "heat",
            Kind::Table(&HEAT),
            Need::Absent("the air stays at its temperature"),
            "{ equipment = \"150 W\" }",
            "A heat balance: the air's temperature (and that of `walls`) follows from it.",
        ),
    ],
};

/// `compartments.X.relief`.
pub static RELIEF: Section = Section {
    path: "compartments.X.relief",
    meaning: "A valve that opens at one pressure and closes at a lower one.",
    keys: &[
        key(
            "opens",
            Kind::Number(Pressure, PRESSURE_PA),
            Need::Required,
            "\"107 kPa\"",
            "Total pressure at which it opens.",
        ),
        key(
            "closes",
            Kind::Number(Pressure, PRESSURE_PA),
            Need::Required,
            "\"105 kPa\"",
            "Total pressure at which it closes again.",
        ),
        key(
            "area",
            Kind::Number(Area, domain(1e-9, 1.0)),
            Need::Required,
            "\"1 cm2\"",
            "Effective area while it is open.",
        ),
    ],
};

/// `compartments.X.washout` and `suits.X.washout`.
pub static WASHOUT: Section = Section {
    path: "compartments.X.washout",
    meaning: "Breathed CO2 is that of the gas plus so much, in proportion to what the person gives off: a helmet or a bunk \
              clears slowly. A suit takes the same keys.",
    keys: &[
        key(
            "adds",
            Kind::Number(PartialPressure, PARTIAL_PA),
            Need::Required,
            "\"1.2 mmHg\"",
            "What is added ...",
        ),
        key(
            "at",
            Kind::Number(GasRate(Species::Co2.molar_mass_kg_mol()), domain(1e-6, 1.0)),
            Need::Required,
            "\"0.5 L/min STPD\"",
            "... at this CO2 output.",
        ),
    ],
};

/// `compartments.X.walls`.
pub static WALLS: Section = Section {
    path: "compartments.X.walls",
    meaning: "Walls colder than the air collect water as fast as a film of still air lets vapour through, and give it back.",
    keys: &[
        key(
            "temperature",
            Kind::Number(Temperature, TEMPERATURE_K),
            Need::Absent("the air temperature"),
            "\"19 degC\"",
            "Wall temperature.",
        ),
        key(
            "area",
            Kind::Number(Area, domain(1e-4, 1e6)),
            Need::Required,
            "\"26 m2\"",
            "Wall area, the cold spot included.",
        ),
        key(
            "cold_spot",
            Kind::Number(Temperature, TEMPERATURE_K),
            Need::Absent("none"),
            "\"14 degC\"",
            "Temperature of the coldest part of the walls.",
        ),
        key(
            "cold_spot_area",
            Kind::Number(Area, domain(1e-4, 1e6)),
            Need::Absent("2 % of the area (assumption)"),
            "\"0.5 m2\"",
            "Area of the cold spot.",
        ),
        key(
            "film",
            Kind::Number(FilmCoefficient, domain(0.01, 1000.0)),
            Need::Absent("natural convection at the start, with its dependence on pressure and gravity"),
            "\"3 W/m2/K\"",
            "Heat transfer coefficient of the air film; the Lewis relation makes it one for vapour.",
        ),
        key(
            "equilibrium",
            Kind::Word(&["film-limited", "optimistic"]),
            Need::Default(
                "\"film-limited\"",
                "the rate at which vapour reaches a wall is finite",
                false,
            ),
            "\"film-limited\"",
            "\"optimistic\": vapour above saturation at the wall is gone at once (time constant 0.1 s), which hides humidity.",
        ),
    ],
};

/// `openings.X`.
pub static OPENING: Section = Section {
    path: "openings.X",
    meaning: "A hatch or duct between two places.",
    keys: &[
        key(
            "between",
            Kind::TwoPlaces,
            Need::Required,
            "[\"cabin\", \"lock\"]",
            "Its two ends; \"outside\" is a place too.",
        ),
        key(
            "exchange",
            Kind::Number(VolumeFlow, FLOW_M3_S),
            Need::Required,
            "\"2.5 m3/min\"",
            "Volume that passes each way per time while it is open.",
        ),
        key(
            "open",
            Kind::Flag,
            Need::Default("true", "an opening is open", false),
            "true",
            "Whether it is open at the start.",
        ),
        key(
            "opens_within",
            Kind::Number(Pressure, domain(1.0, 1e7)),
            Need::Default("\"0.7 kPa\"", "practice: a hatch moves against about 0.1 psi", true),
            "\"0.7 kPa\"",
            "Largest difference of pressure against which it can be opened.",
        ),
    ],
};
