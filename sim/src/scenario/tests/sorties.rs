//! Suits, transfers and pre-breathes: cases built right, and what ends badly told before it is run.

mod wrong;

use super::*;
use crate::air::{GAS_CONSTANT_J_MOL_K, Place};
use crate::crew::pre_breathe_s;
use crate::engine::Case;
use crate::timeline::{Effect, Pace, SuitUse};
use crate::units::Time;

const OXYGEN: f64 = 0.031_998_8;
const NITROGEN: f64 = 0.028_013_4;

/// A cabin with a lock, tanks and a suit for each of two.
const BASE: &str = r#"
format = 1
duration = "1 d"
respiratory_quotient = 0.87
[air]
pressure = "56.5 kPa"
oxygen = "34 %"
co2 = "0.5 mmHg"
[compartments.cabin]
free_volume = "11.5 m3"
[compartments.lock]
free_volume = "4.2 m3"
[openings.inner]
between = ["cabin", "lock"]
exchange = "2 m3/min"
[openings.outer]
between = ["lock", "outside"]
exchange = "2 m3/min"
open = false
[removal.fan]
kind = "flow-through"
serves = "suit:lead"
flow = "0.1 m3/min"
co2_efficiency = 0.5
[tanks.oxygen]
gas = "oxygen"
amount = "24 kg"
[tanks.nitrogen]
gas = "diluent"
amount = "9 kg"
[tanks.pack]
gas = "oxygen"
amount = "0.6 kg"
[control.cabin]
oxygen = { hold = "18.8 kPa" }
[crew.lead]
tissue_diluent = "60 kPa"
[crew.second]
[suits.lead]
volume = "60 L"
pressure = "29.6 kPa"
tank = "pack"
supply = "oxygen"
ventilation = "120 L/min"
purge = "3 kg/h"
leak = "6 g/h"
temperature = "24 degC"
washout = { adds = "1.2 mmHg", at = "1 mol/h" }
[suits.second]
volume = "70 L"
pressure = "30 kPa"
ventilation = "120 L/min"
purge = "3 kg/h"
"#;

fn case(text: &str, overrides: &[&str]) -> Case {
    good(text, overrides).draw(&Medians).case
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-12 * b.abs(), "{a} is not {b}");
}

fn minutes(m: f64) -> Time {
    Time::from_seconds(60.0 * m)
}

/// The base with a task of both in the lock.
fn task(id: &str, more: &str) -> String {
    format!(
        "[[tasks]]\nid = \"{id}\"\ncrew = [\"lead\", \"second\"]\neffort = \"don\"\nin = \"lock\"\nduration = \"1 h\"\n{more}\n"
    )
}

fn doing(more: &str) -> String {
    format!("{BASE}{}", task("t", more))
}

#[test]
fn a_suit_is_a_body_of_gas_after_the_rooms() {
    let scenario = good(BASE, &[]);
    assert_eq!(
        scenario.names.compartments,
        ["cabin", "lock", "suit:lead", "suit:second"]
    );
    let case = scenario.draw(&Medians).case;
    let suit = case.suits[0];
    assert_eq!((suit.wearer, suit.compartment), (0, 2));
    assert_eq!((case.suits[1].wearer, case.suits[1].compartment), (1, 3));
    assert_eq!((suit.tank, suit.supply), (Some(2), Some(0)));
    assert_eq!((case.suits[1].tank, case.suits[1].supply), (None, None));
    close(suit.above_pa, 29_600.0);
    close(suit.ventilation_m3_s, 0.002);
    close(suit.purge_mol_s, 3.0 / 3600.0 / OXYGEN);
    // n R T / P of 6 g/h of oxygen at 24 degC and 29.6 kPa.
    close(
        suit.leak_m3_s,
        0.006 / 3600.0 / OXYGEN * GAS_CONSTANT_J_MOL_K * 297.15 / 29_600.0,
    );
    let gas = &case.compartments[2];
    close(gas.volume_m3, 0.06);
    close(gas.usable_m3, 0.06);
    close(gas.temperature_k, 297.15);
    close(gas.partial_pa.iter().sum(), 56_500.0);
    close(gas.washout_pa_s_mol, 1.2 * 133.322 * 3600.0);
    close(case.compartments[3].temperature_k, 295.15);
    assert_eq!(case.devices[0].serves, 2);
    assert_eq!(
        (case.people[0].tissue_pa, case.people[1].tissue_pa),
        (Some(60_000.0), None)
    );
}

