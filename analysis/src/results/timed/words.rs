//! What `fit tasks` says, in sentences.

use super::{Simulated, Timed};
use crate::fits::tasks::{FAR, Task, trials_in_words};
use crate::results::numbers::{percent, short, with_unit};
use crate::results::words::count;

/// The answer: what was fitted, what it does to the tightest margin, what to time again; then task by task what to doubt, and the timeline.
#[must_use]
pub fn sentences(of: &Timed) -> Vec<String> {
    let mut said = vec![fitted(of)];
    if let Some(simulated) = &of.simulated {
        said.extend(margin(simulated));
        said.push(again(simulated));
    }
    said.extend(of.tasks.iter().map(|task| one(task, of)));
    for without in &of.without {
        said.push(format!("`{}` has no spread: {}.", without.id, without.why));
    }
    let left_out = of.trials.iter().filter(|trial| trial.left_out.is_some()).count();
    if left_out > 0 {
        said.push(format!(
            "{} left out, as asked for; trials.csv says which and why.",
            trials_in_words(left_out)
        ));
    }
    said.extend(far(of));
    if let Some(simulated) = &of.simulated {
        said.extend(moved(simulated));
    }
    said
}

fn fitted(of: &Timed) -> String {
    let used: usize = of.tasks.iter().map(|task| task.used.len()).sum();
    let mut people: Vec<&str> = of.trials.iter().map(|trial| trial.person.as_str()).collect();
    people.sort_unstable();
    people.dedup();
    let people = if people.len() == 1 {
        "1 person".to_owned()
    } else {
        format!("{} people", people.len())
    };
    format!(
        "{} of {} by {people} fitted.",
        count(of.tasks.len(), "task"),
        trials_in_words(used)
    )
}

/// Minutes from seconds.
pub(super) fn minutes(seconds: f64) -> String {
    format!("{} min", short(seconds / 60.0))
}

fn one(task: &Task, of: &Timed) -> String {
    let written = &task.written;
    let mut said = format!(
        "`{}`: {}, median {}, 90 % between {} and {}, from {}",
        task.id,
        task.fitted().family.name(),
        minutes(written.median_s),
        minutes(written.range_s[0]),
        minutes(written.range_s[1]),
        trials_in_words(task.used.len()),
    );
    let people = &task.people;
    if (people.effective as usize) < task.used.len() {
        let part = people
            .between
            .map(|part| format!(" ({} of the variance is between them)", percent(part)))
            .unwrap_or_default();
        said.push_str(&format!(
            " by {} people, which count as {}{part}",
            people.count, written.trials
        ));
    }
    said.push_str(&format!(". {}; {}.", task.choice.why, task.choice.test));
    if people.count == 1 && of.trials.len() > 1 {
        said.push_str(" One person did them all: of how people differ nothing is known.");
    }
    if let Some(learning) = task.learning.filter(|learning| learning.is_seen()) {
        said.push_str(&format!(
            " It changes with practice: each doubling of trials takes it to {} % of what it was (95 %: {} to {} %), which this spread mixes up; \
             --from-trial leaves early ones out.",
            short(100.0 * learning.per_doubling),
            short(100.0 * learning.per_doubling_95[0]),
            short(100.0 * learning.per_doubling_95[1]),
        ));
    }
    said
}

fn far(of: &Timed) -> Option<String> {
    let far: Vec<String> = of
        .trials
        .iter()
        .zip(&of.far)
        .filter(|(trial, far)| trial.left_out.is_none() && far.is_some_and(|z| z.abs() > FAR))
        .map(|(trial, _)| {
            format!(
                "line {} (`{}` by {}, {})",
                trial.line,
                trial.task,
                trial.person,
                minutes(trial.seconds)
            )
        })
        .collect();
    (!far.is_empty()).then(|| {
        format!(
            "Far from the others of their task, and used all the same: {}. --leave-out LINE takes one out, if you know why it should be.",
            far.join(", ")
        )
    })
}

fn moved(of: &Simulated) -> Vec<String> {
    of.timeline
        .iter()
        .map(|row| {
            let [_, before, _] = row.before_s;
            let [_, after, _] = row.after_s;
            let mut said = format!(
                "`{}` took {} in the scenario at the median and takes {} now",
                row.id,
                minutes(before),
                minutes(after)
            );
            if row.beyond_before > 0 {
                said.push_str(&format!(
                    "; {} of {} observed lay beyond the 90 % that it had, {} beyond those that it has now",
                    row.beyond_before, row.trials, row.beyond_after
                ));
            }
            if let (Some(observed), Some([low, _, high])) = (row.observed_start_s, row.start_after_s) {
                let inside = if (low..=high).contains(&observed) {
                    "within"
                } else {
                    "OUTSIDE"
                };
                said.push_str(&format!(
                    "; it was begun at {} at the median, {inside} the 90 % of simulated starts, {} to {}",
                    minutes(observed),
                    minutes(low),
                    minutes(high)
                ));
            }
            said + "."
        })
        .collect()
}

fn margin(of: &Simulated) -> Option<String> {
    let rule = of.tightest().into_iter().next()?;
    let [before, after] = of.kept[rule];
    let unit = of.scenario.limits[rule].unit;
    let shown = |si: f64| with_unit(unit.difference_from_si(si), unit.symbol);
    Some(format!(
        "The tightest margin is that of {}: 95 % of variations keep {} (with the spreads of before {}), and {} are beyond it (before {}).",
        of.limit(rule),
        shown(after.low),
        shown(before.low),
        percent(after.beyond),
        percent(before.beyond),
    ))
}

/// Which task to time again.
fn again(of: &Simulated) -> String {
    let Some(rule) = of.tightest().into_iter().next() else {
        return "No limit ever applied, so no task holds a margin.".to_owned();
    };
    let limit = of.limit(rule);
    if let Some(said) = holds(of, rule) {
        return said;
    }
    let none =
        format!("None of these tasks holds the margin of {limit}: it goes with none of them by more than chance.");
    let other = of.tightest().into_iter().skip(1).find_map(|rule| holds(of, rule));
    match other {
        Some(said) => format!("{none} The next tightest that goes with one: {said}"),
        None => none,
    }
}

/// Which task holds the margin of a rule; none if none does by more than chance.
fn holds(of: &Simulated, rule: usize) -> Option<String> {
    let limit = of.limit(rule);
    let own: Vec<_> = of.held.iter().filter(|held| held.rule == rule).collect();
    let by_doubt = own.iter().max_by(|a, b| a.doubt().total_cmp(&b.doubt()));
    let by_all = own.iter().max_by(|a, b| a.duration.abs().total_cmp(&b.duration.abs()));
    Some(match (by_doubt, by_all) {
        (Some(held), _) if held.doubt() > 0.0 => format!(
            "Time `{}` again: of these tasks what its trials leave unsure moves the margin of {limit} most (rank correlation {} with its centre, {} with its \
             width; {} with how long it takes this time or that, which more trials do not narrow).",
            held.id,
            short(held.centre),
            short(held.width),
            short(held.duration),
        ),
        (_, Some(held)) if held.duration.abs() > held.chance => format!(
            "More trials would not make the margin of {limit} better known: it goes with how long `{}` takes this time or that (rank correlation {}), not \
             with what its trials leave unsure.",
            held.id,
            short(held.duration),
        ),
        _ => return None,
    })
}
