//! What went wrong: faults, alarms, responses, and what they did to tasks.

use super::super::numbers::{clock, percent};
use super::super::ordered::Ordered;
use super::super::summary::{In, Summary, TaskTimes};
use super::table;

pub(super) fn upsets(out: &mut String, of: &Summary) {
    if of.faults.is_empty() && of.alarms.is_empty() {
        return;
    }
    out.push_str("## What went wrong\n\n");
    if of.variations.is_some() {
        over_variations(out, of);
        out.push_str("### On the medians\n\n");
    }
    alarms(out, of);
    responses(out, of);
    faults(out, of);
    tasks(out, of);
}

fn time(hours: Option<f64>) -> String {
    hours.map_or_else(|| "-".to_owned(), clock)
}

/// A count that should be 0.
fn bad(number: u32) -> String {
    if number > 0 {
        format!("**{number}**")
    } else {
        "0".to_owned()
    }
}

fn alarms(out: &mut String, of: &Summary) {
    if of.alarms.is_empty() {
        return;
    }
    let header = [
        "alarm",
        "level",
        "missed",
        "of occasions",
        "first occasion",
        "first on",
        "times on",
        "falsely",
        "on for",
    ];
    let rows = of.alarms.iter().map(|alarm| {
        vec![
            alarm.alarm.clone(),
            alarm.level.to_owned(),
            bad(alarm.missed),
            alarm.occasions.to_string(),
            time(alarm.first_occasion_h),
            time(alarm.first_on_h),
            alarm.trips.to_string(),
            bad(alarm.false_trips),
            clock(alarm.on_h),
        ]
    });
    table(out, &header, rows);
    out.push_str(
        "An *occasion*: the truth was beyond the set point for as long as the alarm waits (its time is when it had been). \
         *Missed*: the alarm was off all the while. *Falsely*: it came on though the truth was not beyond.\n\n",
    );
}

fn responses(out: &mut String, of: &Summary) {
    if of.responses.is_empty() {
        return;
    }
    let header = [
        "response to",
        "alarm at",
        "by",
        "began",
        "done",
        "from alarm to done",
        "attempts",
    ];
    let rows = of.responses.iter().map(|response| {
        let end = match (response.done_h, response.failed) {
            (Some(at), _) => clock(at),
            (None, true) => "**given up**".to_owned(),
            (None, false) => "**not done**".to_owned(),
        };
        vec![
            format!("{} #{}", response.alarm, response.occurrence),
            clock(response.tripped_h),
            if response.people.is_empty() {
                "-".to_owned()
            } else {
                response.people.join(", ")
            },
            time(response.began_h),
            end,
            time(response.done_h.map(|done| done - response.tripped_h)),
            response.attempts.to_string(),
        ]
    });
    table(out, &header, rows);
}

fn faults(out: &mut String, of: &Summary) {
    if of.faults.is_empty() {
        return;
    }
    let rows = of.faults.iter().map(|fault| {
        let ended = match (fault.ended_h, fault.repaired) {
            (Some(at), true) => format!("{} (repaired)", clock(at)),
            (at, _) => time(at),
        };
        vec![fault.fault.clone(), time(fault.began_h), ended]
    });
    table(out, &["fault", "began", "ended"], rows);
}

fn tasks(out: &mut String, of: &Summary) {
    let is_upset = |task: &&TaskTimes| {
        let upset = task.upset.unwrap_or_default();
        upset.dropped || upset.recalled || upset.interruptions > 0
    };
    let upset: Vec<&TaskTimes> = of.schedule.tasks.iter().filter(is_upset).collect();
    if upset.is_empty() {
        return;
    }
    let rows = upset.iter().map(|task| {
        let upset = task.upset.unwrap_or_default();
        let what = match (upset.dropped, upset.recalled) {
            (true, _) => "dropped".to_owned(),
            (_, true) => "recalled".to_owned(),
            _ => format!(
                "interrupted {}",
                super::words::count(upset.interruptions as usize, "time")
            ),
        };
        let cost = match task.longer_h() {
            Some(longer_h) if longer_h < 0.0 => format!("{} shorter", clock(-longer_h)),
            Some(longer_h) => format!("{} longer", clock(longer_h)),
            None => "not ended".to_owned(),
        };
        vec![task.task.clone(), what, time(task.start_h), time(task.end_h), cost]
    });
    table(
        out,
        &["task", "what became of it", "start", "end", "than planned"],
        rows,
    );
}