#[test]
fn suits_count_among_the_bodies_of_gas() {
    let rooms: String = (0..5)
        .map(|n| format!("[compartments.r{n}]\nfree_volume = \"4 m3\"\n"))
        .collect();
    let text = format!("{BASE}{rooms}");
    assert_eq!(
        bad(&text, &[]),
        ["7 compartments and 2 suits: at most 8 bodies of gas can be simulated"]
    );
    good(&text.replace("[compartments.r0]\nfree_volume = \"4 m3\"\n", ""), &[]);
}

#[test]
fn a_task_says_how_suits_are_worn() {
    for (word, worn) in [
        ("off", SuitUse::Off),
        ("ventilated", SuitUse::Ventilated),
        ("closed", SuitUse::Closed),
        ("purged", SuitUse::Purged),
        ("pressurised", SuitUse::Pressurised),
    ] {
        let text = doing(&format!("suit = \"{word}\""));
        assert_eq!(case(&text, &[]).plan.tasks[0].suit, worn);
    }
    assert_eq!(case(&doing(""), &[]).plan.tasks[0].suit, SuitUse::Off);
    let outside = doing("").replace("in = \"lock\"", "in = \"outside\"");
    assert_eq!(case(&outside, &[]).plan.tasks[0].suit, SuitUse::Pressurised);
    assert_eq!(
        bad(&outside, &["tasks.t.suit=closed"]),
        ["`tasks.t` is done outside with the suit closed"]
    );
    assert_eq!(
        bad(&doing("suit = \"purged\""), &["suits.second.purge=0 kg/h"]),
        ["nothing flows through the suit of `second`: it has no `purge`"]
    );
    // Without a suit the old assumption holds.
    let without = &outside[..outside.find("[suits.lead]").expect("it is there")];
    let without = without.replace("suit:lead", "cabin");
    let text = format!(
        "{without}{}",
        task("t", "").replace("in = \"lock\"", "in = \"outside\"")
    );
    assert_eq!(case(&text, &[]).plan.tasks[0].suit, SuitUse::Off);
    assert_eq!(
        bad(&text, &["tasks.t.suit=purged"]),
        ["`lead` has no suit", "`second` has no suit"]
    );
}

#[test]
fn a_suit_is_no_place() {
    let wrong = "`suit:lead` is a suit, not a place";
    assert_eq!(
        bad(&doing("").replace("in = \"lock\"", "in = \"suit:lead\""), &[]),
        [wrong]
    );
    assert_eq!(
        bad(BASE, &["openings.outer.between=[\"lock\", \"suit:lead\"]"]),
        [wrong]
    );
}

#[test]
fn transfers_are_in_si() {
    let text = doing(
        "suit = \"pressurised\"\nstarts = [{ close = \"inner\" }, { vent = \"lock\", to = \"20 kPa\", over = \"10 min\" },\n\
         { vent = \"lock\", to = \"0 kPa\", area = \"2 cm2\" }, { recharge = \"lead\" }]\n\
         ends = [{ fill = \"lock\", to = \"56.5 kPa\", over = \"4 min\", oxygen = \"40 %\", from = [\"oxygen\", \"nitrogen\"] },\n\
         { fill = \"lock\", to = \"56.5 kPa\", flow = \"1.2 kg/min\" }, { fill = \"lock\", to = \"57 kPa\", over = \"1 min\", oxygen = 1, from = [\"pack\"] },\n\
         { equalise = \"inner\", over = \"2 min\" }, { equalise = \"inner\", area = \"1 in2\" }]",
    );
    let task = case(&text, &[]).plan.tasks.remove(0);
    let vent = |to_pa, pace| Effect::Vent {
        compartment: 1,
        to_pa,
        pace,
    };
    assert_eq!(
        task.starts,
        [
            Effect::Close(0),
            vent(20_000.0, Pace::Over(minutes(10.0))),
            vent(0.0, Pace::Through(2e-4)),
            Effect::Recharge(0),
        ]
    );
    assert_eq!(
        task.ends[0],
        Effect::Fill {
            compartment: 1,
            to_pa: 56_500.0,
            pace: Pace::Over(minutes(4.0)),
            oxygen: 0.4,
            oxygen_from: Some(0),
            diluent_from: Some(1)
        }
    );
    // Without `oxygen` that of [air]; a flow of the mixture by its mean molar mass.
    let Effect::Fill {
        pace: Pace::At(flow),
        oxygen,
        oxygen_from: None,
        diluent_from: None,
        ..
    } = task.ends[1]
    else {
        panic!("{:?}", task.ends[1])
    };
    close(oxygen, 0.34);
    close(flow, 1.2 / 60.0 / (0.34 * OXYGEN + 0.66 * NITROGEN));
    assert!(matches!(
        task.ends[2],
        Effect::Fill {
            oxygen_from: Some(2),
            diluent_from: None,
            ..
        }
    ));
    assert_eq!(
        task.ends[3],
        Effect::Equalise {
            opening: 0,
            pace: Pace::Over(minutes(2.0))
        }
    );
    assert_eq!(
        task.ends[4],
        Effect::Equalise {
            opening: 0,
            pace: Pace::Through(0.0254 * 0.0254)
        }
    );
}

