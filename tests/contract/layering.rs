//! Which room may know which: read from the sources, so that an upward arrow fails before it is used.
//!
//! A room is a folder under `sim/src` or `analysis/src`. It may name only rooms below it. Comments do not count (they may
//! point up), tests do not either.

use std::path::{Path, PathBuf};

use crate::tree;

/// Rooms of `sim`, each with its height.
const SIM: &[(&str, u32)] = &[
    ("text", 0),
    ("units", 0),
    ("spread", 1),
    ("air", 1),
    ("crew", 2),
    ("removal", 2),
    ("timeline", 3),
    ("limits", 3),
    ("upset", 4),
    ("engine", 5),
    ("scenario", 6),
];

/// Rooms of `analysis`.
const ANALYSIS: &[(&str, u32)] = &[
    ("chance", 0),
    ("stats", 0),
    ("measured", 0),
    ("study", 1),
    ("fits", 1),
    ("profile", 1),
    ("watch", 2),
    ("trades", 3),
    ("results", 4),
    ("report", 5),
    ("desk", 6),
    ("cli", 7),
];

/// What `sim` never does: print, read the clock, start threads, touch files or the surroundings.
const NOT_IN_SIM: &[&str] = &[
    "std::fs",
    "std::thread",
    "std::time",
    "std::env",
    "std::process",
    "std::net",
    "std::io",
    "println!",
    "print!",
    "eprintln!",
    "eprint!",
    "dbg!",
];

/// Transcendental functions of the standard library, whose last bit depends on the platform; `libm` has its own.
const PLATFORM_MATHS: &[&str] = &[
    ".exp()",
    ".exp_m1()",
    ".ln()",
    ".ln_1p()",
    ".log10()",
    ".log2()",
    ".powf(",
    ".sin()",
    ".cos()",
    ".tan()",
    ".tanh()",
    ".mul_add(",
];

/// Maps whose order differs from run to run.
const UNORDERED: &[&str] = &["HashMap", "HashSet"];

#[test]
fn no_room_of_sim_knows_a_room_above() {
    assert_downward("sim/src", SIM);
}

#[test]
fn no_room_of_analysis_knows_a_room_above() {
    assert_downward("analysis/src", ANALYSIS);
}

#[test]
fn sim_does_nothing_but_compute() {
    let found = holding("sim/src", &[NOT_IN_SIM, PLATFORM_MATHS, UNORDERED].concat(), |_| true);
    assert!(found.is_empty(), "not in sim:\n{}", found.join("\n"));
}

#[test]
fn rooms_that_compute_know_no_files() {
    let inside = |path: &Path| {
        [
            "chance", "stats", "measured", "fits", "profile", "watch", "trades", "report",
        ]
        .contains(&room(path).as_str())
    };
    let found = holding(
        "analysis/src",
        &["std::fs", "std::path", "std::io", "std::env", "println!"],
        inside,
    );
    assert!(
        found.is_empty(),
        "chance, stats, trades and report know no files:\n{}",
        found.join("\n")
    );
}

#[test]
fn only_cli_reads_arguments_prints_or_exits() {
    let outside = |path: &Path| room(path) != "cli" && !path.ends_with("main.rs");
    let words = [
        "env::args",
        "println!",
        "print!",
        "eprintln!",
        "eprint!",
        "process::exit",
        "stdout()",
        "stderr()",
    ];
    let found = holding("analysis/src", &words, outside);
    assert!(found.is_empty(), "only cli may:\n{}", found.join("\n"));
}

#[test]
fn only_results_writes() {
    let outside = |path: &Path| room(path) != "results";
    let words = [
        "fs::write",
        "File::create",
        "create_dir",
        "fs::rename",
        "fs::remove",
        "OpenOptions",
        "tempfile::",
    ];
    let found = holding("analysis/src", &words, outside);
    assert!(found.is_empty(), "only results may write:\n{}", found.join("\n"));
}

#[test]
fn packages_depend_downward() {
    for (package, above) in [
        ("sim", &["analysis", "tests", "benches"][..]),
        ("analysis", &["tests", "benches"]),
    ] {
        let manifest = std::fs::read_to_string(tree::root().join(package).join("Cargo.toml")).expect("a manifest");
        for other in above {
            assert!(
                !manifest.contains(&format!("breathroom-{other}")),
                "{package} depends on {other}"
            );
        }
    }
}

