//! People, efforts, equipment.

use super::*;
use crate::air::Species;
use Dimension::{
    FitnessUptake, Fraction, GasRate, Length, Mass, MetabolicPower, Number, PartialPressure, PerTime, Power, Time,
    Volume,
};

const CO2: Dimension = GasRate(Species::Co2.molar_mass_kg_mol());
const OXYGEN: Dimension = GasRate(Species::Oxygen.molar_mass_kg_mol());
const WATER: Dimension = GasRate(Species::Water.molar_mass_kg_mol());
const POWER_W: Domain = domain(0.0, 5000.0);
const REFERENCE: &str = "reference person of the NASA activity table (SP-2010-3407)";

/// `crew.X`.
pub static PERSON: Section = Section {
    path: "crew.X",
    meaning: "One of the crew. Built-in efforts are stated for a reference person and scale to this one.",
    keys: &[
        key(
            "mass",
            Kind::Number(Mass, domain(20.0, 300.0)),
            Need::Default("\"82 kg\"", REFERENCE, true),
            "{ normal = [\"82 kg\", \"2 kg\"], within = [\"74 kg\", \"90 kg\"] }",
            "Body mass.",
        ),
        key(
            "height",
            Kind::Number(Length, domain(1.0, 2.5)),
            Need::Default("\"1.78 m\"", REFERENCE, true),
            "\"1.72 m\"",
            "Stature.",
        ),
        key(
            "age",
            Kind::Number(Number, domain(10.0, 110.0)),
            Need::Default("40", REFERENCE, true),
            "41",
            "Age in years.",
        ),
        key(
            "sex",
            Kind::Word(&["male", "female"]),
            Need::Default("\"male\"", REFERENCE, true),
            "\"female\"",
            "For resting energy.",
        ),
        key(
            "fitness",
            Kind::Number(FitnessUptake, domain(1.0e-7, 2.0e-6)),
            Need::Absent("as far above the reference person's as the resting energy"),
            "\"38 mL/kg/min\"",
            "Maximal oxygen uptake for body mass; scales exercise.",
        ),
        key(
            "start",
            Kind::Name(What::Compartment),
            Need::Absent("`home`, else the first compartment"),
            "\"cabin\"",
            "Where they are at time zero.",
        ),
        key(
            "home",
            Kind::Name(What::Compartment),
            Need::Absent("they stay where the last task left them"),
            "\"cabin\"",
            "Where they go off task.",
        ),
        key(
            "idle",
            Kind::Name(What::Effort),
            Need::Default("\"rest\"", "a person off task rests", false),
            "\"rest\"",
            "Effort off task.",
        ),
        key(
            "lags",
            Kind::Table(&PERSON_LAGS),
            Need::Absent("those of [lags]"),
            "{ gas = \"45 s\" }",
            "Lags of their own.",
        ),
        key(
            "respiratory_quotient",
            Kind::Number(Number, QUOTIENT),
            Need::Absent("the top level's"),
            "0.85",
            "Their own, in efforts given by power.",
        ),
        key(
            "tissue_diluent",
            Kind::Number(PartialPressure, PARTIAL_PA),
            Need::Absent("that of the air they start in"),
            "\"36 kPa\"",
            "Partial pressure of diluent in their tissue at the start: higher for those who came from a higher pressure.",
        ),
        key(
            "runoff_to",
            Kind::Word(&["drained", "towel"]),
            Need::Default("\"drained\"", "assumption", false),
            "\"towel\"",
            "Where liquid sweat goes: away, or into a towel that dries into the room.",
        ),
    ],
};

/// `crew.X.lags`.
pub static PERSON_LAGS: Section = Section {
    path: "crew.X.lags",
    meaning: "Lags of this person.",
    keys: &[key(
        "gas",
        Kind::Number(Time, domain(1.0, 3600.0)),
        Need::Absent("that of [lags]"),
        "\"45 s\"",
        "Time constant of oxygen use and CO2 output.",
    )],
};

/// `efforts.X`.
pub static EFFORT: Section = Section {
    path: "efforts.X",
    meaning: "A class of metabolic load: like another effort, or by power, or by rates, or in stages of rates. Power and rates \
              are taken as they stand, for whoever does it; of rates, what is not given is 0, or as in the effort it is like.",
    keys: &[
        key(
            "like",
            Kind::Name(What::Effort),
            Need::Absent("none"),
            "\"nominal\"",
            "The effort it is like in all that is not said here.",
        ),
        key(
            "power",
            Kind::Number(MetabolicPower, POWER_W),
            Need::Absent("by rates, or as the other effort"),
            "{ triangular = [\"220 W\", \"310 W\", \"420 W\"] }",
            "Whole metabolic power; in met it goes with the body's surface.",
        ),
        key(
            "co2",
            Kind::Number(CO2, GAS_RATE_MOL_S),
            Need::Absent("0, or from power"),
            "\"1.00 kg/d\"",
            "CO2 given off.",
        ),
        key(
            "oxygen",
            Kind::Number(OXYGEN, GAS_RATE_MOL_S),
            Need::Absent("0, or from power"),
            "\"0.84 kg/d\"",
            "Oxygen used.",
        ),
        key(
            "vapour",
            Kind::Number(WATER, GAS_RATE_MOL_S),
            Need::Absent("0, or from power"),
            "\"1.8 kg/d\"",
            "Water vapour given off.",
        ),
        key(
            "runoff",
            Kind::Number(WATER, GAS_RATE_MOL_S),
            Need::Absent("0, or from power"),
            "\"0 kg/d\"",
            "Liquid sweat that runs off.",
        ),
        key(
            "sensible",
            Kind::Number(Power, POWER_W),
            Need::Absent("0, or from power"),
            "\"90 W\"",
            "Sensible heat.",
        ),
        key(
            "stages",
            Kind::Tables(&STAGE),
            Need::Absent("one stage"),
            "[{ for = \"15 min\", co2 = \"3 kg/d\" }, { co2 = \"1 kg/d\" }]",
            "Rates one after another; they start again whenever the effort is taken up.",
        ),
        key(
            "measured",
            Kind::Table(&MEASURED),
            Need::Absent("by power, rates or stages"),
            "{ data = \"climb.csv\", column = \"heart rate\" }",
            "A measured series that drives the load of whoever does it, from when the effort is taken up; when it has ended, its mean goes on.",
        ),
        key(
            "space",
            Kind::Number(Volume, domain(0.0, 1000.0)),
            Need::Absent("as the other effort, else as `nominal`"),
            "\"1.9 m3\"",
            "Volume that a person claims.",
        ),
        key(
            "respiratory_quotient",
            Kind::Number(Number, QUOTIENT),
            Need::Absent("the person's"),
            "0.95",
            "In this effort, if it is given by power.",
        ),
        key(
            "runoff_to",
            Kind::Word(&["drained", "towel"]),
            Need::Absent("as the person's"),
            "\"towel\"",
            "Where liquid sweat goes in this effort.",
        ),
    ],
};

