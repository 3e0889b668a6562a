//! What holds each margin: sensitivity indices into the summary and `drivers.csv`, and the sentence for each limit.
//!
//! After `vary --drivers` the sentence tells shares of the variance, else what the margin goes with by rank correlation.

use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::figures;

use super::driven::{Share, factor, goes_with, held_by, not_told};
use super::standing::Standing;
use super::summary::{Driver, DriverRows, DriverRuns, Limit, Summary};
use super::table::{Cell, Column, Table};
use crate::chance::Design;
use crate::stats::sensitivity::{Index, Indices, LEAST_ROWS};
use crate::study::{Drives, MOST_DRIVERS};

/// Kinds of [`Driver`]s.
pub const RANK: &str = "rank";
/// See [`RANK`].
pub const FIRST: &str = "first";
/// See [`RANK`].
pub const TOTAL: &str = "total";

/// The estimators, named in every summary that has them.
const METHOD: &str = "Saltelli's design of rows; first order by Janon et al. 2014 with a control variate, total by Jansen 1999; \
                      intervals by the jackknife";
/// Limits whose sentence is told among the answers.
const MOST_TOLD: usize = 3;

/// Adds the indices to each limit, and what they rest on.
pub fn add(summary: &mut Summary, drives: &Drives, scenario: &Scenario) {
    let names = names(drives, scenario);
    let mut rows = Vec::with_capacity(drives.limits.len());
    for (index, (limit, of)) in summary.limits.iter_mut().zip(&drives.limits).enumerate() {
        rows.push(DriverRows {
            limit: limit.id.clone(),
            place: limit.place.clone(),
            used: of.rows as u64,
            left_out: of.left_out as u64,
            noise: drives.noise(index),
        });
        let (Some(statistics), Some(factors)) = (&mut limit.statistics, &of.factors) else {
            continue;
        };
        for (name, of) in strongest(&names, factors) {
            for (kind, Index { value, interval_95 }) in [(FIRST, of.first), (TOTAL, of.total)] {
                statistics.drivers.push(Driver {
                    input: name.clone(),
                    kind,
                    index: value,
                    index_95: Some(interval_95),
                });
            }
        }
    }
    summary.drivers = Some(DriverRuns {
        rows: drives.rows,
        runs: drives.runs,
        failed: drives.failed,
        factors: drives.factors.len() as u64,
        design: Design::Plain.name(),
        method: METHOD,
        limits: rows,
    });
    summary.provenance.drivers = Some(drives.rows);
}

/// Each factor by the paths of its inputs.
fn names(drives: &Drives, scenario: &Scenario) -> Vec<String> {
    let path = |&input: &usize| scenario.inputs.get(input).map_or("?", |input| input.path.as_str());
    let name = |inputs: &Vec<usize>| factor(&inputs.iter().map(path).collect::<Vec<_>>());
    drives.factors.iter().map(name).collect()
}

/// The factors with the largest total index first, equals in their order; at most as many as correlations are kept.
fn strongest<'a>(names: &'a [String], factors: &[Indices]) -> Vec<(&'a String, Indices)> {
    let mut all: Vec<(&String, Indices)> = names.iter().zip(factors.iter().copied()).collect();
    all.sort_by(|a, b| b.1.total.value.total_cmp(&a.1.total.value));
    all.truncate(MOST_DRIVERS);
    all
}

/// `drivers.csv`: the indices of every factor, limit by limit. Limits without indices have no rows.
#[must_use]
pub fn table<'a>(drives: &'a Drives, scenario: &'a Scenario) -> Table<'a> {
    let columns = vec![
        Column::text("limit", "The rule's id."),
        Column::text("where", "The compartment, person or tank that the rule is about."),
        Column::text(
            "factor",
            "Path of the input; all of them, where inputs are drawn together.",
        ),
        Column::text(
            "kind",
            "first: the share of the margin's variance that the factor holds alone; total: what it holds alone and with others.",
        ),
        Column::number("index", "", "The estimate; noise may put it a little outside 0 and 1."),
        Column::number("lower", "", "Lower end of its 95 % interval."),
        Column::number("upper", "", "Upper end of its 95 % interval."),
    ];
    let names = names(drives, scenario);
    let mut rows: Vec<(usize, usize, &'static str, Index)> = Vec::new();
    for (limit, of) in drives.limits.iter().enumerate() {
        for (factor, of) in of.factors.iter().flatten().enumerate() {
            rows.extend([(limit, factor, FIRST, of.first), (limit, factor, TOTAL, of.total)]);
        }
    }
    Table::new(
        "drivers",
        "What drives each margin: first-order and total sensitivity indices of every input.",
        columns,
        rows.len(),
        move |row, cells| {
            let (limit, factor, kind, index) = rows[row];
            let (id, place) = scenario
                .limits
                .get(limit)
                .map_or(("?", "?"), |limit| (limit.id.as_str(), limit.subject.as_str()));
            cells.extend([id, place, names[factor].as_str(), kind].map(Cell::from));
            cells.extend([index.value, index.interval_95[0], index.interval_95[1]].map(Cell::from));
        },
    )
}

/// What holds the margin of a limit, or what it goes with; `None` of a single run, and where nothing has a spread.
#[must_use]
pub fn sentence(summary: &Summary, limit: &Limit) -> Option<String> {
    let variations = summary.variations.as_ref()?;
    let drivers = &limit.statistics.as_ref()?.drivers;
    if summary.provenance.inputs.is_empty() {
        return None;
    }
    let name = format!("{} ({})", limit.id, limit.place);
    let Some(runs) = &summary.drivers else {
        let correlations: Vec<(&str, f64)> = drivers
            .iter()
            .filter(|driver| driver.kind == RANK)
            .map(|driver| (driver.input.as_str(), driver.index))
            .collect();
        return Some(goes_with(&name, &correlations, variations.driver_noise));
    };
    let rows = |of: &&DriverRows| of.limit == limit.id && of.place == limit.place;
    let of = runs.limits.iter().find(rows)?;
    let shares = shares(drivers);
    if !shares.is_empty() {
        let sure = of.noise.map_or_else(String::new, |noise| {
            format!(
                " Shares are known within {} points.",
                figures((100.0 * noise).max(1.0), 2)
            )
        });
        return Some(format!("{}{sure}", held_by(&name, &shares)));
    }
    Some(not_told(&name, of.used as usize, of.left_out as usize, LEAST_ROWS))
}

/// The sensitivity indices among the drivers of a limit, factor by factor.
#[must_use]
pub fn shares(drivers: &[Driver]) -> Vec<Share<'_>> {
    let of_kind = |kind| drivers.iter().filter(move |driver| driver.kind == kind);
    of_kind(FIRST)
        .filter_map(|first| {
            let total = of_kind(TOTAL).find(|total| total.input == first.input)?;
            Some(Share {
                name: &first.input,
                first: (first.index, first.index_95?),
                total: (total.index, total.index_95?),
            })
        })
        .collect()
}

