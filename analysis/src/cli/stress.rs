//! `stress`: removal devices that degrade at the worst moment, and what time the crew has left.

use std::sync::Arc;

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::{Medians, Scenario};

use super::console::{Console, Ended};
use super::drivers::ended;
use super::job::{ScenarioJob, StressAsked};
use super::progress::Bar;
use super::scenario_file;
use super::{Code, deliver, run};
use crate::report::{Page, stressed};
use crate::results::frame::Frame;
use crate::results::stress as told;
use crate::results::stress::StressSummary;
use crate::results::table::Table;
use crate::results::{Export, Texts, text};
use crate::study::stress::{StressJob, stress as study, usual_devices};
use crate::study::{StudyError, pool};

/// Puts the devices of a scenario under stress. Exit code 1 if runs failed, 3 only if a gate was asked for and is not passed.
///
/// # Errors
/// If the scenario is wrong or has nothing to stress, its medians cannot be run, or the results cannot be written.
pub fn stress(job: &ScenarioJob, asked: &StressAsked, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = Arc::new(scenario_file::read(job, console)?);
    let case = read.scenario.draw(&Medians).case;
    let meant = Arc::new(StressJob {
        devices: devices(&read.scenario, &case, &asked.devices)?,
        left: asked.left.clone(),
        onsets: asked.onsets,
        runs: asked.runs,
        seed: asked.seed,
        pairs: asked.pairs,
        gate: asked.gate.unwrap_or_default(),
    });
    let stem = deliver::stem(&read, "stress");
    let target = deliver::target(&job.output, &stem)?;
    let bar = Bar::further("runs", console.progress && !job.output.quiet);
    let (done, stop, threads) = (bar.counter(), console.stop, asked.threads);
    let (shared, of) = (Arc::clone(&read), Arc::clone(&meant));
    let result = console.interruptible(move || {
        let pool = pool(threads)?;
        pool.install(|| study(&shared.scenario, &of, &|| done.count(), stop))
    });
    bar.clear();
    let found = result?.map_err(|error| match error {
        StudyError::Medians(error) => run::failed("the run on the medians", &error, &read),
        other => ended(other),
    })?;
    let of = told::Of {
        scenario: &read.scenario,
        case: &case,
        job: &meant,
        gated: asked.gate.is_some(),
    };
    let summary = told::build(
        &of,
        &found,
        read.file.clone(),
        read.provenance("stress", &job.overrides),
    );
    let mut tables = vec![told::looks(&found, &read.scenario)];
    tables.extend(told::runs(&found, &read.scenario));
    tables.extend(told::faults(&found, &read.scenario));
    let frames: Vec<(&str, Frame)> = tables.iter().map(|table| (table.name, Frame::of(table))).collect();
    let of = |name: &str| frames.iter().find(|(other, _)| *other == name).map(|(_, frame)| frame);
    let empty = Frame::default();
    let page = stressed::page(
        &summary,
        of("stress").unwrap_or(&empty),
        of("faults"),
        (&read.scenario, case.duration.hours()),
    );
    results(console, job, (target, &stem), &summary, (&tables, &page))?;
    Ok(match (found.failed, summary.gate_met) {
        (1.., _) => Code::Failed,
        (0, Some(false)) => Code::NotMet,
        (0, _) => Code::Done,
    })
}

/// The devices that were named, else those that are on at the start and take something.
fn devices(scenario: &Scenario, case: &Case, named: &[String]) -> Result<Vec<usize>, Ended> {
    let names = &scenario.names.devices;
    let there = || match names.len() {
        0 => "the scenario has none".to_owned(),
        _ => format!("those of the scenario: {}", names.join(", ")),
    };
    if named.is_empty() {
        let usual = usual_devices(case);
        if usual.is_empty() && case.faults.is_empty() {
            return Err(Ended::Usage(format!(
                "nothing to stress: no removal device is on at the start, and no faults are listed; name one with --device ({})",
                there()
            )));
        }
        return Ok(usual);
    }
    let mut found = Vec::new();
    for name in named {
        let Some(index) = names.iter().position(|other| other == name) else {
            return Err(Ended::Usage(format!(
                "there is no removal device `{name}`: {}",
                there()
            )));
        };
        if !found.contains(&index) {
            found.push(index);
        }
    }
    Ok(found)
}

fn results(
    console: &mut Console<'_>,
    job: &ScenarioJob,
    (target, stem): (crate::results::Target, &str),
    summary: &StressSummary,
    (tables, page): (&[Table<'_>], &Page),
) -> Result<(), Ended> {
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let markdown = told::markdown(summary);
    let mut names = Vec::new();
    let folder = target.publish(
        |folder| {
            let mut export = Export::new(folder, stem, &summary.scenario.title);
            for table in tables {
                export.table(table)?;
            }
            deliver::drawn(&mut export, page, &job.output)?;
            names = export.finish(Texts {
                json: &json,
                markdown: &markdown,
            })?;
            Ok(())
        },
        || console.stopped(),
    )?;
    let spoken = |place: &str| spoken(summary, place);
    deliver::said(console, &job.output, &json, &spoken, (&folder, &names))
}

/// The answer, where the files are, and the caution.
fn spoken(summary: &StressSummary, place: &str) -> String {
    let title = match summary.scenario.title.as_str() {
        "" => &summary.scenario.file,
        title => title,
    };
    let mut said = format!("{}\n\n", text::wrap(title));
    for sentence in told::sentences(summary) {
        said.push_str(&format!("{}\n", text::wrap(&sentence)));
    }
    for warning in &summary.warnings {
        said.push_str(&format!("\n{}\n", text::wrap(&format!("Warning: {warning}"))));
    }
    let levels = "summary.md has every device and part, each fault, and the published levels of CO2 and oxygen that the air passes, with their \
                  sources: no medical claim.";
    for paragraph in [levels, place, &summary.caution] {
        said.push_str(&format!("\n{}\n", text::wrap(paragraph)));
    }
    said
}
