//! Limits for a sealed refuge: 30 CFR part 7, subpart L, refuge alternatives for underground coal mines.
//!
//! Percentages are by volume there and parts of 101.325 kPa here: in a deep mine, where the air is denser, the same
//! partial pressure is a smaller percentage.

use crate::limits::set::{LimitSet, Scope, SetRule, SetStatistic};
use crate::limits::{Bound, Quantity};

/// Sealed refuge.
pub const SEALED_REFUGE: LimitSet = LimitSet {
    name: "sealed-refuge",
    title: "Sealed refuge",
    about: "A sealed shelter in which people wait for rescue, by the United States' rule for mine refuges: \
            30 CFR part 7.",
    rules: RULES,
};

const RULES: &[SetRule] = &[
    SetRule {
        id: "co2-mean",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Mission,
        bound: Bound::AtMost,
        value: "1 %",
        source: "30 CFR part 7, subpart L (refuge alternatives), removal of harmful gas",
        from_memory: true,
        note: "A mean over the whole stay: it lets the end be worse than the start. The excursion limit bounds \
            how much.",
    },
    SetRule {
        id: "co2-excursion",
        quantity: Quantity::Co2,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "2.5 %",
        source: "30 CFR part 7, subpart L (refuge alternatives), removal of harmful gas",
        from_memory: true,
        note: "19 mmHg.",
    },
    SetRule {
        id: "oxygen-low",
        quantity: Quantity::OxygenFraction,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtLeast,
        value: "18.5 %",
        source: "30 CFR part 7, subpart L (refuge alternatives), breathable air",
        from_memory: true,
        note: "",
    },
    SetRule {
        id: "oxygen-high",
        quantity: Quantity::OxygenFraction,
        scope: Scope::BreathedAir,
        statistic: SetStatistic::Instant,
        bound: Bound::AtMost,
        value: "23 %",
        source: "30 CFR part 7, subpart L (refuge alternatives), breathable air",
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
        source: "30 CFR part 7, subpart L (refuge alternatives), general requirements",
        from_memory: true,
        note: "The rule names an apparent temperature; it is computed here as the National Weather Service does \
            its heat index.",
    },
];