#[test]
fn an_upward_arrow_would_be_seen() {
    let code =
        "use crate::units::Time;\nuse crate::{air::Place, engine::{Case, Outcome}};\nlet x: crate::crew::Load;\n";
    assert_eq!(named_rooms(code), ["units", "air", "engine", "crew"]);
    let text = "/// See [`crate::engine`].\nuse crate::air; // crate::scenario\n#[cfg(test)]\nmod tests { use crate::engine; }";
    assert_eq!(named_rooms(&code_of(text)), ["air"]);
}

fn assert_downward(folder: &str, rooms: &[(&str, u32)]) {
    let height = |name: &str| rooms.iter().find(|(room, _)| *room == name).map(|&(_, height)| height);
    let (mut wrong, mut arrows) = (Vec::new(), 0);
    for path in sources(folder) {
        let own = room(&path);
        if own.is_empty() {
            continue; // lib.rs and main.rs, which only list the rooms
        }
        let own_height =
            height(&own).unwrap_or_else(|| panic!("{own} is not in the order of rooms: {}", path.display()));
        let code = code_of(&std::fs::read_to_string(&path).expect("a source file"));
        for other in named_rooms(&code).into_iter().filter(|other| *other != own) {
            arrows += 1;
            // What is not a room is an item of lib.rs.
            if height(&other).is_some_and(|height| height >= own_height) {
                wrong.push(format!("{}: {own} names {other}", path.display()));
            }
        }
    }
    assert!(arrows > 0, "no arrows found under {folder}: the reading is broken");
    assert!(wrong.is_empty(), "upward arrows:\n{}", wrong.join("\n"));
}

/// Lines of code that hold one of `words`, in files for which `applies`.
fn holding(folder: &str, words: &[&str], applies: impl Fn(&Path) -> bool) -> Vec<String> {
    let mut found = Vec::new();
    for path in sources(folder).into_iter().filter(|path| applies(path)) {
        let code = code_of(&std::fs::read_to_string(&path).expect("a source file"));
        for line in code.lines() {
            if let Some(word) = words.iter().find(|&&word| holds_word(line, word)) {
                found.push(format!("{}: {word} in `{}`", path.display(), line.trim()));
            }
        }
    }
    found
}

/// Whether `line` has `word` not as the tail of a longer name (`println!` within `eprintln!`).
fn holds_word(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        word.starts_with('.') || !before.is_some_and(|before| before.is_alphanumeric() || before == '_')
    })
}

/// Source files under a folder of the workspace, test modules in files of their own left out.
fn sources(folder: &str) -> Vec<PathBuf> {
    let folder = tree::root().join(folder);
    let mut paths = tree::files(&folder);
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "rs"));
    let of_tests = |path: &Path| {
        let inside = path.strip_prefix(&folder).expect("below the folder");
        path.to_string_lossy().ends_with("tests.rs") || inside.components().any(|part| part.as_os_str() == "tests")
    };
    paths.retain(|path| !of_tests(path));
    paths
}

/// The room a source file is in: the folder after `src`; empty for what lies in `src` itself.
fn room(path: &Path) -> String {
    let parts: Vec<_> = path
        .components()
        .map(|part| part.as_os_str().to_string_lossy().into_owned())
        .collect();
    let src = parts.iter().rposition(|part| part == "src").expect("a path under src");
    if src + 2 < parts.len() {
        parts[src + 1].clone()
    } else {
        String::new()
    }
}

/// The text without comments and without what follows the first test module in it.
fn code_of(text: &str) -> String {
    let end = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    let without_comment = |line: &'_ str| line.find("//").map_or(line, |at| &line[..at]).to_owned();
    text[..end].lines().map(|line| without_comment(line) + "\n").collect()
}

/// The first name after each `crate::`, also within braces.
fn named_rooms(code: &str) -> Vec<String> {
    let mut rooms = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        let Some(group) = rest.strip_prefix('{') else {
            rooms.push(name(rest));
            continue;
        };
        let (mut depth, mut fresh) = (1, true);
        for (i, c) in group.char_indices() {
            match c {
                '{' => depth += 1,
                '}' => depth -= 1,
                ',' if depth == 1 => fresh = true,
                _ if fresh && depth == 1 && !c.is_whitespace() => {
                    rooms.push(name(&group[i..]));
                    fresh = false;
                }
                _ => {}
            }
            if depth == 0 {
                break;
            }
        }
    }
    rooms
}

fn name(text: &str) -> String {
    text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
}
