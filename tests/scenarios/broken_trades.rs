//! Wrong trade files, each beside the exact message it must get.
//!
//! `scenarios/trades/broken/NAME.toml` is read with the scenario that it names, and what is said of it must be `NAME.txt` beside it to
//! the letter. With `BLESS=1` in the environment the messages are written anew (and the test still fails).

use std::fs;
use std::path::{Path, PathBuf};

use breathroom_analysis::trades::{self, ReadWith, TradeSource};
use breathroom_sim::scenario::{self, Diagnostic, Source};

use crate::wrong_files;

/// Wrong files that must be there at least.
const AT_LEAST: usize = 15;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/trades/broken")
}

fn open<'a>(name: &str) -> Result<ReadWith<'a>, String> {
    let path = folder().join(name);
    let text = fs::read_to_string(path).map_err(|_| "there is no such file".to_owned())?;
    let name = name.to_owned();
    Ok(Box::new(move |overrides| {
        scenario::read(&Source {
            name: &name,
            text: &text,
            overrides,
            files: &|_| Err("there is no such file".to_owned()),
        })
    }))
}

/// What is said of a file.
fn said_of(path: &Path) -> String {
    let name = wrong_files::name(path);
    let bytes = fs::read(path).expect("a file of the folder");
    let text = match trades::decode(&bytes, &name) {
        Ok(text) => text,
        Err(fault) => return fault.render(),
    };
    match trades::read(&TradeSource {
        name: &name,
        text,
        open: &open,
    }) {
        Ok(_) => String::new(),
        Err(faults) => faults.iter().map(Diagnostic::render).collect::<Vec<_>>().join("\n"),
    }
}

#[test]
fn each_gets_its_message() {
    wrong_files::each_gets_its_message(&folder(), &["toml"], AT_LEAST, said_of);
}

/// What the reference shows is a trade file that reads.
#[test]
fn the_example_of_the_reference_reads() {
    let example = trades::REFERENCE
        .split("```toml\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next());
    let text = example.expect("a block of TOML").replace("\"../two", "\"../../two");
    let trade = trades::read(&TradeSource {
        name: "reference.md",
        text: &text,
        open: &open,
    })
    .unwrap_or_else(|faults| panic!("{}", faults.iter().map(Diagnostic::render).collect::<String>()));
    assert_eq!((trade.rows.len(), trade.columns.len(), trade.baseline), (8, 4, 4));
    let refused: Vec<&str> = trade
        .rows
        .iter()
        .filter(|row| row.scenario.is_err())
        .map(|row| row.name.as_str())
        .collect();
    assert!(refused.is_empty(), "{refused:?}");
    assert!(trade.warnings.is_empty(), "{:?}", trade.warnings);
    // 34 kg and 18 kg for each of 11 m3.
    assert_eq!(trade.formula_value(3, trade.baseline, &|_| None), Some(232.0));
}
