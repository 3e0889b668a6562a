//! The air at the start, and the gas around the cabin.

use super::*;
use Dimension::{Fraction, PartialPressure, Pressure, Temperature};

const PRESSURE: &str = "Total pressure.";
const OXYGEN: &str = "Oxygen as a part of the dry gas, by amount.";
const CO2: &str = "Partial pressure of CO2; ppm and % are parts of 101.325 kPa.";
const HUMIDITY: &str = "Relative humidity over water at the air temperature.";

/// `[air]`.
pub static AIR: Section = Section {
    path: "air",
    meaning: "The air that every compartment starts with unless it says otherwise. The rest of the gas is diluent (nitrogen).",
    keys: &[
        key(
            "pressure",
            Kind::Number(Pressure, PRESSURE_PA),
            Need::Required,
            "\"56.5 kPa\"",
            PRESSURE,
        ),
        key(
            "oxygen",
            Kind::Number(Fraction, PART),
            Need::Required,
            "\"34 %\"",
            OXYGEN,
        ),
        key(
            "co2",
            Kind::Number(PartialPressure, PARTIAL_PA),
            Need::Required,
            "\"0.5 mmHg\"",
            CO2,
        ),
        key(
            "humidity",
            Kind::Number(Fraction, PART),
            Need::Default("\"45 %\"", "assumption: the middle of the comfortable range", false),
            "\"45 %\"",
            HUMIDITY,
        ),
        key(
            "temperature",
            Kind::Number(Temperature, TEMPERATURE_K),
            Need::Default("\"22 degC\"", "assumption: usual cabin temperature", false),
            "\"22 degC\"",
            "Air temperature. It stays as it is where the compartment has no `heat`.",
        ),
    ],
};

/// `[outside]`.
pub static OUTSIDE: Section = Section {
    path: "outside",
    meaning: "The gas around the cabin: the room around a mock-up, supply air. Without this table, outside is a vacuum.",
    keys: &[
        key(
            "pressure",
            Kind::Number(Pressure, PRESSURE_PA),
            Need::Required,
            "\"101.3 kPa\"",
            PRESSURE,
        ),
        key(
            "oxygen",
            Kind::Number(Fraction, PART),
            Need::Default("\"20.95 %\"", "dry air, US Standard Atmosphere 1976", true),
            "\"20.95 %\"",
            OXYGEN,
        ),
        key(
            "co2",
            Kind::Number(PartialPressure, PARTIAL_PA),
            Need::Default("\"420 ppm\"", "clean outdoor air of the 2020s (NOAA, Mauna Loa)", true),
            "\"420 ppm\"",
            CO2,
        ),
        key(
            "humidity",
            Kind::Number(Fraction, PART),
            Need::Default("\"45 %\"", "assumption", false),
            "\"45 %\"",
            HUMIDITY,
        ),
        key(
            "temperature",
            Kind::Number(Temperature, TEMPERATURE_K),
            Need::Default("\"22 degC\"", "assumption", false),
            "\"22 degC\"",
            "Its temperature.",
        ),
    ],
};

/// `compartments.X.air`.
pub static COMPARTMENT_AIR: Section = Section {
    path: "compartments.X.air",
    meaning: "What this compartment's air has of its own at the start.",
    keys: &[
        key(
            "pressure",
            Kind::Number(Pressure, PRESSURE_PA),
            Need::Absent("that of [air]"),
            "\"56.5 kPa\"",
            PRESSURE,
        ),
        key(
            "oxygen",
            Kind::Number(Fraction, PART),
            Need::Absent("that of [air]"),
            "\"30 %\"",
            OXYGEN,
        ),
        key(
            "co2",
            Kind::Number(PartialPressure, PARTIAL_PA),
            Need::Absent("that of [air]"),
            "\"1 mmHg\"",
            CO2,
        ),
        key(
            "humidity",
            Kind::Number(Fraction, PART),
            Need::Absent("that of [air]"),
            "\"30 %\"",
            HUMIDITY,
        ),
        key(
            "temperature",
            Kind::Number(Temperature, TEMPERATURE_K),
            Need::Absent("that of [air]"),
            "\"20 degC\"",
            "Air temperature. It stays as it is where the compartment has no `heat`.",
        ),
    ],
};
