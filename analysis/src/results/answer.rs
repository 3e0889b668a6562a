//! The answer in words: what a result says, the low end first, in a few sentences.

use super::holds;
use super::notices;
use super::numbers::{clock, percent};
use super::rarely;
use super::standing::{Standing, bound_of, standings};
use super::summary::{Gate, Limit, Summary, Variations};
use super::words::{count, margin};
use super::wrong;

/// Limits that are told one by one.
const MOST_TOLD: usize = 3;
/// Of a scenario without limits.
const NO_LIMITS: &str = "The scenario sets no limits: nothing is judged.";

/// Sentences that answer the question of a summary, the most important first.
#[must_use]
pub fn sentences(summary: &Summary) -> Vec<String> {
    let mut said = rarely::sentences(summary);
    if let Some(cause) = &summary.end.cause {
        let which = if summary.variations.is_some() {
            "On the medians the run is"
        } else {
            "The run is"
        };
        said.push(format!(
            "{which} NOT SURVIVABLE: {cause} at {}. It stops there.",
            clock(summary.end.at_h)
        ));
    }
    match &summary.variations {
        Some(variations) => over_variations(summary, variations, &mut said),
        None => one_run(summary, &mut said),
    }
    said.extend(wrong::sentences(summary));
    said.extend(notices::sentences(summary));
    if summary.variations.is_none() && summary.only.is_none() && summary.rare.is_none() {
        said.push(of_medians(summary).to_owned());
    }
    let rested: Vec<String> = summary
        .limits
        .iter()
        .filter(|limit| limit.margin.is_nan())
        .map(|limit| format!("{} ({})", limit.id, limit.place))
        .collect();
    if !rested.is_empty() {
        let medians = if summary.variations.is_some() {
            " on the medians"
        } else {
            ""
        };
        said.push(format!(
            "{} never applied{medians}: {}.",
            count(rested.len(), "limit"),
            some_of(&rested)
        ));
    }
    if !summary.schedule.unfinished.is_empty() {
        let tasks = &summary.schedule.unfinished;
        said.push(format!(
            "{} had not ended when the run did: {}.",
            count(tasks.len(), "task"),
            some_of(tasks)
        ));
    }
    if !summary.from_memory.is_empty() {
        said.push(format!(
            "{} on memory and should be checked against their sources; summary.md lists them.",
            match summary.from_memory.len() {
                1 => "1 default or limit rests".to_owned(),
                more => format!("{more} defaults and limits rest"),
            }
        ));
    }
    said
}

/// The first few of a list.
fn some_of(names: &[String]) -> String {
    let more = if names.len() > 5 {
        format!(" and {} more", names.len() - 5)
    } else {
        String::new()
    };
    format!("{}{more}", names[..names.len().min(5)].join(", "))
}

fn one_run(summary: &Summary, said: &mut Vec<String>) {
    let on = match &summary.only {
        _ if !summary.end.completed => "Until then".to_owned(),
        Some(only) => format!("In variation {} (seed {})", only.variation, only.seed),
        None => "On the medians".to_owned(),
    };
    let all = standings(summary);
    let broken: Vec<&Standing<'_>> = all.iter().filter(|standing| !standing.met).collect();
    if all.is_empty() {
        said.push(NO_LIMITS.to_owned());
    } else if broken.is_empty() {
        let every = if all.len() == 1 {
            "the limit is met"
        } else {
            "every limit is met"
        };
        let near = all
            .first()
            .filter(|standing| !standing.low.is_nan())
            .map_or_else(String::new, |standing| {
                let left = kept(standing);
                format!(
                    " The tightest is {}: {left} to spare, at {}.",
                    standing.which(),
                    clock(standing.limit.at_h)
                )
            });
        said.push(format!("{on} {every}.{near}"));
    } else {
        let are = if broken.len() == 1 { "is" } else { "are" };
        said.push(format!(
            "{on} {} of {} {are} NOT MET.",
            broken.len(),
            count(all.len(), "limit")
        ));
        for standing in broken.iter().take(MOST_TOLD) {
            let limit = standing.limit;
            let beyond = margin(
                -limit.margin,
                limit.unit,
                limit.margin_fraction.map(|fraction| -fraction),
            );
            let crossed = |at| format!(", first crossed at {}", clock(at));
            let first = limit.first_crossing_h.map_or_else(String::new, crossed);
            said.push(format!(
                "{} is {beyond} beyond its limit at worst{first}.",
                standing.which()
            ));
        }
    }
}

