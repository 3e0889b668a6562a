//! Tanks, and what is held by gas from them.

use super::*;
use crate::air::Species;
use Dimension::{GasRate, Mass, Pressure};

/// Most that a regulator lets in.
const FEED_MOL_S: Domain = domain(0.0, 100.0);
/// A difference of pressure to which a regulator answers.
const WIDTH_PA: Domain = domain(0.1, 1e6);

/// `tanks.X`.
pub static TANK: Section = Section {
    path: "tanks.X",
    meaning: "A stock of gas that runs down.",
    keys: &[
        key(
            "gas",
            Kind::Word(&["oxygen", "diluent"]),
            Need::Required,
            "\"oxygen\"",
            "What it holds.",
        ),
        key(
            "amount",
            Kind::Number(Mass, domain(0.0, 1e6)),
            Need::Required,
            "\"24 kg\"",
            "What is in it at the start.",
        ),
        key(
            "supply_pressure",
            Kind::Number(Pressure, domain(100.0, 1e9)),
            Need::Absent("all of it can be used"),
            "\"20 MPa\"",
            "Its pressure at the start. What is left when it has fallen to the pressure of [air] cannot be used.",
        ),
        key(
            "reserve",
            Kind::Number(Mass, domain(0.0, 1e6)),
            Need::Default("\"0 kg\"", "none is kept", false),
            "\"2 kg\"",
            "What is kept for contingencies: going below it is told.",
        ),
    ],
};

/// `control.COMPARTMENT`.
pub static CONTROL: Section = Section {
    path: "control.X",
    meaning: "What is held in the compartment X by adding gas, from a tank or from an unlimited supply that is counted.",
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

const FROM: &str = "The tank it comes from.";
const UNLIMITED: &str = "an unlimited supply that is counted";
const BAND: Key = key(
    "band",
    Kind::Number(Pressure, WIDTH_PA),
    Need::Absent("no on and off"),
    "\"0.4 kPa\"",
    "On and off: `flow` is let in from when so much is lacking until it is back at `hold`.",
);
const FULL_AT: Key = key(
    "full_at",
    Kind::Number(Pressure, WIDTH_PA),
    Need::Absent("not in proportion"),
    "\"0.4 kPa\"",
    "In proportion: the flow goes with what is lacking, and is `flow` when so much is lacking.",
);
const FLOW: &str = "Most that is let in; with `band`, what is let in.";

/// `control.X.oxygen`.
pub static HOLD_OXYGEN: Section = Section {
    path: "control.X.oxygen",
    meaning: "Oxygen is added whenever its partial pressure would fall below.",
    keys: &[
        key(
            "hold",
            Kind::Number(Pressure, PRESSURE_PA),
            Need::Required,
            "\"18.8 kPa\"",
            "Partial pressure to hold.",
        ),
        key(
            "from",
            Kind::Name(What::Tank),
            Need::Absent(UNLIMITED),
            "\"oxygen\"",
            FROM,
        ),
        key(
            "flow",
            Kind::Number(GasRate(Species::Oxygen.molar_mass_kg_mol()), FEED_MOL_S),
            Need::Absent("as much as it takes"),
            "\"0.5 kg/h\"",
            FLOW,
        ),
        BAND,
        FULL_AT,
    ],
};

/// `control.X.pressure`.
pub static HOLD_PRESSURE: Section = Section {
    path: "control.X.pressure",
    meaning: "Diluent (or what the tank holds) is added whenever the total pressure would fall below.",
    keys: &[
        key(
            "hold",
            Kind::Number(Pressure, PRESSURE_PA),
            Need::Required,
            "\"56.5 kPa\"",
            "Total pressure to hold.",
        ),
        key(
            "from",
            Kind::Name(What::Tank),
            Need::Absent("diluent from an unlimited supply that is counted"),
            "\"nitrogen\"",
            FROM,
        ),
        key(
            "flow",
            Kind::Number(GasRate(Species::Diluent.molar_mass_kg_mol()), FEED_MOL_S),
            Need::Absent("as much as it takes"),
            "\"0.5 kg/h\"",
            FLOW,
        ),
        BAND,
        FULL_AT,
    ],
};
