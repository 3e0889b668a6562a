//! Limits: sets, rules, subjects.

use super::*;
use crate::limits::{Bound, Quantity, Scope, Statistic, Subject, sets};
use crate::units::Time;

#[test]
fn the_words_for_quantities_are_all_of_them() {
    let names: Vec<&str> = Quantity::ALL.iter().map(|q| q.name()).collect();
    let keys::Kind::Word(words) = keys::RULE.key("quantity").expect("a key").kind else {
        panic!()
    };
    assert_eq!(words, names);
}

#[test]
fn every_rule_of_every_set_reads_for_each_person() {
    for set in sets() {
        let scenario = good(&with(&format!("[limits]\nuse = [\"{}\"]\n", set.name)), &[]);
        let rules = scenario.draw(&Medians).case.rules;
        assert_eq!(rules.len(), scenario.limits.len());
        for rule in set.rules {
            let found: Vec<usize> = (0..rules.len()).filter(|n| scenario.limits[*n].id == rule.id).collect();
            let subjects: Vec<Subject> = found.iter().map(|n| rules[*n].subject).collect();
            match rule.scope {
                Scope::BreathedAir => assert_eq!(subjects, [Subject::Person(0), Subject::Person(1)]),
                Scope::EachCompartment => assert_eq!(subjects, [Subject::Compartment(0)]),
            }
            let info = &scenario.limits[found[0]];
            assert_eq!(info.words, rule.words());
            assert_eq!(info.set.as_deref(), Some(set.name));
        }
    }
}

#[test]
fn a_rule_replaces_a_sets_rule_of_its_id() {
    let text = with(
        "[limits]\nuse = [\"surface-sortie\"]\n[[limits.rule]]\nid = \"co2-1h\"\nquantity = \"co2\"\naverage = \"2 h\"\nat_most = \"5 mmHg\"\n\
         where = \"cabin\"\nsource = \"mine\"\n",
    );
    let scenario = good(&text, &[]);
    let found: Vec<usize> = (0..scenario.limits.len())
        .filter(|n| scenario.limits[*n].id == "co2-1h")
        .collect();
    assert_eq!(found.len(), 1);
    let (info, rule) = (&scenario.limits[found[0]], scenario.draw(&Medians).case.rules[found[0]]);
    assert_eq!(
        (info.subject.as_str(), info.unit.symbol, info.set.as_deref()),
        ("cabin", "mmHg", None)
    );
    assert_eq!(info.words, "CO2 partial pressure, mean over 2 h, at most 5 mmHg");
    assert_eq!(
        rule.statistic,
        Statistic::Moving {
            window: Time::from_seconds(7200.0)
        }
    );
    assert_eq!((rule.subject, rule.bound), (Subject::Compartment(0), Bound::AtMost));
    assert!((rule.limit - 5.0 * 133.322).abs() < 1e-9);
}

#[test]
fn rules_of_two_sets_with_one_id_are_both_kept() {
    let scenario = good(
        &with("[limits]\nuse = [\"surface-sortie\", \"contingency-stay\"]\n"),
        &[],
    );
    let ids: Vec<&str> = scenario.limits.iter().map(|l| l.id.as_str()).collect();
    assert!(ids.contains(&"co2-1h") && ids.contains(&"contingency-stay.co2-1h"));
}

#[test]
fn an_allowance_is_shown_in_hours() {
    let text = with(
        "[[limits.rule]]\nid = \"wet\"\nquantity = \"humidity\"\nat_most = \"75 %\"\nallowed = \"24 h\"\nover = \"each\"\nsource = \"mine\"\n\
         [[limits.rule]]\nid = \"dew\"\nquantity = \"dew_point_gap\"\nat_least = \"0 K\"\nwhere = \"compartments\"\nsource = \"mine\"\n\
         [[limits.rule]]\nid = \"shift\"\nquantity = \"co2\"\nat_most = \"5000 ppm\"\nshift = \"8 h\"\nsource = \"mine\"\n\
         [[limits.rule]]\nid = \"run\"\nquantity = \"co2\"\nat_most = \"1 %\"\nmean = \"mission\"\nwhere = \"crew:second\"\nsource = \"mine\"\n",
    );
    let scenario = good(&text, &[]);
    let rules = scenario.draw(&Medians).case.rules;
    assert_eq!(
        rules[0].statistic,
        Statistic::Allowance {
            threshold: 0.75,
            each: true
        }
    );
    assert!((rules[0].limit - 86_400.0).abs() < 1e-9);
    assert_eq!(scenario.limits[0].unit.symbol, "h");
    assert_eq!(
        scenario.limits[0].words,
        "relative humidity above 75 %, for at most 24 h at a stretch"
    );
    assert!(scenario.limits[0].fraction_means_something && !scenario.limits[2].fraction_means_something);
    assert_eq!(rules[2].subject, Subject::Compartment(0));
    assert_eq!(
        rules[3].statistic,
        Statistic::Shift {
            length: Time::from_seconds(28_800.0)
        }
    );
    // 5,000 ppm of 101.325 kPa, whatever the cabin's pressure.
    assert!((rules[3].limit - 506.625).abs() < 1e-9);
    assert_eq!(
        (rules[5].statistic, rules[5].subject),
        (Statistic::Mission, Subject::Person(1))
    );
}
