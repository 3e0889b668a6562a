//! Trade files that are damaged in many ways: each reads or is refused, none ends the program.

use breathroom_analysis::trades::{self, ReadWith, TradeSource};
use breathroom_sim::scenario::{self, Source};
use proptest::collection::vec;
use proptest::prelude::{ProptestConfig, any, prop};
use proptest::test_runner::RngSeed;
use proptest::{prop_assert, proptest};

/// The least that reads, so that many trades are tried in little time.
const CABIN: &str = r#"
format = 1
duration = "1 h"
[air]
pressure = "56.5 kPa"
oxygen = "34 %"
co2 = "0.5 mmHg"
[compartments.cabin]
free_volume = { normal = ["10 m3", "0.4 m3"], within = ["8 m3", "12 m3"] }
[removal.scrubber]
kind = "flow-through"
serves = "cabin"
flow = "0.6 m3/min"
co2_efficiency = "80 %"
[limits]
use = ["surface-sortie"]
"#;

/// A file with something of everything.
const TRADE: &str = r#"format = 1
title = "Everything"
question = "Does it end?"
scenario = "cabin.toml"
runs = 400
seed = 1
gate = "95/95"
baseline = { volume = "9 m3", scrubber = "as designed" }

[factors.volume]
path = "compartments.cabin.free_volume"
levels = { from = "8 m3", to = "12 m3", step = "2 m3" }
spread = "scaled"

[factors.air]
paths = ["air.pressure", "air.temperature"]
levels = [["56 kPa", "20 degC"], ["58 kPa", "24 degC"]]
names = ["cool", "warm"]

[factors.scrubber.options."as designed"]
figures = { mass = "34 kg", parts = 3 }
[factors.scrubber.options."stronger"]
figures = { mass = "41 kg", parts = 4 }
set = { "removal.scrubber.flow" = { uniform = ["0.7 m3/min", "0.8 m3/min"] } }

[columns]
co2 = { margin = "oxygen-fraction", at = "5 %" }
broken = { beyond = "any" }
oxygen = { result = "totals.oxygen_used_kg", at = "50 %" }
mass = { formula = "[scrubber.mass in kg] + 18 * max([volume in m3], -2 ^ 2) / [scrubber.parts]", unit = "kg" }

[front]
least = ["mass"]
"#;

/// Pieces put in.
const PIECES: [&str; 24] = [
    "\"",
    "[",
    "]",
    "{",
    "}",
    "=",
    ".",
    "\n",
    "#",
    "-1",
    "nan",
    "inf",
    "1e308",
    "m3",
    "é",
    "\u{1F680}",
    "true",
    "\r",
    "(",
    ")",
    "^",
    "99999999999999999999",
    "sample = { count = 5 }\n",
    "[[rows]]\n",
];

fn open<'a>(_: &str) -> Result<ReadWith<'a>, String> {
    Ok(Box::new(|overrides| {
        scenario::read(&Source {
            name: "cabin.toml",
            text: CABIN,
            overrides,
            files: &|_| Err("there is no such file".to_owned()),
        })
    }))
}

/// Reads it; every fault can be shown.
fn survives(text: &str) -> bool {
    let source = TradeSource {
        name: "trade.toml",
        text,
        open: &open,
    };
    match trades::read(&source) {
        Ok(trade) => {
            let mean = |_: &_| Some(1.0);
            let values = (0..trade.columns.len()).map(|column| trade.formula_value(column, 0, &mean));
            !trade.rows.is_empty() && trade.baseline < trade.rows.len() && values.flatten().all(f64::is_finite)
        }
        Err(faults) => !faults.is_empty() && faults.iter().all(|fault| !fault.render().is_empty()),
    }
}

/// The text with a few places cut out, doubled, or with a piece put in.
fn damaged(wounds: &[(usize, usize, usize)]) -> String {
    let mut text = TRADE.to_owned();
    for &(at, kind, size) in wounds {
        let place = |text: &str, at: usize| {
            let mut at = at % (text.len() + 1);
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let from = place(&text, at);
        let to = place(&text, from + size % 40).max(from);
        match kind % 3 {
            0 => text.replace_range(from..to, ""),
            1 => text.insert_str(from, PIECES[size % PIECES.len()]),
            _ => {
                let part = text[from..to].to_owned();
                let there = place(&text, at / 7);
                text.insert_str(there, &part);
            }
        }
    }
    text
}

#[test]
fn the_whole_file_reads() {
    let source = TradeSource {
        name: "trade.toml",
        text: TRADE,
        open: &open,
    };
    let trade =
        trades::read(&source).unwrap_or_else(|f| panic!("{}", f.iter().map(|d| d.render()).collect::<String>()));
    assert_eq!(trade.rows.len(), 13, "a grid of 12 and the baseline");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, rng_seed: RngSeed::Fixed(11), ..ProptestConfig::default() })]

    #[test]
    fn bytes_are_survived(bytes in vec(any::<u8>(), 0..200)) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        prop_assert!(survives(&text));
        let told = trades::decode(&bytes, "trade.toml").map_err(|fault| fault.render());
        prop_assert!(told.is_ok() || std::str::from_utf8(&bytes).map_or(true, |text| text.trim().is_empty()));
    }

    #[test]
    fn damage_is_survived(wounds in vec((any::<usize>(), any::<usize>(), any::<usize>()), 1..5)) {
        let text = damaged(&wounds);
        prop_assert!(survives(&text), "{text}");
    }

    #[test]
    fn any_formula_is_survived(formula in prop::string::string_regex("[-+*/^()\\[\\]a-z0-9. é,]{0,60}").expect("a pattern")) {
        let whole = TRADE.replace("[scrubber.mass in kg] + 18", &format!("{formula} + 18"));
        prop_assert!(survives(&whole), "{formula}");
    }
}