#[test]
fn an_effects_spread_is_drawn_anew_in_every_turn() {
    let text = doing(
        "suit = \"pressurised\"\nrepeat = { every = \"4 h\", times = 2 }\n\
         starts = [{ close = \"inner\" }, { vent = \"lock\", to = \"0 kPa\", over = { uniform = [\"10 min\", \"20 min\"] } }]\n\
         ends = [{ fill = \"lock\", to = \"56.5 kPa\", over = { uniform = [\"2 min\", \"6 min\"], draw = \"once\" } }, { open = \"inner\" }]",
    );
    let scenario = good(&text, &[]);
    let inputs: Vec<(&str, bool)> = scenario.inputs.iter().map(|i| (i.path.as_str(), i.per_turn)).collect();
    assert_eq!(
        inputs,
        [("tasks.t.starts.2.over", true), ("tasks.t.ends.1.over", false)]
    );
    /// A uniform that goes with the turn.
    struct ByTurn;
    impl Luck for ByTurn {
        fn uniform(&self, _input: usize, turn: u32, _person: u32) -> f64 {
            [0.5, 0.1, 0.7][turn as usize]
        }
    }
    let drawn = scenario.draw(&ByTurn);
    let vents: Vec<Pace> = drawn
        .case
        .plan
        .tasks
        .iter()
        .filter_map(|t| match t.starts[1] {
            Effect::Vent { pace, .. } => Some(pace),
            _ => None,
        })
        .collect();
    assert_eq!(vents, [Pace::Over(minutes(11.0)), Pace::Over(minutes(17.0))]);
    let fills = drawn.case.plan.tasks.iter().map(|t| t.ends[0]);
    for fill in fills {
        assert!(matches!(fill, Effect::Fill { pace, .. } if pace == Pace::Over(minutes(4.0))));
    }
    // The mean over the turns, for what drives a margin.
    close(drawn.values[0], 14.0 * 60.0);
    assert_eq!(
        shown(&scenario.draw(&Medians)),
        format!("{:?}", scenario.blueprint.template)
    );
}

#[test]
fn a_canister_is_changed_where_there_is_one() {
    assert_eq!(
        bad(&doing("ends = [{ change = \"fan\" }]"), &[]),
        ["`fan` has no canister to change"]
    );
    assert_eq!(
        bad(&doing("ends = [{ recharge = \"second\" }]"), &[]),
        ["the suit of `second` cannot be recharged: it has no `tank` of its own"]
    );
}