/// `efforts.X.measured`.
pub static MEASURED: Section = Section {
    path: "efforts.X.measured",
    meaning: "A series of a person's heart rate (column in 1/min), oxygen uptake (L/min STPD, mL/kg/min) or metabolic power (W). A heart rate \
              becomes power by the relation of ISO 8996 for whoever does the task, or by a line of their own through an easy and a hard point. \
              The accuracy is drawn as a factor of all powers (`efforts.X.measured.factor`), once in a variation. The series already holds \
              the lag of heart and breath; that of [lags] comes on top.",
    keys: &[
        key(
            "data",
            Kind::Text,
            Need::Required,
            "\"climb.csv\"",
            "The file; the path goes from the scenario's folder.",
        ),
        key(
            "column",
            Kind::Text,
            Need::Required,
            "\"heart rate\"",
            "The column, by its name without the unit; its unit says what it is.",
        ),
        key(
            "time",
            Kind::Text,
            Need::Absent("time"),
            "\"time\"",
            "The column of times, which rise.",
        ),
        key(
            "step",
            Kind::Fixed(Time, domain(5.0, 3600.0)),
            Need::Default(
                "\"1 min\"",
                "assumption: shorter steps change no average that a limit asks for",
                false,
            ),
            "\"1 min\"",
            "Steps over which the series is averaged.",
        ),
        key(
            "resting_rate",
            Kind::Number(PerTime, domain(0.4, 2.5)),
            Need::Absent("70 1/min"),
            "\"62 1/min\"",
            "Heart rate at rest, for the relation of ISO 8996.",
        ),
        key(
            "easy_rate",
            Kind::Number(PerTime, domain(0.4, 4.0)),
            Need::Absent("ISO 8996"),
            "\"72 1/min\"",
            "Own line: heart rate at an easy effort.",
        ),
        key(
            "easy_power",
            Kind::Number(Power, POWER_W),
            Need::Absent("ISO 8996"),
            "\"110 W\"",
            "Own line: metabolic power there.",
        ),
        key(
            "hard_rate",
            Kind::Number(PerTime, domain(0.4, 4.0)),
            Need::Absent("ISO 8996"),
            "\"141 1/min\"",
            "Own line: heart rate at a hard effort.",
        ),
        key(
            "hard_power",
            Kind::Number(Power, POWER_W),
            Need::Absent("ISO 8996"),
            "\"540 W\"",
            "Own line: metabolic power there.",
        ),
        key(
            "accuracy",
            Kind::Fixed(Fraction, domain(0.0, 0.4)),
            Need::Absent("10 % of a heart rate, 5 % of oxygen uptake"),
            "\"8 %\"",
            "How far powers may be off, as two standard deviations.",
        ),
    ],
};

/// `efforts.X.stages`.
pub static STAGE: Section = Section {
    path: "efforts.X.stages",
    meaning: "A stage of an effort.",
    keys: &[
        key(
            "for",
            Kind::Number(Time, SPAN_S),
            Need::Absent("to the end of the effort"),
            "\"15 min\"",
            "How long; the last stage goes on.",
        ),
        key(
            "co2",
            Kind::Number(CO2, GAS_RATE_MOL_S),
            Need::Absent("0"),
            "\"7.2 kg/d\"",
            "CO2 given off.",
        ),
        key(
            "oxygen",
            Kind::Number(OXYGEN, GAS_RATE_MOL_S),
            Need::Absent("0"),
            "\"5.7 kg/d\"",
            "Oxygen used.",
        ),
        key(
            "vapour",
            Kind::Number(WATER, GAS_RATE_MOL_S),
            Need::Absent("0"),
            "\"6.6 kg/d\"",
            "Water vapour given off.",
        ),
        key(
            "runoff",
            Kind::Number(WATER, GAS_RATE_MOL_S),
            Need::Absent("0"),
            "\"0.2 kg/d\"",
            "Liquid sweat that runs off.",
        ),
        key(
            "sensible",
            Kind::Number(Power, POWER_W),
            Need::Absent("0"),
            "\"140 W\"",
            "Sensible heat.",
        ),
    ],
};

/// `equipment.X`.
pub static EQUIPMENT: Section = Section {
    path: "equipment.X",
    meaning: "Something that only so many tasks can use at a time.",
    keys: &[key(
        "count",
        Kind::Whole(0, 1000),
        Need::Default("1", "there is one of it", false),
        "1",
        "How many of it there are.",
    )],
};
