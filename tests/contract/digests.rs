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
            "7e7bce7c180dca7ac831f1caa5803477833891ab8e76a9723f171b7b5b154b55",
        ],
    ),
    (
        "mock-up-day",
        [
            "87a330820dc20607e39a254a548122b20a55032ac492f6f57760b01416bc30f4",
            "153c84ae7bc7abcfbf6a48b66e84091252e416bd7d769854f38d571df2aaaad5",
        ],
    ),
    (
        "two-crew-sortie",
        [
            "3e874313ea9f04d335ecd49e785d6ae909ace8b0e7f47415868b97fc8a4dc482",
            "61411cdcb90edb36afc0156a174052a7a2b71b572e5b85951d951ec1133f0943",
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
