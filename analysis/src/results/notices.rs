//! What else deserves to be said near the top: tanks that ran dry or went below their reserve, transfers that ended short,
//! canisters that ran out, waits, and limits that are planning aids.

use super::numbers::{clock, kpa, with_unit};
use super::summary::{Device, Summary, Tank, Transfer};
use super::words::count;

/// Shorter waits than this are rounding of a clock that shows minutes, h.
const SHOWN_H: f64 = 0.5 / 60.0;
/// Tasks that are named for their waits.
const MOST_NAMED: usize = 3;

/// Sentences about stocks, transfers, waits and planning aids, the most urgent first.
#[must_use]
pub fn sentences(summary: &Summary) -> Vec<String> {
    let medians = if summary.variations.is_some() {
        "On the medians "
    } else {
        ""
    };
    let mut said = Vec::new();
    said.extend(summary.tanks.iter().filter_map(|(name, of)| dry(name, of)));
    said.extend(summary.transfers.iter().filter(|of| of.short).map(short));
    said.extend(summary.tanks.iter().filter_map(|(name, of)| below_reserve(name, of)));
    let used_up = |of: &Device| of.canisters_left == Some(0) && of.canisters_spent > 0;
    let no_canister = summary.devices.iter().filter(|(_, of)| used_up(of));
    said.extend(no_canister.map(|(name, of)| {
        let spent = count(of.canisters_spent as usize, "canister");
        format!("device {name} has no fresh canister left at the end ({spent} taken out).")
    }));
    said.extend(waits(summary));
    said.extend(summary.schedule.space.iter().map(|(name, of)| {
        let (time, excess) = (clock(of.exceeded_h), with_unit(of.excess_m3, "m3"));
        format!("{name} was TOO SMALL for its people for {time}, by {excess} at most.")
    }));
    let mut said: Vec<String> = said.iter().map(|one| started(&format!("{medians}{one}"))).collect();
    said.extend(planning_aids(summary));
    said
}

fn dry(name: &str, of: &Tank) -> Option<String> {
    let at = clock(of.dry_at_h?);
    let used = with_unit(of.used_kg, "kg");
    Some(format!(
        "tank {name} RAN DRY at {at}, after giving {used} of {}.",
        of.gas
    ))
}

fn below_reserve(name: &str, of: &Tank) -> Option<String> {
    let at = of.reserve_at_h.filter(|_| of.dry_at_h.is_none())?;
    Some(format!(
        "tank {name} went BELOW ITS RESERVE of {} at {}; {} are left at the end.",
        with_unit(of.reserve_kg, "kg"),
        clock(at),
        with_unit(of.left_kg, "kg")
    ))
}

fn short(of: &Transfer) -> String {
    format!(
        "the {} of {} by task {}, begun at {}, ended SHORT at {}: a tank ran dry.",
        of.kind,
        of.subject,
        of.task,
        clock(of.began_h),
        with_unit(kpa().from_si(of.to_pa), "kPa")
    )
}

fn waits(summary: &Summary) -> Option<String> {
    let mut waited: Vec<(f64, &str)> = summary
        .schedule
        .tasks
        .iter()
        .filter(|of| of.waited_h >= SHOWN_H)
        .map(|of| (of.waited_h, of.task.as_str()))
        .collect();
    // The longest first; equals in the plan's order.
    waited.sort_by(|a, b| b.0.total_cmp(&a.0));
    let named: Vec<String> = waited
        .iter()
        .take(MOST_NAMED)
        .map(|(hours, task)| format!("{task} {}", clock(*hours)))
        .collect();
    let rest = match waited.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    (!waited.is_empty()).then(|| {
        format!(
            "{} waited for people, equipment or space, {} in all: {}{rest}.",
            count(waited.len(), "task"),
            clock(summary.schedule.waits_h),
            named.join(", ")
        )
    })
}

