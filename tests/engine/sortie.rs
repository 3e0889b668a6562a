//! Two people in suits through a sortie, against the independent integration of `hardware`.

use breathroom_sim::air::{Place, Species};
use breathroom_sim::crew::Suit;
use breathroom_sim::engine::{Case, End, Engine};
use breathroom_sim::timeline::{Effect, Pace, SuitUse};
use breathroom_sim::units::Time;
use breathroom_tests::cases::{CABIN_AIR_PA, flow_through, minutes, room, task};
use breathroom_tests::hardware::compare::disagreements;

use crate::hardware::{agree, fill, tank, vent, with_lock};

/// Suits, made of two rooms of 50 litres, with tanks of their own and umbilicals on the first tank.
fn suited(case: &mut Case) {
    for p in 0..2 {
        let compartment = case.compartments.len();
        case.compartments.push(room(0.05, 297.0, CABIN_AIR_PA));
        let own = case.tanks.len();
        case.tanks.push(tank(Species::Oxygen, 20.0));
        case.suits.push(Suit {
            wearer: p,
            compartment,
            above_pa: 29_600.0,
            tank: Some(own),
            supply: Some(0),
            ventilation_m3_s: 2.5e-3,
            purge_mol_s: 1.2e-2,
            leak_m3_s: 8e-7,
        });
        let mut canister = flow_through(compartment, 1.5e-3, 0.95, 0.6);
        canister.serves = compartment;
        case.devices.push(canister);
        case.people[p].home = None;
    }
}

/// One step of a sortie of both.
fn step(case: &mut Case, place: Place, suit: SuitUse, effort: usize, long: Time) -> usize {
    let index = case.plan.tasks.len();
    let mut next = task(0, effort, place, minutes(11.0), long);
    next.people = vec![0, 1];
    next.suit = suit;
    if index > 0 {
        next.after = vec![index - 1];
    }
    case.plan.tasks.push(next);
    index
}

fn sortie() -> Case {
    let mut case = with_lock(4.0);
    case.plan.tasks.clear();
    suited(&mut case);
    let lock = Place::Compartment(1);
    let don = step(&mut case, lock, SuitUse::Ventilated, 0, minutes(12.0));
    case.plan.tasks[don].ends = vec![Effect::Close(0)];
    step(&mut case, lock, SuitUse::Closed, 0, minutes(5.0));
    step(&mut case, lock, SuitUse::Purged, 0, minutes(8.0));
    let out = step(&mut case, lock, SuitUse::Pressurised, 0, minutes(4.0));
    case.plan.tasks[out].ends = vec![vent(13_000.0, Pace::Over(minutes(9.0))), vent(0.0, Pace::Through(1e-4))];
    step(&mut case, Place::Outside, SuitUse::Pressurised, 1, minutes(60.0));
    let back = step(&mut case, lock, SuitUse::Pressurised, 0, minutes(6.0));
    case.plan.tasks[back].ends = vec![
        fill(50_000.0, Pace::Over(minutes(5.0))),
        Effect::Equalise {
            opening: 0,
            pace: Pace::Through(6e-5),
        },
        Effect::Open(0),
    ];
    let doff = step(&mut case, lock, SuitUse::Closed, 0, minutes(3.0));
    case.plan.tasks[doff].ends = vec![Effect::Recharge(0), Effect::Recharge(1)];
    step(&mut case, Place::Compartment(0), SuitUse::Off, 0, minutes(30.0));
    case
}

#[test]
fn two_suits_through_a_sortie() {
    agree(&sortie());
}

#[test]
fn a_sortie_is_the_same_in_parts() {
    // Cut short in each of its steps: what differs shows where.
    for minutes_long in [20.0, 25.5, 33.0, 39.0, 45.0, 60.0, 118.0, 127.0, 134.0, 145.0] {
        let mut case = sortie();
        case.duration = minutes(minutes_long);
        let text = disagreements(&case);
        assert!(text.is_empty(), "cut at {minutes_long} min: {text}");
    }
}

#[test]
fn a_suit_whose_tank_runs_dry_outside() {
    let mut case = sortie();
    case.tanks[2] = tank(Species::Oxygen, 2.5);
    agree(&case);
    let outcome = Engine::new().run(&case, None).unwrap();
    assert!(
        matches!(outcome.end, End::OxygenFloor { person: 0, .. }),
        "{:?}",
        outcome.end
    );
    assert!(outcome.tanks[2].dry_at.is_some());
}
