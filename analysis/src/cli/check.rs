//! `check`: every value as it was understood, where it comes from, and what deserves a look.

use breathroom_sim::air::Species;
use breathroom_sim::crew::{Load, kg_per_day};
use breathroom_sim::scenario::{Input, Medians, Origin, Resolved, Scenario};
use serde::Serialize;

use super::console::{Console, Ended};
use super::job::ScenarioJob;
use super::{Code, deliver, devices, scenario_file};
use crate::results::json::to_json;
use crate::results::numbers::short;
use crate::results::summary::FORMAT;
use crate::results::{CAUTION, Export, Provenance, ScenarioFile, text};

/// Ends of the range that is told of a spread.
const RANGE: [f64; 2] = [0.05, 0.95];

/// `summary.json` of `check`.
#[derive(Serialize)]
struct Checked {
    format: u32,
    command: &'static str,
    scenario: ScenarioFile,
    values: Vec<Value>,
    in_lists: Vec<InList>,
    efforts: Vec<Effort>,
    devices: Vec<devices::Device>,
    limits: Vec<Limit>,
    warnings: Vec<String>,
    provenance: Provenance,
    caution: &'static str,
}

#[derive(Serialize)]
struct Value {
    path: String,
    written: String,
    si: String,
    origin: String,
    from_memory: bool,
    spread: Option<Range>,
}

/// What a spread amounts to, in the unit it was written in.
#[derive(Serialize)]
struct Range {
    unit: &'static str,
    median: f64,
    p05: f64,
    p95: f64,
    per_turn: bool,
}

/// A spread of a value in a list, which has no line of its own above.
#[derive(Serialize)]
struct InList {
    path: String,
    spread: Range,
}

/// What a stage of an effort amounts to: lowest and highest of the crew.
#[derive(Serialize)]
struct Effort {
    effort: String,
    stage: usize,
    stages: usize,
    co2_kg_d: [f64; 2],
    oxygen_kg_d: [f64; 2],
    vapour_kg_d: [f64; 2],
    runoff_kg_d: [f64; 2],
    sensible_w: [f64; 2],
}

#[derive(Serialize)]
struct Limit {
    id: String,
    #[serde(rename = "where")]
    place: String,
    words: String,
    source: String,
    from_memory: bool,
    set: Option<String>,
}

/// Checks a scenario and prints what it says.
///
/// # Errors
/// If it is wrong, or something cannot be written.
pub fn check(job: &ScenarioJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = scenario_file::read(job, console)?;
    let checked = checked(&read.scenario, read.file.clone(), read.provenance("check", job));
    let json = to_json(&checked).map_err(|error| deliver::unencoded(&error))?;
    let words = spoken(&checked, &read.scenario);
    if job.output.out.is_some() {
        let stem = deliver::stem(&read, "check");
        let export = Export {
            json: &json,
            markdown: &words,
            tables: &[],
            stem: &stem,
            title: &read.file.title,
        };
        let target = deliver::target(&job.output, &stem)?;
        target.publish(|folder| export.write_into(folder), || console.stopped())?;
    }
    if job.output.json {
        console.say(&json)?;
    } else if !job.output.quiet {
        console.say(&words)?;
    }
    Ok(Code::Done)
}

fn checked(scenario: &Scenario, file: ScenarioFile, provenance: Provenance) -> Checked {
    Checked {
        format: FORMAT,
        command: "check",
        scenario: file,
        values: scenario
            .resolved
            .iter()
            .map(|resolved| value(resolved, scenario))
            .collect(),
        in_lists: in_lists(scenario),
        efforts: efforts(scenario),
        devices: devices::devices(scenario),
        limits: scenario
            .limits
            .iter()
            .map(|info| Limit {
                id: info.id.clone(),
                place: info.subject.clone(),
                words: info.words.clone(),
                source: info.source.clone(),
                from_memory: info.from_memory,
                set: info.set.clone(),
            })
            .collect(),
        warnings: scenario
            .warnings
            .iter()
            .map(|warning| warning.message.clone())
            .collect(),
        provenance,
        caution: CAUTION,
    }
}

fn value(resolved: &Resolved, scenario: &Scenario) -> Value {
    let (origin, from_memory) = match &resolved.origin {
        Origin::File { line } => (format!("line {line}"), false),
        Origin::Override => ("--set".to_owned(), false),
        Origin::Default { source, from_memory } => (format!("default: {source}"), *from_memory),
    };
    Value {
        path: resolved.path.clone(),
        written: resolved.written.clone(),
        si: resolved.si.clone(),
        origin,
        from_memory,
        spread: resolved.input.and_then(|index| scenario.inputs.get(index)).map(range),
    }
}

fn range(input: &Input) -> Range {
    let at = |p: f64| input.unit.from_si(input.spread.quantile(p));
    Range {
        unit: input.unit.symbol,
        median: at(0.5),
        p05: at(RANGE[0]),
        p95: at(RANGE[1]),
        per_turn: input.per_turn,
    }
}

