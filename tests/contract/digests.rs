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
            "b83e615509a8292c1ce8d7d2fc3b8a0697f68de6858be1573c9e948ae2f13e19",
            "1298b39de2a700b0d4fce4f656df398b71c60b591eddd6b1b0b28e1ade7140be",
        ],
    ),
    (
        "mock-up-day",
        [
            "87a330820dc20607e39a254a548122b20a55032ac492f6f57760b01416bc30f4",
            "908c81e8a51b62b00bd5b5de1de7fd0f935a5bb03c78b0b893faf498c1cdf464",
        ],
    ),
    (
        "two-crew-sortie",
        [
            "3e874313ea9f04d335ecd49e785d6ae909ace8b0e7f47415868b97fc8a4dc482",
            "ecd199fb07d2569a29a48bafc49c12a2a7e8d67f73d5a5b9b8781c27bfb48b6e",
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