/// The sentences of the tightest limits; from correlations, only of those that go with anything more than chance would.
#[must_use]
pub fn tightest(summary: &Summary, all: &[Standing<'_>]) -> Vec<String> {
    let Some(variations) = &summary.variations else {
        return Vec::new();
    };
    let tells = |limit: &Limit| {
        let first = limit.statistics.as_ref().and_then(|of| of.drivers.first());
        summary.drivers.is_some() || first.is_some_and(|driver| driver.index.abs() > variations.driver_noise)
    };
    let told = all.iter().map(|standing| standing.limit).filter(|limit| tells(limit));
    let mut said: Vec<String> = told
        .take(MOST_TOLD)
        .filter_map(|limit| sentence(summary, limit))
        .collect();
    match (said.last_mut(), &summary.drivers) {
        (Some(last), None) => last.push_str(" Above 0, more of it is better."),
        (Some(_), Some(runs)) if runs.failed > 0 => said.push(format!(
            "{} of the {} further runs for this could not be finished; rows with one are left out.",
            runs.failed, runs.runs
        )),
        _ => {}
    }
    said
}

#[cfg(test)]
mod tests {
    use super::super::sample::{limit, vary};
    use super::super::standing::standings;
    use super::*;

    /// Two indices of a factor, each with an interval of 0.02 to either side.
    fn indices(name: &str, first: f64, total: f64) -> [Driver; 2] {
        [(FIRST, first), (TOTAL, total)].map(|(kind, index)| Driver {
            input: name.to_owned(),
            kind,
            index,
            index_95: Some([index - 0.02, index + 0.02]),
        })
    }

    fn with_rows(mut summary: Summary, used: u64) -> Summary {
        summary.drivers = Some(DriverRuns {
            rows: 128,
            runs: 384,
            failed: 0,
            factors: 1,
            design: Design::Plain.name(),
            method: METHOD,
            limits: vec![DriverRows {
                limit: "co2-1h".to_owned(),
                place: "crew:lead".to_owned(),
                used,
                left_out: 128 - used,
                noise: None,
            }],
        });
        summary
    }

    #[test]
    fn without_further_runs_correlations_are_told() {
        let mut summary = vary(vec![(limit("co2-1h", 0.6), Some(0.15))]);
        let told = tightest(&summary, &standings(&summary));
        assert_eq!(
            told,
            [
                "The margin of co2-1h (crew:lead) goes most with removal.scrubber.flow (rank correlation 0.61). Above 0, \
                 more of it is better."
            ]
        );
        summary.provenance.inputs.clear();
        assert_eq!(sentence(&summary, &summary.limits[0]), None);
    }

    #[test]
    fn with_them_shares_are_told_and_the_correlations_stay() {
        let mut summary = with_rows(vary(vec![(limit("co2-1h", 0.6), Some(0.15))]), 128);
        let drivers = &mut summary.limits[0].statistics.as_mut().expect("statistics").drivers;
        drivers.extend(indices("crew.mass", 0.2, 0.21));
        drivers.extend(indices("removal.scrubber.flow", 0.78, 0.8));
        let told = "The margin of co2-1h (crew:lead) is held by removal.scrubber.flow (78 % of its variance) and crew.mass (20 %).";
        assert_eq!(tightest(&summary, &standings(&summary)), [told]);
    }

    #[test]
    fn no_indices_say_why() {
        let summary = with_rows(vary(vec![(limit("co2-1h", 0.6), Some(0.15))]), 28);
        let told = sentence(&summary, &summary.limits[0]).expect("a sentence");
        assert!(
            told.contains("only 28 of 128 rows could be used, 100 are needed"),
            "{told}"
        );
    }

    #[test]
    fn at_most_three_are_told() {
        let limits = ["a", "b", "c", "d"].map(|id| (limit(id, 0.6), Some(0.15)));
        let summary = vary(limits.to_vec());
        assert_eq!(tightest(&summary, &standings(&summary)).len(), 3);
    }
}
