//! What went wrong, in sentences: what no one was told of first, then what was not done about it, then what it cost.

use super::numbers::{clock, percent};
use super::summary::{Alarm, AlarmStatistics, Fault, In, Response, ResponseStatistics, Summary, TaskTimes, Variations};
use super::words::count;

/// Less than this is nothing that a clock shows, h.
const SHOWN_H: f64 = 0.5 / 60.0;
/// Of each kind, so many are told one by one.
const MOST_TOLD: usize = 4;

/// Sentences about faults, alarms, responses and what they did to tasks; none where a scenario has none of them.
#[must_use]
pub fn sentences(summary: &Summary) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(variations) = &summary.variations {
        said.extend(over_variations(summary, variations));
    }
    let on_medians = summary.variations.is_some();
    let mut of_run: Vec<String> = few(summary.alarms.iter().filter_map(missed));
    of_run.extend(few(summary.responses.iter().filter_map(|of| not_done(of, summary))));
    of_run.extend(untold(summary));
    if !on_medians {
        of_run.extend(began(&summary.faults));
        of_run.extend(few(summary.alarms.iter().filter_map(came_on)));
        of_run.extend(few(summary.responses.iter().filter_map(done)));
        of_run.extend(tasks(&summary.schedule.tasks));
    }
    if on_medians {
        said.extend(of_run.iter().map(|one| format!("On the medians: {}", going_on(one))));
    } else {
        said.extend(of_run);
    }
    said
}

/// A sentence after a colon: without its capital, unless its first word is in capitals.
fn going_on(sentence: &str) -> String {
    let mut letters = sentence.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => format!("{}{}", first.to_lowercase(), letters.as_str()),
        _ => sentence.to_owned(),
    }
}

fn few(said: impl Iterator<Item = String>) -> Vec<String> {
    said.take(MOST_TOLD).collect()
}

fn missed(of: &Alarm) -> Option<String> {
    let first = of.first_occasion_h.map_or_else(String::new, |at| {
        format!(" (the first was long enough for it at {})", clock(at))
    });
    (of.missed > 0).then(|| {
        format!(
            "Alarm {} MISSED {} of {}: it was off all the while that the truth was beyond its set point{first}.",
            of.alarm,
            of.missed,
            count(of.occasions as usize, "occasion")
        )
    })
}

fn not_done(of: &Response, summary: &Summary) -> Option<String> {
    if of.done_h.is_some() {
        return None;
    }
    let (which, end) = (which(of), clock(summary.end.at_h));
    let by = of.people.join(" and ");
    Some(match of.began_h.map(clock) {
        _ if of.failed => format!(
            "The response to {which} was GIVEN UP after {} by {by}: the repair never succeeded.",
            count(of.attempts as usize, "attempt")
        ),
        Some(began) => {
            format!("The response to {which} WAS NOT DONE when the run ended at {end}; {by} began it at {began}.")
        }
        None => format!(
            "The response to {which} WAS NOT BEGUN when the run ended at {end}: the time to react was not over, or no one could \
             be had for it."
        ),
    })
}

/// "alarm co2_high at 5 h 12 min".
fn which(of: &Response) -> String {
    format!("alarm {} at {}", of.alarm, clock(of.tripped_h))
}

/// Faults after whose onset no alarm is known to have come on: of one that came on before it too, that cannot be said.
fn untold(summary: &Summary) -> Option<String> {
    let silent_after = |of: &Alarm, onset_h: f64| match of.first_on_h {
        None => true,
        Some(first_h) => first_h < onset_h && of.trips == 1,
    };
    let of_no_alarm = |fault: &&Fault| {
        let onset_h = fault.began_h;
        onset_h.is_some_and(|onset_h| summary.alarms.iter().all(|alarm| silent_after(alarm, onset_h)))
    };
    let faults: Vec<String> = summary.faults.iter().filter(of_no_alarm).map(named).collect();
    (!faults.is_empty()).then(|| format!("NO ALARM came on after {}.", listed(&faults)))
}

