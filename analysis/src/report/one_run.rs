//! The page of one run.

use breathroom_sim::scenario::Scenario;

use super::page::{self, Page, Part, Section, Sheet};
use super::ran::Ran;
use super::{air, loads, margins, sheet, who};
use crate::results::frame::Frame;
use crate::results::summary::Summary;
use crate::results::{answer, markdown, sheets};

/// The page of `run`, and of one variation alone.
#[must_use]
pub fn page(summary: &Summary, ran: &Ran<'_>) -> Page {
    let kind = match &summary.only {
        Some(only) => format!("variation {} alone, seed {}", only.variation, only.seed),
        None => "one run on the medians".to_owned(),
    };
    let met = summary.end.completed && summary.limits.iter().all(|limit| limit.met);
    let mut page = begun(summary, kind, met);
    page.sections = vec![
        course(ran),
        source(ran),
        page::in_tables(&markdown::summary(summary)),
        inputs(ran.scenario),
    ];
    page
}

/// The page of `vary --rare`: no run of it is drawn, and its margins are those of the medians.
#[must_use]
pub fn in_words(summary: &Summary, scenario: &Scenario) -> Page {
    let met = summary.end.completed && summary.limits.iter().all(|limit| limit.met);
    let mut page = begun(summary, "how rarely a limit is broken".to_owned(), met);
    page.sections = vec![page::in_tables(&markdown::summary(summary)), inputs(scenario)];
    page
}

/// A page with its first screen.
#[must_use]
pub fn begun(summary: &Summary, kind: String, met: bool) -> Page {
    let mut answer = answer::sentences(summary);
    let notes = answer.split_off(answer.len().min(3));
    Page {
        kind,
        title: summary.scenario.heading().to_owned(),
        answer,
        met: (!summary.limits.is_empty()).then_some(met),
        notes,
        first: margins::figure(summary),
        caution: summary.caution.clone(),
        sections: Vec::new(),
    }
}

/// Curves, and under them who does what.
#[must_use]
pub fn course(ran: &Ran<'_>) -> Section {
    let mut parts: Vec<Part> = air::figures(ran).into_iter().map(Part::Figure).collect();
    // Lanes right below the first curves: it is there that one looks for why.
    parts.insert(parts.len().min(2), Part::Figure(who::figure(ran)));
    Section::new("The air and the timeline", "All on one axis of time.", parts)
}

/// Loads, removal and space.
#[must_use]
pub fn source(ran: &Ran<'_>) -> Section {
    let parts = loads::figures(ran).into_iter().map(Part::Figure).collect();
    Section::new("Loads, removal and space", "", parts)
}

/// What went in, and what was assumed.
#[must_use]
pub fn inputs(scenario: &Scenario) -> Section {
    let table = |id: &str, caption: &str, of: &crate::results::table::Table<'_>| {
        sheet::sheet(id, caption, &Frame::of(of)).map(|sheet| Part::Table(Sheet { closed: true, ..sheet }))
    };
    let parts = [
        table(
            "inputs",
            "Every value that was given, with its spread and where it stands.",
            &sheets::inputs(scenario),
        ),
        table(
            "assumptions",
            "Every value that was not given, with whose value stands in its place.",
            &sheets::assumptions(scenario),
        ),
        table("limits", "Every limit, with its source.", &sheets::limits(scenario)),
    ];
    Section::new(
        "What went in",
        "Rows can be sorted and filtered once opened.",
        parts.into_iter().flatten().collect(),
    )
}
