//! Digests of results, committed so that another platform, or a change that should change nothing, can be held against them.

use std::fs;

use breathroom_analysis::results::sha256_hex;

use crate::calls::{Place, call};
use crate::tree;

/// Variations of each.
const RUNS: &str = "64";

/// Scenario, and the SHA-256 of its `variations.csv` and `summary.json`. Whoever changes a number on purpose, or a key of the
/// summary, writes here what the test prints; nothing else may change them.
const DIGESTS: &[(&str, [&str; 2])] = &[
    ("sealed-refuge", ["", ""]),
    ("mock-up-day", ["", ""]),
    ("two-crew-sortie", ["", ""]),
];

#[test]
fn the_same_scenarios_give_the_committed_bytes() {
    let place = Place::new();
    let mut found = String::new();
    let mut same = true;
    for (name, expected) in DIGESTS {
        let file = tree::root()
            .join(format!("scenarios/{name}.toml"))
            .display()
            .to_string();
        let out = place.word(name);
        let said = call(&["vary", &file, "--runs", RUNS, "--seed", "1", "--quiet", "--out", &out]);
        assert!(said.code == 0 || said.code == 3, "{name}: {}", said.err);
        let digest = |file: &str| sha256_hex(&fs::read(place.path(name).join(file)).expect("a file"));
        let digests = ["variations.csv", "summary.json"].map(digest);
        same &= digests == *expected;
        found += &format!("    (\n        \"{name}\",\n        {digests:#?},\n    ),\n");
    }
    assert!(same, "the digests are now:\n{found}");
}
