//! Gas moved on purpose, times outside, and what a sortie and a day cost.
//!
//! Tasks outside that overlap, or follow each other without a break and share someone, are one sortie. A vent belongs to the
//! first sortie that ends after it began, a fill to the last one that began before it did: what was let out to get there and
//! let in to come back. Means are totals over sorties or days, so that gas lost while open to the vacuum is in them too.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{self, Case, Outcome, TransferKind};
use breathroom_sim::removal::Removal;
use breathroom_sim::scenario::Names;
use breathroom_sim::units::Time;

use super::super::summary::{Gas, PerDay, PerSortie, Sortie, Totals, Transfer};
use super::super::words;

pub(super) fn transfers(outcome: &Outcome, names: &Names) -> Vec<Transfer> {
    outcome.transfers.iter().map(|of| transfer(of, names)).collect()
}

fn transfer(of: &engine::Transfer, names: &Names) -> Transfer {
    Transfer {
        kind: match of.kind {
            TransferKind::Vent => "vent",
            TransferKind::Fill => "fill",
            TransferKind::Equalise => "equalise",
        },
        task: words::task(names, of.task),
        subject: words::transferred(names, of).to_owned(),
        began_h: of.began.hours(),
        ended_h: of.ended.map(Time::hours),
        from_pa: of.from_pa,
        to_pa: words::come_to(of),
        gas: of.gas_kg.into(),
        short: of.short,
    }
}

/// A time outside, by index.
struct Outside {
    start: Time,
    /// [`Time::NEVER`] if the run ended first.
    end: Time,
    tasks: Vec<usize>,
    people: Vec<usize>,
}

fn outside(case: &Case, outcome: &Outcome) -> Vec<Outside> {
    let of = &outcome.schedule;
    let time = |times: &[Option<Time>], task: usize| times.get(task).copied().flatten();
    let mut tasks: Vec<(Time, usize)> = case
        .plan
        .tasks
        .iter()
        .enumerate()
        .filter(|(_, task)| task.place == Place::Outside && !task.on_call)
        .filter_map(|(index, _)| time(&of.started, index).map(|start| (start, index)))
        .collect();
    tasks.sort_unstable();
    let mut all: Vec<Outside> = Vec::new();
    for (start, index) in tasks {
        let end = time(&of.ended, index).unwrap_or(Time::NEVER);
        let people = &case.plan.tasks[index].people;
        if let Some(last) = all.last_mut() {
            let goes_on = start == last.end && people.iter().any(|person| last.people.contains(person));
            if start < last.end || goes_on {
                last.end = last.end.max(end);
                last.tasks.push(index);
                last.people.extend(people);
                last.people.sort_unstable();
                last.people.dedup();
                continue;
            }
        }
        all.push(Outside {
            start,
            end,
            tasks: vec![index],
            people: people.clone(),
        });
    }
    all
}

pub(super) fn sorties(case: &Case, outcome: &Outcome, names: &Names) -> Vec<Sortie> {
    let all = outside(case, outcome);
    let known = |time: Time| (time != Time::NEVER).then_some(time);
    let mut shown: Vec<Sortie> = all
        .iter()
        .map(|of| Sortie {
            tasks: of.tasks.iter().map(|&task| words::task(names, task)).collect(),
            people: of
                .people
                .iter()
                .map(|&person| words::person(names, person).to_owned())
                .collect(),
            start_h: of.start.hours(),
            end_h: known(of.end).map(Time::hours),
            duration_h: known(of.end).map(|end| (end - of.start).hours()),
            vented: Gas::default(),
            filled: Gas::default(),
        })
        .collect();
    for transfer in &outcome.transfers {
        let gas = Gas::from(transfer.gas_kg);
        match transfer.kind {
            TransferKind::Vent => {
                if let Some(of) = all.iter().position(|of| transfer.began < of.end) {
                    shown[of].vented = shown[of].vented.plus(&gas);
                }
            }
            TransferKind::Fill => {
                if let Some(of) = all.iter().rposition(|of| of.start <= transfer.began) {
                    shown[of].filled = shown[of].filled.plus(&gas);
                }
            }
            TransferKind::Equalise => {}
        }
    }
    shown
}