fn spoken(checked: &Checked, scenario: &Scenario) -> String {
    let mut said = format!("{}: {}\n", checked.scenario.file, checked.scenario.title);
    let mut section = "";
    for value in &checked.values {
        let first = value.path.split(['.', '[']).next().unwrap_or("");
        if first != section {
            said.push_str(&format!("\n{first}\n"));
            section = first;
        }
        said.push_str(&told(value));
    }
    if !checked.in_lists.is_empty() {
        said.push_str("\nSpreads in lists\n");
        for one in &checked.in_lists {
            let words = format!("{}: {}", one.path, told_range(&one.spread));
            said.push_str(&text::indented(&words, 2));
        }
    }
    if !checked.efforts.is_empty() {
        said.push_str("\nEfforts, on the medians (kg a day for one person, lowest to highest of the crew)\n");
        for effort in &checked.efforts {
            said.push_str(&text::indented(&told_effort(effort), 2));
        }
    }
    said.push_str(&devices::told(&checked.devices));
    said.push_str("\nLimits\n");
    if checked.limits.is_empty() {
        said.push_str("  none: nothing will be judged\n");
    }
    for limit in &checked.limits {
        let memory = if limit.from_memory { "; from memory" } else { "" };
        let words = format!(
            "{} ({}): {} [{}{memory}]",
            limit.id, limit.place, limit.words, limit.source
        );
        said.push_str(&text::indented(&words, 2));
    }
    if !scenario.warnings.is_empty() {
        said.push('\n');
        for warning in &scenario.warnings {
            said.push_str(&warning.render_as("warning"));
        }
    }
    let spreads = scenario.inputs.len();
    let memory = checked.values.iter().filter(|value| value.from_memory).count();
    said.push_str(&format!(
        "\n{} values, {spreads} of them with a spread; {} defaults rest on memory; {} warnings.\n\n{}\n",
        checked.values.len(),
        memory,
        scenario.warnings.len(),
        text::wrap(CAUTION)
    ));
    said
}

/// `path = written = SI (where from)`, and below it what its spread amounts to.
fn told(value: &Value) -> String {
    let si = if value.si == value.written || value.si.is_empty() {
        String::new()
    } else {
        format!(" = {}", value.si)
    };
    let memory = if value.from_memory { ", FROM MEMORY" } else { "" };
    let mut said = text::indented(
        &format!("{} = {}{si} ({}{memory})", value.path, value.written, value.origin),
        2,
    );
    if let Some(spread) = &value.spread {
        let words = told_range(spread);
        said.push_str(&text::indented(&words, 6));
    }
    said
}

fn told_range(spread: &Range) -> String {
    let turns = if spread.per_turn {
        ", drawn anew in every turn"
    } else {
        ""
    };
    let text = format!(
        "median {} {unit}, 5-95 % range {} to {} {unit}{turns}",
        short(spread.median),
        short(spread.p05),
        short(spread.p95),
        unit = spread.unit,
    );
    text.replace("  ", " ").replace(" ,", ",").trim_end().to_owned()
}

/// Spreads that no line of a value tells of.
fn in_lists(scenario: &Scenario) -> Vec<InList> {
    let told = |index: usize| scenario.resolved.iter().any(|resolved| resolved.input == Some(index));
    let rest = scenario.inputs.iter().enumerate().filter(|(index, _)| !told(*index));
    rest.map(|(_, input)| InList {
        path: input.path.clone(),
        spread: range(input),
    })
    .collect()
}

/// Every stage of every effort, for the crew as it is.
fn efforts(scenario: &Scenario) -> Vec<Effort> {
    let case = scenario.draw(&Medians).case;
    let mut all = Vec::new();
    for (index, name) in scenario.names.efforts.iter().enumerate() {
        let profiles: Vec<_> = case.people.iter().map(|person| &person.profiles[index]).collect();
        let stages = profiles.first().map_or(0, |profile| profile.stages.len());
        for stage in 0..stages {
            let over = |of: fn(&Load) -> f64| {
                let values = profiles.iter().filter_map(|profile| profile.stages.get(stage));
                values.fold([f64::INFINITY, f64::NEG_INFINITY], |[lo, hi], stage| {
                    [lo.min(of(&stage.load)), hi.max(of(&stage.load))]
                })
            };
            all.push(Effort {
                effort: name.clone(),
                stage: stage + 1,
                stages,
                co2_kg_d: over(|load| kg_per_day(load.co2_mol_s, Species::Co2)),
                oxygen_kg_d: over(|load| kg_per_day(load.oxygen_mol_s, Species::Oxygen)),
                vapour_kg_d: over(|load| kg_per_day(load.vapour_mol_s, Species::Water)),
                runoff_kg_d: over(|load| kg_per_day(load.runoff_mol_s, Species::Water)),
                sensible_w: over(|load| load.sensible_w),
            });
        }
    }
    all
}

/// "sleep: CO2 0.73 to 0.8, O2 0.6 to 0.7, vapour 0.9, heat 60 to 66 W".
fn told_effort(effort: &Effort) -> String {
    let span = |[lo, hi]: [f64; 2]| {
        let (lo, hi) = (short(lo), short(hi));
        if lo == hi { lo } else { format!("{lo} to {hi}") }
    };
    let stage = if effort.stages > 1 {
        format!(", stage {} of {}", effort.stage, effort.stages)
    } else {
        String::new()
    };
    format!(
        "{}{stage}: CO2 {}, oxygen {}, vapour {}, runoff {}, heat {} W",
        effort.effort,
        span(effort.co2_kg_d),
        span(effort.oxygen_kg_d),
        span(effort.vapour_kg_d),
        span(effort.runoff_kg_d),
        span(effort.sensible_w)
    )
}