fn over_variations(out: &mut String, of: &Summary) {
    let p = |of: &Ordered<f64>, p: &str| time(of.get(p).copied().filter(|hours| hours.is_finite()));
    if !of.alarms.is_empty() {
        let header = [
            "alarm",
            "missed in",
            "falsely in",
            "occasions in",
            "came on in",
            "first on 5 %",
            "50 %",
            "95 %",
            "delay 50 %",
            "95 %",
        ];
        let rows = of.alarms.iter().filter_map(|alarm| {
            let s = alarm.statistics.as_ref()?;
            let mut row = vec![alarm.alarm.clone()];
            row.extend([&s.missed_in, &s.false_in, &s.occasion_in, &s.came_on_in].map(share));
            row.extend(["0.05", "0.5", "0.95"].map(|q| p(&s.first_on_h_quantiles, q)));
            row.extend(["0.5", "0.95"].map(|q| delay(s.delay_h_quantiles.get(q).copied())));
            Some(row)
        });
        table(out, &header, rows);
    }
    if !of.responses_in_variations.is_empty() {
        let header = [
            "response to",
            "called in",
            "done in",
            "given up in",
            "alarm to done 5 %",
            "50 %",
            "95 %",
        ];
        let rows = of.responses_in_variations.iter().map(|s| {
            let mut row = vec![s.alarm.clone()];
            row.extend([&s.called_in, &s.done_in, &s.given_up_in].map(share));
            row.extend(["0.05", "0.5", "0.95"].map(|q| p(&s.alarm_to_done_h_quantiles, q)));
            row
        });
        table(out, &header, rows);
    }
    if !of.faults.is_empty() {
        let rows = of.faults.iter().filter_map(|fault| {
            let began = fault.began_in.as_ref().map(share)?;
            Some(vec![fault.fault.clone(), began])
        });
        table(out, &["fault", "began in"], rows);
    }
    out.push_str(
        "Shares of the variations that ended, each with its 95 % interval. An *occasion*: the truth was beyond the set point \
         for as long as the alarm waits. *Missed*: the alarm was off all the while, at least once. *Falsely*: it came on though \
         the truth was not beyond. *Delay*: from the first occasion to the first coming on, where there are both; below 0 it \
         came on before. *Done*: every response was; its time is of the first that was.\n\n",
    );
}

/// "3 (0.3 %; 0.06 % to 0.9 %)".
fn share(of: &In) -> String {
    let [low, high] = of.probability_95.map(percent);
    format!("{} ({}; {low} to {high})", of.variations, percent(of.probability))
}

