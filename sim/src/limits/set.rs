//! Named sets of limits: rules as data, with their values as text, their sources and what to know about them.
//!
//! Values are text with a unit, read like a scenario's own, so a set and a scenario cannot differ in meaning. CO2
//! limits are partial pressures: ppm and percent mean parts of 101.325 kPa. Every set has both an average and a
//! ceiling of CO2: without a ceiling 20 mmHg for five minutes passes any average.
//!
//! A set is a starting point for a design. Limits for people are set by the responsible medical and safety authority.

use super::sets::{CONTINGENCY_STAY, MOCK_UP, SEALED_REFUGE, SURFACE_SORTIE};
use super::{Bound, Quantity};

/// Whose air a set's rule is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// The air that each person breathes.
    BreathedAir,
    /// The air of each compartment, occupied or not.
    EachCompartment,
}

/// Over which time a set's rule is judged; times as text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SetStatistic {
    /// Every instant.
    Instant,
    /// The mean over the last `window`.
    Moving {
        /// "1 h".
        window: &'static str,
    },
    /// The sum over each 24 h from the start, divided by `length`.
    Shift {
        /// "8 h".
        length: &'static str,
    },
    /// The mean over the run.
    Mission,
    /// Time beyond `threshold`; the rule's value is then a time.
    Allowance {
        /// "75 %".
        threshold: &'static str,
        /// Each stretch alone; else all of the run adds up.
        each: bool,
    },
}

/// One rule of a named set.
#[derive(Clone, Copy, Debug)]
pub struct SetRule {
    /// Its id, unique in the set; a scenario's rule of the same id replaces it.
    pub id: &'static str,
    /// What is judged.
    pub quantity: Quantity,
    /// Whose.
    pub scope: Scope,
    /// Over which time.
    pub statistic: SetStatistic,
    /// Which side is good; for an allowance, which side of its threshold.
    pub bound: Bound,
    /// The number with its unit, "3 mmHg"; a time for an allowance.
    pub value: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// The source was recalled, not re-read, or the rule is an assumption.
    pub from_memory: bool,
    /// What to know about it; may be empty.
    pub note: &'static str,
}

impl SetRule {
    /// In words: "CO2 partial pressure, mean over 1 h, at most 3 mmHg".
    #[must_use]
    pub fn words(&self) -> String {
        let what = self.quantity.words();
        let side = match self.bound {
            Bound::AtMost => "at most",
            Bound::AtLeast => "at least",
        };
        let value = self.value;
        match self.statistic {
            SetStatistic::Instant => format!("{what}, at every instant, {side} {value}"),
            SetStatistic::Moving { window } => format!("{what}, mean over {window}, {side} {value}"),
            SetStatistic::Shift { length } => format!("{what}, sum over a day divided by {length}, {side} {value}"),
            SetStatistic::Mission => format!("{what}, mean over the run, {side} {value}"),
            SetStatistic::Allowance { threshold, each } => {
                let beyond = match self.bound {
                    Bound::AtMost => "above",
                    Bound::AtLeast => "below",
                };
                let over = if each { "at a stretch" } else { "in all" };
                format!("{what} {beyond} {threshold}, for at most {value} {over}")
            }
        }
    }
}

/// A named set of limits.
#[derive(Clone, Copy, Debug)]
pub struct LimitSet {
    /// Its name in scenarios.
    pub name: &'static str,
    /// Its title.
    pub title: &'static str,
    /// What it is for, and what it is not.
    pub about: &'static str,
    /// Its rules.
    pub rules: &'static [SetRule],
}

/// Every named set.
static SETS: [LimitSet; 4] = [SURFACE_SORTIE, CONTINGENCY_STAY, MOCK_UP, SEALED_REFUGE];

/// Every named set.
#[must_use]
pub fn sets() -> &'static [LimitSet] {
    &SETS
}

/// The named set of this name.
#[must_use]
pub fn set(name: &str) -> Option<&'static LimitSet> {
    SETS.iter().find(|set| set.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_set_has_an_average_and_a_ceiling_of_co2() {
        for set in sets() {
            let co2 = |ceiling: bool| {
                set.rules.iter().any(|rule| {
                    rule.quantity == Quantity::Co2
                        && rule.bound == Bound::AtMost
                        && (rule.statistic == SetStatistic::Instant) == ceiling
                })
            };
            assert!(co2(true) && co2(false), "{}", set.name);
        }
    }

    #[test]
    fn every_rule_is_whole() {
        for set in sets() {
            assert!(!set.title.is_empty() && !set.about.is_empty());
            for (i, rule) in set.rules.iter().enumerate() {
                assert!(
                    !rule.id.is_empty() && !rule.source.is_empty(),
                    "{} {}",
                    set.name,
                    rule.id
                );
                assert!(
                    set.rules[..i].iter().all(|other| other.id != rule.id),
                    "{} {}",
                    set.name,
                    rule.id
                );
                let (number, unit) = rule.value.split_once(' ').expect("a number and a unit");
                assert!(
                    number.parse::<f64>().is_ok() && !unit.is_empty(),
                    "{} {}",
                    set.name,
                    rule.id
                );
                let averaged = !matches!(rule.statistic, SetStatistic::Instant | SetStatistic::Allowance { .. });
                assert!(!averaged || rule.quantity.is_linear(), "{} {}", set.name, rule.id);
            }
        }
    }

    #[test]
    fn rules_read_as_sentences() {
        let sortie = set("surface-sortie").expect("built in");
        let words = |id: &str| sortie.rules.iter().find(|rule| rule.id == id).map(SetRule::words);
        assert_eq!(
            words("co2-1h").as_deref(),
            Some("CO2 partial pressure, mean over 1 h, at most 3 mmHg")
        );
        assert_eq!(
            words("humidity-above-75").as_deref(),
            Some("relative humidity above 75 %, for at most 24 h in all")
        );
        assert!(set("nowhere").is_none());
    }
}
