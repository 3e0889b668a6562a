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
            "da505e44f7ba7e3e2d07d6c072b4a1a81f01536d3ff9b31d66915433584b65e2",
        ],
    ),
    (
        "mock-up-day",
        [
            "82a3ccc073c6ec545b200a8964135d9adfc24f6a70ebb6a87b1e13cfb4229501",
            "3e8095448425957e39761ed71e5d6e62b51623a4e64fbccfef1544717e0fbb41",
        ],
    ),
    (
        "two-crew-sortie",
        [
            "aa05af8796b56a5b1889ef868a495adeeee2b70fcbbb85925294e9584e445102",
            "3fa485552ad2881db04bd127e6276607a30e537ce2d9c177d4993af97743ea07",
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
