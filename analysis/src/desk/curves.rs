//! The figures of the desk: those of the reports, of one run or of two over each other.

use breathroom_sim::engine::{Case, Outcome, Trace};
use breathroom_sim::scenario::Scenario;

use crate::report::page::drawn as in_page;
use crate::report::plot::Plot;
use crate::report::{Figure, Ran, air, loads, who};
use crate::results::summary::Summary;

/// A run to be drawn: the variant's name, its scenario, and what came of it.
pub(super) type Run<'a> = (&'a str, &'a Scenario, &'a Case, &'a Outcome, &'a Trace, &'a Summary);

/// Those of the figures that are wanted, of runs over each other, each with its id as HTML: the first run solid, the second
/// dashed. Below the first two stand the lanes of each.
pub(super) fn drawn(runs: &[Run<'_>], wanted: &dyn Fn(&str) -> bool) -> Vec<(String, String)> {
    let rans: Vec<(&str, Ran<'_>)> = runs
        .iter()
        .map(|(name, scenario, case, outcome, trace, _)| (*name, Ran::new(scenario, case, outcome, trace)))
        .collect();
    let plots = match rans.as_slice() {
        [] => Vec::new(),
        [(_, only)] => air::plots(only).into_iter().chain(loads::plots(only)).collect(),
        [(one, first), (two, second), ..] => air::plots_of_two([(one, first), (two, second)]),
    };
    let plots = plots.into_iter().filter(|plot: &Plot| wanted(&plot.id));
    let mut figures: Vec<Figure> = plots.filter_map(Plot::figure).collect();
    let mut at = figures.len().min(2);
    for (name, ran) in &rans {
        let two = rans.len() > 1;
        let id = if two {
            format!("{}-{}", who::ID, name.to_lowercase())
        } else {
            who::ID.to_owned()
        };
        if !wanted(&id) {
            continue;
        }
        let mut lanes = who::figure(ran);
        lanes.id = id;
        if two {
            lanes.title = format!("{name}: {}", lanes.title);
        }
        figures.insert(at, own_clip(lanes));
        at += 1;
    }
    figures
        .into_iter()
        .map(|figure| {
            let html = in_page(&figure).into_string();
            (figure.id, html)
        })
        .collect()
}

/// Two sets of lanes in one page: each refers to a clip of its own.
fn own_clip(mut lanes: Figure) -> Figure {
    let of = format!("{}-clip", who::ID);
    lanes.body = lanes.body.replace(&of, &format!("{}-clip", lanes.id));
    lanes
}
