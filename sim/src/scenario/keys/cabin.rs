//! Compartments, openings, control.

use super::*;
use Dimension::{Area, FilmCoefficient, MassRate, Pressure, Temperature, Volume, VolumeFlow};

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

/// `control.COMPARTMENT`.
pub static CONTROL: Section = Section {
    path: "control.X",
    meaning: "What is held in the compartment X by adding gas from an unlimited supply that is counted.",
    keys: &[
        key(
            "oxygen",
            Kind::Table(&HOLD_OXYGEN),
            Need::Absent("not held"),
            "{ hold = \"18.8 kPa\" }",
            "Oxygen partial pressure.",
        ),
        key(
            "pressure",
            Kind::Table(&HOLD_PRESSURE),
            Need::Absent("not held"),
            "{ hold = \"56.5 kPa\" }",
            "Total pressure.",
        ),
    ],
};

/// `control.X.oxygen`.
pub static HOLD_OXYGEN: Section = Section {
    path: "control.X.oxygen",
    meaning: "Oxygen is added whenever its partial pressure would fall below.",
    keys: &[key(
        "hold",
        Kind::Number(Pressure, PRESSURE_PA),
        Need::Required,
        "\"18.8 kPa\"",
        "Partial pressure to hold.",
    )],
};

/// `control.X.pressure`.
pub static HOLD_PRESSURE: Section = Section {
    path: "control.X.pressure",
    meaning: "Diluent is added whenever the total pressure would fall below.",
    keys: &[key(
        "hold",
        Kind::Number(Pressure, PRESSURE_PA),
        Need::Required,
        "\"56.5 kPa\"",
        "Total pressure to hold.",
    )],
};
