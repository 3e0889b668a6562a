//! The map in `DEVELOPERS.md` names every folder, and no folder that is not there.

use std::collections::BTreeSet;

use crate::tree;

/// Members of the workspace and folders beside them, whose folders the map names.
const MAPPED: &[&str] = &["sim", "analysis", "tests", "benches", "scenarios", ".ci"];

#[test]
fn the_map_is_the_tree() {
    let mut there = BTreeSet::new();
    for folder in MAPPED {
        there.insert((*folder).to_owned());
        there.extend(tree::folders(folder));
    }
    let on_map: BTreeSet<_> = map_lines().iter().map(|(path, _)| path.clone()).collect();
    let missing: Vec<_> = there.difference(&on_map).collect();
    let gone: Vec<_> = on_map.difference(&there).collect();
    assert!(
        missing.is_empty() && gone.is_empty(),
        "not on the map: {missing:?}; not in the tree: {gone:?}"
    );
}

#[test]
fn every_line_of_the_map_says_what_is_there() {
    for (path, words) in map_lines() {
        assert!(
            words.split_whitespace().count() >= 3,
            "{path} is not explained: {words:?}"
        );
    }
}

#[test]
fn the_top_of_the_tree_is_as_laid_out() {
    let files = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE-MIT",
        "LICENSE-APACHE",
        ".gitignore",
    ];
    for file in files {
        assert!(tree::root().join(file).is_file(), "{file} is missing");
    }
    let manifest: toml::Table = tree::text("Cargo.toml").parse().expect("a manifest");
    let members = manifest["workspace"]["members"].as_array().expect("members");
    let members: BTreeSet<_> = members.iter().filter_map(|member| member.as_str()).collect();
    assert_eq!(members, BTreeSet::from(["sim", "analysis", "tests", "benches"]));
}

/// Path and words of each line of the map: the fenced block marked `map`.
fn map_lines() -> Vec<(String, String)> {
    let blocks = tree::blocks(&tree::text("DEVELOPERS.md"));
    let (_, lines) = blocks
        .into_iter()
        .find(|(kind, _)| kind == "text map")
        .expect("a block marked `text map`");
    let split = |line: &String| {
        let (path, words) = line.split_once(' ').unwrap_or((line, ""));
        (path.trim_end_matches('/').to_owned(), words.trim().to_owned())
    };
    lines.iter().filter(|line| !line.trim().is_empty()).map(split).collect()
}
