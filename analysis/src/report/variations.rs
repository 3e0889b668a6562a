//! The page of many variations.

use super::chances::{self, Tables};
use super::fans;
use super::figure::Figure;
use super::one_run::{begun, inputs, source};
use super::page::{self, Page, Part, Section};
use super::ran::Ran;
use super::{air, who};
use crate::results::frame::Frame;
use crate::results::markdown;
use crate::results::summary::Summary;

/// Figures of one run whose quantity has a fan for each compartment.
const FANNED: [&str; 5] = ["co2", "oxygen", "pressure", "humidity", "temperature"];

/// What the page is drawn from beside the summary and the run on the medians.
pub struct Drawn<'a> {
    /// The tables of the statistics.
    pub tables: &'a Tables,
    /// `fans.csv`, if there are courses.
    pub fans: Option<&'a Frame>,
    /// `worst.csv`, if any of the worst could be run again.
    pub worst: Option<&'a Frame>,
}

/// The page of `vary`; `met` is what its exit code says.
#[must_use]
pub fn page(summary: &Summary, medians: &Ran<'_>, drawn: &Drawn<'_>, met: bool) -> Page {
    let kind = summary.variations.as_ref().map_or_else(
        || "variations".to_owned(),
        |of| format!("{} variations, seed {}, {} design", of.runs, of.seed, of.design),
    );
    let mut page = begun(summary, kind, met);
    let fans = drawn
        .fans
        .map(|of| fans::figures(medians, of, drawn.worst))
        .unwrap_or_default();
    let mut course: Vec<Part> = fans.into_iter().map(beside).collect();
    // Lanes right below the first curves: it is there that one looks for why.
    course.insert(course.len().min(1), Part::Figure(who::figure(medians)));
    let about = "Fans: quantiles at each instant over the first 1,000 variations; no single run follows them. The lanes are those of the run on the medians.";
    // What has a fan needs no curve of one run beside it.
    let has_fan = |figure: &Figure| drawn.fans.is_some() && FANNED.contains(&figure.id.as_str());
    let on_medians = air::figures(medians).into_iter().filter(|figure| !has_fan(figure));
    let on_medians = on_medians.map(Part::Figure).collect();
    page.sections = vec![
        Section::new("The air and the timeline", about, course),
        Section::new(
            "Each limit",
            "The tightest limits, one after the other; the tables beside this page have all.",
            chances::by_limit(summary, drawn.tables, medians.end_h())
                .into_iter()
                .map(beside)
                .collect(),
        ),
        Section::new(
            "The run on the medians",
            "One run: it shows what happens, not how likely it is.",
            on_medians,
        ),
        source(medians),
        page::in_tables(&markdown::summary(summary)),
        inputs(medians.scenario),
    ];
    page
}

/// Figures beside each other; one alone has the whole width.
fn beside(mut figures: Vec<Figure>) -> Part {
    match figures.pop() {
        Some(only) if figures.is_empty() => Part::Figure(only),
        Some(last) => {
            figures.push(last);
            Part::Pair(figures)
        }
        None => Part::Pair(figures),
    }
}
