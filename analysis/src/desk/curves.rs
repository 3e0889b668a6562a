//! The figures of the desk: the one place that draws.

use std::fmt::Write as _;

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Case, Outcome, Trace};
use breathroom_sim::scenario::Scenario;

use crate::results::numbers;
use crate::results::summary::Summary;

/// A run to be drawn: the variant's name, its scenario, and what came of it.
pub(super) type Run<'a> = (&'a str, &'a Scenario, &'a Case, &'a Outcome, &'a Trace, &'a Summary);

/// Figures of runs over each other, as HTML: the first solid, the second dashed.
pub(super) fn drawn(runs: &[Run<'_>]) -> String {
    let Some((_, first, ..)) = runs.first() else {
        return String::new();
    };
    let mut out = String::new();
    for (place, name) in first.names.compartments.iter().enumerate() {
        let mut lines: Vec<(Vec<(f64, f64)>, &str)> = Vec::new();
        for (n, (_, scenario, _, _, trace, _)) in runs.iter().enumerate() {
            let Some(place) = scenario.names.compartments.iter().position(|known| known == name) else {
                continue;
            };
            let point = |sample: &breathroom_sim::engine::Sample| {
                let now = sample.compartments.get(place)?;
                let mmhg = numbers::mmhg().from_si(now.partial_pa[Species::Co2 as usize]);
                Some((sample.at.hours(), mmhg))
            };
            let dashes = if n == 0 { "" } else { " stroke-dasharray=\"6 4\"" };
            lines.push((trace.samples.iter().filter_map(point).collect(), dashes));
        }
        figure(&mut out, name, place, &lines);
    }
    out
}

fn figure(out: &mut String, name: &str, place: usize, lines: &[(Vec<(f64, f64)>, &str)]) {
    let points = || lines.iter().flat_map(|(line, _)| line);
    let hours = points().fold(1e-9_f64, |most, point| most.max(point.0));
    let most = points().fold(1e-9_f64, |most, point| most.max(point.1)) * 1.1;
    let _ = write!(
        out,
        "<figure><figcaption>CO2 in {}, mmHg, over {} h; top of the frame {} mmHg</figcaption><svg viewBox=\"0 0 600 160\" \
         role=\"img\" aria-label=\"CO2 in {}\" data-place=\"{place}\"><rect x=\"0\" y=\"0\" width=\"600\" height=\"160\" \
         class=\"frame\"/>",
        escaped(name),
        numbers::short(hours),
        numbers::short(most),
        escaped(name)
    );
    for (line, dashes) in lines {
        out.push_str("<polyline class=\"curve\" fill=\"none\" points=\"");
        for (at, value) in line {
            let _ = write!(out, "{:.1},{:.1} ", at / hours * 600.0, 160.0 - value / most * 160.0);
        }
        let _ = write!(out, "\"{dashes}/>");
    }
    out.push_str("</svg></figure>");
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