pub(super) fn per_sortie(case: &Case, outcome: &Outcome, totals: &Totals, sorties: &[Sortie]) -> Option<PerSortie> {
    let count = sorties.len() as f64;
    let worn = |compartment: usize| case.suits.iter().any(|suit| suit.compartment == compartment);
    (!sorties.is_empty()).then(|| PerSortie {
        sorties: sorties.len() as u32,
        oxygen_vented_kg: totals.vented.oxygen_kg / count,
        diluent_vented_kg: totals.vented.diluent_kg / count,
        oxygen_filled_kg: totals.oxygen_filled_kg / count,
        diluent_filled_kg: totals.diluent_filled_kg / count,
        oxygen_to_suits_kg: totals.oxygen_to_suits_kg / count,
        suit_canisters: canisters(case, outcome, worn) / count,
    })
}

pub(super) fn per_day(case: &Case, outcome: &Outcome, totals: &Totals, days: f64) -> PerDay {
    let oxygen_kg = totals.oxygen_supplied_kg + totals.oxygen_filled_kg + totals.oxygen_to_suits_kg;
    PerDay {
        days,
        oxygen_kg: oxygen_kg / days,
        diluent_kg: (totals.diluent_supplied_kg + totals.diluent_filled_kg) / days,
        canisters: canisters(case, outcome, |_| true) / days,
        water_collected_kg: totals.water_collected_kg / days,
        water_overboard_kg: totals.water_overboard_kg / days,
    }
}

/// Canisters taken out of the devices of some compartments.
fn canisters(case: &Case, outcome: &Outcome, serves: impl Fn(usize) -> bool) -> f64 {
    let devices = case.devices.iter().zip(&outcome.devices);
    let of = devices.filter(|(device, _)| matches!(device.removal, Removal::Sorbent { .. }) && serves(device.serves));
    of.map(|(_, of)| f64::from(of.canisters_spent)).sum()
}

#[cfg(test)]
mod tests {
    use breathroom_sim::crew::Suit;
    use breathroom_sim::engine::{DeviceOutcome, ScheduleOutcome};
    use breathroom_sim::removal::Device;
    use breathroom_sim::scenario::TaskName;
    use breathroom_sim::timeline::{Plan, SuitUse, Task};

    use super::*;

    fn hours(hours: f64) -> Time {
        Time::from_seconds(3600.0 * hours)
    }

    fn task(place: Place, people: &[usize]) -> Task {
        Task {
            entry: 0,
            turn: 1,
            people: people.to_vec(),
            effort: 0,
            place,
            earliest: Time::ZERO,
            after: Vec::new(),
            duration: Time::ZERO,
            needs: Vec::new(),
            suit: SuitUse::Pressurised,
            needs_space: false,
            starts: Vec::new(),
            ends: Vec::new(),
            interrupted: breathroom_sim::timeline::Interrupted::Resumes,
            on_call: false,
        }
    }

    /// Tasks outside by people, with their times in h.
    fn run(tasks: &[(&[usize], f64, Option<f64>)]) -> (Case, Outcome, Names) {
        let case = Case {
            plan: Plan {
                tasks: tasks.iter().map(|(who, ..)| task(Place::Outside, who)).collect(),
                ..Plan::default()
            },
            ..Case::default()
        };
        let outcome = Outcome {
            schedule: ScheduleOutcome {
                started: tasks.iter().map(|(_, start, _)| Some(hours(*start))).collect(),
                ended: tasks.iter().map(|(_, _, end)| end.map(hours)).collect(),
                ..ScheduleOutcome::default()
            },
            ..Outcome::default()
        };
        let name = |index: usize| TaskName {
            id: format!("out-{index}"),
            turn: 1,
            turns: 1,
            person: None,
        };
        let names = Names {
            people: ["lead", "second", "third"].map(str::to_owned).into(),
            compartments: vec!["lock".to_owned()],
            openings: vec!["hatch".to_owned()],
            tasks: (0..tasks.len()).map(name).collect(),
            ..Names::default()
        };
        (case, outcome, names)
    }

    fn moved(kind: TransferKind, began_h: f64, oxygen_kg: f64) -> engine::Transfer {
        engine::Transfer {
            kind,
            began: hours(began_h),
            gas_kg: [0.0, 0.0, oxygen_kg, 0.0],
            ..engine::Transfer::default()
        }
    }

    fn labels(sorties: &[Sortie]) -> Vec<Vec<&str>> {
        let tasks = sorties.iter().map(|of| of.tasks.iter().map(String::as_str).collect());
        tasks.collect()
    }

