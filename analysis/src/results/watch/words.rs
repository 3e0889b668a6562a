//! What `watch` says in sentences: what is caught in time, false alarms, what tables would have said, what is missed.

use super::{Caught, MethodFigures, Of};
use crate::results::numbers::{percent, short};
use crate::watch::characterise::Watched;
use crate::watch::detector::Method;

/// Below this share of runs a fault counts as missed.
const MISSED: f64 = 0.5;

/// Faults told in a sentence.
const MOST_TOLD: usize = 8;

/// The answer.
#[must_use]
pub fn sentences(of: &Of<'_>, watched: &Watched, figures: &[MethodFigures], caught: &[Caught]) -> Vec<String> {
    let mut said = Vec::new();
    let best = best(figures, caught);
    let asked = rate(of.job.per_day);
    if let Some(best) = best.filter(|best| best.before[0] > 0) {
        let margin = match best.margin_min {
            Some(margin) if margin.is_finite() => format!(", with a median margin of {} min", short(margin)),
            _ => String::new(),
        };
        said.push(format!(
            "At thresholds for {asked}, the {} catches {} of the {} runs whose fault crosses a limit before it is crossed{margin}.",
            best.method.name(),
            best.before[1],
            best.before[0]
        ));
    } else if !watched.trials.is_empty() {
        said.push(
            "No fault that was tried crosses a limit within its run, so there is no detection margin.".to_owned(),
        );
    }
    said.push(false_alarms(of, watched, figures));
    said.extend(of_tables(of, figures));
    said.extend(missed(of, caught, best.map_or(Method::Bank, |best| best.method)));
    said.extend(naming(of, watched));
    said.extend(unmodelled(of, caught));
    let what = match (of.job.known_timeline, timeline_varies(of)) {
        (_, false) => "The scenario has no spread on its tasks: every run has the same timeline.",
        (true, true) => "What is expected knows when tasks began and ended, and takes the medians of all else.",
        (false, true) => {
            "What is expected is the run on the medians: it does not know when tasks really began and ended. With --timeline known it \
             does, and sees more."
        }
    };
    said.push(what.to_owned());
    if watched.not_begun > 0 {
        said.push(format!(
            "{} faults of the file did not begin within their run and are not counted.",
            watched.not_begun
        ));
    }
    said
}

fn timeline_varies(of: &Of<'_>) -> bool {
    of.scenario.inputs.iter().any(|input| input.path.starts_with("tasks."))
}

/// "1 false alarm in 30 d".
#[must_use]
pub fn rate(per_day: f64) -> String {
    if per_day >= 1.0 {
        format!("{} false alarms a day", short(per_day))
    } else {
        format!("1 false alarm in {} d", short(1.0 / per_day))
    }
}

/// The method that catches most before a limit; of equals the one that detects most at all, then the one with the larger margin.
fn best<'f>(figures: &'f [MethodFigures], caught: &[Caught]) -> Option<&'f MethodFigures> {
    let key = |method: &MethodFigures| {
        let own = caught.iter().filter(|one| Method::ALL[one.method] == method.method);
        let detected: usize = own.map(|one| one.detected).sum();
        (
            method.before[1],
            detected,
            method.margin_min.unwrap_or(f64::NEG_INFINITY),
        )
    };
    figures
        .iter()
        .reduce(|best, other| if key(other) > key(best) { other } else { best })
}

fn false_alarms(of: &Of<'_>, watched: &Watched, figures: &[MethodFigures]) -> String {
    let one = |figures: &MethodFigures| {
        format!(
            "{} {} (95 %: {} to {})",
            figures.method.name(),
            short(figures.per_day),
            short(figures.interval[0]),
            short(figures.interval[1])
        )
    };
    let all: Vec<String> = figures.iter().map(one).collect();
    let above: Vec<&str> = figures
        .iter()
        .filter(|one| one.above)
        .map(|one| one.method.name())
        .collect();
    let verdict = if above.is_empty() {
        "None is shown to be above what was asked.".to_owned()
    } else {
        format!("Above what was asked: {}.", above.join("; "))
    };
    format!(
        "False alarms a day in {} held-out nominal runs ({} d), asked for {}: {}. {verdict}",
        of.job.held_out,
        short(watched.nominal.days),
        short(of.job.per_day),
        all.join("; ")
    )
}

