//! The figures of the desk: those of the reports, of one run or of two over each other.

use breathroom_sim::engine::{Case, Outcome, Trace};
use breathroom_sim::scenario::Scenario;

use crate::report::page::drawn as in_page;
use crate::report::{Figure, Ran, air, loads, who};
use crate::results::summary::Summary;

/// A run to be drawn: the variant's name, its scenario, and what came of it.
pub(super) type Run<'a> = (&'a str, &'a Scenario, &'a Case, &'a Outcome, &'a Trace, &'a Summary);

/// Figures of runs over each other, as HTML: the first solid, the second dashed. Below the first two stand the lanes of each.
pub(super) fn drawn(runs: &[Run<'_>]) -> String {
    let rans: Vec<(&str, Ran<'_>)> = runs
        .iter()
        .map(|(name, scenario, case, outcome, trace, _)| (*name, Ran::new(scenario, case, outcome, trace)))
        .collect();
    let mut figures = match rans.as_slice() {
        [] => Vec::new(),
        [(_, only)] => air::figures(only),
        [(one, first), (two, second), ..] => air::figures_of_two([(one, first), (two, second)]),
    };
    let at = figures.len().min(2);
    for (place, (name, ran)) in rans.iter().enumerate() {
        let mut lanes = who::figure(ran);
        if rans.len() > 1 {
            lanes.id = format!("{}-{}", lanes.id, name.to_lowercase());
            lanes.title = format!("{name}: {}", lanes.title);
        }
        figures.insert(at + place, own_clip(lanes));
    }
    if let [(_, only)] = rans.as_slice() {
        figures.extend(loads::figures(only));
    }
    figures.iter().map(|figure| in_page(figure).into_string()).collect()
}

/// Two sets of lanes in one page: each refers to a clip of its own.
fn own_clip(mut lanes: Figure) -> Figure {
    let of = "who-does-what-clip";
    lanes.body = lanes.body.replace(of, &format!("{}-clip", lanes.id));
    lanes
}
