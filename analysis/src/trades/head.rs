//! The top of a trade file: title, question, how many runs, what is asked of margins, and the scenario.

use breathroom_sim::scenario::Diagnostic;
use breathroom_sim::text::Texts;

use crate::study::{Gate, MOST_RUNS};

use super::ReadWith;
use super::apply::{Base, Reading};
use super::sheet::Sheet;

/// Runs of each row, if none are named.
const RUNS: u64 = 1000;
/// The seed, if none is named.
const SEED: u64 = 1;

/// What stands at the top.
pub(super) struct Head {
    pub title: String,
    pub question: String,
    pub runs: u64,
    pub seed: u64,
    pub gate: Gate,
}

/// Reads the top; none after a fault.
pub(super) fn read(texts: &mut Texts, sheet: &Sheet<'_>, file: &str) -> Option<Head> {
    if sheet.get("format").is_none() {
        sheet.missing(texts, "format", "add format = 1");
    } else {
        sheet.whole(texts, "format", 1..=1);
    }
    let title = sheet
        .text(texts, "title", "\"Three scrubbers\"")
        .unwrap_or(file)
        .to_owned();
    let question = sheet
        .text(texts, "question", "\"How small may the cabin be?\"")
        .unwrap_or("")
        .to_owned();
    let mut number = |key, least, most, usual| match sheet.get(key) {
        None => Some(usual),
        Some(_) => sheet.whole(texts, key, least..=most),
    };
    let runs = number("runs", 1, MOST_RUNS as i64, RUNS);
    let seed = number("seed", 0, i64::MAX, SEED);
    let gate = gate(texts, sheet);
    Some(Head {
        title,
        question,
        runs: runs?,
        seed: seed?,
        gate: gate?,
    })
}

fn gate(texts: &mut Texts, sheet: &Sheet<'_>) -> Option<Gate> {
    if sheet.get("gate").is_none() {
        return Some(Gate::USUAL);
    }
    let text = sheet.text(texts, "gate", "\"95/95\"")?;
    match Gate::parse(text) {
        Ok(gate) => Some(gate),
        Err(help) => {
            texts.fault(&sheet.spot_of("gate"), format!("`{text}` is no gate"), help);
            None
        }
    }
}

/// Opens and reads the scenario; its name as written. What is wrong with the scenario itself goes to `of_scenario`.
pub(super) fn open<'s>(
    reading: &mut Reading<'s>,
    sheet: &Sheet<'_>,
    open: &dyn Fn(&str) -> Result<ReadWith<'s>, String>,
    of_scenario: &mut Vec<Diagnostic>,
) -> Option<String> {
    let texts = &mut reading.texts;
    if sheet.get("scenario").is_none() {
        sheet.missing(
            texts,
            "scenario",
            "add scenario = \"cabin.toml\": a path that starts at this file's folder",
        );
    }
    let name = sheet.text(texts, "scenario", "\"cabin.toml\"")?;
    match open(name) {
        Ok(read) => match read(&[]) {
            Ok(scenario) => reading.base = Some(Base { read, scenario }),
            Err(faults) => of_scenario.extend(faults),
        },
        Err(why) => {
            let message = format!("the scenario cannot be read: {why}");
            reading.texts.fault(
                &sheet.spot_of("scenario"),
                message,
                "the path starts at this file's folder",
            );
        }
    }
    Some(name.to_owned())
}
