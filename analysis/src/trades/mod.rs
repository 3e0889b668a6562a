//! Trade files: which designs are compared, and what is said of each.
//!
//! ```text
//! text of a trade file --read--> Trade { base, factors, rows (each with its scenario), columns, front }
//!          |                        ^
//!          +-- scenario = "..." --open--> the scenario with overrides
//! ```
//!
//! This room knows no files: whoever calls [`read`] opens the scenario. A level is tried alone on the scenario as its file has it, so that
//! what is refused is told in the trade file's own lines; what is refused only in a combination is left to its row.
#![doc = include_str!("reference.md")]

pub mod about;
mod apply;
mod columns;
mod factor;
mod figure;
mod formula;
mod head;
mod kept;
mod level;
mod options;
mod range;
mod rows;
mod sample;
mod sheet;
#[cfg(test)]
mod tests;
mod trade;
mod written;

use breathroom_sim::scenario::{Diagnostic, MAX_BYTES, Scenario};
use breathroom_sim::text::{self, Spot, Table, Texts, Value};

use apply::Reading;
use formula::Known;
use rows::{Draft, Plan};
use sheet::{Sheet, wrong};

pub use factor::Factor;
pub use figure::Figure;
pub use formula::Formula;
pub use level::Level;
pub use trade::{At, Column, Front, Row, Trade, What};

/// Most rows of a trade.
pub const MOST_ROWS: usize = 10_000;
/// The reference of trade-file keys, in Markdown.
pub const REFERENCE: &str = include_str!("reference.md");

const KEYS: &[&str] = &[
    "format", "title", "question", "scenario", "runs", "seed", "gate", "baseline", "factors", "rows", "sample",
    "columns", "front",
];

/// How a scenario is read with overrides "PATH=VALUE".
pub type ReadWith<'a> = Box<dyn Fn(&[String]) -> Result<Scenario, Vec<Diagnostic>> + 'a>;

/// What a trade is read from.
pub struct TradeSource<'a> {
    /// The file, as the user named it.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
    /// Opens the scenario that the file names, as it is written there: gives back how to read it with overrides; the error is why
    /// it cannot be read.
    pub open: &'a dyn Fn(&str) -> Result<ReadWith<'a>, String>,
}

/// The text of a trade file.
///
/// # Errors
/// If it is empty or not UTF-8: what and where.
pub fn decode<'b>(bytes: &'b [u8], name: &str) -> Result<&'b str, Box<Diagnostic>> {
    text::decode(
        bytes,
        name,
        "a trade file is a text of TOML that names a scenario and what is varied in it",
    )
}

/// Reads and checks a trade file, and the scenario of each row.
///
/// # Errors
/// Everything that is wrong with it, all at once, in the order of the file; then what is wrong with the scenario itself.
pub fn read(source: &TradeSource<'_>) -> Result<Trade, Vec<Diagnostic>> {
    if source.text.len() as u64 > MAX_BYTES {
        let message = format!("the file has {} bytes; at most {MAX_BYTES} are read", source.text.len());
        return Err(vec![Diagnostic::of_file(source.name, message, None)]);
    }
    if source.text.trim_start_matches('\u{feff}').trim().is_empty() {
        let help = "a trade file names a scenario and what is varied in it".to_owned();
        return Err(vec![Diagnostic::of_file(source.name, "the file is empty", Some(help))]);
    }
    let mut texts = Texts::new(source.name, source.text, &[]);
    let parsed = text::parse(&mut texts, source.text);
    let syntax = texts.faults.len();
    let mut reading = Reading { texts, base: None };
    let mut of_scenario = Vec::new();
    let trade = whole(&mut reading, &parsed.tree, source, &mut of_scenario);
    let mut faults = std::mem::take(&mut reading.texts.faults);
    if !parsed.broken.is_empty() {
        // What a broken line took with it is not missing, and what was made of it is not meant.
        let told = faults.split_off(syntax);
        let last = if parsed.unclosed { parsed.broken[0] } else { usize::MAX };
        faults.extend(told.into_iter().filter(|fault| {
            let on_broken_line = parsed.broken.contains(&fault.line) || fault.line >= last;
            let of_absence = fault.message.contains(" has no `") || fault.message.starts_with("there is no ");
            !on_broken_line && !of_absence
        }));
    }
    faults.sort_by_key(|fault| (fault.span.start, fault.span.end));
    faults.extend(of_scenario);
    // One path that is wrong is wrong in every level.
    faults.dedup();
    match trade {
        Some(mut trade) if faults.is_empty() => {
            trade.warnings = std::mem::take(&mut reading.texts.warnings);
            trade
                .warnings
                .sort_by_key(|warning| (warning.span.start, warning.span.end));
            trade.warnings.dedup();
            Ok(trade)
        }
        _ if faults.is_empty() => Err(vec![Diagnostic::of_file(
            source.name,
            "the trade file cannot be read",
            None,
        )]),
        _ => Err(faults),
    }
}