/// "fault fan-stop (8 h 00 min)".
fn named(of: &Fault) -> String {
    format!("fault {} ({})", of.fault, clock(of.began_h.unwrap_or(f64::NAN)))
}

fn listed(names: &[String]) -> String {
    let more = match names.len().saturating_sub(MOST_TOLD) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    format!("{}{more}", names[..names.len().min(MOST_TOLD)].join(", "))
}

fn began(faults: &[Fault]) -> Option<String> {
    let began = faults.iter().filter(|of| of.began_h.is_some());
    let told: Vec<String> = began
        .map(|of| {
            let ended = of.ended_h.map_or_else(String::new, |at| {
                let how = if of.repaired { "repaired" } else { "over" };
                format!(", {how} at {}", clock(at))
            });
            format!("{} at {}{ended}", of.fault, clock(of.began_h.unwrap_or(f64::NAN)))
        })
        .collect();
    let none = (!faults.is_empty()).then(|| "No fault of the scenario began.".to_owned());
    if told.is_empty() {
        none
    } else {
        Some(format!("What went wrong: {}.", listed(&told)))
    }
}

fn came_on(of: &Alarm) -> Option<String> {
    let first = clock(of.first_on_h?);
    let late = of
        .first_occasion_h
        .filter(|_| of.false_trips == 0)
        .map_or_else(String::new, |at| {
            format!(", {} its first occasion", after(of.first_on_h.unwrap_or(at) - at))
        });
    let often = if of.trips == 1 {
        String::new()
    } else {
        format!("; {} times in all", of.trips)
    };
    let falsely = match (of.false_trips, of.trips) {
        (0, _) => String::new(),
        (1, 1) => ", FALSELY".to_owned(),
        (some, _) => format!(", {some} of them FALSELY"),
    };
    Some(format!(
        "Alarm {} ({}) came on at {first}{late}{often}{falsely}.",
        of.alarm, of.level
    ))
}

/// "0 h 12 min after".
fn after(hours: f64) -> String {
    if hours.abs() < SHOWN_H {
        "within a minute of".to_owned()
    } else if hours > 0.0 {
        format!("{} after", clock(hours))
    } else {
        format!("{} before", clock(-hours))
    }
}

fn done(of: &Response) -> Option<String> {
    let took = of.done_h? - of.tripped_h;
    let attempts = if of.attempts > 1 {
        format!(", at attempt {}", of.attempts)
    } else {
        String::new()
    };
    Some(format!(
        "The response to {} was done by {}, {} after the alarm{attempts}.",
        which(of),
        of.people.join(" and "),
        clock(took)
    ))
}

/// What responses cost: tasks that were interrupted, dropped or called in.
fn tasks(all: &[TaskTimes]) -> Vec<String> {
    let of = |is: fn(&TaskTimes) -> bool| -> Vec<&TaskTimes> { all.iter().filter(|task| is(task)).collect() };
    let upset = |task: &TaskTimes| task.upset.unwrap_or_default();
    let mut said = Vec::new();
    let mut tell = |found: Vec<&TaskTimes>, what: &str, cost: &dyn Fn(&TaskTimes) -> String| {
        if !found.is_empty() {
            let named: Vec<String> = found
                .iter()
                .map(|task| format!("{}{}", task.task, cost(task)))
                .collect();
            said.push(format!("{} {what}: {}.", count(found.len(), "task"), listed(&named)));
        }
    };
    let dropped = of(|task| task.upset.is_some_and(|of| of.dropped));
    tell(dropped, "dropped for a response", &|task| {
        let left = task
            .longer_h()
            .map(|longer_h| -longer_h)
            .filter(|&left_h| left_h >= SHOWN_H);
        left.map_or_else(String::new, |left_h| format!(" ({} left undone)", clock(left_h)))
    });
    let recalled = of(|task| task.upset.is_some_and(|of| of.recalled));
    tell(recalled, "outside cut short by a recall", &|task| {
        let cut = task.longer_h().unwrap_or(f64::NAN);
        format!(" (by {})", clock(-cut))
    });
    let interrupted = of(|task| task.upset.is_some_and(|of| of.interruptions > 0 && !of.dropped));
    tell(interrupted, "interrupted for a response", &|task| {
        let often = match upset(task).interruptions {
            1 => String::new(),
            some => format!("{some} times, "),
        };
        match task.longer_h() {
            Some(longer_h) => format!(" ({often}{} longer)", clock(longer_h)),
            None => format!(" ({often}not ended)"),
        }
    });
    said
}

