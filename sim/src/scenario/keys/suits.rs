//! Suits.

use super::*;
use crate::air::Species;
use Dimension::{GasRate, Pressure, Temperature, Volume, VolumeFlow};

const OXYGEN: Dimension = GasRate(Species::Oxygen.molar_mass_kg_mol());

/// `suits.X`.
pub static SUIT: Section = Section {
    path: "suits.X",
    meaning: "The suit of the person X: a body of gas of its own, called \"suit:X\" where a device serves it or a limit is about \
              it. A task says how it is worn. At the start it holds the air of [air].",
    keys: &[
        key(
            "volume",
            Kind::Number(Volume, domain(1e-3, 10.0)),
            Need::Required,
            "\"60 L\"",
            "Free gas volume with the person in it.",
        ),
        key(
            "pressure",
            Kind::Number(Pressure, domain(1000.0, 2e5)),
            Need::Required,
            "\"29.6 kPa\"",
            "Pressure above that around it while it is pressurised: in a vacuum, its pressure.",
        ),
        key(
            "tank",
            Kind::Name(What::Tank),
            Need::Absent("an unlimited supply that is counted"),
            "\"suit_oxygen\"",
            "Its own tank, of oxygen: what it draws on outside and in a vacuum.",
        ),
        key(
            "supply",
            Kind::Name(What::Tank),
            Need::Absent("its own tank"),
            "\"oxygen\"",
            "The tank behind the umbilical, of oxygen: what it draws on inside, and is recharged from.",
        ),
        key(
            "ventilation",
            Kind::Number(VolumeFlow, FLOW_M3_S),
            Need::Default("\"0 L/min\"", "none unless it says so", false),
            "\"170 L/min\"",
            "Air of the place blown through it while it is worn ventilated.",
        ),
        key(
            "purge",
            Kind::Number(OXYGEN, GAS_RATE_MOL_S),
            Need::Default("\"0 kg/h\"", "none unless it says so", false),
            "\"3 kg/h\"",
            "Oxygen that flows through it while it is purged.",
        ),
        key(
            "leak",
            Kind::Number(OXYGEN, GAS_RATE_MOL_S),
            Need::Default("\"0 kg/h\"", "no leak", false),
            "\"6 g/h\"",
            "What it loses at its pressure in a vacuum, filled with oxygen.",
        ),
        key(
            "temperature",
            Kind::Number(Temperature, TEMPERATURE_K),
            Need::Absent("that of [air]"),
            "\"24 degC\"",
            "Temperature of its gas. It stays as it is.",
        ),
        key(
            "washout",
            Kind::Table(&WASHOUT),
            Need::Absent("its wearer breathes its gas as it is"),
            "{ adds = \"1.2 mmHg\", at = \"0.5 L/min STPD\" }",
            "What the wearer's own breath adds to the CO2 that they breathe.",
        ),
    ],
};
