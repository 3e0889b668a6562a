//! The top level of the file, and its small tables.

use super::*;
use Dimension::{Acceleration, Number, PartialPressure, Time};

/// The top level.
pub static ROOT: Section = Section {
    path: "",
    meaning: "The top level of the file.",
    keys: &[
        key(
            "format",
            Kind::Whole(1, 1),
            Need::Required,
            "1",
            "Version of the file format.",
        ),
        key(
            "title",
            Kind::Text,
            Need::Absent("the name of the file"),
            "\"Two crew, one day\"",
            "What people call it.",
        ),
        key(
            "duration",
            Kind::Number(Time, SPAN_S),
            Need::Required,
            "\"1 d\"",
            "Length of the run.",
        ),
        key(
            "gravity",
            Kind::Number(Acceleration, domain(0.0, 100.0)),
            Need::Default("\"9.80665 m/s2\"", "standard gravity, CGPM 1901", false),
            "\"1.62 m/s2\"",
            "Local gravity. It only affects natural convection at the walls, and so the film through which vapour \
             condenses.",
        ),
        key(
            "respiratory_quotient",
            Kind::Number(Number, QUOTIENT),
            Need::Default(
                "{ triangular = [0.83, 0.87, 0.92] }",
                "0.83 ASHRAE Fundamentals, 0.87 NASA ALS baseline values 2004, 0.92 NASA SP-2010-3407 activity table",
                true,
            ),
            "0.87",
            "CO2 given off for oxygen used, by volume, in efforts given by power; a person or an effort may have its own.",
        ),
        key(
            "history",
            Kind::Table(&HISTORY),
            Need::Absent("its defaults"),
            "{ every = \"5 min\" }",
            "The history.",
        ),
        key(
            "lags",
            Kind::Table(&LAGS),
            Need::Absent("its defaults"),
            "{ gas = \"60 s\" }",
            "Lags of people.",
        ),
        key("air", Kind::Table(&AIR), Need::Required, "{}", "The air at the start."),
        key(
            "outside",
            Kind::Table(&OUTSIDE),
            Need::Absent("a vacuum"),
            "{}",
            "The gas around the cabin.",
        ),
        key(
            "compartments",
            Kind::Named(&COMPARTMENT),
            Need::Required,
            "{}",
            "The rooms, one to eight.",
        ),
        key(
            "openings",
            Kind::Named(&OPENING),
            Need::Absent("none"),
            "{}",
            "Hatches and ducts.",
        ),
        key(
            "removal",
            Kind::Families(&[
                ("flow-through", &FLOW_THROUGH),
                ("curve", &CURVE),
                ("condenser", &CONDENSER),
                ("sorbent", &SORBENT),
                ("swing-bed", &SWING_BED),
            ]),
            Need::Absent("none"),
            "{}",
            "Removal devices.",
        ),
        key(
            "tanks",
            Kind::Named(&TANK),
            Need::Absent("unlimited supplies"),
            "{}",
            "Stocks of gas.",
        ),
        key(
            "fans",
            Kind::Named(&FAN),
            Need::Absent("none: each device has its own flow"),
            "{}",
            "Fans that give removal devices their flow.",
        ),
        key(
            "control",
            Kind::ForCompartments(&CONTROL),
            Need::Absent("none"),
            "{}",
            "What is held where.",
        ),
        key(
            "crew",
            Kind::Named(&PERSON),
            Need::Absent("no one"),
            "{}",
            "The people, at most eight.",
        ),
        key(
            "suits",
            Kind::ForPeople(&SUIT),
            Need::Absent("none: outside, people's air is assumed to be within limits"),
            "{}",
            "Suits, each of a person; with the compartments at most eight.",
        ),
        key(
            "efforts",
            Kind::Named(&EFFORT),
            Need::Absent("the built-in ones"),
            "{}",
            "Efforts beside the built-in ones.",
        ),
        key(
            "equipment",
            Kind::Named(&EQUIPMENT),
            Need::Absent("none"),
            "{}",
            "What only so many can use at a time.",
        ),
        key(
            "tasks",
            Kind::Tables(&TASK),
            Need::Absent("none"),
            "[]",
            "Who does what, when.",
        ),
        key(
            "sensors",
            Kind::Named(&SENSOR),
            Need::Absent("alarms have sensors of their own"),
            "{}",
            "Sensors that alarms share.",
        ),
        key(
            "alarms",
            Kind::Tables(&ALARM),
            Need::Absent("none"),
            "[]",
            "What acts on readings, and what people then do.",
        ),
        key(
            "buses",
            Kind::Named(&BUS),
            Need::Absent("none"),
            "{}",
            "What loses its power together.",
        ),
        key(
            "faults",
            Kind::Tables(&FAULT),
            Need::Absent("nothing goes wrong"),
            "[]",
            "What goes wrong.",
        ),
        key(
            "limits",
            Kind::Table(&LIMITS),
            Need::Absent("none"),
            "{}",
            "What must hold.",
        ),
        key(
            "survival",
            Kind::Table(&SURVIVAL),
            Need::Absent("its defaults"),
            "{}",
            "When a run ends early.",
        ),
        key(
            "towels",
            Kind::Table(&TOWELS),
            Need::Absent("its defaults"),
            "{}",
            "Runoff that is kept in towels.",
        ),
        key(
            "together",
            Kind::Tables(&TOGETHER),
            Need::Absent("every spread is drawn by itself"),
            "[]",
            "Spreads that go together.",
        ),
    ],
};

/// `[history]`.
pub static HISTORY: Section = Section {
    path: "history",
    meaning: "The evenly spaced record of a run. It changes no result.",
    keys: &[key(
        "every",
        Kind::Fixed(Time, SPAN_S),
        Need::Default("\"5 min\"", "assumption", false),
        "\"5 min\"",
        "Time between two samples.",
    )],
};

/// `[lags]`.
pub static LAGS: Section = Section {
    path: "lags",
    meaning: "How people's gas exchange follows a change of effort.",
    keys: &[key(
        "gas",
        Kind::Number(Time, domain(1.0, 3600.0)),
        Need::Default(
            "\"60 s\"",
            "time constant of the fast component of oxygen uptake, 30 to 60 s in the literature",
            true,
        ),
        "\"60 s\"",
        "Time constant of oxygen use and CO2 output; a person may have their own.",
    )],
};

/// `[survival]`.
pub static SURVIVAL: Section = Section {
    path: "survival",
    meaning: "When a run ends as not survivable, besides a species that runs out.",
    keys: &[key(
        "oxygen_floor",
        Kind::Number(PartialPressure, domain(1000.0, 2e4)),
        Need::Default(
            "\"13.3 kPa\"",
            "100 mmHg: 13 % at sea level, or 3,600 m; impairment is near (aviation medicine)",
            true,
        ),
        "\"13.3 kPa\"",
        "Breathed oxygen partial pressure under which the run ends.",
    )],
};

/// `[towels]`.
pub static TOWELS: Section = Section {
    path: "towels",
    meaning: "Sweat that runs off into a towel dries into the room.",
    keys: &[key(
        "drying",
        Kind::Number(Time, SPAN_S),
        Need::Default("\"1 h\"", "assumption", false),
        "\"1 h\"",
        "Time constant of drying.",
    )],
};