fn over_variations(summary: &Summary, variations: &Variations) -> Vec<String> {
    let ended = variations.runs - variations.failed;
    let mut alarms: Vec<(&Alarm, &AlarmStatistics)> = summary
        .alarms
        .iter()
        .filter_map(|alarm| alarm.statistics.as_ref().map(|of| (alarm, of)))
        .collect();
    // The one that misses most first; equals in the order of the file.
    alarms.sort_by_key(|(_, of)| std::cmp::Reverse(of.missed_in.variations));
    let mut said: Vec<String> = alarms
        .iter()
        .take(MOST_TOLD)
        .map(|(alarm, of)| of_alarm(alarm, of, ended))
        .collect();
    said.extend(few(summary.responses_in_variations.iter().map(of_response)));
    said
}

fn of_alarm(alarm: &Alarm, of: &AlarmStatistics, ended: u64) -> String {
    let occasions = of.occasion_in.variations;
    let missed = match (of.missed_in.variations, occasions) {
        (0, 0) => format!("had no occasion in {ended} variations"),
        (0, _) => format!(
            "missed no occasion in {ended} variations (95 % interval {}; {occasions} had one)",
            interval(&of.missed_in)
        ),
        (some, _) => format!(
            "MISSED an occasion in {some} of {ended} variations ({}, 95 % interval {}; {occasions} had one)",
            percent(of.missed_in.probability),
            interval(&of.missed_in)
        ),
    };
    let falsely = match of.false_in.variations {
        0 => "never came on falsely".to_owned(),
        _ => format!("came on FALSELY in {}", share(&of.false_in)),
    };
    let late = quantile(&of.delay_h_quantiles, "0.95").map_or_else(String::new, |late_h| {
        format!(
            " Where it came on and there was an occasion, in 95 % it came on no later than {} the first occasion.",
            after(late_h)
        )
    });
    format!(
        "Alarm {} {missed}, {falsely}, and came on in {}.{late}",
        alarm.alarm, of.came_on_in.variations
    )
}

fn of_response(of: &ResponseStatistics) -> String {
    let not_done = of.called_in.variations.saturating_sub(of.done_in.variations);
    let which = format!("The response to alarm {}", of.alarm);
    if of.called_in.variations == 0 {
        return format!("{which} was never called for.");
    }
    let given_up = match of.given_up_in.variations {
        0 => String::new(),
        some => format!(", given up in {some}"),
    };
    let not_done = if not_done > 0 {
        format!(
            "was NOT DONE in {not_done} of the {} variations that called for it{given_up}",
            of.called_in.variations
        )
    } else {
        format!(
            "was done in all {} variations that called for it",
            of.called_in.variations
        )
    };
    let took = ["0.95", "0.5"].map(|p| quantile(&of.alarm_to_done_h_quantiles, p));
    let took = match took {
        [Some(late_h), Some(median_h)] => format!(
            "; where it was done, within {} of the alarm in 95 % ({} in the median)",
            clock(late_h),
            clock(median_h)
        ),
        _ => String::new(),
    };
    format!("{which} {not_done}{took}.")
}

fn quantile(of: &super::Ordered<f64>, p: &str) -> Option<f64> {
    of.get(p).copied().filter(|value| value.is_finite())
}

/// "3 (0.3 %, 95 % interval 0.06 % to 0.9 %)".
fn share(of: &In) -> String {
    format!(
        "{} ({}, 95 % interval {})",
        of.variations,
        percent(of.probability),
        interval(of)
    )
}

fn interval(of: &In) -> String {
    let [low, high] = of.probability_95.map(percent);
    format!("{low} to {high}")
}
