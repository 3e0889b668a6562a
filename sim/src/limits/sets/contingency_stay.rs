//! Limits for a contingency stay: the spacecraft maximum allowable concentrations (SMAC) of CO2, and a floor and a
//! ceiling for what else ends a stay.
//!
//! The 1 h and 24 h values are for emergencies: headache and hyperventilation are accepted there, harm is not.

use crate::limits::set::{LimitSet, Scope, SetRule, SetStatistic};
use crate::limits::{Bound, Quantity};

/// Contingency stay.
pub const CONTINGENCY_STAY: LimitSet = LimitSet {
    name: "contingency-stay",
    title: "Contingency stay",
    about: "People waiting for rescue or return in a spacecraft cabin: NASA's maximum allowable \
            concentrations of CO2 for 1 h, 24 h and 7 to 180 d, with an oxygen floor and a heat limit.",
    rules: RULES,
};

const RULES: &[SetRule] = &[
    SetRule {
        id: "co2-1h",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Moving { window: "1 h" },
        bound: Bound::AtMost,
        value: "2 %",
        source: "SMAC: National Research Council, Spacecraft Maximum Allowable Concentrations, vol. 5 (2008); JSC \
            20584",
        from_memory: true,
        note: "15.2 mmHg. For emergencies.",
    },
    SetRule {
        id: "co2-24h",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Moving { window: "24 h" },
        bound: Bound::AtMost,
        value: "1.3 %",
        source: "SMAC: National Research Council, Spacecraft Maximum Allowable Concentrations, vol. 5 (2008); JSC \
            20584",
        from_memory: true,
        note: "9.9 mmHg. For emergencies.",
    },
    SetRule {
        id: "co2-7d",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Moving { window: "7 d" },
        bound: Bound::AtMost,
        value: "0.7 %",
        source: "SMAC: National Research Council, Spacecraft Maximum Allowable Concentrations, vol. 5 (2008); JSC \
            20584",
        from_memory: true,
        note: "5.3 mmHg, the value for 7 to 180 d. Judged as a mean over the last 7 d; in a shorter stay the \
            air before the start counts at its initial value.",
    },
    SetRule {
        id: "co2-ceiling",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "3 %",
        source: "assumption: the occupational 15-minute value (NIOSH, ACGIH) taken as a ceiling",
        from_memory: true,
        note: "No SMAC is a ceiling. 22.8 mmHg.",
    },
    SetRule {
        id: "oxygen-low",
        quantity: Quantity::Oxygen,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtLeast,
        value: "15.2 kPa",
        source: "NASA-STD-3001 Vol. 2, V2 6003 (2.20 psi: one hour, longer when acclimatised)",
        from_memory: true,
        note: "Below it no length of stay is given.",
    },
    SetRule {
        id: "oxygen-fraction",
        quantity: Quantity::OxygenFraction,
        scope: Scope::EachCompartment,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "36 %",
        source: "assumption: as for a surface sortie",
        from_memory: true,
        note: "Against fire.",
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
        source: "NASA-STD-3001 Vol. 2, V2 6006 (relative humidity and its exposure times)",
        from_memory: true,
        note: "",
    },
    SetRule {
        id: "apparent-temperature",
        quantity: Quantity::ApparentTemperature,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "95 degF",
        source: "assumption: the value of 30 CFR part 7 for refuges",
        from_memory: true,
        note: "A heat-index value at rest; not a limit of any spacecraft standard.",
    },
];
