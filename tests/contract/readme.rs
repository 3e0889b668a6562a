//! The README's commands, options and files exist.

use crate::tree;

#[test]
fn it_opens_with_the_job_and_its_two_commands() {
    let readme = tree::text("README.md");
    let (_, first) = tree::blocks(&readme).into_iter().next().expect("a block of commands");
    assert_eq!(
        first,
        [
            "cargo run --release -- vary scenarios/two-crew-sortie.toml",
            "cargo test --workspace"
        ]
    );
    let before = readme.split("```").next().expect("text before it");
    let paragraphs = before
        .split("\n\n")
        .filter(|text| !text.trim().is_empty() && !text.starts_with('#'))
        .count();
    assert!(paragraphs <= 2, "{paragraphs} paragraphs stand before the two commands");
}

#[test]
fn every_command_it_shows_exists_with_its_options_and_files() {
    let mut commands = 0;
    for arguments in breathroom_commands(&tree::text("README.md")) {
        let [subcommand, rest @ ..] = &arguments[..] else {
            panic!("a command without a subcommand")
        };
        // `fit` has commands of its own.
        let help = match rest.first() {
            Some(of) if subcommand == "fit" => help_of(&[subcommand, of]),
            _ => help_of(&[subcommand]),
        };
        for word in rest {
            if let Some(option) = word.strip_prefix("--") {
                let option = option.split('=').next().unwrap_or(option);
                assert!(
                    help.contains(&format!("--{option}")),
                    "`{subcommand}` has no --{option}"
                );
            } else if word.starts_with("scenarios/") {
                assert!(tree::root().join(word).is_file(), "{word} does not exist");
            }
        }
        commands += 1;
    }
    assert!(commands >= 5, "only {commands} commands found");
}

#[test]
fn every_shipped_scenario_is_named() {
    let readme = tree::text("README.md");
    for path in tree::files(&tree::root().join("scenarios")) {
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        let shipped = path.parent().is_some_and(|folder| folder.ends_with("scenarios"));
        assert!(
            !shipped || !name.ends_with(".toml") || readme.contains(&name),
            "README.md does not name {name}"
        );
    }
}

/// The words after `breathroom` (or after `cargo run --release --`) of each command in a block marked `sh`.
fn breathroom_commands(markdown: &str) -> Vec<Vec<String>> {
    let mut commands = Vec::new();
    for (_, lines) in tree::blocks(markdown).into_iter().filter(|(kind, _)| kind == "sh") {
        for line in lines {
            let line = line.split(" #").next().unwrap_or_default().trim();
            let line = line
                .strip_prefix("cargo run --release -- ")
                .or_else(|| line.strip_prefix("breathroom "));
            if let Some(line) = line {
                commands.push(line.split_whitespace().map(str::to_owned).collect());
            }
        }
    }
    commands
}

fn help_of(subcommand: &[&str]) -> String {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words = [&["breathroom"], subcommand, &["--help"]].concat();
    let code = breathroom_analysis::cli::main_with(words, &mut out, &mut err);
    assert_eq!(code, 0, "`{subcommand:?} --help`: {}", String::from_utf8_lossy(&err));
    String::from_utf8(out).expect("help is text")
}
