//! What was found, in sentences: the value, how sure it is, what else is not met there; or why there is none.

use super::{Asked, Sized};
use crate::results::numbers::{percent, with_unit};
use crate::results::words::count;
use crate::study::size::{Answer, Point, Why};
use breathroom_sim::units::figures;

/// The sentences of all sizes, the answer first.
#[must_use]
pub fn sentences(asked: &Asked, sizes: &[Sized]) -> Vec<String> {
    let mut said = Vec::new();
    for sized in sizes {
        let at = sized.over.as_ref().zip(asked.over.as_ref());
        let head = at.map_or(String::new(), |(value, path)| format!("With {path} = {value}: "));
        match &sized.size.answer {
            Ok(answer) => said.extend(of_answer(asked, sized, answer, &head)),
            Err(why) => said.push(format!("{head}{}", of_none(asked, &sized.size.curve, why))),
        }
        said.extend(failed(asked, &sized.size.curve));
    }
    said
}

/// "95 % of variations keep co2-1h, with 95 % confidence".
fn claim(asked: &Asked) -> String {
    if asked.exact {
        return format!("{} is kept (nothing in the scenario is uncertain)", asked.keep);
    }
    format!(
        "{} of variations keep {}, with {} confidence",
        percent(asked.gate.coverage()),
        asked.keep,
        percent(asked.gate.confidence())
    )
}

/// A value with as many figures as were worked out.
fn value(asked: &Asked, value: f64) -> String {
    let number = figures(value, 5);
    if asked.unit.is_empty() {
        number
    } else {
        format!("{number} {}", asked.unit)
    }
}

fn of_answer(asked: &Asked, sized: &Sized, answer: &Answer, head: &str) -> Vec<String> {
    let mut said = Vec::new();
    let (end, claim) = (asked.end(), claim(asked));
    let tries = &answer.proof.tries;
    let Some(last) = tries.last() else { return said };
    let shown = if asked.exact {
        String::new()
    } else {
        let tried = match tries.len() {
            1 => String::new(),
            more => format!(
                " (the value from the search, {}, was not: {more} were tried, each so that all together claim no more than they may)",
                value(asked, tries[0].value)
            ),
        };
        format!(
            "; shown on {} of a fresh seed, of which {} are beyond the limit{tried}",
            count(last.runs as usize, "variation"),
            percent(last.beyond)
        )
    };
    if answer.proof.proved().is_some() {
        said.push(format!(
            "{head}The {end} {} with which {claim} is {}{shown}.",
            asked.what,
            value(asked, last.value)
        ));
    } else {
        said.push(format!(
            "{head}NOT SHOWN on fresh seeds: the search gives {} as the {end} {} with which {claim}, but up to {} no value was shown (the \
             last: {} beyond the limit in {}). Ask with more --runs.",
            value(asked, answer.found),
            asked.what,
            value(asked, last.value),
            percent(last.beyond),
            count(last.runs as usize, "variation"),
        ));
    }
    if !asked.exact {
        let share = percent(asked.gate.coverage());
        said.push(match answer.interval {
            [Some(low), Some(high)] => format!(
                "However many variations were run, the value at which {share} keep it would lie between {} and {} (95 % interval).",
                value(asked, low),
                value(asked, high)
            ),
            [Some(low), None] => format!(
                "The value at which {share} keep it is above {}; its upper end is beyond the range, or {} are too few to tell it.",
                value(asked, low),
                count(asked.runs as usize, "variation")
            ),
            [None, Some(high)] => format!(
                "The value at which {share} keep it is below {}; its lower end is beyond the range, or {} are too few to tell it.",
                value(asked, high),
                count(asked.runs as usize, "variation")
            ),
            [None, None] => format!(
                "The interval of the value is beyond the range, or {} are too few to tell it.",
                count(asked.runs as usize, "variation")
            ),
        });
    }
    if !sized.not_met.is_empty() {
        said.push(format!(
            "At that value NOT MET at the same gate: {}. Only {} was asked to be kept.",
            sized.not_met.join(", "),
            asked.keep
        ));
    }
    if let Some(why) = &sized.failure {
        said.push(format!(
            "Some variations could not be finished and count as beyond the limit; the first: {why}."
        ));
    }
    said
}

/// Values at which variations could not be finished: what makes a margin fall where it should not.
fn failed(asked: &Asked, curve: &[Point]) -> Option<String> {
    let all: Vec<(&Point, &String)> = curve
        .iter()
        .filter_map(|point| Some((point, point.failure.as_ref()?)))
        .collect();
    let (first, why) = all.first()?;
    let (tried, last) = (
        curve.iter().filter(|point| point.refused.is_none()).count(),
        all.last().map_or(first.value, |(last, _)| last.value),
    );
    Some(format!(
        "At {} of {tried} values tried, from {} to {}, variations could not be finished and count as beyond the limit; the first: {why}.",
        all.len(),
        value(asked, first.value),
        value(asked, last)
    ))
}

fn of_none(asked: &Asked, curve: &[Point], why: &Why) -> String {
    let range = format!(
        "from {} to {}",
        value(asked, asked.range[0]),
        value(asked, asked.range[1])
    );
    let claim = claim(asked);
    let best = curve
        .iter()
        .filter(|point| !point.bound.is_nan())
        .max_by(|a, b| a.bound.total_cmp(&b.bound));
    let near = best.map_or(String::new(), |best| {
        format!(
            " The most that is kept is a margin of {}, at {}.",
            with_unit(best.bound, asked.margin_unit),
            value(asked, best.value)
        )
    });
    let (what, end) = (&asked.what, asked.end());
    match why {
        Why::Never => format!("No {what} {range} will do: at none is it shown that {claim}.{near}"),
        Why::Always => format!(
            "Every {what} {range} will do: at each that was tried {claim}. The {end} lies beyond that range; widen it with --from and --to."
        ),
        Why::OtherEnd => format!(
            "There is no {end} {what} {range}: the margin is kept at the other end of it. Ask {}.",
            match asked.find {
                crate::study::size::Find::Smallest => "for the largest with --largest",
                crate::study::size::Find::Largest => "for the smallest, without --largest",
            }
        ),
        Why::NotMonotone => format!(
            "There is no one answer: {range} the margin of {} is kept, not kept and kept again as {what} grows. size.csv has the curve; \
             narrow the range with --from and --to.",
            asked.keep
        ),
        Why::Refused(why) => format!("No {what} {range} can be tried: {why}."),
    }
}
