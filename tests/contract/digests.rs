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
    (
        "sealed-refuge",
        [
            "cb59ee36ac87ebacc36150e5f40f136a6427e34057b68cfae050bab78e3038b2",
            "d4ed0e5fd24273e97de6e875ceeb8a787494a3938a5101bd6b395ce0f5089792",
        ],
    ),
    (
        "mock-up-day",
        [
            "79e4bcf5123e53b6767b515f05f1fdaf97b2de30e07f0846bbc235a4824034e5",
            "17668c4f0d31747ea99eb0907faaca9ed4c6335d02d7570cdae5921809f90129",
        ],
    ),
    (
        "two-crew-sortie",
        [
            "ec4726ef260bf1b491f4246d1a3182de2810829de3ff8f6ff19a6126c0376d02",
            "53bffd42e44ce6522b3db135124e64e5112e8ad307c504afafbdf95b767dd89a",
        ],
    ),
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
        let [variations, summary] = digests;
        found += &format!("    (\"{name}\", [\"{variations}\", \"{summary}\"]),\n");
    }
    assert!(same, "the digests are now:\n{found}");
}
