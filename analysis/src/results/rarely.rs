//! How likely a limit is broken, down to very rare: from the study into the summary, and in words.

use breathroom_sim::scenario::Scenario;

use super::numbers::short;
use super::summary::{Rare, RareLevel, Summary};
use super::words::count;
use crate::chance::Design;
use crate::study::{self, Found, Why};

/// Named in every summary that has it.
const METHOD: &str = "subset simulation (Au and Beck 2001)";

/// Adds to the summary of the medians what the climb of `seed` gave.
pub fn add(summary: &mut Summary, rare: &study::Rare, scenario: &Scenario, seed: u64) {
    let index = rare.job.limit;
    let (Some(limit), Some(info)) = (summary.limits.get(index), scenario.limits.get(index)) else {
        return;
    };
    let mut of = Rare {
        limit: limit.id.clone(),
        place: limit.place.clone(),
        unit: limit.unit,
        seed,
        design: Design::Plain.name(),
        method: METHOD,
        probability: None,
        below: None,
        coefficient_of_variation: None,
        coefficient_of_variation_most: None,
        interval_95: None,
        interval_exact: false,
        levels: rare
            .levels
            .iter()
            .map(|level| RareLevel {
                threshold: level
                    .threshold
                    .is_finite()
                    .then(|| info.unit.difference_from_si(level.threshold)),
                inside: level.inside,
                share: level.share,
                chains: level.chains,
                acceptance: level.kept,
                stride: level.stride,
                correlation: level.correlation,
            })
            .collect(),
        level_runs: rare.job.runs,
        runs: rare.runs,
        failed: rare.failed,
        ended: match rare.why {
            Why::Reached => "reached",
            Why::Plateau => "plateau",
            Why::Levels => "levels",
        },
        reason: match rare.why {
            Why::Reached => "a tenth or more of the last level are violations".to_owned(),
            Why::Plateau => {
                "too many samples of the last level stand at one margin, too few below it to go on".to_owned()
            }
            Why::Levels => format!(
                "the {} that may be used were used up",
                count(rare.levels.len(), "level")
            ),
        },
    };
    match rare.found {
        Found::Probability {
            estimate,
            variation,
            variation_most,
            interval_95,
        } => {
            of.probability = Some(estimate);
            of.coefficient_of_variation = Some(variation);
            of.coefficient_of_variation_most = Some(variation_most);
            of.interval_95 = Some(interval_95);
            of.interval_exact = rare.levels.len() == 1;
        }
        Found::Below(bound) => of.below = Some(bound),
    }
    summary.rare = Some(of);
    summary.provenance.seed = Some(seed);
    summary.provenance.design = Some(Design::Plain.name());
    summary.provenance.rare = Some(rare.job.runs);
}

/// What was found, in words; nothing if it was not asked for.
#[must_use]
pub fn sentences(summary: &Summary) -> Vec<String> {
    let Some(of) = &summary.rare else {
        return Vec::new();
    };
    let name = format!("{} ({})", of.limit, of.place);
    let from = format!("{} runs in {}", of.runs, count(of.levels.len(), "level"));
    let mut said = Vec::new();
    match (of.probability, of.interval_95) {
        (Some(probability), Some([low, high])) => {
            let kind = if of.interval_exact { "exact" } else { "approximate" };
            said.push(format!(
                "{name} is broken with a probability between {} and {} (95 % interval, {kind}); the estimate is {}{}, from \
                 {from}.",
                short(low),
                short(high),
                short(probability),
                one_in(probability),
            ));
            let [variation, most] = [of.coefficient_of_variation, of.coefficient_of_variation_most]
                .map(|value| short(value.unwrap_or(f64::NAN)));
            if !of.interval_exact {
                said.push(format!(
                    "Its coefficient of variation is {variation} if the levels err independently, at most {most}; the interval \
                     is lognormal between the two."
                ));
            }
        }
        _ => said.push(format!(
            "No violation of {name} was seen in {from}: with about 95 % confidence its probability is below {}.",
            short(of.below.unwrap_or(f64::NAN))
        )),
    }
    if of.ended != "reached" {
        said.push(format!("The levels ended early: {}.", of.reason));
    }
    if of.failed > 0 {
        said.push(format!(
            "{} of the last level could not be finished; each counts as a violation.",
            count(of.failed as usize, "run")
        ));
    }
    said.push(format!(
        "So rare a figure rests on the far ends of the spreads as they were written, and a way to break the limit that none of \
         the first {} runs leans to would be missed: no interval here covers that.",
        of.level_runs
    ));
    said
}

/// " (about 1 in 910)" for what is rare enough to be said so.
fn one_in(probability: f64) -> String {
    if probability > 0.0 && probability <= 0.1 {
        format!(" (about 1 in {})", breathroom_sim::units::figures(1.0 / probability, 2))
    } else {
        String::new()
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample::{limit, run};
    use super::*;

    fn rare() -> Summary {
        let mut summary = run(vec![limit("co2-1h", 0.6)]);
        let level = |threshold, inside| RareLevel {
            threshold,
            inside,
            share: inside as f64 / 1000.0,
            chains: 100,
            acceptance: threshold.map(|_| 0.44),
            stride: 0.6,
            correlation: 1.0,
        };
        summary.command = "vary";
        summary.rare = Some(Rare {
            limit: "co2-1h".to_owned(),
            place: "crew:lead".to_owned(),
            unit: "mmHg",
            seed: 1,
            design: Design::Plain.name(),
            method: METHOD,
            probability: Some(0.0011),
            below: None,
            coefficient_of_variation: Some(0.2),
            coefficient_of_variation_most: Some(0.31),
            interval_95: Some([0.00068, 0.0018]),
            interval_exact: false,
            levels: vec![level(None, 100), level(Some(0.2), 110)],
            level_runs: 1000,
            runs: 1900,
            failed: 0,
            ended: "reached",
            reason: "a tenth or more of the last level are violations".to_owned(),
        });
        summary
    }

    #[test]
    fn the_low_end_comes_first_and_the_interval_has_its_caution() {
        let mut summary = rare();
        let said = sentences(&summary);
        assert_eq!(
            said[0],
            "co2-1h (crew:lead) is broken with a probability between 0.00068 and 0.0018 (95 % interval, approximate); the \
             estimate is 0.0011 (about 1 in 910), from 1900 runs in 2 levels."
        );
        assert!(
            said[1].contains("0.2 if the levels err independently, at most 0.31"),
            "{}",
            said[1]
        );
        assert!(said[2].contains("none of the first 1000 runs leans to"), "{}", said[2]);
        if let Some(of) = &mut summary.rare {
            of.interval_exact = true;
        }
        let said = sentences(&summary);
        assert!(
            said[0].contains("(95 % interval, exact)") && said.len() == 2,
            "{said:?}"
        );
    }

    #[test]
    fn nothing_seen_is_a_bound_and_an_early_end_says_why() {
        let mut summary = rare();
        if let Some(of) = &mut summary.rare {
            (of.probability, of.interval_95, of.below) = (None, None, Some(3e-9));
            (of.ended, of.reason, of.failed) = ("levels", "the 8 levels were used up".to_owned(), 1);
        }
        let said = sentences(&summary).join("\n");
        assert!(
            said.contains("with about 95 % confidence its probability is below 3e-9."),
            "{said}"
        );
        assert!(said.contains("ended early: the 8 levels were used up"), "{said}");
        assert!(said.contains("1 run of the last level could not be finished"), "{said}");
    }
}
