//! Limits for a ground mock-up with people in it: occupational values of the United States.
//!
//! They bound what a workplace may do, not what a test may do to volunteers: abort limits belong far below the
//! 15-minute value and the ceiling.

use crate::limits::set::{LimitSet, Scope, SetRule, SetStatistic};
use crate::limits::{Bound, Quantity};

/// Ground mock-up with people in it.
pub const MOCK_UP: LimitSet = LimitSet {
    name: "mock-up",
    title: "Ground mock-up with people in it",
    about: "People at work in a closed mock-up on the ground: the occupational values of the United States. \
            It authorises nothing: tests with people follow local codes and licensed practice, with \
            independent monitors and abort limits.",
    rules: RULES,
};

const RULES: &[SetRule] = &[
    SetRule {
        id: "co2-shift",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Shift { length: "8 h" },
        bound: Bound::AtMost,
        value: "5000 ppm",
        source: "OSHA 29 CFR 1910.1000 table Z-1; ACGIH TLV-TWA; NIOSH REL",
        from_memory: false,
        note: "A sum over the shift divided by 8 h, not a moving mean: two hours at 20,000 ppm fill it.",
    },
    SetRule {
        id: "co2-15min",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Moving { window: "15 min" },
        bound: Bound::AtMost,
        value: "30000 ppm",
        source: "ACGIH TLV-STEL; NIOSH REL-ST",
        from_memory: false,
        note: "",
    },
    SetRule {
        id: "co2-ceiling",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "40000 ppm",
        source: "NIOSH, immediately dangerous to life or health (IDLH)",
        from_memory: false,
        note: "A value for escape, not for work.",
    },
    SetRule {
        id: "oxygen-low",
        quantity: Quantity::OxygenFraction,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtLeast,
        value: "19.5 %",
        source: "OSHA 29 CFR 1910.146 and 1910.134, oxygen deficiency",
        from_memory: true,
        note: "By volume of the air as it is; here of the dry gas, which reads up to 0.5 percentage points \
            higher in warm, moist air.",
    },
    SetRule {
        id: "oxygen-high",
        quantity: Quantity::OxygenFraction,
        scope: Scope::EachCompartment,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "23.5 %",
        source: "OSHA 29 CFR 1910.146, oxygen enrichment",
        from_memory: true,
        note: "Against fire.",
    },
    SetRule {
        id: "apparent-temperature",
        quantity: Quantity::ApparentTemperature,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "90 degF",
        source: "National Weather Service heat index, where extreme caution begins",
        from_memory: true,
        note: "That it is a limit here is an assumption. Suited people carry their own heat: it says nothing of \
            the inside of a suit.",
    },
];
