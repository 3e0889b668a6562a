//! Published levels of CO2 and of low oxygen at which something is reported of people, or a workplace draws a line.
//!
//! They are no limits of a scenario and no medical claim: what a source says, in words of ours, with the source beside it. Each is judged at
//! every instant on the air that a person breathes, which is stricter than an average that a source may mean; its words say so.
//!
//! ```text
//! p = parts of 101.325 kPa        3,000 ppm = 303.975 Pa        19.5 % = 19,758.375 Pa
//! ```
//!
//! CO2 and oxygen act by partial pressure, so ppm and percent of sea-level air are turned into Pa, as everywhere here; none of the sources
//! was written for a cabin at another pressure, which is an assumption. What stands on memory or on a quotation is marked.

use super::{Bound, Quantity, Rule, Statistic, Subject};

/// Standard pressure, Pa: parts are parts of this.
const STANDARD_PA: f64 = 101_325.0;

/// A published level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EffectLevel {
    /// Its id, unique among them.
    pub id: &'static str,
    /// `Co2` or `Oxygen`.
    pub quantity: Quantity,
    /// Beyond is above (`AtMost`) or below (`AtLeast`).
    pub bound: Bound,
    /// Parts of standard pressure.
    pub parts: f64,
    /// The level as the source writes it.
    pub level: &'static str,
    /// What the source says of it, in our words.
    pub says: &'static str,
    /// The source.
    pub source: &'static str,
    /// The source was recalled or quoted from another, not read.
    pub from_memory: bool,
}

impl EffectLevel {
    /// The level as a partial pressure, Pa.
    #[must_use]
    pub fn pressure_pa(&self) -> f64 {
        self.parts * STANDARD_PA
    }

    /// The rule that finds when a person's air is beyond it.
    #[must_use]
    pub fn rule(&self, person: usize) -> Rule {
        Rule {
            quantity: self.quantity,
            subject: Subject::Person(person),
            statistic: Statistic::Instant,
            bound: self.bound,
            limit: self.pressure_pa(),
        }
    }
}

/// Reports from crews of a space station, as they are quoted in the trade.
const STATION: &str = "reports of station crews, as quoted in the trade (the reports themselves were not read)";

/// The levels, CO2 upwards, then oxygen.
pub const EFFECT_LEVELS: [EffectLevel; 7] = [
    EffectLevel {
        id: "co2-fatigue",
        quantity: Quantity::Co2,
        bound: Bound::AtMost,
        parts: 0.003,
        level: "3000 ppm",
        says: "from about 3000 to 3500 ppm crews report fatigue",
        source: STATION,
        from_memory: true,
    },
    EffectLevel {
        id: "co2-missed-steps",
        quantity: Quantity::Co2,
        bound: Bound::AtMost,
        parts: 0.0035,
        level: "3500 ppm",
        says: "from about 3500 to 4000 ppm steps of a procedure are missed or take long",
        source: STATION,
        from_memory: true,
    },
    EffectLevel {
        id: "co2-headache",
        quantity: Quantity::Co2,
        bound: Bound::AtMost,
        parts: 0.004,
        level: "4000 ppm",
        says: "above about 4000 to 4500 ppm headache is reported",
        source: STATION,
        from_memory: true,
    },
    EffectLevel {
        id: "co2-shift",
        quantity: Quantity::Co2,
        bound: Bound::AtMost,
        parts: 0.005,
        level: "5000 ppm",
        says: "the most that a workplace may have as the mean of an 8 h shift (here at an instant, which is stricter)",
        source: "OSHA PEL, ACGIH TLV-TWA",
        from_memory: true,
    },
    EffectLevel {
        id: "co2-short-term",
        quantity: Quantity::Co2,
        bound: Bound::AtMost,
        parts: 0.03,
        level: "30000 ppm",
        says: "the most that a workplace may have as the mean of 15 min (here at an instant, which is stricter)",
        source: "ACGIH TLV-STEL, NIOSH REL-ST",
        from_memory: true,
    },
    EffectLevel {
        id: "co2-escape",
        quantity: Quantity::Co2,
        bound: Bound::AtMost,
        parts: 0.04,
        level: "40000 ppm",
        says: "called immediately dangerous to life or health: a value for escape, not for work",
        source: "NIOSH IDLH",
        from_memory: true,
    },
    EffectLevel {
        id: "oxygen-deficient",
        quantity: Quantity::Oxygen,
        bound: Bound::AtLeast,
        parts: 0.195,
        level: "19.5 %",
        says: "air with less than 19.5 % oxygen by volume is called oxygen-deficient; taken here as its partial pressure at sea \
               level, about 148 mmHg, which an atmosphere made for sorties may be below by design",
        source: "29 CFR 1910.134 (b)",
        from_memory: true,
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_are_partial_pressures_and_rise() {
        let [fatigue, .., oxygen] = EFFECT_LEVELS;
        // By hand: 0.003 x 101,325 Pa; 0.195 x 760 mmHg = 148.2 mmHg of 133.322 Pa.
        assert!((fatigue.pressure_pa() - 303.975).abs() < 1e-9);
        assert!((oxygen.pressure_pa() / 133.322 - 148.2).abs() < 0.01);
        let co2 = &EFFECT_LEVELS[..6];
        assert!(
            co2.windows(2)
                .all(|pair| pair[0].parts < pair[1].parts && pair[1].quantity == Quantity::Co2)
        );
    }

    #[test]
    fn each_has_an_id_of_its_own_words_and_a_source() {
        for (index, level) in EFFECT_LEVELS.iter().enumerate() {
            assert!(!level.says.is_empty() && !level.source.is_empty(), "{}", level.id);
            assert!(
                EFFECT_LEVELS[..index].iter().all(|other| other.id != level.id),
                "{}",
                level.id
            );
        }
        let rule = EFFECT_LEVELS[6].rule(2);
        assert_eq!((rule.subject, rule.bound), (Subject::Person(2), Bound::AtLeast));
    }
}
