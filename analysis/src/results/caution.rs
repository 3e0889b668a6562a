//! The caution that every report and every printed answer carries, in one place so that none is without it.

use breathroom_sim::engine::Case;
use breathroom_sim::limits::Quantity;

/// What a result of this model is, and what it is not.
pub const CAUTION: &str = "Caution: this is the output of a model with stated assumptions (well-mixed compartments, ideal \
gas, fixed or lumped temperatures, crew loads from tables). It is a design aid, not a certification and no permission to \
close a door on people. Limits for people are set by the responsible medical and safety authority. Tests with people in a \
closed volume follow local codes and licensed practice, with independent O2 and CO2 monitors and abort limits.";

/// What is added where people change pressure.
pub const DECOMPRESSION: &str = "Pre-breathe lengths and tissue ratios here come from a single-compartment model: a planning \
aid, never a protocol. Decompression protocols are set by the responsible medical authority.";

/// The caution of a case: more where people wear suits, or what is in their tissue is judged.
#[must_use]
pub fn of(case: &Case) -> String {
    let judged = case.rules.iter().any(|rule| rule.quantity == Quantity::TissueRatio);
    if judged || !case.suits.is_empty() {
        format!("{CAUTION} {DECOMPRESSION}")
    } else {
        CAUTION.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::limits::{Bound, Rule, Statistic, Subject};

    use super::*;

    #[test]
    fn it_says_what_a_result_is_not() {
        for words in [
            "design aid",
            "not a certification",
            "no permission to close a door on people",
            "medical and safety authority",
            "independent O2 and CO2 monitors",
            "abort limits",
        ] {
            assert!(CAUTION.contains(words), "{words}");
        }
    }

    #[test]
    fn where_people_change_pressure_it_says_who_sets_the_protocol() {
        assert_eq!(of(&Case::default()), CAUTION);
        let tissue = Rule {
            quantity: Quantity::TissueRatio,
            subject: Subject::Person(0),
            statistic: Statistic::Instant,
            bound: Bound::AtMost,
            limit: 1.65,
        };
        let case = Case {
            rules: vec![tissue],
            ..Case::default()
        };
        let said = of(&case);
        assert!(said.starts_with(CAUTION));
        assert!(
            said.contains("planning aid") && said.contains("responsible medical authority"),
            "{said}"
        );
    }
}