/// The file; none after a fault. What is wrong with the scenario itself goes to `of_scenario`.
fn whole<'s>(
    reading: &mut Reading<'s>,
    tree: &Table,
    source: &TradeSource<'s>,
    of_scenario: &mut Vec<Diagnostic>,
) -> Option<Trade> {
    let top = Spot::default();
    let sheet = Sheet::new(&mut reading.texts, tree, "", &top, KEYS);
    let head = head::read(&mut reading.texts, &sheet, source.name);
    let scenario_path = head::open(reading, &sheet, source.open, of_scenario);
    let plan = plan(reading, &sheet);
    let mut factors = factors(reading, &sheet, &plan);
    let drafts = factors.as_ref().and_then(|factors| {
        let spot = sheet.get("factors").map_or(&top, |e| &e.key_spot);
        rows::read(reading, factors, &plan, sheet.get("baseline"), spot)
    });
    let Some(base) = reading.base.as_ref().map(|base| base.scenario.clone()) else {
        // Only the form of the columns can be told.
        if let Some(entry) = sheet.get("columns") {
            columns::read(&mut reading.texts, entry, None);
        }
        return None;
    };
    if let Some(factors) = &mut factors {
        let drafts = drafts.as_ref().map_or(&[][..], |(drafts, _)| drafts);
        measure(factors, drafts);
        gone(reading, factors, drafts);
    }
    // Where a factor or its levels are not understood, what they would bring is not missing.
    let whole = |factors: &&Vec<Factor>| drafts.is_some() || factors.iter().all(|factor| !factor.levels.is_empty());
    let known = factors.as_ref().filter(whole).map(|factors| Known::new(&base, factors));
    let known = known.as_ref();
    let columns = match sheet.get("columns") {
        Some(entry) => columns::read(&mut reading.texts, entry, known),
        None => columns::usual(&base),
    };
    let names: Vec<&str> = match sheet.get("columns").and_then(|entry| entry.node.table()) {
        Some(table) => table.entries.iter().map(|entry| entry.key.as_str()).collect(),
        None => columns.iter().map(|column| column.name.as_str()).collect(),
    };
    let front = sheet
        .get("front")
        .and_then(|entry| columns::front(&mut reading.texts, entry, &names));
    let (factors, (drafts, baseline)) = factors.zip(drafts)?;
    if !reading.texts.faults.is_empty() {
        return None;
    }
    let rows = drafts
        .into_iter()
        .map(|draft| row(reading, &factors, draft))
        .collect::<Option<_>>()?;
    let head = head?;
    Some(Trade {
        title: head.title,
        question: head.question,
        scenario_path: scenario_path?,
        runs: head.runs,
        seed: head.seed,
        gate: head.gate,
        base,
        factors,
        rows,
        baseline,
        columns,
        front,
        warnings: Vec::new(),
    })
}

/// What decides which rows there are.
fn plan<'t>(reading: &mut Reading<'_>, sheet: &Sheet<'t>) -> Plan<'t> {
    match (sheet.get("rows"), sheet.get("sample")) {
        (Some(_), Some(sample)) => {
            let help = "rows are listed or sampled: remove one of the two";
            reading
                .texts
                .fault(&sample.key_spot, "`rows` and `sample` in one file", help);
            Plan::Grid
        }
        (Some(rows), None) => Plan::Listed(rows),
        (None, Some(sample)) => Plan::Sample(sample),
        (None, None) => Plan::Grid,
    }
}

