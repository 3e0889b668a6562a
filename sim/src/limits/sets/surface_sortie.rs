//! Limits for a surface sortie: NASA-STD-3001, Volume 2, with what it leaves to the programme marked as an assumption.
//!
//! The exploration atmosphere (56.5 kPa, 34 % oxygen) sits close to two of them by design: inspired oxygen is 128 mmHg
//! against 127, and the fraction is 34 % against 36.

use crate::limits::set::{LimitSet, Scope, SetRule, SetStatistic};
use crate::limits::{Bound, Quantity};

/// Surface sortie.
pub const SURFACE_SORTIE: LimitSet = LimitSet {
    name: "surface-sortie",
    title: "Surface sortie",
    about: "A few days in a lander, rover or small habitat from which people go out in suits, by NASA's \
            human-system standard. Written for an exploration atmosphere of about 56.5 kPa with 34 % oxygen; \
            other atmospheres need their own oxygen rules.",
    rules: RULES,
};

/// Source of the allowances on humidity.
const HUMIDITY_TIMES: &str = "NASA-STD-3001 Vol. 2, V2 6006 (relative humidity and its exposure times)";

/// What to know about them.
const HUMIDITY_NOTE: &str =
    "Cumulative over the run; the standard counts an exposure. Temperature within the comfort range.";

/// Source of the temperature range.
const COMFORT: &str = "NASA-STD-3001 Vol. 2, comfort range";

/// Source of the day means of humidity.
const HUMIDITY_DAY: &str = "NASA-STD-3001 Vol. 2, V2 6006 (average over each 24 h)";

const RULES: &[SetRule] = &[
    SetRule {
        id: "co2-1h",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Moving { window: "1 h" },
        bound: Bound::AtMost,
        value: "3 mmHg",
        source: "NASA-STD-3001 Vol. 2, V2 6004",
        from_memory: false,
        note: "The standard's only CO2 number: an average over one hour in the habitable volume.",
    },
    SetRule {
        id: "co2-ceiling",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "7.6 mmHg",
        source: "shuttle-era cabin and suit flight rule, 1 % of sea-level pressure",
        from_memory: true,
        note: "The standard states no ceiling. Without one a short, high exposure passes the average.",
    },
    SetRule {
        id: "humidity-24h-high",
        quantity: Quantity::Humidity,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Moving { window: "24 h" },
        bound: Bound::AtMost,
        value: "75 %",
        source: HUMIDITY_DAY,
        from_memory: true,
        note: "Judged as a moving mean, which is stricter than calendar days.",
    },
    SetRule {
        id: "humidity-24h-low",
        quantity: Quantity::Humidity,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Moving { window: "24 h" },
        bound: Bound::AtLeast,
        value: "25 %",
        source: HUMIDITY_DAY,
        from_memory: true,
        note: "",
    },
    SetRule {
        id: "humidity-above-75",
        quantity: Quantity::Humidity,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Allowance {
            threshold: "75 %",
            each: false,
        },
        bound: Bound::AtMost,
        value: "24 h",
        source: HUMIDITY_TIMES,
        from_memory: true,
        note: HUMIDITY_NOTE,
    },
    SetRule {
        id: "humidity-above-85",
        quantity: Quantity::Humidity,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Allowance {
            threshold: "85 %",
            each: false,
        },
        bound: Bound::AtMost,
        value: "12 h",
        source: HUMIDITY_TIMES,
        from_memory: true,
        note: HUMIDITY_NOTE,
    },
    SetRule {
        id: "humidity-above-95",
        quantity: Quantity::Humidity,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Allowance {
            threshold: "95 %",
            each: false,
        },
        bound: Bound::AtMost,
        value: "8 h",
        source: HUMIDITY_TIMES,
        from_memory: true,
        note: HUMIDITY_NOTE,
    },
    SetRule {
        id: "humidity-below-25",
        quantity: Quantity::Humidity,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Allowance {
            threshold: "25 %",
            each: false,
        },
        bound: Bound::AtLeast,
        value: "4 h",
        source: HUMIDITY_TIMES,
        from_memory: true,
        note: HUMIDITY_NOTE,
    },
    SetRule {
        id: "humidity-below-15",
        quantity: Quantity::Humidity,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Allowance {
            threshold: "15 %",
            each: false,
        },
        bound: Bound::AtLeast,
        value: "2 h",
        source: HUMIDITY_TIMES,
        from_memory: true,
        note: HUMIDITY_NOTE,
    },
    SetRule {
        id: "humidity-below-5",
        quantity: Quantity::Humidity,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Allowance {
            threshold: "5 %",
            each: false,
        },
        bound: Bound::AtLeast,
        value: "1 h",
        source: HUMIDITY_TIMES,
        from_memory: true,
        note: HUMIDITY_NOTE,
    },
    SetRule {
        id: "oxygen-low",
        quantity: Quantity::Oxygen,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtLeast,
        value: "16.8 kPa",
        source: "NASA-STD-3001 Vol. 2, V2 6003 (2.44 psi: indefinite with measures against mountain sickness)",
        from_memory: true,
        note: "The nominal range begins at 18.6 kPa (2.70 psi).",
    },
    SetRule {
        id: "oxygen-high",
        quantity: Quantity::Oxygen,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "23.7 kPa",
        source: "NASA-STD-3001 Vol. 2, V2 6003 (3.44 psi: end of the nominal range)",
        from_memory: true,
        note: "Above it the standard allows limited times, 14 d up to 33 kPa.",
    },
    SetRule {
        id: "inspired-oxygen",
        quantity: Quantity::InspiredOxygen,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtLeast,
        value: "127 mmHg",
        source: "NASA-STD-3001 Vol. 2, V2 6003 as revised to inspired oxygen (Rev. C)",
        from_memory: true,
        note: "At a fixed oxygen partial pressure it is lowest in dry air: 18.8 kPa in 56.5 kPa at 22 C gives \
               128.1 mmHg at 45 % humidity and 126.9 at 25 %.",
    },
    SetRule {
        id: "oxygen-fraction",
        quantity: Quantity::OxygenFraction,
        scope: Scope::EachCompartment,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "36 %",
        source: "assumption: materials proven at 34 % with a control tolerance of 2 %",
        from_memory: true,
        note: "Against fire. A cabin whose materials are proven for 30 % only (the 70.3 kPa regime) must say so \
            in a rule of this id.",
    },
    SetRule {
        id: "pressure-low",
        quantity: Quantity::Pressure,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtLeast,
        value: "20.7 kPa",
        source: "NASA-STD-3001 Vol. 2, total pressure for indefinite exposure (3.0 psi)",
        from_memory: true,
        note: "",
    },
    SetRule {
        id: "pressure-high",
        quantity: Quantity::Pressure,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "103.4 kPa",
        source: "NASA-STD-3001 Vol. 2, total pressure for indefinite exposure (15.0 psi)",
        from_memory: true,
        note: "",
    },
    SetRule {
        id: "temperature-low",
        quantity: Quantity::Temperature,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtLeast,
        value: "18 degC",
        source: COMFORT,
        from_memory: true,
        note: "",
    },
    SetRule {
        id: "temperature-high",
        quantity: Quantity::Temperature,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "27 degC",
        source: COMFORT,
        from_memory: true,
        note: "",
    },
];
