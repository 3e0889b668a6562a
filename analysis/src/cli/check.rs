//! `check`: every value as it was understood, where it comes from, and what deserves a look.

use std::path::Path;

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::{Input, Medians, Origin, Resolved, Scenario, Together};
use breathroom_sim::units::Time;
use serde::Serialize;

use super::console::{Console, Ended};
use super::job::ScenarioJob;
use super::{Code, deliver, devices, loads, on_paper, scenario_file};
use crate::results::json::to_json;
use crate::results::numbers::short;
use crate::results::summary::FORMAT;
use crate::results::words;
use crate::results::{Export, Provenance, ScenarioFile, Texts, caution, text};

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
    together: Vec<Group>,
    efforts: Vec<loads::Effort>,
    devices: Vec<devices::Device>,
    tanks: Vec<on_paper::Tank>,
    plan: Vec<on_paper::Planned>,
    limits: Vec<Limit>,
    warnings: Vec<String>,
    provenance: Provenance,
    caution: String,
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
    /// So many observations it is an estimate from.
    #[serde(skip_serializing_if = "Option::is_none")]
    trials: Option<u32>,
}

/// A spread of a value in a list, which has no line of its own above.
#[derive(Serialize)]
struct InList {
    path: String,
    spread: Range,
}

/// Spreads that go together, and their rank correlations row by row.
#[derive(Serialize)]
struct Group {
    inputs: Vec<String>,
    rank_correlation: Vec<Vec<f64>>,
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
    let case = read.scenario.draw(&Medians).case;
    let checked = checked(
        &read.scenario,
        &case,
        read.file.clone(),
        read.provenance("check", &job.overrides),
    );
    let json = to_json(&checked).map_err(|error| deliver::unencoded(&error))?;
    let words = spoken(&checked, &read.scenario, case.duration);
    if job.output.out.is_some() {
        let stem = deliver::stem(&read, "check");
        let target = deliver::target(&job.output, &stem)?;
        let texts = Texts {
            json: &json,
            markdown: &words,
        };
        let fill = |folder: &Path| Export::new(folder, &stem, &read.file.title).finish(texts).map(drop);
        target.publish(fill, || console.stopped())?;
    }
    if job.output.json {
        console.say(&json)?;
    } else if !job.output.quiet {
        console.say(&words)?;
    }
    Ok(Code::Done)
}

fn checked(scenario: &Scenario, case: &Case, file: ScenarioFile, provenance: Provenance) -> Checked {
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
        together: scenario
            .together
            .iter()
            .map(|group| together(scenario, group))
            .collect(),
        efforts: loads::efforts(scenario, case),
        devices: devices::devices(scenario),
        tanks: on_paper::tanks(case, &scenario.names),
        plan: on_paper::plan(case, &scenario.names),
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
        caution: caution::of(case),
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
        trials: input.unsure.as_ref().map(|unsure| unsure.trials.count()),
    }
}

fn spoken(checked: &Checked, scenario: &Scenario, duration: Time) -> String {
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
    if !checked.together.is_empty() {
        said.push_str("\nSpreads that go together, by rank correlation\n");
        for pair in checked.together.iter().flat_map(told_pairs) {
            said.push_str(&text::indented(&pair, 2));
        }
    }
    if !checked.efforts.is_empty() {
        said.push_str("\nEfforts, on the medians (kg a day for one person, lowest to highest of the crew)\n");
        for effort in &checked.efforts {
            said.push_str(&text::indented(&loads::told_effort(effort), 2));
        }
    }
    said.push_str(&devices::told(&checked.devices));
    if !checked.tanks.is_empty() {
        said.push_str("\nTanks, on the medians\n");
        for tank in &checked.tanks {
            said.push_str(&text::indented(&on_paper::told_tank(tank), 2));
        }
    }
    if let Some(plan) = on_paper::told_plan(&checked.plan, duration) {
        said.push_str("\nPlan, on the medians\n");
        said.push_str(&text::indented(&plan, 2));
    }
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
        "\n{} values, {spreads} of them with a spread; {} defaults rest on memory; {}.\n\n{}\n",
        checked.values.len(),
        memory,
        words::count(scenario.warnings.len(), "warning"),
        text::wrap(&checked.caution)
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
    let trials = match spread.trials {
        Some(count) => format!("; an estimate from {count} trials, whose doubt each variation draws"),
        None => String::new(),
    };
    let text = format!(
        "median {} {unit}, 5-95 % range {} to {} {unit}{turns}{trials}",
        short(spread.median),
        short(spread.p05),
        short(spread.p95),
        unit = spread.unit,
    );
    text.replace("  ", " ")
        .replace(" ,", ",")
        .replace(" ;", ";")
        .trim_end()
        .to_owned()
}

fn together(scenario: &Scenario, group: &Together) -> Group {
    Group {
        inputs: group
            .inputs
            .iter()
            .map(|&input| scenario.inputs[input].path.clone())
            .collect(),
        rank_correlation: group.rank_correlation.clone(),
    }
}

/// A line for each pair.
fn told_pairs(group: &Group) -> Vec<String> {
    let mut lines = Vec::new();
    for (i, row) in group.rank_correlation.iter().enumerate() {
        for (j, s) in row.iter().enumerate().take(i) {
            lines.push(format!("{} with {}: {}", group.inputs[j], group.inputs[i], short(*s)));
        }
    }
    lines
}

/// Spreads that no line of a value tells of.
fn in_lists(scenario: &Scenario) -> Vec<InList> {
    let of_trials = |index: usize| {
        let mut unsure = scenario.inputs.iter().filter_map(|input| input.unsure.as_ref());
        unsure.any(|unsure| unsure.centre == index || unsure.width == index)
    };
    let told = |index: usize| of_trials(index) || scenario.resolved.iter().any(|of| of.input == Some(index));
    let rest = scenario.inputs.iter().enumerate().filter(|(index, _)| !told(*index));
    rest.map(|(_, input)| InList {
        path: input.path.clone(),
        spread: range(input),
    })
    .collect()
}