/// All factors; none if one of them cannot be understood.
fn factors(reading: &mut Reading<'_>, sheet: &Sheet<'_>, plan: &Plan<'_>) -> Option<Vec<Factor>> {
    let texts = &mut reading.texts;
    let Some(entry) = sheet.get("factors") else {
        sheet.missing(
            texts,
            "factors",
            "add a table `[factors.some_name]` with `path` and `levels`, or `options`",
        );
        return None;
    };
    let Some(table) = entry.node.table().filter(|table| !table.entries.is_empty()) else {
        if matches!(entry.node.value, Value::Table(_)) {
            texts.fault(
                &entry.key_spot,
                "`factors` is empty",
                "add a table `[factors.some_name]`",
            );
            return None;
        }
        return wrong(texts, "factors", &entry.node, "tables", "a table `[factors.some_name]`");
    };
    let sampled = matches!(plan, Plan::Sample(_));
    let listed = matches!(plan, Plan::Listed(_));
    let read: Vec<Option<Factor>> = table
        .entries
        .iter()
        .map(|e| factor::read(reading, e, sampled, listed))
        .collect();
    let all: Vec<Factor> = read.into_iter().collect::<Option<_>>()?;
    apart(reading, &all).then_some(all)
}

/// Tells of two factors that set the same value, or of one that would replace what another has set; true if there are none.
fn apart(reading: &mut Reading<'_>, factors: &[Factor]) -> bool {
    let before = reading.texts.faults.len();
    for (n, later) in factors.iter().enumerate() {
        for path in later.paths() {
            let clash = factors[..n].iter().find_map(|earlier| {
                let same = earlier.paths().into_iter().find(|other| {
                    // The whole of a device, then one of its values, is in good order.
                    other.text == path.text || other.text.starts_with(&format!("{}.", path.text))
                });
                same.map(|other| (earlier, other.text == path.text))
            });
            let Some((earlier, same)) = clash else { continue };
            let (message, help) = if same {
                (
                    format!("`{}` is set by the factor `{}` too", path.text, earlier.name),
                    "one factor for each value: let it change with `paths`, or with options",
                )
            } else {
                (
                    format!("`{}` replaces what the factor `{}` sets in it", path.text, earlier.name),
                    "let the factor that sets the whole stand first",
                )
            };
            reading.texts.fault(&path.spot, message, help);
        }
    }
    reading.texts.faults.len() == before
}

/// Gives each factor whose levels are all numbers its unit: that of its first level.
fn measure(factors: &mut [Factor], drafts: &[Draft]) {
    for (n, factor) in factors.iter_mut().enumerate() {
        let of_rows = drafts.iter().map(|draft| &draft.levels[n]);
        let amounts: Option<Vec<_>> = factor.levels.iter().chain(of_rows).map(|level| level.amount).collect();
        let Some(first) = amounts.as_ref().and_then(|amounts| amounts.first()).copied() else {
            continue;
        };
        let met = |symbol: &str| symbol == "met";
        let alike = amounts
            .iter()
            .flatten()
            .all(|a| met(a.unit.symbol) == met(first.unit.symbol));
        if alike {
            factor.unit = Some(first.unit);
            factor.amount = Some(first);
        }
    }
}

/// Says of each factor once that it takes a spread away.
fn gone(reading: &mut Reading<'_>, factors: &[Factor], drafts: &[Draft]) {
    for (n, factor) in factors.iter().enumerate() {
        let levels = factor.levels.iter().chain(drafts.iter().map(|draft| &draft.levels[n]));
        let Some(path) = levels.filter_map(|level| level.replaced.as_ref()).next() else {
            continue;
        };
        let message = format!(
            "the spread of `{}` is gone where the factor `{}` sets an exact value",
            path.text, factor.name
        );
        let help = match factor.kind {
            factor::Kind::Values(_) => "keep it with spread = \"scaled\" or \"shifted\", or give levels with spreads",
            factor::Kind::Options => "give the option a spread there",
        };
        let spot = path.spot.clone();
        reading.texts.warn(&spot, message, help);
    }
}

/// A row with its scenario.
fn row(reading: &Reading<'_>, factors: &[Factor], draft: Draft) -> Option<Row> {
    let base = reading.base.as_ref()?;
    let overrides: Vec<String> = draft.levels.iter().flat_map(|level| level.overrides.clone()).collect();
    let scenario = if overrides.is_empty() {
        Ok(base.scenario.clone())
    } else {
        (base.read)(&overrides)
    };
    let pairs = || factors.iter().zip(&draft.levels);
    let figures = pairs().flat_map(|(factor, level)| {
        let of = |figure: &Figure| (format!("{}.{}", factor.name, figure.name), figure.written.clone());
        level.figures.iter().map(of).collect::<Vec<_>>()
    });
    Some(Row {
        labels: draft.levels.iter().map(|level| level.label.clone()).collect(),
        numbers: pairs().map(|(factor, level)| level.number(factor.unit?)).collect(),
        figures: figures.collect(),
        overrides,
        scenario,
        name: draft.name,
    })
}