/// That tables hold for independent readings alone.
fn of_tables(of: &Of<'_>, figures: &[MethodFigures]) -> Option<String> {
    let of_method = |method: Method| {
        let found = figures.iter().find(|one| one.method == method)?.table_per_day?;
        Some((short(found), super::tables::independent(of, method)?))
    };
    let ((raw, promised), (white, _)) = (of_method(Method::Cusum)?, of_method(Method::WhiteCusum)?);
    Some(format!(
        "The customary limit of cumulative sums (h = 5), begun anew after each alarm, promises {} alarms a day for so many independent \
         readings. Residuals are not independent: it gives {raw} a day, and {white} once they are made white.",
        short(promised)
    ))
}

/// What the best method misses at the highest severity, and what none sees.
fn missed(of: &Of<'_>, caught: &[Caught], best: Method) -> Option<String> {
    let last = of.job.severities.len().checked_sub(1)?;
    let worst = |method: usize, mode: usize| {
        caught
            .iter()
            .find(|one| one.mode == mode && one.severity == last && one.method == method)
            .map(|one| one.detected as f64 / one.runs as f64)
    };
    let method = Method::ALL.iter().position(|other| *other == best)?;
    let mut told = Vec::new();
    for &mode in &of.job.tried {
        let Some(share) = worst(method, mode).filter(|share| *share < MISSED) else {
            continue;
        };
        let most = (0..6).filter_map(|method| worst(method, mode)).fold(0.0, f64::max);
        let id = &of.modes[mode].id;
        told.push(if most < MISSED {
            format!("{id} ({}, and no method sees half of them)", percent(share))
        } else {
            format!("{id} ({}, another method {})", percent(share), percent(most))
        });
    }
    if caught.is_empty() {
        return None;
    }
    let more = told.len().saturating_sub(MOST_TOLD);
    told.truncate(MOST_TOLD);
    if more > 0 {
        told.push(format!("and {more} more, in detection.csv"));
    }
    Some(if told.is_empty() {
        format!(
            "At the highest severity the {} detects at least half of the runs of every fault.",
            best.name()
        )
    } else {
        format!(
            "Missed by the {} in most runs even at the highest severity (share detected): {}.",
            best.name(),
            told.join("; ")
        )
    })
}

fn naming(of: &Of<'_>, watched: &Watched) -> Option<String> {
    let alarmed: Vec<_> = watched
        .trials
        .iter()
        .filter(|trial| of.knows(trial.mode))
        .filter_map(|trial| Some((trial.mode, trial.named?.0, trial.named_last?.0)))
        .collect();
    if alarmed.is_empty() {
        return None;
    }
    let all = alarmed.len() as f64;
    let share = |keep: &dyn Fn(usize, usize, usize) -> bool| {
        percent(
            alarmed
                .iter()
                .filter(|(mode, named, last)| keep(*mode, *named, *last))
                .count() as f64
                / all,
        )
    };
    let place = |mode: usize| &of.modes[mode].place;
    Some(format!(
        "When its alarm comes the bank names the right fault in {} of {} runs with a fault that it knows, the right place in {}; at the end \
         of the run the right fault in {}.",
        share(&|mode, named, _| mode == named),
        alarmed.len(),
        share(&|mode, named, _| place(mode) == place(named)),
        share(&|mode, _, last| mode == last)
    ))
}

fn unmodelled(of: &Of<'_>, caught: &[Caught]) -> Option<String> {
    let last = of.job.severities.len().checked_sub(1)?;
    let told: Vec<String> = caught
        .iter()
        .filter(|one| !of.knows(one.mode) && Method::ALL[one.method] == Method::Bank && one.severity == last)
        .map(|one| {
            format!(
                "{} {}",
                of.modes[one.mode].id,
                percent(one.detected as f64 / one.runs as f64)
            )
        })
        .collect();
    (!told.is_empty()).then(|| {
        format!(
            "Faults that the bank does not know are detected by it all the same, as something else: {}.",
            told.join(", ")
        )
    })
}