    #[test]
    fn people_who_are_outside_at_once_are_one_sortie_and_so_is_what_follows_without_a_break() {
        let (case, outcome, names) = run(&[
            (&[1], 2.0, Some(4.0)),
            (&[0], 1.0, Some(3.0)),
            (&[0], 4.0, Some(5.0)),
            (&[0], 5.0, Some(6.0)),
            (&[2], 6.0, None),
        ]);
        let sorties = sorties(&case, &outcome, &names);
        // Whoever goes when another has just come back is on a sortie of their own; the two of the first are together.
        assert_eq!(
            labels(&sorties),
            [vec!["out-1", "out-0", "out-2", "out-3"], vec!["out-4"]]
        );
        assert_eq!(sorties[0].people, ["lead", "second"]);
        assert_eq!((sorties[0].start_h, sorties[0].duration_h), (1.0, Some(5.0)));
        assert_eq!((sorties[1].end_h, sorties[1].duration_h), (None, None));
    }

    #[test]
    fn gas_goes_with_the_sortie_that_it_was_let_out_or_in_for() {
        let (case, mut outcome, names) = run(&[(&[0], 10.0, Some(15.0)), (&[0], 30.0, Some(36.0))]);
        outcome.transfers = vec![
            moved(TransferKind::Fill, 1.0, 64.0),
            moved(TransferKind::Vent, 9.5, 1.0),
            moved(TransferKind::Vent, 10.0, 2.0),
            moved(TransferKind::Equalise, 10.0, 128.0),
            moved(TransferKind::Fill, 14.9, 4.0),
            moved(TransferKind::Fill, 16.0, 8.0),
            moved(TransferKind::Vent, 30.0, 16.0),
            moved(TransferKind::Vent, 40.0, 256.0),
            moved(TransferKind::Fill, 36.0, 32.0),
        ];
        let oxygen = |of: &Sortie| (of.vented.oxygen_kg, of.filled.oxygen_kg);
        let all = sorties(&case, &outcome, &names);
        assert_eq!(all.iter().map(oxygen).collect::<Vec<_>>(), [(3.0, 12.0), (16.0, 32.0)]);
    }

    #[test]
    fn a_transfer_is_told_by_the_names_of_what_it_is_about() {
        let (_, mut outcome, names) = run(&[(&[0], 10.0, None)]);
        outcome.transfers = vec![
            moved(TransferKind::Vent, 1.0, 1.0),
            moved(TransferKind::Equalise, 2.0, 1.0),
        ];
        let shown = transfers(&outcome, &names);
        assert_eq!((shown[0].kind, shown[0].subject.as_str()), ("vent", "lock"));
        assert_eq!((shown[1].kind, shown[1].subject.as_str()), ("equalise", "hatch"));
        assert_eq!((shown[0].task.as_str(), shown[0].ended_h), ("out-0", None));
    }

    #[test]
    fn means_are_totals_over_sorties_and_over_days() {
        let (mut case, mut outcome, names) = run(&[(&[0], 10.0, Some(15.0)), (&[0], 30.0, Some(36.0))]);
        case.suits = vec![Suit {
            wearer: 0,
            compartment: 1,
            above_pa: 29_600.0,
            tank: None,
            supply: None,
            ventilation_m3_s: 0.0,
            purge_mol_s: 0.0,
            leak_m3_s: 0.0,
        }];
        let canister = |serves| Device {
            serves,
            on: true,
            removal: Removal::Sorbent {
                flow_m3_s: 0.01,
                capacity_mol: 10.0,
                sharpness: 8.0,
                bypass: 0.0,
                water_per_co2: 1.0,
                heat_j_mol: 0.0,
                loaded_mol: 0.0,
                canisters: 9,
            },
            power_w: 0.0,
            capacity: 1.0,
            cycle: None,
        };
        let spent = |canisters_spent| DeviceOutcome {
            canisters_spent,
            ..DeviceOutcome::default()
        };
        (case.devices, outcome.devices) = (vec![canister(0), canister(1)], vec![spent(6), spent(2)]);
        let totals = Totals {
            oxygen_supplied_kg: 4.0,
            oxygen_filled_kg: 3.0,
            oxygen_to_suits_kg: 1.0,
            ..Totals::default()
        };
        let sorties = sorties(&case, &outcome, &names);
        let each = per_sortie(&case, &outcome, &totals, &sorties).expect("two sorties");
        assert_eq!(
            (each.sorties, each.oxygen_filled_kg, each.suit_canisters),
            (2, 1.5, 1.0)
        );
        let daily = per_day(&case, &outcome, &totals, 4.0);
        assert_eq!((daily.oxygen_kg, daily.canisters), (2.0, 2.0));
        assert_eq!(per_sortie(&case, &outcome, &totals, &[]), None);
    }
}
