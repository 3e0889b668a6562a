//! Trade files as they read, on a small scenario: text in, rows or faults out.

mod columns;
mod faults;
mod levels;
mod rows;

use breathroom_sim::scenario::{self, Diagnostic, Source};

use super::*;

/// The scenario of these tests.
const CABIN: &str = r#"
format = 1
duration = "6 h"
[air]
pressure = "56.5 kPa"
oxygen = "34 %"
co2 = "0.5 mmHg"
[compartments.cabin]
free_volume = { normal = ["10 m3", "0.4 m3"], within = ["8 m3", "12 m3"] }
usable_volume = "6 m3"
[control.cabin]
oxygen = { hold = "18.8 kPa" }
[removal.scrubber]
kind = "flow-through"
serves = "cabin"
flow = "0.6 m3/min"
co2_efficiency = { triangular = ["78 %", "86 %", "91 %"] }
[removal.backup]
kind = "flow-through"
serves = "cabin"
flow = "0.5 m3/min"
co2_efficiency = "90 %"
on = false
[tanks.oxygen]
gas = "oxygen"
amount = "24 kg"
[crew.lead]
mass = "71 kg"
[crew.second]
age = 41
[[tasks]]
id = "work"
crew = ["lead", "second"]
effort = "nominal"
in = "cabin"
duration = { lognormal = ["2 h", "20 %"] }
[limits]
use = ["surface-sortie"]
"#;

/// What stands above the factors.
const HEAD: &str = "format = 1\nscenario = \"cabin.toml\"\n";
const VOLUME: &str = "[factors.volume]\npath = \"compartments.cabin.free_volume\"\n";

fn open<'a>(name: &str) -> Result<ReadWith<'a>, String> {
    if name != "cabin.toml" {
        return Err("there is no such file".to_owned());
    }
    Ok(Box::new(|overrides| {
        scenario::read(&Source {
            name: "cabin.toml",
            text: CABIN,
            overrides,
            files: &|_| Err("there is no such file".to_owned()),
        })
    }))
}

fn try_read(text: &str) -> Result<Trade, Vec<Diagnostic>> {
    read(&TradeSource {
        name: "trade.toml",
        text,
        open: &open,
    })
}

/// A trade that must read, from what stands below the head.
fn good(text: &str) -> Trade {
    let all = format!("{HEAD}{text}");
    try_read(&all).unwrap_or_else(|f| panic!("{}", f.iter().map(Diagnostic::render).collect::<String>()))
}

/// What is said of one that must not: "the text that it is about: the message".
fn bad(text: &str) -> Vec<String> {
    let all = format!("{HEAD}{text}");
    let shown = |d: Diagnostic| format!("{}: {}", &all[d.span.clone()], d.message);
    match try_read(&all) {
        Ok(_) => panic!("it reads: {text}"),
        Err(faults) => faults.into_iter().map(shown).collect(),
    }
}

/// The labels of all rows.
fn labels(trade: &Trade) -> Vec<String> {
    trade.rows.iter().map(|row| row.labels.join(" | ")).collect()
}

fn overrides(trade: &Trade) -> Vec<String> {
    trade.rows.iter().map(|row| row.overrides.join(" ; ")).collect()
}

/// A formula's value in a row, no result known.
fn value(trade: &Trade, row: usize) -> Option<f64> {
    trade.formula_value(0, row, &|_| None)
}