/// What a single run cannot say.
fn of_medians(summary: &Summary) -> &'static str {
    if summary.provenance.inputs.is_empty() {
        "No value of the scenario has a spread, so this run says nothing of how sure the margins are."
    } else {
        "Medians are optimistic where durations are skewed: the mean of a skewed duration is longer than its median. \
         `breathroom vary` gives the margins with their confidence."
    }
}

fn over_variations(summary: &Summary, variations: &Variations, said: &mut Vec<String>) {
    let gate = variations.gate.unwrap_or(Gate::USUAL);
    let runs = variations.runs;
    let all = standings(summary);
    let open: Vec<&Standing<'_>> = all.iter().filter(|standing| !standing.met).collect();
    let shares = [gate.coverage, gate.confidence].map(percent);
    let claim = format!("in {} of variations, with {} confidence", shares[0], shares[1]);
    if variations.survival.not_survivable > 0 {
        let ended = variations.survival.not_survivable;
        said.push(format!("{ended} of {runs} variations ended as NOT SURVIVABLE."));
    }
    let unbounded = |limit: &Limit| limit.statistics.as_ref().is_some_and(|of| bound_of(of).is_none());
    if summary.limits.iter().any(unbounded) {
        said.push(format!(
            "{runs} variations are too few to say what holds {claim} (95 % with 95 % confidence needs 59)."
        ));
    }
    if all.is_empty() {
        said.push(NO_LIMITS.to_owned());
    } else if open.is_empty() {
        let near = all
            .first()
            .filter(|standing| standing.low.is_finite())
            .map_or_else(String::new, |standing| {
                format!(
                    " The tightest is {}: at least {} to spare.",
                    standing.which(),
                    kept(standing)
                )
            });
        said.push(format!("Each limit, on its own, is met {claim}.{near}"));
    } else {
        let are = if open.len() == 1 { "is" } else { "are" };
        said.push(format!(
            "{} of {} {are} NOT SHOWN to be met {claim}.",
            open.len(),
            count(all.len(), "limit")
        ));
    }
    for standing in open.iter().take(MOST_TOLD) {
        if let Some(of) = &standing.limit.statistics {
            let low = match bound_of(of) {
                None => String::new(),
                Some(bound) if bound.is_finite() => format!("the margin kept is {}; ", kept(standing)),
                Some(_) => "the margin kept is none at all; ".to_owned(),
            };
            let [lo, hi] = of.probability_95.map(percent);
            let share = percent(of.probability);
            said.push(format!(
                "{}: {low}beyond the limit in {} of {runs} variations ({share}, 95 % interval {lo} to {hi}).",
                standing.which(),
                of.violations,
            ));
        }
    }
    said.extend(holds::tightest(summary, &all));
    if all.len() > 1 {
        let joint = variations.joint_95_95;
        let is = if joint.met { "is" } else { "is NOT" };
        let [low, high] = joint.probability_95.map(percent);
        said.push(format!(
            "All limits at once: {} of {runs} variations are beyond one or more (95 % interval {low} to {high}); it {is} shown \
             that 95 % keep all of them, with 95 % confidence.",
            joint.violations
        ));
    }
    if let Some(until) = &variations.until {
        said.push(until.told());
    }
    if variations.failed > 0 {
        let failures = count(variations.failed as usize, "variation");
        let first = variations.failures.first().map_or_else(String::new, |failure| {
            format!(" The first, variation {}: {}.", failure.variation, failure.error)
        });
        said.push(format!(
            "{failures} could not be finished; each counts as a violation and as the worst margin.{first}"
        ));
    }
}

/// The least margin in words.
fn kept(standing: &Standing<'_>) -> String {
    let limit = standing.limit;
    margin(
        standing.low,
        limit.unit,
        limit.margin_fraction.map(|_| standing.low / limit.limit.abs()),
    )
}

#[cfg(test)]
mod tests {
    use super::super::sample::{limit, run, vary};
    use super::super::summary::{End, Failure, Gate, GateStatistics};
    use super::*;

    #[test]
    fn a_run_names_the_tightest_limit_and_says_that_medians_are_optimistic() {
        let said = sentences(&run(vec![limit("wide", 2.0), limit("co2-1h", 0.6)]));
        assert_eq!(
            said[0],
            "On the medians every limit is met. The tightest is co2-1h (crew:lead): 0.6 mmHg (20 % of the limit) to \
             spare, at 31 h 12 min."
        );
        assert!(
            said[1].starts_with("Medians are optimistic where durations are skewed"),
            "{}",
            said[1]
        );
    }

