//! Removal devices, one section for each family, and what they share; those with a loading have files of their own.

use super::*;
use crate::air::Species;
use Dimension::{Fraction, Power, Temperature, Time, VolumeFlow};

pub(super) const KIND: Key = key(
    "kind",
    Kind::Word(&["flow-through", "curve", "condenser", "sorbent", "swing-bed"]),
    Need::Required,
    "\"flow-through\"",
    "The family: flow-through, curve, condenser, sorbent or swing-bed. Each has its own keys.",
);
pub(super) const SERVES: Key = key(
    "serves",
    Kind::Name(What::Gas),
    Need::Required,
    "\"cabin\"",
    "The compartment (or the suit, \"suit:lead\") whose air it takes.",
);
pub(super) const FLOW: Key = key(
    "flow",
    Kind::Number(VolumeFlow, FLOW_M3_S),
    Need::Absent("that of its `fan`"),
    "\"0.72 m3/min\"",
    "Actual volume at the inlet.",
);
pub(super) const FAN_KEY: Key = key(
    "fan",
    Kind::Name(What::Fan),
    Need::Absent("its own `flow`"),
    "\"main\"",
    "The fan that gives its flow, in place of `flow`. Devices of one fan serve one compartment.",
);
pub(super) const FAN_PART: Key = key(
    "fan_part",
    Kind::Number(Fraction, PART),
    Need::Absent("all of it, through one device after the other"),
    "\"40 %\"",
    "Part of the fan's flow that it is given.",
);
pub(super) const POWER: Key = key(
    "power",
    Kind::Number(Power, POWER_W),
    Need::Default("\"0 W\"", "assumption: no heat that counts", false),
    "\"35 W\"",
    "Electric power while on: heat to the air, where that has a heat balance.",
);
pub(super) const ON: Key = key(
    "on",
    Kind::Flag,
    Need::Default("true", "a device runs", false),
    "true",
    "Whether it is on at the start.",
);
const CYCLE_KEY: Key = key(
    "cycle",
    Kind::Table(&CYCLE),
    Need::Absent("no turns"),
    "{ every = \"6.5 min\", factors = [\"100 %\", \"92 %\"] }",
    "Turns that scale what it takes.",
);

/// `removal.X` of kind flow-through.
pub static FLOW_THROUGH: Section = Section {
    path: "removal.X",
    meaning: "Takes a fixed part of the CO2 and of the water out of a fixed flow.",
    keys: &[
        KIND,
        SERVES,
        FLOW,
        FAN_KEY,
        FAN_PART,
        key(
            "co2_efficiency",
            Kind::Number(Fraction, PART),
            Need::Default("\"0 %\"", "takes none unless it says so", false),
            "{ triangular = [\"78 %\", \"86 %\", \"91 %\"] }",
            "Part of the CO2 at the inlet that is taken.",
        ),
        key(
            "water_efficiency",
            Kind::Number(Fraction, PART),
            Need::Default("\"0 %\"", "takes none unless it says so", false),
            "\"25 %\"",
            "Part of the water vapour at the inlet that is taken.",
        ),
        POWER,
        ON,
        CYCLE_KEY,
    ],
};

/// `removal.X` of kind curve.
pub static CURVE: Section = Section {
    path: "removal.X",
    meaning: "Takes a rate that depends on the partial pressure at its inlet: linear between the points, from zero at zero, \
              constant past the last.",
    keys: &[
        KIND,
        SERVES,
        key(
            "co2",
            Kind::Points(Species::Co2.molar_mass_kg_mol()),
            Need::Absent("takes none"),
            "[[\"2 mmHg\", \"1.1 kg/d\"], [\"4 mmHg\", \"1.6 kg/d\"]]",
            "Pairs of CO2 partial pressure and CO2 taken, pressures rising.",
        ),
        key(
            "water",
            Kind::Points(Species::Water.molar_mass_kg_mol()),
            Need::Absent("takes none"),
            "[[\"1 kPa\", \"0.8 kg/d\"]]",
            "Pairs of vapour pressure and water taken, pressures rising.",
        ),
        key(
            "flow",
            Kind::Number(VolumeFlow, FLOW_M3_S),
            Need::Absent("not checked"),
            "\"1.5 m3/min\"",
            "Actual volume at the inlet: only to check that no point takes more than that flow carries.",
        ),
        FAN_KEY,
        FAN_PART,
        POWER,
        ON,
        CYCLE_KEY,
    ],
};

/// `removal.X` of kind condenser.
pub static CONDENSER: Section = Section {
    path: "removal.X",
    meaning: "Cools a flow below its dew point and takes the water that falls out.",
    keys: &[
        KIND,
        SERVES,
        FLOW,
        FAN_KEY,
        FAN_PART,
        key(
            "bypass",
            Kind::Number(Fraction, PART),
            Need::Default("\"0 %\"", "all of the flow meets the coil", false),
            "\"15 %\"",
            "Part of the flow that misses the coil.",
        ),
        key(
            "coil_temperature",
            Kind::Number(Temperature, TEMPERATURE_K),
            Need::Required,
            "\"7 degC\"",
            "Temperature of the coil: the dew point of the air that met it.",
        ),
        key(
            "carry_over",
            Kind::Number(Fraction, PART),
            Need::Default("\"0 %\"", "assumption: all of it is drained", false),
            "\"5 %\"",
            "Part of the condensate that the flow carries over: droplets that evaporate in the room.",
        ),
        POWER,
        ON,
        CYCLE_KEY,
    ],
};

/// `removal.X.cycle`.
pub static CYCLE: Section = Section {
    path: "removal.X.cycle",
    meaning: "Turns of equal length, each with a factor on the efficiencies (or the rates of a curve, or a condenser's flow). \
              The first starts at time zero, and they go round.",
    keys: &[
        key(
            "every",
            Kind::Number(Time, SPAN_S),
            Need::Required,
            "\"6.5 min\"",
            "Length of one turn.",
        ),
        key(
            "factors",
            Kind::Numbers(Fraction, domain(0.0, 10.0)),
            Need::Required,
            "[\"100 %\", \"92 %\"]",
            "Factor of each turn; times an efficiency, at most 1.",
        ),
    ],
};
