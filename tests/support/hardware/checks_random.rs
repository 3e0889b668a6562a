//! The reference against itself on random cases: its books close, and other steps give the same solution.

use breathroom_sim::air::Place;
use breathroom_sim::units::Time;

use crate::cases::{load, person, seconds, steady, task};

use super::laws::R;
use super::{Failure, Gas, Stop, integrate, random};

/// What was there, made and let in is what is there and was lost, taken and condensed: of every species.
#[test]
fn its_books_close() {
    for seed in 0..16 {
        let case = random::case(seed);
        let Ok(solution) = integrate(&case) else { continue };
        let b = &solution.books;
        for s in 0..4 {
            let amount = |gas: &[Gas]| -> f64 {
                gas.iter()
                    .enumerate()
                    .map(|(a, g)| g.partial_pa[s] * case.compartments[a].volume_m3 / (R * g.temperature_k[0]))
                    .sum()
            };
            let (start, end) = (amount(&solution.start), amount(&solution.end));
            let gained = b.made[s] + b.supplied.iter().map(|x| x[s]).sum::<f64>();
            let mut lost = b.lost.iter().map(|x| x[s]).sum::<f64>();
            if s < 2 {
                lost += solution.devices.iter().map(|d| d.taken[s]).sum::<f64>();
            }
            if s == 1 {
                lost += b.condensed;
            }
            let size = start + end + gained.abs() + lost.abs();
            assert!(
                (start + gained - lost - end).abs() < 1e-11 * size,
                "seed {seed}, species {s}: {:e} of {size}",
                start + gained - lost - end
            );
        }
    }
}

/// Someone who does nothing outside, often, makes the reference take other steps: what then differs is its own error.
#[test]
fn other_steps_give_the_same_solution() {
    let (mut worst, mut completed, mut switches): (f64, u32, usize) = (0.0, 0, 0);
    for seed in 30..42 {
        let case = random::case(seed);
        let mut split = case.clone();
        let idle = split.people.len();
        split.people.push(person(0, vec![steady(load(0.0, 0.0, 0.0)); 2]));
        (split.people[idle].start, split.people[idle].home) = (Place::Outside, None);
        for k in 0..40 {
            let at = Time::from_seconds(split.duration.seconds() * (f64::from(k) + 0.37) / 40.0);
            split.plan.tasks.push(task(idle, 0, Place::Outside, at, seconds(1.0)));
        }
        let (one, other) = (integrate(&case).unwrap(), integrate(&split).unwrap());
        assert_eq!(one.stop, other.stop, "seed {seed}");
        completed += u32::from(one.stop == Stop::Completed);
        switches += one.switches;
        for (a, (p, q)) in one.end.iter().zip(&other.end).enumerate() {
            let total: f64 = p.partial_pa.iter().sum();
            for s in 0..4 {
                let off = (p.partial_pa[s] - q.partial_pa[s]).abs() / total.max(1.0);
                if off > 1e-10 {
                    println!("seed {seed}, room {a}, species {s}: {off:e}");
                }
                worst = worst.max(off);
            }
        }
        for (one, other) in one.tanks.iter().zip(&other.tanks) {
            let times = [one.dry_at, other.dry_at].map(|t| t.map_or(0.0, Time::seconds));
            assert!((times[0] - times[1]).abs() < 1e-4, "seed {seed}: {times:?}");
        }
    }
    assert!(
        completed > 8 && switches > 50,
        "{completed} completed, {switches} switches"
    );
    assert!(worst < 1e-10, "{worst:e} of the total pressure");
}

/// Without any hardware it has the equations of the older reference, which shares with it the steps alone: rooms, hatches,
/// films, curves, holds, people.
#[test]
fn without_hardware_it_agrees_with_the_older_reference() {
    let (mut worst, mut compared): (f64, u32) = (0.0, 0);
    for seed in 0..24 {
        let case = crate::random::case(seed);
        match (integrate(&case), crate::reference::integrate(&case)) {
            (Ok(new), Ok(old)) => {
                assert!(
                    (new.end_s - old.end_s).abs() < 1e-6,
                    "seed {seed}: {} {}",
                    new.end_s,
                    old.end_s
                );
                compared += 1;
                for (a, gas) in new.end.iter().enumerate() {
                    let should = old.end_partial_pa(a);
                    let total: f64 = should.iter().sum();
                    for s in 0..4 {
                        let off = (gas.partial_pa[s] - should[s]).abs() / total;
                        if off > 1e-11 {
                            println!("seed {seed}, room {a}, species {s}: {off:e}");
                        }
                        worst = worst.max(off);
                    }
                    let liquid = gas.liquid * super::laws::MASS[1];
                    assert!((liquid - old.end_liquid_kg(a)).abs() < 1e-10, "seed {seed}: {liquid}");
                }
            }
            (Err(Failure::Hatch { opening, .. }), Err(crate::reference::Failure::Hatch { opening: o, .. })) => {
                assert_eq!(opening, o, "seed {seed}");
            }
            (new, old) => panic!("seed {seed}: {:?} and {:?}", new.map(|s| s.stop), old.map(|r| r.stop)),
        }
    }
    assert!(compared > 12, "{compared} compared");
    assert!(worst < 1e-11, "{worst:e} of the total pressure");
}