#[test]
fn a_pre_breathe_is_as_long_as_whoever_needs_longest() {
    let text = doing("").replace(
        "duration = \"1 h\"",
        "duration = { tissue_ratio = 1.3, breathing = \"96 %\", breaks = \"5 min\" }",
    );
    let breathed = 0.04 * 56_500.0;
    let second = case(BASE, &[]).compartments[0].partial_pa[3];
    assert!(second < 1.3 * 30_000.0, "the second needs none");
    let first = pre_breathe_s(60_000.0, breathed, 1.3, 29_600.0).expect("it can be reached");
    // By hand: (60000 - 2260) / (38480 - 2260) = 1.59415; its logarithm 0.466340; times 21600 / 0.693147 = 14532 s.
    assert!((first - 14_532.0).abs() < 1.0, "{first}");
    let found = case(&text, &[]).plan.tasks[0].duration;
    assert_eq!(found, Time::from_seconds(first + 600.0));
    // What is drawn of the suit, of the tissue or of the ratio reaches it.
    let scenario = good(&text, &["suits.lead.pressure={ uniform = [\"28 kPa\", \"32 kPa\"] }"]);
    for (u, pa) in [(0.25, 29_000.0), (0.75, 31_000.0)] {
        let drawn = scenario.draw(&draws::Constant(u)).case.plan.tasks[0].duration;
        let by_hand = pre_breathe_s(60_000.0, breathed, 1.3, pa).expect("it can be reached");
        assert_eq!(drawn, Time::from_seconds(by_hand + 600.0));
    }
    assert_eq!(
        bad(&text, &["tasks.t.duration.breathing=30 %"]),
        ["a tissue never falls to that ratio on 30 % oxygen"]
    );
}

#[test]
fn rules_may_be_of_tanks_and_suits() {
    use crate::limits::{Quantity, Subject};
    let rule = |id: &str, more: &str| format!("[[limits.rule]]\nid = \"{id}\"\nsource = \"mine\"\n{more}\n");
    let text = format!(
        "{BASE}{}{}{}{}",
        rule(
            "stock",
            "quantity = \"stock\"\nwhere = \"tank:nitrogen\"\nat_least = \"2 kg\""
        ),
        rule(
            "suit",
            "quantity = \"co2\"\nwhere = \"suit:second\"\nat_most = \"3 mmHg\""
        ),
        rule("rate", "quantity = \"pressure_rate\"\nat_most = \"13.5 psi/min\""),
        rule(
            "bends",
            "quantity = \"tissue_ratio\"\nwhere = \"crew:lead\"\nat_most = 1.65"
        ),
    );
    let scenario = good(&text, &[]);
    let rules = scenario.draw(&Medians).case.rules;
    assert_eq!(
        (rules[0].quantity, rules[0].subject),
        (Quantity::Stock, Subject::Tank(1))
    );
    close(rules[0].limit, 2.0);
    assert_eq!(rules[1].subject, Subject::Compartment(3));
    assert_eq!(scenario.limits[1].subject, "suit:second");
    assert_eq!(
        (rules[2].subject, rules[3].subject),
        (Subject::Person(0), Subject::Person(1))
    );
    close(rules[2].limit, 13.5 * 6894.757 / 60.0);
    assert_eq!(
        (rules[4].quantity, rules[4].subject),
        (Quantity::TissueRatio, Subject::Person(0))
    );
    for (set, message) in [
        ("limits.rule.stock.where=crew", "there is no `stock` of \"crew:lead\""),
        ("limits.rule.stock.where=tank:helium", "there is no tank `helium`"),
        (
            "limits.rule.suit.where=tank:oxygen",
            "there is no `co2` of \"tank:oxygen\"",
        ),
        ("limits.rule.suit.where=suit:third", "there is no suit `third`"),
        (
            "limits.rule.bends.where=cabin",
            "there is no `tissue_ratio` of \"cabin\"",
        ),
        (
            "limits.rule.rate.average=1 min",
            "there are no averages of `pressure_rate`",
        ),
        (
            "limits.rule.rate.allowed=1 min",
            "`pressure_rate` is judged at every instant, without an allowance",
        ),
    ] {
        assert_eq!(bad(&text, &[set]), [message], "{set}");
    }
}

/// A sortie that goes right: don, out through the lock, back, doff.
pub(super) fn sortie() -> String {
    format!(
        "{BASE}{}{}{}{}",
        task("don", "at = \"1 h\""),
        task(
            "depress",
            "suit = \"pressurised\"\nafter = [\"don\"]\nstarts = [{ close = \"inner\" }, { vent = \"lock\", to = \"0 kPa\", over = \"10 min\" }]\n\
             ends = [{ open = \"outer\" }]"
        ),
        task("out", "after = [\"depress\"]\nends = [{ close = \"outer\" }]")
            .replace("in = \"lock\"", "in = \"outside\""),
        task(
            "repress",
            "suit = \"pressurised\"\nafter = [\"out\"]\nstarts = [{ fill = \"lock\", to = \"56.5 kPa\", over = \"4 min\" }]\nends = [{ open = \"inner\" }]"
        ),
    ) + &task("doff", "after = [\"repress\"]")
}