/// A time that may be below 0.
fn delay(hours: Option<f64>) -> String {
    match hours.filter(|hours| hours.is_finite()) {
        None => "-".to_owned(),
        Some(hours) if hours < 0.0 => format!("-{}", clock(-hours)),
        Some(hours) => clock(hours),
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::sample::{limit, run, vary};
    use super::super::super::summary::{Alarm, AlarmStatistics, Fault, Response, ResponseStatistics, TaskUpset};
    use super::*;

    const HALF: In = In {
        variations: 500,
        probability: 0.5,
        probability_95: [0.47, 0.53],
    };

    fn quantiles(all: [(&str, f64); 3]) -> Ordered<f64> {
        all.map(|(p, hours)| (p.to_owned(), hours)).into_iter().collect()
    }

    fn with(mut summary: Summary, statistics: bool) -> Summary {
        summary.faults = vec![Fault {
            fault: "fan-stop".to_owned(),
            began_h: Some(4.0),
            ended_h: Some(7.5),
            repaired: true,
            began_in: statistics.then_some(HALF),
        }];
        summary.alarms = vec![Alarm {
            alarm: "co2_high".to_owned(),
            level: "warning",
            first_on_h: Some(6.0),
            trips: 2,
            false_trips: 1,
            occasions: 3,
            missed: 0,
            first_occasion_h: Some(5.0),
            on_h: 0.5,
            statistics: statistics.then(|| AlarmStatistics {
                came_on_in: HALF,
                false_in: HALF,
                occasion_in: HALF,
                missed_in: HALF,
                first_on_h_quantiles: quantiles([("0.05", 1.0), ("0.5", 2.0), ("0.95", f64::NAN)]),
                delays: 10,
                delay_h_quantiles: quantiles([("0.05", -1.0), ("0.5", -0.25), ("0.95", 0.5)]),
            }),
        }];
        summary.responses = vec![Response {
            alarm: "co2_high".to_owned(),
            occurrence: 2,
            tripped_h: 6.0,
            began_h: Some(6.1),
            done_h: None,
            people: vec!["lead".to_owned(), "second".to_owned()],
            attempts: 3,
            failed: true,
        }];
        if statistics {
            summary.responses_in_variations = vec![ResponseStatistics {
                alarm: "co2_high".to_owned(),
                called_in: HALF,
                done_in: HALF,
                given_up_in: HALF,
                times: 500,
                alarm_to_done_h_quantiles: quantiles([("0.05", 0.1), ("0.5", 0.2), ("0.95", 0.5)]),
            }];
        }
        summary.schedule.tasks = vec![TaskTimes {
            task: "samples".to_owned(),
            planned_end_h: 1.0,
            start_h: Some(0.0),
            end_h: Some(1.5),
            upset: Some(TaskUpset {
                interruptions: 2,
                ..TaskUpset::default()
            }),
            ..TaskTimes::default()
        }];
        summary
    }

    /// Every row has the cells of its header, and says what it should; nothing is said where there is nothing.
    #[test]
    fn what_went_wrong_has_its_tables() {
        let mut out = String::new();
        upsets(&mut out, &run(vec![limit("co2-1h", 0.6)]));
        assert_eq!(out, "");
        upsets(&mut out, &with(vary(vec![(limit("co2-1h", 0.6), None)]), true));
        let mut columns = None;
        for line in out.lines() {
            let cells = line.matches('|').count();
            if cells == 0 {
                columns = None;
            } else {
                assert_eq!(*columns.get_or_insert(cells), cells, "{line}");
            }
        }
        let half = "500 (50 %; 47 % to 53 %)";
        for told in [
            format!(
                "| co2_high | {half} | {half} | {half} | {half} | 1 h 00 min | 2 h 00 min | - | -0 h 15 min | 0 h 30 min |"
            ),
            format!("| co2_high | {half} | {half} | {half} | 0 h 06 min | 0 h 12 min | 0 h 30 min |"),
            format!("| fan-stop | {half} |"),
            "| co2_high | warning | 0 | 3 | 5 h 00 min | 6 h 00 min | 2 | **1** | 0 h 30 min |".to_owned(),
            "| co2_high #2 | 6 h 00 min | lead, second | 6 h 06 min | **given up** | - | 3 |".to_owned(),
            "| fan-stop | 4 h 00 min | 7 h 30 min (repaired) |".to_owned(),
            "| samples | interrupted 2 times | 0 h 00 min | 1 h 30 min | 0 h 30 min longer |".to_owned(),
            "### On the medians".to_owned(),
        ] {
            assert!(out.contains(&told), "no `{told}` in {out}");
        }
        let mut of_run = String::new();
        upsets(&mut of_run, &with(run(Vec::new()), false));
        assert!(
            !of_run.contains("On the medians") && !of_run.contains("began in"),
            "{of_run}"
        );
    }
}
