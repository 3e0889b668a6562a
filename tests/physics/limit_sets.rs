//! The named limit sets: the numbers that their sources are known for.

use breathroom_sim::limits::{Bound, Quantity, Scope, SetStatistic, set, sets};

fn rule(in_set: &str, id: &str) -> (SetStatistic, Bound, &'static str) {
    let set = set(in_set).expect("built in");
    let rule = set.rules.iter().find(|rule| rule.id == id).expect("in the set");
    (rule.statistic, rule.bound, rule.value)
}

/// NASA-STD-3001, Volume 2, V2 6004 (quoted): at most 3 mmHg, averaged over one hour.
#[test]
fn the_hour_of_a_sortie() {
    assert_eq!(
        rule("surface-sortie", "co2-1h"),
        (SetStatistic::Moving { window: "1 h" }, Bound::AtMost, "3 mmHg")
    );
}

/// Spacecraft maximum allowable concentrations of CO2 (National Research Council 2008): 1 h 2 %, 24 h 1.3 %, 7 to 180
/// d 0.7 %.
#[test]
fn the_concentrations_of_a_stay() {
    for (id, window, value) in [
        ("co2-1h", "1 h", "2 %"),
        ("co2-24h", "24 h", "1.3 %"),
        ("co2-7d", "7 d", "0.7 %"),
    ] {
        assert_eq!(
            rule("contingency-stay", id),
            (SetStatistic::Moving { window }, Bound::AtMost, value)
        );
    }
}

/// OSHA table Z-1 and ACGIH: 5,000 ppm over an 8-h shift, 30,000 ppm over 15 min; NIOSH: 40,000 ppm immediately
/// dangerous.
#[test]
fn the_workplace() {
    assert_eq!(
        rule("mock-up", "co2-shift"),
        (SetStatistic::Shift { length: "8 h" }, Bound::AtMost, "5000 ppm")
    );
    assert_eq!(
        rule("mock-up", "co2-15min"),
        (SetStatistic::Moving { window: "15 min" }, Bound::AtMost, "30000 ppm")
    );
    assert_eq!(
        rule("mock-up", "co2-ceiling"),
        (SetStatistic::Instant, Bound::AtMost, "40000 ppm")
    );
}

/// 30 CFR part 7: CO2 at most 1.0 % on the mean and 2.5 % at any time, oxygen 18.5 to 23 %, apparent temperature 95
/// degF.
#[test]
fn the_refuge() {
    assert_eq!(
        rule("sealed-refuge", "co2-mean"),
        (SetStatistic::Mission, Bound::AtMost, "1 %")
    );
    assert_eq!(
        rule("sealed-refuge", "co2-excursion"),
        (SetStatistic::Instant, Bound::AtMost, "2.5 %")
    );
    assert_eq!(
        rule("sealed-refuge", "oxygen-low"),
        (SetStatistic::Instant, Bound::AtLeast, "18.5 %")
    );
    assert_eq!(
        rule("sealed-refuge", "oxygen-high"),
        (SetStatistic::Instant, Bound::AtMost, "23 %")
    );
    assert_eq!(
        rule("sealed-refuge", "apparent-temperature"),
        (SetStatistic::Instant, Bound::AtMost, "95 degF")
    );
}

/// CO2 is about the air that people breathe, oxygen against fire about every compartment.
#[test]
fn whose_air() {
    for set in sets() {
        for rule in set.rules {
            if rule.quantity == Quantity::Co2 {
                assert_eq!(rule.scope, Scope::BreathedAir, "{} {}", set.name, rule.id);
            }
            if rule.note.contains("Against fire") {
                assert_eq!(rule.scope, Scope::EachCompartment, "{} {}", set.name, rule.id);
            }
        }
    }
}