/// Limits on tissue: a number to plan with, not one to decompress by.
fn planning_aids(summary: &Summary) -> Option<String> {
    let mut ids: Vec<&str> = Vec::new();
    for limit in summary.limits.iter().filter(|limit| limit.quantity == "tissue_ratio") {
        if !ids.contains(&limit.id.as_str()) {
            ids.push(&limit.id);
        }
    }
    let (is, aids) = if ids.len() == 1 {
        ("is", "a planning aid")
    } else {
        ("are", "planning aids")
    };
    (!ids.is_empty()).then(|| {
        format!(
            "{} {is} {aids} (one tissue compartment): decompression protocols are set by the responsible medical authority.",
            ids.join(", ")
        )
    })
}

/// A sentence begins with a capital.
fn started(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| {
        format!("{}{}", first.to_uppercase(), letters.as_str())
    })
}

#[cfg(test)]
mod tests {
    use super::super::sample::{limit, run, vary};
    use super::super::summary::TaskTimes;
    use super::*;

    fn tank(dry_at_h: Option<f64>, reserve_at_h: Option<f64>) -> Tank {
        Tank {
            gas: "oxygen",
            used_kg: 22.0,
            left_kg: 1.5,
            reserve_kg: 4.0,
            dry_at_h,
            reserve_at_h,
            ..Tank::default()
        }
    }

    fn waited(task: &str, waited_h: f64) -> TaskTimes {
        TaskTimes {
            task: task.to_owned(),
            waited_h,
            ..TaskTimes::default()
        }
    }

    #[test]
    fn a_tank_that_ran_dry_is_told_before_what_came_of_it_and_a_reserve() {
        let mut summary = run(vec![limit("co2-1h", 0.6)]);
        summary.tanks.0.push(("spare".to_owned(), tank(None, Some(40.0))));
        summary.tanks.0.push(("main".to_owned(), tank(Some(51.2), Some(30.0))));
        summary.transfers.push(Transfer {
            kind: "fill",
            task: "out#2".to_owned(),
            subject: "lock".to_owned(),
            began_h: 51.0,
            ended_h: Some(51.2),
            from_pa: 0.0,
            to_pa: 43_100.0,
            gas: Default::default(),
            short: true,
        });
        let device = Device {
            canisters_spent: 6,
            canisters_left: Some(0),
            ..Device::default()
        };
        summary.devices.0.push(("scrubber".to_owned(), device));
        assert_eq!(
            sentences(&summary),
            [
                "Tank main RAN DRY at 51 h 12 min, after giving 22 kg of oxygen.",
                "The fill of lock by task out#2, begun at 51 h 00 min, ended SHORT at 43.1 kPa: a tank ran dry.",
                "Tank spare went BELOW ITS RESERVE of 4 kg at 40 h 00 min; 1.5 kg are left at the end.",
                "Device scrubber has no fresh canister left at the end (6 canisters taken out).",
            ]
        );
    }

    #[test]
    fn waits_name_the_longest_and_what_is_of_the_medians_is_said_to_be() {
        let mut summary = vary(vec![(limit("co2-1h", 0.6), Some(0.1))]);
        summary.schedule.waits_h = 2.0;
        summary.schedule.tasks = vec![
            waited("a", 0.25),
            waited("b", 1.0),
            waited("none", 0.001),
            waited("c", 0.5),
            waited("d", 0.25),
        ];
        assert_eq!(
            sentences(&summary),
            [
                "On the medians 4 tasks waited for people, equipment or space, 2 h 00 min in all: b 1 h 00 min, \
              c 0 h 30 min, a 0 h 15 min and 1 more."
            ]
        );
    }

    #[test]
    fn a_tissue_ratio_is_called_a_planning_aid_once_for_all_people() {
        let tissue = || super::super::summary::Limit {
            quantity: "tissue_ratio",
            unit: "",
            ..limit("tissue", 0.1)
        };
        let said = sentences(&run(vec![limit("co2-1h", 0.6), tissue(), tissue()]));
        assert_eq!(said.len(), 1);
        assert!(said[0].starts_with("tissue is a planning aid"), "{}", said[0]);
        assert!(sentences(&run(vec![limit("co2-1h", 0.6)])).is_empty());
    }
}