    #[test]
    fn a_limit_that_never_applied_is_said_to_be_so() {
        let mut rested = limit("lock-co2", f64::NAN);
        (rested.met, rested.margin_fraction) = (true, None);
        let said = sentences(&run(vec![limit("co2-1h", 0.6), rested])).join("\n");
        assert!(said.contains("The tightest is co2-1h"), "{said}");
        assert!(said.contains("1 limit never applied: lock-co2 (crew:lead)."), "{said}");
    }

    #[test]
    fn a_run_tells_what_is_not_met_first() {
        let said = sentences(&run(vec![limit("fine", 2.0), limit("co2-1h", -0.3)]));
        assert_eq!(said[0], "On the medians 1 of 2 limits is NOT MET.");
        assert_eq!(
            said[1],
            "co2-1h (crew:lead) is 0.3 mmHg (10 % of the limit) beyond its limit at worst, first crossed at 30 h 30 min."
        );
    }

    #[test]
    fn an_end_that_is_not_survivable_stands_before_all_else() {
        let mut summary = run(vec![limit("fine", 2.0), limit("finer", 2.5)]);
        summary.end = End {
            completed: false,
            at_h: 12.0,
            cause: Some("the oxygen ran out".to_owned()),
        };
        let said = sentences(&summary);
        assert!(
            said[0].contains("NOT SURVIVABLE: the oxygen ran out at 12 h 00 min"),
            "{}",
            said[0]
        );
        assert!(said[1].starts_with("Until then every"), "{}", said[1]);
    }

    #[test]
    fn variations_lead_with_what_is_kept_not_with_the_median() {
        let said = sentences(&vary(vec![(limit("co2-1h", 0.6), Some(0.15))]));
        assert_eq!(
            said[0],
            "Each limit, on its own, is met in 95 % of variations, with 95 % confidence. The tightest is co2-1h \
             (crew:lead): at least 0.15 mmHg (5 % of the limit) to spare."
        );
        assert!(
            said[1].contains("goes most with removal.scrubber.flow (rank correlation 0.61)"),
            "{}",
            said[1]
        );
        assert!(!said.join(" ").contains("0.6 mmHg"), "the median is left to the table");
    }

    #[test]
    fn variations_that_do_not_show_a_limit_to_be_met_say_by_how_much_and_how_often() {
        let said = sentences(&vary(vec![
            (limit("fine", 2.0), Some(1.0)),
            (limit("co2-1h", 0.6), Some(-0.08)),
        ]));
        assert_eq!(
            said[0],
            "1 of 2 limits is NOT SHOWN to be met in 95 % of variations, with 95 % confidence."
        );
        assert_eq!(
            said[1],
            "co2-1h (crew:lead): the margin kept is -0.08 mmHg (-2.7 % of the limit); beyond the limit in 123 of 1000 \
             variations (12.3 %, 95 % interval 10.4 % to 14.5 %)."
        );
    }

    #[test]
    fn too_few_variations_are_called_that() {
        let said = sentences(&vary(vec![(limit("co2-1h", 0.6), None)]));
        assert!(said[0].contains("too few"), "{}", said[0]);
        assert!(said[1].contains("NOT SHOWN"), "{}", said[1]);
    }

    #[test]
    fn another_gate_judges_in_place_of_the_usual_one() {
        let mut summary = vary(vec![(limit("co2-1h", 0.6), Some(0.15))]);
        if let Some(variations) = &mut summary.variations {
            variations.gate = Some(Gate {
                coverage: 0.99,
                confidence: 0.95,
            });
        }
        for limit in &mut summary.limits {
            if let Some(statistics) = &mut limit.statistics {
                statistics.gate = Some(GateStatistics {
                    met_gate: false,
                    tolerance_gate: Some(-0.3),
                });
            }
        }
        let said = sentences(&summary);
        assert_eq!(
            said[0],
            "1 of 1 limit is NOT SHOWN to be met in 99 % of variations, with 95 % confidence."
        );
        assert!(said[1].contains("the margin kept is -0.3 mmHg"), "{}", said[1]);
    }

    #[test]
    fn a_weak_driver_is_not_named_and_failures_are() {
        let mut summary = vary(vec![(limit("co2-1h", 0.6), Some(f64::NEG_INFINITY))]);
        if let Some(variations) = &mut summary.variations {
            variations.driver_noise = 0.7;
            variations.failed = 2;
            variations.failures = vec![Failure {
                variation: 4,
                error: "at 1 h: no".to_owned(),
            }];
        }
        let said = sentences(&summary).join("\n");
        assert!(!said.contains("goes most with"), "{said}");
        assert!(
            said.contains("2 variations could not be finished") && said.contains("variation 4: at 1 h: no"),
            "{said}"
        );
        assert!(said.contains("the margin kept is none at all"), "{said}");
    }
}
